"""The behaviour of every input when the radio link is lost, according to the failsafe of its channel."""

from __future__ import annotations

from fractions import Fraction

from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import Rig
from rigcard.solve.levels import read
from rigcard.solve.solved import ChannelResult, Loss, Reading, Solved

RUN, STANDBY = "run", "standby"  # the trade's words for recording and not recording


def losses(rig: Rig, links: Links, results: dict[tuple[str, str], ChannelResult]) -> tuple[Loss, ...]:
    """One record for each input, in the order of the file."""
    found = []
    for feed in links.feeds:
        failsafe = results[feed.handset, feed.channel].failsafe
        if isinstance(failsafe, Fraction):
            reading = read(rig, links, feed, failsafe)
            found.append(Loss(feed, "level", failsafe, reading, reading.state))
        else:
            silence = feed.input.silence if failsafe == "none" else None
            found.append(Loss(feed, failsafe or "not set", None, None, silence or ""))
    modes = [loss for loss in found if any(band.stills for band in loss.feed.input.bands)]
    return tuple(loss._replace(held=_held(loss, modes)) for loss in found) if modes else tuple(found)


def _held(loss: Loss, modes: list[Loss]) -> str:
    """The input of the same unit whose state on loss holds this one still; "" if there is none.

    Over another receiver it may still hear its handset, and holds nothing then.
    """
    for other in modes:
        if other.feed.unit == loss.feed.unit and other.feed.pin.unit == loss.feed.pin.unit:
            bands = {band.name: band.stills for band in other.feed.input.bands}
            if loss.feed.input.name in bands.get(other.state, ()):
                return other.feed.input.name
    return ""


def is_toggle(reading: Reading) -> bool:
    """Whether a reading toggles a take: each press starts or stops it."""
    return any({RUN, STANDBY} <= set(done.toggles) for done in reading.effects)


def toggles_take(solved: Solved, feed: Feed) -> bool:
    """Whether presses on an input toggle a take."""
    readings = (
        reading
        for row in solved.results[feed.handset, feed.channel].rows
        for reading in row.readings
        if reading.feed == feed
    )
    return any(is_toggle(reading) for reading in readings)


def is_record(states: list[str]) -> bool:
    """Whether an input starts and stops a take."""
    return RUN in states and STANDBY in states
