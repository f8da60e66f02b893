"""`rigcard compare`: reads both sides, says what differs, and makes the change card by itself."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from typing import NamedTuple

from rigcard.compare.compare import Side, compare
from rigcard.compare.comparison import Comparison
from rigcard.compare.read_facts import UnreadableError, facts_of
from rigcard.compare.reading import earlier, report_another, report_same_letter, report_unreadable, text_of
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.language import speaking
from rigcard.documents.cards.card_set import card_document
from rigcard.documents.cards.change import change_card
from rigcard.documents.cards.frame import inner_width, lay
from rigcard.exports.compare_text import as_json, as_text
from rigcard.outputs.registry import Job
from rigcard.pipeline import prepare
from rigcard.render.pdf import pdf
from rigcard.writer import UNWRITABLE, write_one


class _Read(NamedTuple):
    """One side as it was read; `job` is None for a rig.json."""

    side: Side
    job: Job | None


def compared(
    old: str,
    new: str,
    in_json: bool,
    card: str | None,
    cache: str | None,
    stock: Sequence[str],
    diagnostics: Diagnostics,
) -> str:
    """Return what differs between two files as text or JSON; "", with a report, if they cannot be compared.

    `card`: where to write the change card, or None.
    """
    one, other = (_side(name, cache, stock, diagnostics) for name in (old, new))
    if one is None or other is None:
        return ""
    if report_another(one.side.facts, other.side.facts, diagnostics, None, new):
        return ""
    found = compare(one.side, other.side)
    report_same_letter(found, diagnostics, other.job.solved.rig.span if other.job else None, new)
    if card and not _card_written(card, (old, new), other.job, found, diagnostics):
        return ""
    return as_json(found) if in_json else as_text(found)


def _side(name: str, cache: str | None, stock: Sequence[str], diagnostics: Diagnostics) -> _Read | None:
    """Read a rig file or a rig.json; None, with a report, if it is neither."""
    text = ""
    try:
        with suppress(OSError):  # a rig file that cannot be read is reported by the pass that reads it
            text = text_of(name)
        if name.endswith(".json") or text.lstrip("\ufeff \t\r\n").startswith(("{", "[")):
            return _Read(Side(earlier(text or text_of(name))), None)
    except (UnreadableError, OSError, ValueError) as fault:
        report_unreadable(name, getattr(fault, "strerror", None) or fault, diagnostics)
        return None
    prepared = prepare(name, diagnostics, cache, None, stock)
    if prepared is None:
        return None
    solved = prepared.job.solved
    with speaking(solved.rig.language):
        return _Read(Side(facts_of(prepared.job.data), solved), prepared.job)


def _card_written(
    name: str, sides: Sequence[str], job: Job | None, found: Comparison, diagnostics: Diagnostics
) -> bool:
    """Whether the change card could be written; else that is reported."""
    cause, remedy = "", "give another place: -o change.pdf"
    if job is None:
        cause, remedy = (
            "a change card is made from the rig file, and NEW is a rig.json",
            "give the rig file as NEW",
        )
    elif os.path.realpath(name) in map(os.path.realpath, sides) or name.endswith((".rig", ".json")):
        cause = "the change card would replace a side of the comparison, or another file that is no PDF"
    else:
        try:
            write_one(name, change_pdf(job, found))
        except OSError as fault:
            cause = f"the change card cannot be written: {fault.strerror or fault}"
    if cause:
        diagnostics.report(UNWRITABLE, None, cause, remedy, where=name)
    return not cause


def change_pdf(job: Job, found: Comparison) -> bytes:
    """Return the change card of a comparison whose new side is the rig of a job."""
    rig = job.solved.rig
    with speaking(rig.language):
        card = lay(job.face, rig, change_card(job.face, inner_width(rig), found))
        document = card_document(job.face, job.solved, pack=[card], flip=job.request.flip)
    return pdf(document._replace(name="change"), job.face)
