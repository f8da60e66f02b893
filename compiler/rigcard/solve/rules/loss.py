"""Claims on radio loss: motion stops, a take goes on, nothing fires."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Channel, Control, Unit
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import mixes_into, sent
from rigcard.solve.loss import STANDBY, is_record, is_toggle, toggles_take
from rigcard.solve.solved import Loss
from rigcard.solve.turning import unasked_turn
from rigcard.words import decimal, signed_percent


@claim("RC431", Severity.ERROR)
def loss_keeps_moving(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a critical input with a rest level, or a critical stop, that the failsafe does not bring to rest.
    Why: "hold" keeps the last speed: the head turns on until the link returns or a stop is hit.
    Bad: channel 7 pan from right-across failsafe hold
    Good: channel 7 pan from right-across failsafe 0%
    """
    for loss in proof.solved.losses:
        known = loss.feed.input
        if not _must_rest(loss) or loss.at_rest or loss.kind == "not set":
            continue
        unknown = loss.kind == "none" and not loss.state
        if loss.kind == "hold":
            shown = "holds the last level"
        elif unknown:
            shown = "hears no pulses, and what it does then is not declared"
        else:
            shown = f"goes to {_shown(loss)}"
        end = "may stay released" if known.sweep is None else "may move on" if unknown else "moves on"
        yield _finding(
            proof,
            loss,
            f"on radio loss `{known.name}` of `{loss.feed.unit}` {shown}, so it {end}",
            f"write `failsafe {_rest(proof, loss)}`",
        )


def _must_rest(loss: Loss) -> bool:
    """Whether the loss of the link must bring an input to rest: what is critical and moves, and a stop."""
    known = loss.feed.input
    moves = known.critical and known.sweep is not None and known.sweep.rest is not None
    return moves or (known.stops and any(band.rest for band in known.bands))


def _rest(proof: Proof, loss: Loss) -> str:
    """The failsafe that brings an input with a rest to it, as the file writes it."""
    known = loss.feed.input
    if known.sweep and known.sweep.rest is not None:
        wanted = known.sweep.rest
    else:
        wanted = next((band.low + band.high) / 2 for band in known.bands if band.rest)
    return f"{_plain(sent(proof.solved.rig, loss.feed, wanted))}%"


def _of_rest(loss: Loss) -> str:
    """What that level is."""
    resting = [band.name for band in loss.feed.input.bands if band.rest]
    return f"the middle of `{resting[0]}`" if resting else "the level of its rest"


def _shown(loss: Loss) -> str:
    return f"`{loss.state}`" if loss.level is None else signed_percent(loss.level)


