"""What each control of a handset does, in words for the person who works it: few lines, in picture terms."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from rigcard.documents.base.language import listed, listed_or, say
from rigcard.documents.base.phrases import effect, in_degrees, meanwhile, place, seen, turns_picture, way
from rigcard.documents.cards.sticks import spoken
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Control, Mix, Position, Unit
from rigcard.solve.bearing import freed_by, scaled_turns
from rigcard.solve.loss import is_record, is_toggle
from rigcard.solve.solved import ChannelResult, Reading, Row, Solved
from rigcard.solve.turning import turn_read
from rigcard.words import percent


class Shown(NamedTuple):
    """What one position gives: `what` changes, and how it then `stands`; `what` is "" where a command says all."""

    what: str
    stands: str


def used_controls(solved: Solved, unit: Unit) -> list[Control]:
    """Return controls that have an effect, or change the effect of others, in the order of the model."""
    names = {
        row.control
        for result in solved.results_of(unit.name)
        for row in result.rows
        if any(effect(solved, reading) for reading in row.readings)
    }
    names |= {control.name for control in unit.model.controls.values() if _switches(solved, unit, control)}
    names |= {mix.while_control for mix in _mixes(solved, unit) if mix.while_control}
    return [control for control in unit.model.controls.values() if control.name in names]


def stays_put(solved: Solved, unit: Unit) -> list[Control]:
    """Return the controls in use that stay where they are put: somebody must set them."""
    return [control for control in used_controls(solved, unit) if not control.springs]


def functions_of(solved: Solved, unit: Unit) -> list[str]:
    """Return the titles of the inputs that a handset works, in the order of its channels."""
    return list(dict.fromkeys(title_of(solved, feed) for feed in _feeds(solved, unit)))


def _feeds(solved: Solved, unit: Unit) -> list[Feed]:
    return [
        feed
        for result in solved.results_of(unit.name)
        for feed in solved.links.feeds_of(unit.name, result.name)
    ]


def title_of(solved: Solved, feed: Feed) -> str:
    """Return the title of an input, after that of its unit if its handset works another one of that title."""
    return f"{whose(solved, feed, solved.links.feeds_from(feed.handset))}{feed.input.title}"


def whose(solved: Solved, feed: Feed, among: Iterable[Feed]) -> str:
    """Return what stands before the title of an input: its unit if another one among these has the same; else ""."""
    units = {one.unit for one in among if one.input.title == feed.input.title}
    return f"{solved.rig.units[feed.unit].title}: " if len(units) > 1 else ""


class Does(NamedTuple):
    """One line: what is done, how far or fast at most, in which positions of other controls, in which modes."""

    what: str
    most: str = ""
    also: str = ""
    only: str = ""

    @property
    def text(self) -> str:
        """Return the line."""
        most = say(", {turn} at most", turn=self.most) if self.most else ""
        return f"{self.what}{most}{self.also}{self.only}"


def does(solved: Solved, unit: Unit, control: Control) -> list[str]:
    """Return what a control does: a line for both ends of an axis, or for all positions of a switch."""
    lines: list[Does] = []
    for result in solved.results_of(unit.name):
        mine = [line for line in result.rows if line.control == control.name]
        together = _controls_together(solved, unit, result)
        for conditions in dict.fromkeys(line.conditions for line in mine):
            if conditions and {name for name, _ in conditions} <= together:
                continue  # the grid of both controls says this
            lines += _lines(solved, unit, control, [line for line in mine if line.conditions == conditions])
        for feed in solved.links.feeds_of(unit.name, result.name) if result.control == control else ():
            lines += [Does(line) for line in _scales(solved, feed)]
        if together and control.name in together and _changes_nothing(solved, mine):
            lines = [Does(say("see “Both moved at once”"))]
    texts = [line.text for line in _in_one(lines)]
    return list(dict.fromkeys([*texts, *_switches(solved, unit, control), *_conditions(solved, unit, control)]))


def _in_one(lines: Sequence[Does]) -> list[Does]:
    """Join lines that differ only in how fast the axis then turns: `50°/s at most; 25°/s with the switch TOWARD`."""
    found: dict[tuple[str, str], Does] = {}
    for line in lines:
        key = (line.what, line.only)
        if key not in found:
            found[key] = line
        elif line.most:
            known = found[key]
            found[key] = known._replace(also=f"{known.also}; {line.most}{line.also}")
        else:
            found[line.what, f"{line.also}{line.only}"] = line
    return list(found.values())


def _changes_nothing(solved: Solved, rows: Sequence[Row]) -> bool:
    """Whether a control gives the same in all its positions while the others rest."""
    shown = [_shown(solved, row) for row in rows if not row.conditions]
    return len(shown) > 1 and all(one == shown[0] for one in shown)


def _controls_together(solved: Solved, unit: Unit, result: ChannelResult) -> set[str]:
    rows = solved.joint.get((unit.name, result.name), ())
    return {name for name, _ in rows[0].places} if rows else set()


def _mixes(solved: Solved, unit: Unit) -> list[Mix]:
    """Return the mixes of a handset that reach an input."""
    return [mix for mix in unit.mixes if solved.links.feeds_of(unit.name, mix.target)]


def _conditions(solved: Solved, unit: Unit, control: Control) -> list[str]:
    """Return what else acts at a switch's mix position: `TOWARD: Left slider acts on Pan too`."""
    return [
        say(
            "{position}: {control} acts on {functions} too",
            position=place(mix.while_position),
            control=unit.model.controls[unit.channels[mix.source].control].title,
            functions=listed([feed.input.title for feed in solved.links.feeds_of(unit.name, mix.target)]),
        )
        for mix in _mixes(solved, unit)
        if mix.while_control == control.name and mix.while_position
        if control.name != unit.channels[mix.target].control  # a rule reports this
    ]


