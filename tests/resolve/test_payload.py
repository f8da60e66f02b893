"""Who carries what: sums worked by hand, and those of trees against networkx."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from cardlines import squeezed
from mechanical import on_cards, text_of
from rigcard.resolve.payload import handed, load_of
from rigs import checked, ids, only, resolved


def loaded(lens: str, *more: str) -> dict[str, str]:
    """A head that carries 7 kg, under body 2.9, lens, plate 0.3, adapter 0.1, pack 0.8, cables 0.2, filter 0.25 kg."""
    masses = {"body": "2.9kg", "lens": lens, "plate": "0.3kg", "adapter": "100g", "filter": "0.25kg"}
    on = {"plate": "head", "body": "plate", "lens": "body", "filter": "lens", "adapter": "body"}
    return {
        "models": "\n".join(
            f'model m-{name} "{name}" {{ role other; mass {mass} }}' for name, mass in masses.items()
        ),
        "units": "\n".join(
            [f'unit {name} is m-{name} "{name}" {{ mounted on {carrier} }}' for name, carrier in on.items()]
            + [*more]
        ),
        "pk": "mounted on head",
        "w1": "; mass 0.15kg; rides head",
        "p1": "; length 1m; mass 50g; rides body",
    }


def test_f28_payload_margin_and_hung_mass(tmp_path: Path) -> None:
    """F28: 6.15 kg of 7.0: margin 0.85 kg, 12.1 %; with the head of 4.5 kg 10.65 kg hang (worked by hand)."""
    solved, found = checked(tmp_path, text_of(**loaded("1.6kg", "hazard overhead")))

    assert solved is not None and ids(found) == []
    load = load_of(solved.rig, solved.rig.units["head"])
    assert (load.mass, load.margin) == (Fraction("6.15"), Fraction("0.85"))
    (told,) = handed(solved.rig)
    assert (told.kind, told.whom, told.load.with_carrier) == (
        "hung",
        "the responsible rigger",
        Fraction("10.65"),
    )
    card = on_cards(solved, "Head")
    assert squeezed("Payload 6.15 kg of 7 kg: margin 0.85 kg, 12.1 %.") in card
    for text in (card, on_cards(solved, "Issue sheet")):
        assert squeezed("Tell the rigger: the head with everything on it weighs 10.65 kg and hangs.") in text


def test_f28_over_the_rating(tmp_path: Path) -> None:
    """F28: a lens of 2.7 kg makes 7.25 kg, over by 0.25; the heaviest is the body of 2.9 kg."""
    solved, found = checked(tmp_path, text_of(**loaded("2.7kg")))

    assert solved is None
    fault = only(found, "RC371")
    assert "carries 7.25 kg" in fault.message and "over by 0.25 kg" in fault.message
    assert "`body`, 2.9 kg" in fault.hint


def test_exactly_the_rating_is_allowed(tmp_path: Path) -> None:
    """A load equal to the rating leaves a margin of nothing and is no error."""
    _, found = checked(tmp_path, text_of(**{**loaded("1.6kg"), "carries": "6.15kg"}))

    assert ids(found) == []


def test_what_is_not_weighed_is_named_once_a_carrier(tmp_path: Path) -> None:
    """A warning for the head that has a rating, none for the pack that has none; and named on the card."""
    parts = loaded(
        "1.6kg", 'model m-x "X" { role other }', 'unit x is m-x "X" { mounted on filter }', "hazard overhead"
    )
    solved, found = checked(tmp_path, text_of(**{**parts, "w1": "; rides head"}))

    assert solved is not None and ids(found) == ["RC372"]
    assert "`x` and `W1`" in found[0].message
    card = on_cards(solved, "Head")
    assert squeezed("Payload at least 6 kg of 7 kg") in card
    assert squeezed("Not weighed: x and W1.") in card
    assert (
        squeezed("Tell the rigger: the head with everything on it weighs at least 10.5 kg and hangs.") in card
    )


def test_all_up_mass_is_handed_to_the_pilot(tmp_path: Path) -> None:
    """What flies is told to the pilot; without overhead, airborne or a mount that hangs, nothing is handed over."""
    for hazard, wanted in (("airborne", [("all-up", "the pilot")]), ("public", [])):
        solved, _ = checked(tmp_path, text_of(**loaded("1.6kg", f"hazard {hazard}")))
        assert solved is not None
        assert [(told.kind, told.whom) for told in handed(solved.rig)] == wanted
    solved, _ = checked(tmp_path, text_of(**loaded("1.6kg"), head="; mount underslung"))
    assert solved is not None
    assert [told.kind for told in handed(solved.rig)] == ["hung"]


@st.composite
def carriers(draw: st.DrawFn) -> tuple[str, nx.DiGraph]:
    """A rig of units on each other and cables that ride them, and the graph of what bears what, with masses in g."""
    count = draw(st.integers(1, 9))
    order = draw(st.permutations(range(count)))  # carriers may stand before or after what they carry
    graph = nx.DiGraph()
    lines = ['rig "Tree" { revision "A" }', 'signal dc "DC" carries power']
    for place, index in enumerate(order):
        grams = draw(st.none() | st.integers(1, 30_000))
        written = (f"{grams}g", f"{(grams or 0) // 1000}.{(grams or 0) % 1000:03}kg")
        mass = "" if grams is None else f"; mass {draw(st.sampled_from(written))}"
        graph.add_node(f"u{index}", mass=grams)
        lines.append(f'model m{index} "M" {{ role other; port o out dc; port i in dc{mass} }}')
        on = (
            f" {{ mounted on u{order[draw(st.integers(0, place - 1))]} }}"
            if place and draw(st.booleans())
            else ""
        )
        lines.append(f'unit u{index} is m{index} "U"{on}')
        if on:
            graph.add_edge(on.split()[3], f"u{index}")
    for number in range(draw(st.integers(0, 5))):
        grams, bearer = draw(st.none() | st.integers(1, 5_000)), f"u{draw(st.integers(0, count - 1))}"
        graph.add_node(f"c{number}", mass=grams)
        graph.add_edge(bearer, f"c{number}")
        mass = f"; mass {grams}g" if grams else ""
        lines.append(f'cable c{number} "C" {{ u0.o to u0.i; rides {bearer}{mass} }}')
    draw(st.randoms(use_true_random=False)).shuffle(lines)
    return "\n".join(lines), graph


@settings(max_examples=60)
@given(tree=carriers())
def test_sums_of_carriers_are_those_of_a_graph_library(tree: tuple[str, nx.DiGraph]) -> None:
    """What a unit carries is what networkx finds below it, summed in whole grams; nothing is counted twice."""
    text, graph = tree
    rig, diagnostics = resolved(text)
    assert not diagnostics.failed(), list(diagnostics)
    for name, unit in rig.units.items():
        load = load_of(rig, unit)
        below = nx.descendants(graph, name)
        assert sorted(burden.name for burden in load.burdens) == sorted(below)
        grams = sum(graph.nodes[other]["mass"] or 0 for other in below)
        assert load.mass == Fraction(grams, 1000)
        assert set(load.unknown) == {other for other in below if graph.nodes[other]["mass"] is None}
