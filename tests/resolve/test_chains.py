"""Splitters and chains: no input of any unit vanishes. What reaches an input is what networkx says, and what nothing
reaches is declared unused or reported.

The graph is built from the plan that the rig's text was written from, not from the compiler's data.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigcard.check.check import check
from rigcard.diagnostics import Diagnostics
from rigcard.resolve.links import trace
from rigcard.resolve.model import Rig
from rigs import resolved

HEAD = """rig "Chains" { revision "A" }
signal bus "Bus" carries 16 channels
model set "Handset" { role handset; stick k1 "K1" left to right; switch k2 "K2" away, toward
  channels 16; pulse 1500us centre, 4us per 1%; travel 0%..140% step 1%
  subtrim -240..240 steps, 240 steps = 35%, shifts whole; reverse before subtrim; mix before travel
  output -150%..150% }
"""
# Of each kind of unit: its ports with way and signal, what passes to what, its inputs with their ports.
KINDS: dict[str, tuple[dict[str, tuple[str, str]], dict[str, str], dict[str, str]]] = {
    "rec": ({**{f"p{pin}": ("out", "servo") for pin in (1, 2, 3)}, "q": ("out", "bus")}, {}, {}),
    "y": ({"i": ("in", "servo"), "a": ("out", "servo"), "b": ("out", "servo")}, {"a": "i", "b": "i"}, {}),
    "mute": ({"i": ("in", "servo"), "a": ("out", "servo")}, {}, {}),  # nobody says what leaves by it
    "tee": ({"i": ("in", "bus"), "a": ("out", "bus"), "b": ("out", "bus")}, {"a": "i", "b": "i"}, {}),
    "lamp": ({"s": ("in", "servo")}, {}, {"one": "s", "two": "s"}),
    "thru": ({"s": ("in", "servo"), "t": ("out", "servo")}, {"t": "s"}, {"one": "s"}),
    "motor": ({"m": ("in", "bus"), "t": ("out", "bus")}, {"t": "m"}, {"one": "m", "two": "m"}),
    "both": (
        {"s": ("in", "servo"), "m": ("in", "bus"), "t": ("out", "servo")},
        {"t": "s"},
        {"one": "s", "two": "m"},
    ),
}
ROLES = {"rec": "receiver"}
Port = tuple[str, str]


def model_text(kind: str) -> str:
    """A kind as a model."""
    ports, passed, inputs = KINDS[kind]
    pins = {f"p{pin}": f" channel {pin}" for pin in (1, 2, 3)} if kind == "rec" else {}
    lines = [f"port {name} {way} {signal}{pins.get(name, '')}" for name, (way, signal) in ports.items()]
    lines += [f"passes {source} to {port}" for port, source in passed.items()]
    lines += [f'input {name} on {port} "{name}" {{ sweeps l to r }}' for name, port in inputs.items()]
    return f'model {kind} "{kind}" {{ role {ROLES.get(kind, "other")}; {"; ".join(lines)} }}'


class Plan(NamedTuple):
    """A rig as drawn: channels by number, units by name with their kind, what each says, legs from and to a port."""

    channels: dict[int, str]
    units: dict[str, str]
    follows: dict[tuple[str, str], str]
    unused: set[tuple[str, str]]
    spare: set[str]
    legs: list[tuple[Port, Port]]

    def text(self) -> str:
        """The rig file."""
        said = "; ".join(
            f"channel {number} {name} from k1 failsafe 0%" for number, name in self.channels.items()
        )
        lines = [HEAD, *map(model_text, KINDS), f'unit hs is set "Handset" {{ memory 1 "A"; {said} }}']
        for name, kind in self.units.items():
            items = [
                f"input {known} from {channel}"
                for (unit, known), channel in self.follows.items()
                if unit == name
            ]
            items += [f"unused {known}" for unit, known in sorted(self.unused) if unit == name]
            items += ["bound to hs"] if kind == "rec" else []
            spare = f" spare for {kind}0" if name in self.spare else ""
            lines.append(f'unit {name} is {kind} "{name}"{spare} {{ {"; ".join(items)} }}')
        for number, (source, sink) in enumerate(self.legs):
            ends = f"{'.'.join(source)} to {'.'.join(sink)}"
            lines.append(f'cable W{number} "Lead" {{ {ends}; length 1m; jacket 3mm }}')
        return "\n".join(lines) + "\n"

    def inputs(self) -> dict[tuple[str, str], Port]:
        """Every input of every unit in use, with its port."""
        return {
            (name, known): (name, port)
            for name, kind in self.units.items()
            if name not in self.spare
            for known, port in KINDS[kind][2].items()
        }


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """Up to three units of each kind, spares among them; leads of one signal, at most one to each port."""
    numbers = draw(st.lists(st.integers(1, 3), unique=True, max_size=3))
    channels = {number: f"c{number}" for number in numbers}
    units = {
        f"{kind}{at}": kind
        for kind in KINDS
        for at in range(draw(st.integers(1 if kind == "rec" else 0, 2 if kind == "rec" else 3)))
    }
    spare = {name for name in units if not name.endswith("0") and draw(st.integers(0, 5)) == 0}
    follows, unused = {}, set()
    for name, kind in units.items():
        for known, port in KINDS[kind][2].items():
            if KINDS[kind][0][port][1] == "bus" and channels and draw(st.booleans()):
                follows[name, known] = draw(st.sampled_from(sorted(channels.values())))
            if draw(st.integers(0, 4)) == 0:
                unused.add((name, known))
    legs: list[tuple[Port, Port]] = []
    for signal in ("servo", "bus"):
        ends: dict[str, list[Port]] = {"in": [], "out": []}
        for name, kind in units.items():
            for port, (way, carried) in KINDS[kind][0].items():
                if carried == signal and name not in spare:
                    ends[way].append((name, port))
        sources = draw(st.permutations(ends["out"]))
        sinks = draw(st.permutations(ends["in"]))
        legs += list(zip(sources, sinks, strict=False))[: draw(st.integers(0, len(sinks)))]
    return Plan(channels, units, follows, unused, spare, draw(st.permutations(legs)))


def graph_of(plan: Plan) -> nx.DiGraph[Port]:
    """Ports, joined by leads and by what passes through a unit."""
    graph: nx.DiGraph[Port] = nx.DiGraph()
    graph.add_nodes_from((name, port) for name, kind in plan.units.items() for port in KINDS[kind][0])
    graph.add_edges_from(plan.legs)
    for name, kind in plan.units.items():
        graph.add_edges_from(((name, source), (name, port)) for port, source in KINDS[kind][1].items())
    return graph


def heard(plan: Plan) -> dict[tuple[str, str], set[str]]:
    """The channels that reach each input of a unit in use, as networkx has it."""
    graph = graph_of(plan)
    found: dict[tuple[str, str], set[str]] = {place: set() for place in plan.inputs()}
    for unit, port in graph:
        if plan.units[unit] != "rec" or unit in plan.spare:
            continue
        below = nx.descendants(graph, (unit, port))
        pin = [name for number, name in plan.channels.items() if port == f"p{number}"]
        for place, end in plan.inputs().items():
            if end in below:
                asked = plan.follows.get(place)
                found[place].update(pin if port != "q" else [asked] if asked else [])
    return found


def rig_of(plan: Plan) -> tuple[Rig, Diagnostics]:
    """The rig of a plan, which has no fault of names."""
    rig, diagnostics = resolved(plan.text())
    assert not diagnostics.failed(), list(diagnostics)
    return rig, diagnostics


@settings(max_examples=200)
@given(plans())
def test_no_input_vanishes(plan: Plan) -> None:
    """Every input stands in exactly one of: reached, declared unused, reported; spares stand in none."""
    rig, diagnostics = rig_of(plan)
    links = trace(rig)
    expected = heard(plan)
    found: dict[tuple[str, str], set[str]] = {}
    for feed in links.feeds:
        found.setdefault((feed.unit, feed.input.name), set()).add(feed.channel)

    assert {place: channels for place, channels in expected.items() if channels} == found
    check(rig, links, diagnostics)
    told = [one for one in diagnostics if one.code.id in ("RC311", "RC307")]
    rings = set().union(*(cycle for cycle in nx.simple_cycles(graph_of(plan))))
    ring = {unit for unit, _ in rings}  # told once for the ring
    above = {
        unit for node in graph_of(plan) if node[0] in ring for unit, _ in nx.ancestors(graph_of(plan), node)
    }
    beside = {
        unit for node in graph_of(plan) if node[0] in above for unit, _ in nx.descendants(graph_of(plan), node)
    }
    circling = ring | above | beside  # what a chain brings to a ring as well is told once the ring is mended
    assert bool(ring) == any(one.code.id == "RC376" for one in diagnostics)
    for (unit, known), channels in expected.items():
        if unit in circling:
            continue
        port = f"`{unit}.{plan.inputs()[unit, known][1]}`"
        named = rf"`{known}`(?:(?:, | and )`\w+`)* of `{unit}`|(?:into {port}, so|^{port} is on) .*`{known}`"
        mine = [one for one in told if re.search(named, one.message)]
        both = [
            one for one in diagnostics if one.code.id == "RC312" and f"`{known}` of `{unit}`" in one.message
        ]
        left = (unit, known) in plan.unused

        assert bool(both) == bool(channels and left)
        assert len(mine) == (1 if not channels and not left else 0), (
            unit,
            known,
            [one.message for one in told],
        )


@settings(max_examples=100)
@given(plans())
def test_a_route_is_a_path_of_leads(plan: Plan) -> None:
    """The leads of a feed are the one path from its pin to its plug, each once (networkx)."""
    rig, _ = rig_of(plan)
    graph = graph_of(plan)
    for feed in trace(rig).feeds:
        ends = [end for wire in feed.route for end in (tuple(wire.source[:2]), tuple(wire.sink[:2]))]
        (path,) = nx.all_simple_paths(graph, tuple(feed.pin[:2]), tuple(feed.plug[:2]))

        assert ends == path


@pytest.mark.parametrize("length", [1, 2, 40])
def test_a_chain_of_any_length(length: int) -> None:
    """The last of many motors one after the other hears what the first does."""
    units = {"rec0": "rec", **{f"motor{at}": "motor" for at in range(length)}}
    legs: list[tuple[Port, Port]] = [(("rec0", "q"), ("motor0", "m"))]
    legs += [((f"motor{at}", "t"), (f"motor{at + 1}", "m")) for at in range(length - 1)]
    last = f"motor{length - 1}"
    rig, _ = rig_of(Plan({1: "c1"}, units, {(last, "one"): "c1"}, set(), set(), legs))
    (feed,) = trace(rig).feeds

    assert (feed.unit, feed.channel, len(feed.route)) == (last, "c1", length)
