"""The printed papers of the samples, read back by programs that have nothing to do with this one.

Sizes of paper: tests/reference/paper.csv; contrast and size of type: tests/reference/legibility.csv; sources there.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from contextlib import nullcontext
from functools import cache
from io import BytesIO
from math import ceil, radians, tan
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pdfplumber
import pikepdf
import pypdfium2
import pytest
import zxingcpp
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from conftest import SAMPLES, STOCK
from prints import MM, SHEETS, built, grey, operations, photocopy, plain_cases, settings_of_type
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.ink import ink
from rigcard.documents.cards.card_set import numbered_cards
from rigcard.documents.cards.frame import cards
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface

REFERENCE = Path(__file__).parent / "reference"
CARD = (100.0, 134.0)  # mm: four up on A4 and Letter (common practice, no source)
BENCH = (134.0, 200.0)  # mm: two of them joined, two up on the same paper lying across
UNPRINTABLE = 4.2  # mm: what an office printer leaves white; common practice, no source
SLOT_ZONE = 14.0  # mm at the top of a card, for a lanyard slot; common practice, no source
CAPITALS = 0.654  # of the type size, of the lower of both weights; see test_capitals_are_as_high_as_declared
SMALLEST_TYPE = {"cards": 8.0, "wiring": 7.5, "labels": 6.0, "kit": 8.0}  # points, declared
TICK = 4.0  # mm


class Sample(NamedTuple):
    """A sample's papers."""

    name: str
    files: dict[str, bytes]
    data: dict[str, Any]

    def pdf(self, kind: str) -> BytesIO:
        """One of the papers."""
        return BytesIO(self.files[f"{kind}.pdf"])


