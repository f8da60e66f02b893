"""The text of `rigcard show` for a file of models: one line a model, with what its file does not say."""

from collections.abc import Iterable, Iterator

from rigcard.resolve.model import Model, Port
from rigcard.words import listed

HEAD = ("MODEL", "TITLE", "ROLE", "PORTS", "CONTROLS, INPUTS, COMMANDS", "NOT STATED")
CARRIERS = ("head", "mast", "vehicle")


def as_gallery(models: Iterable[Model], file: str) -> str:
    """The models that a file declares itself, in its order; those of the files that it uses are left out."""
    rows = [HEAD]
    for model in models:
        if model.span.source.name == file:
            inputs = [
                *model.controls,
                *model.inputs,
                *(name for name in model.commands if name not in model.inputs),
            ]
            cells = (_ports(model.ports.values()), _names(inputs), _names(_unknown(model)))
            rows.append((model.name, model.title, model.role, *cells))
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = ("  ".join(f"{cell:{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows)
    return "\n".join(line.rstrip() for line in lines)


def _names(names: Iterable[str]) -> str:
    return ", ".join(names) or "-"


def _ports(ports: Iterable[Port]) -> str:
    """Ports as `8 servo out, power in`: those of one signal and direction that form a row are counted."""
    groups: dict[tuple[str, str], list[str]] = {}
    for port in ports:
        groups.setdefault((port.signal, port.direction), []).append(port.name)
    found = []
    for (signal, direction), names in groups.items():
        shown = listed(names) if len(names) <= 2 else f"{names[0]}..{names[-1]}"
        found.append(f"{shown} {direction} {signal}")
    return _names(found)


def _unknown(model: Model) -> Iterator[str]:
    """What a card or a rule would use if the file said it."""
    if model.mass is None:
        yield "mass"
    if model.power.windows and not model.power.draws:
        yield "draws"
    if model.role in ("handset", "pack") and model.power.capacity is None:
        yield "capacity"
    if model.role == "handset" and model.front is None:
        yield "face"
    if model.role == "receiver" and model.loss_after is None:
        yield "failsafe after"
    if model.role == "pack" and not model.power.chemistry:
        yield "chemistry"
    if model.role in CARRIERS and model.carries is None:
        yield "carries"
