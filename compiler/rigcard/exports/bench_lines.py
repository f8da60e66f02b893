"""What `rigcard bench` says: the lines to type with what was read, and those that state what readings settled."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from rigcard.resolve.model import Arithmetic, Bench, Model
from rigcard.resolve.readings import form
from rigcard.words import decimal


def bench_lines(models: Iterable[Model]) -> list[str]:
    """The text for the models of a file, one model after the other."""
    lines = []
    for model in models:
        bench = model.bench
        if model.asks:
            lines.append(f"{model.name}: still to be read; each line goes beside what it is about:")
            lines += [f"  {ask.form}" for ask in model.asks]
        if bench is None or not bench.unknown:
            continue
        if bench.left:
            lines.append(f"{model.name}: still to be read; each line goes into the block of the model:")
            lines += [f"  {form(one)}" for one in bench.asks]
        elif model.arithmetic:
            lines.append(
                f"{model.name}: the readings settle all; these lines may stand where something is unknown:"
            )
            lines += [f"  {line}" for line in stated(model.arithmetic, bench)]
    return lines or ["no model of this file leaves anything unknown"]


def stated(arithmetic: Arithmetic, bench: Bench) -> list[str]:
    """The lines of a model that state what its readings settled."""
    reverse, mix = arithmetic.reverse.replace("-", " "), arithmetic.mix.replace("-", " ")
    size = f"{bench.steps} steps = {_short(bench.steps * arithmetic.subtrim_step)}%, shifts {arithmetic.shifts}"
    subtrim = f"subtrim {arithmetic.subtrim_low}..{arithmetic.subtrim_high} steps, {size}"
    pulse = f"pulse {_short(arithmetic.pulse.centre)}us centre, {_short(arithmetic.pulse.per_percent)}us per 1%"
    lines = {
        "pulse": pulse,
        "step": subtrim,
        "shifts": subtrim,
        "reverse": f"reverse {reverse}",
        "mix": f"mix {mix}",
        "output": f"output {_short(arithmetic.output_low)}%..{_short(arithmetic.output_high)}%",
    }
    return list(dict.fromkeys(lines[name] for name in bench.unknown))


def _short(value: Fraction) -> str:
    """A number of at most four decimals, as the language writes it."""
    return decimal(value, 4).replace("−", "-")
