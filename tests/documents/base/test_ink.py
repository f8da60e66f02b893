"""How much ink cards spend."""

from __future__ import annotations

import pypdfium2

from prints import Sample, grey, grid

pytest_plugins = ("prints",)


def test_cards_spend_little_ink(sample: Sample) -> None:
    """Black covers less than 9 % of any side and 6 % of a pack (common practice, no source).

    A pack is both sides of its cards, white ones too: what is printed on fewer sides takes no more ink.

    At 300 dpi: the renderer draws no stroke thinner than a dot, so at 150 dpi a rule of 0.1 mm counts as one of
    0.17 mm, which no printer prints.
    """
    dpi = 300
    cover = []
    for page in pypdfium2.PdfDocument(sample.files["cards.pdf"]):
        dots = grey(page, dpi)
        _, _, places, card = grid(dots.shape[1] / dpi * 25.4, dots.shape[0] / dpi * 25.4)
        for x, y in places:
            box = [int(value / 25.4 * dpi) for value in (x, y, x + card[0], y + card[1])]
            cover.append(1 - float(dots[box[1] : box[3], box[0] : box[2]].mean()) / 255)
    used = [share for share in cover if share]

    sides = [card["sides"] for card in sample.data["cards"] if card["card"] != "ISSUE SHEET"]
    assert len(used) == sum(sides)
    assert max(used) < 0.09
    assert sum(used) / sum(2 * -(-count // 2) for count in sides) < 0.06
