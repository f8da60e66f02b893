"""Puts each spare of another model in the place of the unit in use, and runs the passes again with what was dialled."""

from __future__ import annotations

from collections.abc import Iterator

from rigcard.check.check import check
from rigcard.check.registry import Facts
from rigcard.check.rules.spares import cannot_take_place, lacking, sockets_for, stand_ins
from rigcard.diagnostics import Diagnostic, Diagnostics, Severity
from rigcard.resolve.links import trace
from rigcard.resolve.model import Cable, End, Rig, Unit
from rigcard.solve.solve import solve
from rigcard.solve.solved import Solved

TOLD = {"RC392", "RC437", "RC438"}  # warnings that count: it turns the wrong way, drifts, or stops too late


def try_spares(solved: Solved, diagnostics: Diagnostics) -> None:
    """Report each spare with which the rig, sound as it is, would fail; those that lack something are told already."""
    known = {(found.code.id, found.message) for found in diagnostics}
    for spare, unit in stand_ins(solved.rig):
        if unit.role == "handset" or lacking(Facts(solved.rig, solved.links), unit, spare):
            continue
        trial = _with_spare(solved, unit, spare)
        found = [one for one in _faults(trial) if (one.code.id, one.message) not in known]
        if found:
            more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
            diagnostics.add(cannot_take_place(unit, spare, f"with it in place, {found[0].message}{more}"))


def _faults(rig: Rig) -> Iterator[Diagnostic]:
    found = Diagnostics()
    links = trace(rig)
    check(rig, links, found)
    if not found.failed():
        solve(rig, links, found)
    for one in found:
        if one.code.severity is Severity.ERROR or one.code.id in TOLD:
            yield one


def _with_spare(solved: Solved, unit: Unit, spare: Unit) -> Rig:
    """The rig with a spare in the place of a unit: its leads in sockets of the same kind, all dials as found."""
    model, rig = spare.model, solved.rig
    sockets = sockets_for(rig, unit, spare)
    settings = {name: value for name, value in unit.settings.items() if name in model.settings}
    placed = unit._replace(
        model=model,
        settings={**settings, **spare.settings},
        sources={name: source for name, source in unit.sources.items() if name in model.inputs},
        unused=tuple(name for name in model.inputs if name in unit.unused or name not in unit.model.inputs),
        obeys=None if unit.obeys is None else tuple(name for name in unit.obeys if name in model.commands),
    )
    units = {name: _as_dialled(solved, other) for name, other in rig.units.items()} | {unit.name: placed}
    return rig._replace(
        units=units,
        spare_units={},
        cables={name: _plugged(cable, unit, sockets) for name, cable in rig.cables.items()},
    )


def _as_dialled(solved: Solved, unit: Unit) -> Unit:
    channels = {}
    for name, channel in unit.channels.items():
        dial = solved.results[unit.name, name].dial
        channels[name] = channel._replace(travel=dial.travel, subtrim=dial.subtrim, reversed=dial.reversed)
    return unit._replace(channels=channels)


def _plugged(cable: Cable, unit: Unit, sockets: dict[str, str]) -> Cable:
    """A cable with the plugs at the unit in the sockets of the spare."""

    def moved(end: End | None) -> End | None:
        return end._replace(port=sockets[end.port]) if end and end.unit == unit.name else end

    legs = tuple(
        leg._replace(first=moved(leg.first) or leg.first, second=moved(leg.second)) for leg in cable.legs
    )
    return cable._replace(legs=legs)
