"""The power drawing: every lead that carries power, from each source to what it feeds, through devices."""

from __future__ import annotations

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.model import Typeface
from rigcard.documents.diagram.graph import PIN, SMALL, Builder, Graph
from rigcard.documents.diagram.parts import cable, device
from rigcard.documents.diagram.rows import depths, laid_out
from rigcard.documents.labels.cable_labels import end_id
from rigcard.resolve.links import Wire
from rigcard.resolve.model import End, Unit
from rigcard.solve.power.result import EMPTY, FULL, Figures
from rigcard.solve.power.wording import amps, volts
from rigcard.solve.solved import Solved

Run = tuple[Wire, End, End]  # a lead with the end where power enters and the end where it leaves


def power_graph(face: Typeface, solved: Solved) -> Graph:
    """Build the graph: for each device a frame, in it a cell for each port that carries power."""
    rig = solved.rig
    runs = [run for wire in solved.links.wires if (run := _run(solved, wire))]
    leaving: dict[str, list[Run]] = {}
    for run in runs:
        leaving.setdefault(run[1].unit, []).append(run)
    deep = depths([(giver.unit, taker.unit) for _, giver, taker in runs])
    build = Builder()

    def port(wire: Wire, end: End, side: str, column: int) -> str:
        words = (rig.port(end).label, PIN, True), (end_id(wire.leg, end), SMALL, False)
        frame = device(build, rig, end.unit, *_meeting(rig.units[end.unit]))
        part = f"device:{end.unit}"
        return build.cell(f"{part}.{end.port} {side}", "device", column, *words, part=part, frame=frame)

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
            out = port(wire, giver, "out", 3 * deep[giver.unit] + 1)
            lead = cable(build, rig, wire, 3 * deep[giver.unit] + 2, facts=power_lines(solved, wire))
            to = port(wire, taker, "in", 3 * deep[taker.unit])
            build.edge(out, lead, kind)
            build.edge(lead, to, kind)
            waiting += reversed(leaving.pop(taker.unit, []))

    takers = {taker.unit for _, _, taker in runs}
    sources = [name for name in rig.units if name in leaving and name not in takers]
    for unit in (*sources, *list(leaving)):
        if unit in leaving:
            build.start()
            feed(unit)
    return laid_out(face, build, "wiring-power", say("Power"), rig.paper)


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
