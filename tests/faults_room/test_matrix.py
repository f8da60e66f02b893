"""Each row of the matrix, computed incrementally, is that of a rig whose text has the mistake, solved as a whole."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import HealthCheck, Phase, given, settings

from faults_room_plans import Plan, plans
from rigcard.diagnostics import Diagnostics
from rigcard.faults.bench import Bench, Sight, alike, planned, sight, sight_on_loss
from rigcard.faults.judged import judged
from rigcard.faults.lines import Line, in_order
from rigcard.faults.matrix import Matrix, Row, matrix_of
from rigcard.faults.single import Fault
from rigcard.resolve.links import trace
from rigcard.resolve.model import Position
from rigcard.resolve.resolve import resolve
from rigcard.solve.levels import heard, level_at
from rigcard.solve.sharing import Function, Part, dead_together
from rigcard.solve.solve import solve
from rigcard.solve.solved import Solved, part_of_way
from rigcard.solve.stations import stations_of
from rigcard.source import Source
from rigcard.syntax.load import Program
from rigcard.syntax.parser import parse
from rigs import solved_or_none
from samples import ROOT, SAMPLES

ZERO = Fraction(0)


def solved_text(text: str) -> Solved:
    """A rig of this text, unchecked: a mistake on the bench is one whatever the checks say to it in the file."""
    source, diagnostics = Source("plan.rig", text), Diagnostics()
    parsed = parse(source, diagnostics)
    assert parsed is not None, list(diagnostics)
    rig = resolve(Program(source, parsed.statements), diagnostics)
    assert rig is not None, [found.message for found in diagnostics]
    solved = solve(rig, trace(rig), Diagnostics())
    assert solved is not None
    return solved


def sample(name: str) -> Solved:
    """A sample, which must compile."""
    solved = solved_or_none(ROOT / "samples" / f"{name}.rig")
    assert solved
    return solved


def with_mistake(plan: Plan, fault: Fault) -> Plan | None:
    """The plan whose text has the mistake; None for what no text can say: a start, a unit off, a memory."""
    first, *more = fault.names
    match fault.kind:
        case "lead":
            return plan.without(first)
        case "plug":
            port, other, leg, second = more
            moved = {f"{first}.{port}": f"{first}.{other}", f"{first}.{other}": f"{first}.{port}"}
            leads = {
                name: tuple(moved.get(end, end) if name in (leg, second) else end for end in ends)
                for name, ends in plan.leads.items()
            }
            return replace(plan, leads=leads)
        case "bind" if more[0]:
            bound = {**plan.bound, first: plan.bound[more[0]], more[0]: plan.bound[first]}
            return replace(plan, bound=bound)
        case "bind":
            return replace(plan, bound={**plan.bound, first: ""})
        case "menu" if more[-1] == "turned":
            channel, turned = plan.sources[more[0]]
            return replace(plan, sources={**plan.sources, more[0]: (channel, not turned)})
        case "menu" if more[-1] == "exchanged":
            one, other = more[:2]
            (a, first_turned), (b, other_turned) = plan.sources[one], plan.sources[other]
            return replace(plan, sources={**plan.sources, one: (b, first_turned), other: (a, other_turned)})
        case "menu":
            return replace(plan, settings={**plan.settings, f"{first}.{more[0]}": more[1]})
        case "trim":  # 6 % are 30 steps of a sub-trim that shifts the whole
            (channel,) = [one for one in plan.channels[first].values() if one.control == more[0]]
            steps = channel.subtrim + (30 if more[1] == "up" else -30)
            return plan.channel(first, channel.name, subtrim=steps)
        case "mount":
            return replace(plan, underslung=not plan.underslung)
        case "travel":
            return plan.channel(first, more[0], travel=(100, 100))
        case "subtrim":
            return plan.channel(first, more[0], subtrim=0)
        case "reverse":
            return plan.channel(first, more[0], reversed=not plan.channels[first][more[0]].reversed)
        case "failsafe":
            return plan.channel(first, more[0], failsafe="hold")
        case "shape":
            return plan.channel(first, more[0], shape="")
        case "mix":
            if more[2] == "off":
                return replace(plan, mixes=())
            return replace(plan, mixes=tuple(mix.split(" while ")[0] for mix in plan.mixes))
    return None


def unpowered(plan: Plan, also: str = "") -> frozenset[Part]:
    """The units that no pack feeds, over the leads of the plan; `also`: one that is off, or a flat pack."""
    graph = nx.DiGraph()
    for leg, (source, sink) in plan.leads.items():
        if leg.startswith("p"):
            graph.add_edge(source.split(".")[0], sink.split(".")[0])
    fed = set()
    for pack in (name for name in plan.units if name.startswith("pack") and name != also):
        if pack in graph:
            fed |= nx.descendants(graph, pack)
    needing = {name for name in (*plan.units, "box", "cam", "head") if not name.startswith("pack")}
    return frozenset(Part("unit", (name,)) for name in {*(needing - fed), *([also] if also else [])})


def bench_of(
    nominal: Bench, solved: Solved, stands: dict[tuple[str, str], Position], off: frozenset[Part]
) -> Bench:
    """The bench of a whole rig as its text says, controls as the power-up card of the planned one says."""
    made = planned(solved)
    fresh = made._replace(
        standing={**nominal.standing, **stands},
        off=off,
        wired=nominal.wired,
        near=nominal.near,
        sending=nominal.sending,
        parts={**made.parts, **nominal.parts},
    )
    feeds = {}
    for key, own in made.feeds.items():
        found = []
        for feed in own:
            if feed.input.learns:
                unit = solved.rig.units[feed.handset]
                values = {name: fresh.standing[unit.name, name] for name in unit.model.controls}
                level = level_at(unit, unit.channels[feed.channel], values, fresh.dials).percent
                feed = feed._replace(zero=ZERO)
                feed = feed._replace(zero=heard(solved.rig, feed, level))
            found.append(feed)
        feeds[key] = tuple(found)
    return fresh._replace(feeds=feeds)


def whole_row(matrix: Matrix, before: Bench, after: Bench) -> dict[int, tuple[Function, Sight]]:
    """Every line that looks different, by looking at every function at every line."""
    found: dict[int, list[tuple[Function, Sight]]] = {}
    stations = stations_of(matrix.solved)
    for key in sorted({*before.feeds, *after.feeds}):
        home = sight(before, key, {}) or Sight("nothing")
        for at, line in enumerate(matrix.lines):
            if line.kind in ("control", "start"):
                plan, now = sight(before, key, line.stands()), sight(after, key, line.stands())
                assert plan and now
                devices = {
                    key[0],
                    *(
                        order.receiver
                        for bench in (before, after)
                        for feed in bench.feeds.get(key, ())
                        for order in bench.links.orders_of(feed)
                    ),
                }
                people_look_at = line.devices or stations[line.station].units
                if devices.isdisjoint(people_look_at):
                    continue
                if not alike(plan, now, home):
                    found.setdefault(at, []).append((key, now))
            elif line.kind == "loss" and any(
                feed.handset == line.handset for feed in before.feeds.get(key, ())
            ):
                plan, now = sight_on_loss(before, key, line.handset), sight_on_loss(after, key, line.handset)
                if plan is None or now is None or alike(plan, now, plan):
                    continue
                found.setdefault(at, []).append((key, now))
    rows = {}
    for at, seen in found.items():
        reading = matrix.lines[at].reading
        own = [one for one in seen if reading and one[0] == (reading.feed.unit, reading.feed.input.name)]
        rows[at] = (own or seen)[0]
    return rows


def checked_lines(matrix: Matrix, row: Row) -> dict[int, tuple[Function | None, Sight | None]]:
    """The same lines of a row."""
    return {
        at: (cell.function, cell.seen)
        for at, cell in row.differs.items()
        if matrix.lines[at].kind in ("control", "start", "loss")
    }


@pytest.mark.slow
@given(plans())
@settings(max_examples=5, suppress_health_check=list(HealthCheck), phases=[Phase.generate])
def test_every_row_is_that_of_the_faulty_text(plan: Plan) -> None:
    """Control, start and loss lines, for every mistake: which differ, in what function, and what is seen."""
    solved = solved_text(plan.text())
    matrix, before = matrix_of(solved), planned(solved)
    for row in matrix.rows:
        fault = row.fault
        stands: dict[tuple[str, str], Position] = {}
        off = unpowered(plan)
        assert not off
        if fault.kind == "memory":
            assert row.open and not checked_lines(matrix, row)
            continue
        if fault.kind == "start":
            handset, control, name = fault.names
            place = solved.rig.units[handset].model.controls[control].position(name)
            assert place
            stands[handset, control] = place
            other: Plan | None = plan
        elif fault.kind == "power":
            other, off = plan, unpowered(plan, fault.names[0])
        else:
            other = with_mistake(plan, fault)
            assert other is not None, fault
            off = unpowered(other)
        after = bench_of(before, solved_text(other.text()), stands, off)
        if fault.kind == "lead" and fault.names[0].startswith("s"):
            after = after._replace(off=frozenset({Part("lead", fault.names)}))
        assert checked_lines(matrix, row) == whole_row(matrix, before, after), fault.names


@given(plans())
@settings(max_examples=4, suppress_health_check=list(HealthCheck), phases=[Phase.generate])
def test_the_plan_itself_is_what_solve_computed(plan: Plan) -> None:
    """On the bench without a mistake every line shows the state and the orders of the row that `solve` made."""
    solved = solved_text(plan.text())
    bench, compared = planned(solved), 0
    for line in in_order(solved):
        assert line.reading
        seen = sight(bench, (line.reading.feed.unit, line.reading.feed.input.name), line.stands())
        assert seen is not None
        assert (seen.heard, seen.effects) == (line.reading.heard, line.reading.effects)
        if seen.kind == "way":
            moved = part_of_way(line.reading.feed.input.sweep, line.reading.heard) * line.reading.share  # type: ignore[arg-type]
            assert abs(seen.moved) == (0 if line.reading.held or seen.still else moved)
        else:
            assert seen.state == line.reading.state
        compared += 1
    assert compared > 10


def test_a_mistake_in_one_of_two_touches_nothing_of_the_other() -> None:
    """Two handsets: no line of one is different with a dial, a trim or a start of the other."""
    solved = judged(sample("mast")).solved
    matrix = matrix_of(solved)
    for row in matrix.rows:
        if row.fault.kind in ("reverse", "travel", "subtrim", "failsafe", "mix", "start"):
            whose = {
                line.handset
                for at, line in enumerate(matrix.lines)
                if at in row.differs and line.kind == "control"
            }
            assert whose <= {row.fault.names[0]}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_what_dies_together_is_a_special_case(path: Path) -> None:
    """A lead, pack or unit that is dead kills the functions that the graph of `dead_together` says, and no others."""
    solved = solved_or_none(path)
    assert solved
    matrix, compared = matrix_of(solved), 0
    dead = {
        part: set(found.functions)
        for found in dead_together(solved, solved.links.feeds)
        for part in found.parts
    }
    for row in matrix.rows:
        kind = {"lead": ("lead", "plus"), "power": ("unit",)}.get(row.fault.kind, ())
        expected = set().union(*(dead.get(Part(one, row.fault.names[:1]), set()) for one in kind))
        if not kind:
            continue
        for at, line in enumerate(matrix.lines):
            if line.reading and line.kind == "control":
                key = line.reading.feed.unit, line.reading.feed.input.name
                cell = row.differs.get(at)
                if cell and cell.function == key:
                    assert key in expected
                    compared += 1
                elif key in expected:  # it shows at this line what it shows at rest
                    assert line.reading.state in ("standby", "") or _at_rest(solved, line)
    assert compared > 5


MODE_ON_ANOTHER_HANDSET = """
rig "Two operators" { revision "A" }
signal line "Line" carries 16 channels
model hand "Handset" {
  role handset
  stick across "Stick" left to right springs
  switch three "Three-way" away, middle, toward
  channels 4; pulse 1500us centre, 5us per 1%; travel 0%..120% step 1%; output -130%..130%
  subtrim -60..60 steps, 60 steps = 12%, shifts whole; reverse before travel; mix before travel
}
model receiver "Receiver" { role receiver; channels 8; port bus out line }
model head-2 "Head with two sockets" {
  role head
  port a, b in line
  input pan  on a "Pan"  critical { sweeps left to right rest 0% full 40deg/s }
  input mode on b "Mode" { stow -130%..-50% rest holds pan; follow -30%..30%; steer 50%..130% }
}
unit hp is hand "Pan handset"  { memory 1 "PAN A";  channel 1 pan from across failsafe 0% }
unit hm is hand "Mode handset" { memory 2 "MODE A"; channel 1 mode from three failsafe -100% }
unit ra is receiver "Pan receiver"  { bound to hp }
unit rb is receiver "Mode receiver" { bound to hm }
unit head is head-2 "Head" { input pan from pan; input mode from mode }
cable W1 "Pan line"  { ra.bus to head.a; length 300mm; jacket 3mm }
cable W2 "Mode line" { rb.bus to head.b; length 300mm; jacket 3mm }
"""


def test_lines_see_an_axis_that_an_earlier_line_has_freed() -> None:
    """The mode stays where it lets the axis move, so the lines of the axis show that it is turned round."""
    solved = solved_text(MODE_ON_ANOTHER_HANDSET)
    matrix = matrix_of(solved)
    turns = [at for at, line in enumerate(matrix.lines) if line.row and line.row.control == "across"]
    assert len(turns) == 2
    for row in matrix.rows:
        if row.fault.kind == "reverse" and "pan" in row.fault.names:
            assert set(turns) <= row.differs.keys()
            break
    else:
        pytest.fail("no mistake reverses pan")


def _at_rest(solved: Solved, line: Line) -> bool:
    """Whether a line shows what its function shows with every control as at power-up."""
    assert line.reading
    bench, key = planned(solved), (line.reading.feed.unit, line.reading.feed.input.name)
    home, seen = sight(bench, key, {}), sight(bench, key, line.stands())
    return bool(home and seen and alike(home, seen, home))
