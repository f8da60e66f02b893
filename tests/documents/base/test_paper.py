"""Sizes of paper, what stands on sheets of cards, and where.

Sizes: tests/reference/paper.csv, with their source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from io import BytesIO
from typing import Any, NamedTuple

import pdfplumber
import pypdf
import pytest

from papers import SamplePapers, published_table
from prints import CARD, MM, SHEETS, Sample, grid, opened
from rigcard.documents.base.model import (
    MM_PER_POINT,
    SMALLEST,
    Circle,
    Curve,
    Line,
    Mark,
    Rectangle,
    Shape,
    Text,
)
from rigcard.documents.base.paper import CARD_SIZES, SIZES
from rigcard.documents.cards.card_set import card_pack
from rigcard.documents.cards.frame import TECHNICIAN, leaves_of
from rigcard.render.typeface import EmbeddedTypeface
from samples import GORGE, solved_rig

FACE = EmbeddedTypeface()
BEFORE = {
    "A": "",
    "B": "A",
    "C": "B",
    "D": "C",
    "E": "D",
    "J": "H",
    "P": "N",
}  # no I, no O: common practice, no source
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
    """Cards of 134 x 200 mm, edge to edge, none over another, with 4.2 mm of paper round them; all of one size."""
    assert CARD_SIZES[""] == CARD
    document = papers.documents["cards"]
    sheet, *pages = document.pages
    assert sheet.height > sheet.width and len(sheet.frames) == 1  # the issue sheet
    cards = [page for page in pages if page.width > page.height]
    for page in cards:
        assert len(page.frames) <= 2
        for frame in page.frames:
            assert (frame.width, frame.height) == CARD
            assert frame.x >= UNPRINTABLE and frame.x + frame.width <= page.width - UNPRINTABLE
            assert frame.y >= UNPRINTABLE and frame.y + frame.height <= page.height - UNPRINTABLE
            for other in page.frames:
                across = abs(other.x - frame.x) >= frame.width - 1e-9
                assert other is frame or across or abs(other.y - frame.y) >= frame.height - 1e-9
    assert all(len(page.frames) == 2 for page in cards[:-2:2])  # fronts, filled but for the last sheet


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
    """Rig, job, revision, the one it replaces, date, check code: at the foot of every side; at the head its mark."""
    rig = sample.data
    with opened(sample, "cards") as read:
        found = list(fields(read))
        by_length = sorted(rig["cards"], key=lambda card: -len(card["card"]))
        marks: Counter[str] = Counter()
        for field in found:
            lines = words_in(read.pages[field.sheet], field).splitlines()
            head, foot = ("".join(" ".join(part).split()) for part in (lines[:4], lines[-2:]))
            assert "".join(rig["rig"].split()) in foot and "".join(rig["job"].split()) in foot
            assert f"rev{rig['revision']}" in foot and rig["date"] in foot
            before = BEFORE[rig["revision"]]
            assert f"replacesrev{before}" in foot if before else "replaces" not in foot
            marks[next(card["card"] for card in by_length if "".join(card["card"].split()) in head)] += 1
            assert re.search(r"check[2-9A-HJKMNP-Z]{4}$", foot), foot
    assert marks == {card["card"]: card["sides"] for card in rig["cards"] if card["card"] != "ISSUE SHEET"}


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


def test_slot_zone_is_clear() -> None:
    """Nothing but the outline of the slot, 14 x 3 mm, stands in the top 14 mm of a small card that a person wears: no
    word is punched away. A large card has no slot, nor has one for the bench."""
    solved = solved_rig(GORGE)
    solved = solved._replace(rig=solved.rig._replace(card="a6"))
    worn = 0
    for found in card_pack(FACE, solved)[1:]:
        for leaf in leaves_of(FACE, solved.rig, [found]):
            for side in leaf.sides:
                zone = [mark for mark in side if top_of(mark) < SLOT_ZONE]
                if found.group.role == TECHNICIAN:
                    assert not any(isinstance(mark, Rectangle) and mark.dash for mark in zone)
                elif side:
                    (slot,) = zone
                    assert isinstance(slot, Rectangle)
                    assert (slot.width, slot.height) == (14, 3)
                    assert slot.x + 7 == pytest.approx(105 / 2)
                    worn += 1
    assert worn


def top_of(mark: Mark) -> float:
    """The highest point of a mark, of text that of its capitals."""
    if isinstance(mark, Text):
        return mark.y - 0.66 * mark.size * MM_PER_POINT
    if isinstance(mark, Line | Curve | Shape):
        return min(y for _, y in mark.points)
    return mark.y - mark.radius if isinstance(mark, Circle) else mark.y


@pytest.mark.parametrize("kind", ["cards", "wiring", "wiring-list", "labels"])
def test_check_bar_is_50_mm(sample: Sample, kind: str) -> None:
    """Beside the words `this bar is 50 mm` a straight line of exactly that length is drawn between two end strokes."""
    with opened(sample, kind) as read:
        for page in read.pages:
            if "this bar is 50 mm" not in "".join(char["text"] for char in page.chars):
                back = kind == "cards" and not page.chars
                assert back or (kind == "wiring" and "Leads" in page.extract_text())
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
            if not places:
                continue  # the issue sheet
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
