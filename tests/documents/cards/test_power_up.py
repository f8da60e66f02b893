"""What comes on in which order, and what the cards say of it: facts of the trade and worked examples.

The trade: the head wakes last, hands off, for it may whip; what is fed through the head is dark until then; the
handset is on before any receiver and goes off after all of them (common practice, no source).
"""

from __future__ import annotations

import re
from itertools import pairwise, takewhile
from pathlib import Path

import pytest

from cardlines import FACE, NAMES_OF_SAMPLES, WIDE, at, lines, sample
from rigcard.documents.base.phrases import stand, the
from rigcard.documents.cards.brief import brief
from rigcard.documents.cards.moves import stays_put
from rigcard.documents.cards.operator import operator_card
from rigcard.documents.cards.power_up import power_down, power_up
from rigcard.documents.cards.radio_loss import before_return
from rigcard.documents.cards.sticks import spoken
from rigcard.solve.loss import STANDBY, is_record
from rigcard.solve.power.circuits import Circuit, circuits
from rigcard.solve.solved import Solved
from rigs import checked
from samples import SAMPLES, solved_rig

BARE = """\
rig "Bare" { revision "A" }
signal cell "Cell" carries power
signal line "Line" carries commands
model set "Handset" { role handset; stick x "X" left to right springs; channels 4; pulse 1500us centre, 4us per 1%
  travel 0%..100% step 1%; subtrim -100..100 steps, 100 steps = 20%, shifts whole; reverse before subtrim
  mix before travel; output -150%..150% }
model rec "Receiver" { role receiver; channels 4; port p1..p4 out servo channel 1..4 }
model turner "Head" { role head; port pan in servo; input pan on pan "Pan" { sweeps left to right rest 0% }
  MORE_HEAD }
MODELS
unit hs is set "Handset" { memory 1 "BARE"; channel 1 pan from x failsafe 0% }
UNITS
unit rx is rec "Receiver" { bound to hs }
unit head is turner "Head" HEAD_UNIT
cable W1 "Lead" { rx.p1 to head.pan; length 1m; jacket 3mm }
"""


def bare(
    folder: Path, head: str = "", models: str = "", units: str = "", cables: str = "", head_unit: str = ""
) -> Solved:
    """A handset, a receiver and a head of which nothing is said but how they are steered, and more."""
    text = BARE.replace("MORE_HEAD", head).replace("MODELS", models).replace("UNITS", units)
    text = text.replace("HEAD_UNIT", head_unit)
    solved, found = checked(folder, text + cables)
    assert solved is not None, found
    return solved


def up(solved: Solved) -> list[str]:
    """The power-up card from the order on."""
    found = lines(power_up(FACE, WIDE, solved))
    return found[found.index("Then, in this order") + 1 :]


def down(solved: Solved) -> list[str]:
    """The power-down card."""
    return lines(power_down(FACE, WIDE, solved))


# ---- what comes on together ----------------------------------------------------------------------------------------


def test_a_rig_without_power_has_a_step_for_each_device(tmp_path: Path) -> None:
    """Nothing is known of leads: handset, receiver, head, each by itself."""
    solved = bare(tmp_path)
    found = up(solved)

    assert [circuit.units for circuit in circuits(solved)] == [("hs",), ("rx",), ("head",)]
    steps = [
        at(found, words) for words in ("Switch on the handset.", "Power on the receiver.", "Power on the head.")
    ]
    assert steps == sorted(steps)
    assert found[steps[2]].startswith("4 | Hands off.")
    assert all(words not in " ".join(found) for words in ("Plug", "comes on with it", "Look at"))
    back = down(solved)
    off = [
        at(back, words)
        for words in ("power off the head", "power off the receiver", "Switch off the handset, last.")
    ]
    assert off == sorted(off)


CELL = 'model brick "Pack" { role pack; port out-1, out-2 out cell }\n'
HUNG = "port power in cell; port aux out cell"
SCREEN = 'model view "Screen" { role monitor; port power in cell }\n'


