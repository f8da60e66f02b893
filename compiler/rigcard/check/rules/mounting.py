"""Rules on what is mounted how and on what: heads, cameras, and the leads between what moves and what stands still."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import plugs
from rigcard.resolve.model import Cable, Rig, Unit
from rigcard.resolve.payload import load_of
from rigcard.resolve.words import a_role
from rigcard.words import listed


@rule("RC392", Severity.WARNING)
def hung_without_flips(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit that is mounted underslung, although its model does not say which inputs that reverses.
    Why: every direction is then computed as if the head stood upright, and pan or tilt goes the other way.
    Bad: mount underslung, with a model that has no line `underslung flips`
    Good: underslung flips pan, tilt
    """
    for unit in facts.rig.units.values():
        if unit.underslung and not unit.model.flips:
            axes = [known.name for known in unit.model.inputs.values() if known.sweep] or ["pan", "tilt"]
            yield Finding(
                unit.span,
                f"`{unit.name}` is mounted underslung, and model `{unit.model.name}` does not say what that turns round",
                f"find out on the bench and write `underslung flips {', '.join(axes[:2])}`, or what it is, in the model",
                (Related(unit.model.span, "its model"),),
            )


@rule("RC393", Severity.WARNING)
def reversed_as_if_hung(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit whose inputs are reversed as for a head that hangs, and that is not said to hang: its `mount` line is
        missing, or says upright while all the inputs are reversed that hanging would turn round.
    Why: the compiler takes it as upright; if it hangs, every proven direction of pan and tilt is wrong.
    Bad: unit head is head-3 "Head" { input pan from pan reversed; input tilt from tilt reversed }
    Good: unit head is head-3 "Head" { mount underslung; input pan from pan reversed; input tilt from tilt reversed }
    """
    for unit in facts.rig.units.values():
        turned = [name for name in unit.model.flips if (source := unit.sources.get(name)) and source.reversed]
        heard = [name for name in unit.model.flips if name in unit.sources]
        if not turned or unit.underslung or (unit.underslung is False and (turned != heard or len(turned) < 2)):
            continue
        how = "is not said to hang" if unit.underslung is None else "says `mount upright`"
        yield Finding(
            unit.span,
            f"`{unit.name}` has {listed(turned)} reversed, as a head that hangs needs it, and {how}",
            "write `mount underslung` in its block if it hangs"
            + ("; if it does not, write `mount upright`" if unit.underslung is None else ""),
        )


@rule("RC394", Severity.WARNING, tier=2)
def lead_to_moving_part_lies_still(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead between a head, or something that it carries, and a unit that it does not carry, without `moving`;
        one message a head.
    Why: the lead bends with every turn; without a loop it tears, and a flag label on it flutters and snags.
    Bad: cable V11 "Picture" { cam.sdi to view.sdi; length 25m; jacket 6mm }, from a head to the ground
    Good: cable V11 "Picture" { cam.sdi to view.sdi; length 25m; jacket 6mm; moving }
    """
    told = {load.name for load, _ in not_carried(facts.rig)}
    for head, borne in _heads(facts.rig):
        found = [
            (cable, *ends)
            for cable in _leads_at(facts.rig, {head.name, *borne})
            if not (cable.moving or cable.airborne)
            and (ends := _across(facts.rig, cable, head, borne))
            and ends[1] not in told
        ]
        if not found:
            continue
        cable, on, off = found[0]
        names = [f"`{other.name}`" for other, _, _ in found]
        turns = "turns" if on == head.name else f"`{head.name}` carries"
        yield Finding(
            cable.span,
            f"cable `{cable.name}` goes from `{on}`, which {turns}, to `{off}`, which it does not carry, and does not say "
            "`moving`"
            + (f"; so {'does' if len(names) == 2 else 'do'} {listed(names[1:])}" if len(names) > 1 else ""),
            f"write `moving` in its block, or `mounted on {head.name}` in the block of `{off}` if it rides there",
        )


@rule("RC369", Severity.WARNING, tier=2)
def lead_not_said_to_fly(facts: Facts) -> Iterator[Finding]:
    """
    Reports: leads between units that fly, for they are or ride on one with `hazard airborne`, without `airborne` or
        `moving`; one message a rig.
    Why: their labels are flags then; a flag flutters in the wind of the propellers, and gets into them.
    Bad: cable S03 "Focus lead" { rx.p4 to motor.signal; length 300mm; jacket 3mm }, from a receiver on a craft
    Good: cable S03 "Focus lead" { rx.p4 to motor.signal; length 300mm; jacket 3mm; airborne }
    """
    rig = facts.rig
    flies = {
        unit.name
        for unit in rig.units.values()
        if any("airborne" in rig.units[name].model.hazards for name in (unit.name, *_carriers(rig, unit.name)))
    }
    bare = [
        cable
        for cable in rig.cables.values()
        if cable.legs
        and not (cable.moving or cable.airborne)
        and all(end and end.unit in flies for leg in cable.legs for end in (leg.first, leg.second))
    ]
    if bare:
        names = [f"`{cable.name}`" for cable in bare]
        does, block = ("flies and does", "its block") if len(bare) == 1 else ("fly and do", "the block of each")
        yield Finding(
            bare[0].span, f"{listed(names)} {does} not say `airborne`", f"write `airborne` in {block}"
        )


def _leads_at(rig: Rig, units: set[str]) -> list[Cable]:
    """The cables that are plugged in at some units, in the order of the file."""
    found = {plug.at: plug.cable for name in units for plug in plugs(rig).get(name, ())}
    return [found[at] for at in sorted(found)]


def _across(rig: Rig, cable: Cable, head: Unit, borne: set[str]) -> tuple[str, str] | None:
    """The units at the ends of a leg of which the head turns one and not the other."""
    for leg in cable.legs:
        ends = [end.unit for end in (leg.first, leg.second) if end]
        on = [name for name in ends if name in borne or name == head.name]
        off = [name for name in ends if name not in on]
        if on and off and not (on == [head.name] and _stand_together(rig, head, off[0])):
            return on[0], off[0]
    return None


def _heads(rig: Rig) -> list[tuple[Unit, set[str]]]:
    """Heads that carry units, with the names of all these."""
    found = []
    for unit in rig.units.values():
        if unit.role == "head":
            borne = {burden.name for burden in load_of(rig, unit).burdens if burden.name in rig.units}
            found += [(unit, borne)] if borne else []
    return found


def _stand_together(rig: Rig, head: Unit, other: str) -> bool:
    """Whether a unit and a head stand on one carrier, or the unit bears the head: the lead goes to its foot."""
    return bool({other, *_carriers(rig, other)} & set(_carriers(rig, head.name)))


def _carriers(rig: Rig, name: str) -> list[str]:
    found: list[str] = []
    at = rig.units[name].mounted_on
    while at and at not in found and at in rig.units:
        found.append(at)
        at = rig.units[at].mounted_on
    return found


@rule("RC395", Severity.WARNING)
def load_not_carried(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a camera with a load, or a head, that no unit carries, while a rated unit that would carry it carries none:
        a head, or for a head a crane, a trolley or the like.
    Why: the payload and the mass for the rigger lack it and everything on it.
    Bad: unit cam is camera-c "Camera", unit lens is lens-35 "Lens" { mounted on cam }, and a head with `carries 9kg`
    Good: unit cam is camera-c "Camera" { mounted on head }
    """
    for load, carrier in not_carried(facts.rig):
        what, counted = ("has units on it and is", "them") if load.role == "camera" else ("is", "it")
        yield Finding(
            load.span,
            f"`{load.name}` {what} on nothing, and `{carrier.name}` carries no {load.role}: its load is "
            f"counted without {counted}",
            f"write `mounted on {carrier.name}` in the block of `{load.name}`",
        )


def not_carried(rig: Rig) -> list[tuple[Unit, Unit]]:
    """What is on nothing, with a rated unit that carries none of its kind: cameras with something on them, and heads."""
    carriers = {unit.mounted_on for unit in rig.units.values()}
    loose = [unit for unit in rig.units.values() if unit.mounted_on is None]
    cameras = [unit for unit in loose if unit.role == "camera" and unit.name in carriers]
    heads = [unit for unit in loose if unit.role == "head"]
    found: dict[str, tuple[Unit, Unit]] = {}
    for carrier in rig.units.values() if cameras or heads else ():
        if carrier.model.carries is None:
            continue
        loads: list[Unit] = []
        if carrier.role == "other" and carrier.name not in carriers:
            loads = heads
        elif carrier.role == "head":
            borne = [rig.units[one.name] for one in load_of(rig, carrier).burdens if one.name in rig.units]
            loads = [] if any(unit.role == "camera" for unit in borne) else cameras
        for load in loads:
            found.setdefault(load.name, (load, carrier))
    return list(found.values())


@rule("RC396", Severity.WARNING, tier=2)
def leads_not_weighed(facts: Facts) -> Iterator[Finding]:
    """
    Reports: leads between units on one head whose model says what it may carry, that are not counted in its load; one
        message a head.
    Why: the load on the card lacks all of them; leads and plugs soon weigh a kilogram.
    Bad: cable W03 "Bridge to camera" { bridge.camera to cam.control; length 400mm; jacket 4mm }
    Good: cable W03 "Bridge to camera" { bridge.camera to cam.control; length 400mm; jacket 4mm; mass 40g; rides head }
    """
    for head, borne in _heads(facts.rig):
        if head.model.carries is None:
            continue
        on = {head.name, *borne}
        bare = [
            cable.name
            for cable in _leads_at(facts.rig, on)
            if cable.build.rides is None
            and all(end and end.unit in on for leg in cable.legs for end in (leg.first, leg.second))
        ]
        if bare:
            are = "is a lead" if len(bare) == 1 else "are leads"
            yield Finding(
                facts.rig.cables[bare[0]].span,
                f"{listed([f'`{name}`' for name in bare])} {are} on `{head.name}`, and not counted in what it carries",
                f"weigh {'it' if len(bare) == 1 else 'them'} and write, for example, `mass 40g` and `rides {head.name}`",
            )


BEARS_LENS = ("camera", "lens-mount", "lens", "other")  # "other": an adapter without contacts, or a plate


@rule("RC345", Severity.WARNING)
def lens_sits_on_nothing(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lens mounted on what takes no lens, such as a head, or a second lens on one camera or lens mount.
    Why: the camera is without its lens, or a lens is left over from the swap: mass, iris and cards are then wrong.
    Bad: unit lens is lens-50 "50 mm" { mounted on head }
    Good: unit lens is lens-50 "50 mm" { mounted on cam }
    """
    rig = facts.rig
    cameras = [unit.name for unit in rig.units.values() if unit.role == "camera"]
    first: dict[str, Unit] = {}
    for unit in rig.units.values():
        carrier = rig.units.get(unit.mounted_on or "")
        if unit.role != "lens" or carrier is None:
            continue
        if carrier.role not in BEARS_LENS:
            yield Finding(
                unit.span,
                f"lens `{unit.name}` is mounted on `{carrier.name}`, which is {a_role(carrier.role)}",
                f"write `mounted on {cameras[0]}` in its block"
                if cameras
                else f"remove `mounted on {carrier.name}`, or add its camera and mount it on that",
                units=(unit.name,),
            )
        elif carrier.role in ("camera", "lens-mount") and first.setdefault(carrier.name, unit) is not unit:
            other = first[carrier.name].name
            yield Finding(
                unit.span,
                f"`{other}` and `{unit.name}` are both lenses on `{carrier.name}`, which takes one",
                f"write `spare for {other}` after the title of the one that lies in its case",
                (Related(first[carrier.name].span, "the other lens"),),
                (unit.name,),
            )
