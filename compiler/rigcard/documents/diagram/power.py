"""The power drawing: every lead that carries power, from each source to what it feeds, through devices."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.model import Typeface
from rigcard.documents.diagram.graph import PIN, SMALL, Builder, Graph
from rigcard.documents.diagram.parts import cable, device
from rigcard.documents.diagram.rows import columns_that_fit, depths, laid_out
from rigcard.documents.labels.cable_labels import end_id
from rigcard.resolve.links import Wire
from rigcard.resolve.model import End, Unit
from rigcard.solve.power.result import EMPTY, FULL, Figures
from rigcard.solve.power.wording import amps, volts
from rigcard.solve.solved import Solved

COLUMNS = 3  # of a level: the inputs of a device, its outputs, the leads that leave it
Run = tuple[Wire, End, End]  # a lead with the end where power enters and the end where it leaves


def power_graph(face: Typeface, solved: Solved) -> Graph:
    """Build the graph: for each device a frame, in it a cell for each port that carries power.

    A way through more devices than a large sheet holds side by side goes on below: see `Folds`.
    """
    runs = [run for wire in solved.links.wires if (run := _run(solved, wire))]
    deep = depths([(giver.unit, taker.unit) for _, giver, taker in runs])
    levels = max(deep.values(), default=1)
    while True:
        graph = _folded(face, solved, runs, Folds(deep, {giver.unit for _, giver, _ in runs}, levels))
        fitting = columns_that_fit(graph, solved.rig.paper)
        if fitting == len(graph.widths) or levels == 1:
            return graph
        levels = max(min(levels - 1, (fitting - 1) // COLUMNS), 1)


class Folds(NamedTuple):
    """Where a way that is too long for a sheet is folded: each fold holds so many levels of devices and begins on the left.

    A lead stands in the fold of the device that gives the power. If the device that takes it stands in another fold,
    its frame is drawn again at the end of the lead, and both frames say so.
    """

    deep: dict[str, int]  # levels of each unit, from its source
    givers: set[str]
    levels: int

    def of(self, unit: str) -> int:
        """Return the fold of a device; one that feeds nothing may stand behind the last level."""
        return max(self.deep[unit] - (unit not in self.givers), 0) // self.levels

    def column(self, unit: str) -> int:
        """Return the column of the inputs of a device in its fold."""
        return COLUMNS * (self.deep[unit] - self.of(unit) * self.levels)


def _folded(face: Typeface, solved: Solved, runs: Sequence[Run], folds: Folds) -> Graph:
    rig = solved.rig
    leaving: dict[str, list[Run]] = {}
    from_afar: dict[str, list[Run]] = {}
    for run in runs:
        _, giver, taker = run
        leaving.setdefault(giver.unit, []).append(run)
        if folds.of(giver.unit) != folds.of(taker.unit):
            from_afar.setdefault(taker.unit, []).append(run)
    build = Builder()

    def port(wire: Wire, end: End, side: str, column: int, again: str = "") -> str:
        words = (rig.port(end).label, PIN, True), (end_id(wire.leg, end), SMALL, False)
        part = f"device:{end.unit}"
        more = [again] if again else _fed_from_afar(folds, end.unit, from_afar.get(end.unit, ()))
        frame = device(build, rig, end.unit, *_meeting(rig.units[end.unit]), *more, again=again)
        return build.cell(f"{frame}.{end.port} {side}", "device", column, *words, part=part, frame=frame)

    def feed(source: str) -> None:
        """Add every lead on the way from a unit, the first one that leaves it on the row that stands there."""
        waiting = list(reversed(leaving.pop(source, [])))  # no recursion: a chain may be long
        seen: set[str] = set()
        while waiting:
            wire, giver, taker = waiting.pop()
            if giver.unit in seen:
                build.start()
            seen.add(giver.unit)
            kind = "power" if rig.signal_at(wire.source).kind == "power" else "power-too"
            column = folds.column(giver.unit)
            out = port(wire, giver, "out", column + 1)
            lead = cable(build, rig, wire, column + 2, facts=power_lines(solved, wire))
            here, there = folds.of(giver.unit), folds.of(taker.unit)
            if here == there:
                to = port(wire, taker, "in", folds.column(taker.unit))
                waiting += reversed(leaving.pop(taker.unit, []))
            else:
                again = say("drawn again further down") if here < there else say("drawn again further up")
                to = port(wire, taker, "in", column + COLUMNS, again)
            build.edge(out, lead, kind)
            build.edge(lead, to, kind)

    takers = {taker.unit for _, _, taker in runs} - set(from_afar)
    first = [name for name in rig.units if name in leaving and name not in takers]
    for unit in (*sorted(first, key=folds.of), *list(leaving)):
        if unit in leaving:
            build.start()
            feed(unit)
    return laid_out(face, build, "wiring-power", say("Power"), rig.paper)


def _fed_from_afar(folds: Folds, unit: str, runs: Sequence[Run]) -> list[str]:
    """Return which leads feed a device from other folds, as the words below its title."""
    up = [wire.leg.id for wire, giver, _ in runs if folds.of(giver.unit) < folds.of(unit)]
    down = [wire.leg.id for wire, giver, _ in runs if folds.of(giver.unit) > folds.of(unit)]
    return [
        *([say("fed by {leads}, drawn further up", leads=listed(up))] if up else []),
        *([say("fed by {leads}, drawn further down", leads=listed(down))] if down else []),
    ]


def _run(solved: Solved, wire: Wire) -> Run | None:
    """Return a lead with the end where power enters and the end where it leaves; None if it carries none."""
    use = solved.power.leads.get(wire.leg.id) if solved.power else None
    if use:
        return wire, use.lead.giver, use.lead.taker
    return (wire, wire.source, wire.sink) if solved.rig.signal_at(wire.source).powers else None


def power_lines(solved: Solved, wire: Wire) -> list[str]:
    """Return the facts of a lead in the power drawing: wire and fuse, volts at its end, greatest amperes."""
    use = solved.power.leads.get(wire.leg.id) if solved.power else None
    if use is None or solved.power is None:
        return []
    power = wire.cable.power
    made = [power.wire.shown] if power.wire else []
    made += [say("fuse {amps}", amps=amps(power.fuse))] if power.fuse is not None else []
    at_end = _volts(solved.power.rails[use.lead.sink].volts)
    return [*([", ".join(made)] if made else []), at_end, say("up to {amps}", amps=amps(max(use.amps)))]


def _volts(figures: Figures) -> str:
    """Return the volts at the end of a lead with all loads at their peak, the pack full and near empty."""
    full, empty = volts(figures[FULL]), volts(figures[EMPTY])
    if full == empty:
        return say("{volts} at peak", volts=full)
    return say("{full} full, {empty} near empty, at peak", full=full, empty=empty)


def _meeting(unit: Unit) -> list[str]:
    """Return how several inputs for power meet inside a device."""
    side, ports = unit.model.power, unit.model.ports

    def labels(inputs: tuple[str, ...]) -> str:
        return listed([ports[name].label for name in inputs])

    return [
        *(say("one of {ports} feeds", ports=labels(plate.either)) for plate in side.plates),
        *(say("{ports} feed together", ports=labels(inputs)) for inputs in side.joined),
    ]
