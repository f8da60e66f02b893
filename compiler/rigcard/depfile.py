"""Writes which files were read to make which papers, as make and ninja read it: `targets: prerequisites`."""

from __future__ import annotations

import re
from collections.abc import Iterable

# What make and ninja read differently or not at all: special characters of either, a backslash before a
# character that needs one itself, a home folder, an archive member, a space or a backslash at the end.
UNSAYABLE = re.compile(r"[\x00-\x1f\x7f%=;|*?<>^`\[]|\\[#:$]|[\\: ]$|^~|\(.*\)$")


def rule(targets: Iterable[str], prerequisites: Iterable[str]) -> str:
    """Write one rule on one line; a continued line would lose a space at the end of a name.

    Raises ValueError with the first name that make and ninja cannot read alike in any spelling.
    """
    return f"{_listed(targets)}: {_listed(prerequisites)}\n"


def _listed(names: Iterable[str]) -> str:
    return " ".join(_escaped(name) for name in dict.fromkeys(names))


def _escaped(name: str) -> str:
    """Escape a name as compilers do: double a backslash only before a space, which it would escape."""
    if UNSAYABLE.search(name):
        raise ValueError(name)
    text = re.sub(r"(\\*) ", r"\1\1\\ ", name).replace("$", "$$")
    return re.sub(r"[#:]", r"\\\g<0>", text)
