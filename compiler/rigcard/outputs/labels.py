"""labels.pdf: the labels of cables, units and cases on their sheets."""

from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.documents.labels.label_sheets import (
    SHEDDING,
    Used,
    label_sheets,
    largest,
    sheet_that_holds,
    too_large,
)
from rigcard.outputs.registry import Job, output
from rigcard.render.pdf import pdf
from rigcard.words import listed, ranges

LABEL_TOO_LARGE = define(
    "RC504",
    Severity.ERROR,
    "label_too_large",
    """
    Reports: a label that does not fit the cells of the sheet that the rig names.
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


def check(job: Job, diagnostics: Diagnostics) -> None:
    """Report cells that the sheet lacks, labels too large for it, and labels with room for an id only."""
    face, solved, request, made = job.face, job.solved, job.request, job.labels
    sheet = solved.rig.sheet
    numbers = {request.start, *request.skip}
    if (sheet is None and numbers != {1}) or (sheet and not 1 <= min(numbers) <= max(numbers) <= sheet.cells):
        has = f"sheet {sheet.name} has {sheet.cells} cells" if sheet else "the rig names no sheet of labels"
        diagnostics.report(
            NO_CELL,
            solved.rig.span,
            f"{has}, and cell {max(numbers)} is asked for",
            "count the cells in reading order, from 1"
            if sheet
            else "write `labels on a4-3x8-70x37`, or the name of a `sheet`, in the rig block",
        )
    large = too_large(face, solved.rig, made)
    if large:
        width, height = largest(solved.rig)
        where = f"the cells of sheet {sheet.name}" if sheet else f"a sheet of {solved.rig.paper} film"
        shown = listed([f"{label.name} ({label.width:g} x {label.height:.1f} mm)" for label in large[:4]])
        more = f" and {len(large) - 4} more" if len(large) > 4 else ""
        other = sheet_that_holds(face, solved.rig) if sheet else ""
        film = (
            f"leave `labels on` out: film that is cut by hand; no common {sheet.page} sheet holds them"
            if sheet
            else ""
        )
        larger = f"write `labels on {other}`: its cells hold all labels" if other else film
        diagnostics.report(
            LABEL_TOO_LARGE,
            solved.rig.span,
            f"{shown}{more} {'do' if len(large) > 1 else 'does'} not fit {where}, {width:g} x {height:g} mm",
            larger if sheet else "measure the jacket again",
        )
    bare = {label.name for label in made if not label.whole}
    for cable in solved.rig.cables.values():
        if bare & {f"{leg.id}-{letter}" for leg in cable.legs for letter in "AB"}:
            diagnostics.report(
                ID_ALONE,
                cable.span,
                f"a label of `{cable.name}` has room for its id alone, not for where the plug goes",
                "shorten the titles of its units" + (", or use a sheet with wider cells" if sheet else ""),
            )


@output("labels", check=check, sometimes=("labels.pdf",))
def labels(job: Job, diagnostics: Diagnostics) -> dict[str, bytes]:
    """Make the label sheets, without the labels that an earlier build printed identically."""
    face, solved, request = job.face, job.solved, job.request
    valid = job.comparison.old.labels if job.comparison else {}
    used = Used(request.start, request.skip, valid)
    outcome = label_sheets(face, solved.rig, used, job.labels)
    sheet = solved.rig.sheet
    if sheet and outcome.next_cell:
        row, column = divmod(outcome.next_cell - 1, sheet.columns)
        place = f"row {row + 1}, column {column + 1}"
        cells = [f"sheet {number}: {ranges(cells)}" for number, cells in enumerate(outcome.cells, 1)]
        job.remarks.append(
            f"labels: cells used: {'; '.join(cells) or 'none'}; "
            f"next free cell {outcome.next_cell} ({place}), {outcome.cells_left} left on the last sheet"
        )
        if used.part_used:
            job.remarks.append(f"labels: {SHEDDING}")
    return {"labels.pdf": pdf(outcome.document, face)} if outcome.document.pages else {}
