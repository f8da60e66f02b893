"""The power of a rig: its trees settled in every case, then what the packs last."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.feeding import Feeding, PowerLead, Rail, follow
from rigcard.resolve.links import Links
from rigcard.resolve.model import Cable, Rig
from rigcard.resolve.power_side import Gauge, Window
from rigcard.solve.power.copper import lead_ohms
from rigcard.solve.power.net import Branch, settle
from rigcard.solve.power.packs import charging, pack_uses
from rigcard.solve.power.result import CASES, Case, Figures, LeadUse, OutletUse, Power, RailUse, SourceUse

Wires = Mapping[str, Gauge]  # other wire for a cable, to try


def power_of(rig: Rig, links: Links) -> Power:
    """The power of a rig, of which at least one unit supplies or holds some."""
    feeding = follow(rig, links)
    states = [state(rig, feeding, case) for case in CASES]
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
    for unit in rig.units.values():
        if supply := unit.model.power.supply:
            rail = unit.name, unit.model.power.rails[supply.ports[0]]
            amps = tuple(found.total.get(rail, 0.0) for found in states)
            fails = tuple(case for case, found in zip(CASES, states, strict=True) if rail not in found.total)
            sources[unit.name] = SourceUse(unit.name, rail, supply, amps, fails, _watts(rig, feeding, rail))
    watts = {name: Fraction(source.watts).limit_denominator(10**6) for name, source in sources.items()}
    packs = pack_uses(rig, watts)
    return Power(
        feeding, rails, leads, _outlets(rig, feeding, states, leads), sources, packs, charging(rig, packs)
    )


class State(NamedTuple):
    """One case: volts of rails, amperes of leads by leg, and all that flows out of the first rail of a section.

    A source whose loads cannot be fed is missing from all three.
    """

    volts: dict[Rail, float]
    leads: dict[str, float]
    total: dict[Rail, float]


def state(rig: Rig, feeding: Feeding, case: Case, wires: Wires | None = None) -> State:
    """Every source's net in one case."""
    found = State({}, {}, {})
    for rail, fed in feeding.rails.items():
        supply = rig.units[rail[0]].model.power.supply
        if fed.parent is None and supply:
            one = State({}, {}, {})
            volts = float(supply.empty if case.empty else supply.full)
            if _section(rig, feeding, rail, volts, case.peak, wires or {}, one) is not None:
                found.volts.update(one.volts)
                found.leads.update(one.leads)
                found.total.update(one.total)
    return found


def _watts(rig: Rig, feeding: Feeding, rail: Rail) -> float:
    """What a source gives with all loads at rest, at its nominal volts."""
    side = rig.units[rail[0]].model.power
    assert side.supply
    middle = (side.supply.empty + side.supply.full) / 2
    volts = float(side.capacity.volts if side.capacity and side.capacity.volts else middle)
    return volts * (_section(rig, feeding, rail, volts, False, {}, State({}, {}, {})) or 0.0)


def _section(
    rig: Rig, feeding: Feeding, first: Rail, volts: float, peak: bool, wires: Wires, out: State
) -> float | None:
    """Settle the rails of one voltage from `first` on, regulators before what feeds them; the current of all.

    None: the loads, or those behind one of its regulators, cannot be fed.
    """
    rails = [first]
    for rail in rails:  # grows while it is walked
        rails += [child for child in feeding.children.get(rail, ()) if feeding.rails[child].leads]
    place = {rail: number for number, rail in enumerate(rails)}
    branches = []
    for rail in rails:
        amps, watts = _drawn(rig, rail, peak)
        for child in feeding.children.get(rail, ()):
            fed = feeding.rails[child]
            if fed.regulator:
                assert fed.regulator.volts and fed.regulator.efficiency
                level = float(fed.regulator.volts)
                behind = _section(rig, feeding, child, level, peak, wires, out)
                if behind is None:
                    return None
                watts += level * behind / float(fed.regulator.efficiency)
        fed = feeding.rails[rail]
        parent = place[fed.parent] if fed.parent in place and rail != first else 0
        resistance = _together([ohms(rig, lead, wires) for lead in fed.leads]) if rail != first else 0.0
        branches.append(Branch(parent, resistance, amps, watts))
    settled = settle(volts, branches)
    if settled is None:
        return None
    out.volts.update(zip(rails, settled.volts, strict=True))
    for rail, current in list(zip(rails, settled.amps, strict=True))[1:]:
        fed = feeding.rails[rail]
        shares = _shares([ohms(rig, lead, wires) for lead in fed.leads])
        for lead, share in zip(fed.leads, shares, strict=True):
            out.leads[lead.wire.leg.id] = current * share
    out.total[first] = settled.amps[0]
    return settled.amps[0]


def _drawn(rig: Rig, rail: Rail, peak: bool) -> tuple[float, float]:
    """Constant currents and constant powers on a rail."""
    side = rig.units[rail[0]].model.power
    amps = watts = 0.0
    for draw in side.draws:
        if draw.ports and side.rails[draw.ports[0]] == rail[1]:
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
    found = [window for window in side.windows if side.rails[window.ports[0]] == rail[1]]
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
            rail = unit.name, unit.model.power.rails[outlet.ports[0]]
            if rail not in feeding.rails:
                continue
            amps: Figures = tuple(one.total.get(rail, 0.0) for one in states)
            if outlet.volts is None:
                through = [use.amps for use in given.get(unit.name, ()) if use.lead.giver.port in outlet.ports]
                amps = tuple(sum(column) for column in zip(*through, strict=True)) or (0.0,) * len(states)
            found.append(OutletUse(unit.name, outlet, amps))
    return found
