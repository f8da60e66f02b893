"""The dependency matrix (IEEE Std 1522): which lines of the function test look different with which mistake.

Every mistake is put on the bench alone, and the functions that it touches are computed again. A cell is "" where
the line looks as planned, a short text where it does not, and None where nobody can say.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from rigcard.faults.bench import (
    Bench,
    Change,
    Sight,
    Stands,
    alike,
    changed,
    planned,
    sight,
    sight_on_loss,
    touched,
)
from rigcard.faults.lines import Line, lines_of, needs_of
from rigcard.faults.looks import LINKED
from rigcard.faults.single import Fault, faults_of
from rigcard.faults.stations import station_numbers, stations_of
from rigcard.resolve.links import Feed
from rigcard.resolve.once import once_a_rig
from rigcard.solve.levels import contributors
from rigcard.solve.loss import RUN, is_record
from rigcard.solve.sharing import Function, Part, power_parts
from rigcard.solve.solved import Solved


class Cell(NamedTuple):
    """How a line looks with a mistake: `seen` of the first function that differs; None: it may do anything."""

    function: Function | None
    seen: Sight | None
    planned: Sight | None = None


class Row(NamedTuple):
    """One mistake: the lines that look different, and those of which nobody can say, by index.

    `harmless`: no input hears anything else, at any line or on the loss of a link.
    """

    fault: Fault
    differs: Mapping[int, Cell]
    open: frozenset[int]
    harmless: bool

    @property
    def detected(self) -> bool:
        """Whether some line certainly looks different."""
        return bool(self.differs)

    @property
    def signature(self) -> tuple[object, ...]:
        """What every line shows; mistakes with one signature cannot be told apart (an ambiguity group)."""
        return (
            tuple(
                sorted(
                    (at, cell.seen and _shown(cell.seen), cell.function) for at, cell in self.differs.items()
                )
            ),
            self.open,
        )


def _shown(seen: Sight) -> tuple[object, ...]:
    """A sight as a person tells it: the way, and how far in quarters."""
    return seen.kind, seen.words, round(4 * seen.moved), seen.slow


class Matrix(NamedTuple):
    """The lines of the function test, and one row for every single mistake."""

    solved: Solved
    lines: list[Line]
    needs: list[tuple[int, ...]]
    rows: list[Row]


class ByStation(NamedTuple):
    """For each station its lines, by index, and the mistakes that some of them see."""

    lines: list[list[int]]
    rows: list[list[Row]]


@once_a_rig
def by_station(matrix: Matrix) -> ByStation:
    """The matrix, taken apart."""
    many = len(stations_of(matrix.solved))
    found = ByStation([[] for _ in range(many)], [[] for _ in range(many)])
    for at, line in enumerate(matrix.lines):
        found.lines[line.station].append(at)
    for row in matrix.rows:
        for station in dict.fromkeys(matrix.lines[at].station for at in row.differs):
            found.rows[station].append(row)
    return found


def matrix_of(solved: Solved) -> Matrix:
    """Every mistake against every line."""
    bench = planned(solved)
    lines = lines_of(solved)
    eye = _Eye(solved, bench, lines)
    rows = [eye.row(fault) for fault in faults_of(solved, bench)]
    return Matrix(solved, lines, needs_of(lines), rows)


class _Eye:
    """Looks at the lines, with what is planned kept from one mistake to the next."""

    def __init__(self, solved: Solved, bench: Bench, lines: Sequence[Line]) -> None:
        self.solved = solved
        self.bench = bench
        self.lines = lines
        self.stands = [line.stands() for line in lines]
        self.planned: dict[tuple[Function, object], Sight | None] = {}
        self.groups: dict[object, list[list[int]]] = {}
        self.controls: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {}
        self.by_device: dict[str, list[int]] = {}
        for at, line in enumerate(lines):
            if line.kind == "control":
                for device in line.devices:
                    self.by_device.setdefault(device, []).append(at)
        self.starts = {line.station: at for at, line in enumerate(lines) if line.kind == "start"}
        self.numbers = station_numbers(solved)
        self.losses = {line.handset: at for at, line in enumerate(lines) if line.kind == "loss"}
        self.by_part: dict[Part, list[int]] = {}
        self.screens: dict[str, list[int]] = {}
        self.linked: dict[str, list[int]] = {}
        for at, line in enumerate(lines):
            for part in _parts_of_line(solved, line):
                self.by_part.setdefault(part, []).append(at)
            if line.kind == "screen":
                self.screens.setdefault(line.handset, []).append(at)
            if line.look and line.look.when == LINKED:
                self.linked.setdefault(line.devices[0], []).append(at)
        self.takes = [at for at, line in enumerate(lines) if line.kind == "take"]
        self.starting = _starting(lines)  # by station

    def row(self, fault: Fault) -> Row:
        """The row of one mistake."""
        change = fault.change()
        functions = sorted(touched(self.bench, change))
        made = changed(self.bench, change)
        differs: dict[int, Cell] = {}
        unknown: set[int] = set()
        same = not (change.off or change.strange or (change.moved and not functions))
        for key in functions:
            home = self._planned(key, {}) or Sight("nothing")
            for lines in self._lines_about(key, made):
                stands = self.stands[lines[0]]
                plan, now = self._planned(key, stands), sight(made, key, stands)
                same = same and now == plan
                self._compare(lines, key, plan, now, home, differs, unknown)
            for handset in dict.fromkeys(feed.handset for feed in self.bench.feeds.get(key, ())):
                plan, now = self._on_loss(key, handset), sight_on_loss(made, key, handset)
                same = same and now == plan
                self._compare([self.losses[handset]], key, plan, now, home, differs, unknown, loss=True)
        for at in self._gone(change):
            differs.setdefault(at, Cell(None, Sight("nothing")))
        self._add_takes(differs, unknown)
        kinds = ("travel", "subtrim", "reverse", "failsafe", "shape", "plug", "mount", "trim", "start")
        return Row(fault, differs, frozenset(unknown - differs.keys()), same and fault.kind in kinds)

    def _lines_about(self, key: Function, made: Bench) -> list[list[int]]:
        """The lines at which somebody looks at the device of a function, as planned and as it is now.

        Those stand together at which the controls that it depends on, then or now, stand alike.
        """
        devices = {key[0]}
        controls: set[tuple[str, str]] = set()
        for bench in (self.bench, made):
            controls.update(self._controls(bench, key))
            for feed in bench.feeds.get(key, ()):
                devices.update(order.receiver for order in bench.links.orders_of(feed))
        asked = frozenset(devices), frozenset(controls)
        if asked not in self.groups:
            groups: dict[frozenset[tuple[tuple[str, str], str]], list[int]] = {}
            for at in self._lines_at(devices):
                stands = self.stands[at]
                where = frozenset((one, stands[one].name) for one in controls if one in stands)
                groups.setdefault(where, []).append(at)
            self.groups[asked] = list(groups.values())
        return self.groups[asked]

    def _lines_at(self, devices: Iterable[str]) -> list[int]:
        found = {at for device in devices for at in self.by_device.get(device, ())}
        stations = {self.numbers[device] for device in devices}
        return sorted(found.union(self.starts[number] for number in stations if number in self.starts))

    def _planned(self, key: Function, stands: Stands) -> Sight | None:
        where = frozenset((one, stands[one].name) for one in self._controls(self.bench, key) if one in stands)
        if (key, where) not in self.planned:
            self.planned[key, where] = sight(self.bench, key, stands)
        return self.planned[key, where]

    def _on_loss(self, key: Function, handset: str) -> Sight | None:
        if (key, handset) not in self.planned:
            self.planned[key, handset] = sight_on_loss(self.bench, key, handset)
        return self.planned[key, handset]

    def _controls(self, bench: Bench, key: Function) -> set[tuple[str, str]]:
        """The controls on which a function depends, and those of what bears on it."""
        own = bench.feeds.get(key, ())
        return {
            control
            for feed in own
            for one in (feed, *bench.bearers.get((feed.unit, feed.input.name), ()))
            for control in self._moving(one)
        }

    def _moving(self, feed: Feed) -> tuple[tuple[str, str], ...]:
        key = feed.handset, feed.channel
        if key not in self.controls:
            unit = self.solved.rig.units[feed.handset]
            self.controls[key] = tuple(
                (unit.name, control.name) for control in contributors(unit, unit.channels[feed.channel])
            )
        return self.controls[key]

    def _compare(
        self,
        lines: Sequence[int],
        key: Function,
        plan: Sight | None,
        now: Sight | None,
        home: Sight,
        differs: dict[int, Cell],
        unknown: set[int],
        loss: bool = False,
    ) -> None:
        if plan is None or now is None:
            if plan != now:
                unknown.update(lines)
            return
        looks_same = (
            alike(plan, now, plan) if loss and "nothing" in (plan.kind, now.kind) else alike(plan, now, home)
        )
        if looks_same:
            return
        for at in lines:
            reading = self.lines[at].reading
            mine = reading is not None and (reading.feed.unit, reading.feed.input.name) == key
            if mine or at not in differs:  # what the line speaks of comes before what else moves
                differs[at] = Cell(key, now, plan)

    def _gone(self, change: Change) -> set[int]:
        """The lines whose screen, light or picture is not there, or is another one."""
        found: set[int] = set()
        for part in change.off | _moved(change):
            found.update(self.by_part.get(part, ()))
        for name in change.strange:
            found.update(self.screens.get(name, ()))
        for name, unit in change.units.items():
            if unit.bound_to is None:
                found.update(self.linked.get(name, ()))
        return found

    def _add_takes(self, differs: dict[int, Cell], unknown: set[int]) -> None:
        """The take that is played was started by its line."""
        for at in self.takes:
            other = self.starting.get(self.lines[at].station)
            if other in differs:
                differs.setdefault(at, differs[other])
            elif other in unknown:
                unknown.add(at)


def _starting(lines: Sequence[Line]) -> dict[int, int]:
    """By station, the first line that starts a take."""
    found: dict[int, int] = {}
    for at, line in enumerate(lines):
        runs = line.reading and line.reading.state == RUN and is_record(line.reading.feed.input.states)
        if line.press == 1 or runs:
            found.setdefault(line.station, at)
    return found


def _moved(change: Change) -> frozenset[Part]:
    return frozenset(Part("lead", (leg,)) for leg in change.moved)


def _parts_of_line(solved: Solved, line: Line) -> frozenset[Part]:
    """The parts without which a screen, a light or a picture is not there; none for other lines."""
    rig = solved.rig
    if line.kind == "screen":
        return frozenset({Part("unit", (line.handset,))})
    if line.kind == "look":
        unit = rig.units[line.devices[0]]
        own = {Part("unit", (unit.name,)), *power_parts(solved, unit)}
        if line.look and line.look.when == LINKED and unit.bound_to:
            own.add(Part("unit", (unit.bound_to,)))
        return frozenset(own)
    if line.kind == "link":
        assert line.link
        names = [line.link.sender, *line.devices]
        return frozenset({*_picture(solved, line.link.sender), *_on(solved, names)})
    if line.kind == "picture":
        return frozenset({*_picture(solved, line.devices[0]), *_on(solved, line.devices)})
    return frozenset()


def _on(solved: Solved, names: Iterable[str]) -> set[Part]:
    return {
        part for name in names for part in (Part("unit", (name,)), *power_parts(solved, solved.rig.units[name]))
    }


def _picture(solved: Solved, unit: str) -> set[Part]:
    """The leads that bring a picture to a unit, back to where it begins, and the units there."""
    found: set[Part] = set()
    waiting, been = [unit], {unit}
    for name in waiting:  # grows
        for wire in solved.links.wires:
            if wire.sink.unit == name and solved.rig.signal_at(wire.sink).kind == "picture":
                found |= {Part("lead", (wire.leg.id,)), *_on(solved, [wire.source.unit])}
                if wire.source.unit not in been:
                    been.add(wire.source.unit)
                    waiting.append(wire.source.unit)
    return found
