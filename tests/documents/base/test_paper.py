"""Sizes of paper, what stands on sheets of cards, and where.

Sizes: tests/reference/paper.csv, with their source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from typing import Any, NamedTuple

import pdfplumber
import pypdf
import pytest

from papers import SamplePapers, published_table
from prints import CARD, MM, SHEETS, Sample, grid, opened
from rigcard.documents.base.model import MM_PER_POINT, SMALLEST, Text
from rigcard.documents.base.paper import POCKET, SIZES, STOCKS

pytest_plugins = (
    "papers",
    "prints",
)

PUBLISHED = {"a3": "A3", "a4": "A4", "a5": "A5", "a6": "A6", "letter": "A (letter)", "tabloid": "B (tabloid)"}


# ---- pages -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_sizes_of_paper(name: str) -> None:
    """ISO 216 and ANSI/ASME Y14.1 (paper.csv), in mm and in points."""
    (row,) = (row for row in published_table("paper.csv") if row["name"] == PUBLISHED[name])

    assert SIZES[name] == (float(row["width_mm"]), float(row["height_mm"]))
    assert SIZES[name][0] / MM_PER_POINT == pytest.approx(float(row["width_pt"]), abs=0.001)
    assert SIZES[name][1] / MM_PER_POINT == pytest.approx(float(row["height_pt"]), abs=0.001)


def test_every_size_is_a_published_one() -> None:
    """No paper without a standard."""
    assert set(SIZES) == set(PUBLISHED)


def test_pages_have_the_size_of_their_paper(papers: SamplePapers) -> None:
    """Read by pypdf: labels and lists upright on the paper of the rig, cards also across; diagrams on the next size too."""
    larger = {"a4": "A3", "letter": "B (tabloid)"}[papers.solved.rig.paper]
    sizes = {
        row["name"]: sorted((float(row["width_pt"]), float(row["height_pt"])))
        for row in published_table("paper.csv")
    }
    own = sizes[PUBLISHED[papers.solved.rig.paper]]
    for name, data in papers.files.items():
        for page in pypdf.PdfReader(BytesIO(data)).pages:
            size = [float(page.mediabox.width), float(page.mediabox.height)]
            allowed = {"wiring": [own, own[::-1], sizes[larger][::-1]], "cards": [own, own[::-1]]}.get(
                name, [own]
            )
            assert any(size == pytest.approx(known, abs=0.01) for known in allowed), (name, size)


def test_cards_lie_inside_the_printable_paper(papers: SamplePapers) -> None:
    """Cards of 100 x 134 mm or two of them joined, edge to edge, none over another, with 4.2 mm of paper round them."""
    assert (POCKET, STOCKS[""].bench) == ((100.0, 134.0), (134.0, 200.0))
    document = papers.documents["cards"]
    sheets = [{(frame.width, frame.height) for frame in page.frames} for page in document.pages]
    for page, sizes, after in zip(document.pages, sheets, [*sheets[1:], set()], strict=True):
        (size,) = sizes
        assert size in STOCKS[""]
        full = 4 if size == POCKET else 2
        assert len(page.frames) == full or (len(page.frames) < full and after != sizes)
        for frame in page.frames:
            assert frame.x >= UNPRINTABLE and frame.x + frame.width <= page.width - UNPRINTABLE
            assert frame.y >= UNPRINTABLE and frame.y + frame.height <= page.height - UNPRINTABLE
            for other in page.frames:
                across = abs(other.x - frame.x) >= frame.width - 1e-9
                assert other is frame or across or abs(other.y - frame.y) >= frame.height - 1e-9


def test_text_is_legible_and_on_the_paper(papers: SamplePapers) -> None:
    """No text is smaller than the smallest size, and none begins or ends beyond the paper."""
    for document in papers.documents.values():
        for page in document.pages:
            for mark in page.marks:
                if isinstance(mark, Text):
                    assert mark.size >= SMALLEST
                    assert mark.x >= 0 and mark.x + (0 if mark.angle else mark.width) <= page.width


UNPRINTABLE = 4.2  # mm: what an office printer leaves white; common practice, no source
SLOT_ZONE = 14.0  # mm at the top of a card, for a lanyard slot; common practice, no source
TICK = 4.0  # mm


class Field(NamedTuple):
    """A card on its sheet, mm from the top left corner of the paper."""

    sheet: int
    x: float
    y: float
    width: float
    height: float


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


@pytest.mark.parametrize("kind", ["wiring", "wiring-list", "labels", "kit"])
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


@pytest.mark.parametrize("kind", ["cards", "wiring", "wiring-list", "labels"])
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
