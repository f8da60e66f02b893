"""labels.pdf: the labels of cables, units and cases on their sheets."""

import re
import unicodedata
from itertools import groupby

from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.documents.labels.asset_codes import asset_code
from rigcard.documents.labels.frame import Label
from rigcard.documents.labels.label_sheets import (
    Outcome,
    Used,
    label_sheets,
    largest,
    sheet_that_holds,
    tape_that_holds,
    too_large,
    wanted_labels,
)
from rigcard.outputs.registry import Job, output
from rigcard.render.pdf import pdf
from rigcard.reporting.suggest import did_you_mean
from rigcard.resolve.model import Rig
from rigcard.words import listed

MOST_NAMED = 12  # labels that one line of a remark names

LABEL_TOO_LARGE = define(
    "RC504",
    Severity.ERROR,
    "label_too_large",
    """
    Reports: a label that does not fit the cells of the sheet, the tape or the roll that the rig names.
    Why: print across a die cut is lost, and smaller print would not be read.
    Bad: labels on a4-3x8-70x37, and a flag of 80 mm for a thick cable with a long name
    Good: labels on a sheet with larger cells, or no `labels on`: film that is cut by hand
    """,
)
NO_CELL = define(
    "RC505",
    Severity.ERROR,
    "no_such_cell",
    """
    Reports: `--start` or `--skip` with a cell that the sheet does not have, or without a sheet.
    Why: a part-used sheet would be printed over.
    Bad: rigcard build gorge.rig --start 30, on a sheet of 24
    Good: rigcard build gorge.rig --start 8
    """,
)
ID_ALONE = define(
    "RC507",
    Severity.WARNING,
    "id_alone",
    """
    Reports: a moving or flying cable on whose labels only the id has room, not where its plugs go.
    Why: a flag, which would hold all words, flutters and snags there; the id leads to the wiring table only.
    Bad: jacket 2mm; moving, between units with titles of 60 letters, on a sheet with cells of 70 mm
    Good: shorter titles, or a sheet with wider cells
    """,
)


NO_LABEL = define(
    "RC545",
    Severity.ERROR,
    "no_such_label",
    """
    Reports: `--label` with a name that no label of the rig has.
    Why: a label would be missing from the lead, and nobody would know.
    Bad: rigcard build gorge.rig --label S20-A, where the leads are S01 to S04
    Good: rigcard build gorge.rig --label S02-A
    """,
)
NO_CODE = define(
    "RC546",
    Severity.WARNING,
    "asset_without_code",
    """
    Reports: an asset that no code can hold, so that its label bears none.
    Why: a scanner at the return finds no code; the check character covers digits and the letters A to Z only.
    Bad: asset "HS_014"
    Good: asset "HS-014"
    """,
)


def check(job: Job, diagnostics: Diagnostics) -> None:
    """Report cells and labels that there are not, labels that are too large, and those that lack words or a code."""
    _check_cells(job, diagnostics)
    _check_names(job, diagnostics)
    large = too_large(job.face, job.solved.rig, job.labels)
    if large:
        _report_large(job, large, diagnostics)
    rig = job.solved.rig
    bare = {label.name for label in job.labels if not label.whole}
    roomier = _roomier(job) if bare else ""
    for cable in rig.cables.values():
        if bare & {f"{leg.id}-{letter}" for leg in cable.legs for letter in "AB"}:
            diagnostics.report(
                ID_ALONE,
                cable.span,
                f"a label of `{cable.name}` has room for its id alone, not for where the plug goes",
                roomier,
            )
    for unit in (*rig.units.values(), *rig.spare_units.values()):
        for asset in unit.numbers:
            if not asset_code(asset):
                diagnostics.report(
                    NO_CODE,
                    unit.span,
                    f"the label of `{unit.name}` has no code: none holds every character of `{asset}`",
                    f'write it as `"{_spelt(asset)}"`: codes hold A to Z, 0 to 9, blanks, `-`, `.` and `/`',
                )


def _spelt(asset: str) -> str:
    """Return an asset in characters that a code holds."""
    plain = unicodedata.normalize("NFKD", asset).upper()
    kept = "".join(char for char in plain if not unicodedata.combining(char))
    return re.sub(r"[^A-Z0-9 ./-]+", "-", kept).strip("-") or "A-1"


def _check_cells(job: Job, diagnostics: Diagnostics) -> None:
    rig, request = job.solved.rig, job.request
    sheet = rig.sheet
    last = sheet.cells if sheet else 1
    missing = [number for number in sorted({request.start, *request.skip}) if not 1 <= number <= last]
    if missing or (sheet is None and request.skip):
        asked = missing[-1] if missing else 1
        has = f"sheet {sheet.name} has {sheet.cells} cells" if sheet else "the rig names no sheet of labels"
        diagnostics.report(
            NO_CELL,
            rig.span,
            f"{has}, and cell {asked} is asked for",
            "count the cells in reading order, from 1"
            if sheet
            else "write `labels on a4-3x8-70x37`, or the name of a `sheet`, in the rig block",
        )


def _check_names(job: Job, diagnostics: Diagnostics) -> None:
    known = _by_name(job)
    for name in job.request.labels:
        if name not in known:
            hint = did_you_mean(name, known, "build all labels once, without `--label`, to see their names")
            diagnostics.report(NO_LABEL, job.solved.rig.span, f"there is no label named `{name}`", hint)


