"""Claims on radio loss: motion stops, a take goes on, nothing fires."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Channel
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import sent
from rigcard.solve.loss import STANDBY, is_record, is_toggle
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
        sweep = known.sweep
        moves = known.critical and sweep is not None and sweep.rest is not None
        releases = known.stops and any(band.rest for band in known.bands)
        silent = loss.kind == "none" and not loss.state  # said by silence_unknown
        if not (moves or releases) or loss.at_rest or silent or loss.kind == "not set":
            continue
        shown = "holds the last level" if loss.kind == "hold" else f"goes to {_shown(loss)}"
        end = "moves on" if moves else "may stay released"
        if sweep and sweep.rest is not None:
            wanted = sweep.rest
        else:
            wanted = next((band.low + band.high) / 2 for band in known.bands if band.rest)
        yield _finding(
            proof,
            loss,
            f"on radio loss `{known.name}` of `{loss.feed.unit}` {shown}, so it {end}",
            f"write `failsafe {_plain(sent(proof.solved.rig, loss.feed, wanted))}%`",
        )


def _shown(loss: Loss) -> str:
    return f"`{loss.state}`" if loss.level is None else signed_percent(loss.level)


@claim("RC432", Severity.ERROR)
def loss_lands_nowhere(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a failsafe level that lies in no band of the input that hears it.
    Why: at the worst moment the device does something that nobody has looked at.
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
    Reports: a failsafe level that lands in a state other than rest of an input that has one.
    Why: each loss of the link presses a key or changes a mode.
    Bad: channel 3 tools from front-toggle failsafe 60%
    Good: channel 3 tools from front-toggle failsafe -60%
    """
    for loss in proof.solved.losses:
        known = loss.feed.input
        has_rest = any(band.rest for band in known.bands)
        presses = loss.reading is not None and is_toggle(loss.reading)
        if not (has_rest or presses) or is_record(known.states) or not loss.state or known.stops:
            continue
        if not loss.at_rest:
            yield _finding(
                proof,
                loss,
                f"on radio loss `{known.name}` of `{loss.feed.unit}` goes to `{loss.state}`, not to rest",
                "write the level of the rest band as failsafe",
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
    Reports: a critical input with a rest level, driven by a control that does not spring back to it.
    Why: when the link returns the head moves at once, as fast as the control was left standing.
    Bad: channel 7 pan from left-slider failsafe 0%
    Good: channel 7 pan from right-across failsafe 0%, a stick that springs
    """
    for loss in proof.solved.losses:
        sweep = loss.feed.input.sweep
        handset = proof.solved.rig.units[loss.feed.handset]
        control = handset.model.controls[_channel(proof, loss).control]
        if loss.kind == "hold" or sweep is None or sweep.rest is None:
            continue  # hold is an error of its own
        if loss.feed.input.critical and not control.springs:
            yield _finding(
                proof,
                loss,
                f"when the link returns, `{loss.feed.input.name}` of `{loss.feed.unit}` follows `{control.name}` "
                "wherever it was left, for it does not spring back",
                "drive it from a control that springs to its rest",
            )


@claim("RC438", Severity.WARNING)
def unasked_turn_too_far(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an axis that may turn farther on its last command, before the failsafe comes, than the rig's `clear`.
    Why: until the receiver gives up, the last speed goes on: into a stop, a cable or a person.
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


def _plain(level: Fraction) -> str:
    """A level as the file writes it."""
    return decimal(level, 2).replace("−", "-")


def _channel(proof: Proof, loss: Loss) -> Channel:
    return proof.solved.rig.units[loss.feed.handset].channels[loss.feed.channel]


def _finding(proof: Proof, loss: Loss, message: str, hint: str) -> Finding:
    return Finding(_channel(proof, loss).span, message, hint, (Related(loss.feed.input.span, "the input"),))
