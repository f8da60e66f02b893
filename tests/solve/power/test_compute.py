"""Power of whole rigs: worked examples of the trade, and random trees against nodal analysis by numpy."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from electrical import POWER_RIG
from rigcard.diagnostics import Diagnostic
from rigcard.documents.base.model import Text
from rigcard.documents.cards.power import power_card
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.power_side import Gauge
from rigcard.solve.power.copper import lead_ohms
from rigcard.solve.power.net import Branch, settle
from rigcard.solve.power.packs import packs_for, plan, run_time
from rigcard.solve.power.result import CASES, Power
from rigcard.solve.solved import Solved
from rigs import checked, ids, only

# ---- rigs --------------------------------------------------------------------------------------------------------


def power_rig(folder: Path, **parts: str) -> tuple[Power | None, Solved | None, list[Diagnostic]]:
    """The rig with a pack, a lead and a head; `parts` are lines of the pack, the head (`load`) and the lead (`p1`)."""
    text = POWER_RIG.format(**{"rig": "", "pack": "", "load": "", "p1": "", "more": "", **parts})
    solved, found = checked(folder, text)
    return (solved.power if solved else None), solved, found


def test_f22_a_thin_lead_loses_the_last_volts(tmp_path: Path) -> None:
    """F22 with the resistance of IEC 60228 in place of bare copper: 10 m of 0.75 mm2 lose 2.6 V of 13.2 V at 5 A."""
    parts = {"pack": "supplies 13.2V..16.8V", "load": "takes 11.5V..17V; draws 3A peak 5A"}
    _, _, found = power_rig(tmp_path, **parts, p1="wire 0.75mm2")
    fault = only(found, "RC461")
    resistance = 2 * 10 * 26.0 / 1000

    assert f"gets {13.2 - 5 * resistance:.1f} V at peak with the pack near empty" in fault.message  # 10.6 V
    assert f"P1 loses {5 * resistance:.1f} V" in fault.message
    assert "write `wire 1.5mm2` in P1 and take such a lead: it leaves 11.87 V" in fault.hint  # 1 mm2: 11.25 V
    power, _, found = power_rig(tmp_path, **parts, p1="wire 1.5mm2")
    assert found == []
    assert power
    assert power.rails["head", "power"].volts[CASES.index((True, True))] == pytest.approx(13.2 - 5 * 0.266)
    assert power.rails["head", "power"].volts[0] == pytest.approx(16.8 - 3 * 0.266)
    assert power.rails["head", "power"].reserve == pytest.approx(0.37)


def test_f22_with_bare_copper() -> None:
    """F22 as worked: 0.0175 ohm mm2/m, 10 m; 10.87 V with 0.75 mm2, 12.03 V with 1.5 mm2 at 5 A."""
    for size, volts in ((0.75, "10.87"), (1.5, "12.03")):
        settled = settle(13.2, [Branch(0, 0, 0, 0), Branch(0, 2 * 10 * 0.0175 / size, 5, 0)])
        assert settled
        assert f"{settled.volts[1]:.2f}" == volts


def test_f23_watts_draw_more_as_the_pack_falls(tmp_path: Path) -> None:
    """F23: 120 W are 8.33 A at 14.4 V and 9.09 A at 13.2 V, on a lead marked 5 A."""
    parts = {"pack": "supplies 13.2V..14.4V", "load": "takes 10V..17V; draws 120W"}
    _, _, found = power_rig(tmp_path, **parts, p1="rated 5A")

    assert (
        "P1 carries 9.09 A at rest with the pack near empty, and is marked 5 A" in only(found, "RC464").message
    )
    power, _, found = power_rig(tmp_path, **parts, p1="rated 10A")
    assert power
    assert "RC464" not in ids(found)
    assert [round(amps, 2) for amps in power.leads["P1"].amps] == [8.33, 9.09, 8.33, 9.09]


BRIDGE = """model rail "Rail" {{ role regulator; port power in dc; port out-5 out servo-dc
  regulates power to out-5 at {volts} efficiency 90% up to 1A }}