def _lines(solved: Solved, unit: Unit, control: Control, rows: Sequence[Row]) -> list[Does]:
    """Return the lines of a control for rows that agree on the positions of other controls."""
    also = meanwhile(solved.rig, unit.name, rows[0])
    found = [(row, _shown(solved, row)) for row in rows]
    found = [(row, shown) for row, shown in found if shown]
    if not found:
        return []
    only = "".join(dict.fromkeys(_only(solved, reading.feed) for row, _ in found for reading in row.readings))
    whats = [tuple(one.what for one in shown) for _, shown in found]
    if not control.is_switch and len(found) == 2 and whats[0] == whats[1]:
        return [Does(line, turn, also, only) for line, turn in _ends(found)]
    return [Does(_places(found), "", also, only)]


def _ends(found: Sequence[tuple[Row, list[Shown]]]) -> list[tuple[str, str]]:
    """Return a line for both ends of an axis, and its turn, for each pair of states: `AWAY / TOWARD: Iris open / closed`."""
    (first, shown), (last, other) = found if found[0][0].position.name != "toward" else reversed(found)
    whats: dict[tuple[str, str], list[str]] = {}
    for here, there in zip(shown, other, strict=True):
        whats.setdefault((here.stands, there.stands), []).append(here.what)
    lines = []
    for (one, two), names in whats.items():
        turn = _most(first, last)
        sense = f"{place(first.position)} / {place(last.position)}"
        what = ", ".join(dict.fromkeys(filter(None, names)))
        if (one, two) == (first.position.name, last.position.name):
            line = f"{what} {sense}".strip()
        else:
            line = f"{sense}: {f'{what} {one} / {two}'.strip()}"
        lines.append((line, turn))
    return lines


def _most(first: Row, last: Row) -> str:
    """Return how far or how fast an axis turns at its ends, if the model says so and both are alike."""
    turns = {
        in_degrees(reading.feed.input.sweep, turn_read(reading)) if reading.feed.input.sweep else ""
        for row in (first, last)
        for reading in row.readings
    }
    return turns.pop() if len(turns) == 1 else ""


