"""The mechanical side: masses, lengths, plugs, colours, serial lines, cases, the kit list.

Named numbers are worked by hand; sums of trees are checked against networkx, colours against IEC 60757
(tests/reference/conductor_colours.csv).
"""

from __future__ import annotations

import csv
from fractions import Fraction
from io import StringIO
from itertools import product
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.layout import Block
from rigcard.documents.base.model import Page, Text
from rigcard.documents.cards.card_set import numbered_cards
from rigcard.documents.kit.kit_list import kit_csv, kit_document
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve import colours
from rigcard.resolve.dependence import shared
from rigcard.resolve.links import trace
from rigcard.resolve.mechanics import Route
from rigcard.resolve.packing import look_alikes, packed
from rigcard.resolve.payload import handed, load_of
from rigcard.solve.solved import Solved
from rigs import checked, ids, only, resolved

ROOT = Path(__file__).parents[1]
FACE = EmbeddedTypeface()
SAMPLES = sorted((ROOT / "samples").glob("*.rig"))


def squeezed(text: str) -> str:
    """Text without spaces."""
    return "".join(text.split())


def said(page: Page) -> str:
    """The text of a page, without spaces."""
    return squeezed("".join(mark.text for mark in page.marks if isinstance(mark, Text)))


def on_cards(solved: Solved, title: str) -> str:
    """The text of the cards of a title, without spaces."""
    (found,) = (found for found in numbered_cards(FACE, solved) if found.group.title == title)
    return squeezed("".join(_words(found.group.blocks)))


def _words(blocks: tuple[Block, ...]) -> list[str]:
    pieces = [piece for block in blocks for piece in block.boxes]
    return [mark.text for piece in pieces for mark in piece.marks if isinstance(mark, Text)]


# ---- a small rig that a test changes -----------------------------------------------------------------------------

RIG = """\
rig "Build" {{ revision "A" }}
signal line "Serial" carries 16 channels {line}
signal dc "Power" carries power
{top}
model set "Handset" {{ role handset; stick across "Across" left to right springs; channels 8
  pulse 1500us centre, 4us per 1%; travel 0%..140% step 1%; subtrim -80..80 steps, 80 steps = 12%, shifts whole
  reverse before subtrim; mix before travel; output -150%..150%; mass 1kg }}
model rec "Receiver" {{ role receiver; channels 8; port bus out line; mass 20g }}
model hung "Head" {{ role head; port remote in line; port dc, dc-2 in dc {by}; mass 4.5kg; carries {carries}
  input pan on remote "Pan" {{ sweeps left to right }} }}
model pack "Pack" {{ role pack; port out, out-2 out dc {by}; mass 0.8kg }}
{models}
unit hs is set "Handset" {{ memory 1 "B"; channel 1 pan from across failsafe 0% {hs} }}
unit rx is rec "Receiver" {{ bound to hs }}
unit head is hung "Head" {{ input pan from pan {head} }}
unit pk is pack "Pack" {{ {pk} }}
cable W1 "Lead" {{ rx.bus to head.remote; length 500mm; jacket 3mm {w1} }}
cable P1 "Power" {{ pk.out to head.dc; jacket 6mm {p1} }}
{units}
"""
USUAL = {
    "line": "", "top": "", "by": "", "carries": "7kg", "models": "", "hs": "", "head": "", "pk": "note \"Full.\"",
    "w1": "", "p1": "; length 1m", "units": "",
}  # fmt: skip


def text_of(**parts: str) -> str:
    """The rig with the parts that a test changes."""
    assert parts.keys() <= USUAL.keys()
    return RIG.format(**{**USUAL, **parts})


# ---- masses --------------------------------------------------------------------------------------------------------


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
    for text in (card, on_cards(solved, "Build")):
        assert (
            squeezed("Hung mass, Head with all it carries: 10.65 kg, handed to the responsible rigger.") in text
        )


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
    assert squeezed("Hung mass, Head with all it carries: at least 10.5 kg") in card


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


@settings(deadline=None, max_examples=60)
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


# ---- lengths -------------------------------------------------------------------------------------------------------

SHELF = "stock-lengths dc 0.5m, 1m, 2m, 3m, 5m, 7.5m, 10m"
WAY = "; route 4.2m slack 10% loops 2 x 300mm"


def test_f31_cable_pick(tmp_path: Path) -> None:
    """F31: 4.2 m x 1.10 + 2 x 0.3 = 5.22 m; of the shelf 7.5 m with a coil of 2.28 m; 5 m is short by 0.22 m."""
    assert Route(Fraction(4200), Fraction(10), 2, Fraction(300)).needed == 5220
    solved, found = checked(tmp_path, text_of(top=SHELF, p1=f"; length 5m{WAY}"))
    assert solved is None
    fault = only(found, "RC362")
    assert "needs 5.22 m" in fault.message and "short by 220 mm" in fault.message
    assert "7.5 m" in fault.hint and "2.28 m" in fault.hint

    solved, found = checked(tmp_path, text_of(top=SHELF, p1=f"; length 7.5m{WAY}"))
    assert solved is not None and ids(found) == []


