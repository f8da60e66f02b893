"""Pin tables of leads and looms."""

from __future__ import annotations

from pathlib import Path

from cardlines import page_words
from rigcard.documents.diagram.leads import lead_pages
from rigcard.render.typeface import EmbeddedTypeface
from samples import changed_sample

FACE = EmbeddedTypeface()


def test_pin_tables_are_headed_by_the_end(tmp_path: Path) -> None:
    """Which column is at which plug: the lead has the same plug at both ends."""
    solved = changed_sample(tmp_path, "gorge")
    text = page_words(lead_pages(FACE, solved))

    assert "at Camera bridge (S04-A) Six-pin control, pin at Cinema camera (S04-B) Six-pin control, pin" in text


def test_pin_tables_of_a_loom_name_all_its_ends(tmp_path: Path) -> None:
    """Three legs, wired alike: each end by its own id."""
    pins = ("  plugs  servo-3 to servo-3\n", "  plugs  servo-3 to servo-3\n  pin 1 to 1\n  pin 2 to 2\n")
    text = page_words(lead_pages(FACE, changed_sample(tmp_path, "gorge", pins)))

    assert "".join(["at", "Head", "receiver", "(S01.R-A,", "S01.I-A,", "S01.T-A)"]) in "".join(text.split())
