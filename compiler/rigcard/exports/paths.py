"""The text of `rigcard show`: every path through one name, with all values along it."""

from __future__ import annotations

import json
import unicodedata
from fractions import Fraction
from typing import Any, NamedTuple

from rigcard.resolve.links import Route, obeying
from rigcard.solve.bearing import scaled_turns
from rigcard.solve.levels import hearing, trim_throw
from rigcard.solve.solved import ChannelResult, Reading, Row, Solved, base_of
from rigcard.solve.turning import shown_turn, turn_at, turn_read
from rigcard.words import decimal, listed, microseconds, percent, signed_percent, steps

HEAD = (
    "CONTROL",
    "CHANNEL",
    "LEVEL",
    "PULSE",
    "CODE",
    "PIN",
    "CABLE",
    "INPUT",
    "HEARD",
    "STATE",
    "MARGIN",
    "DOES",
)


class Path(NamedTuple):
    """The path from one position of one control to one input; `reading` is None if no input listens."""

    result: ChannelResult
    row: Row
    reading: Reading | None

    def names(self, solved: Solved) -> set[str]:
        """Return every name on this path, including both sides of an `expect` about it."""
        result = self.result
        found = {result.handset, result.name, self.row.control, f"{result.handset}.{self.row.control}"}
        found |= {f"{result.handset}.{control}" for control, _ in self.row.conditions}
        found.add(f"{result.handset}.{self.row.control}.{self.row.position.name}")
        if self.reading:
            feed = self.reading.feed
            found |= _named_along(feed.route)
            found |= {feed.input.name, f"{feed.unit}.{feed.input.name}"}
            if state := self.reading.state:
                found |= {state, f"{feed.unit}.{state}", f"{feed.unit}.{feed.input.name}.{state}"}
            for done in self.reading.effects:
                found |= {done.unit, done.command, f"{done.unit}.{done.command}"}
                found.add(f"{done.unit}.{done.command}.{self.reading.state}")
            if self.reading.effects:
                for order in obeying(solved.rig, solved.links, feed):
                    found |= _named_along(order.route)
        return found


def _named_along(route: Route) -> set[str]:
    """Return the names of all leads and ports on a route."""
    found = {name for wire in route for name in (wire.leg.id, wire.cable.name)}
    for end in (end for wire in route for end in (wire.source, wire.sink)):
        found |= {end.unit, end.port, f"{end.unit}.{end.port}"}
    return found


def legs_of(route: Route) -> list[str]:
    """Return the ids of the leads of a route, from the receiver on."""
    return [wire.leg.id for wire in route]


def all_paths(solved: Solved) -> list[Path]:
    """Return every path of a rig, channels in the order of the file."""
    paths = []
    for result in solved.results.values():
        for row in result.rows:
            if row.readings:
                paths += [Path(result, row, reading) for reading in row.readings]
            else:
                paths.append(Path(result, row, None))
    return paths


def by_margin(solved: Solved, paths: list[Path]) -> list[Path]:
    """Sort the paths by margin less a trim's throw, smallest first; paths that end in no band come last."""
    margins = {id(path): _left(solved, path.reading) for path in paths}
    banded = [path for path in paths if margins[id(path)] is not None]
    rest = [path for path in paths if margins[id(path)] is None]
    return [*sorted(banded, key=lambda path: margins[id(path)] or Fraction(0)), *rest]


def paths_of(solved: Solved, name: str) -> list[Path]:
    """Return the paths through a name.

    A stick at its centre has no line of its own; its paths are those of what the channel does then.
    """
    found = [path for path in all_paths(solved) if name in path.names(solved)]
    if found:
        return found
    resting = [
        Path(result, result.rest, reading)
        for result in solved.results.values()
        for reading in result.rest.readings
    ]
    return [path for path in resting if name in path.names(solved)]


def _left(solved: Solved, reading: Reading | None) -> Fraction | None:
    if reading is None or reading.margin is None:
        return None
    return reading.margin - trim_throw(solved, reading)