def test_a_shelf_in_any_order_gives_the_shortest_that_will_do(tmp_path: Path) -> None:
    """The next stock length is the least of those not under the need; a lead far too long is no fault."""
    shelf = "stock-lengths dc 10m, 5.22m, 7.5m, 1m"
    _, found = checked(tmp_path, text_of(top=shelf, p1=f"; length 5.2m{WAY}"))
    assert "take the stock length 5.22 m" in only(found, "RC362").hint
    for length in ("5.22m", "50m"):
        solved, found = checked(tmp_path, text_of(top=shelf, p1=f"; length {length}{WAY}"))
        assert solved is not None and ids(found) == []


@given(
    way=st.integers(1, 10**6), slack=st.integers(0, 100), loops=st.integers(0, 20), loop=st.integers(1, 10**4)
)  # fmt: skip
def test_need_grows_with_each_of_its_parts(way: int, slack: int, loops: int, loop: int) -> None:
    """In hundredths of a mm: 100 x need = way x (100 + slack) + 100 x loops x loop; integers alone."""
    need = Route(Fraction(way), Fraction(slack), loops, Fraction(loop)).needed

    assert need * 100 == way * (100 + slack) + 100 * loops * loop


# ---- plugs, serial lines ---------------------------------------------------------------------------------------------

KINDS = 'connector a "A"\nconnector b "B" mates c\nconnector c "C"\nconnector d "D"'


@pytest.mark.parametrize(("plug", "socket"), list(product("abcd", repeat=2)))
def test_plugs_mate_as_declared(tmp_path: Path, plug: str, socket: str) -> None:
    """A plug goes into its own kind, and between two of which one names the other; into nothing else."""
    fits = plug == socket or {plug, socket} == {"b", "c"}
    _, found = checked(
        tmp_path, text_of(top=KINDS, by=f"by {socket}", p1=f"; length 1m; plugs {plug} to {plug}")
    )

    assert ids(found) == ([] if fits else ["RC361", "RC361"])
    for fault in found:
        assert f"`{plug}`" in fault.message and f"`{socket}`" in fault.message


SERIAL = {  # each alone makes another signal of it
    "rate": ("rate 100000baud", "rate 115200baud", "(100000 baud, 115200 baud)"),
    "polarity": ("polarity inverted", "polarity normal", "(inverted, normal)"),
    "logic": ("logic 3.3V", "logic 5V", "(3.3 V, 5 V)"),
}


@pytest.mark.parametrize("what", SERIAL)
def test_serial_lines_that_differ_are_told_apart(tmp_path: Path, what: str) -> None:
    """The message names what differs and what does not is not named; not stated on one side counts too."""
    ours, theirs, shown = SERIAL[what]
    same = " ".join(first for name, (first, _, _) in SERIAL.items() if name != what)
    for other, expected in ((theirs, shown), ("", shown.split(",")[0] + ", not stated)")):
        text = text_of(line=f"{same} {ours}", top=f'signal odd "Odd" carries 16 channels {same} {other}')
        _, found = checked(tmp_path, text.replace("port remote in line", "port remote in odd"))
        message = only(found, "RC324").message
        assert f"they differ in {what} {expected}" in message
        assert not [name for name in SERIAL if name != what and f"{name} (" in message]


def test_a_lead_at_the_limit_of_its_signal(tmp_path: Path) -> None:
    """600 mm is allowed to a lead of 600 mm, and not to one a tenth of a mm longer."""
    for length, wanted in (("600mm", []), ("600.1mm", ["RC363"])):
        text = text_of(line="up to 600mm").replace("length 500mm", f"length {length}")
        assert ids(checked(tmp_path, text)[1]) == wanted


# ---- colours ---------------------------------------------------------------------------------------------------------

COLOURS = list(
    csv.DictReader(StringIO((ROOT / "tests/reference/conductor_colours.csv").read_text(encoding="utf-8")))
)
LETTERS = [row for row in COLOURS if row["kind"] == "letter-code"]


@pytest.mark.parametrize("row", LETTERS, ids=lambda row: row["code"])
def test_letter_codes_are_those_of_iec_60757(row: dict[str, str]) -> None:
    """Every code of the list is taken and means its colour, in small letters too."""
    rig, diagnostics = resolved(
        text_of(top=KINDS, p1=f"; length 1m; plugs a to a; pin 1 to 1 colour {row['code'].lower()}")
    )

    assert list(diagnostics) == []
    (pin,) = rig.cables["P1"].build.pins
    assert pin.colour == row["code"]
    named = {row["colour"].split(" (")[0], row["colour"].replace("-and-", " and ")}
    assert {" and ".join(reversed(words.split(" and "))) for words in named} | named >= {
        colours.in_words(pin.colour)
    }


