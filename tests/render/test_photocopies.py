"""What survives a photocopy, judged by published figures (tests/reference/legibility.csv)."""

from __future__ import annotations

import re
from functools import cache
from math import ceil

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from prints import Sample, legibility, opened, photocopy, typeface_file

pytest_plugins = ("prints",)

# ---- photocopies -------------------------------------------------------------------------------------------------


GLYPHS = "ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnopqrstuvwxyz0123456789"  # without those that look alike by design: I l
FINE = 8  # parts of a dot that a glyph may be shifted by


@cache
def font_of(bold: bool, size: float) -> ImageFont.FreeTypeFont:
    """The typeface at a size in dots."""
    return ImageFont.truetype(typeface_file(bold), size)


def stem(bold: bool) -> float:
    """The width of the stem of I, as a share of the type size: black dots half way up a large one."""
    image = Image.new("L", (1000, 1000))
    ImageDraw.Draw(image).text((100, 900), "I", 255, font_of(bold, 1000), anchor="ls")
    return float((np.asarray(image)[900 - 328] > 127).sum()) / 1000


def print_of(glyph: str, size: float, dpi: int, shift: tuple[int, int], bold: bool) -> NDArray[np.float64]:
    """Darkness, dot by dot, of a glyph that stands some eighths of a dot off the grid of a scanner."""
    dots = ceil(size / 72 * dpi) + 2
    image = Image.new("L", (FINE * (2 * dots), FINE * (2 * dots)))
    font = font_of(bold, size / 72 * dpi * FINE)
    at = FINE * 4 + shift[0], FINE * (dots + 2) + shift[1]
    ImageDraw.Draw(image).text(at, glyph, 255, font, anchor="ls")
    fine = np.asarray(image, dtype=np.float64) / 255
    return fine.reshape(2 * dots, FINE, 2 * dots, FINE).mean(axis=(1, 3))


def misread(size: float, dpi: int, bold: bool = False) -> float:
    """The share of glyphs that a one-bit copy leaves nearest to another one's shape, over places off the grid.

    A reader who knows the typeface and where the line stands, but not where the dots fall: for each copy he takes
    the glyph whose grey picture, shifted as fits best, differs least.
    """
    shifts = [(x, y) for x in range(0, FINE, 4) for y in range(0, FINE, 4)]
    known = np.stack([print_of(glyph, size, dpi, shift, bold).ravel() for glyph in GLYPHS for shift in shifts])
    own = (known**2).sum(axis=1)
    wrong = tries = 0
    for number, glyph in enumerate(GLYPHS):
        for shift in ((1, 2), (6, 5)):
            copy = np.where(print_of(glyph, size, dpi, shift, bold) >= 0.5, 1.0, 0.0).ravel()
            best = int((own - 2 * known @ copy).argmin()) // len(shifts)  # of |known - copy| squared
            wrong += best != number
            tries += 1
    return wrong / tries


def test_stems_survive_a_photocopy() -> None:
    """Stems of two dots at 100 dpi need 17 pt; 12 pt has them at 150 dpi, the 6 pt of labels only at 300 dpi."""
    assert (stem(False), stem(True)) == pytest.approx((0.083, 0.116), abs=0.002)

    def dots(size: float, dpi: int) -> float:
        return stem(False) * size / 72 * dpi

    assert dots(17.5, 100) >= 2 > dots(17.0, 100)
    assert dots(12, 150) >= 2 > dots(12, 100)
    assert dots(8, 220) >= 2 > dots(8, 200)
    assert dots(6, 300) >= 2 > dots(6, 200)


@pytest.mark.parametrize(("size", "dpi"), [(12.0, 100), (8.0, 150), (6.0, 200)])
def test_photocopied_type_is_read(size: float, dpi: int) -> None:
    """One-bit copies (of 8 pt at 100 dpi an eighth is misread, of 6 pt two fifths): running text at 100 dpi, feet and heads of tables at 150, the smallest of labels at 200."""
    assert misread(size, dpi) <= 0.01


# ---- structure ---------------------------------------------------------------------------------------------------


def contrast(one: str, other: str) -> float:
    """The contrast of two colours (WCAG 2.x: relative luminance, contrast ratio)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = (
            part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
        )
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_published_contrasts() -> None:
    """The formula gives the published ratios; black and white have the greatest, far beyond 7 to 1 of level AAA."""
    pairs = legibility("wcag-pair")
    assert pairs
    for row in pairs:
        one, other = row["item"].split(" on ")
        assert contrast(one, other) == pytest.approx(float(row["value"]), abs=0.00006)
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)


# ---- codes -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn", [0, 7, 90])
def test_codes_are_read_from_a_photocopy(sample: Sample, turn: int) -> None:
    """Black and white dots only at 200 dpi, laid on the glass askew: each code still says the text printed below it."""
    found, printed = [], []
    with opened(sample, "labels") as read:
        for page in read.pages:
            printed += re.findall(r"\b[A-Z]{2}-\d{3}-[0-9A-Z]\b", page.extract_text())
    for page in pypdfium2.PdfDocument(sample.files["labels.pdf"]):
        copy = Image.fromarray(photocopy(page, 200)).rotate(turn, Image.Resampling.NEAREST, True, fillcolor=255)
        found += [code.text for code in zxingcpp.read_barcodes(copy)]

    assert sorted(found) == sorted(printed)
    assert bool(found) == any(unit["asset"] for unit in sample.data["units"])
