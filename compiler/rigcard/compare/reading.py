"""Reads the earlier side of a comparison, and says what cannot be compared."""

from __future__ import annotations

import json

from rigcard.compare.compare import same_rig
from rigcard.compare.comparison import Comparison
from rigcard.compare.facts import Facts
from rigcard.compare.read_facts import FORM, UnreadableError, facts_of
from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.source import Span
from rigcard.syntax.load import require_regular_file

LARGEST = 20_000_000  # characters of a rig.json
MOST_VALUES = 2_000_000  # in it: each takes some 60 bytes when it is read

NOT_COMPARABLE = define(
    "RC550",
    Severity.ERROR,
    "not_comparable",
    """
    Reports: a file given to compare with that is no rig.json of the present form.
    Why: what the older form does not say would look like a change.
    Bad: rigcard compare old/rig.json my.rig, where old/rig.json was written by an earlier release
    Good: rigcard compare old.rig my.rig
    """,
    outside="file",
)
ANOTHER_RIG = define(
    "RC551",
    Severity.ERROR,
    "another_rig",
    """
    Reports: two sides that are no revisions of one rig: another title, and hardly a piece in common.
    Why: every paper would be changed, and the list of them would help nobody.
    Bad: rigcard compare mast.rig gorge.rig
    Good: rigcard compare gorge-c.rig gorge.rig
    """,
    outside="file",
)
SAME_LETTER = define(
    "RC552",
    Severity.WARNING,
    "same_letter",
    """
    Reports: papers that differ from those of an earlier build, under the same revision letter.
    Why: two cards with one letter and other words cannot be told apart in the field but by their check code.
    Bad: revision "C", changed, built with --changed-since the rig.json of revision "C"
    Good: revision "D"
    """,
)


def text_of(name: str) -> str:
    """Return the text of a file that is one, and of a size that can be read. Raises OSError or ValueError."""
    require_regular_file(name)
    with open(name, encoding="utf-8", errors="replace") as file:
        text = file.read(LARGEST + 1)
    if len(text) > LARGEST:
        raise ValueError(f"it is larger than {LARGEST // 1_000_000} MB")
    if sum(map(text.count, ",[{")) > MOST_VALUES:
        raise ValueError(f"it holds more than {MOST_VALUES // 1_000_000} million values")
    return text


def earlier(text: str) -> Facts:
    """Return the facts of the text of a rig.json. Raises UnreadableError, whose message begins with `it`."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as fault:
        raise UnreadableError("it is no JSON") from fault
    form = data.get("schema") if isinstance(data, dict) else None
    if not isinstance(data, dict) or form is None:
        raise UnreadableError("it is no rig.json")
    if form != FORM or isinstance(form, bool):
        raise UnreadableError(f"it has form {form}, and only form {FORM} says everything that is compared")
    try:
        return facts_of(data)
    except UnreadableError as fault:
        raise UnreadableError(f"it is damaged: {fault}") from fault


def report_unreadable(name: str, fault: object, diagnostics: Diagnostics) -> None:
    """Report a side that cannot be read."""
    diagnostics.report(
        NOT_COMPARABLE,
        None,
        f"{name} cannot be compared with: {fault}",
        "give the rig file of that revision, or build it again and give the new rig.json",
        where=name,
    )


def report_another(
    old: Facts, new: Facts, diagnostics: Diagnostics, span: Span | None, where: str = ""
) -> bool:
    """Report two sides of different rigs; returns whether they are."""
    if same_rig(old, new):
        return False
    diagnostics.report(
        ANOTHER_RIG,
        span,
        f"`{old.title}` and `{new.title}` are not one rig: they have another title and other pieces",
        "give two rig files, or rig.json, of the same rig",
        where=where,
    )
    return True


def report_same_letter(found: Comparison, diagnostics: Diagnostics, span: Span | None, where: str = "") -> None:
    """Warn of papers that differ and bear the same letter."""
    letter = found.new.revision
    if letter and letter == found.old.revision and found.papers_differ:
        diagnostics.report(
            SAME_LETTER,
            span,
            f"papers differ from the earlier ones, and both are revision `{letter}`",
            "give the revision its next letter",
            where=where,
        )
