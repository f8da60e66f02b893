"""Rules on commands: what they need before they can work."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Command, Need, Rig, Unit
from rigcard.words import escaped, listed


def _sent(facts: Facts) -> Iterator[tuple[Unit, Command]]:
    """The commands that some wired input can send, with the unit that obeys them."""
    for feed in facts.links.feeds:
        for order in facts.links.orders_of(feed):
            receiver = facts.rig.units[order.receiver]
            for name in feed.input.commands:
                if name in receiver.commands:
                    yield receiver, receiver.commands[name]


def _needing(facts: Facts) -> Iterator[tuple[Unit, str, tuple[Need, ...]]]:
    """What is in use and needs something of its unit: commands, inputs that a channel reaches, ports with a lead."""
    for unit, command in _sent(facts):
        yield unit, f"`{command.name}`", command.needs
    for feed in facts.links.feeds:
        yield facts.rig.units[feed.unit], f"input `{feed.input.name}`", feed.input.needs
    for cable in facts.rig.cables.values():
        for end in (end for leg in cable.legs for end in (leg.first, leg.second) if end):
            yield facts.rig.units[end.unit], f"port `{end.port}`", facts.rig.port(end).needs


def _offered(rig: Rig, unit: Unit) -> set[str]:
    """What the unit and everything mounted on it offers, also through a lens mount with its contacts."""
    offered = set(unit.model.offers)
    waiting = [unit.name]
    for name in waiting:  # grows while it is walked; a circle of mountings ends, as none is walked twice
        for other in rig.units.values():
            if other.mounted_on == name and other.name not in waiting:
                offered.update(other.model.offers)
                if other.role == "lens-mount":
                    waiting.append(other.name)
    return offered


@rule("RC342", Severity.ERROR, tier=2)
def unmet_setting(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a command, an input or a port that works only with a setting that the unit does not have.
    Why: power and picture work, but no command does; this is the most common half hour lost on a morning on set.
    Bad: set socket "Closed", and a switch that runs the camera
    Good: set socket "Orders"
    """
    told: set[tuple[str, str]] = set()
    for unit, what, needs in _needing(facts):
        for need in needs:
            if need.value is None or (unit.name, need.name) in told:
                continue
            value = unit.settings.get(need.name)
            if value is None or value.text != need.value:
                told.add((unit.name, need.name))
                shown = f'is "{value.text}"' if value else "is not stated"
                yield Finding(
                    value.span if value else unit.span,
                    f'{what} needs setting `{need.name}` at "{need.value}" on `{unit.name}`, and it {shown}',
                    f'write `set {need.name} "{escaped(need.value)}"` in its block',
                    (Related(need.span, "needed here"),),
                    (unit.name,),
                )


@rule("RC343", Severity.ERROR)
def unmet_need(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a command, an input or a port that works only with something that no mounted unit offers, such as an electronic iris.
    Why: the record key works and the iris does not, and the fault is looked for in the radio.
    Bad: an iris command to a camera whose lens has a manual iris
    Good: a lens whose model says `offers electronic-iris`, mounted on the camera; or a lens motor
    """
    told: set[tuple[str, str]] = set()
    for unit, what, needs in _needing(facts):
        for need in needs:
            if need.value is not None or need.name in _offered(facts.rig, unit):
                continue
            if (unit.name, need.name) not in told:
                told.add((unit.name, need.name))
                yield Finding(
                    unit.span,
                    f"{what} of `{unit.name}` needs {need.name}, and nothing mounted on it offers that",
                    _to_offer(facts.rig, unit, need.name),
                    (Related(need.span, "needed here"),),
                    tuple(other.name for other in facts.rig.units.values() if need.name in other.model.offers),
                )


def _to_offer(rig: Rig, unit: Unit, need: str) -> str:
    """What to do: where a part between the two does not pass it on, to say that it does."""
    for other in rig.units.values():
        between = rig.units.get(other.mounted_on or "")
        if need in other.model.offers and between and between.mounted_on == unit.name:
            return (
                f"write `role lens-mount` in model `{between.model.name}` if its contacts lead from `{other.name}` to "
                f"`{unit.name}`"
            )
    return f"mount a unit that `offers {need}`, or take the input off this channel"


@rule("RC344", Severity.ERROR)
def key_without_assignment(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a command whose job is chosen in a menu, with nothing chosen.
    Why: the key is pressed and does nothing, or what the last user of the camera chose.
    Bad: command soft-1 does soft-1, and no `set soft-1`
    Good: set soft-1 "Frame marker"
    """
    told: set[tuple[str, str]] = set()
    for unit, command in _sent(facts):
        if command.does and command.does not in unit.settings and (unit.name, command.does) not in told:
            told.add((unit.name, command.does))
            yield Finding(
                unit.span,
                f"`{command.name}` of `{unit.name}` does what setting `{command.does}` says, and it is not stated",
                f'write `set {command.does} "..."` in the block of `{unit.name}`',
            )


@rule("RC377", Severity.ERROR)
def several_follow_one_order(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two units that follow the same sweep over one line, where one of them does not say what it obeys.
    Why: a motor on a chain follows the axis that its switch is set to; as delivered, all of them turn together.
    Bad: units fm and im, both motors that know focus and iris, one after the other on the lead that brings focus
    Good: unit fm ... { obeys focus } and unit im ... { obeys iris }
    """
    told: set[tuple[str, str]] = set()
    for feed in facts.links.feeds:
        if feed.input.sweep is None:
            continue
        name = feed.input.name
        for port in feed.input.sends:
            following = list(
                dict.fromkeys(
                    order.receiver
                    for order in facts.links.by_port.get((feed.unit, port), ())
                    if name in facts.rig.units[order.receiver].commands
                )
            )
            unsaid = [other for other in following if facts.rig.units[other].obeys is None]
            if len(following) < 2 or not unsaid or (unsaid[0], name) in told:
                continue
            told.update((other, name) for other in unsaid)
            unit = facts.rig.units[unsaid[0]]
            yield Finding(
                unit.span,
                f"{listed([f'`{other}`' for other in following])} {'both' if len(following) == 2 else 'all'} "
                f"follow `{name}` of `{feed.unit}.{port}`",
                f"write `obeys {_other_than(unit, following, facts.rig, name)}` in the block of `{unit.name}`",
                units=tuple(following),
            )


def _other_than(unit: Unit, following: list[str], rig: Rig, name: str) -> str:
    """The command that a unit most likely is there for: one that no other of them says it obeys, or is called after."""
    said = {said for other in following for said in rig.units[other].obeys or ()}
    free = [known for known in unit.commands if known not in said]
    alike = [known for known in free if known in unit.name or known in unit.title.lower()]
    return (alike or free or [name])[0]


@rule("RC381", Severity.WARNING, tier=2)
def obeys_what_nobody_sends(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit that `obeys` a command which no lead brings to it.
    Why: two motor leads are exchanged, or the switch on the motor is set to another axis.
    Bad: obeys iris, on the lead from the port that focus leaves by
    Good: obeys focus
    """
    sent = {(unit.name, command.name) for unit, command in _sent(facts)}
    for unit in facts.rig.units.values():
        missing = [name for name in unit.obeys or () if (unit.name, name) not in sent]
        if missing:
            yield Finding(
                unit.span,
                f"`{unit.name}` obeys {listed([f'`{name}`' for name in missing])}, and no lead brings it that",
                "move its lead to the port that the command leaves by, or correct `obeys`",
                units=(unit.name,),
            )
