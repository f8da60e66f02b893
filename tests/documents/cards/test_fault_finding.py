"""Which functions die together: the rows of the card worked by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from cardlines import FACE, NAMES_OF_SAMPLES, WIDE, lines, sample
from rigcard.documents.cards.fault_finding import fault_finding, where_to_look, who_is_dead
from rigcard.documents.cards.frame import Group
from rigcard.solve.sharing import dead_together
from rigcard.solve.solved import Solved
from rigs import compiled, solved_or_none
from samples import ROOT


def card(solved: Solved) -> dict[str, str]:
    """The table of the card: who is dead, where to look."""
    rows = [
        (who_is_dead(solved, row.functions), where_to_look(solved, row))
        for row in dead_together(solved, solved.links.feeds)
    ]
    assert len(dict(rows)) == len(rows)
    return dict(rows)


def test_gorge_is_read_off_its_wiring() -> None:
    """The head's pack feeds all: head over P01, receiver over S02, bridge over the three leads of S01, motor over S03.

    One dial sets the speed of both axes.
    """
    solved = solved_or_none(ROOT / "samples" / "gorge.rig")
    assert solved

    assert card(solved) == {
        "everything": "Head handset: power, memory; Head receiver: link light steady; Head pack: charge; "
        "P01 at both ends, the fuse of P01; Stabilised head: power; S02 at both ends",
        "all of the stabilised head": "Head receiver: pin bus; S02 at both ends; "
        "Stabilised head: settings as on its card",
        "all of the camera bridge": "Camera bridge: power; S04 at both ends; "
        "Cinema camera: power, Body > Sockets > Control: Orders; "
        "S01.R, S01.I and S01.T, which feed Camera bridge; Camera pack: charge; P02 at both ends, the fuse of P02",
        "Pan speed and Tilt speed": "Left dial; channel 9",
        "only Start / stop": "Left flip switch; channel 5; Head receiver: pin p5; S01.R at both ends",
        "only Iris": "Left stick, along; channel 6; Head receiver: pin p6; S01.I at both ends",
        "only Soft keys": "Front toggle; Right rocker; channel 3; channel 10; "
        "Head receiver: pin p3; S01.T at both ends; Cinema camera: settings as on its card",
        "only Mode": "Top rocker; channel 1",
        "only Pan": "Right stick, across; channel 7",
        "only Tilt": "Right stick, along; channel 4",
        "only Horizon": "Right dial; channel 8",
        "only Zoom ring": "Left slider; channel 2; Head receiver: pin p2; S03 at both ends; Zoom motor: power",
    }


def test_two_handsets_share_nothing_on_the_mast() -> None:
    """Each handset has its receiver and pack; a lead that nothing else uses stands with its one function."""
    solved = solved_or_none(ROOT / "samples" / "mast.rig")
    assert solved

    assert card(solved) == {
        "everything of the head handset": "Head handset: power, memory; Head receiver: link light steady, pin bus; "
        "S11 at both ends; Mast head: power, Basic > Line type: 16-channel serial; Mast pack: charge; "
        "P11 at both ends, the fuse of P11",
        "everything of the camera handset": "Camera handset: power, memory; Camera receiver: link light steady; "
        "Receiver pack: charge; P14 at both ends",
        "only Pan": "Head handset: Right stick, across, channel 3",
        "only Tilt": "Head handset: Right stick, along, channel 2",
        "only Lock": "Head handset: Front toggle, Left flip switch, channel 1, channel 4",
        "only Iris ring": "Camera handset: Right stick, along, channel 6; Camera receiver: pin p6; "
        "S12 at both ends; Iris motor: power",
        "only Start / stop": "Camera handset: Left toggle, channel 3; Camera receiver: pin p3; "
        "S13 at both ends; Camera bridge: power; S14 at both ends; "
        "Cinema camera: power, Body > Sockets > Control: Orders; Camera pack: charge; "
        "P12 at both ends, the fuse of P12",
    }


INPUTS = """input left on one "Left" { off -150%..0% rest; on 1%..150% }
  input right on two "Right" { off -150%..0% rest; on 1%..150% }"""
CHANNELS = "channel 1 left from a failsafe 0%\n  channel 2 right from b failsafe 0%"
LEADS = """cable W1 "Left" { rx.p1 to dev.one; length 1m; jacket 3mm }
cable W2 "Right" { rx.p2 to dev.two; length 1m; jacket 3mm }"""


def test_one_control_of_two_functions_is_what_they_share(tmp_path: Path) -> None:
    """Both die with the switch; with its channel or lead one of them."""
    same = CHANNELS.replace("from b", "from a")
    solved, _ = compiled(tmp_path, inputs=INPUTS, channels=same, cables=LEADS)
    assert solved

    assert card(solved) == {
        "everything": "Switch A; Handset: power, memory; Receiver: power; Listener: power",
        "only Left": "channel 1; Receiver: pin p1; W1 at both ends",
        "only Right": "channel 2; Receiver: pin p2; W2 at both ends",
    }


def test_plain_power_leads_count_where_no_source_is_stated(tmp_path: Path) -> None:
    """Two packs that say nothing of volts: each with what it feeds; a pack behind a second lead is left out."""
    more = """signal amp "Power" carries power
model cell "Pack" { role pack; port out1, out2 out amp }
model lamp "Head" { role head; port power, spare in amp; port one, two in servo; INPUTS }
unit pa is cell "Pack A"
unit pb is cell "Pack B"
unit other is lamp "Other"
unit third is lamp "Third" { unused right }
cable P1 "Power" { pa.out1 to other.power; length 1m; jacket 6mm }
cable P2 "Power" { pb.out1 to third.power; length 1m; jacket 6mm }
cable P3 "Power" { pb.out2 to third.spare; length 1m; jacket 6mm }
cable W3 "Left" { rx.p3 to other.one; length 1m; jacket 3mm }
cable W4 "Right" { rx.p4 to other.two; length 1m; jacket 3mm }
cable W5 "Left" { rx.p5 to third.one; length 1m; jacket 3mm }""".replace("INPUTS", INPUTS)
    channels = "\n  ".join(
        f"channel {number} n{number} from {control} failsafe 0%"
        for number, control in enumerate(("a", "b", "c", "two", "across"), 1)
    )
    solved, found = compiled(tmp_path, inputs=INPUTS, channels=channels, cables=LEADS, more=more)
    assert solved, found

    rows = card(solved)
    assert rows["everything"] == "Handset: power, memory; Receiver: power"
    assert rows["all of the other"] == "Other: power; Pack A: charge; P1 at both ends"
    assert rows["only Third: Left"] == "Across; channel 5; Receiver: pin p5; W5 at both ends; Third: power"
    assert rows["only Other: Right"] == "Two; channel 4; Receiver: pin p4; W4 at both ends"


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_every_question_makes_a_difference(name: str) -> None:
    """Its two answers do not lead to one letter: nobody moves a control for nothing."""
    found = lines(Group("FAULTS", "", tuple(fault_finding(FACE, WIDE, sample(name)))))
    start = next(at for at, line in enumerate(found) if line.startswith("Then answer"))
    end = next(at for at, line in enumerate(found) if line.startswith("Letters"))
    answers = [line.split(" | ")[-2:] for line in found[start + 2 : end] if line.count(" | ") >= 4]

    assert answers
    assert all(yes != no for yes, no in answers), answers
