"""The words of a cable's label: where this plug goes, the id with its end, where the other end is, and facts."""

from __future__ import annotations

import re
from typing import NamedTuple

from rigcard.documents.base.language import say
from rigcard.documents.labels.ratings import Ratings
from rigcard.resolve.model import SERVO, Cable, End, Leg, Rig
from rigcard.words import millimetres

GROUND = "G|"  # the ground side of a servo plug, which has no key


class Words(NamedTuple):
    """The words for one end of a leg.

    `here`: where this plug goes; `there`: where the other end is. `facts` always stand on the label: volts and
    amperes of a power lead, and what tells the lead from others. Length and revision stand there if they need no
    row of their own. `ground`: whether the plug has a ground side to mark.
    """

    here: str
    id: str
    there: str
    facts: tuple[str, ...] = ()
    length: str = ""
    revision: str = ""
    ground: bool = False

    @property
    def extras(self) -> list[str]:
        """Return length and revision, if stated."""
        return [text for text in (self.length, self.revision) if text]

    @property
    def marked(self) -> str:
        """Return `here` with the mark of the ground side."""
        return f"{GROUND} {self.here}" if self.ground else self.here


def end_words(rig: Rig, cable: Cable, leg: Leg, rated: Ratings) -> tuple[Words, Words]:
    """Return the words for the two ends of a leg, which always differ."""
    assert leg.second is not None
    return _words(rig, cable, leg, leg.first, leg.second, rated), _words(
        rig, cable, leg, leg.second, leg.first, rated
    )


def end_id(leg: Leg, end: End) -> str:
    """Return the name of one end of a leg, used on its label and wherever that plug is meant."""
    return f"{leg.id}-{'A' if end == leg.first else 'B'}"


def spare_words(rig: Rig, cable: Cable, leg: Leg, rated: Ratings, own: str) -> tuple[Words, Words]:
    """Return the words for both ends of a spare with its own id, or room for its number: swaps are traceable."""
    assert leg.second is not None
    first, second = (
        Words(
            here=say("SPARE FOR {lead}", lead=leg.id),
            id=f"{own or f'{kind_letters(leg.id)}__'}-{letter}",
            there=place(rig, end),
            facts=_facts(cable, leg, rated),
            length=_length(cable),
            ground=has_ground_side(rig, cable, leg, end),
        )
        for end, letter in ((leg.first, "A"), (leg.second, "B"))
    )
    return first, second


def _words(rig: Rig, cable: Cable, leg: Leg, end: End, other: End, rated: Ratings) -> Words:
    return Words(
        here=place(rig, end),
        id=end_id(leg, end),
        there=f"→ {place(rig, other)}",
        facts=_facts(cable, leg, rated),
        length=_length(cable),
        revision=say("rev {revision}", revision=rig.revision) if rig.revision else "",
        ground=has_ground_side(rig, cable, leg, end),
    )


def place(rig: Rig, end: End) -> str:
    """Return the short names of a unit and of its port."""
    return f"{rig.units[end.unit].label} {rig.port(end).label}"


def _length(cable: Cable) -> str:
    return millimetres(cable.length) if cable.length else ""


def _facts(cable: Cable, leg: Leg, rated: Ratings) -> tuple[str, ...]:
    """Return volts and amperes, then a core that is cut on purpose, then what to compare before plugging in."""
    build = cable.build
    cut = {"plus": say("plus cut"), "ground": say("ground cut")}
    cores = [words for core, words in cut.items() if core in cable.power.cuts]
    own = [say("EXACT")] if build.swap == "exact" else []
    mark = [say("mark: {mark}", mark=build.mark)] if build.mark else []
    return (*rated.get(leg.id, ()), *cores, *own, *mark)


def has_ground_side(rig: Rig, cable: Cable, leg: Leg, end: End) -> bool:
    """Whether a plug has no key: it is on a servo port, or on another port with the same connector."""
    ports = rig.units[end.unit].model.ports
    servo = {port.connector for port in ports.values() if rig.signals[port.signal].kind == SERVO}
    plugs = cable.build.plugs
    plug = ports[end.port].connector or (plugs[0 if end == leg.first else 1] if plugs else None)
    return rig.signal_at(end).kind == SERVO or (plug is not None and plug in servo)


def kind_letters(name: str) -> str:
    """Return the letters for the kind of a lead: W, P, V ..."""
    found = re.sub("[^A-Za-z].*", "", name)
    return found if len(found) <= 3 else found[0]
