"""Rigs whose labels a test looks at, and what stands on a label."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import MM_PER_POINT, Line, Rectangle, Text
from rigcard.documents.labels.frame import Label
from rigcard.documents.labels.setting import Made
from rigcard.outputs.registry import Request
from rigcard.pipeline import Papers, build_rig, check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.label_sheets import COMMON
from rigcard.resolve.model import Rig
from rigcard.resolve.paper_side import LabelSheet
from samples import GORGE, ROOT, STOCK

FACE = EmbeddedTypeface()
GORGE_TEXT = (ROOT / "samples" / "gorge.rig").read_text(encoding="utf-8")


def rig_of(folder: Path, text: str) -> Rig:
    """A rig text that uses the samples' stock, solved without an error."""
    path = folder / "rig.rig"
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    assert solved is not None, [found.message for found in diagnostics]
    return solved.rig


def with_jackets(rig: Rig, jacket: Fraction, moving: bool = False, airborne: bool = False) -> Rig:
    """The same rig with all cables alike."""
    cables = {
        name: cable._replace(jacket=jacket, moving=moving, airborne=airborne)
        for name, cable in rig.cables.items()
    }
    return rig._replace(cables=cables)


def lines(label: Label) -> list[str]:
    """The lines of text on a label."""
    return [mark.text for mark in label.marks if isinstance(mark, Text)]


POINT = 25.4 / 72  # mm
ROOM = 1.5  # mm between print and the cut (common practice, no source: a die cut wanders)


def pitch(size: float) -> float:
    """Lines stand 1.22 times their size apart."""
    return 1.22 * size * POINT


def texts(label: Label) -> list[Text]:
    """The texts of a label from its top."""
    return [mark for mark in label.marks if isinstance(mark, Text)]


def solid(label: Label) -> list[tuple[tuple[float, float], ...]]:
    """Its lines but for the cut, which goes round it once as a thin broken line."""
    (cut,) = (mark for mark in label.marks if isinstance(mark, Rectangle))
    assert (cut.x, cut.y, cut.width, cut.height) == (0, 0, label.width, label.height)
    drawn = [mark for mark in label.marks if isinstance(mark, Line)]
    assert all(0.1 <= mark.weight <= 0.2 for mark in (cut, *drawn))
    assert cut.dash and all(0.5 <= part <= 1.5 for part in cut.dash)
    assert not any(mark.dash for mark in drawn)
    return [mark.points for mark in drawn]


def stands(marks: list[Text], left: float, width: float, top: float, between: float = 0.0) -> None:
    """Each text in the middle of a field, and below the one before it; a baseline is 0.94 of the size from the top."""
    for mark in marks:
        assert mark.x == pytest.approx(left + (width - FACE.width(mark.text, mark.size, mark.bold)) / 2)
        assert mark.y == pytest.approx(top + 0.94 * mark.size * POINT)
        top += pitch(mark.size) + between


def inked(mark: Text) -> tuple[float, float, float, float]:
    """What a level text takes: left, top of its capitals, right, foot of its descenders."""
    size = mark.size * MM_PER_POINT
    if mark.angle:
        return mark.x - 0.66 * size, mark.y - mark.width, mark.x + 0.2 * size, mark.y
    return mark.x, mark.y - 0.66 * size, mark.x + mark.width, mark.y + 0.2 * size


def apart(marks: list[Text]) -> bool:
    """Whether no text lies on another one."""
    spans = [inked(mark) for mark in marks]
    return not any(
        min(one[2], two[2]) - max(one[0], two[0]) > 0.02 and min(one[3], two[3]) - max(one[1], two[1]) > 0.02
        for at, one in enumerate(spans)
        for two in spans[at + 1 :]
    )


def rows_in(marks: list[Text]) -> list[list[Text]]:
    """Texts by the baseline that they share, from the top, each row from the left."""
    rows: dict[float, list[Text]] = {}
    for mark in marks:
        rows.setdefault(round(mark.y, 3), []).append(mark)
    return [sorted(rows[y], key=lambda mark: mark.x) for y in sorted(rows)]


def faces_of(label: Label) -> tuple[list[Text], list[Text]]:
    """The texts of both faces of a flag."""
    middle = label.width / 2
    marks = texts(label)
    return [mark for mark in marks if mark.x < middle], [mark for mark in marks if mark.x >= middle]


def said_of(label: Label) -> list[tuple[str, float, bool]]:
    """Words, size, bold of each line."""
    return [(mark.text, mark.size, mark.bold) for mark in texts(label)]


def titled(rig: Rig, name: str, title: str) -> Rig:
    """The same rig with another name on a unit."""
    return rig._replace(units={**rig.units, name: rig.units[name]._replace(title=title)})


def sheet_of(
    cell: tuple[int, int], margin: tuple[int, int], offset: tuple[str, str] = ("0", "0")
) -> LabelSheet:
    """Two columns and rows of cells, 4 mm and 2 mm apart."""
    return COMMON["a4-3x8-70x37"]._replace(
        columns=2,
        rows=2,
        cell=(Fraction(cell[0]), Fraction(cell[1])),
        margin=(Fraction(margin[0]), Fraction(margin[1])),
        gap=(Fraction(4), Fraction(2)),
        offset=(Fraction(offset[0]), Fraction(offset[1])),
    )


def build(folder: Path, text: str, wanted: Request) -> tuple[Papers | None, list[str]]:
    """The papers of a rig text that uses the samples' stock, and the codes reported."""
    path = folder / "rig.rig"
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()
    papers = build_rig(path, diagnostics, None, wanted, STOCK)
    return papers, [found.code.id for found in diagnostics]


def on_sheet(name: str) -> str:
    """The gorge sample with its labels on a named sheet."""
    return GORGE.read_text(encoding="utf-8").replace("paper       a4", f"paper       a4\n  labels on {name}")


def top(mark: Text) -> float:
    """The top of its line."""
    return mark.y - 0.94 * mark.size * MM_PER_POINT


def texts_on(made: Made) -> list[Text]:
    """The lines of text of a label."""
    return [mark for mark in made[3] if isinstance(mark, Text)]
