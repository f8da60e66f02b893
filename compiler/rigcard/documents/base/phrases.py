"""Phrases that several papers share: positions, titles, effects and turns, as people read them."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from rigcard.documents.base.language import listed, say
from rigcard.resolve.links import Feed, obeying
from rigcard.resolve.model import CENTRE, Control, Position, Rig, Sweep, Unit
from rigcard.resolve.once import once_a_rig
from rigcard.resolve.payload import load_of
from rigcard.resolve.words import ROLES
from rigcard.solve.bearing import scaled_turns
from rigcard.solve.loss import RUN, STANDBY, is_record, is_toggle
from rigcard.solve.power.wording import volts
from rigcard.solve.solved import Reading, Row, Solved
from rigcard.solve.stations import Station
from rigcard.solve.turning import turn_read
from rigcard.words import decimal


def place(position: Position) -> str:
    """Return a position as cards write it: AWAY, MIDDLE, CENTRE; a name of the file's own in capitals."""
    return place_named(position.name)


def place_named(position: str) -> str:
    """Return the position of a name as cards write it."""
    known = {
        "away": say("AWAY"),
        "middle": say("MIDDLE"),
        "toward": say("TOWARD"),
        "left": say("LEFT"),
        "right": say("RIGHT"),
        "centre": say("CENTRE"),
    }
    return known.get(position) or position.upper()


def way(state: str) -> str:
    """Return an end of an axis, or its middle, in the language of the papers; a state of the file's own as it is."""
    known = {
        "left": say("left"),
        "right": say("right"),
        "up": say("up"),
        "down": say("down"),
        CENTRE: say("centre"),
    }
    return known.get(state, state)


def volts_between(low: float | Fraction, high: float | Fraction) -> str:
    """Return volts from low to high; one value where both read alike."""
    first, last = volts(low), volts(high)
    return last if first == last else say("{low} to {high}", low=first.removesuffix(" V"), high=last)


def stand(control: Control, position: Position) -> str:
    """Return where to set a control that stays where it is put: a dial by the clock, a slider by its way."""
    if control.is_switch:
        return place(position)
    if position.name != CENTRE:
        return say("fully {end}", end=place(position))
    if control.kind == "dial":
        return say("12 o’clock")
    return place(position) if control.springs else say("half way")


def control_title(rig: Rig, handset: str, control: str) -> str:
    """Return a control's name on cards: after its handset if the rig has more than one."""
    title, whose = rig.units[handset].model.controls[control].title, handset_title(rig, handset)
    return f"{whose}: {title}" if whose else title


def meanwhile(rig: Rig, handset: str, row: Row) -> str:
    """Return where other controls stand at the same time: ` with the Speed toggle TOWARD`, or nothing."""
    controls = rig.units[handset].model.controls
    stands = [
        say("the {control} {position}", control=controls[control].title, position=place(position))
        for control, position in row.conditions
    ]
    return f" {say('with {controls}', controls=listed(stands))}" if stands else ""


def station_title(station: Station) -> str:
    """Name a station by its handsets."""
    return say("other units") if station.others else listed([unit.title for unit in station.handsets])


def the(title: str) -> str:
    """Return a title for mid-sentence: `the head handset`; one that looks like a name keeps its capital.

    A title that ends in a number or a single letter is a name: `Handset 1` takes no article.
    """
    first, *more = title.split(" ")
    if more and (more[-1].isdigit() or (len(more[-1]) == 1 and more[-1].isupper())):
        return title
    letters = first.replace("-", "").replace("'", "").replace("’", "")
    plain = letters.isascii() and letters.isalpha() and first[1:].islower() and all(map(str.islower, more))
    known = plain and (more or first.lower() in ROLES)
    within = f"{title[0].lower()}{title[1:]}" if known else title
    said = say("the {title}", title=within)
    return title if said == within else said  # a language that sets no article keeps the capital


def sentence(text: str) -> str:
    """Capitalise the first letter of a text."""
    return f"{text[:1].upper()}{text[1:]}"


def handset_title(rig: Rig, handset: str) -> str:
    """Return the title of a handset, or nothing if the rig has only one."""
    return rig.units[handset].title if _count_of_handsets(rig) > 1 else ""


@once_a_rig
def _count_of_handsets(rig: Rig) -> int:
    return sum(unit.role == "handset" for unit in rig.units.values())


class SlowAxis(NamedTuple):
    """An axis that a control can slow or stop: what is seen, and which way to turn the control."""

    handset: str
    control: str
    axis: str
    fast: str
    least: str


