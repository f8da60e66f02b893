"""Rules on channels: their numbers, what carries them, where they lead."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.reporting.suggest import did_you_mean, one_of
from rigcard.resolve.links import handset_behind, origin, plugged_into
from rigcard.resolve.model import Channel, Input, InputSource, Unit

MOST_SHOWN = 10  # channels that a remedy lists


@rule("RC301", Severity.ERROR, tier=0)
def doubled_channel_number(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two channels of one handset with the same number.
    Why: the handset has one slot for each number; the second channel would overwrite the first.
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
        receiver = facts.rig.units[feed.pin.unit]
        signal = facts.rig.signal_at(feed.pin)
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
    Reports: a channel whose control moves nothing: no input listens to it and no mix uses it, or its rate or its travel
        is 0 %, always or while another control stands somewhere, and no `expect` says that it is meant.
    Why: an operator moves a control and nothing happens, or a lead has been forgotten.
    Bad: channel 8 horizon from right-dial, and no input `from horizon`
    Good: channel 8 horizon from right-dial, and in the head's block `input horizon from horizon`
    """
    followed = list(_followed(facts))
    led = {source.span for _, _, source in followed}
    astray = {  # an input asks for it and its lead is missing, and input_without_source says so
        source.channel
        for unit in facts.rig.units.values()
        for source in unit.sources.values()
        if source.span not in led
    }
    asked: dict[str | None, set[str]] = {}
    for receiver, _, source in followed:
        asked.setdefault(receiver.bound_to, set()).add(source.channel)
    for unit in facts.rig.units.values():
        mixed = {mix.source for mix in unit.mixes} | asked.get(unit.name, set()) | astray
        for channel in unit.channels.values():
            if channel.name not in mixed and not facts.links.feeds_of(unit.name, channel.name):
                yield Finding(
                    channel.span,
                    f"channel {channel.number} `{channel.name}` from `{channel.control}` leads nowhere",
                    f"connect its pin, write `input NAME from {channel.name}` in a unit, or remove the channel",
                    units=(unit.name,),
                )
            elif facts.links.feeds_of(unit.name, channel.name):
                yield from _dead(facts, unit, channel)


