"""Every fault of a file that does not parse: one diagnostic for each faulty statement.

We cut the file into its top-level statements and parse each one alone. A faulty statement inside a block is
blanked out and its block is parsed again, so one fault never hides or causes another. All this is done on a copy
of the same length, in which what can be mended is mended first.
"""

import re
from collections.abc import Iterator
from contextlib import suppress
from typing import NamedTuple

from lark import UnexpectedInput

from rigcard.diagnostics import Diagnostics, Related
from rigcard.source import Source, Span
from rigcard.syntax import codes, foreign, forgotten, layouts, tree
from rigcard.syntax.cutting import TO_NEXT_LINE, TOP, bare, pieces, statement_around
from rigcard.syntax.errors import offset_of, report_unexpected
from rigcard.syntax.forgotten import MOST_FAULTS, report_unclosed
from rigcard.syntax.kept_edits import keep_if_read
from rigcard.syntax.mending import blank, empty
from rigcard.syntax.parser import Language

MOST_LINES = 4  # lines over which a statement may be broken
FARTHEST = 2000  # characters of comments between two of these lines


class _Chunk(NamedTuple):
    start: int
    end: int
    unclosed: int  # missing } at its end


def report_faults(
    language: Language,
    source: Source,
    refused: UnexpectedInput,
    diagnostics: Diagnostics,
    all_names: bool = False,
) -> tree.File:
    """Report the faults of a source that the parser refused, at least one; returns the faultless statements.

    If there are too many faults to report, the rest of the source is read only if `all_names` is set.
    """
    before = len(diagnostics)
    kept: list[object] = []
    mended = _mended(source, diagnostics)
    passed = 0  # the end of the last statement that took in the lines after its own
    for chunk in _top_level(source, mended, diagnostics):
        if chunk.start < passed:
            continue
        text = mended[chunk.start : chunk.end] + "}" * chunk.unclosed
        start = 0
        while text.strip() and len(diagnostics) < MOST_FAULTS:
            try:
                # the text before the last fault has been read: without it the next fault is found sooner
                if start:
                    language.parse(source, bare(text, start), chunk.start)
                kept += language.parse(source, text, chunk.start).statements
                break
            except UnexpectedInput as fault:
                if joined := _joined(language, source, mended, chunk, text, fault):
                    _report_broken_off(source, joined, diagnostics)
                    text, start, passed = joined.text, joined.begun, max(passed, joined.end)
                    continue
                at = report_unexpected(language, source, text, chunk.start, fault, diagnostics)
                start, end = statement_around(text, at)
                keep_if_read(language, source, bare(text, start), chunk.start, start, diagnostics)
                text = empty(text, start, end)
        if len(diagnostics) >= MOST_FAULTS:
            return tree.File((*kept, *(_faultless(language, source, mended, chunk.end) if all_names else ())))
    if len(diagnostics) == before:  # the mended text parses, so the silently mended part was the fault
        report_unexpected(language, source, source.text, 0, refused, diagnostics)
    return tree.File(tuple(kept))


class _Joined(NamedTuple):
    """A text in which a statement that was broken off is joined on one line.

    `begun` is the offset of the statement in the text. The others are offsets in the source: `start` is the end
    of its line, `after` the place where it goes on, `end` the end of the text.
    """

    text: str
    begun: int
    start: int
    after: int
    end: int


def _joined(
    language: Language, source: Source, whole: str, chunk: _Chunk, text: str, fault: UnexpectedInput
) -> _Joined | None:
    """The text with a faulty line joined to the next lines, if a statement is broken off there; otherwise None.

    The lines belong together if the parser gets past the last of them.
    """
    at = len(text[: offset_of(fault, text)].rstrip(" \t"))
    if at and text[at - 1] == "\n":  # the fault is the first word of a line: does the line before go on?
        near = text.rfind("\n", 0, max(0, at - FARTHEST)) + 1
        solid = [
            begin + len(piece.rstrip())
            for begin, piece in pieces(text[:at], near)
            if piece.strip() and piece[0] != "#"
        ]
        at = solid[-1] if solid and text[solid[-1] - 1] not in "{};," else len(text)
    begun = statement_around(text, at)[0]
    first: tuple[int, int] | None = None
    for _ in range(MOST_LINES):
        if at == len(text) and not chunk.unclosed:  # the next statement is in another chunk
            text += _following(source, whole, chunk.start + at)
        gap = TO_NEXT_LINE.match(text, at)
        if gap is None or gap.end() == len(text) or text[gap.end()] in "{}":
            return None
        first = first or gap.span()
        text = blank(text, *gap.span())
        line_end = text.find("\n", gap.end())
        try:
            language.parse(source, bare(text, begun), chunk.start)
        except UnexpectedInput as other:
            at = len(text[: offset_of(other, text)].rstrip(" \t"))
            if not 0 <= line_end < at:
                if at <= gap.end() or not (at == len(text) or TO_NEXT_LINE.match(text, at)):
                    return None
                continue
        return _Joined(text, begun, chunk.start + first[0], chunk.start + first[1], chunk.start + len(text))
    return None