signal servo-dc "Servo supply" carries power
model rec-p "Receiver" {{ role receiver; channels 4; port p1..p4 out servo channel 1..4; port bec in servo-dc
  takes 4.5V..8.4V; draws 80mA; passes bec to p1..p4 up to 3A }}
model br "Bridge" {{ role adapter; port one in servo; input run on one "Run" {{ sweeps stop to go }}
  takes 4.5V..5.5V; draws {draws} }}
unit reg is rail "Regulator"
unit rx-2 is rec-p "Receiver 2" {{ bound to hs }}
unit bridge is br "Bridge"
cable P2 "Regulator" {{ pack.out-2 to reg.power; length 1m; jacket 5mm; wire AWG18 }}
cable P3 "Rail" {{ reg.out-5 to rx-2.bec; length 300mm; jacket 3mm; wire AWG22 }}
cable W2 "Servo" {{ rx-2.p1 to bridge.one; length 300mm; jacket 3mm; wire AWG26 }}"""


def test_f24_the_budget_of_a_rail(tmp_path: Path) -> None:
    """F24: receiver 80 mA and adapter 120 mA are 200 mA of 1 A, 20 %; more than 1 A is an error."""
    parts = {"pack": "supplies 13.2V..16.8V", "load": "takes 10V..17V; draws 1A", "p1": "wire AWG14"}
    power, _, found = power_rig(tmp_path, **parts, more=BRIDGE.format(volts="5V", draws="120mA"))
    assert found == []
    assert power
    use = next(use for use in power.outlets if use.unit == "reg")
    assert max(use.amps) == pytest.approx(0.2)
    assert use.outlet.limit
    assert max(use.amps) / float(use.outlet.limit) == pytest.approx(0.2)
    into = power.leads["P2"].amps[0] * power.rails["reg", "power"].volts[0]
    assert into == pytest.approx(5 * 0.2 / 0.9)  # input watts: output over efficiency
    _, _, found = power_rig(tmp_path, **parts, more=BRIDGE.format(volts="5V", draws="1A"))
    assert "must give 1.08 A" in only(found, "RC466").message


def test_f24_volts_of_a_rail(tmp_path: Path) -> None:
    """F24: a rail of 7.4 V into an adapter that takes 5.5 V at most is an error."""
    parts = {"pack": "supplies 13.2V..16.8V", "load": "takes 10V..17V; draws 1A", "p1": "wire AWG14"}
    _, _, found = power_rig(tmp_path, **parts, more=BRIDGE.format(volts="7.4V", draws="120mA"))

    assert "`bridge` gets up to 7.4 V from `reg`, and takes 5.5 V at most" in only(found, "RC462").message


def test_f25_run_time_and_packs_of_the_day(tmp_path: Path) -> None:
    """F25: 98 Wh at 55 W: 91 min and 4 + 1 packs; at 0 C 63.6 min and 6 + 1 packs (common practice for 85 % and 70 %)."""
    parts = {"pack": "supplies 12V..16.8V; capacity 98Wh", "load": "takes 10V..17V; draws 55W"}
    day = "day 10h duty 60%; night 10h; usable 85%; cold 70%; spare-packs 1"
    warm, _, _ = power_rig(tmp_path, **parts, rig=day)
    cold, _, _ = power_rig(tmp_path, **parts, rig=f"{day}; temperature 0C..20C")
    assert warm
    assert cold
    use, frozen = warm.packs[0], cold.packs[0]

    assert use.hours is not None
    assert round(float(use.hours), 3) == 1.515
    assert int(use.hours * 60) == 90  # 90.9 min, cut off: what the card says
    assert use.needed is not None
    assert round(float(use.needed), 2) == 3.96
    assert (use.packs, use.spares, use.all) == (4, 1, 5)
    assert frozen.cold_hours is not None
    assert round(float(frozen.cold_hours * 60), 1) == 63.6
    assert frozen.needed is not None
    assert round(float(frozen.needed), 2) == 5.66
    assert frozen.all == 7
    hours = run_time(Fraction(98), Fraction("0.85"), Fraction(55))
    assert packs_for(Fraction(10), Fraction("0.6"), hours) == Fraction(330) / Fraction("83.3")


def test_f26_the_night_is_too_short(tmp_path: Path) -> None:
    """F26: 7 packs of 3.5 h on 2 bays take 14 h; the night of 10 h has 2 rounds, so 4 bays are needed."""
    charging = plan(7, [(2, Fraction("3.5"))], Fraction(10))

    assert (charging.rounds, charging.hours, charging.fits, charging.bays_needed) == (4, 14, 4, 4)
    assert plan(7, [(4, Fraction("3.5"))], Fraction(10)).fits == 8
    charger = 'model ch "Charger" { role charger; bays 2; charges in 3.5h }\nunit charger is ch "Charger" { mounted on pack }'
    parts = {"pack": "supplies 12V..16.8V; capacity 98Wh", "load": "takes 10V..17V; draws 55W", "more": charger}
    day = "day 10h duty 60%; night 10h; temperature 0C..20C"
    _, _, found = power_rig(tmp_path, **parts, rig=day)
    assert "7 packs on 2 bays take 14 h, and the night is 10 h" in only(found, "RC467").message
    assert "4 bays" in only(found, "RC467").hint
    _, _, found = power_rig(tmp_path, **parts, rig=day.replace("night 10h", "night 2h"))
    assert only(found, "RC467").hint == "charge in the day too, or bring more packs"  # no bay fills one in 2 h
    power, _, found = power_rig(tmp_path, **parts, rig=day.replace("night 10h; ", ""))
    assert power and power.charging
    assert (power.charging.packs, power.charging.hours, power.charging.fits) == (7, 14, None)
    assert "RC467" not in ids(found)
    _, _, found = power_rig(tmp_path, **{**parts, "more": charger.replace("bays 2", "bays 4")}, rig=day)
    assert "RC467" not in ids(found)


def test_f27_the_handset_s_own_pack(tmp_path: Path) -> None:
    """F27: 2000 mAh, 80 % of it, at 250 mA: 6.4 h; a day of 10 h takes 2 packs, changed at 5 h."""
    text = POWER_RIG.format(rig="day 10h duty 60%; usable 80%", pack="", load="", p1="", more="").replace(
        "role handset\n", "role handset; capacity 2000mAh at 7.4V; draws 250mA\n"
    )
    solved, found = checked(tmp_path, text)
    assert solved, found
    assert solved.power
    (use,) = solved.power.packs

    assert use.hours == Fraction("6.4")
    assert (use.packs, use.change_after) == (2, 5)


def test_no_solution_is_a_collapse(tmp_path: Path) -> None:
    """A source of V behind R gives V2 / 4R watts at most (maximum power transfer): beside it one is fed, one is not."""
    most = 12.0**2 / 4 / 0.5
    leads = [Branch(0, 0, 0, 0), Branch(0, 0.5, 0, 0)]

    assert settle(12.0, [leads[0], leads[1]._replace(watts=most * 1.0001)]) is None
    fed = settle(12.0, [leads[0], leads[1]._replace(watts=most * 0.9999)])
    assert fed
    assert fed.volts[1] == pytest.approx(6.0, abs=0.1)
    assert settle(12.0, [leads[0], leads[1]._replace(watts=most)]) is None  # on the brink, it never settles
    parts = {"pack": "supplies 13.2V..16.8V", "load": "takes 2V..17V; draws 120W"}
    _, _, found = power_rig(tmp_path, **parts, p1="wire AWG24")
    assert "cannot feed its loads through P1" in only(found, "RC463").message


def test_a_collapse_behind_a_regulator(tmp_path: Path) -> None:
    """30 W at 5 V behind 20 m of AWG26 (5.3 ohm there and back) are beyond V2 / 4R = 1.2 W; the pack is not to blame."""
    parts = {"pack": "supplies 13.2V..16.8V", "load": "takes 10V..17V; draws 1A", "p1": "wire AWG14"}
    long = BRIDGE.format(volts="5V", draws="30W").replace(
        "300mm; jacket 3mm; wire AWG26", "20m; jacket 3mm; wire AWG26"
    )
    ohms = lead_ohms(Gauge("AWG", Fraction(26)), Fraction(20_000), Fraction(20))
    assert 5**2 / 4 / ohms < 30
    _, _, found = power_rig(tmp_path, **parts, more=long)

    assert "`pack` cannot feed its loads through W2" in only(found, "RC463").message


@pytest.mark.parametrize(
    ("pack", "code", "said"),
    [
        ("supplies 13.2V..16.8V up to 500mA", "RC466", "`pack` must give 1 A at rest with the pack full, and may give 0.5 A"),
        ("supplies 13.2V..16.8V; fuse 500mA", "RC465", "the fuse of `pack`, 0.5 A, sees 1 A at rest with the pack full"),
        ("supplies 0V..16.8V", "RC206", "0V is not above zero"),
    ],
)  # fmt: skip
def test_a_pack_that_gives_too_little(tmp_path: Path, pack: str, code: str, said: str) -> None:
    """Its own limit, its own fuse, and volts that no pack has: 1 A is drawn."""
    _, _, found = power_rig(tmp_path, pack=pack, load="takes 10V..17V; draws 1A", p1="wire AWG14")

    assert only(found, code).message == said


@pytest.mark.parametrize(
    ("block", "hours"),
    [
        ("draws 20W", Fraction(50, 20)),
        ("draws 2A", None),  # amperes alone tell no watts where the volts of the pack are not stated
        ("port power in dc; takes 11V..17V; draws 20W", None),  # at its socket: not from the pack inside
    ],
)
def test_the_pack_inside_a_camera(tmp_path: Path, block: str, hours: Fraction | None) -> None:
    """Watt-hours over watts where both are known; the usable part is left out of this count."""
    camera = f'model cm "Camera" {{ role camera; capacity 50Wh; {block} }}\nunit cam is cm "Camera" {{ mounted on head }}'
    lead = '\ncable P2 "Camera" { pack.out-2 to cam.power; length 1m; jacket 3mm; wire AWG18 }'
    parts = {"pack": "supplies 13.2V..16.8V", "load": "takes 10V..17V; draws 1A", "p1": "wire AWG14"}
    power, _, found = power_rig(
        tmp_path, **parts, rig="usable 100%", more=camera + (lead if "port" in block else "")
    )
    assert power, found
    (use,) = power.packs

    assert use.hours == hours


def test_a_load_that_does_not_say_its_volts_stands_last(tmp_path: Path) -> None:
    """On the power card the loads are sorted by what is left of their volts; nothing is known of this one."""
    parts = {"pack": "supplies 13.2V..16.8V; capacity 98Wh", "load": "draws 1A", "p1": "wire AWG14"}
    other = 'model cm "Camera" { role camera; port power in dc; takes 11V..17V; draws 1A }\nunit cam is cm "Camera"\n'
    lead = 'cable P2 "Camera" { pack.out-2 to cam.power; length 1m; jacket 3mm; wire AWG18 }'
    power, solved, found = power_rig(tmp_path, **parts, more=other + lead)
    assert power and solved, found
    assert power.rails["head", "power"].reserve is None

    group = power_card(EmbeddedTypeface(), 300, solved)
    marks = [mark for block in group.blocks for piece in block.boxes for mark in piece.marks]
    words = " ".join(mark.text for mark in marks if isinstance(mark, Text))
    assert words.index("Camera") < words.index("Head") < words.index("not")


HUB = """model hub "Hub" {
  role other
  port power in amp
  port a, b out amp
  port low out low
  takes 1V..60V on power
  passes power to a, b
  regulates power to low at 5V efficiency 80%
}
model eater "Load" { role other; port power in amp; takes 1V..60V; draws 1A peak 2A }
model sipper "Load at 5 V" { role other; port power in low; takes 1V..6V; draws 100mA peak 300mA }
model pack-t "Pack" { role pack; port out-1 out amp; supplies 18V..25V }
"""


EFFICIENCY, LOW = 0.8, 5.0


DRAWS = {"hub": (0.0, 0.0), "eater": (1.0, 2.0), "sipper": (0.1, 0.3)}  # A at rest and at peak


class Node(NamedTuple):
    """A unit of the tree: its kind, what it hangs on and by which port, the length of its lead in m."""

    kind: str
    parent: int
    port: str
    metres: int


@st.composite
def rig_trees(draw: st.DrawFn) -> list[Node]:
    """A hub on the pack, then up to nine more units on free ports of hubs."""
    nodes = [Node("hub", -1, "out-1", draw(st.integers(1, 3)))]
    free = [(0, "a"), (0, "b"), (0, "low")]
    for _ in range(draw(st.integers(1, 9))):
        if not free:
            break
        parent, port = free.pop(draw(st.integers(0, len(free) - 1)))
        kind = "sipper" if port == "low" else draw(st.sampled_from(["hub", "eater"]))
        nodes.append(Node(kind, parent, port, draw(st.integers(1, 3))))
        if kind == "hub":
            at = len(nodes) - 1
            free += [(at, "a"), (at, "b"), (at, "low")]
    return nodes


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(nodes=rig_trees())
def test_rigs_with_regulators_agree_with_nodal_analysis(tmp_path: Path, nodes: list[Node]) -> None:
    """Conductances of the leads, regulators as ideal 5 V at 80 %: volts of every unit as numpy solves the nodes."""
    lines = [
        'rig "Tree" { revision "A" }',
        'signal amp "Power" carries power',
        'signal low "5 V" carries power',
        HUB,
    ]
    lines.append('unit pack is pack-t "Pack"')
    for at, node in enumerate(nodes):
        giver = "pack" if node.parent < 0 else f"n{node.parent}"
        lines.append(f'unit n{at} is {node.kind} "N{at}"')
        lines.append(
            f'cable C{at} "C{at}" {{ {giver}.{node.port} to n{at}.power; length {node.metres}m; jacket 8mm; wire 2.5mm2 }}'
        )
    solved, found = checked(tmp_path, "\n".join(lines) + "\n")
    assert solved and solved.power, found
    ohms = {at: solved.power.leads[f"C{at}"].ohms or 0.0 for at in range(len(nodes))}
    assert all(ohms[at] > 0 for at in ohms)
    mine: dict[
        str, tuple[float, ...]
    ] = {}  # of the two rails of a hub the first one reached is that of its input
    for (unit, _), use in solved.power.rails.items():
        mine.setdefault(unit, use.volts)

    for number, case in enumerate(CASES):
        source = 18.0 if case.empty else 25.0
        drawn = [DRAWS[node.kind][case.peak] for node in nodes]
        volts = [source] * len(nodes)
        for _ in range(200):  # a regulator draws by its input volts: solve, put them in, solve again
            current = list(drawn)
            for at, node in enumerate(nodes):
                if node.port == "low":
                    current[node.parent] += LOW * drawn[at] / (EFFICIENCY * volts[node.parent])
            matrix, right = np.zeros((len(nodes), len(nodes))), np.zeros(len(nodes))
            for at, node in enumerate(nodes):
                conductance = 1 / ohms[at]
                matrix[at, at] += conductance
                right[at] -= current[at]
                if node.port == "low":
                    right[at] += conductance * LOW
                elif node.parent < 0:
                    right[at] += conductance * source
                else:
                    matrix[at, node.parent] -= conductance
                    matrix[node.parent, node.parent] += conductance
                    matrix[node.parent, at] -= conductance
            volts = [float(volt) for volt in np.linalg.solve(matrix, right)]
        for at in range(len(nodes)):
            assert mine[f"n{at}"][number] == pytest.approx(volts[at], abs=1e-5), (at, case, nodes)


# ---- plates for two packs ------------------------------------------------------------------------------------------


PLATES = """model plate "Plate" {{
  role other
  port a, b in amp
  port out, more out amp
  {how} a, b to out, more
}}
model load "Load" {{ role other; port power in amp; takes 1V..60V; draws 1A peak 2A }}
model lamp "Lamp" {{ role other; port power in amp; takes 1V..60V; draws 10W peak 20W }}
model hub "Hub" {{ role other; port power in amp; port out, more out amp; passes power to out, more }}
model pack-t "Pack" {{ role pack; port out-1, out-2 out amp; supplies 18V..25V }}
"""


class Pair(NamedTuple):
    """Two packs at a plate: lengths in m of the leads from each (over a hub with a load, where `hubs`) and behind it."""

    first: int
    second: int
    behind: int
    hubs: tuple[bool, bool]
    watts: bool


@st.composite
def pairs(draw: st.DrawFn) -> Pair:
    """Any two packs at a plate."""
    metres = st.integers(1, 6)
    return Pair(
        draw(metres),
        draw(metres),
        draw(metres),
        (draw(st.booleans()), draw(st.booleans())),
        draw(st.booleans()),
    )


def rig_of(pair: Pair, how: str) -> str:
    """A plate, its packs, and a load behind it."""
    kind = "lamp" if pair.watts else "load"
    lines = ['rig "Plate" { revision "A" }', 'signal amp "Power" carries power', PLATES.format(how=how)]
    lines += ['unit plate is plate "Plate"', f'unit end is {kind} "End"']
    lines.append(
        f'cable C "C" {{ plate.out to end.power; length {pair.behind}m; jacket 8mm; wire 2.5mm2; rated 99A }}'
    )
    for name, port, metres, hub in (
        ("x", "a", pair.first, pair.hubs[0]),
        ("y", "b", pair.second, pair.hubs[1]),
    ):
        lines.append(f'unit {name} is pack-t "{name}"')
        giver = f"{name}.out-1"
        if hub:
            lines += [f'unit {name}h is hub "{name} hub"', f'unit {name}l is load "{name} load"']
            lines.append(
                f'cable H{name} "H" {{ {giver} to {name}h.power; length 1m; jacket 8mm; wire 2.5mm2; rated 99A }}'
            )
            lines.append(
                f'cable L{name} "L" {{ {name}h.more to {name}l.power; length 2m; jacket 8mm; wire 2.5mm2; rated 99A }}'
            )
            giver = f"{name}h.out"
        lines.append(
            f'cable P{name} "P" {{ {giver} to plate.{port}; length {metres}m; jacket 8mm; wire 2.5mm2; rated 99A }}'
        )
    return "\n".join(lines) + "\n"


OHMS = 2 * 7.98e-3  # of a metre of 2.5 mm2 there and back: IEC 60228, class 5


def by_nodes(pair: Pair, volts: float, *, peak: bool, feeds: tuple[str, ...]) -> dict[str, float]:
    """Volts of every unit by nodal analysis; `feeds`: the packs that the plate lets through."""
    names = ["plate", "end"]
    leads = [("plate", "end", pair.behind)]
    loads = {"end": (0.0, 20.0 if peak else 10.0) if pair.watts else (2.0 if peak else 1.0, 0.0)}
    for name, metres, hub in (("x", pair.first, pair.hubs[0]), ("y", pair.second, pair.hubs[1])):
        if hub:
            names += [f"{name}h", f"{name}l"]
            leads += [(name, f"{name}h", 1), (f"{name}h", f"{name}l", 2)]
            loads[f"{name}l"] = (2.0 if peak else 1.0, 0.0)
        if name in feeds:
            leads.append((f"{name}h" if hub else name, "plate", metres))
    known = dict.fromkeys(names, volts)
    for _ in range(200):
        matrix, right = np.zeros((len(names), len(names))), np.zeros(len(names))
        for first, second, metres in leads:
            for here, there in ((first, second), (second, first)):
                if here in names:
                    at = names.index(here)
                    matrix[at, at] += 1 / (OHMS * metres)
                    if there in names:
                        matrix[at, names.index(there)] -= 1 / (OHMS * metres)
                    else:
                        right[at] += volts / (OHMS * metres)
        for name, (amps, watts) in loads.items():
            right[names.index(name)] -= amps + watts / known[name]
        known = dict(zip(names, np.linalg.solve(matrix, right), strict=True))
    return known


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(pair=pairs())
def test_joined_packs_agree_with_nodal_analysis(tmp_path: Path, pair: Pair) -> None:
    """Both packs at the same volts, their leads meeting at the plate: every unit's volts as numpy solves the nodes."""
    solved, found = checked(tmp_path, rig_of(pair, "joins"))
    assert solved and solved.power, found
    for at, case in enumerate(CASES):
        wanted = by_nodes(pair, 18.0 if case.empty else 25.0, peak=case.peak, feeds=("x", "y"))
        for (unit, _), use in solved.power.rails.items():
            if unit in wanted:
                assert use.volts[at] == pytest.approx(wanted[unit], abs=1e-6), (unit, case)
        into = sum(solved.power.leads[leg].amps[at] for leg in ("Px", "Py"))
        assert into == pytest.approx(solved.power.leads["C"].amps[at])


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(pair=pairs())
def test_packs_by_turns_are_as_bad_as_the_worse_of_them(tmp_path: Path, pair: Pair) -> None:
    """Each pack alone by nodal analysis: the lowest volts and the largest currents of the two count."""
    solved, found = checked(tmp_path, rig_of(pair, "either"))
    assert solved and solved.power, found
    for at, case in enumerate(CASES):
        volts = 18.0 if case.empty else 25.0
        alone = {name: by_nodes(pair, volts, peak=case.peak, feeds=(name,)) for name in ("x", "y")}
        end = next(use for (unit, _), use in solved.power.rails.items() if unit == "end")
        assert end.volts[at] == pytest.approx(min(one["end"] for one in alone.values()), abs=1e-6)
        for name in ("x", "y"):
            metres = pair.first if name == "x" else pair.second
            giver = f"{name}h" if pair.hubs[name == "y"] else name
            amps = (alone[name].get(giver, volts) - alone[name]["plate"]) / (OHMS * metres)
            assert solved.power.leads[f"P{name}"].amps[at] == pytest.approx(amps, rel=1e-6)


def test_two_equal_packs_share_and_take_turns(tmp_path: Path) -> None:
    """Equal leads: joined packs carry half each; by turns each carries all, and on average half."""
    pair = Pair(2, 2, 1, (False, False), False)
    together, _ = checked(tmp_path, rig_of(pair, "joins"))
    turns, _ = checked(tmp_path, rig_of(pair, "either"))
    assert together and together.power and turns and turns.power

    assert together.power.leads["Px"].amps == pytest.approx((0.5, 0.5, 1.0, 1.0))
    assert turns.power.leads["Px"].amps == pytest.approx((1.0, 1.0, 2.0, 2.0))
    assert turns.power.sources["x"].alone == pytest.approx(2 * turns.power.sources["x"].watts)
    assert len(turns.power.ways) == 2
