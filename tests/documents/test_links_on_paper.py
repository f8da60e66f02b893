"""What papers say of chains, of orders that toggle, of spares and of radio links: common practice, no source."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import networkx as nx

from cardlines import kind
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Text
from rigcard.documents.cards.card_set import card_pack
from rigcard.documents.cards.function_test import lines_of_test
from rigcard.documents.diagram.graph import Graph
from rigcard.documents.diagram.power import power_graph
from rigcard.documents.diagram.signals import signal_graph
from rigcard.documents.kit.kit_list import items
from rigcard.documents.labels.kit_labels import unit_labels
from rigcard.exports.paths import all_paths, cells
from rigcard.exports.rig_json import rig_data
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.power.circuits import circuits
from rigcard.solve.sharing import Part, dead_together
from rigcard.solve.solved import Solved
from samples import STOCK

FACE = EmbeddedTypeface()
RIG = """rig "Chain" { revision "A" }
use "stock/radio.rig"
use "stock/packs.rig"
signal drive  "Motor line" carries commands, power
signal keys   "Key line"   carries commands
signal video  "Picture"    carries picture
model box-3 "Motor box" {
  role  adapter
  port  one, two, three in servo
  port  power in pack-power
  port  m1, m2 out drive
  port  rec out keys
  takes 10V..17V
  draws 100mA
  passes power to m1, m2 up to 5A
  input focus on one "Focus" to m1 { sweeps near to far }
  input iris on two "Iris" to m1, m2 { sweeps closed to open }
  input record on three "Record" to rec { idle -150%..0% rest; start-stop 50%..150% }
}
model motor-2 "Lens motor" {
  role   motor
  port   bus in drive
  port   thru out drive
  takes  10V..17V
  draws  200mA
  passes bus to thru
  command focus, iris
}
model cam-t "Camera" { role camera; port control in keys; port sdi out video; command start-stop toggles run, standby }
model sender-1 "Sender" { role sender; port sdi in video; port loop out video; passes sdi to loop }
model view-1 "Radio monitor" { role monitor }
model split-2 "Splitter" { role other; port in in servo; port a, b out servo; passes in to a, b }
model wiper-1 "Wiper" { role other; port signal in servo; input wipe "Wiper" { off -150%..0% rest; on 10%..150% } }
unit hs is handset-12 "Handset" {
  memory 1 "CHAIN A"
  channel 1 focus from left-slider failsafe hold
  channel 2 iris from right-slider failsafe hold
  channel 3 record from front-toggle failsafe hold
  channel 4 wiper from top-rocker failsafe hold
}
unit hs-s is handset-12 "Spare handset" spare for hs { asset "HS-9"; case "Case 1" }
unit rx is receiver-8 "Receiver" { bound to hs }
unit rx-s is receiver-8 "Spare receiver" spare for rx { asset "RX-9"; case "Case 1" }
unit box is box-3 "Motor box"
unit fm is motor-2 "Focus motor" { obeys focus }
unit im is motor-2 "Iris motor" { obeys iris }
unit im-2 is motor-2 "Second iris motor" { obeys iris }
unit cam is cam-t "Camera"
unit tx is sender-1 "Picture sender"
unit view is view-1 "Radio monitor"
unit split is split-2 "Splitter"
unit left is wiper-1 "Left wiper"
unit right is wiper-1 "Right wiper"
unit pack is pack-98 "Pack"
unit rx-pack is pack-10 "Receiver pack"
cable P1 "Power" { pack.out-1 to box.power; length 1m; jacket 5mm; wire 1mm2 }
cable P2 "Receiver power" { rx-pack.out-1 to rx.power; length 200mm; jacket 3mm; wire AWG22 }
cable W1 "Loom" { rx.p1 to box.one tag "1"; rx.p2 to box.two tag "2"; rx.p3 to box.three tag "3"; length 300mm; jacket 3mm; wire AWG26 }
cable W2 "To splitter" { rx.p4 to split.in; length 300mm; jacket 3mm; wire AWG26 }
cable W3 "Left" { split.a to left.signal; length 300mm; jacket 3mm; wire AWG26 }
cable W4 "Right" { split.b to right.signal; length 300mm; jacket 3mm; wire AWG26 }
cable W5 "First motor" { box.m1 to fm.bus; length 300mm; jacket 4mm; wire AWG14; rated 15A }
cable W6 "Second motor" { fm.thru to im.bus; length 300mm; jacket 4mm; wire AWG14; rated 15A }
cable W7 "Other motor" { box.m2 to im-2.bus; length 300mm; jacket 4mm; wire AWG14; rated 15A }
cable W8 "Camera" { box.rec to cam.control; length 300mm; jacket 4mm }
cable V1 "Picture" { cam.sdi to tx.sdi; length 300mm; jacket 4mm }
link "Picture" from tx to view band "5.8 GHz" channel "3"
expect hs.front-toggle.toward gives cam.start-stop
expect hs.left-slider.away gives fm.focus.far
expect hs.right-slider.away gives im-2.iris.open
"""


@cache
def solved() -> Solved:
    """The rig above, which has no fault."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "chain.rig"
        path.write_text(RIG.replace('"stock/', '"'), encoding="utf-8")
        diagnostics = Diagnostics()
        found = check_rig(path, diagnostics, stock=STOCK).solved
    assert found is not None and not list(diagnostics), [one.message for one in diagnostics]
    return found


