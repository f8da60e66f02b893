"""The remedy for a level that has the wrong sign: `reversed` at the handset or at the input, or taken off there."""

from __future__ import annotations

from rigcard.resolve.model import CENTRE, Expectation
from rigcard.resolve.targets import Target
from rigcard.solve.claims import Proof
from rigcard.solve.levels import way_to
from rigcard.solve.remedies import mount_hint
from rigcard.solve.solved import Reading


def turn_hint(proof: Proof, expectation: Expectation, target: Target, reading: Reading) -> str:
    """The remedy where the level has only the wrong sign, and the compiler was not free to turn it round."""
    channel = proof.solved.rig.units[expectation.handset].channels[target.feed.channel]
    if channel.reversed is None:
        return ""
    if target.band:
        fits = target.band.holds(-reading.heard) and not reading.either
    else:
        sweep = target.feed.input.sweep
        assert sweep is not None
        fits = (
            target.end not in ("", reading.state)
            and way_to(sweep, -reading.heard, -reading.exact) == target.end
        )
        fits = fits and reading.state != CENTRE
    if not fits:
        return ""
    feed = target.feed
    unit = proof.solved.rig.units[feed.unit]
    mount = mount_hint(unit, feed)
    alone = len(proof.solved.links.feeds_of(feed.handset, feed.channel)) == 1
    twice = proof.dials[feed.handset, feed.channel].reversed and not feed.turned and alone
    if (
        feed.input.name in unit.sources and not twice
    ):  # reversed at both ends, the next person corrects one of them
        verb = "take `reversed` off" if feed.turned else "write `reversed` at the end of"
        return f"{verb} `input {feed.input.name} from {feed.channel}` in the block of `{feed.unit}`{mount}"
    dial = proof.dials[feed.handset, feed.channel]
    verb = "take `reversed` off" if dial.reversed else "write `reversed` on"
    return f"{verb} channel `{feed.channel}`{mount}, or correct the expectation"
