"""Claims on volts, amperes and packs. A rig that speaks of no power passes at once, and imports nothing for it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.solve.claims import Proof, claim
from rigcard.source import Span

if TYPE_CHECKING:
    from rigcard.resolve.feeding import Rail
    from rigcard.solve.power.result import Figures, LeadUse, Power, RailUse

ROUNDING = 1e-6  # V or A: what counts as met


@claim("RC461", Severity.ERROR)
def volts_below_window(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a unit that gets less than it takes at some load, with its pack full or near empty.
    Why: a camera cuts out when the head whips and the pack is low, because the lead loses the last volts.
    Bad: wire 0.75mm2 in 10 m of lead, for 5 A, behind a pack that falls to 13.2 V, into `takes 11.5V..17V`
    Good: wire 1.5mm2
    """
    power = proof.solved.power
    for use in power.rails.values() if power else ():
        if power is None or use.window is None or _failed(power, use):
            continue
        case = min(range(len(use.volts)), key=lambda at: use.volts[at])
        if use.volts[case] < float(use.window.low) - ROUNDING:
            yield _below(proof, power, use, case)


def _below(proof: Proof, power: Power, use: RailUse, case: int) -> Finding:
    from rigcard.solve.power.remedy import larger_wire, losses, other_pack
    from rigcard.solve.power.result import CASES
    from rigcard.solve.power.wording import volts

    assert use.window
    rig = proof.solved.rig
    lost = [loss for loss in losses(power, use.rail, case) if loss.volts > ROUNDING]
    if use.volts[case] + sum(loss.volts for loss in lost) < float(use.window.low):
        lost = []  # too few volts go in: no lead is to blame, and none would mend it
    gets = volts(use.volts[case])
    if gets == volts(use.window.low):  # both round alike
        gets = (
            f"{use.volts[case]:.4g} V"
            if float(f"{use.volts[case]:.4g}") < use.window.low
            else f"just under {gets}"
        )
    cause = f"`{use.rail[0]}` gets {gets} {CASES[case].words(power.level(use.rail))}, and takes {volts(use.window.low)} or more"
    if lost:
        cause += f": {lost[0].lead.wire.leg.id} loses {volts(lost[0].volts)}"
    remedy = larger_wire(rig, power, use.rail, case, float(use.window.low))
    source = f"`{use.source[0]}`"
    pack = None if remedy else other_pack(rig, power, use.rail)
    if remedy:
        hint = f"write `wire {remedy.wire.written}` in {remedy.cable} and take such a lead: it leaves {volts(remedy.volts)}"
    elif pack:
        hint = f"write `unit {pack.unit} is {pack.model}` and take such a pack: it leaves {volts(pack.volts)}"
    elif lost:
        hint = f"shorten {lost[0].lead.wire.leg.id}, or feed `{use.rail[0]}` from nearer; no larger wire alone will do"
    else:
        more = float(use.window.low) - use.volts[case]
        supply = power.sources[use.source[0]].supply
        wanted = ceil((float(supply.empty) + more) * 10) / 10
        hint = f"feed `{use.rail[0]}` from a source of {volts(wanted)} or more near empty in place of {source}"
    return Finding(_place(proof, use), cause, hint, units=(use.rail[0],))


