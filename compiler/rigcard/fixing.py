"""Exact remedies put into a file: those that a message carries as edits, one message after the other."""

from __future__ import annotations

import os
from bisect import bisect_left
from collections.abc import Sequence
from typing import NamedTuple

from rigcard.diagnostics import Diagnostic, Diagnostics, Edit, Severity
from rigcard.pipeline import check_rig
from rigcard.syntax.load import from_disk, require_regular_file

MOST_REMEDIES = 200  # in one file and run; each is judged by a check of its own


class Change(NamedTuple):
    """What took the place of what, and where that stood: line and column, both from 1."""

    line: int
    column: int
    old: str
    new: str


class Fixed(NamedTuple):
    """A file's bytes with the remedies in them, and what they changed; nothing: the bytes are as they were."""

    data: bytes
    changes: tuple[Change, ...]


def fixed(path: str, stock: Sequence[str] = ()) -> Fixed:
    """The file with every exact remedy that leaves fewer faults. Raises OSError or ValueError as reading it does."""
    require_regular_file(path)  # a pipe cannot be read twice, nor written over
    data = from_disk(path)
    changes: list[Change] = []
    found = _judged(path, data, stock)
    tried: set[tuple[str, str, tuple[str, ...]]] = set()
    for _ in range(MOST_REMEDIES):
        offered = (one for one in found if _edits_of(one, path) and _key(one) not in tried)
        chosen = next(offered, None)
        if chosen is None:
            break
        tried.add(_key(chosen))
        edits = _edits_of(chosen, path)
        new = applied(data, edits)
        after = _judged(path, new, stock)
        if _better(chosen, found, after):
            tried.clear()
            changes += [_change(edit) for edit in edits]
            data, found = new, after
    return Fixed(data, tuple(changes))


def applied(data: bytes, edits: Sequence[Edit]) -> bytes:
    """A file with edits in it, whose offsets count a line end as one character and no byte order mark."""
    text = data.decode("utf-8-sig")
    mark = data[: len(data) - len(text.encode("utf-8"))]
    ends: list[int] = []  # of the lines that end with two characters, as the edits count
    for part in text.split("\r\n")[:-1]:
        ends.append((ends[-1] + 1 if ends else 0) + len(part))
    for edit in sorted(edits, key=lambda edit: edit.span.start, reverse=True):
        start, end = (at + bisect_left(ends, at) for at in (edit.span.start, edit.span.end))
        text = text[:start] + edit.text + text[end:]
    return mark + text.encode("utf-8")


def _judged(path: str, data: bytes, stock: Sequence[str]) -> list[Diagnostic]:
    """What is said of a rig file that holds these bytes."""
    real = os.path.realpath(path)
    diagnostics = Diagnostics()
    check_rig(
        path,
        diagnostics,
        stock=stock,
        reader=lambda name: data if os.path.realpath(name) == real else from_disk(name),
    )
    return diagnostics.sorted()


def _edits_of(found: Diagnostic, path: str) -> tuple[Edit, ...]:
    """The edits of a message; none where one of them is in another file, which others may use too."""
    return found.edits if all(edit.span.source.name == path for edit in found.edits) else ()


def _key(found: Diagnostic) -> tuple[str, str, tuple[str, ...]]:
    return found.code.id, found.message, tuple(f"{edit.span.start} {edit.text}" for edit in found.edits)


def _better(chosen: Diagnostic, before: Sequence[Diagnostic], after: Sequence[Diagnostic]) -> bool:
    """Whether a remedy leaves fewer errors of its pass and those before; what comes after may be read only now."""
    return _errors(after, chosen.code.id[:3]) < _errors(before, chosen.code.id[:3])


def _errors(found: Sequence[Diagnostic], last: str) -> int:
    return sum(one.code.severity is Severity.ERROR and one.code.id[:3] <= last for one in found)


def _change(edit: Edit) -> Change:
    return Change(*edit.span.source.position(edit.span.start), edit.span.text, edit.text)