def _places(found: Sequence[tuple[Row, list[Shown]]]) -> str:
    """Return all positions in one line; what they have in common stands first: `Mode: AWAY parked; …`."""
    whats = {one.what for _, shown in found for one in shown}
    common = whats.pop() if len(whats) == 1 and len(found) > 1 else ""
    parts = []
    for row, shown in found:
        texts = [one.stands if common or not one.what else f"{one.what} {one.stands}" for one in shown]
        parts.append(f"{place(row.position)} {', '.join(dict.fromkeys(texts))}")
    return f"{common}: {'; '.join(parts)}" if common else "; ".join(parts)


def _shown(solved: Solved, row: Row) -> list[Shown]:
    found = []
    for reading in row.readings:
        if effect(solved, reading) and _heard(solved, reading):
            found.append(_parted(solved, reading))
    return list(dict.fromkeys(found))


def _parted(solved: Solved, reading: Reading) -> Shown:
    """Return the effect of a reading in two parts, so that what is alike can be said once."""
    if turns_picture(solved, reading.feed) and reading.state:
        return Shown(say("picture turns"), way(reading.state))
    if not reading.state or is_record(reading.feed.input.states) or is_toggle(reading):
        return Shown("", seen(solved, reading))
    if not reading.effects:
        return Shown(title_of(solved, reading.feed), way(reading.state))
    if reading.feed.input.sweep:
        return Shown(title_of(solved, reading.feed), ", ".join(way(done.does) for done in reading.effects))
    return Shown("", effect(solved, reading))


def _only(solved: Solved, feed: Feed) -> str:
    """Return the positions of a mode in which an input acts: `, only with the Mode switch FOLLOW or LIVE`."""
    found = [
        freeing(solved, feed, mode, free) if free else say("no mode") for mode, free in freed_by(solved, feed)
    ]
    return say(", only with {modes}", modes=listed(found)) if found else ""


def freeing(solved: Solved, feed: Feed, mode: Feed, free: Sequence[Position]) -> str:
    """Return where the control of a mode has to stand for an input; that of another handset with its handset."""
    control = solved.results[mode.handset, mode.channel].control
    places = listed_or([place(position) for position in free])
    if mode.handset == feed.handset:
        return say("the {control} {position}", control=control.title, position=places)
    return say("{control} {position}", control=spoken(solved.rig, mode.handset, control.name), position=places)


def _scales(solved: Solved, feed: Feed) -> list[str]:
    """Return how a dial scales an axis, at its ends and in its middle."""
    lines = []
    for axis, turns in scaled_turns(solved, feed):
        assert axis.input.sweep
        shown = [f"{place(position)} {in_degrees(axis.input.sweep, turn)}" for position, turn in turns]
        lines.append(say("{axis} at full stick: {turns}", axis=axis.input.title, turns=", ".join(shown)))
    return lines


def _switches(solved: Solved, unit: Unit, control: Control) -> list[str]:
    """Return the rates and expos that a control switches, one line for all functions that it treats alike."""
    whose: dict[tuple[str, str], list[str]] = {}
    for result in solved.results_of(unit.name):
        titles = [feed.input.title for feed in solved.links.feeds_of(unit.name, result.name)]
        for one in unit.channels[result.name].shape.switched:
            if one.control == control.name and titles:
                parts = [say("rate {rate}", rate=percent(one.rate))] if one.rate is not None else []
                parts += [say("expo {expo}", expo=percent(one.expo))] if one.expo is not None else []
                whose.setdefault((place(one.position), ", ".join(parts)), []).extend(titles)
    return [
        f"{position} {listed(list(dict.fromkeys(titles)))}: {text}"
        for (position, text), titles in whose.items()
    ]


def _heard(solved: Solved, reading: Reading) -> bool:
    """Whether anybody sees the effect of a reading: a rest state that sends no command shows nothing."""
    silent = reading.band is not None and reading.band.rest and not reading.effects
    return not (silent and solved.links.orders_of(reading.feed))