@claim("RC462", Severity.ERROR)
def volts_above_window(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a unit that gets more volts than it takes, with its pack full and nothing drawn.
    Why: too many volts on a servo rail burn the adapter at once.
    Bad: regulates power to p1..p8 at 7.4V, into an adapter that `takes 4.5V..5.5V`
    Good: regulates power to p1..p8 at 5V
    """
    power = proof.solved.power
    for use in power.rails.values() if power else ():
        if power is None or use.window is None:
            continue
        from rigcard.solve.power.wording import volts

        highest, giver = _unloaded(proof, power, use)
        if highest > float(use.window.high) + ROUNDING:
            yield Finding(
                _place(proof, use),
                f"`{use.rail[0]}` gets up to {volts(highest)} from `{giver}`, and takes {volts(use.window.high)} at most",
                f"feed it from a source or regulator of {volts(use.window.low)} to {volts(use.window.high)}",
                units=(use.rail[0],),
            )


def _unloaded(proof: Proof, power: Power, use: RailUse) -> tuple[float, str]:
    """The highest volts that can stand on a rail, and the unit that gives them."""
    found = []
    for way in power.ways:
        rail = use.rail
        while not (fed := way.rails[rail]).regulator and fed.parent:
            rail = fed.parent
        if fed.regulator and fed.regulator.volts:
            found.append((float(fed.regulator.volts), rail[0]))
        else:
            supply = proof.solved.rig.units[rail[0]].model.power.supply
            assert supply
            found.append((float(supply.full), rail[0]))
    return max(found, key=lambda one: one[0])


@claim("RC463", Severity.ERROR)
def load_cannot_be_fed(proof: Proof) -> Iterator[Finding]:
    """
    Reports: loads that ask for more watts than their leads let through, so that the volts collapse.
    Why: as the volts fall, such a load draws more, and the volts fall further until everything goes out.
    Bad: draws 120W behind 50 m of AWG24 from a pack of 14 V
    Good: draws 120W behind 5 m of AWG12
    """
    power = proof.solved.power
    for source in power.sources.values() if power else ():
        if power is None or not source.fails:
            continue
        from rigcard.solve.power.wording import amps

        behind = [
            use
            for use in power.leads.values()
            if use.ohms and power.feeding.source_of(use.lead.source) == source.rail
        ]
        worst = max(behind, key=lambda use: use.ohms or 0.0, default=None)
        span = worst.lead.taker.span if worst else proof.solved.rig.units[source.unit].span
        case = source.fails[-1] if source.fails[0].peak else source.fails[0]
        where = f" through {worst.lead.wire.leg.id}" if worst else ""
        longest = max(source.amps, default=0.0)
        known = f"; it gives {amps(longest)} where they can" if longest else ""
        yield Finding(
            span,
            f"`{source.unit}` cannot feed its loads{where} {case.words(power.level(source.rail))}: the volts collapse{known}",
            _thicker(proof, power, worst) if worst else "split the loads",
            units=(source.unit,),
        )


def _thicker(proof: Proof, power: Power, use: LeadUse) -> str:
    from rigcard.solve.power.remedy import wire_that_feeds

    cable = use.lead.wire.cable.name
    gauge = wire_that_feeds(proof.solved.rig, power, use)
    if gauge:
        return f"write `wire {gauge.written}` in {cable} and take such a lead: it feeds them"
    return f"use a shorter lead than {cable}; no larger wire alone will do"


@claim("RC464", Severity.ERROR)
def lead_over_rating(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a lead that carries more amperes than are marked on it.
    Why: a thin lead gets hot, and its plug first; current rises as the pack falls where a load is given in watts.
    Bad: rated 5A, for a load of 120 W behind a pack of 14.4 V
    Good: rated 10A
    """
    power = proof.solved.power
    if power is None:
        return
    for use in power.leads.values():
        from rigcard.solve.power.wording import amps

        rated = use.lead.wire.cable.power.rated
        if rated is not None and max(use.amps) > float(rated) + ROUNDING:
            yield Finding(
                use.lead.taker.span,
                f"{use.lead.wire.leg.id} carries {_most(power, use.lead.source, use.amps)}, and is marked {amps(rated)}",
                f"use a lead rated {ceil(max(use.amps))}A or more",
            )


@claim("RC468", Severity.ERROR)
def connector_over_rating(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a connector that carries more amperes than its kind is rated for.
    Why: its pins get hot and soft; it works for an hour and then not again.
    Bad: connector power-2 "Two-pin power" rated 3A, on the lead of a load of 5 A
    Good: connector power-4 "Four-pin power" rated 15A
    """
    power = proof.solved.power
    rig = proof.solved.rig
    if power is None:
        return
    for use in power.leads.values():
        from rigcard.solve.power.wording import amps

        lead = use.lead
        kinds = [rig.port(end).connector for end in (lead.giver, lead.taker)]
        kinds += lead.wire.cable.build.plugs or ()
        for kind in dict.fromkeys(kinds):
            known = rig.inventory.connectors.get(kind or "")
            if known and known.rated is not None and max(use.amps) > float(known.rated) + ROUNDING:
                yield Finding(
                    lead.taker.span,
                    f"connector `{known.name}` of {lead.wire.leg.id} carries {_most(power, use.lead.source, use.amps)}, and is rated "
                    f"{amps(known.rated)}",
                    f"use a kind of connector rated {ceil(max(use.amps))}A or more, or split the load",
                    (Related(known.span, "its kind"),),
                )
                break


@claim("RC465", Severity.ERROR)
def fuse_blows(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a fuse that the peak current goes beyond, in a lead or on the outputs of a unit.
    Why: it blows in the first whip of the head, and the rig is down.
    Bad: fuse 5A, for a peak of 8.3 A
    Good: fuse 10A, in a lead rated 10A or more
    """
    power = proof.solved.power
    if power is None:
        return
    from rigcard.solve.power.wording import amps

    for use in power.leads.values():
        fuse = use.lead.wire.cable.power.fuse
        if fuse is not None and max(use.amps) > float(fuse) + ROUNDING:
            yield Finding(
                use.lead.taker.span,
                f"the fuse of {use.lead.wire.leg.id}, {amps(fuse)}, sees {_most(power, use.lead.source, use.amps)}",
                f"use a lead and a fuse of {ceil(max(use.amps))}A or more, or draw less",
            )
    given: dict[str, list[LeadUse]] = {}
    for use in power.leads.values():
        given.setdefault(use.lead.giver.unit, []).append(use)
    for unit in proof.solved.rig.units.values():
        leaving = given.get(unit.name, [])
        total = tuple(sum(column) for column in zip(*(use.amps for use in leaving), strict=True))
        if unit.model.power.fuse is not None and total and max(total) > float(unit.model.power.fuse) + ROUNDING:
            yield Finding(
                unit.span,
                f"the fuse of `{unit.name}`, {amps(unit.model.power.fuse)}, sees {_most(power, leaving[0].lead.source, total)}",
                "feed a part of its loads from another source",
                units=(unit.name,),
            )


@claim("RC466", Severity.ERROR)
def supply_over_limit(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a source, a regulator or a port that must give more amperes than it may.
    Why: it folds back or shuts down, and everything on it goes out together.
    Bad: regulates power to rail at 5V efficiency 90% up to 1A, for servos that draw 1.6 A
    Good: regulates power to rail at 5V efficiency 90% up to 3A
    """
    power = proof.solved.power
    if power is None:
        return
    from rigcard.solve.power.wording import amps

    rig = proof.solved.rig
    for source in power.sources.values():
        limit = source.supply.limit
        if limit is not None and max(source.amps) > float(limit) + ROUNDING:
            yield Finding(
                rig.units[source.unit].span,
                f"`{source.unit}` must give {_most(power, source.rail, source.amps)}, and may give {amps(limit)}",
                "feed a part of its loads from another source",
                units=(source.unit,),
            )
    for use in power.outlets:
        limit = use.outlet.limit
        if limit is not None and max(use.amps) > float(limit) + ROUNDING:
            ports = use.outlet.ports
            named = f"{ports[0]}..{ports[-1]}" if len(ports) > 1 else ports[0]
            ports_rail = rig.units[use.unit].model.power.rails[ports[0]]
            what = "regulator" if use.outlet.volts is not None else "port"
            yield Finding(
                rig.units[use.unit].span,
                f"the {what} `{use.unit}.{named}` must give {_most(power, (use.unit, ports_rail), use.amps)}, and may give {amps(limit)}",
                "feed a part of what hangs on it from another source",
                units=(use.unit,),
            )


@claim("RC467", Severity.WARNING)
def night_too_short(proof: Proof) -> Iterator[Finding]:
    """
    Reports: more packs for the day than the chargers can charge in the night.
    Why: the second day begins with flat packs.
    Bad: night 10h, for 7 packs of 3.5 h each on 2 bays: two rounds, 4 packs
    Good: a charger with 4 bays
    """
    power = proof.solved.power
    plan = power.charging if power else None
    if plan is None or plan.night is None or plan.fits is None or plan.fits >= plan.packs:
        return
    from rigcard.solve.power.wording import clock

    hint = "charge in the day too, or bring more packs"
    if plan.bays_needed is not None:
        hint = f"bring chargers with {plan.bays_needed} bays in all, or charge in the day too"
    charger = next(unit for unit in proof.solved.rig.units.values() if unit.model.power.bays)
    yield Finding(
        charger.span,
        f"{plan.packs} packs on {plan.bays} bay{'s' * (plan.bays > 1)} take {clock(plan.hours)}, and the night is {clock(plan.night)}",
        hint,
    )


def _failed(power: Power, use: RailUse) -> bool:
    return bool(power.sources[use.source[0]].fails)


def _most(power: Power, rail: Rail, figures: Figures) -> str:
    """The largest current out of a rail with its case."""
    from rigcard.solve.power.result import CASES
    from rigcard.solve.power.wording import amps

    case = max(range(len(figures)), key=lambda at: figures[at])
    return f"{amps(figures[case])} {CASES[case].words(power.level(rail))}"


def _place(proof: Proof, use: RailUse) -> Span:
    """Where power comes to a rail."""
    leads = proof.solved.power.feeding.rails[use.rail].leads if proof.solved.power else ()
    return leads[0].taker.span if leads else proof.solved.rig.units[use.rail[0]].span


@claim("RC469", Severity.WARNING)
def case_too_heavy_with_packs(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a case that all packs of the day make heavier than its limit.
    Why: the packs are charged, but the airline refuses the case, or somebody hurts their back.
    Bad: six packs of 3 kg for a day of 10 h, in case "Case 1" empty 7kg up to 23kg
    Good: the packs in a case of their own
    """
    power, rig = proof.solved.power, proof.solved.rig
    if power is None:
        return
    from rigcard.solve.power.provision import provided
    from rigcard.words import kilograms

    for case in provided(rig, power):
        added: dict[str, Fraction] = {}  # by the packs after the first, of which RC373 speaks
        for piece in case.pieces:
            if piece.more_of:
                added[piece.more_of] = added.get(piece.more_of, Fraction(0)) + (piece.mass or 0)
        if case.limit is None or not case.mass - sum(added.values()) <= case.limit < case.mass:
            continue
        over = case.mass - case.limit
        sets = sorted((mass + (rig.units[name].model.mass or 0), name) for name, mass in added.items())
        mass, name = next((one for one in sets if one[0] >= over), sets[-1])
        yield Finding(
            rig.inventory.cases[case.name].span,
            f"{case.name} weighs {kilograms(case.mass)} with all packs of the day in it, and {kilograms(case.limit)} "
            f"is its limit: over by {kilograms(over)}",
            f"move `{name}` with its packs, {kilograms(mass)}, to another case",
        )


@claim("RC490", Severity.WARNING)
def amperes_over_bare_wire(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a lead without a rating of its own that carries more amperes all the time than a published table gives its
        wire.
    Why: the lead gets hot. The table is for copper at 30 C, two or three loaded cores, no bundle.
    Bad: draws 30A, over wire AWG26
    Good: draws 30A, over wire 4mm2
    """
    power = proof.solved.power
    for use in power.leads.values() if power else ():
        from rigcard.resolve.wire import carries
        from rigcard.solve.power.copper import thicker
        from rigcard.solve.power.result import AT_REST
        from rigcard.solve.power.wording import amps

        cable = use.lead.wire.cable
        steady = max(use.amps[case] for case in AT_REST)
        if cable.power.rated is not None or cable.power.wire is None:
            continue
        if steady <= float(carries(cable.power.wire)) + ROUNDING:
            continue
        larger = next((gauge for gauge in thicker(cable.power.wire) if carries(gauge) >= steady), None)
        yield Finding(
            use.lead.taker.span,
            f"{use.lead.wire.leg.id} is of {cable.power.wire.shown}, which carries {amps(carries(cable.power.wire))} by "
            f"the table, and carries {amps(steady)} all the time",
            f"write `wire {larger.written}` in {cable.name} and take such a lead"
            if larger
            else f"split the load behind {cable.name} over two leads",
        )


@claim("RC491", Severity.ERROR)
def regulator_below_output(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a regulator that gets fewer volts than it gives, and whose model does not say that it steps up.
    Why: a regulator that only lowers volts then gives what it gets or nothing, and its loads go out.
    Bad: regulates power to dc at 12V efficiency 90%, behind a pack that falls to 6 V
    Good: regulates power to dc at 12V efficiency 90% steps up
    """
    power = proof.solved.power
    if power is None:
        return
    from rigcard.solve.power.result import CASES
    from rigcard.solve.power.wording import volts

    for rail, fed in power.feeding.rails.items():
        regulator = fed.regulator
        use = power.rails.get(fed.parent) if fed.parent else None
        if (
            regulator is None
            or regulator.volts is None
            or regulator.steps_up
            or use is None
            or _failed(power, use)
        ):
            continue
        case = min(range(len(use.volts)), key=lambda at: use.volts[at])
        if use.volts[case] < float(regulator.volts) - ROUNDING:
            unit = proof.solved.rig.units[rail[0]]
            yield Finding(
                unit.span,
                f"`{unit.name}` gives {volts(regulator.volts)} by `{regulator.ports[0]}` and gets "
                f"{volts(use.volts[case])} {CASES[case].words(power.level(use.rail))}: only a regulator that steps up can",
                f"feed it with more than {volts(regulator.volts)}, or write `steps up` after its efficiency in model "
                f"`{unit.model.name}` if that is what it does",
                (Related(regulator.span, "the regulator"),),
                (unit.name,),
            )


@claim("RC493", Severity.ERROR)
def too_many_packs(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a unit for which the day takes more than 48 packs.
    Why: nobody carries them; a capacity, a draw or the day is written in the wrong unit, such as mAh for Ah.
    Bad: capacity 3.4mAh at 7.2V
    Good: capacity 3.4Ah at 7.2V
    """
    from rigcard.solve.power.packs import MOST_PACKS
    from rigcard.solve.power.wording import watt_hours, watts

    power = proof.solved.power
    for use in power.packs if power else ():
        if not use.beyond_reason:
            continue
        unit = proof.solved.rig.units[use.unit]
        capacity = unit.model.power.capacity
        assert capacity
        yield Finding(
            unit.span,
            f"the day takes {use.packs} packs for `{unit.name}`, and more than {MOST_PACKS} are not listed: each holds "
            f"{watt_hours(use.energy)} and feeds {watts(use.watts)}",
            "put right whichever is wrong: the `capacity` of the pack, what its loads draw, or the `day`",
            (Related(capacity.span, "its capacity"),),
            (unit.name,),
        )


@claim("RC492", Severity.WARNING)
def fewer_pack_numbers(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a unit that lists fewer pack numbers than the plan of the day needs.
    Why: the list is what is packed; the pack that is missing from it is missing on the day.
    Bad: packs "PK-301", "PK-302", for a day that takes three and a spare
    Good: packs "PK-301", "PK-302", "PK-303", "PK-304"
    """
    from rigcard.solve.power.provision import planned

    for use in planned(proof.solved.power):
        unit = proof.solved.rig.units[use.unit]
        known = len(unit.numbers)
        if unit.packs and known < use.all:
            missing = use.all - known
            yield Finding(
                unit.span,
                f"the day takes {use.packs} + {use.spares} packs for `{unit.name}`, and {known} "
                f"{'is' if known == 1 else 'are'} listed",
                f"write the number{'s' * (missing > 1)} of {missing} more behind `packs`",
            )
