"""Remedies for an `expect` that does not come true, as far as they follow from its channel and line alone."""

from __future__ import annotations

from math import ceil, floor

from rigcard.resolve.links import Feed
from rigcard.resolve.model import Channel, Expectation, Unit
from rigcard.resolve.targets import Target
from rigcard.solve.claims import Proof
from rigcard.solve.levels import heard, sent
from rigcard.words import listed, signed_percent


def line_hint(proof: Proof, target: Target) -> str:
    """The remedy where no level of the handset is heard inside the band: no value of its channel can help."""
    rig, feed, band = proof.solved.rig, target.feed, target.band
    arithmetic = rig.units[feed.handset].model.arithmetic
    assert arithmetic is not None
    if band is None:
        return ""
    low, high = arithmetic.output_low, arithmetic.output_high
    middle = min(high, max(low, sent(rig, feed, (band.low + band.high) / 2)))
    nearest = heard(rig, feed, middle)
    if band.holds(nearest):
        return ""
    ends = sorted(heard(rig, feed, level) for level in (low, high))
    carries = (
        f"the line carries {signed_percent(ends[0])} to {signed_percent(ends[1])}, as `{feed.unit}` hears it"
    )
    edge = f"begin at {floor(nearest)}%" if nearest < band.low else f"end at {ceil(nearest)}%"  # as it is typed
    return f"{carries}, and no level of it lies in `{band.name}`: widen `{band.name}` to {edge}, or move it, in its model"


def open_hint(channel: Channel) -> str:
    """What is left to do where the sign is not to blame."""
    if None in (channel.travel, channel.subtrim, channel.reversed):
        return (
            f"channel `{channel.name}` is computed already: correct the expectation, move the band in the listener's "
            "model, or leave more of travel, sub-trim and reversal to `auto`"
        )
    return (
        f"put `travel auto subtrim auto reverse auto` on channel `{channel.name}` and read what is possible, "
        "or correct the expectation"
    )


def mount_hint(unit: Unit, feed: Feed) -> str:
    """Where the mounting turns an input round, a wrong or missing `mount` looks like a wrong sign."""
    if feed.input.name not in unit.model.flips:
        return ""
    if unit.underslung is None:
        return f"; if `{unit.name}` hangs, write `mount underslung` in its block instead"
    stated = "underslung" if unit.underslung else "upright"
    return f"; if `{unit.name}` is not mounted as `mount {stated}` says, correct that line instead"


def elsewhere(proof: Proof, expectation: Expectation) -> tuple[str, str]:
    """What a control does move and what the input that a claim means does hear, and the nearest remedy."""
    rig, links = proof.solved.rig, proof.solved.links
    handset, control, name = rig.units[expectation.handset], expectation.control, expectation.wanted[0]
    channels = [channel.name for channel in handset.channels.values() if channel.control == control]
    hearing = [
        feed
        for feed in links.feeds
        if feed.unit == expectation.unit and name in (feed.input.name, *feed.input.states)
    ]
    if not channels:
        cause = f": no channel of `{handset.name}` is from `{control}`"
    elif heard := [f"`{feed.unit}.{feed.input.name}`" for feed in links.feeds_of(handset.name, channels[0])]:
        verb = "hears" if len(heard) == 1 else "hear"
        cause = f": `{control}` moves channel `{channels[0]}`, which {listed(heard)} {verb}"
    else:
        cause = f": `{control}` moves channel `{channels[0]}`, which no input hears"
    if not hearing:
        where = f"channel `{channels[0]}`" if channels else f"a channel from `{control}`"
        return cause, f"bring {where} to `{expectation.unit}`: a pin, a lead and an `input` line lead there"
    feed = hearing[0]
    cause += f", and `{feed.unit}.{feed.input.name}` hears channel `{feed.channel}`"
    own = handset.channels[feed.channel].control if feed.channel in handset.channels else ""
    if feed.handset != handset.name:
        receiver = feed.pin.unit
        cause += f" of `{feed.handset}`, to which `{receiver}` is bound"
        claim = f"claim it of the control of `{feed.handset}` that moves channel `{feed.channel}`"
        if own == control:  # bound crosswise, or claimed of the wrong one of two alike
            return cause, f"write `bound to {handset.name}` in the block of `{receiver}`, or {claim}"
        return cause, claim
    return cause, f"claim it of `{own}`, which moves channel `{feed.channel}`"
