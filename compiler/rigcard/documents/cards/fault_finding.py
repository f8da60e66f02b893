"""Fault-finding from what is seen: which functions are dead together, and what they have in common."""

from __future__ import annotations

from rigcard.documents import cautions
from rigcard.documents.card import Group
from rigcard.documents.cards.parts import power_wire, steps
from rigcard.documents.layout import BODY, Cell, heading, paragraph, table
from rigcard.documents.model import Typeface
from rigcard.resolve.links import Feed
from rigcard.solve.solved import Solved
from rigcard.words import listed

FIRST = (
    ("Read the handset's screen.", "the right memory, no alarm, range mode off"),
    ("Look at the receiver.", "link light steady"),
    ("All controls as on the power-up card, then move one.", "only its own bar moves"),
)


def fault_finding(face: Typeface, inner: float, solved: Solved) -> Group:
    """The three quickest looks, then a table computed from the wiring; whole devices first."""
    rows = [[Cell(seen, BODY, True), Cell(look, BODY)] for seen, look in dead_together(solved)]
    blocks = [
        heading(face, "First, in this order", inner),
        steps(face, inner, FIRST),
        heading(face, "Dead together, the rest works", inner),
        table(face, ("DEAD", "LOOK AT, IN THIS ORDER"), rows, (38.0, inner - 38.0)),
        paragraph(
            face,
            "Wrong way, not dead? Do not reverse at the handset: call the technician. Open no case, bypass no fuse. "
            "After each change test that line again. Still dead: rig DOWN, call the technician.",
            inner,
            bold=True,
            whole=True,
        ),
    ]
    return Group("FAULTS", "Fault-finding", tuple(blocks), cautions.on("fault-finding", solved.rig))


def dead_together(solved: Solved) -> list[tuple[str, str]]:
    """(functions that die together, what they share), from everything of a handset down to one input."""
    rig = solved.rig
    found: list[tuple[str, str]] = []
    for handset in rig.units.values():
        mine = [feed for feed in solved.links.feeds if feed.handset == handset.name]
        if not mine:
            continue
        receivers = list(dict.fromkeys(feed.wire.source.unit for feed in mine))
        if len(mine) > 1:
            titles = [rig.units[name].title for name in receivers]
            found.append(
                (
                    f"everything of {handset.title}",
                    f"{handset.title}: battery, memory; {listed(titles)}: power, link",
                )
            )
        for unit in dict.fromkeys(feed.unit for feed in mine):
            found += _device(solved, unit, [feed for feed in mine if feed.unit == unit])
        for feed in mine:
            found.append((f"only {feed.input.title}", _chain(solved, feed)))
    return list(dict.fromkeys(found))


def _device(solved: Solved, name: str, feeds: list[Feed]) -> list[tuple[str, str]]:
    """What all functions of one device share: its power, its one lead, the lead of its commands, a setting."""
    rig = solved.rig
    unit = rig.units[name]
    shared = []
    power = power_wire(solved, unit)
    if power:
        shared.append(f"{power.leg.id} and {rig.units[power.source.unit].title}")
    legs = list(dict.fromkeys(feed.wire.leg.id for feed in feeds))
    if len(legs) == 1:
        shared.append(f"{legs[0]} at both ends")
    for order in solved.links.orders_of(name):
        receiver = rig.units[order.receiver]
        shared.append(f"{order.wire.leg.id} to {receiver.title}")
        shared += [
            f"{receiver.title} {key}: {value.text}" for key, value in list(receiver.settings.items())[:1]
        ]
    shared += [f"its {key}: {value.text}" for key, value in list(unit.settings.items())[:1]]
    if len(feeds) < 2 or not shared:
        return []
    return [(f"all of {unit.title}", "; ".join(shared))]


def _chain(solved: Solved, feed: Feed) -> str:
    rig = solved.rig
    channel = rig.units[feed.handset].channels[feed.channel]
    control = rig.units[feed.handset].model.controls[channel.control]
    pin = f"pin {feed.wire.source.port} of {rig.units[feed.wire.source.unit].title}"
    return f"{feed.wire.leg.id} at both ends; {pin}; {control.title}"
