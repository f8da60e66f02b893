"""Size and figures of the type as printed (tests/reference/legibility.csv)."""

from __future__ import annotations

import re
from math import radians, tan

import pypdfium2
import pytest
from PIL import ImageFont

from prints import MM, SHEETS, Sample, legibility, opened, settings_of_type, typeface_file
from rigcard.render.typeface import EmbeddedTypeface

pytest_plugins = ("prints",)

CAPITALS = 0.654  # of the type size, of the lower of both weights; see test_capitals_are_as_high_as_declared
SMALLEST_TYPE = {"cards": 8.0, "wiring": 8.0, "wiring-list": 8.0, "labels": 6.0, "kit": 8.0}  # points, declared


@pytest.mark.parametrize("kind", SHEETS)
def test_smallest_type_is_as_declared(sample: Sample, kind: str) -> None:
    """Each paper has a smallest size, and nothing is set smaller."""
    assert min(found.size for found in settings_of_type(sample.files[f"{kind}.pdf"])) >= SMALLEST_TYPE[kind]


@pytest.mark.parametrize("bold", [False, True])
def test_capitals_are_as_high_as_declared(bold: bool) -> None:
    """Measured on the outline of H, drawn large by another library."""
    font = ImageFont.truetype(typeface_file(bold), 1000)
    _, top, _, bottom = font.getbbox("H", anchor="ls")

    assert CAPITALS <= (bottom - top) / 1000 <= CAPITALS + 0.002


def cap_height(distance: float, minutes: float) -> float:
    """The height in mm that subtends an angle at a distance in mm: h = 2 d tan(a / 2) (legibility.csv)."""
    return 2 * distance * tan(radians(minutes / 60) / 2)


def test_published_heights_of_capitals() -> None:
    """The formula gives the worked heights."""
    examples = legibility("size-example")
    assert examples
    for row in examples:
        distance, minutes = map(float, re.findall(r"\d+", row["item"]))
        assert cap_height(distance, minutes) == pytest.approx(float(row["value"]), abs=0.0006)


def test_labels_are_read_at_arm_s_length() -> None:
    """The smallest type subtends the 16 minutes of arc that are the least (legibility.csv) at 295 mm, not at 300."""
    height = min(SMALLEST_TYPE.values()) / MM * CAPITALS

    assert cap_height(295, 16) <= height < cap_height(300, 16)


def test_card_type_reaches_its_distance(sample: Sample) -> None:
    """Cap height is distance / 200 (common practice, no source): 28 pt carries 1.3 m, 20 pt 0.9 m, 12 pt 0.55 m."""
    sizes = {found.size for found in settings_of_type(sample.files["cards.pdf"])}

    for size, metres in ((28.0, 1.29), (20.0, 0.92), (12.0, 0.55)):
        assert size in sizes
        assert size / MM * CAPITALS * 200 / 1000 >= metres
    assert cap_height(590, 16) <= 12 / MM * CAPITALS


@pytest.mark.parametrize("bold", [False, True])
def test_figures_have_one_width(bold: bool) -> None:
    """Columns of numbers line up: all ten figures, and the signs among themselves, advance by the same."""
    face = EmbeddedTypeface()

    assert len({face.width(figure, 100, bold) for figure in "0123456789"}) == 1
    assert face.width("+", 100, bold) == face.width("\N{MINUS SIGN}", 100, bold)


def test_embedded_figures_have_one_width(sample: Sample) -> None:
    """The same of the fonts inside the files, by the advance that pdfplumber finds for every figure printed."""
    for kind in SHEETS:
        with opened(sample, kind) as read:
            for page in read.pages:
                widths: dict[tuple[str, float], set[float]] = {}
                for char in page.chars:
                    if char["text"].isdecimal() and char["upright"]:
                        key = char["fontname"].split("+")[1], round(char["size"], 2)
                        widths.setdefault(key, set()).add(round(char["adv"] / char["size"], 3))
                assert all(len(found) == 1 for found in widths.values()), (kind, widths)


UNIT = r"(?:%|µs|mm|kg|Wh|ms|dpi)"


@pytest.mark.parametrize("kind", SHEETS)
def test_numbers_are_read_back_as_numbers(sample: Sample, kind: str) -> None:
    """A sign is U+2212 and a unit stands off by a space (ISO 80000-1, 7.1.4); never a hyphen, never a bare unit."""
    for page in pypdfium2.PdfDocument(sample.files[f"{kind}.pdf"]):
        text = page.get_textpage().get_text_range()
        assert not re.search(rf"(?<![\w.])-\d+(?:\.\d+)? ?{UNIT}", text), text
        assert not re.search(rf"\d{UNIT}(?![\w-])", text), re.findall(rf".*\d{UNIT}(?![\w-]).*", text)
        assert "\N{REPLACEMENT CHARACTER}" not in text


def test_cards_hold_negative_numbers(sample: Sample) -> None:
    """The test above has something to look at: signs are there, each before a figure."""
    texts = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(sample.files["cards.pdf"])]

    assert re.search(r"\N{MINUS SIGN}\d+ %", "".join(texts))
