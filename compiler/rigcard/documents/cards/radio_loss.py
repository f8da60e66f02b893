"""Radio loss: what every function does, how to prove it, and what the link's return asks for."""

from __future__ import annotations

from rigcard.documents.base.layout import BODY, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.parts import effect, steps
from rigcard.resolve.model import CENTRE
from rigcard.solve.loss import RUN, is_record, toggles_take
from rigcard.solve.solved import Loss, Solved
from rigcard.solve.turning import unasked_turn
from rigcard.words import decimal

STAYS = "stays as it is"


def radio_loss(face: Typeface, inner: float, solved: Solved) -> Group:
    """The card; read it before the day, prove it as the last test."""
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
            "Hands off the sticks. Say “RADIO LOST”. Controls as on the power-up card before the link returns: "
            "motion starts again from wherever a stick stands.",
            inner,
            bold=True,
            whole=True,
        ),
        heading(face, "Prove it, last of all tests", inner),
        steps(face, inner, _proof(solved)),
    ]
    pinned = cautions.on("radio-loss", solved.rig)
    return Group("RADIO LOSS", "Radio loss", tuple(blocks), pinned)


def on_loss(solved: Solved, loss: Loss) -> str:
    """What an input does on loss, in plain words."""
    turn = unasked_turn(solved.rig, loss)
    before = f"keeps turning, up to {decimal(turn)} deg, then " if turn else ""
    return before + _at_last(solved, loss)


def _clear(loss: Loss) -> str:
    """The room that an axis needs, for whoever keeps it."""
    return f"; keep {decimal(loss.feed.clear)} deg clear" if loss.feed.clear is not None else ""


def _at_last(solved: Solved, loss: Loss) -> str:
    sweep = loss.feed.input.sweep
    if loss.reading:
        if loss.reading.state == CENTRE or (sweep and loss.reading.heard == sweep.rest):
            return "stops" if sweep and sweep.full and sweep.full.speed else "goes to rest"
        return f"goes to {effect(solved, loss.reading) if loss.reading.effects else loss.reading.state}"
    if loss.kind == "hold":
        return STAYS
    if loss.kind == "none":
        silence = loss.feed.input.silence
        return f"no pulses: goes to {silence}" if silence else "no pulses: not declared, try it"
    return "not set: try it"


def _delay(solved: Solved) -> str:
    parts = []
    for unit in solved.rig.units.values():
        if unit.model.loss_after is not None:
            seconds = decimal(unit.model.loss_after / 1000, 2)
            parts.append(f"{unit.title}: {seconds} s after the loss; until then the last value goes on.")
    return " ".join(parts)


def _proof(solved: Solved) -> list[tuple[str, str]]:
    actions = []
    for unit in solved.rig.units.values():
        if unit.role != "handset":
            continue
        mine = [loss for loss in solved.losses if loss.feed.handset == unit.name]
        record = [loss for loss in mine if is_record(loss.feed.input.states)]
        pressed = [loss for loss in mine if toggles_take(solved, loss.feed)]
        moving = [loss for loss in mine if loss.feed.input.critical and loss.feed.input.sweep]
        if record or pressed:
            actions.append((f"{unit.title}: start a take.", "tally is lit"))
        if moving:
            actions.append((f"{unit.title}: a slow move with one stick.", "picture moves"))
        seen = [f"{loss.feed.input.title} {on_loss(solved, loss)}" for loss in moving]
        seen += [_record_seen(loss) for loss in record]
        seen += ["no order is sent: look at the tally" for loss in pressed if not _presses(loss)]
        actions.append((f"{unit.title} OFF now, stick held.", "; ".join(seen) or "each function as above"))
        actions.append((f"Stick centred. {unit.title} on.", "nothing moves by itself"))
    return actions


def _presses(loss: Loss) -> bool:
    """Whether the loss itself presses a key that toggles."""
    return loss.reading is not None and any(done.toggles for done in loss.reading.effects)


def _record_seen(loss: Loss) -> str:
    if loss.kind == "hold" or (loss.reading and loss.reading.state == RUN):
        return "the take goes on"
    return "the take ends"
