"""What things are called on a change card, and a line of it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from rigcard.compare.facts import (
    Facts,
)
from rigcard.documents.base.language import listed, say
from rigcard.documents.base.phrases import place
from rigcard.resolve.model import Position


class Line(NamedTuple):
    """One thing to know or to do: the word that leads it, and the sentence."""

    word: str
    text: str


class Titles:
    """The titles of things, as the new revision has them; of what is gone, as the old one had them."""

    def __init__(self, old: Facts, new: Facts) -> None:
        self.old, self.new = old, new
        self.titles = {**old.titles, **new.titles}
        self.units = {**old.spares, **old.units, **new.spares, **new.units}
        self.dials = {**old.dials, **new.dials}
        self.cables = {**old.cables, **new.cables}
        self.several = sum(unit.role == "handset" for unit in new.units.values()) > 1

    def unit(self, name: str) -> str:
        """Return the title of a unit."""
        return self.units[name].title if name in self.units else name

    def alone(self) -> Titles:
        """Return the same for a sentence that names the handset already."""
        same = Titles(self.old, self.new)
        same.several = False
        return same

    def control(self, handset: str, name: str) -> str:
        """Return the title of a control, after its handset if there are several."""
        title = self.titles.get(("control", handset, name), name)
        return f"{self.unit(handset)}: {title}" if self.several else title

    def at(self, handset: str, control: str, position: str, others: Sequence[str] = ()) -> str:
        """Return where controls stand: `Left flip switch AWAY`."""
        places = [(control, position), *(tuple(other.rsplit(".", 1)) for other in others)]
        return listed([self._stands(handset, name, where) for name, where in places])

    def _stands(self, handset: str, control: str, position: str) -> str:
        return say(
            "{control} {position}",
            control=self.control(handset, control),
            position=place(Position(position, Fraction(0))),
        )

    def input(self, unit: str, name: str) -> str:
        """Return the title of an input."""
        return self.titles.get(("input", unit, name), name)

    def port(self, end: str) -> str:
        """Return a port: the title of its unit, and what stands at it."""
        unit, _, port = end.partition(".")
        return f"{self.unit(unit)}, {self.titles.get(('port', unit, port), port)}"

    def channel(self, handset: str, name: str) -> str:
        """Return a channel with its number."""
        known = self.dials.get((handset, name))
        number = known.number if known else ""
        if self.several:
            return say(
                "{handset}, channel {number} {name}", handset=self.unit(handset), number=number, name=name
            )
        return say("channel {number} {name}", number=number, name=name)

    def menu(self, unit: str, setting: str) -> str:
        """Return where a setting stands in the menu."""
        return f"{self.unit(unit)}, {self.titles.get(('menu', unit, setting), setting)}"

    def cable(self, name: str) -> str:
        """Return a cable with its title."""
        return f"{name} {self.cables[name].title}" if name in self.cables else name
