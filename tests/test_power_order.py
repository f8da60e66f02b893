"""What comes on with what, in which order, and what the papers say of it: facts of the trade and worked examples.

The trade: one lead out of a pack wakes all that is fed through it; the head wakes last, hands off, for it may whip;
what is fed through the head is dark until then; the handset is on before any receiver and goes off after all of them
(common practice, no source).
"""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import networkx as nx
import pytest

from conftest import ROOT, STOCK
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Curve, Line, Rectangle, Text
from rigcard.documents.cards.devices import device_setup
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.parts import the
from rigcard.documents.cards.power import power_card, power_line
from rigcard.documents.cards.power_up import power_down, power_up
from rigcard.documents.cards.radio_loss import radio_loss
from rigcard.documents.diagram.wiring import drawing, power_graph, power_lines
from rigcard.exports.power_json import power_data
from rigcard.pipeline import check_rig
from rigcard.render.dot import place
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.power.circuits import Circuit, circuits
from rigcard.solve.solved import Solved
from rigs import checked

FACE = EmbeddedTypeface()
WIDE = 1000.0  # mm: wide enough for every step to stand on one line
SAME_LINE = 1.5  # mm between baselines of types of different size that stand beside each other
SAMPLES = ("first", "gorge", "mast")
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


@cache
def sample(name: str) -> Solved:
    """A sample of the project."""
    solved = check_rig(ROOT / "samples" / f"{name}.rig", Diagnostics(), stock=STOCK).solved
    assert solved is not None
    return solved


def bare(
    folder: Path, head: str = "", models: str = "", units: str = "", cables: str = "", head_unit: str = ""
) -> Solved:
    """A handset, a receiver and a head of which nothing is said but how they are steered, and more."""
    text = BARE.replace("MORE_HEAD", head).replace("MODELS", models).replace("UNITS", units)
    text = text.replace("HEAD_UNIT", head_unit)
    solved, found = checked(folder, text + cables)
    assert solved is not None, found
    return solved


def lines(group: Group) -> list[str]:
    """The lines of a card from the top down, what stands beside each other parted by a bar."""
    found = []
    for block in group.blocks:
        for piece in block.boxes:
            texts = sorted((mark for mark in piece.marks if isinstance(mark, Text)), key=lambda mark: mark.y)
            rows: list[list[Text]] = []
            for text in texts:
                if not rows or text.y - rows[-1][0].y > SAME_LINE:
                    rows.append([])
                rows[-1].append(text)
            found += [" | ".join(mark.text for mark in sorted(row, key=lambda mark: mark.x)) for row in rows]
    return found


def up(solved: Solved) -> list[str]:
    """The power-up card from the order on."""
    found = lines(power_up(FACE, WIDE, solved))
    return found[found.index("Then, in this order") + 1 :]


def down(solved: Solved) -> list[str]:
    """The power-down card."""
    return lines(power_down(FACE, WIDE, solved))


def at(found: list[str], words: str) -> int:
    """Which line holds some words; there must be one."""
    (place,) = [number for number, line in enumerate(found) if words in line]
    return place


# ---- what comes on together ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("first", [("hs", (), ("hs",)), ("pack", ("P1",), ("head", "rx"))]),
        (
            "gorge",
            [
                ("hs", (), ("hs",)),
                ("cam-pack", ("P02",), ("cam",)),
                ("head-pack", ("P01",), ("head", "rx", "bridge", "motor")),
            ],
        ),
        (
            "mast",
            [
                ("hs-a", (), ("hs-a",)),
                ("hs-b", (), ("hs-b",)),
                ("rx-pack", ("P14",), ("rx-b", "motor", "bridge")),
                ("cam-pack", ("P12",), ("cam",)),
                ("view-pack", ("P13",), ("view",)),
                ("mast-pack", ("P11",), ("head", "rx-a")),
            ],
        ),
    ],
)
def test_circuits_of_the_samples(
    name: str, expected: list[tuple[str, tuple[str, ...], tuple[str, ...]]]
) -> None:
    """Worked by hand from the leads of each sample: handsets first, what has packs of its own, the head last."""
    assert circuits(sample(name)) == [Circuit(*parts) for parts in expected]


