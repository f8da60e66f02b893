"""Puts each spare of another model in the place of the unit in use, and runs the passes again with what was dialled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from rigcard.check.check import check
from rigcard.check.registry import Facts
from rigcard.check.rules.spares import cannot_take_place, lacking, sockets_for, stand_ins
from rigcard.diagnostics import Diagnostic, Diagnostics, Severity
from rigcard.resolve.links import trace
from rigcard.resolve.model import Cable, End, Rig, Unit
from rigcard.solve.solve import solve
from rigcard.solve.solved import Solved
from rigcard.solve.stations import station_numbers

TOLD = {"RC392", "RC437", "RC438"}  # warnings that count: it turns the wrong way, drifts, or stops too late


Pair = tuple[Unit, Unit]  # a unit in use, and the spare that takes its place


def try_spares(solved: Solved, diagnostics: Diagnostics) -> None:
    """Report each spare with which the rig, sound as it is, would fail; those that lack something are told already.

    Stations have nothing to do with each other, so that one spare of each is tried at once.
    """
    known = frozenset((found.code.id, found.message) for found in diagnostics)
    facts, stations = Facts(solved.rig, solved.links), station_numbers(solved)
    rounds: list[list[Pair]] = []
    tried: Counter[int] = Counter()
    for spare, unit in stand_ins(solved.rig):
        if unit.role == "handset" or lacking(facts, unit, spare):
            continue
        at = tried[stations[unit.name]]
        tried[stations[unit.name]] += 1
        if at == len(rounds):
            rounds.append([])
        rounds[at].append((unit, spare))
    for pairs in rounds:
        for (unit, spare), found in _failing(solved, pairs, known):
            more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
            diagnostics.add(cannot_take_place(unit, spare, f"with it in place, {found[0].message}{more}"))


def _failing(
    solved: Solved, pairs: Sequence[Pair], known: frozenset[tuple[str, str]]
) -> Iterator[tuple[Pair, list[Diagnostic]]]:
    """The spares of several stations with which the rig fails, each with what is then said: halved until found."""
    found = [one for one in _faults(_with_spares(solved, pairs)) if (one.code.id, one.message) not in known]
    if found and len(pairs) == 1:
        yield pairs[0], found
    elif found:
        half = len(pairs) // 2
        yield from _failing(solved, pairs[:half], known)
        yield from _failing(solved, pairs[half:], known)


def _faults(rig: Rig) -> Iterator[Diagnostic]:
    found = Diagnostics()
    links = trace(rig)
    check(rig, links, found)
    if not found.failed():
        solve(rig, links, found)
    for one in found:
        if one.code.severity is Severity.ERROR or one.code.id in TOLD:
            yield one


def _with_spares(solved: Solved, pairs: Sequence[Pair]) -> Rig:
    """The rig with spares in the places of units: their leads in sockets of the same kind, all dials as found."""
    rig = solved.rig
    sockets = {unit.name: sockets_for(rig, unit, spare) for unit, spare in pairs}
    units = {name: _as_dialled(solved, unit) for name, unit in rig.units.items()}
    units |= {unit.name: _placed(unit, spare) for unit, spare in pairs}
    return rig._replace(
        units=units,
        spare_units={},
        cables={name: _plugged(cable, sockets) for name, cable in rig.cables.items()},
    )


def _placed(unit: Unit, spare: Unit) -> Unit:
    """A spare under the name of the unit whose place it takes, with what was set there as far as it has it."""
    model = spare.model
    settings = {name: value for name, value in unit.settings.items() if name in model.settings}
    return unit._replace(
        model=model,
        settings={**settings, **spare.settings},
        sources={name: source for name, source in unit.sources.items() if name in model.inputs},
        unused=tuple(name for name in model.inputs if name in unit.unused or name not in unit.model.inputs),
        obeys=None if unit.obeys is None else tuple(name for name in unit.obeys if name in model.commands),
    )


def _as_dialled(solved: Solved, unit: Unit) -> Unit:
    channels = {}
    for name, channel in unit.channels.items():
        dial = solved.results[unit.name, name].dial
        channels[name] = channel._replace(travel=dial.travel, subtrim=dial.subtrim, reversed=dial.reversed)
    return unit._replace(channels=channels)


def _plugged(cable: Cable, sockets: Mapping[str, Mapping[str, str]]) -> Cable:
    """A cable with the plugs at each unit in the sockets of its spare."""

    def moved(end: End) -> End:
        return end._replace(port=sockets[end.unit][end.port]) if end.unit in sockets else end

    legs = tuple(
        leg._replace(first=moved(leg.first), second=leg.second and moved(leg.second)) for leg in cable.legs
    )
    return cable._replace(legs=legs)