def slow_axes(solved: Solved) -> list[SlowAxis]:
    """Return every axis that a dial scales: at the dial's slow end it looks dead."""
    found = []
    for feed in solved.links.feeds:
        for axis, turns in scaled_turns(solved, feed):
            (slow, least), (fast, _) = (choose(turns, key=lambda turn: turn[1]) for choose in (min, max))
            assert axis.input.sweep
            found.append(
                SlowAxis(
                    handset=feed.handset,
                    control=solved.results[feed.handset, feed.channel].control.name,
                    axis=say("{axis} slow or dead", axis=axis.input.title),
                    fast=place(fast),
                    least=say(
                        "at {position} it turns {turn}",
                        position=place(slow),
                        turn=in_degrees(axis.input.sweep, least),
                    ),
                )
            )
    return found


def effect_and_turn(solved: Solved, reading: Reading) -> str:
    """Return the effect of a reading, and how far or how fast an axis turns there, if known."""
    sweep, shown = reading.feed.input.sweep, effect(solved, reading)
    if not shown or sweep is None or sweep.full is None:
        return shown
    return f"{shown} {in_degrees(sweep, turn_read(reading))}"


def effect(solved: Solved, reading: Reading) -> str:
    """Return the effect of a reading for people: `run`, `Frame marker`, `Iris open`, `Pan left`."""
    if not reading.state:
        return say("outside every band")
    if not reading.effects:
        if reading.feed.input.sweep:
            return "" if reading.state == CENTRE else f"{reading.feed.input.title} {way(reading.state)}"
        return f"{reading.feed.input.title} {reading.state}"
    if reading.feed.input.sweep:
        shown = [f"{reading.feed.input.title} {way(found.does)}" for found in reading.effects]
    else:
        shown = [
            say(
                "{command} (each press changes {states})",
                command=found.does or found.command,
                states=listed(found.toggles),
            )
            if found.toggles
            else found.does or found.command
            for found in reading.effects
        ]
    return ", ".join(dict.fromkeys(shown))


def seen(solved: Solved, reading: Reading) -> str:
    """Return what people see of a reading: `camera records`, `picture turns left`, `Mode parked`, `Iris open`."""
    if is_record(reading.feed.input.states) and reading.state in (RUN, STANDBY):
        return say("camera records") if reading.state == RUN else say("standby")
    if is_toggle(reading):
        return say("each press starts or stops the take")
    if reading.state and reading.state != CENTRE and turns_picture(solved, reading.feed):
        return say("picture turns {end}", end=way(reading.state))
    return effect(solved, reading)


def turns_picture(solved: Solved, feed: Feed) -> bool:
    """Whether an input turns what a camera sees: an axis, with a rest, of a head that carries a camera."""
    unit, sweep = solved.rig.units[feed.unit], feed.input.sweep
    if unit.role != "head" or sweep is None or sweep.rest is None or (sweep.full and not sweep.full.speed):
        return False
    if {sweep.first, sweep.last} not in ({"left", "right"}, {"up", "down"}):
        return False
    names = {burden.name for burden in load_of(solved.rig, unit).burdens} & solved.rig.units.keys()
    return any(solved.rig.units[name].role == "camera" for name in names)


def in_degrees(sweep: Sweep, turn: Fraction) -> str:
    """Return a turn as people read it: `50°/s` or `8°`; "" if the model does not say."""
    if sweep.full is None:
        return ""
    return f"{decimal(turn, 2)}{'°/s' if sweep.full.speed else '°'}"


def has_trims(unit: Unit) -> bool:
    """Whether a handset has trims, according to its model."""
    return any(control.trim for control in unit.model.controls.values())


def recording(solved: Solved, units: Iterable[str], state: str) -> list[str]:
    """Return the control positions that bring a recording of these units to a state: `Front toggle AWAY`."""
    found = []
    for feed in solved.links.feeds:
        if not is_record(feed.input.states):
            continue
        obeys = {feed.unit, *(order.receiver for order in obeying(solved.rig, solved.links, feed))}
        if obeys.isdisjoint(units):
            continue
        for line in solved.results[feed.handset, feed.channel].rows:
            if any(reading.feed == feed and reading.state == state for reading in line.readings):
                found.append(f"{control_title(solved.rig, feed.handset, line.control)} {place(line.position)}")
    return found


def port_name(rig: Rig, unit: str, port: str) -> str:
    """Return a port for people: the unit's title and the marking at the port."""
    known = rig.units[unit]
    return f"{known.title}, {known.model.ports[port].label}"
