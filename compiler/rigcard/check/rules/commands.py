"""Rules on commands: what they need before they can work."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Command, Rig, Unit


def _sent(facts: Facts) -> Iterator[tuple[Unit, Command]]:
    """The commands that some wired input can send, with the unit that obeys them."""
    for order in facts.links.command_links:
        receiver = facts.rig.units[order.receiver]
        for feed in facts.links.feeds:
            if feed.unit == order.sender:
                names = [feed.input.name] if feed.input.sweep else feed.input.states
                for name in names:
                    if name in receiver.model.commands:
                        yield receiver, receiver.model.commands[name]


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
    Reports: a command that works only with a setting that the unit does not have.
    Why: power and picture are good and no command works; the commonest half hour lost on a set morning.
    Bad: set socket "Closed", and a switch that runs the camera
    Good: set socket "Orders"
    """
    told: set[tuple[str, str]] = set()
    for unit, command in _sent(facts):
        for need in command.needs:
            if need.value is None or (unit.name, need.name) in told:
                continue
            value = unit.settings.get(need.name)
            if value is None or value.text != need.value:
                told.add((unit.name, need.name))
                shown = f'is "{value.text}"' if value else "is not stated"
                yield Finding(
                    value.span if value else unit.span,
                    f'`{command.name}` needs setting `{need.name}` at "{need.value}" on `{unit.name}`, '
                    f"and it {shown}",
                    f'write `set {need.name} "{need.value}"` in its block',
                    (Related(need.span, "needed here"),),
                    (unit.name,),
                )


@rule("RC343", Severity.ERROR)
def unmet_need(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a command that works only with something that no mounted unit offers, such as an electronic iris.
    Why: the record key works and the iris does not, and the fault is looked for in the radio.
    Bad: an iris command to a camera whose lens has a manual iris
    Good: a lens whose model says `offers electronic-iris`, mounted on the camera; or a lens motor
    """
    told: set[tuple[str, str]] = set()
    for unit, command in _sent(facts):
        for need in command.needs:
            if need.value is not None or need.name in _offered(facts.rig, unit):
                continue
            if (unit.name, need.name) not in told:
                told.add((unit.name, need.name))
                yield Finding(
                    unit.span,
                    f"`{command.name}` of `{unit.name}` needs {need.name}, and nothing mounted on it offers that",
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