def test_leads_are_followed_where_no_model_speaks_of_power(tmp_path: Path) -> None:
    """A monitor that is plugged into the head comes on with the head, whichever stands first in the file."""
    solved = bare(
        tmp_path,
        HUNG,
        CELL + SCREEN,
        'unit mon is view "Screen"\nunit pack is brick "Pack"',
        'cable P1 "P" { pack.out-1 to head.power; length 1m; jacket 6mm }\n'
        'cable P2 "P" { head.aux to mon.power; length 1m; jacket 6mm }\n',
    )

    assert circuits(solved)[-1] == Circuit("pack", ("P1",), ("head", "mon"))
    assert circuits(solved)[1] == Circuit("", (), ("rx",))
    found = up(solved)
    assert at(found, "Plug P1 from the pack into the head") < at(found, "Look at the Screen.")


def test_a_monitor_on_a_head_of_unknown_power(tmp_path: Path) -> None:
    """Nobody says what feeds the head: what hangs on it comes on with it all the same."""
    solved = bare(
        tmp_path,
        HUNG,
        SCREEN,
        'unit mon is view "Screen"',
        'cable P2 "P" { head.aux to mon.power; length 1m; jacket 6mm }\n',
    )

    assert circuits(solved)[-1] == Circuit("", (), ("head", "mon"))
    assert at(up(solved), "Power on the head. The Screen comes on with it.") > at(
        up(solved), "Power on the receiver."
    )


SOURCE = 'model brick "Pack" { role pack; port out-1, out-2 out cell; supplies 12V..16V; capacity 90Wh }\n'


def test_a_head_with_two_leads_wakes_with_the_second(tmp_path: Path) -> None:
    """Two inputs, two leads of one pack: a look at the head after the last; dark with the first; one row at a swap."""
    solved = bare(
        tmp_path,
        "port power in cell; port drive in cell; takes 10V..17V on power; takes 10V..17V on drive",
        SOURCE,
        'unit pack is brick "Pack"',
        'cable P1 "P" { pack.out-1 to head.power; length 1m; jacket 6mm }\n'
        'cable P2 "P" { pack.out-2 to head.drive; length 1m; jacket 6mm }\n',
    )
    found, back = up(solved), down(solved)

    one, two = at(found, "Plug P1"), at(found, "Plug P2")
    assert one + 1 == two  # nothing is to be seen yet
    assert "it comes to a stop and stays still" in found[two + 1]
    assert at(back, "Unplug P2 at the head.") < at(back, "Unplug P1 at the head.")
    (swap,) = [line for line in back if line.startswith("Pack | ")]
    assert "Head restarts." in swap


def test_a_device_with_a_battery_wakes_what_it_feeds(tmp_path: Path) -> None:
    """A camera with its own battery feeds the sender: one switch for both, and no lead to plug."""
    solved = bare(
        tmp_path,
        "",
        'model eye "Camera" { role camera; port out-1 out cell; supplies 12V..16V; capacity 90Wh; draws 20W }\n'
        'model air "Sender" { role sender; port power in cell; takes 7V..17V; draws 5W }\n',
        'unit cam is eye "Camera"\nunit tx is air "Sender"',
        'cable P1 "P" { cam.out-1 to tx.power; length 1m; jacket 6mm }\n',
    )

    assert Circuit("cam", (), ("cam", "tx")) in circuits(solved)
    assert at(up(solved), "Switch on the camera. The sender comes on with it.")
    assert "Sender restarts." in down(solved)[at(down(solved), "Camera | ")]


