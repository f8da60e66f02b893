"""The signal drawing as a list: a row for each way of a channel, with its control, pin, cables, input and function."""

from __future__ import annotations

from rigcard.documents.base.full_sheet import MARGIN, list_pages
from rigcard.documents.base.language import say
from rigcard.documents.base.layout import Cell, table
from rigcard.documents.base.model import Page, Typeface
from rigcard.documents.base.paper import SIZES
from rigcard.documents.base.phrases import control_title
from rigcard.documents.diagram.signals import by_pin, what_it_does
from rigcard.resolve.links import Feed, obeying
from rigcard.solve.solved import ChannelResult, Solved

SHARES = (0.2, 0.06, 0.14, 0.1, 0.2, 0.3)  # of the width
SIZE = 9.5
FUNCTION = 11.0


def way_pages(face: Typeface, solved: Solved) -> list[Page]:
    """Make the pages of the list; none for a rig without channels."""
    rig = solved.rig
    inner = SIZES[rig.paper][0] - 2 * MARGIN
    rows = [row for result in by_pin(solved) for row in _rows(solved, result)]
    if not rows:
        return []
    head = (say("CONTROL"), say("CH"), say("PIN"), say("CABLE"), say("INPUT"), say("FUNCTION"))
    block = table(face, head, rows, [inner * share for share in SHARES])
    return list_pages(face, rig, say("Channels"), [block])


def _rows(solved: Solved, result: ChannelResult) -> list[list[Cell]]:
    """Return a row for each input that a channel feeds, and for each unit that obeys it there."""
    rig = solved.rig
    channels = rig.units[result.handset].channels
    control = control_title(rig, result.handset, result.control.name)
    mixed = [control_title(rig, result.handset, channels[mix.source].control) for mix in result.mixes]
    first = [
        Cell("\n".join([control, *(f"+ {title}" for title in mixed)]), SIZE, True),
        Cell(str(result.number), FUNCTION, True),
    ]
    feeds = solved.links.feeds_of(result.handset, result.name)
    if not feeds:
        numbers = ", ".join(str(channels[name].number) for name in _into(solved, result))
        other = say("mixed into CH {numbers}", numbers=numbers) if numbers else ""
        return [[*first, Cell(), Cell(), Cell(), Cell(other, SIZE)]]
    rows = []
    for feed in feeds:
        pin = f"{rig.units[feed.pin.unit].label}, {rig.port(feed.pin).label}"
        leads = [wire.leg.id for wire in feed.route]
        known = f"{rig.units[feed.unit].label}, {rig.port(feed.plug).label}: {feed.input.title}"
        orders = obeying(rig, solved.links, feed) or solved.links.orders_of(feed)
        for order in (*orders, *([] if orders else [None])):
            after = [wire.leg.id for wire in order.route] if order else []
            cables = "\n".join([", ".join(leads), *([", ".join(after)] if after else [])])
            at = f"\n→ {rig.units[order.receiver].label}, {rig.port(order.plug).label}" if order else ""
            middle = [Cell(pin, SIZE), Cell(cables, SIZE, True), Cell(f"{known}{at}", SIZE)]
            rows += [
                [*head, *middle, Cell(does, FUNCTION, True)] for head, does in _functions(solved, feed, first)
            ]
    return rows


def _into(solved: Solved, result: ChannelResult) -> list[str]:
    """Return the channels of the same handset that a channel is mixed into."""
    return [
        other.name
        for other in solved.results_of(result.handset)
        if any(mix.source == result.name for mix in other.mixes)
    ]


def _functions(solved: Solved, feed: Feed, first: list[Cell]) -> list[tuple[list[Cell], str]]:
    """Return what an input does, beside its control; with several controls, beside the positions of all of them."""
    lines, beside = what_it_does(solved, feed)
    pairs = [(text, where) for (text, _, _), where in zip(lines, beside, strict=True)]
    result = solved.results[feed.handset, feed.channel]
    if len({row.control for row in result.rows}) > 1:
        return [([Cell(where, SIZE, True), *first[1:]], text) for text, where in pairs]
    return [(first, "\n".join(f"{where}: {text}" if where else text for text, where in pairs))]
