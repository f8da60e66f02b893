"""Labels of units and cases, and the code of an asset."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from labelled import build, lines, top
from rigcard.documents.base.layout import wrap
from rigcard.documents.base.model import MM_PER_POINT, Bars, Mark, Rectangle, Squares, Text
from rigcard.documents.base.quoted_text import LONGEST
from rigcard.documents.labels.asset_codes import (
    ALPHABET,
    CAPACITY,
    MODULE,
    asset_code,
    check_character,
    code_size,
)
from rigcard.documents.labels.frame import Label, label_code
from rigcard.documents.labels.kit_labels import case_labels, unit_labels
from rigcard.outputs.registry import Request
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.label_sheets import COMMON
from rigcard.resolve.model import Rig, Unit
from rigcard.resolve.paper_side import LabelSheet
from rigcard.syntax import tree
from samples import GORGE

FACE = EmbeddedTypeface()


# ---- worked examples ---------------------------------------------------------------------------------------------


def test_f36_matrix_code() -> None:
    """29 modules of 0.4233 mm are 12.28 mm, 33 are 13.97 mm; a module is five dots at 300 dpi (ISO/IEC 18004)."""
    assert pytest.approx(0.4233, abs=1e-4) == MODULE
    assert code_size("X" * 20) == (1, pytest.approx(12.28, abs=0.005))
    assert code_size("X" * 21) == (2, pytest.approx(13.97, abs=0.005))


# ---- spares, blanks and cases ------------------------------------------------------------------------------------


def test_case_labels_do_not_tell_what_is_inside(gorge: Rig) -> None:
    """`Case 2 of 4` and nothing else: no unit, job or rig (common practice, no source: thieves read)."""
    labels = case_labels(FACE, gorge)

    assert [lines(label) for label in labels] == [[f"Case {number} of 5"] for number in range(1, 6)]


def test_unit_labels_say_name_asset_and_case(gorge: Rig) -> None:
    """In this order, for the kit manager."""
    first = unit_labels(FACE, gorge)[0]

    assert lines(first)[:2] == ["Head handset", "HS-014 · Case 1"]


def test_smallest_code_is_12_28_mm() -> None:
    """F36, arithmetic: 29 modules of 5 dots at 300 dpi; the next size is 33 modules."""
    assert code_size("HS-014-G") == (1, pytest.approx(12.277, abs=0.001))
    assert code_size("X" * 21) == (2, pytest.approx(33 * MODULE))
    assert MODULE >= 0.4


def test_check_character_is_that_of_the_standard() -> None:
    """ISO/IEC 7064 MOD 37,36; the worked number is from memory of the standard's usual example."""
    assert check_character("A12425GABC1234002") == "M"


def test_check_character_after_a_sum_of_36() -> None:
    """By hand from ISO/IEC 7064: 36 + 0 leaves 0, which counts as 36; 72 less 37 is 35, and 35 + 2 leaves 1.

    After a second 0: 35 and 35 less 37 is 33, and 33 + 4 leaves 1. J is 19: 38 less 37 is 1, which 0 leaves; 1: 2 + 35.
    """
    found = [check_character(text) for text in ("0", "00", "J", "1")]
    assert found == ["2", "4", "0", "Z"]


def test_check_character_catches_a_mistyped_one() -> None:
    """Every single wrong character is found, as ISO/IEC 7064 promises of this system."""
    good = check_character("HS014")
    for at in range(5):
        for char in ALPHABET:
            wrong = "HS014"[:at] + char + "HS014"[at + 1 :]
            assert wrong == "HS014" or check_character(wrong) != good


# ---- labels of units and cases -----------------------------------------------------------------------------------


PITCH = 1.22 * MM_PER_POINT  # mm from line to line, for each point of size
ASSETS = ("", "HS-014", "hs 014", "HS_014", "A.1/B" * 4 + "-123", "ABC-DEF GHI-JKL MNO-PQR")


def low_sheet(width: int, height: int) -> LabelSheet:
    """A column of cells of a size."""
    return COMMON["a4-2x7-99x38"]._replace(columns=1, cell=(Fraction(width), Fraction(height)))


def label_of(rig: Rig, **changes: str) -> Label:
    """The label of the rig's first unit with other words."""
    unit: Unit = next(iter(rig.units.values()))
    return unit_labels(FACE, rig._replace(units={unit.name: unit._replace(**changes)}))[0]


def texts_of(label: Label) -> list[Text]:
    """The texts of a label in their order."""
    return [mark for mark in label.marks if isinstance(mark, Text)]


def inked(mark: Text) -> BaseGeometry:
    """What a text takes: from the top of its capitals to the foot of its descenders."""
    size = mark.size * MM_PER_POINT
    return box(mark.x, mark.y - 0.66 * size, mark.x + mark.width, mark.y + 0.2 * size)


