"""The power of a rig: its trees settled in every case, then what the packs last."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from graphlib import TopologicalSorter
from typing import NamedTuple, TypeVar

from rigcard.resolve.feeding import Fed, Feeding, PowerLead, Rail, variants
from rigcard.resolve.links import Links
from rigcard.resolve.model import Cable, Rig
from rigcard.resolve.power_side import Gauge, Window
from rigcard.solve.power.copper import lead_ohms
from rigcard.solve.power.net import Branch, Lead, settle, settle_mesh
from rigcard.solve.power.packs import charging, pack_uses
from rigcard.solve.power.result import CASES, Case, Figures, LeadUse, OutletUse, Power, RailUse, SourceUse

K = TypeVar("K", Rail, str)
Wires = Mapping[str, Gauge]  # other wire for a cable, to try
NO_OHMS = 1e-6  # of a lead of unknown wire where leads meet: it loses nothing to speak of


def power_of(rig: Rig, links: Links) -> Power:
    """The power of a rig, of which at least one unit supplies or holds some."""
    ways = variants(rig, links)
    feeding = ways[0]
    states = [worst(rig, ways, case) for case in CASES]
    rails = {
        rail: RailUse(
            rail,
            feeding.source_of(rail),
            tuple(found.volts.get(rail, 0.0) for found in states),
            window_on(rig, rail),
        )
        for rail in feeding.rails
    }
    leads = {
        lead.wire.leg.id: LeadUse(
            lead,
            tuple(found.leads.get(lead.wire.leg.id, 0.0) for found in states),
            ohms(rig, lead, {}),
        )
        for fed in feeding.rails.values()
        for lead in fed.leads
    }
    sources = {}
    at_rest = [state(rig, way, CASES[0]) for way in ways]
    joined = [{rail: part for part in _parts(way) for rail in part} for way in ways]
    for unit in rig.units.values():
        if supply := unit.model.power.supply:
            rail = unit.name, unit.model.power.rails[supply.ports[0]]
            amps = tuple(found.total.get(rail, 0.0) for found in states)
            fails = tuple(case for case, found in zip(CASES, states, strict=True) if rail not in found.total)
            watts = [
                _watts(rig, way, parts[rail], rest, rail)
                for way, parts, rest in zip(ways, joined, at_rest, strict=True)
            ]
            sources[unit.name] = SourceUse(
                unit=unit.name,
                rail=rail,
                supply=supply,
                amps=amps,
                fails=fails,
                watts=sum(watts) / len(watts),
                alone=max(watts),
            )
    packs = pack_uses(rig, {name: (_exact(one.watts), _exact(one.alone)) for name, one in sources.items()})
    return Power(
        ways, rails, leads, _outlets(rig, feeding, states, leads), sources, packs, charging(rig, packs)
    )


def _exact(value: float) -> Fraction:
    return Fraction(value).limit_denominator(10**6)


class State(NamedTuple):
    """One case: volts of rails, amperes of leads by leg, and all that flows out of sources and regulators.

    A source whose loads cannot be fed is missing from all three.
    """

    volts: dict[Rail, float]
    leads: dict[str, float]
    total: dict[Rail, float]


def worst(rig: Rig, ways: Sequence[Feeding], case: Case, wires: Wires | None = None) -> State:
    """One case over all choices of the inputs that feed: the lowest volts, the largest currents."""
    states = [state(rig, way, case, wires) for way in ways]
    return State(
        _over([one.volts for one in states], min),
        _over([one.leads for one in states], max),
        _over([one.total for one in states], max),
    )


def _over(found: Sequence[dict[K, float]], pick: Callable[[Iterable[float]], float]) -> dict[K, float]:
    """One figure for every key that all have."""
    return {key: pick(one[key] for one in found) for key in found[0] if all(key in one for one in found)}


def state(rig: Rig, feeding: Feeding, case: Case, wires: Wires | None = None) -> State:
    """Every net in one case; one behind a regulator before the net that feeds it."""
    found = State({}, {}, {})
    for part in _parts(feeding):
        first = part[0]
        regulator, supply = feeding.rails[first].regulator, rig.units[first[0]].model.power.supply
        if regulator and regulator.volts:
            volts = float(regulator.volts)
        else:
            assert supply
            volts = float(supply.empty if case.empty else supply.full)
        _settle(rig, feeding, part, volts, case.peak, wires or {}, found)
    return found


def _watts(rig: Rig, feeding: Feeding, part: Sequence[Rail], rest: State, rail: Rail) -> float:
    """What a source gives with all loads at rest, at its nominal volts; `part`: the rails that it is joined to."""
    side = rig.units[rail[0]].model.power
    assert side.supply
    middle = (side.supply.empty + side.supply.full) / 2
    volts = float(side.capacity.volts if side.capacity and side.capacity.volts else middle)
    behind = {head: amps for head, amps in rest.total.items() if head not in part}
    there = State({}, {}, behind)
    _settle(rig, feeding, part, volts, False, {}, there)
    return volts * there.total.get(rail, 0.0)


def _parts(feeding: Feeding) -> list[list[Rail]]:
    """Rails of one voltage that are joined, what holds its volts first; those behind a regulator before its own."""
    rails = feeding.rails
    number = {rail: at for at, rail in enumerate(rails)}
    group = list(range(len(rails)))

    def root(at: int) -> int:
        while group[at] != at:
            group[at] = group[group[at]]
            at = group[at]
        return at

    for rail, fed in rails.items():
        for parent in fed.parents if fed.regulator is None else ():
            first, second = sorted((root(number[rail]), root(number[parent])))
            group[second] = first
    parts: dict[int, list[Rail]] = {}
    for rail in rails:
        parts.setdefault(root(number[rail]), []).append(rail)
    before: dict[int, list[int]] = {at: [] for at in parts}
    for rail, fed in rails.items():
        if fed.regulator and fed.parent:
            before[root(number[fed.parent])].append(root(number[rail]))
    order = TopologicalSorter(before).static_order()
    return [sorted(parts[at], key=lambda rail: not _holds(rails[rail])) for at in order]


def _holds(fed: Fed) -> bool:
    """Whether a rail has volts of its own: a source's or a regulator's."""
    return fed.parent is None or fed.regulator is not None


def _settle(
    rig: Rig, feeding: Feeding, part: Sequence[Rail], volts: float, peak: bool, wires: Wires, out: State
) -> None:
    """Settle rails of one voltage; nothing is written for loads, or loads behind a regulator, that cannot be fed."""
    loads = [_load(rig, feeding, rail, peak, out) for rail in part]
    known = [load for load in loads if load is not None]
    if len(known) < len(loads):
        return
    heads = sum(_holds(feeding.rails[rail]) for rail in part)
    if heads == 1 and all(len(feeding.rails[rail].parents) <= 1 for rail in part):
        _settle_tree(rig, feeding, part, volts, known, wires, out)
    else:
        _settle_mesh(rig, feeding, part, volts, known, wires, out)


def _load(rig: Rig, feeding: Feeding, rail: Rail, peak: bool, out: State) -> tuple[float, float] | None:
    """Amperes and watts on a rail with its regulators; None where what hangs on one of these cannot be fed."""
    amps, watts = _drawn(rig, feeding, rail, peak)
    side = rig.units[rail[0]].model.power
    for outlet in side.outlets:
        if outlet.volts and side.rails[outlet.source] == rail[1]:
            behind = out.total.get((rail[0], side.rails[outlet.ports[0]]))
            if behind is None:
                return None
            assert outlet.efficiency
            watts += float(outlet.volts) * behind / float(outlet.efficiency)
    return amps, watts


def _settle_tree(
    rig: Rig,
    feeding: Feeding,
    part: Sequence[Rail],
    volts: float,
    loads: Sequence[tuple[float, float]],
    wires: Wires,
    out: State,
) -> None:
    place = {rail: number for number, rail in enumerate(part)}
    branches = []
    for rail, (amps, watts) in zip(part, loads, strict=True):
        fed = feeding.rails[rail]
        parent = place[fed.parent] if fed.parent in place and not _holds(fed) else 0
        resistance = _together([ohms(rig, lead, wires) for lead in fed.leads])
        branches.append(Branch(parent, resistance, amps, watts))
    settled = settle(volts, branches)
    if settled is None:
        return
    out.volts.update(zip(part, settled.volts, strict=True))
    for rail, current in list(zip(part, settled.amps, strict=True))[1:]:
        fed = feeding.rails[rail]
        shares = _shares([ohms(rig, lead, wires) for lead in fed.leads])
        for lead, share in zip(fed.leads, shares, strict=True):
            out.leads[lead.wire.leg.id] = current * share
    out.total[part[0]] = settled.amps[0]


def _settle_mesh(
    rig: Rig,
    feeding: Feeding,
    part: Sequence[Rail],
    volts: float,
    loads: Sequence[tuple[float, float]],
    wires: Wires,
    out: State,
) -> None:
    """For rails that several sources feed together: these have the same volts, and are one node."""
    heads = [rail for rail in part if _holds(feeding.rails[rail])]
    others = [rail for rail in part if rail not in set(heads)]
    place = {**dict.fromkeys(heads, 0), **{rail: at for at, rail in enumerate(others, 1)}}
    ways: list[tuple[Rail, str, Lead]] = []  # where the current comes from, by which leg
    for rail in others:
        fed = feeding.rails[rail]
        if not fed.leads and fed.parent:
            ways.append((fed.parent, "", Lead(place[fed.parent], place[rail], NO_OHMS)))
        resistances = [ohms(rig, lead, wires) for lead in fed.leads]
        bare = None in resistances
        for lead, resistance in zip(fed.leads, resistances, strict=True):
            made = Lead(place[lead.source], place[rail], NO_OHMS if bare else resistance or NO_OHMS)
            ways.append((lead.source, lead.wire.leg.id, made))
    on = dict(zip(part, loads, strict=True))
    at_nodes = [(0.0, 0.0), *(on[rail] for rail in others)]
    settled = settle_mesh(volts, at_nodes, [lead for _, _, lead in ways])
    if settled is None:
        return
    for rail in part:
        out.volts[rail] = settled.volts[place[rail]]
    for head in heads:
        amps, watts = on[head]
        out.total[head] = amps + watts / volts
    for (source, leg, _), current in zip(ways, settled.amps, strict=True):
        if leg:
            out.leads[leg] = current
        if source in out.total and place[source] == 0:
            out.total[source] += current


def _drawn(rig: Rig, feeding: Feeding, rail: Rail, peak: bool) -> tuple[float, float]:
    """Constant currents and constant powers on a rail; a unit draws by the one of its inputs that feeds."""
    side = rig.units[rail[0]].model.power
    amps = watts = 0.0
    for draw in side.draws:
        by = [(rail[0], side.rails[port]) for port in draw.ports]
        fed = [one for one in by if one in feeding.rails and one not in feeding.idle]
        if rail in fed[:1]:
            value = float(draw.peak if peak else draw.steady)
            amps, watts = (amps, watts + value) if draw.watts else (amps + value, watts)
    return amps, watts


def ohms(rig: Rig, lead: PowerLead, wires: Wires) -> float | None:
    """Resistance of a lead there and back, at the highest temperature of the day; None where it is not known."""
    cable: Cable = lead.wire.cable
    gauge = wires.get(cable.name, cable.power.wire)
    if gauge is None or cable.length is None:
        return None
    return lead_ohms(gauge, cable.length, rig.day.hottest)


def _together(several: list[float | None]) -> float:
    """Leads side by side; one that is not known counts as no resistance."""
    known = [value for value in several if value]
    return 1 / sum(1 / value for value in known) if known and len(known) == len(several) else 0.0


def _shares(several: list[float | None]) -> list[float]:
    """The part of the current in each of several leads side by side; alike where one is not known."""
    known = [1 / value for value in several if value]
    if len(known) < len(several):
        return [1 / len(several)] * len(several)
    return [conductance / sum(known) for conductance in known]


def window_on(rig: Rig, rail: Rail) -> Window | None:
    """The volts that everything on a rail takes."""
    side = rig.units[rail[0]].model.power
    found = [window for window in side.windows if rail[1] in [side.rails[port] for port in window.ports]]
    if not found:
        return None
    return found[0]._replace(low=max(window.low for window in found), high=min(window.high for window in found))


def _outlets(rig: Rig, feeding: Feeding, states: list[State], leads: Mapping[str, LeadUse]) -> list[OutletUse]:
    given: dict[str, list[LeadUse]] = {}
    for use in leads.values():
        given.setdefault(use.lead.giver.unit, []).append(use)
    found = []
    for unit in rig.units.values():
        for outlet in unit.model.power.outlets:
            if not outlet.ports:
                continue
            rail = unit.name, unit.model.power.rails[outlet.ports[0]]
            if rail not in feeding.rails:
                continue
            amps: Figures = tuple(one.total.get(rail, 0.0) for one in states)
            if outlet.volts is None:
                through = [use.amps for use in given.get(unit.name, ()) if use.lead.giver.port in outlet.ports]
                amps = tuple(sum(column) for column in zip(*through, strict=True)) or (0.0,) * len(states)
            found.append(OutletUse(unit.name, outlet, amps))
    return found
