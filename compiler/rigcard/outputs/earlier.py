"""What a build is compared with: the papers of an earlier one, which must be of the same rig."""

from __future__ import annotations

from rigcard.compare.reading import report_another, report_same_letter
from rigcard.diagnostics import Diagnostic, Diagnostics, Severity, define
from rigcard.exports.compare_text import recall
from rigcard.outputs.registry import Job

TO_KNOW = define(
    "RC553",
    Severity.NOTE,
    "to_know",
    """
    Reports: what there is to know about papers that were written: what to print and to collect, which cells are free.
    Why: a program that reads the messages must learn what a person reads on the screen.
    Bad: nothing is wrong; in text the same stands below the names of the papers
    Good: rigcard build gorge.rig --changed-since old/rig.json --message-format json
    """,
)


def check_earlier(job: Job, diagnostics: Diagnostics) -> None:
    """Report an earlier build of another rig, and papers that differ under one letter."""
    found = job.comparison
    if found and not report_another(found.old, found.new, diagnostics, job.solved.rig.span):
        report_same_letter(found, diagnostics, job.solved.rig.span)


def recalled(job: Job) -> list[str]:
    """Return which papers of the earlier build to print anew and to collect; nothing without one."""
    return recall(job.comparison) if job.comparison else []


def notes_of(remark: str, folder: str) -> tuple[Diagnostic, ...]:
    """Return what there is to know about the papers in a folder, a note a line."""
    lines = [text for text in remark.split("\n") if text]
    return tuple(Diagnostic(TO_KNOW, None, text, "rigcard explain RC553", where=folder) for text in lines)