def _by_name(job: Job) -> dict[str, list[str]]:
    """Return the names of labels by what may be asked for: a label, a leg or a lead with all labels of its ends."""
    found = {label.name: [label.name] for label in job.labels}
    for cable in job.solved.rig.cables.values():
        ends = [(leg.id, f"{leg.id}-{letter}") for leg in cable.legs for letter in "AB"]
        for lead in dict.fromkeys([cable.name, *(leg for leg, _ in ends)]):
            found.setdefault(lead, [label for leg, label in ends if lead in (cable.name, leg)])
    return found


def _report_large(job: Job, large: list[Label], diagnostics: Diagnostics) -> None:
    rig = job.solved.rig
    width, height = largest(rig)
    shown = listed([f"{label.name} ({label.width:g} x {label.height:.1f} mm)" for label in large[:4]])
    more = f" and {len(large) - 4} more" if len(large) > 4 else ""
    where, size = f"a sheet of {rig.paper} film", f", {width:g} x {height:g} mm"
    hint = "measure the jacket again"
    if rig.reel:
        shown = listed([label.name for label in large[:4]])
        where = f"tape of {height:g} mm" if rig.reel.page_width is None else "a label of the roll"
        size = "" if rig.reel.page_width is None else size
        tape = tape_that_holds(job.face, rig)
        hint = f"write `labels on tape {tape}mm`, which holds all labels" if tape else _FILM
    elif rig.sheet:
        where = f"the cells of sheet {rig.sheet.name}"
        other = sheet_that_holds(job.face, rig)
        hint = (
            f"write `labels on {other}`: its cells hold all labels"
            if other
            else f"{_FILM}; no common {rig.sheet.page} sheet holds them"
        )
    verb = "do" if len(large) > 1 else "does"
    diagnostics.report(LABEL_TOO_LARGE, rig.span, f"{shown}{more} {verb} not fit {where}{size}", hint)


_FILM = "leave `labels on` out: film that is cut by hand"


def _roomier(job: Job) -> str:
    """Return how to make room for all words."""
    rig = job.solved.rig
    if rig.reel:
        tape = tape_that_holds(job.face, rig, whole=True)
        return f"write `labels on tape {tape}mm`" if tape else "give its units and ports a `short`"
    return "shorten the titles of its units" + (", or use a sheet with wider cells" if rig.sheet else "")


@output("labels", check=check, sometimes=("labels.pdf",))
def labels(job: Job, diagnostics: Diagnostics) -> dict[str, bytes]:
    """Make the labels that are wanted: all, those that were named, or those that an earlier build did not print."""
    rig, request = job.solved.rig, job.request
    valid = job.comparison.old.labels if job.comparison else {}
    names = _by_name(job)
    only = frozenset(label for name in request.labels for label in names[name])
    used = Used(request.start, request.skip, valid, only)
    outcome = label_sheets(job.face, rig, used, job.labels)
    printed = wanted_labels(job.labels, used)
    job.remarks += _remarks(rig, outcome, used, printed)
    gone = sorted(set(valid) - {label.name for label in job.labels})
    if gone and not only:
        job.remarks.append(f"labels: take off, with nothing in their place: {_shortened(gone)}")
    return {"labels.pdf": pdf(outcome.document, job.face)} if outcome.document.pages else {}


def _remarks(rig: Rig, outcome: Outcome, used: Used, printed: list[Label]) -> list[str]:
    """Return which labels are where, and how a sheet goes on."""
    if rig.sheet is None:
        again = used.only or used.valid
        named = _shortened([label.name for label in printed]) if printed else "none"
        said = [f"labels: printed: {named}"] if again else []
        if rig.reel and printed:
            said.append(f"labels: {len(printed)} pages, a label each: print at 100 %")
        return said
    if not outcome.next_cell:
        return []
    row, column = divmod(outcome.next_cell - 1, rig.sheet.columns)
    said = [
        f"labels: cells used: {_cells(outcome, printed) or 'none'}; "
        f"next free cell {outcome.next_cell} (row {row + 1}, column {column + 1}), "
        f"{outcome.cells_left} left on the last sheet"
    ]
    if used.part_used:
        said.append("labels: part-used: a sheet passed more than twice through a laser printer may shed labels")
    return said


def _cells(outcome: Outcome, printed: list[Label]) -> str:
    """Return the cells used on each sheet, in runs, each with its labels."""
    names = iter(label.name for label in printed)
    sheets = []
    for number, cells in enumerate(outcome.cells, 1):
        pairs = list(zip(cells, names, strict=False))
        runs = [[pair for _, pair in run] for _, run in groupby(enumerate(pairs), lambda at: at[1][0] - at[0])]
        parts = [_run([cell for cell, _ in run], [name for _, name in run]) for run in runs]
        sheets.append(f"sheet {number}: {', '.join(parts)}")
    return "; ".join(sheets)


def _run(cells: list[int], names: list[str]) -> str:
    if len(cells) == 1:
        return f"{cells[0]} ({names[0]})"
    between = " and " if len(cells) == 2 else " to "
    return f"{cells[0]}-{cells[-1]} ({names[0]}{between}{names[-1]})"


def _shortened(names: list[str]) -> str:
    """Return names in a list, the first ones of many."""
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"
    return listed(names)
