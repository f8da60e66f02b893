"""Radio loss: what every function does, how to prove it, and what to do when the link returns."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rigcard.documents.base.layout import BODY, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import control_title, effect, place, the
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.parts import steps
from rigcard.resolve.model import CENTRE, Sweep, Unit
from rigcard.solve.loss import RUN, STANDBY, is_record, toggles_take
from rigcard.solve.solved import Loss, Solved, stands_still
from rigcard.solve.turning import shown_turn, turn_at, unasked_turn
from rigcard.words import decimal, listed, percent

STAYS = "stays as it is"
NOT_STATED = "not stated: look"


def radio_loss(face: Typeface, inner: float, solved: Solved) -> Group:
    """Make the card; read it before the day, prove it as the last test."""
    rows = [
        [
            Cell(f"{solved.rig.units[loss.feed.unit].title}: {loss.feed.input.title}", BODY),
            Cell(on_loss(solved, loss) + _clear(loss), BODY, True),
        ]
        for loss in solved.losses
    ]
    name = max(48.0, inner * 0.45)
    blocks = [
        joined(
            heading(face, "When the link is lost", inner),
            *([paragraph(face, _delay(solved), inner, keep=True)] if _delay(solved) else []),
            table(face, ("FUNCTION", "DOES"), rows, (name, inner - name)),
        ),
        heading(face, "You", inner),
        paragraph(
            face,
            f"Let go of the controls. Say “RADIO LOST”. {before_return(solved, solved.losses)}. When the link returns, "
            "everything follows its control at once.",
            inner,
            bold=True,
            whole=True,
        ),
        heading(face, "Test it (last test of all)", inner),
        steps(face, inner, _proof(solved)),
    ]
    pinned = cautions.on("radio-loss", solved.rig)
    return Group("RADIO LOSS", "Radio loss", tuple(blocks), pinned)


def on_loss(solved: Solved, loss: Loss) -> str:
    """Return what an input does on loss, in plain words."""
    turn = unasked_turn(solved.rig, loss)
    before = f"keeps turning, up to {decimal(turn)} deg, then " if turn else ""
    return before + _at_last(solved, loss)


def _clear(loss: Loss) -> str:
    """Return the clearance that an axis needs, for the person who keeps it."""
    return f"; keep {decimal(loss.feed.clear)} deg clear" if loss.feed.clear is not None else ""


def _at_last(solved: Solved, loss: Loss) -> str:
    sweep = loss.feed.input.sweep
    if loss.held:
        return f"is held still by {solved.rig.units[loss.feed.unit].model.inputs[loss.held].title}"
    if loss.kind == "hold":
        if sweep and sweep.full and sweep.full.speed:
            return "goes on turning as it was"
        return "keeps its last command" if sweep and sweep.rest is not None else STAYS
    if loss.kind == "none":
        return f"no pulses: {_silent(loss)}"
    if loss.reading is None:
        return NOT_STATED
    if sweep:
        return _on_its_way(sweep, loss.reading.heard)
    return f"goes to {effect(solved, loss.reading) if loss.reading.effects else loss.reading.state}"


def _silent(loss: Loss) -> str:
    """Return what an input does without pulses."""
    silence, sweep = loss.feed.input.silence, loss.feed.input.sweep
    if silence is None:
        return NOT_STATED
    if sweep is None:
        return f"goes to {silence}"
    ends = {sweep.first: sweep.low, CENTRE: (sweep.low + sweep.high) / 2, sweep.last: sweep.high}
    return _on_its_way(sweep, ends[silence])


def _on_its_way(sweep: Sweep, level: Fraction) -> str:
    """Describe what an input does at a level, in words of its sweep.

    Rest is named only if the sweep has one.
    """
    level = min(max(level, sweep.low), sweep.high)
    turn = shown_turn(sweep, turn_at(sweep, level))
    if stands_still(sweep, level):
        return "stops" if sweep.full and sweep.full.speed else "goes to rest"
    if sweep.rest is not None:
        end, limit = (sweep.last, sweep.high) if level > sweep.rest else (sweep.first, sweep.low)
        if sweep.full:
            return f"turns {end} at {turn}" if sweep.full.speed else f"goes to {end}, {turn}"
        part = (level - sweep.rest) / (limit - sweep.rest) * 100
        return f"goes to {percent(part)} of the way from rest to {end}"
    if level in (sweep.low, sweep.high):
        return f"goes to {sweep.first if level == sweep.low else sweep.last}"
    part = (level - sweep.low) / (sweep.high - sweep.low) * 100
    return f"goes to {percent(part)} of the way from {sweep.first} to {sweep.last}"


def before_return(solved: Solved, losses: Sequence[Loss]) -> str:
    """Return where controls must stand when the link returns.

    The control of a running take must not end it.
    """
    going = [loss for loss in losses if is_record(loss.feed.input.states) and loss.state != STANDBY]
    controls = [
        (loss.feed.handset, solved.results[loss.feed.handset, loss.feed.channel].control.name) for loss in going
    ]
    titles = [control_title(solved.rig, *control) for control in dict.fromkeys(controls)]
    if not titles:
        return "Controls as on the power-up card"
    they = "it is" if len(titles) == 1 else "they are"
    return f"Leave {listed(titles)} where {they}; the others as on the power-up card"


def _delay(solved: Solved) -> str:
    parts = []
    for unit in solved.rig.units.values():
        if unit.model.loss_after is not None:
            seconds = decimal(unit.model.loss_after / 1000, 2)
            parts.append(f"{unit.title}: for {seconds} s the last command goes on.")
    return " ".join(parts)


def _proof(solved: Solved) -> list[tuple[str, str]]:
    return [
        action
        for unit in solved.rig.units.values()
        if unit.role == "handset"
        for action in _proof_of(solved, unit)
    ]


def _proof_of(solved: Solved, handset: Unit) -> list[tuple[str, str]]:
    """Return the proof: a take and a move, the handset off, then on; only steps that this handset has."""
    mine = [loss for loss in solved.losses if loss.feed.handset == handset.name]
    record = [loss for loss in mine if is_record(loss.feed.input.states)]
    pressed = [loss for loss in mine if toggles_take(solved, loss.feed)]
    moving = [loss for loss in mine if loss.feed.input.critical and loss.feed.input.sweep]
    actions, hold, back = [], "", ""
    if takes := [*record, *pressed]:
        actions.append((f"Start a take with {_control(solved, takes[0])}.", "the tally is lit"))
    if moving:
        first = moving[0]
        control = solved.results[first.feed.handset, first.feed.channel].control
        title = _control(solved, first)
        if control.springs:
            hold, back = f"Keep holding {title}. ", f"Let go of {title}. "
        else:
            standing = solved.power_up_positions[handset.name, control.name]
            back = f"Set {title} to {place(standing)}. "
        do = f"Move {title} slowly{' and hold it' if hold else ''}."
        actions.append((do, f"{first.feed.input.title} moves"))
    seen = [f"{loss.feed.input.title} {on_loss(solved, loss)}" for loss in moving]
    seen += list(dict.fromkeys(_record_seen(loss) for loss in record))
    seen += ["no order is sent: look at the tally" for loss in pressed if not _presses(loss)]
    actions.append((f"{hold}Switch off {the(handset.title)}.", "; ".join(seen) or "each function as above"))
    resting = [
        loss.feed.input.title
        for loss in moving
        if loss.feed.input.sweep and loss.feed.input.sweep.rest is not None
    ]
    still = f"{listed(resting)} stay{'s' if len(resting) == 1 else ''} still" if resting else ""
    actions.append((f"{back}Switch on {the(handset.title)}.", still or "each function follows its control"))
    return actions


def _control(solved: Solved, loss: Loss) -> str:
    return control_title(
        solved.rig, loss.feed.handset, solved.results[loss.feed.handset, loss.feed.channel].control.name
    )


def _presses(loss: Loss) -> bool:
    """Whether the loss itself presses a key that toggles."""
    return loss.reading is not None and any(done.toggles for done in loss.reading.effects)


def _record_seen(loss: Loss) -> str:
    if loss.kind == "hold" or loss.state == RUN:
        return "the take goes on"
    return "the take ends" if loss.state == STANDBY else f"the take: {NOT_STATED}"
