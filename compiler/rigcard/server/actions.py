"""Remedies that an editor can apply. Each one is tried first, and offered only if it removes the message."""

import re
from collections.abc import Iterator
from typing import NamedTuple

from rigcard.diagnostics import Diagnostic
from rigcard.server.project import Edits, Project, in_file
from rigcard.server.symbols import statement_of
from rigcard.source import Span
from rigcard.syntax import tree
from rigcard.words import escaped

_NUMBER = r"[-+−]?\d+(?:\.\d+)?[a-zA-Zµμ%/]+"
_DATE = re.compile(r"\d{4}[./]\d{1,2}[./]\d{1,2}|\d{1,2}\.\d{1,2}\.\d{4}")  # dates in an unambiguous order
_QUOTED = re.compile(r"[“„«»‘'](\w[^\"\\“”„«»‘’'\n]*)[“”»«’']")  # words in typographic quotes
_SIGNS = {"a plain space": " ", "a space": " ", "a new line or ;": ";"}  # characters that a hint names in words


_OF_WRITING = frozenset(f"RC10{number}" for number in range(1, 8))  # faults in the way a statement is written


class Remedy(NamedTuple):
    """The title of a remedy, in the words of the message, and its edits."""

    title: str
    edits: Edits


class _Change(NamedTuple):
    title: str
    start: int
    end: int
    text: str


def remedies(project: Project, path: str, found: Diagnostic, span: Span) -> list[Remedy]:
    """Return the remedies that remove a diagnostic at a span of a file."""
    exact: Edits = {}
    for edit in found.edits:
        exact.setdefault(in_file(edit.span), []).append((edit.span.start, edit.span.end, edit.text))
    if exact and _gone(project, path, found, span, exact):
        return [Remedy(_title(found), exact)]
    kept = []
    for source, change in _changes(project, path, found, span):
        edits: Edits = {source: [(change.start, change.end, change.text)]}
        if _gone(project, path, found, span, edits):
            kept.append(Remedy(change.title, edits))
    return kept


def _title(found: Diagnostic) -> str:
    """What exact edits are called."""
    if found.hint.startswith(("write ", "remove ")):
        return found.hint.replace("`", "")
    return (
        f"write {found.edits[0].text}" if found.edits[0].text.strip() else f"remove {found.edits[0].span.text}"
    )


def _gone(project: Project, path: str, found: Diagnostic, span: Span, edits: Edits) -> bool:
    """Whether edits remove a fault at its place, and leave its file as readable as before.

    A statement gives one message at a time: the rest of its line may need another remedy of this kind.
    """

    def unreadable(faults: list[Diagnostic]) -> int:
        return sum(fault.code.id.startswith("RC1") for fault in faults)

    before, after = project.diagnostics(), project.with_edits(edits).diagnostics()
    moved = sum(len(text) - end + start for start, end, text in edits.get(path, ()) if end <= span.start)
    places = (
        span.start,
        span.start + moved,
    )  # a fault reported once for many places may now be reported for the next one
    stays = any(
        (fault.code, fault.message) == (found.code, found.message) and fault.span and fault.span.start in places
        for fault in after[path]
    )
    more = any(unreadable(after.get(name, [])) > unreadable(before.get(name, [])) for name in edits)
    stuck = found.code.id in _OF_WRITING and any(
        fault.code.id in _OF_WRITING and fault.span and _line(fault.span) == _line(span)
        and not fault.edits
        and not any(_in_place(fault, fault.span, fault.span.text))
        for fault in after[path]
    )  # fmt: skip
    return not (stays or more or stuck)


def _line(span: Span) -> int:
    return span.source.position(span.start)[0]


def _changes(project: Project, path: str, found: Diagnostic, span: Span) -> Iterator[tuple[str, _Change]]:
    text = span.source.text
    hint, written = found.hint, text[span.start : span.end]
    for change in _in_place(found, span, written):
        yield path, change
    if apart := re.fullmatch(r"a name is one word: write `(([\w-]+)-([\w-]+))`", hint):
        before = re.search(rf"{re.escape(apart[2])}[ \t]+$", text[: span.start])
        if before and written == apart[3]:
            yield path, _Change(f"write `{apart[1]}`", before.start(), span.end, apart[1])
    yield from _in_block(project, path, found, span)
    yield from _reversal(project, hint)


def _in_place(found: Diagnostic, span: Span, written: str) -> Iterator[_Change]:
    """Return the text that a hint puts in place of the marked text, or before it."""
    for new in _instead(found.hint, written):
        title = f"write {new.strip() or 'a space'}" if new else f"remove {written}"
        yield _Change(title, span.start, span.end, _apart(span, new))
    if found.hint == 'write " instead' and (words := _QUOTED.match(span.source.text, span.start)):
        yield _Change(f'write "{words[1]}"', span.start, words.end(), f'"{words[1]}"')
    before = re.fullmatch(r'write (?:`([\w-]+)`|([{,])) before (?:`(.+)`|(".*"))', found.hint)
    if before and written in (before[3], before[4]):
        new = before[1] or before[2]
        yield _Change(f"write {new}", span.start, span.start, f"{new} ")


