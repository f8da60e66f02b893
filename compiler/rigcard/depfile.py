"""What was read to make which papers, in the form that make and ninja read: `targets: prerequisites`."""

from __future__ import annotations

import re
from collections.abc import Iterable

# What the two read differently, or not at all: signs that make or ninja take for something else, a backslash before
# a sign that needs one itself, a home folder, a member of an archive, a blank or a backslash at the end.
UNSAYABLE = re.compile(r"[\x00-\x1f\x7f%=;|*?<>^`\[]|\\[#:$]|[\\: ]$|^~|\(.*\)$")


def rule(targets: Iterable[str], prerequisites: Iterable[str]) -> str:
    """One rule on one line; a line that goes on would lose a blank at the end of a name.

    Raises ValueError with the first name that make and ninja do not read alike, however it is written.
    """
    return f"{_listed(targets)}: {_listed(prerequisites)}\n"


def _listed(names: Iterable[str]) -> str:
    return " ".join(_escaped(name) for name in dict.fromkeys(names))


def _escaped(name: str) -> str:
    """As compilers write it: backslashes are doubled before a blank only, where they would be taken for its own."""
    if UNSAYABLE.search(name):
        raise ValueError(name)
    text = re.sub(r"(\\*) ", r"\1\1\\ ", name).replace("$", "$$")
    return re.sub(r"[#:]", r"\\\g<0>", text)
