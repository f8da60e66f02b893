"""Refuses characters in comments that nobody sees and that change how the lines around them are shown."""

from collections.abc import Sequence

from rigcard.diagnostics import Diagnostics, Edit
from rigcard.source import Source, Span
from rigcard.syntax import codes
from rigcard.syntax.errors import described
from rigcard.syntax.forgotten import MOST_FAULTS


def report_in_comments(source: Source, places: Sequence[int], diagnostics: Diagnostics) -> None:
    """Report characters that move a terminal's cursor, or make a comment look like statements."""
    for at in places[:MOST_FAULTS]:
        span = Span(source, at, at + 1)
        cause = f"{described(source.text[at])} cannot stand in a comment"
        diagnostics.report(codes.UNREADABLE_CHARACTER, span, cause, "remove it", edits=(Edit(span, ""),))
