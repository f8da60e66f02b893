"""Flat labels: one for every unit, with a code of its asset, and one for every case."""

import re

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import line_height, text_at, wrap
from rigcard.documents.base.model import SMALLEST, Bars, Mark, Squares, Typeface
from rigcard.documents.labels import code128
from rigcard.documents.labels.asset_codes import MODULE, QUIET, asset_code, code_size
from rigcard.documents.labels.frame import EDGE, SET, Label, cell_room, fits, outline, text_height
from rigcard.documents.labels.reel_kit_labels import case_on_reel, unit_on_reel
from rigcard.resolve.model import Rig, Unit

WIDTH, HEIGHT = 60.0, 24.0
PAD = 0.5  # beyond the edge


# ---- units ---------------------------------------------------------------------------------------------------


def unit_labels(face: Typeface, rig: Rig) -> list[Label]:
    """Make a flat job label for every unit, and for every pack in the file.

    It goes beside the owner's label, never over it.
    """
    return [
        _unit_label(face, rig, one)
        for unit in (*rig.units.values(), *rig.spare_units.values())
        for one in (unit, *_further_packs(unit))
    ]


def _further_packs(unit: Unit) -> list[Unit]:
    """Return each further pack of a unit as a unit with its own number."""
    what = unit.label if unit.role == "pack" else say("Pack for {unit}", unit=unit.label)
    return [
        unit._replace(name=f"{unit.name}.{number}", title=what, short="", asset=asset)
        for number, asset in enumerate(unit.numbers[1:] if unit.packs else (), 2)
    ]


def _unit_label(face: Typeface, rig: Rig, unit: Unit) -> Label:
    """Make a label with the code that the file asks for.

    By default it is a matrix code, or a linear code if only that fits the sheet.
    """
    says = (
        unit.label,
        *([unit.spare_for] if unit.spare_for else []),
        unit.asset,
        unit.model.name,
        unit.case,
        rig.codes,
    )
    if rig.reel:
        made = unit_on_reel(face, rig.reel, _texts(rig, unit), asset_code(unit.asset), rig.codes)
        return Label(unit.name, "flat", *made, says)
    kinds = {"matrix": (_matrix,), "linear": (_linear_below, _linear_beside), "": (_matrix, _linear_beside)}
    labels = []
    for kind in kinds[rig.codes]:
        width, height, marks = kind(face, rig, unit)
        labels.append(Label(unit.name, "flat", width, height, marks, says))
        if _fits(rig, labels[-1]):
            return labels[-1]
    return labels[0]


def _fits(rig: Rig, label: Label) -> bool:
    return rig.sheet is None or fits(label, cell_room(rig.sheet))


Made = tuple[float, float, tuple[Mark, ...]]  # width, height, marks


def _matrix(face: Typeface, rig: Rig, unit: Unit) -> Made:
    code = asset_code(unit.asset)
    version, side = code_size(code) if code else (0, 0.0)
    lines = _lines(face, rig, unit, WIDTH - 2 * EDGE - 2 * PAD - (side and side + 0.5))
    under = wrap(face, code, SMALLEST, side - 2 * EDGE) if code else []
    quiet = QUIET * MODULE
    caption = side - quiet - 0.5  # below the squares' top; its capitals begin where the quiet zone ends
    code_height = caption + len(under) * line_height(SMALLEST) if code else 0.0
    tall = max(HEIGHT, text_height(lines) + 2 * EDGE + 2 * PAD, code_height + quiet + EDGE)
    marks = [*outline(WIDTH, tall), *_block(face, lines, (tall - text_height(lines)) / 2)]
    if code:
        left, top = WIDTH - side, max(quiet, (tall - code_height) / 2)
        marks.append(Squares(left + quiet, top, code, MODULE, version))
        for number, line in enumerate(under):
            y = top + caption + number * line_height(SMALLEST)
            marks.append(text_at(face, left, y, line, SMALLEST, align="centre", width=side))
    return WIDTH, tall, tuple(marks)


def _linear_below(face: Typeface, rig: Rig, unit: Unit) -> Made:
    """Set the code below the words."""
    code = asset_code(unit.asset)
    width = max(WIDTH, code128.linear_length(code)) if code else WIDTH
    lines = _lines(face, rig, unit, width - 2 * EDGE - 2 * PAD)
    words = text_height(lines)
    bars = code128.HEIGHT + code128.CAPTION + line_height(8.0) + 0.8 if code else 0.0
    tall = max(HEIGHT, words + bars + 2 * EDGE + 2 * PAD)
    top = (tall - words - bars) / 2
    marks = [*outline(width, tall), *_block(face, lines, top)]
    return (
        width,
        tall,
        (*marks, *_bars(face, code, (width - code128.linear_length(code)) / 2, top + words + 0.8)),
    )