def as_table(solved: Solved, paths: list[Path]) -> str:
    """Return the paths as aligned columns, below the values dialled into each of their channels."""
    rows = [HEAD, *(cells(solved, path) for path in paths)]
    widths = [max(_columns(row[at]) for row in rows) for at in range(len(HEAD))]
    lines = [dialled(solved, result) for result in dict.fromkeys(path.result for path in paths)]
    for row in rows:
        padded = [cell + " " * (width - _columns(cell)) for cell, width in zip(row, widths, strict=True)]
        lines.append("  ".join(padded).rstrip())
    return "\n".join(lines)


def as_records(solved: Solved, paths: list[Path]) -> str:
    """Return the paths as JSON; numbers stay numbers."""
    return json.dumps([_record(solved, path) for path in paths], ensure_ascii=True, indent=1)


def _columns(text: str) -> int:
    return sum(0 if unicodedata.combining(char) else 1 for char in text)


def dialled(solved: Solved, result: ChannelResult) -> str:
    """Return the values dialled into a channel, in one line."""
    arithmetic = solved.rig.units[result.handset].model.arithmetic
    assert arithmetic is not None
    dial = result.dial
    parts = [
        f"travel {decimal(dial.travel.low)} / {decimal(dial.travel.high)} %",
        f"sub-trim {steps(dial.subtrim)} ({percent(dial.subtrim * arithmetic.subtrim_step)})",
        "reversed" if dial.reversed else "not reversed",
    ]
    if result.solution:
        headroom = result.solution.headroom
        parts.append("computed" if headroom is None else f"computed, headroom {percent(headroom)}")
        parts.append("no other values as good" if result.solution.unique else "other values as good")
    parts += _switched(solved, result)
    parts += _step_turns(solved, result)
    parts += _scaled(solved, result)
    return f"dial channel {result.number} {result.name}: {', '.join(parts)}"


def _switched(solved: Solved, result: ChannelResult) -> list[str]:
    """Return rate and expo: first the dialled ones, then those that other controls switch in."""
    shape = solved.rig.units[result.handset].channels[result.name].shape
    found = [f"rate {percent(shape.rate)}"] if shape.rate != 100 else []
    found += [f"expo {percent(shape.expo)}"] if shape.expo else []
    for one in shape.switched:
        values = [f"rate {percent(one.rate)}"] if one.rate is not None else []
        values += [f"expo {percent(one.expo)}"] if one.expo is not None else []
        found.append(f"{' '.join(values)} while {one.control} {one.position.name}")
    return found


def _scaled(solved: Solved, result: ChannelResult) -> list[str]:
    """Return how far or fast an axis turns at full stick, by the positions of the control that scales it."""
    found = []
    for feed in solved.links.feeds_of(result.handset, result.name):
        for axis, turns in scaled_turns(solved, feed):
            assert axis.input.sweep
            shown = [f"{shown_turn(axis.input.sweep, turn)} at {place.name}" for place, turn in turns]
            found.append(f"`{axis.input.name}` turns {listed(shown)}")
    return found


def _step_turns(solved: Solved, result: ChannelResult) -> list[str]:
    """Return how much one step of sub-trim turns an axis that follows the channel."""
    arithmetic = solved.rig.units[result.handset].model.arithmetic
    assert arithmetic is not None
    found = []
    for feed in solved.links.feeds_of(result.handset, result.name):
        sweep = feed.input.sweep
        if sweep and sweep.full and not sweep.full.speed:
            step = abs(hearing(solved.rig, feed)[0]) * arithmetic.subtrim_step
            turn = turn_at(sweep._replace(dead=None), base_of(sweep) + step)
            found.append(f"one step of sub-trim turns `{feed.input.name}` {decimal(turn, 4)} deg")
    return found


