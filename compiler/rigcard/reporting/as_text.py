"""Diagnostics as text: code, place, the source line with the span marked, the cause, what to do."""

from __future__ import annotations

import unicodedata

from rigcard.diagnostics import Diagnostic, Severity
from rigcard.source import Span

BOLD, RED, YELLOW, CYAN, RESET = "\x1b[1m", "\x1b[31m", "\x1b[33m", "\x1b[36m", "\x1b[0m"


def as_text(found: Diagnostic, colour: bool = False) -> str:
    """One diagnostic; `file:line:column: error[CODE]: cause`, the marked line, related places, the remedy."""
    severity = found.code.severity
    paint = (RED if severity is Severity.ERROR else YELLOW) if colour else ""
    head = f"{paint}{severity.value}[{found.code.id}]{RESET if colour else ''}"
    lines = [f"{place(found)}: {head}: {printable(found.message)}"]
    if found.span:
        lines += _marked(found.span, paint, colour)
    for related in found.related:
        lines.append(f"  {_where(related.span)}: {printable(related.label)}")
        lines += _marked(related.span, CYAN if colour else "", colour)
    lines.append(f"  {BOLD if colour else ''}do:{RESET if colour else ''} {printable(found.hint)}")
    return "\n".join(lines)


def place(found: Diagnostic) -> str:
    """`file:line:column`, or the file alone."""
    return _where(found.span) if found.span else printable(found.where)


def printable(text: str) -> str:
    """Text without control characters: a file cannot write to the terminal of its reader."""
    return "".join(char if unicodedata.category(char) not in ("Cc", "Cf") else "\ufffd" for char in text)


def _where(span: Span) -> str:
    line, column = span.source.position(span.start)
    return f"{printable(span.source.name)}:{line}:{column}"


def _marked(span: Span, paint: str, colour: bool) -> list[str]:
    line, column = span.source.position(span.start)
    text = span.source.line(line)
    length = max(1, min(span.end - span.start, len(text) - column + 1))
    before = printable(text[: column - 1].replace("\t", " "))
    marked = printable(text[column - 1 : column - 1 + length])
    gutter = f"{line:>5} | "
    pad = " " * (len(gutter) + _columns(before))
    carets = "^" * max(1, _columns(marked))
    shown = printable(text.replace("\t", " "))
    return [f"{gutter}{shown}", f"{pad}{paint}{carets}{RESET if colour else ''}"]


def _columns(text: str) -> int:
    """Columns of a terminal that a text takes: wide characters take two, combining marks none."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1
        for char in text
    )