# ---- the cards -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_nothing_is_looked_at_before_it_has_power(name: str) -> None:
    """A receiver or bridge that is fed through another device shows its light after the lead that feeds both."""
    solved = sample(name)
    found = up(solved)
    for circuit in circuits(solved):
        for unit in circuit.units[1:]:
            title = solved.rig.units[unit].title
            looks = [line for line in found if f"Look at {the(title)}." in line]
            assert len(looks) == (solved.rig.units[unit].role != "motor")
            for line in looks:
                assert found.index(line) > at(found, f"Plug {circuit.leads[0]} from")
            assert not [line for line in found if line.endswith(f"Power on {the(title)}.")]
    head = at(found, "it comes to a stop and stays still")
    plugs = [number for number, line in enumerate(found) if "Plug " in line]
    assert max(plugs) == head - 1
    assert "Hands off." in found[head - 1]


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_power_down_is_power_up_turned_round(name: str) -> None:
    """Every lead once, in the opposite order; nothing that is dark is switched off; one last step, a handset's."""
    solved = sample(name)
    plugged = re.findall(r"Plug (\S+) from", " ".join(up(solved)))
    first = takewhile(lambda line: not line.startswith("Swap: "), down(solved))
    steps = [line for line in first if re.match(r"\d+ \| ", line)]
    pulled = re.findall(r"[Uu]nplug (P\d+)", " ".join(steps))

    assert plugged == pulled[::-1] != []
    for circuit in circuits(solved):
        for unit in circuit.units[1:]:
            assert not [line for line in steps if f"off {the(solved.rig.units[unit].title)}" in line]
    assert [line.endswith(", last.") for line in steps] == [*(False for _ in steps[1:]), True]
    assert "handset" in steps[-1].lower()


def test_a_hand_holds_only_what_a_head_carries(tmp_path: Path) -> None:
    """First rig: no camera, nothing on the head. Gorge: a camera hangs on it."""
    assert "hold" not in " ".join(down(sample("first"))).lower()
    gorge = down(sample("gorge"))
    aloft = "Bring the head within reach: it may fall limp. Hands off: it is still live."  # under a cable, says `hazard overhead`
    off = "Turn any switch off. Unplug P01 at the stabilised head."
    (first,) = [number for number, line in enumerate(gorge) if re.match(r"\d+ \| " + re.escape(aloft), line)]
    assert at(gorge, "Moving parts may whip") < first < at(gorge, off)  # the motors are live until then
    assert any(line.startswith(f"Head pack | {aloft}") for line in gorge)
    assert "by hand" not in " ".join(gorge)
    lamp = 'model lamp "Lamp" { role other }'
    on_head = 'unit lamp is lamp "Lamp" { mounted on head }'
    assert "Then hold its load by hand: the head is limp." in " ".join(down(bare(tmp_path, "", lamp, on_head)))


def test_motors_stop_before_a_hand_goes_near(tmp_path: Path) -> None:
    """The step that takes the head's power off keeps hands away; only the next one asks for a hand."""
    camera = 'model eye "Camera" { role camera }'
    found = down(bare(tmp_path, "", camera, 'unit cam is eye "Camera" { mounted on head }'))
    off = at(found, "power off the head")
    hand = at(found, "Then hold the camera by hand: the head is limp.")

    assert off < hand
    assert "Hands stay off the camera: the motors stop first." in found[off]
    assert not [line for line in found[:hand] if "by hand" in line]


def test_no_hand_is_asked_for_at_the_end_of_an_arm(tmp_path: Path) -> None:
    """A head on an arm, a mast or a vehicle is where no hand may reach; the file does not say how high."""
    for role in ("mast", "vehicle", "other"):
        models = f'model arm "Arm" {{ role {role} }}\nmodel lamp "Lamp" {{ role other }}'
        units = 'unit arm is arm "Arm"\nunit lamp is lamp "Lamp" { mounted on head }'
        solved = bare(tmp_path, "", models, units, head_unit="{ mounted on arm }")
        found = " ".join(down(solved))
        assert "by hand" not in found
        assert "Bring the head within reach: it may fall limp. Hands off: it is still live." in found


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_a_swap_is_found_by_the_pack(name: str) -> None:
    """A row for each pack and each handset, none for what has no battery; each says all that restarts with it."""
    solved = sample(name)
    found = down(solved)
    rows = found[found.index("WITHOUT POWER | BEFORE YOU POWER IT AGAIN") + 1 :]
    table = [line.split(" | ") for line in takewhile(lambda line: not line.startswith("Swap: "), rows)]
    units = solved.rig.units
    swapped = {unit.title for unit in units.values() if unit.role in ("handset", "pack")}

    assert sorted(title for row in table for title in row[0].split(" or ")) == sorted(swapped)
    for circuit in circuits(solved):
        (text,) = [text for title, text in table if units[circuit.source].title in title.split(" or ")]
        others = [units[unit].title for unit in circuit.units if unit != circuit.source]
        assert all(title in text.split("restart")[0] for title in others)


