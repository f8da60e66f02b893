"""What two inputs share, against a graph library."""

from __future__ import annotations

from itertools import product

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from rigcard.resolve.dependence import shared
from rigcard.resolve.links import trace
from rigs import resolved


@st.composite
def nets(draw: st.DrawFn) -> tuple[str, nx.DiGraph]:
    """Handsets, receivers, listeners and packs joined at random, and the graph of what hangs on what."""
    graph = nx.DiGraph()
    lines = [
        'rig "Net" { revision "A" }',
        'signal dc "DC" carries power',
        """model set "Set" { role handset; stick a "A" left to right; stick b "B" left to right; stick c "C" left to right
        channels 8; pulse 1500us centre, 4us per 1%; travel 0%..140% step 1%; reverse before subtrim; mix before travel
        subtrim -80..80 steps, 80 steps = 12%, shifts whole; output -150%..150% }""",
        'model rec "Rec" { role receiver; channels 4; port p1..p4 out servo channel 1..4; port dc in dc }',
        'model box "Box" { role other; port s in servo; port dc in dc; port aux out dc; input x on s "X" { sweeps l to r } }',
        'model pack "Pack" { role pack; port o1..o9 out dc }',
    ]
    cables = 0

    def cable(legs: str, *needs: tuple[str, str]) -> None:
        nonlocal cables
        cables += 1
        lines.append(f'cable W{cables} "W" {{ {legs} }}')
        for node in needs:
            graph.add_edge(("cable", f"W{cables}"), node)

    handsets, receivers, boxes, packs = (
        [f"{kind}{n}" for n in range(draw(st.integers(1, most)))]
        for kind, most in (("h", 2), ("r", 3), ("b", 4), ("p", 3))
    )
    lines += [f'unit {name} is pack "P"' for name in packs]
    for name in handsets:
        controls = draw(st.lists(st.sampled_from("abc"), min_size=2, max_size=4))
        said = "; ".join(f"channel {n} c{n} from {control}" for n, control in enumerate(controls, 1))
        for n, control in enumerate(controls, 1):
            graph.add_edge(("control", f"{name}.{control}"), ("driven", f"{name}.c{n}"))
            graph.add_edge(("channel", f"{name}.c{n}"), ("driven", f"{name}.c{n}"))
            graph.add_edge(("handset", name), ("driven", f"{name}.c{n}"))
        if draw(st.booleans()):
            source, target = draw(st.permutations(range(1, len(controls) + 1)))[:2]
            said += f"; mix c{source} into c{target} at 50%"
            graph.add_edge(("control", f"{name}.{controls[source - 1]}"), ("driven", f"{name}.c{target}"))
        lines.append(f'unit {name} is set "H" {{ memory 1 "M"; {said} }}')
    bound = {name: draw(st.sampled_from(handsets)) for name in receivers}
    lines += [f'unit {name} is rec "R" {{ bound to {handset} }}' for name, handset in bound.items()]
    lines += [f'unit {name} is box "B"' for name in boxes]
    outlets = [(pack, f"o{n}") for pack in packs for n in range(1, 10)] + [(box, "aux") for box in boxes]
    for name in [*receivers, *boxes]:
        if draw(st.booleans()):
            source, port = outlets.pop(draw(st.integers(0, len(outlets) - 1)))
            cable(f"{source}.{port} to {name}.dc", ("fed", name))
            graph.add_edge(("pack" if source in packs else "other", source), ("fed", name))
            graph.add_edge(("fed", source), ("fed", name))
    pins = [(receiver, n) for receiver in receivers for n in range(1, 5)]
    for name in boxes:
        graph.add_edge(("fed", name), ("input", name))
        receiver, n = pins.pop(draw(st.integers(0, len(pins) - 1)))
        channel = ("driven", f"{bound[receiver]}.c{n}")
        cable(f"{receiver}.p{n} to {name}.s", *([("input", name)] if channel in graph else []))
        if channel in graph:
            graph.add_edges_from(
                (node, ("input", name)) for node in (channel, ("receiver", receiver), ("fed", receiver))
            )
    return "\n".join(lines), graph


@settings(max_examples=80)
@given(net=nets())
def test_shared_parts_are_those_of_a_graph_library(net: tuple[str, nx.DiGraph]) -> None:
    """Two inputs share what networkx finds above both; every kind of part is compared, for every pair of inputs."""
    text, graph = net
    rig, diagnostics = resolved(text)
    assert not diagnostics.failed(), list(diagnostics)
    links = trace(rig)
    inputs = [name for name, unit in rig.units.items() if unit.model.name == "box"]
    above = {  # what networkx finds above an input, and the unit that has it
        name: {
            ("unit" if kind == "other" else kind, part) for kind, part in nx.ancestors(graph, ("input", name))
        }
        | {("unit", name)}
        for name in inputs
    }
    for first, second in product(inputs, repeat=2):
        both = above[first] & above[second]
        wanted = {node for node in both if node[0] not in ("fed", "driven", "input")}
        assert set(shared(rig, links, (first, "x"), (second, "x"))) == wanted