def _following(source: Source, whole: str, start: int) -> str:
    """The text from the end of a top-level statement to the end of the next one."""
    gap = TO_NEXT_LINE.match(whole, start)
    begin = gap.end() if gap else len(whole)
    return whole[start : next(_top_level(source, whole, Diagnostics(), begin)).end]


def _report_broken_off(source: Source, joined: _Joined, diagnostics: Diagnostics) -> None:
    text = source.text
    words = text[text.rfind("\n", 0, joined.start) + 1 : joined.start]
    last = re.search(r'"[^"\n]*"$|[^\s;{}]+$|.$', words)
    start = joined.start - len(last[0] if last else "")
    diagnostics.report(
        codes.UNEXPECTED_TEXT,
        Span(source, start, joined.start),
        "the statement breaks off at the end of this line, and goes on in the next",
        "write it on one line; only after a comma it may go on in the next",
        Related(Span(source, joined.after, joined.after + 1), "it goes on here"),
    )


def _faultless(language: Language, source: Source, text: str, start: int) -> Iterator[object]:
    """The faultless top-level statements from an offset on; faulty ones are skipped without a report."""
    for chunk in _top_level(source, text, Diagnostics(), start):
        with suppress(UnexpectedInput):
            yield from language.parse(source, text[chunk.start : chunk.end], chunk.start).statements


def _top_level(source: Source, text: str, diagnostics: Diagnostics, start: int = 0) -> Iterator[_Chunk]:
    """The top-level statements from an offset on; reports braces that do not pair."""
    opened: list[int] = []
    line_start = True
    for at, piece in pieces(text, start):
        if opened and line_start and TOP.match(text, at) and not _stands_inside(text, opened, at):
            yield _Chunk(start, at, len(opened))
            report_unclosed(source, opened[-1], at + len(piece) - len(piece.lstrip()), diagnostics)
            opened.clear()
            start = at
        line_start = piece == "\n" or (line_start and piece.isspace())
        if piece == "{":
            opened.append(at)
        elif piece == "}" and opened:
            opened.pop()
        elif piece == "}":
            found = len(diagnostics)
            yield _Chunk(start, at, 0)
            if len(diagnostics) == found:  # otherwise the statement before it lacks its {, which is reported
                diagnostics.report(
                    codes.STRAY_BRACE,
                    Span(source, at, at + 1),
                    "this } closes nothing",
                    "remove it, or look above for a block that was closed too early",
                )
            start = at + 1
        elif piece in "\n;" and not opened:
            yield _Chunk(start, at, 0)
            start = at + 1
    yield _Chunk(start, len(text), len(opened))
    if opened:
        report_unclosed(source, opened[-1], None, diagnostics)


def _stands_inside(text: str, opened: list[int], at: int) -> bool:
    """Whether a top-level statement stands by mistake in a block that is closed after it.

    It is further in than the line of the block, and all its braces are closed before a line that is not.
    """
    indent = _indent(text, text.rfind("\n", 0, opened[0]) + 1)
    if _indent(text, at) <= indent:
        return False
    depth, line_start = len(opened), False
    for place, piece in pieces(text, at):
        if line_start and piece.strip() and piece != "}" and _indent(text, place) <= indent:
            return False
        line_start = piece == "\n"
        depth += (piece == "{") - (piece == "}")
        if not depth:
            return True
    return False


def _indent(text: str, line: int) -> int:
    """How far in the line that begins at an offset is."""
    found = re.compile(r"[ \t]*").match(text, line)
    return len(found[0]) if found else 0


def _mended(source: Source, diagnostics: Diagnostics) -> str:
    """A copy of the text with all mended that is clearly no part of a rig, or clearly forgotten."""
    text = layouts.mended(source, diagnostics)
    text = foreign.mended(source, text, diagnostics)
    return forgotten.mended(source, text, diagnostics)