def _dead(facts: Facts, unit: Unit, channel: Channel) -> Iterator[Finding]:
    """The values that leave a control without effect, always or while another one stands somewhere."""
    said = {
        place
        for claim in facts.rig.expectations
        if (claim.handset, claim.control) == (unit.name, channel.control)
        for place in claim.conditions
    }
    always = ["travel 0% / 0%"] if channel.travel and not any(channel.travel) else []
    always += ["rate 0%"] if channel.shape.rate == 0 else []
    if always:
        yield Finding(
            channel.span,
            f"channel `{channel.name}` has `{always[0]}`, so `{channel.control}` moves nothing",
            f"write `{'travel 100% / 100%' if 'travel' in always[0] else 'rate 100%'}`, or what it should be",
            units=(unit.name,),
        )
        return
    for one in channel.shape.switched:
        if one.rate == 0 and (one.control, one.position) not in said:
            where = f"{one.control} {one.position.name}"
            yield Finding(
                channel.span,
                f"`rate 0% while {where}` takes `{channel.control}` off channel `{channel.name}` while "
                f"`{one.control}` stands there, and no `expect` says so",
                f"take it off, or claim what `{channel.control}` then gives, with `while {where}` at the end",
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
                f"`{feed.input.name}` says it follows `{claimed.channel}`, and its lead {feed.last.leg.id} "
                f"comes from {feed.pin.unit}.{feed.pin.port}, which carries `{feed.channel}`",
                "move the plug to the right pin, or change the claim",
                (Related(feed.pin.span, "the pin"),),
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
    crossed = {name for name, _ in _bound_to_other(facts)}
    for receiver, listener, source in _followed(facts):
        handset = handset_behind(facts.rig, receiver)
        if handset and source.channel not in handset.channels and receiver.name not in crossed:
            yield Finding(
                source.span,
                f"handset `{handset.name}` has no channel named `{source.channel}`",
                did_you_mean(source.channel, handset.channels, _known(handset)),
                units=(listener.name, handset.name),
            )


def _known(handset: Unit) -> str:
    """The channels of a handset, if they are few enough to be read."""
    names = list(handset.channels)
    return f"known: {one_of(names)}" if 0 < len(names) <= MOST_SHOWN else f"add the channel to `{handset.name}`"


def _followed(facts: Facts) -> Iterator[tuple[Unit, Unit, InputSource]]:
    """Every `input ... from` of a unit, with the receiver that its lead comes from."""
    plugged = plugged_into(facts.links)
    for listener in facts.rig.units.values():
        for name, source in listener.sources.items():
            begins = origin(facts.rig, plugged, listener.name, listener.model.inputs[name].port)
            if begins.kind == "receiver":
                yield facts.rig.units[begins.unit], listener, source


def _bound_to_other(facts: Facts) -> Iterator[tuple[str, str]]:
    """Receivers none of whose inputs' channels its handset has, and the one other handset that has them all."""
    asked: dict[str, set[str]] = {}
    for receiver, _, source in _followed(facts):
        asked.setdefault(receiver.name, set()).add(source.channel)
    handsets = [unit for unit in facts.rig.units.values() if unit.role == "handset"]
    for name, channels in asked.items():
        bound = facts.rig.units[name].bound_to
        having = [handset.name for handset in handsets if channels <= handset.channels.keys()]
        if len(having) == 1 and channels.isdisjoint(facts.rig.units[bound or ""].channels):
            yield name, having[0]


@rule("RC380", Severity.ERROR, tier=0)
def receiver_bound_to_other_handset(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a receiver that is bound to another handset than the rest of the file says: its inputs follow channels that
        only another handset has, a `link` names it with another one, or it is spare for a receiver of another one.
    Why: two receivers bound crosswise look right on the bench; each operator would then move what the other watches.
    Bad: rx-a bound to hs-b, and the head behind it `input pan from pan`, a channel of hs-a
    Good: rx-a bound to hs-a
    """
    told: set[str] = set()
    for name, meant in _bound_to_other(facts):
        receiver = facts.rig.units[name]
        others = [unit for unit in facts.rig.units.values() if unit.bound_to == meant]
        cause = f"receiver `{name}` is bound to `{receiver.bound_to}`, and the inputs behind it follow channels of `{meant}`"
        hint = f"write `bound to {meant}` in the block of `{name}`"
        if name in told:
            continue
        if len(others) == 1 and others[0].role == "receiver":  # each has what the other should have
            other = others[0]
            told.add(other.name)
            cause = f"the receivers `{name}` and `{other.name}` are bound crosswise: {cause}"
            hint += f", and `bound to {receiver.bound_to}` in the block of `{other.name}`"
        yield Finding(receiver.span, cause, hint, units=tuple(facts.rig.units))
    yield from _linked_to_other(facts)
    yield from _spare_of_other(facts)


def _linked_to_other(facts: Facts) -> Iterator[Finding]:
    """Links from a handset to a receiver that is bound to another one."""
    for link in facts.rig.radio_links:
        for name in link.receivers:
            bound = facts.rig.units[name].bound_to
            if facts.rig.units[link.sender].role == "handset" and bound not in (None, link.sender):
                yield Finding(
                    link.span,
                    f"“{link.title}” goes from `{link.sender}` to `{name}`, and `{name}` is bound to `{bound}`",
                    f"write `from {bound}`, or `bound to {link.sender}` in the block of `{name}`",
                    (Related(facts.rig.units[name].span, "the receiver"),),
                )


def _spare_of_other(facts: Facts) -> Iterator[Finding]:
    """Spare receivers that are bound to another handset than the one in use."""
    for spare in facts.rig.spare_units.values():
        receiver = facts.rig.units.get(spare.spare_for or "")
        if receiver is None or None in (spare.bound_to, receiver.bound_to):
            continue
        if receiver.bound_to != spare.bound_to:
            yield Finding(
                spare.span,
                f"`{spare.name}` is spare for `{receiver.name}`, which is bound to `{receiver.bound_to}`, and is itself bound to "
                f"`{spare.bound_to}`",
                f"write `bound to {receiver.bound_to}` in its block, or leave it unbound until it is needed",
                (Related(receiver.span, "the receiver in use"),),
            )