def code_in(label: Label) -> Mark | None:
    """The matrix or linear code of a label."""
    return next((mark for mark in label.marks if isinstance(mark, Squares | Bars)), None)


def zone_of(code: Mark) -> BaseGeometry:
    """A code and its quiet zone: 4 modules round squares (ISO/IEC 18004), 10 beside bars (ISO/IEC 15417)."""
    if isinstance(code, Squares):
        quiet = 4 * code.module
        side = (17 + 4 * code.version) * code.module + 2 * quiet
        return box(code.x - quiet, code.y - quiet, code.x - quiet + side, code.y - quiet + side)
    assert isinstance(code, Bars)
    length, quiet = sum(code.widths) * code.module, 10 * code.module
    return box(code.x - quiet, code.y, code.x + length + quiet, code.y + code.height)


@pytest.mark.parametrize(
    ("asset", "code"),
    [
        ("HS-014", "HS-014-G"),
        ("hs-014", "HS-014-G"),
        ("", ""),
        ("- /.", ""),
        ("HS_014", ""),
        ("Stra\N{LATIN SMALL LETTER SHARP S}e-1", ""),
        ("\N{LATIN SMALL LIGATURE FFI}" * 24, ""),
    ],
)
def test_what_the_code_of_an_asset_says(asset: str, code: str) -> None:
    """Only what stands on the label: a letter that has no capital of its own is not put in other letters' place."""
    assert asset_code(asset) == code


def test_an_asset_of_ligatures_has_a_label(tmp_path: Path) -> None:
    """The capitals of a ligature are three letters: 24 of them would go into no code of the label's size, so it has none."""
    words = "\N{LATIN SMALL LIGATURE FFI}" * 24
    papers, codes = build(tmp_path, GORGE.read_text(encoding="utf-8").replace("HS-014", words), Request())
    assert papers is not None and codes == ["RC546"]


def test_codes_hold_the_longest_asset() -> None:
    """As many characters as another program puts into each version at medium correction, and enough for any asset."""
    for version, most in CAPACITY:
        for count, fits in ((most, True), (most + 1, False)):
            code = QRCode(version, QRErrorCorrectLevel.M)
            code.addData("X" * count)
            if fits:
                code.make()
            else:
                with pytest.raises(Exception, match="overflow"):
                    code.make()
        assert code_size("X" * most) == (version, pytest.approx((17 + 4 * version + 8) * MODULE))
    assert CAPACITY[-1][1] >= LONGEST[tree.Asset] + len("-G")


@pytest.mark.parametrize("asset", ASSETS)
@pytest.mark.parametrize("title", ["Handset", "Wide handset " * 6])
@pytest.mark.parametrize("case", ["", "Case 12"])
@pytest.mark.parametrize(
    ("codes", "sheet", "kind"),
    [
        ("", None, Squares),
        ("matrix", None, Squares),
        ("linear", None, Bars),
        ("", low_sheet(180, 17), Bars),
        ("linear", low_sheet(180, 17), Bars),
        ("matrix", low_sheet(180, 17), Squares),
        ("", low_sheet(50, 10), Squares),  # fits nowhere: told as too large, in its usual form
        ("linear", low_sheet(50, 10), Bars),
    ],
)
def test_marks_of_a_unit_s_label(
    rig: Rig, asset: str, title: str, case: str, codes: str, sheet: LabelSheet | None, kind: type[Mark]
) -> None:
    """Words keep 1.5 mm from the cut, a code has its quiet zone to itself, what it says stands in its middle below."""
    label = label_of(rig._replace(codes=codes, sheet=sheet), asset=asset, title=title, case=case)
    whole = box(0, 0, label.width, label.height)
    code = code_in(label)
    said = asset_code(asset)
    marks = texts_of(label)
    words = [mark for mark in marks if mark.size in (12, 9, 7)]
    under = marks[len(words) :]

    assert marks[: len(words)] == words
    assert [
        (mark.x, mark.y, mark.width, mark.height) for mark in label.marks if isinstance(mark, Rectangle)
    ] == [(0, 0, label.width, label.height)]
    assert all(whole.buffer(-1.48, join_style="mitre").covers(inked(mark)) for mark in marks)
    for one, two in pairwise(words):
        assert top(two) - top(one) == pytest.approx(one.size * PITCH)
        assert one.x == two.x
    assert (code is not None) == bool(said)
    if code is None:
        beside = sheet is not None and sheet.cell[0] == 180 and codes != "matrix" and len(title) < 20
        assert label.width == 60
        assert beside or label.height >= 24
        assert under == []
        assert top(words[0]) == pytest.approx(label.height - top(words[-1]) - words[-1].size * PITCH)
        return
    no_room = sheet is not None and sheet.cell[0] == 180 and len(title) > 20
    assert isinstance(code, Squares if no_room and not codes else kind)
    zone = zone_of(code)
    assert whole.buffer(1e-6).covers(zone)
    for mark in marks:
        assert inked(mark).intersection(zone).area < 0.05, mark
    assert "".join(mark.text for mark in under).replace(" ", "") == said.replace(" ", "")
    left, _, right, foot = zone.bounds
    for mark in under:
        assert mark.x + mark.width / 2 == pytest.approx((left + right) / 2)
    assert 0 <= inked(under[0]).bounds[1] - foot + 0.02 < (0.4 if isinstance(code, Squares) else 1.2)
    for one, two in pairwise(under):
        assert top(two) - top(one) == pytest.approx(one.size * PITCH)


