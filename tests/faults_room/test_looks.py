"""Screens, links, pictures and stated looks as lines: with which mistakes they look different, by hand on the samples."""

from __future__ import annotations

from pathlib import Path

from rigcard.documents.base.model import Circle, Shape
from rigcard.documents.cards.card_set import card_groups
from rigcard.documents.cards.function_test import lines_of_test
from rigcard.faults.judged import Judged, judged
from rigcard.render.typeface import EmbeddedTypeface
from rigs import solved_or_none, solved_rig
from samples import ROOT

Place = tuple[str, tuple[str, ...]]


def of(name: str) -> Judged:
    """A sample, judged."""
    solved = solved_or_none(ROOT / "samples" / f"{name}.rig")
    assert solved
    return judged(solved)


def told_by(found: Judged, kind: str, device: str) -> set[Place]:
    """The mistakes with which the line of a kind at a device looks different."""
    (at,) = [
        at for at, line in enumerate(found.matrix.lines) if line.kind == kind and device in (*line.devices, "")
    ]
    return {(row.fault.kind, row.fault.names) for row in found.matrix.rows if at in row.differs}


def test_a_screen_is_dark_or_shows_another_memory() -> None:
    """One handset of two: nothing of the other."""
    assert told_by(of("mast"), "screen", "hs-a") == {("memory", ("hs-a",)), ("power", ("hs-a", "off"))}


def test_a_link_light_needs_power_and_a_handset() -> None:
    """The mast's camera receiver has a pack of its own; it is lit though bound to the wrong handset."""
    assert told_by(of("mast"), "look", "rx-b") == {
        ("power", ("rx-b", "off")),
        ("power", ("rx-pack", "flat")),
        ("power", ("hs-b", "off")),
        ("lead", ("P14",)),
        ("bind", ("rx-b", "")),
    }


def test_a_picture_by_lead_needs_what_it_comes_from() -> None:
    """Camera and monitor, their packs and leads, and the lead of the picture."""
    assert told_by(of("mast"), "picture", "view") == {
        ("lead", ("V11",)),
        ("lead", ("P12",)),
        ("lead", ("P13",)),
        ("power", ("cam", "off")),
        ("power", ("cam-pack", "flat")),
        ("power", ("view", "off")),
        ("power", ("view-pack", "flat")),
    }


def test_a_picture_by_radio_needs_both_ends() -> None:
    """The sender hangs on the pack of the camera."""
    assert told_by(of("arm"), "link", "view") == {
        ("lead", ("V21",)),
        ("lead", ("P24",)),
        ("lead", ("P25",)),
        ("lead", ("P26",)),
        ("power", ("cam", "off")),
        ("power", ("cam-pack", "flat")),
        ("power", ("sender", "off")),
        ("power", ("view", "off")),
        ("power", ("view-pack", "flat")),
    }


def test_a_look_counts_only_if_it_is_stated(tmp_path: Path) -> None:
    """The same rig with and without a lamp that its listener shows."""
    parts = {"channels": "channel 1 record from two failsafe hold reversed"}
    silent = [line.kind for line in judged(solved_rig(tmp_path, **parts)).matrix.lines]
    said = [
        line.kind
        for line in judged(solved_rig(tmp_path, listener='shows "lamp lit" when on', **parts)).matrix.lines
    ]

    assert "look" not in silent
    assert sorted([*silent, "look"]) == sorted(said)


def test_rings_and_flags_stand_at_the_lines_of_the_short_tests() -> None:
    """Drawn, not only bold: one ring a line of the swap's test and one in the legend; a flag has two parts."""
    for name in ("gorge", "mast", "arm", "first"):
        solved = of(name).solved
        (group,) = [group for group in card_groups(EmbeddedTypeface(), solved) if group.mark == "TEST"]
        marks = [mark for block in group.blocks for box in block.boxes for mark in box.marks]
        tests = lines_of_test(solved)
        assert sum(isinstance(mark, Circle) for mark in marks) == 1 + sum(test.swap for test in tests)
        assert sum(isinstance(mark, Shape) and mark.solid for mark in marks) == 2 + 2 * sum(
            test.morning for test in tests
        )
        thin = [mark.weight for mark in marks if isinstance(mark, Circle)]
        assert min(thin) >= 0.4  # twice the thinnest rule of a card