@pytest.mark.parametrize("name", SAMPLES)
def test_a_circuit_is_all_that_can_be_reached(name: str) -> None:
    """Behind the first device of a lead: its descendants in the graph of all leads that carry power (networkx)."""
    solved = sample(name)
    assert solved.power
    graph = nx.DiGraph((use.lead.giver.unit, use.lead.taker.unit) for use in solved.power.leads.values())
    for circuit in circuits(solved):
        first = circuit.units[0]
        reached = nx.descendants(graph, first) if first in graph else set()
        assert set(circuit.units) == {first, *reached}
        if circuit.leads:
            assert graph.has_edge(circuit.source, first)


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
    assert at(back, "unplug P2 at the head.") < at(back, "Unplug P1 at the head.")
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


@pytest.mark.parametrize("name", SAMPLES)
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


@pytest.mark.parametrize("name", SAMPLES)
def test_power_down_is_power_up_turned_round(name: str) -> None:
    """Every lead once, in the opposite order; nothing that is dark is switched off; one last step, a handset's."""
    solved = sample(name)
    plugged = re.findall(r"Plug (\S+) from", " ".join(up(solved)))
    steps = [line for line in down(solved) if re.match(r"\d+ \| ", line)]
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
    gorge = " ".join(down(sample("gorge")))
    aloft = "Bring the head within reach or lock it: it may fall limp."  # under a cable, says `hazard overhead`
    assert f"{aloft} Any switch off, then unplug P01 at the stabilised head." in gorge
    assert f"Head pack | {aloft}" in gorge
    assert "by hand" not in gorge
    lamp = 'model lamp "Lamp" { role other }'
    on_head = 'unit lamp is lamp "Lamp" { mounted on head }'
    assert "Hold its load by hand: the head may fall limp." in " ".join(down(bare(tmp_path, "", lamp, on_head)))


def test_no_hand_is_asked_for_at_the_end_of_an_arm(tmp_path: Path) -> None:
    """A head on an arm, a mast or a vehicle is where no hand may reach; the file does not say how high."""
    for role in ("mast", "vehicle", "other"):
        models = f'model arm "Arm" {{ role {role} }}\nmodel lamp "Lamp" {{ role other }}'
        units = 'unit arm is arm "Arm"\nunit lamp is lamp "Lamp" { mounted on head }'
        solved = bare(tmp_path, "", models, units, head_unit="{ mounted on arm }")
        found = " ".join(down(solved))
        assert "by hand" not in found
        assert "Bring the head within reach or lock it: it may fall limp." in found


@pytest.mark.parametrize("name", SAMPLES)
def test_a_swap_is_found_by_the_pack(name: str) -> None:
    """A row for each pack and each handset, none for what has no battery; each says all that restarts with it."""
    solved = sample(name)
    found = down(solved)
    table = [line.split(" | ") for line in found[found.index("WAS OFF | BEFORE YOU POWER IT AGAIN") + 1 :]]
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
    assert "Controls as on the power-up card." in row
    assert "Stand clear, hands off." in row


# ---- volts ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_volts_are_alike_on_all_papers(name: str) -> None:
    """Power card, card of the device, drawing and rig.json give the same two values for a load, and say which."""
    solved = sample(name)
    assert solved.power
    data = power_data(solved.power)
    assert data
    card = lines(power_card(FACE, WIDE, solved))
    seen = 0
    for use in solved.power.rails.values():
        feeds = solved.power.feeding.rails[use.rail].leads
        if not feeds:
            continue
        title = solved.rig.units[use.rail[0]].title
        line = power_line(solved, solved.rig.units[use.rail[0]])
        (drawn,) = {power_lines(solved, lead.wire)[-2] for lead in feeds}
        (row,) = [row for row in card if row.startswith(title) and " V | " in row]
        (rail,) = [one for one in data["rails"] if (one["unit"], one["port"]) == use.rail]
        full, empty = re.findall(r"\| ([\d.]+) V", row)[:2]
        shown = f"{full} V at peak" if full == empty else f"{full} V full, {empty} V near empty, at peak"
        assert shown == drawn
        assert f", {shown}" in line
        assert float(full) == pytest.approx(rail["volts_full"], abs=0.0051)
        assert float(empty) == pytest.approx(rail["volts_empty"], abs=0.0051)
        seen += 1
    assert seen >= 2


def test_volts_of_a_camera_by_hand() -> None:
    """Gorge P02: 68 W over 0.3 m of 1 mm2 there and back, 19.5 ohm/km (IEC 60228 class 5) at 18 C (factor 1.008).

    V = (S + sqrt(S^2 - 4 P R)) / 2 for a load of constant power behind a resistance; arithmetic.
    """
    ohms = 2 * 0.0003 * 19.5 / 1.008
    full, empty = ((s + (s * s - 4 * 68 * ohms) ** 0.5) / 2 for s in (16.8, 12.0))
    solved = sample("gorge")

    line = power_line(solved, solved.rig.units["cam"])
    assert f"{full:.2f} V full, {empty:.2f} V near empty, at peak" in line