def _apart(span: Span, new: str) -> str:
    """Return a text for a place, with spaces where it would otherwise join the next word."""
    before, after = span.source.text[: span.start][-1:], span.source.text[span.end :][:1]
    joins = [len(pair) == 2 and pair.isalnum() for pair in (before + new[:1], new[-1:] + after)]
    return " " * joins[0] + new + " " * joins[1]


def _instead(hint: str, written: str) -> list[str]:
    """Return the texts that a hint offers instead of the marked one; none if it only gives an example."""
    quoted = written.startswith('"')
    if meant := re.fullmatch(r"did you mean (`.*`)\?", hint):
        names: list[str] = re.findall(r"`([^`]+)`", meant[1])
        return [f'"{escaped(name)}"' if quoted else name for name in names]
    if number := re.fullmatch(rf"write ({_NUMBER})", hint):
        return [number[1]]
    if hint == f"write a percentage such as {written}%":
        return [f"{written}%"]
    if (date := re.fullmatch(r"write year-month-day, such as ([\d-]+)", hint)) and _DATE.fullmatch(written):
        return [date[1]]
    if quoted and (value := re.fullmatch(r'write `set [\w-]+ (".*")` in its block', hint)):
        return [value[1]]
    if (sign := re.fullmatch(r"write `?(.+?)`? instead", hint)) and len(written) == 1:
        return [] if " such as " in sign[1] else [_SIGNS.get(sign[1], sign[1])]
    if hint == "remove this }" or (hint == "remove it" and len(written) == 1):
        return [""]
    if (gone := re.fullmatch(r"remove `?(.+?)`?", hint)) and gone[1] == written:
        return [""]
    if (place := re.fullmatch(r"write `?([^`]+?)`? in place of `(.+)`", hint)) and place[2] == written:
        return [_SIGNS.get(place[1], place[1])]
    if (words := re.fullmatch(r'write "(.*)"', hint)) and words[1] == written:
        return [f'"{written}"']
    if (bare := re.fullmatch(r"write ([\w.%-]+) without quotes", hint)) and written == f'"{bare[1]}"':
        return [bare[1]]
    return []


def _in_block(project: Project, path: str, found: Diagnostic, span: Span) -> Iterator[tuple[str, _Change]]:
    """Return lines to add to the block of the marked unit."""
    file = project.file(path)
    units = [item for item in file.statements if isinstance(item, tree.Unit)] if file else []
    unit = next((item for item in units if item.name.span.start == span.start), None)
    if unit is None:
        return
    for line in re.findall(
        r"(?:add|write|or) `((?:bound to|unused|set) [^`]+)`(?: in its block)?$", found.hint
    ):
        yield path, _into_block(unit.name.span, line)


def _into_block(name: Span, line: str) -> _Change:
    """Return a line at the end of the block that a name's statement opens, or in a new block."""
    whole = statement_of(name)
    text = whole.source.text
    title = f"add `{line}`"
    if text[whole.end - 1] != "}":
        return _Change(title, whole.end, whole.end, f" {{ {line} }}")
    closing = whole.end - 1
    first = text.rfind("\n", 0, closing) + 1
    if first > whole.start and not text[first:closing].strip():
        return _Change(title, first, first, f"  {line}\n")
    inside = text[whole.start : closing].rstrip()
    at = whole.start + len(inside)
    before = " " if inside[-1] in "{;" else "; "
    return _Change(title, at, at, before + line + " " * (at == closing))


_TURN = re.compile(
    r"(?P<verb>write `reversed` (?:at the end of|on)|take `reversed` off) "
    r"(?:`input (?P<input>[\w-]+) from [\w-]+` in the block of `(?P<unit>[\w-]+)`|channel `(?P<channel>[\w-]+)`)"
)


def _reversal(project: Project, hint: str) -> Iterator[tuple[str, _Change]]:
    """Add or remove `reversed` on the line of an input, or of a channel that only one handset has."""
    turn = _TURN.match(hint)
    if turn is None:
        return
    roots = project.roots()
    places = {
        item.name.span if isinstance(item, tree.Channel) else item.input.span
        for root in roots
        for unit in project.index(root).units.values()
        for item in unit.items
        if (isinstance(item, tree.Channel) and item.name.text == turn["channel"])
        or (
            isinstance(item, tree.Source) and (unit.name.text, item.input.text) == (turn["unit"], turn["input"])
        )
    }
    if len(places) != 1:
        return
    line = statement_of(places.pop())
    written = line.text.split("#", 1)[0].rstrip()
    there = re.search(r"[ \t]+reversed\b", written)
    if turn["verb"].startswith("take") and there:
        at = line.start + there.start()
        yield in_file(line), _Change("take `reversed` off", at, line.start + there.end(), "")
    elif turn["verb"].startswith("write") and not there:
        at = line.start + len(written)
        yield in_file(line), _Change("write `reversed`", at, at, " reversed")
