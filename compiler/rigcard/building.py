"""Builds one rig, writes its papers, and says what became of it; nothing here prints."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.reporting.as_text import printable
from rigcard.writer import UNWRITABLE, write_all, write_one, write_over

if TYPE_CHECKING:
    from rigcard.outputs.registry import Request
    from rigcard.pipeline import Papers


class Built(NamedTuple):
    """What became of one rig; `rule` is its part of the depfile, None where no papers were written.

    `read`: the files that it was made from; `papers`: all that it has now, and `new`: those that it had not before.
    """

    diagnostics: Diagnostics
    said: str
    rule: str | None
    read: tuple[str, ...] = ()
    papers: tuple[str, ...] = ()
    new: tuple[str, ...] = ()
    notes: tuple[Diagnostic, ...] = ()


def build_one(
    options: argparse.Namespace, request: Request, cache: str | None, place: tuple[str, str]
) -> Built:
    """Build one rig and write its papers; `place` is its file and its folder. Another process may do this."""
    from rigcard.outputs.earlier import notes_of
    from rigcard.pipeline import build_rig
    from rigcard.watching import differing

    name, folder = place
    diagnostics = Diagnostics()
    papers = build_rig(name, diagnostics, cache, request, options.stock)
    if papers is None or diagnostics.refuses(options.strict):
        return Built(diagnostics, "", None)
    rule = _rule_of(options, folder, papers, diagnostics)
    new = tuple(differing(folder, papers.files)) if options.watch else ()
    if rule is None or not write_papers(folder, papers, diagnostics):
        return Built(diagnostics, "", None)
    remark = f"\n{papers.remark}" if papers.remark else ""
    said = f"{printable(folder)}: {', '.join(papers.files)}{remark}"
    notes = notes_of(papers.remark, folder)
    return Built(diagnostics, said, rule, papers.sources, tuple(papers.files), new, notes)


def killed(name: str) -> Built:
    """For a rig whose process ended without a result, as the system does when memory runs out."""
    diagnostics = Diagnostics()
    cause = "the process that built it was stopped from outside; what was there is as it was"
    diagnostics.report(UNWRITABLE, None, cause, "build it alone, with `--jobs 1`", where=name)
    return Built(diagnostics, "", None)


def _rule_of(options: argparse.Namespace, folder: str, papers: Papers, diagnostics: Diagnostics) -> str | None:
    """Return the depfile's rule for a rig: "" if none is wanted, None, with a report, if there can be none."""
    from rigcard.depfile import rule

    if not options.depfile:
        return ""
    targets = [os.path.join(folder, name) for name in papers.files]
    written = {os.path.realpath(name) for name in targets}
    since = [options.changed_since] if options.changed_since else []
    used = {".rig", *written, *map(os.path.realpath, (*papers.sources, *since))}
    if {os.path.realpath(options.depfile), options.depfile[-4:]} & used:
        diagnostics.report(
            UNWRITABLE,
            None,
            "the depfile would replace a rig file, or what this build reads or writes; nothing is written",
            "name it papers.d",
            where=options.depfile,
        )
        return None
    # leave out an earlier rig.json that this build replaces: a paper cannot depend on itself
    read = [*papers.sources, *(name for name in since if os.path.realpath(name) not in written)]
    try:
        return rule(targets, read)
    except ValueError as fault:
        diagnostics.report(
            UNWRITABLE,
            None,
            f"the depfile cannot be written: make and ninja do not read the name `{fault}` alike",
            "rename it with letters, digits, `-` and `_`",
            where=options.depfile,
        )
        return None


def write_papers(folder: str, papers: Papers, diagnostics: Diagnostics) -> bool:
    """Whether the papers could be written; else that is reported."""
    return _written(
        partial(write_all, folder, papers.files, papers.stale),
        folder,
        "the papers cannot be written: {}; what was there is as it was",
        "free the disk or the folder, or give another with -o",
        diagnostics,
    )


def write_rig(name: str, data: bytes, diagnostics: Diagnostics) -> bool:
    """Whether a rig file could be replaced by what it holds now; else that is reported."""
    return _written(
        partial(write_over, name, data),
        name,
        "the file cannot be written: {}; it is as it was",
        "free the disk, the folder or the file",
        diagnostics,
    )


def write_depfile(name: str, text: str) -> Diagnostics:
    """Write the depfile of papers that are written; returns what is reported."""
    diagnostics = Diagnostics()
    _written(
        partial(write_one, name, os.fsencode(text)),
        name,
        "the papers are written, and the depfile cannot be: {}",
        "free the disk or the folder, or give another place with --depfile",
        diagnostics,
    )
    return diagnostics


def _written(write: Callable[[], None], where: str, cause: str, hint: str, diagnostics: Diagnostics) -> bool:
    """Whether a writer succeeds; else its reason is reported in the place of {} in the cause."""
    try:
        write()
    except OSError as fault:
        reason = str(fault.strerror or fault)
        diagnostics.report(UNWRITABLE, None, cause.replace("{}", reason), hint, where=where)
        return False
    return True
