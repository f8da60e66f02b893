"""Settles what the model of a handset leaves unknown, from the readings that it has, before any unit is read."""

from __future__ import annotations

from rigcard.diagnostics import Diagnostics, Related
from rigcard.resolve.model import Bench, BenchReading, Model
from rigcard.resolve.readings import form
from rigcard.solve import codes
from rigcard.solve.learning.asking import to_take
from rigcard.solve.learning.handset import Frame, agreeing, contradicting, learn
from rigcard.words import microseconds

DOUBTED = ("reverse", "shifts", "mix", "step", "output", "pulse")  # lines of a model, the likelier wrong first


def settled(model: Model, diagnostics: Diagnostics) -> Model:
    """The model with what its readings settle; where they do not settle all, with the readings still to take.

    Readings that contradict each other or the model are reported.
    """
    bench = model.bench
    if bench is None:
        return model
    if not bench.readings:
        return model._replace(bench=bench._replace(asks=to_take(bench, model.controls, model.span)))
    found = learn(bench)
    if not found.options:
        _report(bench, diagnostics)
        return model._replace(arithmetic=bench.declared, bench=None)
    bench = bench._replace(found=found.settled)
    if bench.left:
        return model._replace(bench=bench._replace(asks=to_take(bench, model.controls, model.span)))
    return model._replace(arithmetic=found.arithmetic, bench=bench)


def _report(bench: Bench, diagnostics: Diagnostics) -> None:
    """Report the reading that contradicts the rest, or those of which one does."""
    suspects = contradicting(bench)
    cures = [name for name in DOUBTED if name not in bench.unknown and _agrees_without(bench, name)]
    first, *others = suspects or bench.readings
    read = microseconds((first.low + first.high) / 2)
    hint = f"take it again: `{form(first)}`"
    if len(suspects) == 1:
        cause = f"{read} does not agree with the other readings{_expected(bench, first)}"
    elif suspects:
        cause = f"{len(suspects)} readings cannot all be right: {read} here, or another of them"
    elif cures:
        cause = f"the readings exclude what the model states; with `{_open_form(cures[0], bench)}` all of them agree"
        hint = f"write `{_open_form(cures[0], bench)}` in its place"
    else:
        cause = "no handset gives all of these readings, whichever one of them is left out"
        hint = "take them again from a blank memory, with trims at zero and every other mix off"
    if suspects and cures and len(bench.readings) > 1:
        hint += f"; or write `{_open_form(cures[0], bench)}` in the model, with which all of them agree"
    related = [Related(one.span, "or this one" if suspects else "one of them") for one in others]
    diagnostics.report(codes.READINGS_DISAGREE, first.span, cause, hint, *related)


def _agrees_without(bench: Bench, name: str) -> bool:
    """Whether all readings agree once one more line of the model counts as unknown."""
    if name == "mix" and not bench.declared.mix:
        return False
    return any(True for _ in agreeing(bench._replace(unknown=(*bench.unknown, name)), bench.readings))


def _open_form(name: str, bench: Bench) -> str:
    """How a model calls something unknown."""
    if name == "step":
        return f"{bench.steps} steps = unknown"
    return f"{name} unknown"  # of a line, or of `shifts`


def _expected(bench: Bench, reading: BenchReading) -> str:
    """What the other readings let one expect."""
    rest = tuple(one for one in bench.readings if one is not reading)
    frame = Frame(bench)
    ranges = [frame.pulses(option, reading) for option in agreeing(bench, rest)]
    low, high = min(low for low, _ in ranges), max(high for _, high in ranges)
    if high - low > 20:  # too wide to help
        return ""
    return f", which let {microseconds((low + high) / 2)} expect"