def cells(solved: Solved, path: Path) -> tuple[str, ...]:
    """Return the values of a path as shown, one for each word of `HEAD`."""
    result, row, reading = path
    start = (
        f"{row.control} {row.position.name}{_meanwhile(row)}",
        f"{result.number} {result.name}",
        signed_percent(row.level.percent) + (" clipped" if row.level.clipped else ""),
        microseconds(row.pulse),
        "" if row.serial_count is None else str(row.serial_count),
    )
    if reading is None:
        return (*start, "", "", "", "", "", "", "")
    feed = reading.feed
    left = _left(solved, reading)
    return (
        *start,
        f"{feed.pin.unit}.{feed.pin.port}",
        ", ".join(legs_of(feed.route)),
        f"{feed.unit}.{feed.input.name}",
        signed_percent(reading.heard),
        _state(reading),
        _margin(reading, left),
        _does(reading),
    )


def _meanwhile(row: Row) -> str:
    """Return where other controls stand at the same time: `, speed toward`."""
    return "".join(f", {control} {position.name}" for control, position in row.conditions)


def _does(reading: Reading) -> str:
    """Return the resulting commands, by their names in the file: `run`, `key-a: ISO up`, `iris open`."""
    between = " " if reading.feed.input.sweep else ": "
    shown = [f"{done.command}{between}{done.does}" if done.does else done.command for done in reading.effects]
    return ", ".join(dict.fromkeys(shown))


def _state(reading: Reading) -> str:
    sweep = reading.feed.input.sweep
    held = f", held by {reading.held}" if reading.held else ""
    if sweep and sweep.full and reading.state:
        return f"{reading.state} {shown_turn(sweep, turn_read(reading))}{held}"
    return f"{reading.state}{held}" if reading.state else "outside every band"


def _margin(reading: Reading, left: Fraction | None) -> str:
    if reading.margin is None or left is None:
        return ""
    return (
        percent(left) if left == reading.margin else f"{percent(reading.margin)}, {percent(left)} after a trim"
    )


def turn_of(reading: Reading, speed: bool) -> Fraction | None:
    """Return the degrees, or degrees a second, of a reading; None if the model gives no such value."""
    sweep = reading.feed.input.sweep
    if sweep is None or sweep.full is None or sweep.full.speed != speed:
        return None
    return turn_read(reading)


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def known_names(solved: Solved) -> set[str]:
    """Return every name of the rig, with or without a path."""
    names = {name for path in all_paths(solved) for name in path.names(solved)}
    for unit in solved.rig.units.values():
        names |= {unit.name, *unit.model.controls, *unit.channels}
        names |= {f"{unit.name}.{port}" for port in unit.model.ports}
        names |= {f"{unit.name}.{known}" for known in (*unit.model.inputs, *unit.model.commands)}
        names |= {
            f"{unit.name}.{owner.name}.{state}"
            for owner in unit.model.inputs.values()
            for state in owner.states
        }
        names |= {
            f"{unit.name}.{control.name}.{position.name}"
            for control in unit.model.controls.values()
            for position in control.positions
        }
    for cable in solved.rig.cables.values():
        names |= {cable.name, *(leg.id for leg in cable.legs)}
    return names


def _record(solved: Solved, path: Path) -> dict[str, Any]:
    result, row, reading = path
    record: dict[str, Any] = {
        "handset": result.handset,
        "control": row.control,
        "position": row.position.name,
        "while": [f"{control}.{place.name}" for control, place in row.conditions],
        "channel": result.number,
        "channel_name": result.name,
        "level_percent": float(row.level.percent),
        "clipped": row.level.clipped,
        "pulse_us": float(row.pulse),
        "code": row.serial_count,
    }
    if reading:
        feed, left = reading.feed, _left(solved, reading)
        record |= {
            "pin": f"{feed.pin.unit}.{feed.pin.port}",
            "cable": feed.last.leg.id,
            "route": legs_of(feed.route),
            "input": f"{feed.unit}.{feed.input.name}",
            "heard_percent": float(reading.heard),
            "state": reading.state or None,
            "held_by": reading.held or None,
            "turn_degrees": _float(turn_of(reading, False)),
            "turn_degrees_a_second": _float(turn_of(reading, True)),
            "margin_percent": _float(reading.margin),
            "margin_after_trim_percent": _float(left),
            "does": [f"{done.unit}.{done.command}" for done in reading.effects],
        }
    return record
