"""The card of radio loss."""

from __future__ import annotations

from cardlines import FACE, WIDE, lines, sample
from rigcard.documents.cards.radio_loss import radio_loss


def test_radio_loss_says_how_far_and_what_to_keep_clear() -> None:
    """50 deg/s for 0.7 s are 35 deg (arithmetic); the file keeps 45 deg clear."""
    found = lines(radio_loss(FACE, WIDE, sample("gorge")))

    for axis in ("Pan", "Tilt"):
        row = f"Stabilised head: {axis} | keeps turning, up to 35 deg, then stops; keep 45 deg clear"
        assert row in found
    assert "Pan keeps turning, up to 35 deg, then stops; Tilt" in " ".join(found)
