"""Claims on what is done to a channel on its way: reversal in two places, shapes on levels, safety functions."""

from __future__ import annotations

from collections.abc import Iterator

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Shape
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import contributors
from rigcard.solve.turning import rest_error, shown_turn, turn_at, turn_while_slow
from rigcard.words import decimal, percent


@claim("RC441", Severity.WARNING)
def reversed_twice(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a channel that is reversed at the handset and again at the device.
    Why: the next person corrects one of the two and the picture turns the wrong way.
    Bad: channel 1 pan from right-across reversed, and input pan from pan reversed
    Good: channel 1 pan from right-across, and input pan from pan
    """
    for feed in proof.solved.links.feeds:
        result = proof.solved.results[feed.handset, feed.channel]
        if result.dial.reversed and feed.turned:
            unit = proof.solved.rig.units[feed.unit]
            yield Finding(
                proof.solved.rig.units[feed.handset].channels[feed.channel].span,
                f"channel `{feed.channel}` is reversed at the handset and again at `{feed.input.name}` of `{unit.name}`",
                f"keep the one at `{unit.name}`: take both off, or reverse there only",
                (Related(unit.sources[feed.input.name].span, "reversed again here"),),
            )


@claim("RC442", Severity.WARNING)
def slow_crosses_bands(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a channel with `slow` that stays in a band on its way to another long enough to be read.
    Why: a slow sweep from one key to another presses every key between them.
    Bad: channel 1 mode from top-rocker slow 1s
    Good: channel 1 mode from top-rocker
    """
    for feed in proof.solved.links.feeds:
        result = proof.solved.results[feed.handset, feed.channel]
        channel = proof.solved.rig.units[feed.handset].channels[feed.channel]
        levels = sorted(
            reading.heard for row in result.rows for reading in row.readings if reading.feed == feed
        )
        if not channel.shape.slow or not feed.input.bands or len(levels) < 2 or levels[0] == levels[-1]:
            continue
        span = levels[-1] - levels[0]
        keys = [band for band in feed.input.bands if not band.rest]  # to cross rest presses nothing
        crossed = [band for band in keys if levels[0] < band.low and band.high < levels[-1]]
        for band in crossed:
            stay = channel.shape.slow * (band.high - band.low) / span
            if stay >= (feed.input.dwell or 0):
                yield Finding(
                    channel.span,
                    f"with slow {decimal(channel.shape.slow)} ms the level stays {decimal(stay)} ms in `{band.name}` of "
                    f"`{feed.unit}` on its way across"
                    + (f", which is read after {decimal(feed.input.dwell)} ms" if feed.input.dwell else ""),
                    "take `slow` off a channel that carries levels",
                    (Related(band.span, "the band"),),
                )
                break


@claim("RC443", Severity.WARNING)
def shape_on_levels(proof: Proof) -> Iterator[Finding]:
    """
    Reports: rate or expo on a channel whose listener reads bands.
    Why: a rate moves every level at once, and a knocked rate switch does so in the middle of a take.
    Bad: channel 1 mode from top-rocker rate 90%
    Good: channel 1 mode from top-rocker travel 90% / 90%
    """
    told = set()
    for feed in proof.solved.links.feeds:
        channel = proof.solved.rig.units[feed.handset].channels[feed.channel]
        what = _shape(channel.shape)
        if what and feed.input.bands and channel.span not in told:
            told.add(channel.span)
            yield Finding(
                channel.span,
                f"{what} acts on channel `{channel.name}`, whose listener `{feed.unit}` reads levels",
                "use travel for levels, and leave rate at 100% and expo at 0%",
                (Related(feed.input.span, "reads bands"),),
            )


def _shape(shape: Shape) -> str:
    """The first rate or expo of a channel that changes a level, always or while another control stands somewhere."""
    for rate, expo, stands in (
        (shape.rate, shape.expo, ""),
        *((one.rate, one.expo, f" while {one.control} {one.position.name}") for one in shape.switched),
    ):
        if rate not in (None, 100):
            return f"rate {percent(rate)}{stands}"
        if expo:
            return f"expo{stands}"
    return ""


@claim("RC437", Severity.WARNING)
def axis_drifts_at_rest(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an axis that may turn with its control at rest, because the play of the control and one throw of a trim exceed the dead band.
    Why: the picture creeps, and the operator fights it the whole day.
    Bad: a stick that `springs within 4%`, and an input with `rest 0% dead-band 3% full 50deg/s`
    Good: the same with `dead-band 5%`
    """
    solved = proof.solved
    for feed in solved.links.feeds:
        sweep = feed.input.sweep
        if sweep is None or sweep.rest is None or (sweep.full is not None and not sweep.full.speed):
            continue
        if sweep.full is None and sweep.dead is None:
            continue  # neither is stated, so nothing is computed
        unit = solved.rig.units[feed.handset]
        values = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
        error, meanwhile = rest_error(solved.rig, feed, proof.dials, values)
        drift = max(turn_at(sweep, sweep.rest + way * error) for way in (-1, 1))
        if (drift or (sweep.full is None and error > (sweep.dead or 0))) and feed not in proof.restless:
            channel = unit.channels[feed.channel]
            dead = (
                f"the dead band is {percent(sweep.dead)}" if sweep.dead is not None else "there is no dead band"
            )
            stands = "".join(f" and `{name}.{place.name}`" for name, place in meanwhile.items())
            how = f"turns {shown_turn(sweep, drift)}, {decimal(drift * 60)} deg a minute" if drift else "creeps"
            yield Finding(
                channel.span,
                f"with `{channel.control}` at rest{stands}, `{feed.input.name}` of `{feed.unit}` may be {percent(error)} "
                f"off its rest, and {dead}: it {how}",
                f"make the dead band {percent(error)} or more in the menu and in the file",
                (Related(feed.input.span, "the input"),),
            )


@claim("RC385", Severity.WARNING)
def axis_runs_on(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an axis whose channel has `slow`, and that so turns farther than its `clear` after its control is let go.
    Why: the operator lets go at the last moment, and the head turns on into a stop, a cable or a person.
    Bad: channel 1 pan from right-across slow 4s, for an axis with `full 60deg/s` and `clear 45deg`
    Good: channel 1 pan from right-across slow 1s
    """
    solved = proof.solved
    for feed in solved.links.feeds:
        sweep, result = feed.input.sweep, solved.results[feed.handset, feed.channel]
        channel = solved.rig.units[feed.handset].channels[feed.channel]
        if not channel.shape.slow or feed.clear is None or sweep is None or sweep.rest is None:
            continue
        levels = [reading.heard for row in result.rows for reading in row.readings if reading.feed == feed]
        if sweep.full is None or not sweep.full.speed or min(levels) == max(levels):
            continue
        pace = (max(levels) - min(levels)) / channel.shape.slow * 1000  # per cent a second
        turn = max(turn_while_slow(sweep, level, pace) for level in (min(levels), max(levels)))
        if turn > feed.clear:
            most = channel.shape.slow * feed.clear / turn
            yield Finding(
                channel.span,
                f"with slow {decimal(channel.shape.slow)} ms `{feed.input.name}` of `{feed.unit}` turns up to "
                f"{decimal(turn)} deg more after `{channel.control}` is let go, and {decimal(feed.clear)} deg are clear",
                f"write `slow {int(most)}ms` or less" if int(most) else "take `slow` off the channel",
                (Related(feed.input.span, "the input"),),
            )


@claim("RC444", Severity.ERROR)
def stop_not_alone(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a safety function (`critical stop`) on a channel that is mixed, shared, or coded as one level of several.
    Why: a stop must not depend on where another control stands, nor on a margin between levels.
    Bad: input brake on j2 "Brake" critical stop { ... } fed by a channel into which another is mixed
    Good: a channel of its own with two states; better, a link of its own
    """
    for feed in proof.solved.links.feeds:
        if not feed.input.stops:
            continue
        handset = proof.solved.rig.units[feed.handset]
        channel = handset.channels[feed.channel]
        reasons = []
        if len(contributors(handset, channel)) > 1:
            reasons.append("several controls feed it")
        if len(proof.solved.links.feeds_of(feed.handset, feed.channel)) > 1:
            reasons.append("other inputs listen to it")
        others = [other.name for other in handset.channels.values() if other.control == channel.control]
        switches = any(mix.while_control == channel.control for mix in handset.mixes)
        if len(others) > 1 or switches or any(mix.source == channel.name for mix in handset.mixes):
            reasons.append("its control drives other channels too")
        if len(feed.input.bands) > 2:
            reasons.append(f"it is one of {len(feed.input.bands)} levels")
        if reasons:
            yield Finding(
                channel.span,
                f"`{feed.input.name}` of `{feed.unit}` is a safety function, and on channel `{channel.name}` "
                f"{' and '.join(reasons)}",
                "give the stop a control, a channel and an input of two states for itself",
                (Related(feed.input.span, "declared `critical stop` here"),),
            )
