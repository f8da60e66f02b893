"""Where signals go, against a graph library: what a channel reaches is what networkx says it reaches.

The graph is built from the plan that the rig's text was written from, not from the compiler's data.
"""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigcard.resolve.links import Links, trace
from rigcard.resolve.model import Rig
from rigs import resolved
from strategies import BOX_INPUTS, BOX_PORTS, RECEIVER_PORTS, Tangle, tangles

STATES = {"ia": ("run", "stop"), "ib": ("ib",), "ic": ("ic",), "id": ("run", "stop"), "ie": ("ie",)}


def flawless(text: str) -> Rig:
    """The rig of a text that has no error, unchecked."""
    rig, diagnostics = resolved(text)
    assert not diagnostics.failed(), list(diagnostics)
    return rig


def graph_of(plan: Tangle) -> nx.DiGraph:
    """Control to channel, pin, plug, input, order, command; a signal of a channel keeps to nodes of its own."""
    graph = nx.DiGraph()
    wires = []
    for first, second in plan.legs:
        ways = plan.ports[first][0], plan.ports[second][0]
        if sorted(ways) == ["in", "out"]:
            source, diagnostics = (first, second) if ways[0] == "out" else (second, first)
            if plan.ports[source][1] == plan.ports[diagnostics][1]:
                wires.append((source, diagnostics))
    for handset, number, name, control in plan.channels:
        channel = (handset, name)
        graph.add_edge(("control", handset, control), ("channel", *channel))
        for (unit, port), (_, signal, pin) in plan.ports.items():
            if plan.bound.get(unit) == handset and (pin == number or signal.startswith("bus")):
                graph.add_edge(("channel", *channel), ("level", *channel, unit, port))
        for source, diagnostics in wires:
            graph.add_edge(("level", *channel, *source), ("level", *channel, *diagnostics))
        for unit, known, port in plan.inputs:
            serial = plan.ports[unit, port][1].startswith("bus")
            if not serial or plan.follows.get((unit, known)) == name:
                graph.add_edge(("level", *channel, unit, port), ("input", unit, known))
    for unit, known, _ in plan.inputs:
        for state in STATES[known]:
            graph.add_edge(("input", unit, known), ("order", unit, "o", state))
            for source, diagnostics in wires:
                if source == (unit, "o"):
                    graph.add_edge(("order", *source, state), ("order", *diagnostics, state))
    for unit, names in plan.commands.items():
        for name in names:
            graph.add_edge(("order", unit, "k", name), ("command", unit, name))
    return graph


def reached(graph: nx.DiGraph, start: tuple[str, ...], kind: str) -> set[tuple[str, ...]]:
    """The nodes of a kind below a node."""
    if start not in graph:
        return set()
    return {node[1:] for node in nx.descendants(graph, start) if node[0] == kind}


def commanded(rig: Rig, links: Links, handset: str, channel: str) -> set[tuple[str, str]]:
    """The commands that a channel can give by the compiler's links."""
    found = set()
    for feed in links.feeds_of(handset, channel):
        states = [feed.input.name] if feed.input.sweep else feed.input.states
        for order in links.orders_of(feed):
            same = rig.signal_at(order.port) == rig.signal_at(order.plug)
            known = rig.units[order.receiver].model.commands
            found |= {(order.receiver, state) for state in states if same and state in known}
    return found


@pytest.mark.slow
@settings(max_examples=150)
@given(tangles())
def test_what_a_channel_reaches(plan: Tangle) -> None:
    """Inputs and commands reached by each channel and each control are those of the graph, no more and no less."""
    rig = flawless(plan.text)
    links = trace(rig)
    graph = graph_of(plan)
    by_control: dict[tuple[str, str], set[tuple[str, str]]] = {}
    for handset, _, name, control in plan.channels:
        start = ("channel", handset, name)
        inputs = {(feed.unit, feed.input.name) for feed in links.feeds_of(handset, name)}

        assert inputs == reached(graph, start, "input")
        assert commanded(rig, links, handset, name) == reached(graph, start, "command")
        by_control.setdefault((handset, control), set()).update(inputs)
    for (handset, control), inputs in by_control.items():
        assert inputs == reached(graph, ("control", handset, control), "input")
    known = {(handset, name) for handset, _, name, _ in plan.channels}
    assert {(feed.handset, feed.channel) for feed in links.feeds} <= known


@settings(max_examples=60)
@given(tangles())
def test_every_wire_is_a_leg_from_an_output_to_an_input(plan: Tangle) -> None:
    """Wires are the legs with one output and one input, each once, output first."""
    links = trace(flawless(plan.text))
    wires = sorted(((*wire.source[:2],), (*wire.sink[:2],)) for wire in links.wires)
    expected = []
    for first, second in plan.legs:
        ways = plan.ports[first][0], plan.ports[second][0]
        if sorted(ways) == ["in", "out"]:
            expected.append((first, second) if ways[0] == "out" else (second, first))

    assert wires == sorted(expected)


@given(st.data())
@settings(max_examples=10)
def test_the_plan_names_the_ports_of_its_models(data: st.DataObject) -> None:
    """The oracle speaks of the same ports and inputs as the models that it is compared on."""
    rig = flawless(data.draw(tangles()).text)
    for unit in rig.units.values():
        ports = {
            port.name: (port.direction, port.signal, port.channel or 0) for port in unit.model.ports.values()
        }
        known = {"rm": RECEIVER_PORTS, "box": BOX_PORTS, "hm": {}}[unit.model.name]
        assert ports == known
        inputs = {found.name: found.port for found in unit.model.inputs.values()}
        assert inputs == (BOX_INPUTS if unit.model.name == "box" else {})
