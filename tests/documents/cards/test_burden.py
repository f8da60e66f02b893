"""What a head carries, named so that it can be found and weighed."""

from __future__ import annotations

from pathlib import Path

from rigcard.documents.base.model import Text
from rigcard.documents.cards.burden import burden
from rigcard.render.typeface import EmbeddedTypeface
from samples import changed_sample

FACE = EmbeddedTypeface()


def test_what_is_carried_names_leads_by_their_ids(tmp_path: Path) -> None:
    """As their labels have it, so that a lead can be found and weighed."""
    solved = changed_sample(tmp_path, "gorge")
    blocks = burden(FACE, 120.0, solved.rig, solved.rig.units["head"])
    text = " ".join(
        mark.text for block in blocks for piece in block.boxes for mark in piece.marks if isinstance(mark, Text)
    )

    assert "P01 Head power 0.15 kg" in text and "S01 Bridge loom 0.02 kg" in text
    assert "Head pack 2.1 kg" in text
