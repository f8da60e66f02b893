"""Rules on units: links, memories, assets, mounting, settings."""

import re
from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Facts, Finding, rule
from rigcard.check.rules.mounting import not_carried
from rigcard.diagnostics import Related, Severity
from rigcard.reporting.suggest import did_you_mean, one_of
from rigcard.resolve.model import RadioLink, Unit
from rigcard.resolve.radio import on_one_channel
from rigcard.resolve.words import a_role
from rigcard.words import listed


@rule("RC331", Severity.ERROR, tier=0)
def receiver_without_handset(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a receiver that is bound to no handset, or to a unit that is none.
    Why: an unbound receiver puts out nothing, and every function behind it is dead.
    Bad: unit rx is receiver-8 "Receiver"
    Good: unit rx is receiver-8 "Receiver" { bound to hs }
    """
    handsets = [unit.name for unit in facts.rig.units.values() if unit.role == "handset"]
    known = f"known: {one_of(handsets)}" if handsets else "declare the handset first"
    for unit in facts.rig.units.values():
        if unit.role != "receiver" or any(unit.name in link.receivers for link in facts.rig.radio_links):
            continue  # what receives another link has no handset
        bound = facts.rig.units.get(unit.bound_to or "")
        if unit.bound_to is None:
            example = handsets[0] if handsets else "HANDSET"
            yield Finding(
                unit.span,
                f"receiver `{unit.name}` is bound to no handset",
                f"add `bound to {example}`",
                units=tuple(facts.rig.units),
            )
        elif bound and bound.role != "handset":
            yield Finding(
                unit.span,
                f"receiver `{unit.name}` is bound to `{bound.name}`, which is {a_role(bound.role)}",
                f"write `bound to` a handset; {known}",
                units=tuple(facts.rig.units),
            )


@rule("RC332", Severity.ERROR)
def handset_without_receiver(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a handset that no receiver is bound to.
    Why: a second handset that is switched on by mistake, or a receiver that was forgotten.
    Bad: unit hs-b is handset-6 "Camera handset", and no receiver `bound to hs-b`
    Good: unit rx-b is receiver-6 "Camera receiver" { bound to hs-b }
    """
    bound = {unit.bound_to for unit in facts.rig.units.values()}
    for unit in facts.rig.units.values():
        if unit.role == "handset" and unit.name not in bound:
            alike = [
                other.name
                for other in facts.rig.units.values()
                if other.model is unit.model and other.name in bound
            ]
            spare = alike and not unit.channels  # it does nothing of its own
            yield Finding(
                unit.span,
                f"no receiver is bound to handset `{unit.name}`",
                f"write `spare for {alike[0]}` after its title, for it has no channel"
                if spare
                else f"add `bound to {unit.name}` to its receiver",
                units=tuple(facts.rig.units),
            )


@rule("RC333", Severity.ERROR)
def handset_without_memory(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a handset without the number and name of its model memory.
    Why: in the wrong memory everything half works; the power-up card must say what the screen reads.
    Bad: unit hs is handset-12 "Handset" { channel 1 pan from right-across }
    Good: unit hs is handset-12 "Handset" { memory 4 "GORGE C"; channel 1 pan from right-across }
    """
    for unit in facts.rig.units.values():
        if unit.role == "handset" and (unit.memory is None or not unit.memory[1].strip()):
            yield Finding(
                unit.span,
                f"handset `{unit.name}` does not name its model memory",
                'add `memory NUMBER "NAME"` as its screen shows it',
            )


@rule("RC334", Severity.ERROR)
def doubled_asset(facts: Facts) -> Iterator[Finding]:
    """
    Reports: one asset number on two units, or on packs of two units, or one serial number on two of one model; capitals
        do not count, as in its code.
    Why: the rental house would look for two devices and find one.
    Bad: asset "PK-098" in two units
    Good: asset "PK-098" and asset "PK-099"
    """
    taken: dict[str, Unit] = {}
    serials: dict[tuple[str, str], Unit] = {}
    for unit in (*facts.rig.units.values(), *facts.rig.spare_units.values()):
        alike = serials.setdefault((unit.model.name, unit.serial.upper()), unit) if unit.serial else unit
        if alike is not unit:
            yield Finding(
                unit.span,
                f"`{alike.name}` and `{unit.name}` are of model `{unit.model.name}` and have the same serial number "
                f"{unit.serial}",
                "read the number on each device again",
                (Related(alike.span, "the other unit"),),
            )
        for number in unit.numbers:
            first = taken.setdefault(number.upper(), unit)
            if first is not unit:
                yield Finding(
                    unit.span,
                    f"`{first.name}` and `{unit.name}` have the same asset number {number}",
                    "read the number on each device again",
                    (Related(first.span, "the other unit"),),
                )


@rule("RC316", Severity.WARNING)
def units_called_alike(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two units with one title, or with one name on labels and drawings; capitals do not count. Spares are left
        out.
    Why: two labels then send a plug to the same place, and nobody knows which of the two a card means.
    Bad: `short "RX"` in the blocks of two receivers
    Good: `short "RX A"` and `short "RX B"`
    """
    titles: dict[str, Unit] = {}
    labels: dict[str, Unit] = {}
    for unit in facts.rig.units.values():
        first = titles.setdefault(unit.title.casefold(), unit)
        if first is not unit:
            yield Finding(
                unit.span,
                f"`{first.name}` and `{unit.name}` have the same title “{unit.title}”",
                "give each a title that tells it from the other",
                (Related(first.span, "the other unit"),),
            )
        labelled = labels.setdefault(unit.label.casefold(), unit)
        if labelled is not unit and first is unit:
            yield Finding(
                unit.span,
                f"labels and drawings call both `{labelled.name}` and `{unit.name}` “{unit.label}”",
                f'write another name in the block of `{unit.name}`, such as `short "{unit.label[:18]} 2"`',
                (Related(labelled.span, "the other unit"),),
            )


@rule("RC335", Severity.ERROR)
def mounted_in_circle(facts: Facts) -> Iterator[Finding]:
    """
    Reports: units that are mounted on each other in a circle.
    Why: masses could not be summed, and nobody can rig it so.
    Bad: unit cam mounted on head and unit head mounted on cam
    Good: unit cam mounted on head
    """
    told: set[str] = set()
    for unit in facts.rig.units.values():
        seen: list[str] = []
        carrier = unit.mounted_on
        while carrier and carrier not in seen and carrier in facts.rig.units:
            seen.append(carrier)
            if carrier == unit.name and unit.name not in told:
                told.update(seen)
                chain = " on ".join(f"`{name}`" for name in (unit.name, *seen))
                yield Finding(unit.span, f"{chain} is a circle", "remove one `mounted on`")
            carrier = facts.rig.units[carrier].mounted_on


@rule("RC336", Severity.WARNING, tier=2)
def unit_stands_alone(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit that no cable, link or mounting joins to the rig.
    Why: a lead has been forgotten, or the unit has no place on this rig.
    Bad: unit view is monitor-7 "Monitor", and nothing that reaches it
    Good: cable V11 "Picture to monitor" { cam.sdi to view.sdi; length 25m; jacket 6mm }
    """
    joined = {
        end.unit
        for cable in facts.rig.cables.values()
        for leg in cable.legs
        for end in (leg.first, leg.second)
        if end
    }
    for link in facts.rig.radio_links:
        joined.update((link.sender, *link.receivers))
    for unit in facts.rig.units.values():
        joined.update(name for name in (unit.bound_to, unit.mounted_on) if name)
    carriers = {carrier.name for _, carrier in not_carried(facts.rig)}
    for unit in facts.rig.units.values():
        alone = unit.name not in joined and not (unit.bound_to or unit.mounted_on)
        # by handset_without_receiver, input_without_source, load_not_carried; a charger stays in its case
        told = unit.role in ("handset", "charger") or unit.model.inputs or unit.name in carriers
        if alone and not told:
            yield Finding(
                unit.span,
                f"nothing joins `{unit.name}` to the rig",
                "add its cable, or `mounted on UNIT`, or remove it",
                units=(unit.name,),
            )


@rule("RC341", Severity.ERROR)
def setting_outside_choices(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a setting put to a value that its menu does not offer.
    Why: the technician would look in the menu for something that is not there.
    Bad: set socket "Order"
    Good: set socket "Orders"
    """
    for unit in facts.rig.units.values():
        for name, value in unit.settings.items():
            choices = unit.model.settings[name].choices
            if choices and value.text not in choices:
                yield Finding(
                    value.span,
                    f'setting `{name}` of `{unit.name}` has no choice "{value.text}"',
                    did_you_mean(value.text, choices, f"choose {one_of(list(choices))}"),
                    units=(unit.name,),
                )


LAST_LETTER = re.compile(r"(.*\S)\s+([A-Z])")


@rule("RC390", Severity.WARNING)
def memory_of_other_revision(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a memory whose name ends with the letter of another revision.
    Why: the handset still holds the values of the revision before, and half of it works.
    Bad: revision "C", and memory 4 "GORGE B"
    Good: revision "C", and memory 4 "GORGE C"
    """
    revision = facts.rig.revision
    found = {
        unit.name: LAST_LETTER.fullmatch(unit.memory[1]) for unit in facts.rig.units.values() if unit.memory
    }
    stems = [match[1] for match in found.values() if match]
    spares = {
        spare.name: LAST_LETTER.fullmatch(spare.memory[1])
        for spare in facts.rig.spare_units.values()
        if spare.memory and spare.memory != facts.rig.units[spare.spare_for or ""].memory
    }
    for name, match in (*found.items(), *spares.items()):
        unit = facts.rig.unit_or_spare(name)
        if not match or not re.fullmatch("[A-Z]", revision) or match[2] == revision:
            continue
        if stems.count(match[1]) > 1 or unit.memory is None:
            continue  # the letter tells handsets apart
        yield Finding(
            unit.span,
            f'the memory of `{name}` is "{unit.memory[1]}", and the rig is revision {revision}',
            f'dial the values into a memory of this revision and write `memory {unit.memory[0]} "{match[1]} {revision}"`',
        )


@rule("RC391", Severity.WARNING)
def one_memory_on_two_handsets(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two handsets whose memories have the same number and name.
    Why: the screens read alike, so nobody sees that the wrong handset is in hand.
    Bad: memory 2 "MAST B" in hs-a and in hs-b
    Good: memory 2 "MAST B" in hs-a and memory 1 "MASTCAM B" in hs-b
    """
    taken: dict[tuple[int, str], Unit] = {}
    for unit in facts.rig.units.values():
        if unit.memory is None:
            continue
        first = taken.setdefault(unit.memory, unit)
        if first is not unit:
            number, name = unit.memory
            yield Finding(
                unit.span,
                f'`{first.name}` and `{unit.name}` both have memory {number} "{name}", so their screens read alike',
                "give the memory of one of them a name of its own, as its screen will show it",
                (Related(first.span, "the other one"),),
            )


@rule("RC378", Severity.WARNING, tier=2)
def receiver_leads_nowhere(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a bound receiver that nothing is plugged into, although its handset is heard over another one.
    Why: a receiver without leads is one more thing to switch on and to explain; often it is the spare.
    Bad: unit rx-old is receiver-8 "Old receiver" { bound to hs }, and no lead at it
    Good: unit rx-old is receiver-8 "Old receiver" spare for rx
    """
    plugged = {end.unit for wire in facts.links.wires for end in (wire.source, wire.sink)}
    for unit in facts.rig.units.values():
        heard = [feed for feed in facts.links.feeds_from(unit.bound_to or "") if feed.pin.unit != unit.name]
        if unit.role == "receiver" and unit.name not in plugged and heard:
            other = heard[0].pin.unit
            yield Finding(
                unit.span,
                f"no lead is plugged into receiver `{unit.name}`, and `{other}` carries the channels of "
                f"`{unit.bound_to}`",
                f"write `spare for {other}` after its title, or remove it",
                (Related(facts.rig.units[other].span, "the other receiver"),),
                (unit.name,),
            )


@rule("RC379", Severity.ERROR)
def links_on_one_channel(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two radio links of the rig on one channel of one band.
    Why: each of them works alone on the bench, and both fail when the other is switched on.
    Bad: link "Picture" ... band "5.8 GHz" channel "3" and link "Client picture" ... band "5.8 GHz" channel "3"
    Good: link "Picture" ... band "5.8 GHz" channel "3" and link "Client picture" ... band "5.8 GHz" channel "6"
    """
    taken: dict[tuple[str | Fraction, str], RadioLink] = {}
    for link in facts.rig.radio_links:
        if not link.channel:
            continue
        first = taken.setdefault(on_one_channel(link), link)
        if first is not link:
            yield Finding(
                link.span,
                f"“{first.title}” and “{link.title}” are both on {link.band}, channel {link.channel}",
                "give one of the two another channel",
                (Related(first.span, "the other link"),),
            )


@rule("RC338", Severity.WARNING)
def link_runs_backwards(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a radio link from a unit that shows or receives, to one that sends, or from a unit to itself.
    Why: the list of emitters would name the wrong device, and the test would look for a picture at the sender.
    Bad: link "Picture" from view to sender
    Good: link "Picture" from sender to view
    """
    units = facts.rig.units
    for link in facts.rig.radio_links:
        if link.sender in link.receivers:
            yield Finding(
                link.span,
                f"“{link.title}” goes from `{link.sender}` to itself",
                "name the unit that receives after `to`",
            )
            continue
        wrong = [name for name in (link.sender,) if units[name].role in ("monitor", "receiver")]
        wrong += [name for name in link.receivers if units[name].role in ("sender", "handset")]
        if wrong:
            turned = f"from {link.receivers[0]} to {link.sender}"
            yield Finding(
                link.span,
                f"“{link.title}” goes from `{link.sender}` to {listed([f'`{name}`' for name in link.receivers])}, and "
                f"`{wrong[0]}` is {a_role(units[wrong[0]].role)}",
                f"write `{turned}`" if len(link.receivers) == 1 else "name the unit that sends after `from`",
            )


@rule("RC337", Severity.WARNING, tier=2)
def handset_held_by_nobody(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a handset without `held by` in a rig that names its crew.
    Why: its card is for nobody, and on the day nobody knows whose it is.
    Bad: crew puller "Focus puller", and a focus handset without `held by`
    Good: held by puller
    """
    crew = list(facts.rig.crew)
    for unit in facts.rig.units.values():
        if crew and unit.role == "handset" and not unit.held_by:
            yield Finding(
                unit.span,
                f"nobody holds `{unit.name}`",
                f"write {one_of([f'held by {role}' for role in crew])} in its block",
            )
