"""How much ink cards spend, and how it is estimated."""

from __future__ import annotations

import pypdfium2
from rigcard.documents.base.ink import ink

from prints import Sample, grey, grid
from rigcard.diagnostics import Diagnostics
from rigcard.documents.cards.card_set import numbered_cards
from rigcard.documents.cards.frame import cards
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from samples import SAMPLES, STOCK

pytest_plugins = ("prints",)


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