@pytest.fixture(scope="session", params=SAMPLES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Sample:
    """Each sample, built once a test run."""
    base = tmp_path_factory.getbasetemp()
    files = built(request.param, base.parent if "xdist" in str(base) or base.name.startswith("popen") else base)
    return Sample(request.param.stem, files, json.loads(files["rig.json"]))


READ: dict[tuple[str, str], pdfplumber.PDF] = {}


def opened(sample: Sample, kind: str) -> nullcontext[pdfplumber.PDF]:
    """One of the papers as pdfplumber reads it; read once a process, for that takes most of the time."""
    if (sample.name, kind) not in READ:
        READ[sample.name, kind] = pdfplumber.open(sample.pdf(kind))
    return nullcontext(READ[sample.name, kind])


def rows(kind: str) -> list[dict[str, str]]:
    """The reference values of a kind."""
    with open(REFERENCE / "legibility.csv", encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["kind"] == kind]


class Field(NamedTuple):
    """A card on its sheet, mm from the top left corner of the paper."""

    sheet: int
    x: float
    y: float
    width: float
    height: float


def grid(width: float, height: float) -> tuple[float, float, list[tuple[float, float]], tuple[float, float]]:
    """Left and top margin, the places and the size of the cards on paper of a size in mm."""
    card, columns, rows_ = (CARD, 2, 2) if height > width else (BENCH, 2, 1)
    left, top = (width - columns * card[0]) / 2, (height - rows_ * card[1]) / 2
    places = [(left + x * card[0], top + y * card[1]) for y in range(rows_) for x in range(columns)]
    return left, top, places, card


def fields(pdf: pdfplumber.PDF) -> Iterator[Field]:
    """The places of the cards, in the middle of the paper, that have words."""
    for number, page in enumerate(pdf.pages):
        _, _, places, card = grid(float(page.width) / MM, float(page.height) / MM)
        for x, y in places:
            field = Field(number, x, y, *card)
            if words_in(page, field):
                yield field


def words_in(page: Any, field: Field) -> str:
    """The text inside a card."""
    box = tuple(value * MM for value in (field.x, field.y, field.x + field.width, field.y + field.height))
    return str(page.crop(box).extract_text() or "")


# ---- ink and photocopies -----------------------------------------------------------------------------------------


def test_cards_spend_little_ink(sample: Sample) -> None:
    """Black covers about 6 % of a card at most (common practice, no source) and less of a pack, at 150 dpi."""
    dpi = 150
    cover = []
    for page in pypdfium2.PdfDocument(sample.files["cards.pdf"]):
        dots = grey(page, dpi)
        _, _, places, card = grid(dots.shape[1] / dpi * 25.4, dots.shape[0] / dpi * 25.4)
        for x, y in places:
            box = [int(value / 25.4 * dpi) for value in (x, y, x + card[0], y + card[1])]
            cover.append(1 - float(dots[box[1] : box[3], box[0] : box[2]].mean()) / 255)
    used = [share for share in cover if share]

    assert len(used) == sum(card["count"] for card in sample.data["cards"])
    assert max(used) < 0.066
    assert sum(used) / len(used) < 0.053


def test_ink_is_estimated_as_it_is_printed(sample: Sample) -> None:
    """The estimate that cards are filled by, from sizes alone, against each card rendered at 150 dpi by pdfium."""
    dpi = 150
    solved = check_rig(
        next(path for path in SAMPLES if path.stem == sample.name), Diagnostics(), stock=STOCK
    ).solved
    assert solved is not None
    face = EmbeddedTypeface()
    pack = numbered_cards(face, solved)
    guessed = [ink(card.marks) for card in cards(face, solved.rig, pack, pack)]
    printed = []
    for page in pypdfium2.PdfDocument(sample.files["cards.pdf"]):
        dots = grey(page, dpi)
        _, _, places, (width, height) = grid(dots.shape[1] / dpi * 25.4, dots.shape[0] / dpi * 25.4)
        for x, y in places:
            box = [int(value / 25.4 * dpi) for value in (x, y, x + width, y + height)]
            share = 1 - float(dots[box[1] : box[3], box[0] : box[2]].mean()) / 255
            printed += [share * width * height] if share else []
    assert len(guessed) == len(printed)
    assert all(abs(mine / theirs - 1) < 0.15 for mine, theirs in zip(guessed, printed, strict=True))
    assert abs(sum(guessed) / sum(printed) - 1) < 0.06


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


def published_sizes() -> list[tuple[float, float]]:
    """Sizes of paper in points, upright."""
    with open(REFERENCE / "paper.csv", encoding="utf-8", newline="") as file:
        return [(float(row["width_pt"]), float(row["height_pt"])) for row in csv.DictReader(file)]


def check_structure(data: bytes) -> None:
    """What every PDF of ours keeps to, as pikepdf reads it."""
    forbidden = {
        "/JavaScript",
        "/JS",
        "/URI",
        "/Launch",
        "/GoToR",
        "/SubmitForm",
        "/EmbeddedFile",
        "/OpenAction",
    }
    with pikepdf.open(BytesIO(data)) as read:
        assert str(read.Root.Lang) == "en"
        assert str(read.docinfo["/Title"]).strip()
        with read.open_outline() as outline:
            assert outline.root
        for thing in read.objects:
            if isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
                assert not forbidden & {str(key) for key in thing.keys()}  # noqa: SIM118 - a stream is no mapping
                assert str(thing.get("/S", "")) not in forbidden
        for page in read.pages:
            box = [float(value) for value in page.mediabox]
            assert box[:2] == [0, 0]
            for name in ("cropbox", "trimbox"):
                assert [float(value) for value in getattr(page, name)] == box
            assert any(
                sorted(box[2:]) == pytest.approx(size, abs=0.5) for size in map(sorted, published_sizes())
            )
            for font in page.Resources.get("/Font", {}).values():
                descriptor = font.FontDescriptor
                assert "/FontFile2" in descriptor or "/FontFile3" in descriptor, font.BaseFont


def check_black(data: bytes) -> None:
    """Colour is said only as grey, and only black and white are used: meaning never hangs on a tint."""
    with pikepdf.open(BytesIO(data)) as read:
        for page in read.pages:
            for operator, operands in operations(page):
                assert operator not in ("K", "k", "CS", "cs", "SC", "sc", "SCN", "scn", "sh", "gs", "Do"), (
                    operator
                )
                if operator in ("g", "G"):
                    assert float(operands[0]) in (0.0, 1.0)
                elif operator in ("rg", "RG"):
                    assert [float(value) for value in operands] in ([0.0] * 3, [1.0] * 3)


@pytest.mark.parametrize("kind", SHEETS)
def test_structure_of_every_pdf(sample: Sample, kind: str) -> None:
    """Embedded fonts, title, language, outline, boxes of published size; no script, no link out of the file."""
    check_structure(sample.files[f"{kind}.pdf"])


@pytest.mark.parametrize("kind", SHEETS)
def test_only_black_and_white(sample: Sample, kind: str) -> None:
    """No tint at all, so that contrast is the greatest there is (legibility.csv: 21 to 1)."""
    check_black(sample.files[f"{kind}.pdf"])


def test_papers_of_other_rigs(tmp_path_factory: pytest.TempPathFactory) -> None:
    """The same for the papers of some of the case files."""
    paths = plain_cases(60)
    assert paths
    for path in paths:
        for name, data in built(path, tmp_path_factory.mktemp("case")).items():
            if name.endswith(".pdf"):
                check_structure(data)
                check_black(data)


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
    pairs = rows("wcag-pair")
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


# ---- sheets of cards ---------------------------------------------------------------------------------------------


def test_every_card_tells_what_it_is(sample: Sample) -> None:
    """Rig, job, revision, date, number among all, check code: at the foot of every card, nothing else tells them."""
    rig = sample.data
    with opened(sample, "cards") as read:
        found = list(fields(read))
        for number, field in enumerate(found, 1):
            text = words_in(read.pages[field.sheet], field)
            foot = " ".join("\n".join(text.splitlines()[-3:]).split())
            assert rig["rig"] in foot and rig["job"] in foot
            assert f"card {number} of {len(found)}" in foot
            assert f"rev {rig['revision']}" in foot and rig["date"] in foot
            assert re.search(r"check [2-9A-HJKMNP-Z]{4}$", foot), foot


@pytest.mark.parametrize("kind", ["wiring", "labels", "kit"])
def test_every_sheet_tells_what_it_is(sample: Sample, kind: str) -> None:
    """The same at the head of every full sheet."""
    rig = sample.data
    with opened(sample, kind) as read:
        for page in read.pages:
            head = " ".join(page.crop((0, 0, page.width, 24 * MM)).extract_text().split())
            for fact in (rig["rig"], rig["job"], f"rev {rig['revision']}", rig["date"]):
                assert fact in head, (fact, head)
            assert re.search(r"check [2-9A-HJKMNP-Z]{4}", head), head


def test_slot_zone_is_clear(sample: Sample) -> None:
    """Nothing but the outline of the slot, 14 x 3 mm, stands in the top 14 mm of a carried card: no word is punched away."""
    with opened(sample, "cards") as read:
        for field in fields(read):
            if field.width != CARD[0]:
                continue  # what lies on the bench has no slot
            page = read.pages[field.sheet]
            box = tuple(v * MM for v in (field.x + 0.1, field.y + 0.1, field.x + 99.9, field.y + SLOT_ZONE))
            zone = page.crop(box)
            assert not zone.chars
            shapes = [*zone.rects, *zone.lines, *zone.curves]
            assert shapes
            assert min(item["x0"] for item in shapes) / MM == pytest.approx(field.x + 43, abs=0.1)
            assert max(item["x1"] for item in shapes) / MM == pytest.approx(field.x + 57, abs=0.1)
            assert (max(item["bottom"] for item in shapes) - min(item["top"] for item in shapes)) / MM == (
                pytest.approx(3, abs=0.1)
            )


@pytest.mark.parametrize("kind", ["cards", "wiring", "labels"])
def test_check_bar_is_50_mm(sample: Sample, kind: str) -> None:
    """Beside the words `this bar is 50 mm` a straight line of exactly that length is drawn between two end strokes."""
    with opened(sample, kind) as read:
        for page in read.pages:
            if "this bar is 50 mm" not in "".join(char["text"] for char in page.chars):
                assert kind == "wiring" and "Leads" in page.extract_text()
                continue
            lengths = [max(line["width"], line["height"]) / MM for line in page.lines]
            assert sum(abs(length - 50) < 0.01 for length in lengths) == 1


def ticks(page: Any) -> list[Any]:
    """The cut ticks of a sheet of cards: thin short lines in the margins."""
    width, height = float(page.width) / MM, float(page.height) / MM
    left, top, _, _ = grid(width, height)
    return [
        line
        for line in page.lines
        if abs(line["linewidth"] / MM - 0.2) < 0.01
        and max(line["width"], line["height"]) / MM <= TICK + 0.01
        and not (
            left < (line["x0"] + line["x1"]) / 2 / MM < width - left
            and top < (line["top"] + line["bottom"]) / 2 / MM < height - top
        )
    ]


def test_cut_ticks_lie_outside_the_cards_on_their_edges(sample: Sample) -> None:
    """A tick at both ends of each edge, none on a card, all where a printer prints."""
    with opened(sample, "cards") as read:
        for page in read.pages:
            width, height = float(page.width) / MM, float(page.height) / MM
            left, top, places, card = grid(width, height)
            across = {x for x, _ in places} | {x + card[0] for x, _ in places}
            down = {y for _, y in places} | {y + card[1] for _, y in places}
            found = ticks(page)
            assert len(found) == 2 * len({round(x, 2) for x in across}) + 2 * len({round(y, 2) for y in down})
            upright = {round(tick["x0"] / MM, 1) for tick in found if tick["width"] < 0.01}
            flat = {round(tick["top"] / MM, 1) for tick in found if tick["height"] < 0.01}
            assert sorted(upright) == pytest.approx(sorted({round(x, 1) for x in across}), abs=0.11)
            assert sorted(flat) == pytest.approx(sorted({round(y, 1) for y in down}), abs=0.11)
            assert min(left, top) >= 5  # a printer that leaves 4.2 mm white prints the cards whole
            assert all(inside(tick, width, height, UNPRINTABLE) for tick in found)


def inside(thing: Any, width: float, height: float, margin: float) -> bool:
    """Whether something drawn keeps a margin in mm to the edges of the paper."""
    return bool(
        thing["x0"] / MM >= margin - 0.01
        and thing["top"] / MM >= margin - 0.01
        and thing["x1"] / MM <= width - margin + 0.01
        and thing["bottom"] / MM <= height - margin + 0.01
    )


@pytest.mark.parametrize("kind", SHEETS)
def test_nothing_is_drawn_where_a_printer_cannot_print(sample: Sample, kind: str) -> None:
    """All words and shapes keep 4.2 mm to the edge of the paper."""
    with opened(sample, kind) as read:
        for page in read.pages:
            width, height = float(page.width) / MM, float(page.height) / MM
            for thing in (*page.chars, *page.lines, *page.rects, *page.curves):
                assert inside(thing, width, height, UNPRINTABLE), thing


# ---- type --------------------------------------------------------------------------------------------------------


def typeface_file(bold: bool) -> str:
    """The file of the typeface that the papers embed."""
    face = EmbeddedTypeface()
    return str((face.bold if bold else face.regular).face.filename)


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
    examples = rows("size-example")
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
