"""Linear codes: the published patterns, and what a reader reads."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from reportlab.graphics.barcode.code128 import Code128

from labelled import FACE, GORGE_TEXT, POINT, rig_of, texts
from rigcard.documents.base.model import Bars, Squares
from rigcard.documents.labels import code128
from rigcard.documents.labels.kit_labels import asset_code, unit_labels
from rigcard.documents.labels.label_sheets import Used, all_labels, label_sheets, too_large
from rigcard.render.pdf import pdf
from rigcard.resolve.label_sheets import COMMON
from rigcard.resolve.model import Rig

# ---- worked examples ---------------------------------------------------------------------------------------------


def test_f37_linear_code() -> None:
    """8 characters: 11 x 8 + 11 + 11 + 13 = 123 modules and 20 of quiet zone; not less than 35.75 mm at 0.25 mm."""
    assert sum(code128.bar_widths("HS-014-G")) == 123
    assert code128.MODULE >= 0.25
    assert code128.linear_length("HS-014-G") == pytest.approx(143 * code128.MODULE)
    assert code128.linear_length("HS-014-G") >= 35.75


# ---- linear codes ------------------------------------------------------------------------------------------------


def modules(widths: tuple[int, ...]) -> str:
    """Bars and spaces by turns as letters: a to d for spaces, A to D for bars, as reportlab writes them."""
    return "".join(
        "abcd"[width - 1].upper() if at % 2 == 0 else "abcd"[width - 1] for at, width in enumerate(widths)
    )


@pytest.mark.parametrize("text", ["HS-014-G", "RX/031-L", "A.B C-7", "LENS-Z"])
def test_linear_pattern_is_the_published_one(text: str) -> None:
    """Module by module as reportlab's own table has it (ISO/IEC 15417)."""
    other = Code128(text)
    other.validate()
    other.encode()
    other.encoded = [104, *(ord(char) - 32 for char in text)]  # set B throughout, then its check character
    other.encoded += [(104 + sum(at * value for at, value in enumerate(other.encoded) if at)) % 103, 106]
    other.decompose()

    assert modules(code128.bar_widths(text)) == other.decomposed


def test_every_pattern_is_that_of_reportlab() -> None:
    """All characters from 0 to 105, each of 11 modules."""
    other = Code128("A")
    for value, widths in enumerate(code128.WIDTHS):
        other.encoded = [value]
        other.decompose()
        assert modules(tuple(map(int, widths))) == other.decomposed
        assert sum(map(int, widths)) == 11


def test_linear_codes_read_back(tmp_path: Path) -> None:
    """A general-purpose reader finds the assets at 300 dpi, and the same text stands beside each."""
    rig = rig_of(tmp_path, GORGE_TEXT.replace("paper       a4", "paper       a4\n  codes linear"))
    document = label_sheets(FACE, rig, Used()).document
    read = [
        (code.text, code.format.name)
        for page in pypdfium2.PdfDocument(pdf(document, FACE))
        for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]
    assets = [asset_code(unit.asset) for unit in rig.units.values()]

    assert sorted(read) == sorted((asset, "Code128") for asset in assets)
    for label, asset in zip(unit_labels(FACE, rig), assets, strict=True):
        (under,) = [mark for mark in texts(label) if mark.text == asset]
        (bars,) = [mark for mark in label.marks if isinstance(mark, Bars)]
        above = under.y - 0.66 * under.size * POINT - (bars.y + bars.height)
        assert code128.MODULE <= above <= 2, "clear of the bars, and near them (common practice, no source)"


def test_codes_of_turned_labels_read_back(gorge: Rig) -> None:
    """A label of 60 x 24 mm in a cell of 40 x 70 mm stands upright; a reader still finds every asset. Bars stay."""
    sheet = COMMON["a4-3x8-70x37"]._replace(
        columns=4, rows=4, cell=(Fraction(40), Fraction(66)), margin=(Fraction(5), Fraction(5))
    )
    rig = gorge._replace(sheet=sheet)
    document = label_sheets(FACE, rig, Used(), unit_labels(FACE, gorge._replace(codes="matrix"))).document
    assert {(frame.width, frame.height) for frame in document.pages[0].frames} == {(24.0, 60.0)}
    read = [
        code.text
        for page in pypdfium2.PdfDocument(pdf(document, FACE))
        for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]

    assert sorted(read) == sorted(asset_code(unit.asset) for unit in rig.units.values())
    bars = unit_labels(FACE, gorge._replace(codes="linear"))
    assert len(too_large(FACE, rig, bars)) == len(bars)


def test_long_thin_labels_have_linear_codes(gorge: Rig) -> None:
    """On a sheet whose cells are too low for a matrix, the code is a linear one beside the words."""
    strips = COMMON["a4-2x7-99x38"]._replace(cell=(Fraction(190), Fraction(17)), columns=1)
    for label in unit_labels(FACE, gorge._replace(sheet=strips)):
        assert label.height <= 17
        assert any(isinstance(mark, Bars) for mark in label.marks)
    for label in unit_labels(FACE, gorge):
        assert any(isinstance(mark, Squares) for mark in label.marks)


def test_no_code_is_bent(gorge: Rig) -> None:
    """Codes stand on flat labels only (common practice, no source: none on a cable of 2 to 10 mm)."""
    for label in all_labels(FACE, gorge._replace(codes="linear")):
        if any(isinstance(mark, Bars | Squares) for mark in label.marks):
            assert label.form == "flat"