@cache
def cards() -> dict[str, str]:
    """The words of every group of cards, by its kicker and title."""
    return {
        f"{kind(found.group)} {found.group.title}": " ".join(
            mark.text for column in found.columns for mark in column.marks if isinstance(mark, Text)
        )
        for found in card_pack(FACE, solved())
    }


def reached(graph: Graph, start: str) -> set[str]:
    """What is drawn after the cells of a part (networkx)."""
    cells = {cell.id: cell for cell in graph.cells}
    drawn = nx.DiGraph([(edge.tail, edge.head) for edge in graph.edges])
    starts = [cell.id for cell in graph.cells if cell.part == start]
    assert starts
    return {cells[after].part for cell in starts for after in nx.descendants(drawn, cell)}


def test_the_drawing_follows_chains() -> None:
    """Of a splitter every branch, of a chain every unit that passes on, and of commands the port that they leave by."""
    drawn = signal_graph(FACE, solved())

    below = reached(drawn, "pin:rx.p4")
    assert {"through:split.in", "input:left.wipe", "input:right.wipe"} <= below
    focus = reached(drawn, "input:box.focus")
    assert "effect:fm.box.focus" in focus
    assert "cable:W7" not in focus
    iris = reached(drawn, "input:box.iris")
    assert {"through:fm.bus", "cable:W6", "effect:im.box.iris", "effect:im-2.box.iris"} <= iris
    assert "device:view" in reached(drawn, "device:cam.sdi")


def test_leads_of_two_kinds_stand_in_both_drawings() -> None:
    """The leads of the motors carry orders and power."""
    motors = {"cable:W5", "cable:W6", "cable:W7"}

    for graph in (signal_graph(FACE, solved()), power_graph(FACE, solved())):
        assert motors <= {cell.part for cell in graph.cells}
    assert "cable:W8" not in {cell.part for cell in power_graph(FACE, solved()).cells}


def test_what_dies_with_a_lead_of_a_chain() -> None:
    """A lead, the unit that it is plugged to and all that hangs behind, by hand."""
    found = {
        part: set(row.functions) for row in dead_together(solved(), solved().links.feeds) for part in row.parts
    }
    wipers = {("left", "wipe"), ("right", "wipe")}
    motors = {("box", "focus"), ("box", "iris")}

    assert found[Part("lead", ("W2",))] == found[Part("unit", ("split",))] == wipers
    assert found[Part("lead", ("W3",))] == {("left", "wipe")}
    assert found[Part("lead", ("W5",))] == found[Part("unit", ("fm",))] == motors
    assert found[Part("lead", ("W6",))] == {("box", "iris")}


