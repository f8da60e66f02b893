"""Which functions die together: every row against a graph library.

The graph is built from units, cables and models as the file states them, not from what the compiler follows; which part
of the power a unit hangs on is what networkx finds to dominate it, seen from the packs.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigcard.resolve.links import trace
from rigcard.resolve.model import End, Rig, Unit
from rigcard.solve.sharing import Function, Part, dead_together
from rigcard.solve.solve import solve
from rigcard.solve.solved import Solved
from rigs import resolved, solved_or_none
from samples import ROOT, SAMPLES

PARTS = ("control", "channel", "unit", "pin", "lead", "plus", "feed", "setting")


def ends(rig: Rig) -> Iterator[tuple[str, frozenset[str], End, End]]:
    """Every leg with both ends, either way round: its id, its cut cores, one end, the other."""
    for cable in rig.cables.values():
        for leg in cable.legs:
            if leg.second:
                for one, other in permutations((leg.first, leg.second)):
                    yield leg.id, cable.power.cuts, one, other


def goes_through(rig: Rig, end: End) -> bool:
    """Whether a plug is at a splitter that only joins its cores there, so that power leaves and enters."""
    unit = rig.units[end.unit]
    side, port = unit.model.power, end.port
    loaded = {name for load in (*side.windows, *side.draws) for name in load.ports}
    passes = port in {*unit.model.passed, *unit.model.passed.values()}
    return passes and port not in loaded and not rig.signal_at(end).powers


def away(rig: Rig) -> dict[str, int]:
    """How many leads lie between each splitter and the nearest port that gives power itself."""
    graph = nx.Graph()
    graph.add_node("giver")
    for _, _, giver, taker in ends(rig):
        if goes_through(rig, taker):
            joined = goes_through(rig, giver)
            if joined or giver.port in rig.units[giver.unit].model.power.gives:
                graph.add_edge(giver.unit if joined else "giver", taker.unit)
    found: dict[str, int] = nx.single_source_shortest_path_length(graph, "giver")
    return found


def power_graph(rig: Rig) -> nx.DiGraph:
    """From all sources to every rail, through the parts between; legs side by side meet in a `feed`."""
    graph = nx.DiGraph()
    graph.add_node("sources")
    legs: dict[tuple[str, str], list[tuple[str, tuple[str, str]]]] = {}
    far = away(rig)
    for leg, cuts, giver, taker in ends(rig):
        given, taken = rig.units[giver.unit].model.power, rig.units[taker.unit].model.power
        out_of, into = goes_through(rig, giver), goes_through(rig, taker)
        if out_of and into and far.get(giver.unit, len(far)) >= far.get(taker.unit, len(far)):
            continue  # power comes the other way, or not at all
        if "plus" not in cuts and (out_of or giver.port in given.gives) and (into or taker.port in taken.takes):
            either = next((plate.either for plate in taken.plates if taker.port in plate.either), (taker.port,))
            rail = taker.unit, taken.rails[either[0]]  # the inputs of a plate stand for each other
            legs.setdefault(rail, []).append((leg, (giver.unit, given.rails[giver.port])))
    for rail, found in legs.items():
        target: tuple[object, ...] = ("rail", *rail)
        if len(found) > 1:
            feed = Part("feed", (rail[0], *(leg for leg, _ in found)))
            graph.add_edge(feed, target)
            target = feed
        for leg, giver in found:
            graph.add_edge(("gives", *giver), Part("plus", (leg,)))
            graph.add_edge(Part("plus", (leg,)), target)
    for unit in rig.units.values():
        side = unit.model.power
        for rail in side.rails.values():
            graph.add_edge(("rail", unit.name, rail), ("gives", unit.name, rail))
        for outlet in side.outlets:
            if outlet.ports and (outlet.volts is not None or outlet.either):
                inner = side.rails[outlet.source], side.rails[outlet.ports[0]]
                graph.add_edge(("rail", unit.name, inner[0]), ("gives", unit.name, inner[1]))
        if side.supply:
            graph.add_edge("sources", ("gives", unit.name, side.rails[side.supply.ports[0]]))
    return graph


def plain_graph(rig: Rig) -> nx.DiGraph:
    """Units and the only power lead into each, for models that say nothing of power."""
    graph = nx.DiGraph()
    into: dict[str, list[tuple[str, str]]] = {}
    for leg, _, giver, taker in ends(rig):
        ways = rig.port(giver).direction, rig.port(taker).direction
        if ways == ("out", "in") and rig.signal_at(taker).powers:
            into.setdefault(taker.unit, []).append((leg, giver.unit))
    for unit, leads in into.items():
        if len(leads) == 1:
            graph.add_edge(Part("unit", (leads[0][1],)), Part("plus", (leads[0][0],)))
            graph.add_edge(Part("plus", (leads[0][0],)), Part("unit", (unit,)))
    return graph


def powering(plain: nx.DiGraph, above: dict[object, object], unit: Unit) -> set[Part]:
    """The parts without which a unit has no power."""
    side = unit.model.power
    found: set[Part] = set()
    nodes = {("rail", unit.name, side.rails[port]) for port in side.takes} & above.keys()
    if not nodes and Part("unit", (unit.name,)) in plain:
        return set(nx.ancestors(plain, Part("unit", (unit.name,))))
    for node in nodes:
        while node != "sources":
            if isinstance(node, Part):
                found.add(node)
            elif node[0] == "gives" and node[1] != unit.name:
                found.add(Part("unit", (node[1],)))
            node = above[node]  # type: ignore[assignment]
    return found


def onward(rig: Rig, leg: str, plug: End) -> list[tuple[set[str], set[str], End]]:
    """Where a lead goes, and where what its unit passes on goes: the leads, the units between, the last plug."""
    reached = [({leg}, set[str](), plug)]
    for legs, units, end in reached:  # grows while it is walked
        passed = {out for out, source in rig.units[end.unit].model.passed.items() if source == end.port}
        reached += [
            (legs | {further}, units | {end.unit}, receiver)
            for further, _, sender, receiver in ends(rig)
            if sender.unit == end.unit and sender.port in passed
        ]
    return reached


def obeying(solved: Solved, unit: Unit, name: str) -> Iterator[tuple[set[str], set[str], Unit, set[str]]]:
    """The leads and the units on the way of an input's commands to a unit, that unit, and what makes it obey.

    A chain is followed through what passes a signal on. Where somebody obeys, those who do not do not count.
    """
    rig, known = solved.rig, unit.model.inputs[name]
    commands = {name} if known.sweep else {band.name for band in known.bands}
    reached = [
        way
        for leg, _, sender, receiver in ends(rig)
        if sender.unit == unit.name
        and rig.port(sender).direction == "out"
        and rig.signal_at(sender).kind == "commands"
        for way in onward(rig, leg, receiver)
    ]
    found = []
    for legs, units, end in reached:
        other = rig.units[end.unit]
        obeyed = [command for command in other.commands.values() if command.name in commands]
        wanted = {need.name for command in obeyed for need in command.needs if need.value is not None}
        wanted |= {command.does for command in obeyed if command.does}
        found.append((bool(obeyed), (legs, units, other, wanted & set(other.settings))))
    somebody = any(obeyed for obeyed, _ in found)
    yield from (way for obeyed, way in found if obeyed or not somebody)


def sharing_graph(solved: Solved) -> nx.DiGraph:
    """From every part to the functions that need it."""
    rig, graph = solved.rig, nx.DiGraph()
    plain, above = plain_graph(rig), nx.immediate_dominators(power_graph(rig), "sources")
    for unit in rig.units.values():
        for part in powering(plain, above, unit):
            graph.add_edge(part, ("powered", unit.name))
    for handset in rig.units.values():
        for channel in handset.channels.values():
            level = ("level", handset.name, channel.name)
            graph.add_edge(Part("unit", (handset.name,)), level)
            graph.add_edge(
                Part("control", (handset.name, channel.control)), Part("channel", (handset.name, channel.name))
            )
            graph.add_edge(Part("channel", (handset.name, channel.name)), level)
            for mix in handset.mixes:
                if mix.target == channel.name:
                    graph.add_edge(Part("channel", (handset.name, mix.source)), level)
                    if mix.while_control:
                        graph.add_edge(Part("control", (handset.name, mix.while_control)), level)
    ways = [
        (pin, way)
        for leg, _, pin, plug in ends(rig)
        if rig.port(pin).direction == "out" and rig.port(plug).direction == "in"
        for way in onward(rig, leg, plug)
    ]
    for pin, (leads, between, plug) in ways:
        receiver, device = rig.units[pin.unit], rig.units[plug.unit]
        if receiver.bound_to is None:
            continue
        handset = rig.units[receiver.bound_to]
        for known in device.model.inputs.values():
            source = device.sources.get(known.name)
            for channel in handset.channels.values():
                one = rig.signal_at(pin).kind == "servo"
                carried = (
                    rig.port(pin).channel == channel.number
                    if one
                    else bool(source and source.channel == channel.name)
                )
                if known.port != plug.port or rig.port(pin).signal != rig.port(plug).signal or not carried:
                    continue
                function = ("function", device.name, known.name)
                graph.add_edge(("level", handset.name, channel.name), function)
                needs = {Part("pin", (receiver.name, pin.port)), *(Part("lead", (leg,)) for leg in leads)}
                units = {receiver.name, device.name, *between}
                needs |= {Part("setting", (device.name, name)) for name in device.settings}
                for legs, passing, other, wanted in obeying(solved, device, known.name):
                    needs |= {Part("lead", (leg,)) for leg in legs}
                    needs |= {Part("setting", (other.name, name)) for name in wanted}
                    units |= {*passing, other.name}
                needs |= {Part("unit", (name,)) for name in units}
                graph.add_edges_from((need, function) for need in needs)
                graph.add_edges_from((("powered", name), function) for name in units)
    return graph


def expected(solved: Solved) -> dict[Part, set[Function]]:
    """Every part that some function needs, with all that do, by the graph."""
    graph = sharing_graph(solved)
    found = {}
    for part in (node for node in graph if isinstance(node, Part)):
        functions = {node[1:] for node in nx.descendants(graph, part) if node[0] == "function"}
        if functions:
            found[part] = functions
    return found


def agrees(solved: Solved) -> int:
    """Holds every row against the graph; how many parts were compared."""
    rows = dead_together(solved, solved.links.feeds)
    mine = {part: set(row.functions) for row in rows for part in row.parts}

    assert sum(len(row.parts) for row in rows) == len(mine), "a part stands in two rows"
    assert len({row.functions for row in rows}) == len(rows), "two rows name the same functions"
    assert mine == expected(solved)
    return len(mine)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_rows_of_the_samples_share_what_the_graph_says(path: Path) -> None:
    """Each part of a row is needed by exactly the functions that it names."""
    solved = solved_or_none(path)
    assert solved

    assert agrees(solved) > 10
    assert {part.kind for row in dead_together(solved, solved.links.feeds) for part in row.parts} <= set(PARTS)


def test_rows_of_the_case_files_share_what_the_graph_says() -> None:
    """The same for each case file that compiles; each kind of part occurs."""
    compared, kinds = 0, set()
    for path in sorted((ROOT / "tests" / "cases").rglob("*.ok.rig")):
        solved = solved_or_none(path)
        if solved:
            compared += agrees(solved)
            kinds |= {part.kind for row in dead_together(solved, solved.links.feeds) for part in row.parts}

    assert compared > 500
    assert kinds == set(PARTS)


PLANNED = """\
rig "Plan" { revision "A" }
signal dc "Power" carries power
signal keys "Keys" carries commands
model set "Handset" {
  role handset
  switch a "Switch A" away, toward
  switch b "Switch B" away, toward
  switch c "Switch C" away, toward
  channels 6
  pulse 1500us centre, 4us per 1%
  travel 0%..140% step 1%
  subtrim -80..80 steps, 80 steps = 12%, shifts whole
  reverse before subtrim
  mix after travel
  output -150%..150%
}
model rec "Receiver" {
  role receiver
  channels 6
  port p1..p6 out servo channel 1..6
  port power in dc
  takes 4V..9V
  draws 50mA
  passes power to p1..p6
}
model fed "Fed over its leads" {
  role adapter
  port one, two, three in servo
  port order out keys
  takes 4V..9V
  draws 50mA
  input i1 on one "One" { off -150%..0% rest; on 1%..150% }
  input i2 on two "Two" { off -150%..0% rest; on 1%..150% }
  input i3 on three "Three" { off -150%..0% rest; on 1%..150% }
}
model own "With a plug for power" {
  role adapter
  port one, two, three in servo
  port order out keys
  port power in dc
  port aux1, aux2 out dc
  takes 4V..9V on power
  draws 50mA
  passes power to aux1
  regulates power to aux2 at 5V efficiency 90%
  input i1 on one "One" { off -150%..0% rest; on 1%..150% }
  input i2 on two "Two" { off -150%..0% rest; on 1%..150% }
  input i3 on three "Three" { off -150%..0% rest; on 1%..150% }
}
model camera "Camera" {
  role camera
  port told in keys
  port power in dc
  takes 4V..9V
  draws 1A
  setting port "Port" choices "On"
  setting key "Key"
  command on needs port = "On" does key
}
model cells "Pack" { role pack; port aux1, aux2 out dc; supplies 6V..8V }
"""


@st.composite
def planned(draw: st.DrawFn) -> str:
    """A rig of one or two handsets, whose receivers and devices are fed by packs, over each other, or side by side."""
    lines, sockets, pins, count = [PLANNED], [], [], 0

    def lead(one: str, other: str) -> None:
        nonlocal count
        count += 1
        lines.append(f'cable L{count} "Lead" {{ {one} to {other}; length 1m; jacket 3mm }}')

    def feed(unit: str) -> None:
        if not sockets or draw(st.integers(0, 3)) == 0:
            lines.append(f'unit pack{unit} is cells "Pack {unit}"')
            sockets.extend([f"pack{unit}.aux1", f"pack{unit}.aux2"])
        lead(sockets.pop(draw(st.integers(0, len(sockets) - 1))), f"{unit}.power")

    for at in range(draw(st.integers(1, 2))):
        order = draw(st.permutations("abc"))
        channels = [f"channel {n} n{n} from {control} failsafe hold" for n, control in enumerate(order, 1)]
        channels += ["mix n2 into n1 at 10%"] * draw(st.booleans())
        lines.append(f'unit h{at} is set "H{at}" {{ memory 1 "M"\n' + "\n".join(channels) + "\n}")
        for more in range(draw(st.integers(1, 2))):
            lines.append(f'unit r{at}{more} is rec "R{at}{more}" {{ bound to h{at} }}')
            feed(f"r{at}{more}")
            pins.append([f"r{at}{more}.p{n}" for n in (1, 2, 3)])
    for at, mine in enumerate(pins):
        kind = draw(st.sampled_from(("fed", "own")))
        plugs = draw(st.integers(1, 3))
        left = ", ".join(["i1", "i2", "i3"][plugs:])
        lines.append(f'unit d{at} is {kind} "D{at}" {{ {f"unused {left}" if left else ""} }}')
        if kind == "own":
            feed(f"d{at}")
            sockets.extend([f"d{at}.aux1", f"d{at}.aux2"])
        for pin, plug in zip(draw(st.permutations(mine)), ("one", "two", "three")[:plugs], strict=False):
            lead(pin, f"d{at}.{plug}")
        if draw(st.booleans()):
            lines.append(f'unit c{at} is camera "C{at}" {{ set port "On"; set key "Zoom" }}')
            feed(f"c{at}")
            lead(f"d{at}.order", f"c{at}.told")
    return "\n".join(lines) + "\n"


@settings(max_examples=80, suppress_health_check=list(HealthCheck))
@given(text=planned())
def test_rows_of_random_rigs_share_what_the_graph_says(text: str) -> None:
    """The same for rigs that nobody thought of: packs behind devices, leads side by side, mixes, cameras."""
    rig, diagnostics = resolved(text)
    solved = solve(rig, trace(rig), diagnostics)  # unchecked: a channel or a plug may be left over
    assert solved is not None, list(diagnostics)

    assert agrees(solved)