def test_gorge_head_pack_restarts_receiver_and_bridge() -> None:
    """Worked example: P01 feeds the head, the head the receiver, the receiver the bridge and the motor."""
    (row,) = [line for line in down(sample("gorge")) if line.startswith("Head pack")]

    assert "Stabilised head, Head receiver, Camera bridge and Zoom motor restart." in row
    assert "Set the controls as on the power-up card." in row
    assert "Stand clear, hands off." in row


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_no_return_of_the_link_ends_a_take(name: str) -> None:
    """A handset whose battery is changed loses the link and gets it back: its record control stays where it is, on the
    brief, on the operator's card and at the swap."""
    solved = sample(name)
    rig = solved.rig
    rows = [line for line in down(solved) if " | " in line]
    for unit in (unit for unit in rig.units.values() if unit.role == "handset"):
        mine = [loss for loss in solved.losses if loss.feed.handset == unit.name]
        records = [loss for loss in mine if is_record(loss.feed.input.states) and loss.state != STANDBY]
        said = before_return(solved, mine)
        (row,) = [line for line in rows if unit.title in line.split(" | ")[0].split(" or ")]
        assert said in row
        for loss in records:
            control = spoken(rig, unit.name, solved.results[unit.name, loss.feed.channel].control.name)
            assert f"Leave {control} where it is" in said
            for card in (brief(FACE, WIDE, solved), operator_card(FACE, WIDE, solved, unit)):
                words = " ".join(lines(card))
                assert f"Leave {control} where it is" in words
        assert "top recording" not in row and "standby" not in row


def test_a_wait_is_counted() -> None:
    """The camera of the arm needs 20 s, says its model: a number to count, then what it shows."""
    found = lines(power_up(FACE, WIDE, arm()))

    assert any("count 20 s, then picture, no menu open" in line for line in found)


def test_swaps_are_short_and_each_ends_with_a_test() -> None:
    """Lens, camera, operator, handset: five lines or so, what first and what to test after."""
    found = down(sample("gorge"))
    heads = [found.index(f"Swap: {title}") for title in ("lens", "camera", "operator", "handset")]
    for start, end in pairwise([*heads, len(found)]):
        steps = [line for line in found[start + 1 : end] if re.match(r"\d \| ", line)]
        assert 4 <= len(steps) <= 6
        assert any("test" in line for line in steps[-2:])
    lens = " ".join(found[heads[0] : heads[1]])
    assert "Move the zoom motor to the new lens." in lens and "Iris ring on REMOTE." in lens
    assert "all lines of Zoom ring and Iris." in lens
    assert "Balance and tune the head." in lens
    camera = " ".join(found[heads[1] : heads[2]])
    assert "S04 and P02" in camera and "settings card" in camera


def arm() -> Solved:
    """The sample of the arm."""
    return solved_rig(next(path for path in SAMPLES if path.stem == "arm"))


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_the_card_has_the_place_of_every_control_that_stays_put(name: str) -> None:
    """Other cards say `set the controls as on the power-up card`, so it has them all, as they are drawn."""
    solved = sample(name)
    words = " ".join(lines(power_up(FACE, WIDE, solved)))

    for unit in (unit for unit in solved.rig.units.values() if unit.role == "handset"):
        for control in stays_put(solved, unit):
            place = stand(control, solved.power_up_positions[unit.name, control.name])
            assert f"{control.title} {place}" in words or f"{place} | {control.title}" in words


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("Head handset", "the head handset"),
        ("Hot-swap plate", "the hot-swap plate"),
        ("Assistant's monitor", "the assistant's monitor"),
        ("Handset 12", "Handset 12"),
        ("Handset B", "Handset B"),
        ("TX handset", "the TX handset"),
        ("50 mm lens", "the 50 mm lens"),
    ],
)
def test_a_title_in_mid_sentence(title: str, said: str) -> None:
    """English grammar: a common name takes the article and a small letter, a numbered one is a proper name."""
    assert the(title) == said