@pytest.mark.parametrize("asset", ["", "HS-014", "W" * 24])
@pytest.mark.parametrize("codes", ["matrix", "linear"])
@pytest.mark.parametrize("height", [17, 60])
def test_words_of_a_unit_s_label_end_at_its_edge(rig: Rig, asset: str, codes: str, height: int) -> None:
    """Titles of any length, letter by letter: 1.5 mm from the cut, and clear of the code."""
    for length in range(8, 60, 2):
        title = ("W" * length, ("Wim " * length)[:length].strip())
        for words in title:
            sheet = low_sheet(180, height)
            label = label_of(
                rig._replace(codes=codes, sheet=sheet, title=words), title=words, case=words[:20], asset=asset
            )
            whole = box(1.48, 1.48, label.width - 1.48, label.height - 1.48)
            code = code_in(label)
            assert (code is not None) == bool(asset)
            for mark in texts_of(label):
                assert whole.covers(inked(mark)), mark
                assert code is None or inked(mark).intersection(zone_of(code)).area < 0.05, mark


def test_a_linear_code_stands_under_or_beside_the_words(rig: Rig) -> None:
    """Beside them on a sheet that has only low cells; the words, or words and code, in the middle of the height."""
    for sheet in (None, low_sheet(180, 17), low_sheet(70, 60)):
        label = label_of(rig._replace(codes="linear", sheet=sheet))
        code = code_in(label)
        assert isinstance(code, Bars)
        *words, under = texts_of(label)
        first, last = top(words[0]), top(words[-1]) + words[-1].size * PITCH
        foot = top(under) + under.size * PITCH
        if sheet is not None and sheet.cell[1] == 17:
            assert code.x >= max(mark.x + mark.width for mark in words)
            assert label.width == pytest.approx(60 + zone_of(code).bounds[2] - zone_of(code).bounds[0])
            assert label.height <= 17
            assert first == pytest.approx(label.height - last)
            assert code.y == pytest.approx(label.height - foot)
        else:
            assert code.y > last
            assert (label.width, label.height) == (60, pytest.approx(max(24, foot + first)))
            assert first == pytest.approx(label.height - foot, abs=0.01)
            assert code.x + sum(code.widths) * code.module / 2 == pytest.approx(label.width / 2)


def test_a_matrix_code_stands_at_the_right(rig: Rig) -> None:
    """Its quiet zone ends with the label; words and code are each in the middle of the height, or below a quiet zone."""
    for title in ("Handset", "Wide handset " * 8):
        label = label_of(rig._replace(codes="matrix"), title=title)
        code = code_in(label)
        assert isinstance(code, Squares)
        *words, under = texts_of(label)
        assert label.width == 60
        assert zone_of(code).bounds[2] == pytest.approx(60)
        first, last = top(words[0]), top(words[-1]) + words[-1].size * PITCH
        assert first == pytest.approx(label.height - last)
        foot = top(under) + under.size * PITCH
        assert code.y == pytest.approx(max(4 * MODULE, label.height - foot), abs=0.01)
        assert all(mark.x + mark.width <= zone_of(code).bounds[0] for mark in words)
        assert label.height == pytest.approx(max(24, last - first + 4))


def test_words_of_a_unit_s_label(rig: Rig) -> None:
    """Name, asset and case in bold, then small the model, the job and its revision; a line to write an asset on."""
    unit = next(iter(rig.units.values()))
    for asset, case, second in (
        ("HS-014", "Case 1", "HS-014 · Case 1"),
        ("HS-014", "", "HS-014"),
        ("", "Case 1", "asset ________ · Case 1"),
    ):
        for revision, last in (("C", " · rev C"), ("", "")):
            label = label_of(rig._replace(codes="linear", revision=revision), asset=asset, case=case)
            said = [(mark.text, mark.size, mark.bold) for mark in texts_of(label)]
            assert said[:2] == [(unit.title, 12, True), (second, 9, True)]
            small = [text for text, size, bold in said if size == 7 and not bold]
            assert " ".join(small) == f"{unit.model.name} · {rig.title}{last}"