def test_run_time_says_in_use_or_by_the_clock() -> None:
    """Gorge: a camera pack is changed every 100 min by the clock, 60 of them in use; cold it lasts 63 in use."""
    found = lines(power_card(FACE, WIDE, sample("gorge")))
    head = found[at(found, "PACK | HOLDS | FEEDS")]

    assert head.endswith("~ LASTS, IN USE | ~ IN USE AT −2 °C | ~ BRING | CHANGE, BY THE CLOCK")
    assert found[at(found, "Camera pack | ")].endswith("| 90 min | 63 min | 6 + 1 | 100 min")
    assert "60 % of the day on" in " ".join(found)


def test_no_columns_for_what_nobody_stated() -> None:
    """First rig: no day and no frost, so nothing to bring or to change, and no sentence about it."""
    found = lines(power_card(FACE, WIDE, sample("first")))
    text = " ".join(found)

    assert "PACK | HOLDS | FEEDS | ~ LASTS, IN USE" in found
    assert "Change a pack" not in text
    assert "spare" not in text


# ---- drawing -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_the_power_drawing_has_every_feed(name: str) -> None:
    """Each lead that carries power, whatever it is made for, goes from giver to taker; the rest is not there."""
    solved = sample(name)
    assert solved.power
    graph = power_graph(FACE, solved)
    edges = {(edge.tail, edge.head): edge.kind for edge in graph.edges}
    rig = solved.rig

    assert {node.id for node in graph.nodes if node.kind == "cable"} == {
        f"cable:{leg}" for leg in solved.power.leads
    }
    for leg, use in solved.power.leads.items():
        ends = f"device:{use.lead.giver.unit}", f"cable:{leg}", f"device:{use.lead.taker.unit}"
        plain = rig.signal_at(use.lead.giver).kind == "power"
        assert {edges[pair] for pair in pairwise(ends)} == {"power" if plain else "power-too"}
        (node,) = [node for node in graph.nodes if node.id == ends[1]]
        assert any(" V" in text and "at peak" in text for text, _, _ in node.lines)
    drawn = nx.DiGraph(list(edges))
    for circuit in circuits(solved):
        for unit in circuit.units[1:]:
            assert nx.has_path(drawn, f"device:{circuit.source}", f"device:{unit}")


@pytest.mark.parametrize("name", SAMPLES)
def test_a_cable_is_drawn_without_a_gap(name: str) -> None:
    """The stroke of a cable goes over the ends of the lines on both its sides."""
    graph = power_graph(FACE, sample(name))
    placed = place(graph)
    marks = drawing(FACE, graph, placed)
    strokes = [mark for mark in marks if isinstance(mark, Line)]
    cables = [node.id for node in graph.nodes if node.kind == "cable"]
    assert len(strokes) == len(cables)
    for cable, stroke in zip(cables, strokes, strict=True):
        (left, y), (right, _) = stroke.points
        for edge, points in zip(graph.edges, placed.edges, strict=True):
            if cable in (edge.tail, edge.head):
                x, height = points[-1] if edge.head == cable else points[0]
                assert left < x < right
                assert height == pytest.approx(y, abs=stroke.weight / 2)
    assert sum(isinstance(mark, Curve) for mark in marks) == 2 * len(cables)


# ---- cards of devices, and radio loss ------------------------------------------------------------------------------


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
    assert sum(line.endswith("REVERSED here. At the ends 50 deg/s.") for line in head) == 2
    assert sum(line.endswith("not reversed. At the ends 8 deg.") for line in head) == 1
    plain = " ".join(lines(device_setup(FACE, WIDE, mast, mast.rig.units["head"])))
    assert "At the ends" not in plain


def test_radio_loss_says_how_far_and_what_to_keep_clear() -> None:
    """50 deg/s for 0.7 s are 35 deg (arithmetic); the file keeps 45 deg clear."""
    found = lines(radio_loss(FACE, WIDE, sample("gorge")))

    for axis in ("Pan", "Tilt"):
        row = f"Stabilised head: {axis} | keeps turning, up to 35 deg, then stops; keep 45 deg clear"
        assert row in found
    assert "Pan keeps turning, up to 35 deg, then stops; Tilt" in " ".join(found)