def _linear_beside(face: Typeface, rig: Rig, unit: Unit) -> Made:
    """Set the code to the right of the words, for long thin labels."""
    code = asset_code(unit.asset)
    length = code128.linear_length(code) if code else 0.0
    lines = _lines(face, rig, unit, WIDTH - 2 * EDGE - 2 * PAD)
    words = text_height(lines)
    bars = code128.HEIGHT + code128.CAPTION + line_height(8.0) if code else 0.0
    tall = max(words, bars) + 2 * EDGE + 2 * PAD
    width = WIDTH + length
    marks = [*outline(width, tall), *_block(face, lines, (tall - words) / 2)]
    return width, tall, (*marks, *_bars(face, code, WIDTH, (tall - bars) / 2))


def _texts(rig: Rig, unit: Unit) -> list[str]:
    """Return the name, what a spare is for, asset and case, then model and job: the most important first."""
    spare = [say("SPARE FOR {lead}", lead=rig.units[unit.spare_for].title)] if unit.spare_for else []
    asset = unit.asset or say("asset {blank}", blank="________")
    revision = say("rev {revision}", revision=rig.revision) if rig.revision else ""
    own = [
        " · ".join(filter(None, texts))
        for texts in ((asset, unit.case), (unit.model.name, rig.title, revision))
    ]
    return [unit.label, *spare, *own]


def _lines(face: Typeface, rig: Rig, unit: Unit, room: float) -> list[SET]:
    """Set name, asset and case, then model and job in small type."""
    name, *rest, small = _texts(rig, unit)
    lines = [(line, 12.0, True) for line in wrap(face, name, 12.0, room, bold=True)]
    lines += [(line, 9.0, True) for text in rest for line in wrap(face, text, 9.0, room, True)]
    return lines + [(line, 7.0, False) for line in wrap(face, small, 7.0, room)]


def _block(face: Typeface, lines: list[SET], top: float) -> list[Mark]:
    marks: list[Mark] = []
    for text, size, bold in lines:
        marks.append(text_at(face, EDGE + PAD, top, text, size, bold=bold))
        top += line_height(size)
    return marks


def _bars(face: Typeface, code: str, left: float, top: float) -> list[Mark]:
    """Draw a linear code with its quiet zones, and its text."""
    if not code:
        return []
    quiet = code128.QUIET * code128.MODULE
    length = code128.linear_length(code)
    bars = Bars(left + quiet, top, code128.bar_widths(code), code128.MODULE, code128.HEIGHT)
    return [
        bars,
        text_at(face, left, top + code128.HEIGHT + code128.CAPTION, code, 8.0, align="centre", width=length),
    ]


# ---- cases ---------------------------------------------------------------------------------------------------


def case_labels(face: Typeface, rig: Rig) -> list[Label]:
    """Make one label for every case: which it is of how many, never its content, because thieves read."""
    units = (*rig.units.values(), *rig.spare_units.values())
    names = sorted({unit.case for unit in units if unit.case}, key=_natural)
    return [_case_label(face, rig, name, number, len(names)) for number, name in enumerate(names, 1)]


def _natural(name: str) -> list[str | int]:
    """Return a key that sorts case 2 before case 10."""
    return [int(part) if at % 2 else part for at, part in enumerate(re.split("([0-9]+)", name))]


def _case_label(face: Typeface, rig: Rig, name: str, number: int, count: int) -> Label:
    one_line = re.search(rf"(?<![0-9]){number}$", name) is not None
    texts = (
        [say("{name} of {count}", name=name, count=count)]
        if one_line
        else [name, say("{name} of {count}", name=number, count=count)]
    )
    if rig.reel:
        return Label(f"case {name}", "flat", *case_on_reel(face, rig.reel, texts), tuple(texts))
    height = min(HEIGHT, cell_room(rig.sheet)[1]) if rig.sheet else HEIGHT
    width = WIDTH - 2 * EDGE - 2 * PAD
    for size in (24.0, 20.0, 16.0, 12.0, 10.0, 8.0, SMALLEST):
        lines = [(line, size, True) for text in texts for line in wrap(face, text, size, width, bold=True)]
        broken = any(face.width(word, size, True) > width for text in texts for word in text.split())
        if text_height(lines) <= height - 2 * EDGE and not broken:
            break
    height = max(height, text_height(lines) + 2 * EDGE)
    marks = outline(WIDTH, height)
    top = (height - text_height(lines)) / 2
    for line, size, bold in lines:
        marks.append(text_at(face, 0, top, line, size, bold=bold, align="centre", width=WIDTH))
        top += line_height(size)
    return Label(f"case {name}", "flat", WIDTH, height, tuple(marks), tuple(texts))