@claim("RC432", Severity.ERROR)
def loss_lands_nowhere(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a failsafe level that lies in no band of the input that hears it.
    Why: at the worst moment the device does something that nobody has checked.
    Bad: failsafe -45%, between a band that ends at -60 % and one that begins at -28 %
    Good: failsafe -90%, inside a band
    """
    for loss in proof.solved.losses:
        if loss.feed.input.bands and loss.reading and loss.reading.band is None:
            yield _finding(
                proof,
                loss,
                f"on radio loss `{loss.feed.input.name}` of `{loss.feed.unit}` hears "
                f"{signed_percent(loss.reading.heard)}, outside every band",
                "write a failsafe level inside the band that is wanted, or `failsafe hold`",
            )


@claim("RC433", Severity.WARNING)
def loss_cuts_take(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a failsafe that puts a running camera to standby.
    Why: a short loss of the link ends the take, and the picture of the moment is gone.
    Bad: channel 5 record from left-flip failsafe 0%
    Good: channel 5 record from left-flip failsafe hold
    """
    for loss in proof.solved.losses:
        if is_record(loss.feed.input.states) and loss.state == STANDBY:
            yield _finding(
                proof,
                loss,
                f"on radio loss `{loss.feed.unit}` goes to `{STANDBY}`, so a take is cut",
                "write `failsafe hold`, or the level of `run`, unless the take must end",
            )


@claim("RC434", Severity.WARNING)
def loss_fires_command(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a failsafe that does not bring an input to its rest, or a hold where every control that moves the input
        springs back to it; inputs that record are left out.
    Why: each loss of the link presses a key, changes a mode or sets an axis turning, or keeps pressed what was pressed.
    Bad: channel 3 tools from front-toggle failsafe 60%
    Good: channel 3 tools from front-toggle failsafe -60%
    """
    for loss in proof.solved.losses:
        known = loss.feed.input
        has_rest = any(band.rest for band in known.bands) or (known.sweep and known.sweep.rest is not None)
        presses = loss.reading is not None and is_toggle(loss.reading)
        if loss.kind == "hold" and has_rest and not (_must_rest(loss) or is_record(known.states)):
            yield from _kept_pressed(proof, loss)
        if not (has_rest or presses) or is_record(known.states) or not loss.state or known.stops:
            continue
        if not loss.at_rest and not _must_rest(loss):  # that is an error of its own
            where = f" ({signed_percent(loss.level)})" if known.sweep and loss.level is not None else ""
            yield _finding(
                proof,
                loss,
                f"on radio loss `{known.name}` of `{loss.feed.unit}` goes to `{loss.state}`{where}, not to rest",
                f"write `failsafe {_rest(proof, loss)}`, {_of_rest(loss)}",
            )


def _kept_pressed(proof: Proof, loss: Loss) -> Iterator[Finding]:
    """A hold of what nobody but the link can let go of: every control springs back, and none of them is held."""
    handset, channel = proof.solved.rig.units[loss.feed.handset], _channel(proof, loss)
    movers = _movers(handset, channel)
    told = loss.feed.clear is not None and loss.feed.input.sweep  # by clear_not_proven
    if not told and all(control.springs for control in movers) and not toggles_take(proof.solved, loss.feed):
        rest = _rest(proof, loss)
        goes = "turns on" if loss.feed.input.sweep else "stays pressed"
        yield _finding(
            proof,
            loss,
            f"`{channel.control}` springs back, and on radio loss `{loss.feed.input.name}` of `{loss.feed.unit}` holds the "
            f"last level, so what was asked for at that moment {goes} until the link is back",
            f"write `failsafe {rest}`, {_of_rest(loss)}",
        )


@claim("RC318", Severity.WARNING)
def none_on_shared_line(proof: Proof) -> Iterator[Finding]:
    """
    Reports: `failsafe none` on a channel of a line of many channels, of which others go on.
    Why: such a line is one stream: it stops as a whole or not at all, and what then stands in this one place of it
        nobody knows.
    Bad: channel 2 mode from top-rocker failsafe none, and channel 1 pan ... failsafe 0% over the same bus
    Good: channel 2 mode from top-rocker failsafe -90%
    """
    rig = proof.solved.rig
    going_on: dict[tuple[str, str], Loss] = {}  # by port of the receiver, the first channel that does not stop
    for loss in proof.solved.losses:
        if loss.kind != "none":
            going_on.setdefault(loss.feed.pin[:2], loss)
    for loss in proof.solved.losses:
        pin = loss.feed.pin
        if loss.kind != "none" or rig.signal_at(pin).kind != "channels" or rig.signal_at(pin).channels < 2:
            continue
        other = going_on.get(pin[:2])
        if other:
            yield _finding(
                proof,
                loss,
                f"channel `{loss.feed.channel}` has `failsafe none`, and leaves by `{pin.unit}.{pin.port}` in one line with "
                f"`{other.feed.channel}`, which goes on",
                "write the level that is wanted, or `failsafe hold`",
            )


@claim("RC435", Severity.WARNING)
def silence_unknown(proof: Proof) -> Iterator[Finding]:
    """
    Reports: `failsafe none` into an input whose model does not say what it does without pulses.
    Why: devices differ: some hold, some stop, some run to an end.
    Bad: failsafe none, and an input without `without pulses gives`
    Good: input mode on remote "Mode" { parked -120%..-60% rest; without pulses gives parked ... }
    """
    for loss in proof.solved.losses:
        if loss.kind == "none" and loss.feed.input.silence is None:
            yield _finding(
                proof,
                loss,
                f"what `{loss.feed.input.name}` of `{loss.feed.unit}` does without pulses is not declared",
                "try it on the bench, then write `without pulses gives STATE` in the input of the model",
            )


@claim("RC436", Severity.WARNING)
def return_restarts_motion(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a critical input with a rest level, driven by a control that does not spring back to it, itself or by a mix.
    Why: when the link returns, the head moves at once, at the speed of the position in which the control was left.
    Bad: channel 7 pan from left-slider failsafe 0%
    Good: channel 7 pan from right-across failsafe 0%, a stick that springs
    """
    for loss in proof.solved.losses:
        sweep = loss.feed.input.sweep
        handset = proof.solved.rig.units[loss.feed.handset]
        channel = _channel(proof, loss)
        if loss.kind == "hold" or sweep is None or sweep.rest is None or not loss.feed.input.critical:
            continue  # hold is an error of its own
        stays = next((control for control in _movers(handset, channel) if not control.springs), None)
        if stays is not None:
            mixed = "" if stays.name == channel.control else f", which is mixed into `{channel.name}`,"
            yield _finding(
                proof,
                loss,
                f"when the link returns, `{loss.feed.input.name}` of `{loss.feed.unit}` follows `{stays.name}`{mixed} "
                "wherever it was left, for it does not spring back",
                "take that mix off the channel"
                if mixed
                else "drive it from a control that springs to its rest",
            )


@claim("RC438", Severity.WARNING)
def unasked_turn_too_far(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an axis that may turn farther than its `clear` before the failsafe comes.
    Why: the last speed goes on until the receiver gives up: into a stop, a cable or a person.
    Bad: input pan from pan clear 30deg, at full 50deg/s with a receiver that has `failsafe after 700ms`
    Good: input pan from pan full 30deg/s clear 30deg, the speed taken down in the head's menu
    """
    for loss in proof.solved.losses:
        turn, clear, sweep = unasked_turn(proof.solved.rig, loss), loss.feed.clear, loss.feed.input.sweep
        if turn is None or clear is None or turn <= clear:
            continue
        assert sweep and sweep.full
        receiver = proof.solved.rig.units[loss.feed.pin.unit]
        assert receiver.model.loss_after
        most = clear * 1000 / receiver.model.loss_after
        yield _finding(
            proof,
            loss,
            f"on radio loss `{loss.feed.input.name}` of `{loss.feed.unit}` may turn {decimal(turn)} deg before "
            f"`{receiver.name}` gives its failsafe, and {decimal(clear)} deg are clear",
            f"take the head's speed down to {decimal(most)} deg/s, make the receiver's delay shorter, or clear more",
        )


@claim("RC482", Severity.ERROR)
def clear_not_proven(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an axis with `clear` that nothing stops after the loss of the link.
    Why: `clear` promises that it stops in time; one that holds its speed goes on into a stop, a cable or a person.
    Bad: input pan from pan clear 60deg, and failsafe hold on its channel
    Good: input pan from pan clear 60deg, and failsafe 0% on its channel
    """
    for loss in proof.solved.losses:
        known, sweep = loss.feed.input, loss.feed.input.sweep
        if loss.feed.clear is None or sweep is None or (sweep.full and not sweep.full.speed):
            continue
        receiver = proof.solved.rig.units[loss.feed.pin.unit]
        told = _must_rest(loss)  # by RC431
        rest = f"write `failsafe {_rest(proof, loss)}`" if sweep.rest is not None else ""
        no_rest = (
            f"take `clear` off `input {known.name} from {loss.feed.channel}`: the input has no rest to come to"
        )
        if not told and not loss.at_rest:
            yield _finding(
                proof,
                loss,
                f"{decimal(loss.feed.clear)} deg are clear for `{known.name}` of `{loss.feed.unit}`, and on radio loss "
                f"{_goes_on(loss)}",
                rest or no_rest,
            )
        elif loss.at_rest and receiver.model.loss_after is None:
            yield _finding(
                proof,
                loss,
                f"{decimal(loss.feed.clear)} deg are clear for `{known.name}` of `{loss.feed.unit}`, and the model of "
                f"`{receiver.name}` does not say how long after the loss its failsafe comes",
                f"measure it, and write `failsafe after 800ms` with that time in the model `{receiver.model.name}`",
            )
        elif loss.at_rest and sweep.full is None:
            yield _finding(
                proof,
                loss,
                f"{decimal(loss.feed.clear)} deg are clear for `{known.name}` of `{loss.feed.unit}`, and how fast it "
                "turns is not known",
                f"write `full 60deg/s` with its speed at the end of `input {known.name} from {loss.feed.channel}`",
            )


def _goes_on(loss: Loss) -> str:
    """What an axis does that does not come to rest."""
    if loss.kind == "hold":
        return "it holds its last speed until somebody acts"
    if loss.kind == "not set":
        return "nobody knows what it does: its channel has no failsafe"
    if not loss.state:
        return "it hears no pulses, and what it does then is not declared"
    return f"it goes to {_shown(loss)}, and turns on"


@claim("RC480", Severity.WARNING)
def failsafe_not_stated(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a channel without `failsafe` that an input listens to.
    Why: the receiver then does what it was last set to, and no card can say what happens when the link is lost.
    Bad: channel 7 record from front-toggle
    Good: channel 7 record from front-toggle failsafe hold
    """
    told: set[tuple[str, str]] = set()
    for loss in proof.solved.losses:
        key = (loss.feed.handset, loss.feed.channel)
        if loss.kind == "not set" and key not in told:
            told.add(key)
            has_rest = any(band.rest for band in loss.feed.input.bands) and not is_record(
                loss.feed.input.states
            )
            sweep = loss.feed.input.sweep
            rests = has_rest or (sweep is not None and sweep.rest is not None)
            yield _finding(
                proof,
                loss,
                f"channel `{loss.feed.channel}` has no failsafe, so nobody knows what `{loss.feed.input.name}` of "
                f"`{loss.feed.unit}` does on radio loss",
                f"add `failsafe {_rest(proof, loss) if rests else 'hold'}` to the channel, and set it at the receiver",
            )


def _movers(handset: Unit, channel: Channel) -> list[Control]:
    """The channel's own control and those mixed in; a switch of a rate or of a mix moves nothing by itself."""
    sources = [handset.channels[mix.source].control for mix in mixes_into(handset, channel.name)]
    return [handset.model.controls[name] for name in dict.fromkeys([channel.control, *sources])]


def _plain(level: Fraction) -> str:
    """A level as the file writes it."""
    return decimal(level, 2).replace("−", "-")


def _channel(proof: Proof, loss: Loss) -> Channel:
    return proof.solved.rig.units[loss.feed.handset].channels[loss.feed.channel]


def _finding(proof: Proof, loss: Loss, message: str, hint: str) -> Finding:
    return Finding(_channel(proof, loss).span, message, hint, (Related(loss.feed.input.span, "the input"),))