def test_no_other_letter_code_is_taken() -> None:
    """Of all 676 pairs of letters, those of the standard's list are valid and no other."""
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    valid = {
        first + second for first in alphabet for second in alphabet if not colours.fault_of(first + second)
    }

    assert valid == {row["code"] for row in LETTERS if len(row["code"]) == 2}


def test_codes_are_joined_in_the_order_of_the_table() -> None:
    """conductor_colours.csv: joined without separator in that order; green and yellow together only, as GNYE."""
    order = [row["code"] for row in LETTERS if len(row["code"]) == 2]
    for first, second in product(order, repeat=2):
        pair = {first, second}
        fault = colours.fault_of(first + second)
        if first + second == "GNYE":
            assert fault is None
        elif pair & {"GN", "YE"}:
            assert fault, first + second
            assert pair != {"GN", "YE"} or fault[1] == "write GNYE"
        else:
            assert (fault is None) == (order.index(first) < order.index(second)), first + second
            if fault and first != second:
                assert fault[1] == f"write {second}{first}"
    assert colours.fault_of("RDBU") is None  # the example of the standard


# ---- cases and the kit list --------------------------------------------------------------------------------------------

CASE = 'case "Case 1" empty 7.2kg up to 23kg'


def boxed(limit: str, stand: str) -> str:
    """A case of 7.2 kg with head 4.5, pack 0.8, leads 0.2 and a stand."""
    return text_of(
        top=CASE.replace("23kg", limit),
        carries="99kg",
        models=f'model stand "Stand" {{ role other; mass {stand} }}',
        head='; case "Case 1"',
        pk='case "Case 1"',
        w1='; mass 0.1kg; case "Case 1"',
        p1='; length 1m; mass 0.1kg; case "Case 1"',
        units='unit st is stand "Stand" { mounted on head; case "Case 1" }',
    )


def test_f30_case_mass(tmp_path: Path) -> None:
    """F30: 7.2 kg empty + 15.9 = 23.1 kg against 23.0: over by 0.1; the smallest piece that is enough is moved."""
    solved, found = checked(tmp_path, boxed("23kg", "10.4kg"))

    assert solved is not None
    (case,) = (case for case in packed(solved.rig) if case.name)
    assert case.mass == Fraction("23.1")
    assert ids(found) == ["RC373"]
    assert "over by 0.1 kg" in found[0].message
    assert found[0].hint == "move `W1`, 0.1 kg, to another case"
    assert ids(checked(tmp_path, boxed("23.1kg", "10.4kg"))[1]) == []


@pytest.mark.parametrize(("stand", "two"), [("12.3kg", False), ("12.301kg", True)])
def test_f30_two_persons_above_25_kg(tmp_path: Path, stand: str, two: bool) -> None:
    """F30: the mark above 25 kg and not at it (common practice, no source), on the list and on the lid sheet."""
    solved, _ = checked(tmp_path, boxed("30kg", stand))
    assert solved is not None
    pages = [said(page) for page in kit_document(FACE, solved).pages]

    assert any("TWOPERSONS" in page for page in pages[:-1]) == two
    assert ("LIFTBYTWOPERSONS" in pages[-1]) == two


def test_a_lid_sheet_says_nothing_of_the_contents_outside(tmp_path: Path) -> None:
    """Above the line to cut on: name, mass, lift mark. Below it at most twelve lines of contents."""
    more = "\n".join(f'unit s{n} is stand "Stand {n}" {{ mounted on head; case "Case 1" }}' for n in range(14))
    solved, _ = checked(tmp_path, boxed("40kg", "200g") + more)
    assert solved is not None
    page = kit_document(FACE, solved).pages[-1]
    texts = [mark for mark in page.marks if isinstance(mark, Text)]
    (inside,) = (mark for mark in texts if mark.text.startswith("Inside the lid"))
    outside = squeezed("".join(mark.text for mark in texts if mark.y < inside.y and mark.size > 20))
    assert outside == "Case115.7kg"
    for unit in solved.rig.units.values():
        assert not [mark for mark in texts if mark.y < inside.y and unit.title in mark.text.split(": ")[0]]
    rows = [
        mark for mark in texts if mark.y > inside.y and mark.text in {*solved.rig.units, *solved.rig.cables}
    ]
    assert len(rows) == 11
    assert "and8more:seethekitlist" in said(page)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_kit_list_of_a_sample(path: Path) -> None:
    """Substitution in three words, no price, blanks to fill in, packs and handsets among what a person carries."""
    solved = check_rig(path, Diagnostics()).solved
    assert solved is not None
    rows = list(csv.DictReader(StringIO(kit_csv(solved), newline="")))

    assert {row["substitution"] for row in rows} <= {"EXACT", "SAME TYPE", "ANY"}
    assert not [head for head in rows[0] if head in ("value", "price", "worth")]
    assert {row[name] for row in rows for name in ("out", "back", "wrap", "fault")} == {""}
    for row in rows:
        unit = solved.rig.units.get(row["id"])
        if unit and (unit.asset or unit.serial) and unit.role != "pack":
            assert row["substitution"] == "EXACT"
    text = "".join(said(page) for page in kit_document(FACE, solved).pages)
    travels = text.split("Travelswithaperson")[1]
    for unit in solved.rig.units.values():
        if unit.role in ("handset", "pack"):
            assert squeezed(unit.title) in travels
    cases = [row["case"] for row in rows]
    order = list(dict.fromkeys(cases))
    assert cases == sorted(cases, key=order.index), "a case is opened once"
    assert "" not in order[:-1], "what is in no case comes last"


