"""Labels on tape and on die-cut rolls: a page a label, of the exact size, with all print where the printer reaches."""

from __future__ import annotations

import re
from fractions import Fraction
from math import ceil, pi
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labelled import FACE, GORGE_TEXT, POINT, apart, build, faces_of, inked, lines, rig_of, texts, with_jackets
from rigcard.documents.base.language import speaking
from rigcard.documents.base.layout import line_height
from rigcard.documents.base.model import Bars, Line, Squares
from rigcard.documents.labels.asset_codes import asset_code
from rigcard.documents.labels.frame import Label
from rigcard.documents.labels.kit_labels import unit_labels
from rigcard.documents.labels.label_sheets import Used, all_labels, label_sheets, tape_that_holds, too_large
from rigcard.outputs.registry import Request
from rigcard.resolve.label_sheets import LINE, TAPES, usual_tape
from rigcard.resolve.model import Rig
from rigcard.resolve.paper_side import Reel
from rigcard.resolve.words import LANGUAGES
from samples import SAMPLES, solved_rig

ROLL = Reel(Fraction(62), Fraction(29), (Fraction("1.5"), Fraction(3)))
STATED = {
    "tape 9mm": usual_tape(9),
    "tape 12mm": usual_tape(12),
    "tape 18mm": usual_tape(18),
    "tape 24mm": usual_tape(24),
    "tape 36mm": usual_tape(36),
    "roll 62mm x 29mm": ROLL,
}


def on(reel: str) -> str:
    """The gorge sample on a tape or roll."""
    return GORGE_TEXT.replace("paper       a4", f"paper       a4\n  labels on {reel}")


def within(label: Label, reel: Reel) -> bool:
    """Whether all that is printed lies where the printer reaches: texts by their ink, codes and lines whole."""
    end, top = (float(edge) for edge in reel.margin)
    width, height = label.width, float(reel.page_height)
    boxes = [inked(mark) for mark in texts(label)]
    for mark in label.marks:
        if isinstance(mark, Squares):
            side = (17 + 4 * mark.version) * mark.module
            boxes.append((mark.x, mark.y, mark.x + side, mark.y + side))
        if isinstance(mark, Bars):
            boxes.append((mark.x, mark.y, mark.x + sum(mark.widths) * mark.module, mark.y + mark.height))
        if isinstance(mark, Line):
            xs, ys = zip(*mark.points, strict=True)
            boxes.append((min(xs), min(ys), max(xs), max(ys)))
    return all(
        left >= end - 1e-6 and right <= width - end + 1e-6 and high >= top - 1e-6 and low <= height - top + 1e-6
        for left, high, right, low in boxes
    )


@pytest.mark.parametrize("stated", STATED)
def test_statements_say_what_the_printer_feeds(tmp_path: Path, stated: str) -> None:
    """The margins left out are those of such printers (common practice, no source); stated ones are taken."""
    assert rig_of(tmp_path, on(stated)).reel == STATED[stated]
    other = rig_of(tmp_path, on(f"{stated} margin 3mm, 0.5mm")).reel
    assert other is not None and other.margin == (3, Fraction("0.5"))


@pytest.mark.parametrize("stated", STATED)
def test_each_page_is_a_label(tmp_path: Path, stated: str) -> None:
    """As high as the tape is wide, or as large as the die-cut label, to a hundredth of a millimetre; one after the
    other in the order of the labels, with nothing else."""
    reel = STATED[stated]
    papers, _ = build(tmp_path, on(stated), Request(only=("labels",)))
    assert papers is not None
    rig = rig_of(tmp_path, on(stated))
    made = all_labels(FACE, rig)
    pages = pypdfium2.PdfDocument(papers.files["labels.pdf"])
    assert len(pages) == len(made)
    assert f"labels: {len(made)} pages, a label each" in papers.remark
    for page, label in zip(pages, made, strict=True):
        width, height = (side * 25.4 / 72 for side in page.get_size())
        assert height == pytest.approx(float(reel.page_height), abs=0.01)
        assert width == pytest.approx(float(reel.page_width or label.width), abs=0.01)
        words = page.get_textpage().get_text_range()
        assert all(text in " ".join(words.split()) or len(text) > 4 for text in lines(label))


