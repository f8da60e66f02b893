"""Rules on channels: their numbers, what carries them, where they lead."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import handset_behind
from rigcard.resolve.model import Channel, Input
from rigcard.words import listed


@rule("RC301", Severity.ERROR, tier=0)
def doubled_channel_number(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two channels of one handset with the same number.
    Why: the handset has one slot a number; the second would overwrite the first.
    Bad: channel 1 pan from right-across and channel 1 tilt from right-along
    Good: channel 1 pan from right-across and channel 2 tilt from right-along
    """
    for unit in facts.rig.units.values():
        taken: dict[int, Channel] = {}
        for channel in unit.channels.values():
            first = taken.setdefault(channel.number, channel)
            if first is not channel:
                free = min(set(range(1, 65)) - {other.number for other in unit.channels.values()})
                yield Finding(
                    channel.span,
                    f"channel {channel.number} of `{unit.name}` is given to `{first.name}` and to `{channel.name}`",
                    f"give one of them the free number {free}",
                    (Related(first.span, "first used here"),),
                    (unit.name,),
                )


@rule("RC302", Severity.ERROR, tier=0)
def channel_beyond_handset(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a channel number higher than the handset has.
    Why: the handset has no such channel to dial in.
    Bad: channel 14 horizon from right-dial, on a handset with `channels 12`
    Good: channel 8 horizon from right-dial
    """
    for unit in facts.rig.units.values():
        for channel in unit.channels.values():
            if channel.number > unit.model.channels:
                yield Finding(
                    channel.span,
                    f"`{unit.name}` has {unit.model.channels} channels, and `{channel.name}` "
                    f"is channel {channel.number}",
                    f"use a number from 1 to {unit.model.channels}",
                    units=(unit.name,),
                )


@rule("RC303", Severity.ERROR)
def channel_beyond_link(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a channel that an input needs and that the receiver or the serial line does not carry.
    Why: the level leaves the handset and arrives nowhere; the input would stand still.
    Bad: channel 11 pan from right-across, through a receiver with `channels 6`
    Good: channel 2 pan from right-across
    """
    for feed in facts.links.feeds:
        channel = facts.rig.units[feed.handset].channels[feed.channel]
        receiver = facts.rig.units[feed.wire.source.unit]
        signal = facts.rig.signal_at(feed.wire.source)
        limits = {f"receiver `{receiver.name}`": receiver.model.channels}
        if signal.kind == "channels":
            limits[f"signal `{signal.name}`"] = signal.channels
        for what, most in limits.items():
            if most and channel.number > most:
                yield Finding(
                    channel.span,
                    f"{what} carries {most} channels, and `{channel.name}` is channel {channel.number}",
                    f"move it to a number from 1 to {most}",
                    units=(feed.handset,),
                )


@rule("RC304", Severity.WARNING, tier=2)
def channel_leads_nowhere(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a channel, and so its control, that no input listens to and that no mix uses.
    Why: an operator moves a control and nothing happens, or a lead has been forgotten.
    Bad: channel 8 horizon from right-dial, and no input `from horizon`
    Good: channel 8 horizon from right-dial, and in the head's block `input horizon from horizon`
    """
    asked = {  # an input asks for it: then the lead is missing, and input_without_source says so
        source.channel for unit in facts.rig.units.values() for source in unit.sources.values()
    }
    for unit in facts.rig.units.values():
        mixed = {mix.source for mix in unit.mixes} | asked
        for channel in unit.channels.values():
            if channel.name not in mixed and not facts.links.feeds_of(unit.name, channel.name):
                yield Finding(
                    channel.span,
                    f"channel {channel.number} `{channel.name}` from `{channel.control}` leads nowhere",
                    f"connect its pin, write `input NAME from {channel.name}` in a unit, or remove the channel",
                    units=(unit.name,),
                )


@rule("RC305", Severity.ERROR)
def critical_without_failsafe(facts: Facts) -> Iterator[Finding]:
    """
    Reports: an input marked critical whose channel does not say what happens when the radio is lost.
    Why: radio loss comes at the worst moment; on a speed or a mode the wrong level keeps the head moving.
    Bad: channel 1 pan from right-across
    Good: channel 1 pan from right-across failsafe 0%
    """
    for feed in facts.links.feeds:
        channel = facts.rig.units[feed.handset].channels[feed.channel]
        if feed.input.critical and channel.failsafe is None:
            yield Finding(
                channel.span,
                f"`{feed.input.name}` of `{feed.unit}` is critical, and channel `{channel.name}` has no failsafe",
                _failsafe_hint(feed.input),
                (Related(feed.input.span, "marked critical here"),),
                (feed.unit,),
            )


def _failsafe_hint(known: Input) -> str:
    if known.sweep and known.sweep.rest is not None:
        return "add `failsafe 0%`, or the level at which it rests, to the channel"
    return "add `failsafe` with the level of the state that is wanted, or `failsafe hold`, to the channel"


@rule("RC306", Severity.ERROR)
def wired_to_other_channel(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit that says which channel an input follows, on a pin that carries another channel.
    Why: two plugs are swapped, or the claim is out of date; either way a card would be wrong.
    Bad: input trigger from record, with the lead on the pin of channel `iris`
    Good: input trigger from record, with the lead on the pin of channel `record`
    """
    for feed in facts.links.feeds:
        claimed = facts.rig.units[feed.unit].sources.get(feed.input.name)
        if claimed and claimed.channel != feed.channel:
            yield Finding(
                claimed.span,
                f"`{feed.input.name}` says it follows `{claimed.channel}`, and its lead {feed.wire.leg.id} "
                f"comes from {feed.wire.source.unit}.{feed.wire.source.port}, which carries `{feed.channel}`",
                "move the plug to the right pin, or change the claim",
                (Related(feed.wire.source.span, "the pin"),),
                (feed.unit,),
            )


@rule("RC307", Severity.ERROR, tier=0)
def unknown_source_channel(facts: Facts) -> Iterator[Finding]:
    """
    Reports: an input `from` a channel that the handset at the other end of the line does not have.
    Why: the input would follow nothing.
    Bad: input pan from pann
    Good: input pan from pan
    """
    from rigcard.reporting.suggest import did_you_mean

    for wire in facts.links.wires:
        handset = handset_behind(facts.rig, facts.rig.units[wire.source.unit])
        listener = facts.rig.units[wire.sink.unit]
        for name, source in listener.sources.items():
            on_this_port = listener.model.inputs[name].port == wire.sink.port
            if handset and on_this_port and source.channel not in handset.channels:
                yield Finding(
                    source.span,
                    f"handset `{handset.name}` has no channel named `{source.channel}`",
                    did_you_mean(source.channel, handset.channels, f"add the channel to `{handset.name}`"),
                    units=(listener.name, handset.name),
                )


@rule("RC398", Severity.WARNING, tier=2)
def failsafe_left_out(facts: Facts) -> Iterator[Finding]:
    """
    Reports: channels that inputs follow without a failsafe, where none of these is critical; one message a handset.
    Why: what the receiver then does on radio loss is what somebody set last year.
    Bad: channel 4 iris from left-across
    Good: channel 4 iris from left-across failsafe hold
    """
    for handset in facts.rig.units.values():
        bare = [
            channel
            for channel in handset.channels.values()
            if channel.failsafe is None
            and (feeds := facts.links.feeds_of(handset.name, channel.name))
            and not any(feed.input.critical for feed in feeds)
        ]
        if bare:
            names = listed([f"`{channel.name}`" for channel in bare])
            yield Finding(
                bare[0].span,
                f"{names} of `{handset.name}` {'has' if len(bare) == 1 else 'have'} no failsafe: what happens on radio "
                "loss is not known",
                "write `failsafe hold`, or the level that is wanted, behind "
                + ("it" if len(bare) == 1 else "each of them"),
            )
