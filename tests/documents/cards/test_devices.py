"""Cards of devices: the power pin of a receiver, a serial line, the speed of a head."""

from __future__ import annotations

from itertools import pairwise

from cardlines import FACE, WIDE, at, lines, sample
from rigcard.documents.base.model import Rectangle, Text
from rigcard.documents.cards.devices import device_setup


def test_the_power_pin_of_a_receiver() -> None:
    """Mast: P14 goes into the pin `power` of the camera receiver; its box is heavy and its lead is named."""
    solved = sample("mast")
    group = device_setup(FACE, WIDE, solved, solved.rig.units["rx-b"])
    found = lines(group)
    row = found[at(found, "from Receiver pack, out-1")]

    assert row == "power | 5 V rail | P14 | from Receiver pack, out-1"
    assert "Leave empty: p1, p2, p4, p5." in found
    boxes = {
        text.text: box.weight
        for block in group.blocks
        for piece in block.boxes
        for box, text in pairwise(piece.marks)
        if isinstance(box, Rectangle) and isinstance(text, Text)
    }
    assert {name for name, weight in boxes.items() if weight > 0.5} == {"p3", "p6", "power"}


def test_a_receiver_s_serial_line_and_a_head_s_speed() -> None:
    """As the signal and the model state them: 250000 baud, 50 deg/s; without a statement no words."""
    gorge, mast = sample("gorge"), sample("mast")
    receiver = " ".join(lines(device_setup(FACE, WIDE, gorge, gorge.rig.units["rx"])))
    head = lines(device_setup(FACE, WIDE, gorge, gorge.rig.units["head"]))
    other = " ".join(lines(device_setup(FACE, WIDE, mast, mast.rig.units["rx-b"])))

    words = "16-channel serial: 250000 baud, polarity normal, logic 3.3 V, lead 2 m at most."
    assert words in receiver
    assert "baud" not in other
    assert sum(line.endswith("REVERSED here · at full stick 50°/s") for line in head) == 2
    assert sum(line.endswith("not reversed · at full stick 8°") for line in head) == 1
    plain = " ".join(lines(device_setup(FACE, WIDE, mast, mast.rig.units["head"])))
    assert "at full stick" not in plain
