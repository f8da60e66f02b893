"""Phrases that several papers share: positions, titles, effects and turns, as people read them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from rigcard.resolve.links import obeying
from rigcard.resolve.model import CENTRE, Position, Rig, Unit
from rigcard.resolve.once import once_a_rig
from rigcard.resolve.words import ROLES
from rigcard.solve.bearing import scaled_turns
from rigcard.solve.loss import is_record
from rigcard.solve.solved import Reading, Row, Solved
from rigcard.solve.turning import shown_turn, turn_read
from rigcard.words import listed


def place(position: Position) -> str:
    """Return a position as cards write it: AWAY, MIDDLE, CENTRE."""
    return position.name.upper()


def control_title(rig: Rig, handset: str, control: str) -> str:
    """Return a control's name on cards: after its handset if the rig has more than one."""
    title, whose = rig.units[handset].model.controls[control].title, handset_title(rig, handset)
    return f"{whose}: {title}" if whose else title


def meanwhile(rig: Rig, handset: str, row: Row) -> str:
    """Return where other controls stand at the same time: ` with the Speed toggle TOWARD`, or nothing."""
    controls = rig.units[handset].model.controls
    stands = [f"the {controls[control].title} {place(position)}" for control, position in row.conditions]
    return f" with {listed(stands)}" if stands else ""


def the(title: str) -> str:
    """Return a title for mid-sentence: `the head handset`; one that looks like a name keeps its capital."""
    first, *more = title.split(" ")
    plain = first.isascii() and first.isalpha() and first[1:].islower() and all(map(str.islower, more))
    known = plain and (more or first.lower() in ROLES)
    return f"the {title[0].lower()}{title[1:]}" if known else f"the {title}"


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
                    axis=f"{axis.input.title} slow or dead",
                    fast=place(fast),
                    least=f"at {place(slow)} it turns {shown_turn(axis.input.sweep, least)}",
                )
            )
    return found


def effect_and_turn(solved: Solved, reading: Reading) -> str:
    """Return the effect of a reading, and how far or how fast an axis turns there, if known."""
    sweep, shown = reading.feed.input.sweep, effect(solved, reading)
    if not shown or sweep is None or sweep.full is None:
        return shown
    return f"{shown} {shown_turn(sweep, turn_read(reading))}"


def effect(solved: Solved, reading: Reading) -> str:
    """Return the effect of a reading for people: `run`, `Frame marker`, `Iris open`, `Pan left`."""
    if not reading.state:
        return "outside every band"
    if not reading.effects:
        if reading.feed.input.sweep:
            return "" if reading.state == CENTRE else f"{reading.feed.input.title} {reading.state}"
        return f"{reading.feed.input.title} {reading.state}"
    if reading.feed.input.sweep:
        shown = [f"{reading.feed.input.title} {found.does}" for found in reading.effects]
    else:
        shown = [
            (found.does or found.command)
            + (f" (each press changes {' and '.join(found.toggles)})" if found.toggles else "")
            for found in reading.effects
        ]
    return ", ".join(dict.fromkeys(shown))


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