@pytest.mark.parametrize("stated", STATED)
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_is_cut_or_overlaps(sample: Path, stated: str, language: str) -> None:
    """Every sample, every tape and roll, every language: all print where the printer reaches, no text on another."""
    rig = solved_rig(sample).rig._replace(reel=STATED[stated])
    with speaking(language):
        made = all_labels(FACE, rig)
        assert too_large(FACE, rig, made) == []
    for label in made:
        assert within(label, STATED[stated]), label.name
        assert apart(texts(label)), label.name
        assert all(mark.size >= 6 for mark in texts(label))


@settings(max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    jacket=st.integers(10, 150).map(lambda tenths: Fraction(tenths, 10)),
    title=st.text("Wiagm 1.", min_size=1, max_size=60).filter(str.strip),
    moving=st.booleans(),
    reel=st.one_of(
        st.tuples(st.integers(9, 50), st.integers(0, 3)).map(
            lambda pair: Reel(None, Fraction(pair[0]), (Fraction(2), Fraction(pair[1])))
        ),
        st.tuples(st.integers(50, 110), st.integers(20, 80)).map(
            lambda pair: Reel(Fraction(pair[0]), Fraction(pair[1]), (Fraction(2), Fraction(1)))
        ),
    ),
    codes=st.sampled_from(["", "linear", "matrix"]),
)
def test_any_cable_on_any_reel(
    gorge: Rig, jacket: Fraction, title: str, moving: bool, reel: Reel, codes: str
) -> None:
    """A label fits its page, with all print where the printer reaches, or it is reported as too large."""
    units = {name: unit._replace(title=title) for name, unit in gorge.units.items()}
    rig = with_jackets(gorge, jacket, moving)._replace(units=units, codes=codes, reel=reel)
    made = all_labels(FACE, rig)
    large = too_large(FACE, rig, made)
    for label in made:
        if label in large:
            continue
        assert within(label, reel), label.name
        assert apart(texts(label)), label.name
        assert texts(label), label.name
        assert reel.page_width is None or label.width == reel.page_width
        assert not (moving and label.form == "flag")
        if label.form == "flag" and not label.name.startswith("blank"):
            assert [sum(mark.text.startswith("G|") for mark in face) <= 1 for face in faces_of(label)] == [
                True
            ] * 2
            assert not any(mark.text.startswith("G|") for mark in faces_of(label)[1])


def test_a_flag_on_tape(gorge: Rig) -> None:
    """Two faces and a turn long: F33 again, 2 x 30 + 9.42 is 70 mm; its folds are ticked; both faces say the place."""
    rig = with_jackets(gorge, Fraction(3))._replace(reel=usual_tape(12))
    label = next(label for label in all_labels(FACE, rig) if label.name == "S01.R-A")
    assert (label.form, label.width, label.height) == ("flag", 70, 12)
    folds = sorted({mark.points[0][0] for mark in label.marks if isinstance(mark, Line)})
    assert folds == [30, 40]
    first, second = faces_of(label)
    assert [mark.text for mark in first] == ["G| Head receiver p5", "S01.R-A", "→ Camera bridge j3"]
    assert [mark.text for mark in second] == ["Head receiver p5", "S01.R-A", "→ Camera bridge j3"]
    assert all(mark.x + mark.width <= 30 for mark in first) and all(mark.x >= 40 for mark in second)


def test_a_wrap_on_tape_lies_along_the_cable_where_it_closes(gorge: Rig) -> None:
    """Once round and 2 mm over itself: 12 mm of tape closes round 3.1 mm (9.74 + 2 = 11.74) and not round 3.2 mm.

    There the tape goes round instead, with its words turned: one turn and 2 mm long.
    """
    for jacket, angle in (("3.1", 0), ("3.2", 90)):
        rig = with_jackets(gorge, Fraction(jacket), True)._replace(reel=usual_tape(12))
        label = next(label for label in all_labels(FACE, rig) if label.name == "P01-A")
        assert {mark.angle for mark in texts(label)} == {angle}
        turn = pi * float(jacket)
        along = [inked(mark)[3 if angle == 0 else 2] for mark in texts(label)]
        assert max(along) <= turn, "what the label covers itself stays blank"
        if angle:
            assert label.width == ceil(turn + 2)
    wide = with_jackets(gorge, Fraction("3.2"), True)._replace(reel=usual_tape(18))
    label = next(label for label in all_labels(FACE, wide) if label.name == "P01-A")
    assert {mark.angle for mark in texts(label)} == {0}
    assert lines(label).count("P01-A") == 2, "10.05 mm round: two lines of 8 pt"