CROSSED = "; plugs a to a; pin 1 to 2; pin 2 to 1"
TWO = 'cable P2 "Second" {{ pk.out-2 to head.dc-2; length 1m; jacket 6mm {0} }}'


def test_look_alikes_are_on_the_list_and_the_card(tmp_path: Path) -> None:
    """Same plugs, other wiring: named as a group on the kit list and on the card of special leads, with the marks."""
    text = text_of(
        top=KINDS, by="by a", p1=f'; length 1m{CROSSED}; mark "three rings"', units=TWO.format("; plugs a to a")
    )
    solved, found = checked(tmp_path, text)
    assert solved is not None and ids(found) == []
    kit = "".join(said(page) for page in kit_document(FACE, solved).pages)

    assert squeezed("P1 (mark: three rings); not P2 (no mark): same plugs, other wiring.") in kit
    card = on_cards(solved, "Special leads")
    assert squeezed("P1 (mark: three rings)") in card and squeezed("P2 (no mark)") in card
    assert squeezed("P1: Power (mark: three rings)") in card


@pytest.mark.parametrize(
    ("first", "second", "alike"),
    [
        ("a to a; pin 1 to 2; pin 2 to 1", "a to a; pin 2 to 1; pin 1 to 2", False),
        ("a to a; pin 1 to 2", "a to a; pin 2 to 1", False),  # one lead, seen from its other end
        ("a to a; pin 1 to 2", "a to a; pin 1 to 1", True),
        ("a to a; pin 1 to 2", "a to a", True),
        ("a to a", "a to a", False),
        ("b to c; pin 1 to 2", "c to b; pin 2 to 1", False),
        ("b to c; pin 1 to 2", "c to b; pin 1 to 2", True),
        ("b to b; pin 1 to 2", "b to c; pin 1 to 1", False),  # other plugs: they do not look alike
    ],
)
def test_what_looks_alike(first: str, second: str, alike: bool) -> None:
    """Leads are compared pin by pin, turned end for end where that is one lead."""
    rig, diagnostics = resolved(
        text_of(top=KINDS, p1=f"; length 1m; plugs {first}", units=TWO.format(f"; plugs {second}"))
    )

    assert not diagnostics.failed()
    assert bool(look_alikes(rig)) == alike


# ---- independence ------------------------------------------------------------------------------------------------------


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


@settings(deadline=None, max_examples=80)
@given(net=nets())
def test_shared_parts_are_those_of_a_graph_library(net: tuple[str, nx.DiGraph]) -> None:
    """Two inputs share what networkx finds above both; every kind of part is compared, for every pair of inputs."""
    text, graph = net
    rig, diagnostics = resolved(text)
    assert not diagnostics.failed(), list(diagnostics)
    links = trace(rig)
    inputs = [name for name, unit in rig.units.items() if unit.model.name == "box"]
    for first, second in product(inputs, repeat=2):
        above = nx.ancestors(graph, ("input", first)) & nx.ancestors(graph, ("input", second))
        wanted = {node for node in above if node[0] not in ("fed", "driven", "input")}
        assert set(shared(rig, links, (first, "x"), (second, "x"))) == wanted


def test_a_named_brake_must_not_hang_on_the_head_it_stops(tmp_path: Path) -> None:
    """The message names each shared part; another handset and receiver make it independent."""
    case = (ROOT / "tests/cases/check/RC375_independent_inputs_share.rig").read_text(encoding="utf-8")
    text = case.replace('"../stock.rig"', f'"{ROOT / "tests/cases/stock.rig"}"')
    _, found = checked(tmp_path, text)

    assert "handset `hs` and receiver `rx`" in only(found, "RC375").message
