"""Small tools that every resolver uses: look a name up, take a statement once, check a range."""

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any, TypeVar

from rigcard.diagnostics import Related, Sink
from rigcard.reporting.suggest import did_you_mean, one_of
from rigcard.resolve import codes
from rigcard.source import Span
from rigcard.syntax import tree

T = TypeVar("T")


class Block:
    """The statements of one block, by class."""

    def __init__(self, items: Iterable[object], owner: tree.Name | tree.Words, sink: Sink) -> None:
        self.items = tuple(items)
        self.owner = owner
        self.sink = sink

    def all(self, cls: type[T]) -> list[T]:
        """Every statement of a class."""
        return [item for item in self.items if isinstance(item, cls)]

    def one(self, cls: type[T]) -> T | None:
        """The statement of a class, if any; a second one is reported."""
        found = self.all(cls)
        for again in found[1:]:
            word = keyword(cls)
            self.sink.report(
                codes.DOUBLED_STATEMENT,
                place_of(again),
                f"`{word}` stands a second time in the block of `{self.owner.text}`",
                "keep one of the two",
                Related(place_of(found[0]), "first given here"),
            )
        return found[0] if found else None

    def text(self, cls: type[Any]) -> str:
        """The words of a statement that has only words, or ""."""
        found = self.one(cls)
        return found.text.text if found else ""


def keyword(cls: type) -> str:
    """The word that a statement of a class begins with."""
    special = {
        "TravelRange": "travel",
        "SubtrimRange": "subtrim",
        "ReverseOrder": "reverse",
        "MixOrder": "mix",
        "OutputRange": "output",
        "Bound": "bound to",
        "Held": "held by",
        "Mounted": "mounted on",
        "CablePlace": "moving",
        "CarriesChannels": "carries",
        "CarriesKind": "carries",
        "ReverseAuto": "reverse",
        "TravelAuto": "travel",
        "SubtrimAuto": "subtrim",
        "LossAfter": "failsafe after",
        "Silence": "without pulses",
        "Dwell": "reads after",
        "ChannelRate": "rate",
        "LabelsOn": "labels on",
        "SheetPage": "page",
        "SheetMargin": "margin",
    }
    return special.get(cls.__name__, cls.__name__.lower())


def span_of(node: Any) -> Span:
    """The first place that a statement names."""
    if isinstance(node, tree.Name | tree.Words | tree.Number):
        return node.span
    for part in node:
        if isinstance(part, tuple) and part:
            return span_of(part)
    raise AssertionError(f"{node} has no place")


def place_of(item: object) -> Span:
    """The word that a statement begins with, which the tree does not keep; else the first place it names."""
    named = span_of(item)
    first = keyword(type(item)).split()[0]
    at = named.source.text.rfind(first, 0, named.end)
    if at < 0 or re.search(r"[{};\n]", named.source.text[at : named.start]):
        return named
    return Span(named.source, at, at + len(first))


def lookup(name: tree.Name, known: Mapping[str, T], what: str, sink: Sink) -> T | None:
    """The thing of a name, or None with the unknown name reported. `what`: "unit", "control of `hs`" ..."""
    if name.text in known:
        return known[name.text]
    sink.report(
        codes.UNKNOWN_NAME,
        name.span,
        f"there is no {what} named `{name.text}`",
        did_you_mean(name.text, known, _known_hint(known, what)),
    )
    return None


def word(name: tree.Name, known: tuple[str, ...], what: str, sink: Sink) -> str | None:
    """A fixed word, or None with an unknown one reported."""
    return lookup(name, dict.fromkeys(known, name.text), what, sink)


def _known_hint(known: Mapping[str, object], what: str) -> str:
    names = list(known)
    if not names:
        return "declare it, or `use` the file that does"
    if len(names) <= 8:
        return f"known: {one_of(names)}"
    return f"declare it; known are {one_of(names[:7])} and {len(names) - 7} more"


def once(name: tree.Name, taken: dict[str, Span], what: str, sink: Sink) -> bool:
    """Whether a name is new among its kind; a doubled one is reported."""
    if name.text not in taken:
        taken[name.text] = name.span
        return True
    sink.report(
        codes.DOUBLED_NAME,
        name.span,
        f"the {what} name `{name.text}` is used twice",
        "give one of the two another name",
        Related(taken[name.text], "first used here"),
    )
    return False


def ordered(low: tree.Number, high: tree.Number, sink: Sink) -> bool:
    """Whether low < high; a backward range is reported."""
    if low.value < high.value:
        return True
    sink.report(
        codes.BACKWARD_RANGE,
        low.span,
        f"the range begins at {show(low)} and ends at {show(high)}",
        "write the smaller value first",
    )
    return False


def show(number: tree.Number) -> str:
    """A number as the file writes it."""
    return f"{plain(number.value)}{number.unit}"


def plain(value: Fraction) -> str:
    """A short decimal."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):g}"


def whole(number: tree.Number, least: int, most: int, what: str, sink: Sink) -> int:
    """A whole number within bounds; one outside is reported and the nearest bound returned."""
    value = int(number.value)
    if least <= value <= most:
        return value
    sink.report(
        codes.OUT_OF_RANGE,
        number.span,
        f"{value} is no possible {what}",
        f"write a number from {least} to {most}",
    )
    return max(least, min(most, value))
