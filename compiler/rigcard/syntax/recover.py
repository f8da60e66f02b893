"""Every fault of a file that does not parse: one diagnostic a faulty statement.

The file is cut into its top-level statements, each is parsed alone, and a faulty statement inside a block is
blanked out and its block parsed again, so one fault never hides or causes another.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

from lark import UnexpectedInput

from rigcard.diagnostics import Related, Sink
from rigcard.source import Source, Span
from rigcard.syntax import codes
from rigcard.syntax.errors import report_unexpected
from rigcard.syntax.parser import Language

MOST_FAULTS = 50
_PIECE = re.compile(r'"(?:[^"\\\n]|\\.)*"?|#[^\n]*|[{}\n;]|[^"#{}\n;]+')
_TOP = re.compile(r'[ \t]*(?:rig|use|signal|model|unit|cable|expect|measured|sheet|step|open)[ \t]+["A-Za-z]')


class _Chunk(NamedTuple):
    start: int
    end: int
    unclosed: int  # how many } are missing at its end


def report_faults(language: Language, source: Source, sink: Sink) -> None:
    """Report the faults of a source that the parser has refused; at least one is reported."""
    for chunk in _top_level(source, sink):
        text = source.text[chunk.start : chunk.end] + "}" * chunk.unclosed
        while len(sink) < MOST_FAULTS:
            try:
                language.parse(source, text, chunk.start)
                break
            except UnexpectedInput as fault:
                at = report_unexpected(language, source, text, chunk.start, fault, sink)
                start, end = _statement_around(text, at)
                blanked = "".join(char if char == "\n" else " " for char in text[start:end])
                text = text[:start] + blanked + text[end:]


def _pieces(text: str, start: int = 0) -> Iterator[tuple[int, str]]:
    for match in _PIECE.finditer(text, start):
        yield match.start(), match.group()


def _top_level(source: Source, sink: Sink) -> Iterator[_Chunk]:
    """The top-level statements; braces that do not pair are reported on the way."""
    text = source.text
    opened: list[int] = []
    start, line_start = 0, True
    for at, piece in _pieces(text):
        if opened and line_start and _TOP.match(piece):
            _report_unclosed(source, opened[-1], at + len(piece) - len(piece.lstrip()), sink)
            yield _Chunk(start, at, len(opened))
            opened.clear()
            start = at
        line_start = piece == "\n" or (line_start and piece.isspace())
        if piece == "{":
            opened.append(at)
        elif piece == "}" and opened:
            opened.pop()
        elif piece == "}":
            sink.report(
                codes.STRAY_BRACE,
                Span(source, at, at + 1),
                "this } closes nothing",
                "remove it, or look above for a block that was closed too early",
            )
            yield _Chunk(start, at, 0)
            start = at + 1
        elif piece in "\n;" and not opened:
            yield _Chunk(start, at, 0)
            start = at + 1
    if opened:
        _report_unclosed(source, opened[-1], None, sink)
    yield _Chunk(start, len(text), len(opened))


def _report_unclosed(source: Source, opener: int, before: int | None, sink: Sink) -> None:
    related = []
    where = "the file ends"
    if before is not None:
        related = [Related(Span(source, before, before + 1), "the next statement begins here")]
        where = f"line {source.position(before)[0]}"
    sink.report(
        codes.UNCLOSED_BLOCK,
        Span(source, opener, opener + 1),
        f"the block opened by this {{ is not closed before {where}",
        "write } where the block ends",
        *related,
    )


def _statement_around(text: str, at: int) -> tuple[int, int]:
    """The innermost statement that holds an offset, with the block it opens if it opens one."""
    starts = [0]
    before = ""
    for offset, piece in _pieces(text):
        ends = piece in ";}" or (piece == "\n" and not before.endswith(","))
        if ends and starts[-1] <= at <= offset and text[starts[-1] : offset].strip():
            return starts[-1], offset
        if piece == "{":
            starts.append(offset + 1)
        elif piece == "}" and len(starts) > 1:
            starts.pop()
        elif ends:
            starts[-1] = offset + 1
        if not (piece.isspace() or piece.startswith("#")):
            before = piece.rstrip()
    return 0, len(text)
