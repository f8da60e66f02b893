"""Resolves sheets of labels, declared or common, and the tape or roll that a label printer feeds."""

from __future__ import annotations

from fractions import Fraction

from rigcard.diagnostics import Diagnostics
from rigcard.resolve import codes, words
from rigcard.resolve.measures import length_mm
from rigcard.resolve.paper_side import LabelSheet, Reel
from rigcard.resolve.scope import Block, show, whole, word
from rigcard.syntax import tree

PAGES = {"a4": (Fraction(210), Fraction(297)), "letter": (Fraction("215.9"), Fraction("279.4"))}
MOST = 40  # columns or rows
FARTHEST = 5  # mm of feed error
SPARES = Fraction(10)  # per cent (common practice, no source)
LONGEST = 300  # mm: no label of a reel is wider or longer
LINE = Fraction("2.6")  # mm: the smallest line of type
TAPES = (9, 12, 18, 24, 36)  # mm: widths that are sold everywhere (common practice, no source)
_NARROW = 18  # mm: printers reach nearer to the sides of a tape up to this width (common practice, no source)
_ROLL_MARGIN = (Fraction("1.5"), Fraction(3))  # of a die-cut label (common practice, no source)


def _common(name: str, page: str, grid: tuple[int, int], cell: str, margin: str, gap: str) -> LabelSheet:
    def pair(text: str) -> tuple[Fraction, Fraction]:
        first, second = text.split()
        return Fraction(first), Fraction(second)

    return LabelSheet(name, name, page, *grid, pair(cell), pair(margin), pair(gap), (Fraction(0), Fraction(0)))


COMMON = {  # common practice, no source: sheets with these cells are sold everywhere
    sheet.name: sheet
    for sheet in (
        _common("a4-3x8-70x37", "a4", (3, 8), "70 37", "0 0.5", "0 0"),
        _common("a4-2x7-99x38", "a4", (2, 7), "99.1 38.1", "4.65 15.15", "2.5 0"),
        _common("a4-2x4-99x68", "a4", (2, 4), "99.1 67.7", "4.65 13.1", "2.5 0"),
        _common("letter-3x10-67x25", "letter", (3, 10), "66.675 25.4", "4.7625 12.7", "3.175 0"),
    )
}


def sheet(statement: tree.Sheet, diagnostics: Diagnostics) -> LabelSheet | None:
    """A sheet from its statement; None, with a report, if a part is missing or does not fit the page."""
    block = Block(statement.items, statement.name, diagnostics)
    page, grid, cell = block.one(tree.SheetPage), block.one(tree.Grid), block.one(tree.Cell)
    margin, gap, offset = block.one(tree.SheetMargin), block.one(tree.Gap), block.one(tree.Offset)
    if page is None or grid is None or cell is None:
        missing = [
            name
            for name, part in (("page a4", page), ("grid 3 x 8", grid), ("cell 70mm x 37mm", cell))
            if not part
        ]
        diagnostics.report(
            codes.MISSING_STATEMENT,
            statement.name.span,
            f"sheet `{statement.name.text}` does not state its {missing[0].split()[0]}",
            f"add `{missing[0]}` as measured on the sheet",
        )
        return None
    paper = word(page.name, words.PAPERS, "paper", diagnostics)
    if paper is None:
        return None
    made = LabelSheet(
        name=statement.name.text,
        title=statement.title.text,
        page=paper,
        columns=whole(grid.columns, 1, MOST, "count of columns", diagnostics),
        rows=whole(grid.rows, 1, MOST, "count of rows", diagnostics),
        cell=(length_mm(cell.width), length_mm(cell.height)),
        margin=(length_mm(margin.left), length_mm(margin.top)) if margin else (Fraction(0), Fraction(0)),
        gap=(length_mm(gap.across), length_mm(gap.down)) if gap else (Fraction(0), Fraction(0)),
        offset=(_shift(offset.right, diagnostics), _shift(offset.down, diagnostics))
        if offset
        else (Fraction(0), Fraction(0)),
    )
    for side, count, name in ((0, made.columns, "wide"), (1, made.rows, "tall")):
        needed = made.margin[side] + count * made.cell[side] + (count - 1) * made.gap[side]
        if needed > PAGES[paper][side]:
            diagnostics.report(
                codes.OUT_OF_RANGE,
                cell.width.span if side == 0 else cell.height.span,
                f"the cells are {float(needed):g} mm {name} together, and the page is {float(PAGES[paper][side]):g} mm",
                "measure cell, margin and gap again",
            )
            return None
    return made


def _shift(number: tree.Number, diagnostics: Diagnostics) -> Fraction:
    """A feed error of the printer in mm; a larger value means that somebody measured a margin wrongly."""
    shift = length_mm(number)
    if abs(shift) > FARTHEST:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            number.span,
            f"{show(number)} is more than a printer's feed error",
            f"write {FARTHEST}mm or less, and measure `margin` again",
        )
    return shift


def usual_tape(width: int | Fraction) -> Reel:
    """A tape of a width in mm, with the margins of most tape printers: 2 mm at the ends, less along the sides."""
    return Reel(None, Fraction(width), (Fraction(2), Fraction("1.2") if width <= _NARROW else Fraction(3)))


def reel(chosen: tree.LabelsOn | None, diagnostics: Diagnostics) -> Reel | None:
    """The tape or roll of `labels on tape ...` or `labels on roll ...`; None, with a report, for an impossible one.

    Margins that are not stated are those of most such printers (common practice, no source).
    """
    if chosen is None or isinstance(chosen.sheet, tree.Name):
        return None
    stated = chosen.sheet
    usual = usual_tape(length_mm(stated.width)).margin if isinstance(stated, tree.Tape) else _ROLL_MARGIN
    edges = (length_mm(stated.margin.left), length_mm(stated.margin.top)) if stated.margin else usual
    sizes: tuple[tree.Number | None, tree.Number] = (None, stated.width)
    example = "labels on tape 12mm"
    if isinstance(stated, tree.Roll):
        sizes = (stated.width, stated.height)
        example = "labels on roll 62mm x 29mm"
    for number, edge, side in zip(sizes, edges, ("left and right", "top and foot"), strict=True):
        if number is None:
            continue
        size = length_mm(number)
        if not 0 < size <= LONGEST:
            fault = f"a label of {show(number)} is not possible"
        elif size - 2 * edge < LINE:
            left = max(Fraction(0), size - 2 * edge)
            fault = (
                f"{show(number)} less {float(edge):g} mm at {side} is {float(left):g} mm, "
                f"and the smallest line takes {float(LINE):g} mm"
            )
        else:
            continue
        diagnostics.report(
            codes.OUT_OF_RANGE, number.span, fault, f"measure it again, and write it as `{example}`"
        )
        return None
    return Reel(length_mm(sizes[0]) if sizes[0] else None, length_mm(sizes[1]), edges)


def spares(statement: tree.SpareLabels | None, diagnostics: Diagnostics) -> Fraction:
    """The number of spare labels, in per cent of the cable labels."""
    if statement is None:
        return SPARES
    if not 0 <= statement.percent.value <= 100:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            statement.percent.span,
            f"{show(statement.percent)} is no share of the labels",
            "write a percentage from 0% to 100%; `spare-labels 0%` is none",
        )
    return statement.percent.value
