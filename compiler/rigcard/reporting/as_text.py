"""Diagnostics as text: code, place, the source line with the span marked, the cause, the remedy."""

from __future__ import annotations

import unicodedata

from rigcard.diagnostics import Diagnostic, Severity
from rigcard.source import Span

WIDEST, BEFORE = 200, 80  # characters shown of a very long line, and how many of them stand before the span
LONGEST = 800  # characters of a message; only names that no real rig has make it longer
UNPRINTED = ("Cc", "Cf", "Zl", "Zp")  # control and format characters, line and paragraph separators
BOLD, RED, YELLOW, CYAN, RESET = "\x1b[1m", "\x1b[31m", "\x1b[33m", "\x1b[36m", "\x1b[0m"


def as_text(found: Diagnostic, colour: bool = False) -> str:
    """Return `file:line:column: error[CODE]: cause`, the source line, the related places and the remedy."""
    severity = found.code.severity
    paint = (RED if severity is Severity.ERROR else YELLOW) if colour else ""
    head = f"{paint}{severity.value}[{found.code.id}]{RESET if colour else ''}"
    lines = [f"{place(found)}: {head}: {_told(found.message)}"]
    if found.span:
        lines += _marked(found.span, paint, colour)
    for related in found.related:
        lines.append(f"  {_where(related.span)}: {_told(related.label)}")
        lines += _marked(related.span, CYAN if colour else "", colour)
    lines.append(f"  {BOLD if colour else ''}do:{RESET if colour else ''} {_told(found.hint)}")
    return "\n".join(lines)


def place(found: Diagnostic) -> str:
    """Return `file:line:column`, or the file alone."""
    return _where(found.span) if found.span else printable(found.where)


def printable(text: str) -> str:
    """Replace control characters, so that a file cannot send escape sequences to the reader's terminal."""
    return "".join(char if unicodedata.category(char) not in UNPRINTED else "\ufffd" for char in text)


def _told(text: str) -> str:
    """Return printable text, with the middle of a very long one cut out."""
    return printable(text if len(text) <= LONGEST else f"{text[: LONGEST // 2]}…{text[-LONGEST // 2 :]}")


def _where(span: Span) -> str:
    line, column = span.source.position(span.start)
    return f"{printable(span.source.name)}:{line}:{column}"


def _marked(span: Span, paint: str, colour: bool) -> list[str]:
    line, column = span.source.position(span.start)
    text = span.source.line(line)
    cut = 0
    if len(text) > WIDEST:
        cut = max(0, column - 1 - BEFORE)
        text = ("…" if cut else "") + text[cut : cut + WIDEST] + ("…" if cut + WIDEST < len(text) else "")
    first = column - 1 - cut + bool(cut)
    length = max(1, min(span.end - span.start, len(text) - first))
    before = printable(text[:first].replace("\t", " "))
    marked = printable(text[first : first + length])
    gutter = f"{line:>5} | "
    pad = " " * (len(gutter) + _columns(before))
    carets = "^" * max(1, _columns(marked))
    shown = printable(text.replace("\t", " "))
    return [f"{gutter}{shown}", f"{pad}{paint}{carets}{RESET if colour else ''}"]


def _columns(text: str) -> int:
    """Count the terminal columns that a text takes: two for a wide character, none for a combining mark."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1
        for char in text
    )