def test_a_unit_s_label_is_printed_again_when_its_words_change(rig: Rig) -> None:
    """Each of its words, and the kind of its code; not the revision."""
    same = label_code(label_of(rig))
    changes = [{"title": "Other"}, {"asset": "HS-999"}, {"case": "Case 9"}]
    codes = {same, *(label_code(label_of(rig, **change)) for change in changes)}
    codes.add(label_code(label_of(rig._replace(codes="linear"))))
    assert len(codes) == 5
    assert label_code(label_of(rig._replace(revision="Z"))) == same


def in_cases(rig: Rig, *names: str) -> Rig:
    """The rig with its units in these cases, the rest in none."""
    units = dict(zip(rig.units, rig.units.values(), strict=True))
    filled = [*names, *[""] * len(units)]
    return rig._replace(
        units={
            name: unit._replace(case=case) for (name, unit), case in zip(units.items(), filled, strict=False)
        }
    )


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("Case 10", "Case 2", "Case 1"), [["Case 1 of 3"], ["Case 2 of 3"], ["Case 10", "3 of 3"]]),
        (("Lenses", "Body", "Lenses"), [["Body", "1 of 2"], ["Lenses", "2 of 2"]]),
        (("Case 3", "Case 12"), [["Case 3", "1 of 2"], ["Case 12", "2 of 2"]]),  # 12 ends in 2 and is not 2
        (("1", "2"), [["1 of 2"], ["2 of 2"]]),
        ((), []),
    ],
)
def test_words_of_a_case_s_label(rig: Rig, names: tuple[str, ...], said: list[list[str]]) -> None:
    """Its name and which of how many, in the order that people count; the number once."""
    labels = case_labels(FACE, in_cases(rig, *names))
    assert [[mark.text for mark in texts_of(label)] for label in labels] == said
    assert [label.name for label in labels] == [
        f"case {name}" for name in sorted(set(names), key=lambda name: (len(name), name))
    ] or names[0] == "Lenses"


@pytest.mark.parametrize(
    "name", ["A", "Case 1", "Sliders and dollies", "Wide camera case", "W" * 20, "A B C D E F"]
)
@pytest.mark.parametrize("height", [None, 8, 12, 15, 24, 37])
def test_type_of_a_case_s_label(rig: Rig, name: str, height: int | None) -> None:
    """The largest of seven sizes in which no word is broken, 1.5 mm from the cut; in the middle of 60 x 24 mm or less."""
    sheet = None if height is None else low_sheet(90, height)
    (label,) = case_labels(FACE, in_cases(rig._replace(sheet=sheet), name))
    marks = texts_of(label)
    said = f"{name} of 1" if name.endswith("1") else name
    (size,) = {mark.size for mark in marks}
    room = min(24, height or 24)
    more = [] if said != name else ["1 of 1"]

    def high(size: float) -> float | None:
        """The height of the words in a size, or None where a word would be broken."""
        if any(FACE.width(word, size, True) > 56 for text in (said, *more) for word in text.split()):
            return None
        return sum(len(wrap(FACE, text, size, 56, bold=True)) for text in (said, *more)) * size * PITCH

    sizes = (24, 20, 16, 12, 10, 8, 6)
    fitting = [each for each in sizes if (found := high(each)) is not None and found <= room - 3]
    assert size == (fitting[0] if fitting else 6)
    assert all(mark.bold for mark in marks)
    assert " ".join(mark.text for mark in marks).replace(" ", "") == " ".join([said, *more]).replace(" ", "")
    assert label.width == 60
    assert label.height == pytest.approx(max(room, len(marks) * size * PITCH + 3))
    for number, mark in enumerate(marks):
        assert mark.x + mark.width / 2 == pytest.approx(30)
        assert mark.x >= 1.5
        assert top(mark) == pytest.approx(
            (label.height - len(marks) * size * PITCH) / 2 + number * size * PITCH
        )


def test_words_of_a_case_s_label_end_at_its_edge(rig: Rig) -> None:
    """Names of any length, letter by letter: 1.5 mm from the cut."""
    for letters in ("Wim ", "mmm mmmm ", "Bdg bdg ", "Ww "):
        for length in range(1, 21):
            name = (letters * 9)[:length].strip()
            (label,) = case_labels(FACE, in_cases(rig, name))
            whole = box(1.5, 1.5, label.width - 1.5, label.height - 1.5).buffer(0.01)
            assert all(whole.covers(inked(mark)) for mark in texts_of(label)), name