@pytest.mark.parametrize("stated", STATED)
@pytest.mark.parametrize("kind", ["", "codes linear", "codes matrix"])
def test_every_code_on_tape_reads_back(tmp_path: Path, stated: str, kind: str) -> None:
    """At 300 dpi a general-purpose reader finds each asset with its check character, if the tape is high enough."""
    text = on(f"{stated}\n  {kind}" if kind else stated)
    papers, codes = build(tmp_path, text, Request(only=("labels",)))
    if kind == "codes matrix" and stated in (
        "tape 9mm",
        "tape 12mm",
    ):  # 29 modules are 12.28 mm (ISO/IEC 18004)
        assert papers is None and "RC504" in codes
        return
    assert papers is not None
    read = [
        code.text
        for page in pypdfium2.PdfDocument(papers.files["labels.pdf"])
        for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]
    assets = re.findall(r'asset +"([^"]+)"', GORGE_TEXT)
    assert sorted(read) == sorted(asset_code(asset) for asset in assets)


@pytest.mark.parametrize("height", [6, 9, 12, 15, 18, 24, 40])
@pytest.mark.parametrize("codes", ["", "linear", "matrix"])
def test_a_code_has_its_quiet_zone_and_its_text(gorge: Rig, height: int, codes: str) -> None:
    """4 modules round squares, 10 beside bars, inside the label; the text of the code stands beside it."""
    reel = usual_tape(height)
    rig = gorge._replace(reel=reel, codes=codes)
    unit = next(iter(gorge.units.values()))
    label = unit_labels(FACE, rig)[0]
    drawn = [mark for mark in label.marks if isinstance(mark, Squares | Bars)]
    if label.height > height:
        assert codes and too_large(FACE, rig, [label]) == [label]
        return
    if not drawn:
        assert (codes, height) == ("", 6), "bars of 5 mm are the lowest (common practice, no source)"
        return
    assert asset_code(unit.asset) in lines(label)
    (mark,) = drawn
    quiet = (4 if isinstance(mark, Squares) else 10) * mark.module
    side = (
        (17 + 4 * mark.version) * mark.module if isinstance(mark, Squares) else sum(mark.widths) * mark.module
    )
    assert all(inked(text)[2] <= mark.x - quiet + 1e-6 for text in texts(label))
    assert mark.x + side + quiet <= label.width + 1e-6
    if isinstance(mark, Squares):
        assert quiet <= mark.y + 1e-6 and mark.y + side + quiet <= height + 1e-6
    else:
        assert mark.height >= 5


def test_a_tape_that_is_too_narrow_is_refused_with_one_that_is_not(tmp_path: Path) -> None:
    """The tape that the remedy names holds every label: the same file with it builds."""
    text = on("tape 9mm margin 2mm, 2.9mm\n  codes linear")
    papers, codes = build(tmp_path, text, Request(only=("labels",)))
    assert papers is None and "RC504" in codes
    rig = rig_of(tmp_path, on("tape 9mm"))._replace(codes="linear")
    tape = tape_that_holds(FACE, rig)
    assert tape in TAPES
    better, codes = build(tmp_path, on(f"tape {tape}mm\n  codes linear"), Request(only=("labels",)))
    assert better is not None and "RC504" not in codes


def test_the_smallest_line_is_that_of_the_smallest_type() -> None:
    """6 pt at 1.22 is 2.58 mm: what the resolver asks of a page is what the labels need."""
    assert float(LINE) == pytest.approx(line_height(6.0), abs=0.05) and float(LINE) >= 6 * 1.22 * POINT


def test_a_label_again_is_one_page(gorge: Rig) -> None:
    """Only those that are named, in the order of all."""
    rig = gorge._replace(reel=usual_tape(12))
    pages = label_sheets(FACE, rig, Used(only=frozenset(("S02-B", "S02-A")))).document.pages
    assert [frame.name for page in pages for frame in page.frames] == ["S02-A", "S02-B"]