def test_show_names_every_lead_of_a_route() -> None:
    """From the receiver on."""
    paths = [path for path in all_paths(solved()) if path.reading and path.reading.feed.unit == "right"]

    assert {cells(solved(), path)[6] for path in paths} == {"W2, W4"}
    assert {"W2", "split.in", "split.b", "right.signal"} <= paths[0].names(solved())


def test_a_take_that_toggles_is_started_and_stopped() -> None:
    """Two presses, both in each short test; nothing says that a position is run or standby."""
    tests = [test for test in lines_of_test(solved()) if test.do.startswith("Front toggle")]

    assert [(test.do, test.see, test.swap, test.morning) for test in tests] == [
        ("Front toggle TOWARD, once", "the take starts", True, True),
        ("Front toggle TOWARD, once more", "the take stops", True, True),
    ]
    assert any(test.do == "Play the test take" and test.at == "Camera" for test in lines_of_test(solved()))
    text = cards()
    assert "only the tally" in text["OPERATOR Handset"]
    assert "Whether it then records is not known" in text["POWER DOWN and swaps"]
    assert "tally out" in text["POWER UP the head last"]
    assert "look at the tally" in text["BRIEF for a stand-in: two minutes"]


def test_two_units_that_obey_are_both_looked_at() -> None:
    """One order that two motors follow."""
    (line,) = [test for test in lines_of_test(solved()) if test.do == "Right slider AWAY"]

    assert line.at == "Iris motor and Second iris motor"


def test_a_spare_is_packed_and_joined_to_nothing() -> None:
    """In kit list, labels and swap rows; not in power-up, drawings, set-up cards or links."""
    listed = {item.id for item in items(solved())}
    assert {"rx-s", "hs-s"} <= listed
    label = next(label for label in unit_labels(FACE, solved().rig) if label.name == "rx-s")
    assert "SPARE FOR Receiver" in " ".join(mark.text for mark in label.marks if isinstance(mark, Text))
    swap = cards()["POWER DOWN and swaps"]
    assert "Spare receiver RX-9, Case 1, for Receiver" in swap
    assert "Bind it to the handset. Set the failsafe again." in swap
    assert "Bind the receiver to it, then set the failsafe again." in swap
    assert not {"SET-UP Spare receiver", "SET-UP Spare handset"} & cards().keys()
    assert not any({"rx-s", "hs-s"} & set(circuit.units) for circuit in circuits(solved()))
    data = rig_data(solved(), (), (), ())
    assert [found["spare_for"] for found in data["spare_units"]] == ["hs", "rx"]
    assert "rx-s" not in {unit["name"] for unit in data["units"]}


def test_nobody_switches_a_splitter_on() -> None:
    """It shows no light, and its power is none of its own."""
    assert not any("split" in circuit.units for circuit in circuits(solved()))
    assert "Splitter" not in cards()["POWER UP the head last"]


def test_radio_links_are_listed_tested_and_looked_for() -> None:
    """On the cover with those of the handsets, in the test at the receiver, in fault-finding at both ends."""
    cover = cards()["ISSUE SHEET Issue sheet"]
    assert "Radio links" in cover
    assert "5.8 GHz, channel 3" in cover
    (line,) = [test for test in lines_of_test(solved()) if "5.8 GHz" in test.do]
    assert (line.at, line.swap) == ("Radio monitor", True)
    assert "Picture sender: on, 5.8 GHz, channel 3" in cards()["FAULTS Fault-finding"]
    links = rig_data(solved(), (), (), ())["radio_links"]
    assert [(link["sender"], link["receivers"], link["channel"]) for link in links] == [
        ("hs", ["rx"], ""),
        ("tx", ["view"], "3"),
    ]
