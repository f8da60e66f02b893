"""Finds the bands or ends at one input that make an `expect` come true."""

from typing import NamedTuple

from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import CENTRE, Band, Expectation, Rig


class Target(NamedTuple):
    """A feed that can fulfil an expectation, with the band or the end of a sweep ("" for either end)."""

    feed: Feed
    band: Band | None
    end: str


def targets_at(rig: Rig, links: Links, feed: Feed, expectation: Expectation) -> list[Target]:
    """The targets of an expectation at one input, whatever control moves it."""
    if feed.unit == expectation.unit:
        return _local(feed, expectation.wanted)
    obeyed = expectation.wanted[0] in rig.units[expectation.unit].commands
    if obeyed and any(order.receiver == expectation.unit for order in links.orders_of(feed)):
        return _commanded(feed, expectation.wanted)
    return []


def _local(feed: Feed, wanted: tuple[str, ...]) -> list[Target]:
    """Targets at an input of the named unit itself."""
    if len(wanted) == 2 and wanted[0] != feed.input.name:
        return []
    state = wanted[-1]
    if feed.input.sweep:
        return [Target(feed, None, state)] if state in (*feed.input.states, CENTRE) else []
    return [Target(feed, band, "") for band in feed.input.bands if band.name == state]


def _commanded(feed: Feed, wanted: tuple[str, ...]) -> list[Target]:
    """Targets through a command to the named unit from the unit that reads the level."""
    if feed.input.sweep:
        if wanted[0] != feed.input.name or (len(wanted) == 2 and wanted[1] not in feed.input.states):
            return []
        return [Target(feed, None, wanted[1] if len(wanted) == 2 else "")]
    return [Target(feed, band, "") for band in feed.input.bands if wanted == (band.name,)]
