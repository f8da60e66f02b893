"""Radio loss: what every function does, by result; what to do when the link returns; how to test it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rigcard.documents.base.language import listed, say, say_count
from rigcard.documents.base.layout import Block, paragraph
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import in_degrees, place, seen, the, turns_picture, way
from rigcard.documents.cards.actions import Action, with_cautions
from rigcard.documents.cards.moves import stays_put, whose
from rigcard.documents.cards.sticks import spoken
from rigcard.resolve.model import CENTRE, Sweep, Unit
from rigcard.solve.loss import RUN, STANDBY, is_record, toggles_take
from rigcard.solve.solved import Loss, Solved, stands_still
from rigcard.solve.turning import turn_at, unasked_turn
from rigcard.words import decimal, percent


def results(face: Typeface, inner: float, solved: Solved, losses: Sequence[Loss]) -> list[Block]:
    """Set what each function does, one line a result: what moves comes first, what does not change last."""
    lines = [*([delay] if (delay := delays(solved)) else []), *_lines(solved, losses)]
    return [paragraph(face, line, inner, gap=0.5, keep=True) for line in lines]


def in_one_breath(solved: Solved, losses: Sequence[Loss]) -> str:
    """Return the same as running text, for a card whose reader works only some of the functions."""
    return " ".join([*([delay] if (delay := delays(solved)) else []), *_lines(solved, losses)])


def _lines(solved: Solved, losses: Sequence[Loss]) -> list[str]:
    return [
        say("{functions}: {result}.", functions=names, result=text)
        for text, names in _by_result(solved, losses)
    ]


def _by_result(solved: Solved, losses: Sequence[Loss]) -> list[tuple[str, str]]:
    """Return each result with the functions that have it: what moves first, what does not change last."""
    ranked = sorted(losses, key=lambda loss: (not loss.feed.input.critical, loss.feed.input.sweep is None))
    found: dict[str, dict[str, Loss]] = {}
    for loss in ranked:
        found.setdefault(_result(solved, loss, False), {}).setdefault(_function(solved, loss, losses), loss)
    if still := found.pop(_stays(), None):
        found[_stays()] = still
    return [
        (_result(solved, next(iter(named.values())), len(named) > 1), ", ".join(named))
        for named in found.values()
    ]


def return_line(face: Typeface, inner: float, solved: Solved, losses: Sequence[Loss]) -> Block:
    """Set what everybody does from the loss of the link to its return; no take is ended by it."""
    text = say(
        "Say “RADIO LOST”. {before} When the link returns, everything follows its control at once.",
        before=before_return(solved, losses),
    )
    return paragraph(face, text, inner, bold=True, whole=True)


def proof(solved: Solved, cautions: tuple[str, ...] = ()) -> list[Action]:
    """Return the test of the loss; the cautions stand above the first step that moves anything."""
    actions = [
        action
        for unit in solved.rig.units.values()
        if unit.role == "handset"
        for action in _proof_of(solved, unit)
    ]
    return with_cautions(actions, 0, cautions)


def _function(solved: Solved, loss: Loss, losses: Sequence[Loss]) -> str:
    """Return the title of an input, after that of its unit if another one among these has the same."""
    return f"{whose(solved, loss.feed, (one.feed for one in losses))}{loss.feed.input.title}"


def _result(solved: Solved, loss: Loss, many: bool) -> str:
    """Return what an input does, or `many` do; of a take, whether it goes on."""
    if is_record(loss.feed.input.states):
        return _record_seen(loss)
    if toggles_take(solved, loss.feed) and not _presses(loss):
        return say("no order is sent: look at the tally")
    return on_loss(solved, loss, many)


def _stays() -> str:
    return say("unchanged")


def _not_stated() -> str:
    return say("not stated: look")


def on_loss(solved: Solved, loss: Loss, many: bool = False) -> str:
    """Return what an input does on loss, in plain words; in the plural if `many` do it."""
    turn = unasked_turn(solved.rig, loss)
    last = _at_last(solved, loss, many)
    if not turn:
        return last
    return say_count(
        1 + many,
        "keeps turning, up to {degrees}°, then {last}",
        "keep turning, up to {degrees}°, then {last}",
        degrees=decimal(turn),
        last=last,
    )


def clearances(solved: Solved) -> list[str]:
    """Return the way that each axis may turn unasked and that somebody keeps clear: `Pan 45°`."""
    return [
        f"{loss.feed.input.title} {decimal(loss.feed.clear)}°"
        for loss in solved.losses
        if loss.feed.clear is not None
    ]


def _at_last(solved: Solved, loss: Loss, many: bool) -> str:
    sweep = loss.feed.input.sweep
    if loss.held:
        held = solved.rig.units[loss.feed.unit].model.inputs[loss.held].title
        return say_count(1 + many, "is held still by {mode}", "are held still by {mode}", mode=held)
    if loss.kind == "hold":
        if sweep and sweep.full and sweep.full.speed:
            return say_count(1 + many, "goes on turning as it was", "go on turning as they were")
        if sweep and sweep.rest is not None:
            return say_count(1 + many, "keeps its last command", "keep their last commands")
        return _stays()
    if loss.kind == "none":
        return say("no pulses: {result}", result=_silent(loss, many))
    if loss.reading is None:
        return _not_stated()
    if sweep:
        return _on_its_way(sweep, loss.reading.heard, many)
    state = seen(solved, loss.reading) if loss.reading.effects else way(loss.reading.state)
    return _goes_to(state, many)


def _silent(loss: Loss, many: bool) -> str:
    """Return what an input does without pulses."""
    silence, sweep = loss.feed.input.silence, loss.feed.input.sweep
    if silence is None:
        return _not_stated()
    if sweep is None:
        return _goes_to(way(silence), many)
    ends = {sweep.first: sweep.low, CENTRE: (sweep.low + sweep.high) / 2, sweep.last: sweep.high}
    return _on_its_way(sweep, ends[silence], many)


def _goes_to(state: str, many: bool) -> str:
    return say_count(1 + many, "goes to {state}", "go to {state}", state=state)


def _on_its_way(sweep: Sweep, level: Fraction, many: bool) -> str:
    """Describe what an input does at a level, in words of its sweep.

    Rest is named only if the sweep has one.
    """
    level = min(max(level, sweep.low), sweep.high)
    turn = in_degrees(sweep, turn_at(sweep, level))
    count = 1 + many
    if stands_still(sweep, level):
        if sweep.full and sweep.full.speed:
            return say_count(count, "stops", "stop")
        return say_count(count, "comes to rest", "come to rest")
    if sweep.rest is not None:
        end, limit = (sweep.last, sweep.high) if level > sweep.rest else (sweep.first, sweep.low)
        end = way(end)
        if sweep.full and sweep.full.speed:
            return say_count(count, "turns {end} at {turn}", "turn {end} at {turn}", end=end, turn=turn)
        if sweep.full:
            return say_count(count, "goes to {end}, {turn}", "go to {end}, {turn}", end=end, turn=turn)
        part = (level - sweep.rest) / (limit - sweep.rest) * 100
        return say_count(
            count,
            "goes to {part} of the way from rest to {end}",
            "go to {part} of the way from rest to {end}",
            part=percent(part),
            end=end,
        )
    if level in (sweep.low, sweep.high):
        return _goes_to(way(sweep.first if level == sweep.low else sweep.last), many)
    part = (level - sweep.low) / (sweep.high - sweep.low) * 100
    first, last = way(sweep.first), way(sweep.last)
    return say_count(
        count,
        "goes to {part} of the way from {first} to {last}",
        "go to {part} of the way from {first} to {last}",
        part=percent(part),
        first=first,
        last=last,
    )


def before_return(solved: Solved, losses: Sequence[Loss]) -> str:
    """Return where controls must stand when the link returns.

    The control of a running take must not end it, so it is left alone; where the loss itself ends the take, it
    goes to standby with the others.
    """
    units = dict.fromkeys(loss.feed.handset for loss in losses)
    sprung = any(
        control.springs for name in units for control in solved.rig.units[name].model.controls.values()
    )
    going = [loss for loss in losses if is_record(loss.feed.input.states) and loss.state != STANDBY]
    going += [loss for loss in losses if toggles_take(solved, loss.feed)]
    controls = [
        (loss.feed.handset, solved.results[loss.feed.handset, loss.feed.channel].control.name) for loss in going
    ]
    titles = [spoken(solved.rig, *control) for control in dict.fromkeys(controls)]
    let_go = say("Let go of what springs back.") if sprung else ""
    if not any(stays_put(solved, solved.rig.units[name]) for name in units):
        rest = ""
    elif not titles:
        rest = say("Set the controls as on the power-up card.")
    elif len(titles) == 1:
        rest = say("Leave {control} where it is; set the others as on the power-up card.", control=titles[0])
    else:
        rest = say(
            "Leave {controls} where they are; set the others as on the power-up card.", controls=listed(titles)
        )
    return f"{let_go} {rest}".strip()


def delays(solved: Solved) -> str:
    """Return for how long each receiver goes on with the last command."""
    times: dict[str, list[str]] = {}
    for unit in solved.rig.units.values():
        if unit.model.loss_after is not None:
            times.setdefault(decimal(unit.model.loss_after / 1000, 2), []).append(unit.title)
    if len(times) == 1:
        return say("For {seconds} s the last command goes on. Then:", seconds=next(iter(times)))
    return " ".join(
        say("{receivers}: for {seconds} s the last command goes on.", receivers=listed(titles), seconds=seconds)
        for seconds, titles in times.items()
    )


def _proof_of(solved: Solved, handset: Unit) -> list[Action]:
    """Return the proof: a take and a move, the handset off, then on; only steps that this handset has."""
    mine = [loss for loss in solved.losses if loss.feed.handset == handset.name]
    takes = [loss for loss in mine if is_record(loss.feed.input.states) or toggles_take(solved, loss.feed)]
    moving = [loss for loss in mine if loss.feed.input.critical and loss.feed.input.sweep]
    before, hold, back = [], "", ""
    if takes:
        do = say("Start a take with {control}.", control=_control(solved, takes[0]))
        before = [(do, say("the tally is lit"))]
    if moving:
        move, hold, back = _move(solved, handset, moving[0])
        before.append((move, _moves(solved, moving[0])))
    shown = [line.rstrip(".") for line in _lines(solved, moving)]
    shown += list(dict.fromkeys(_result(solved, loss, False) for loss in takes))
    off = say("Switch off {handset}.", handset=the(handset.title))
    actions = [Action(" ".join(do for do, _ in before), "; ".join(see for _, see in before))] if before else []
    actions.append(Action(_joined(hold, off), "; ".join(shown) or say("each function as above")))
    on = say("Switch on {handset}.", handset=the(handset.title))
    actions.append(Action(_joined(back, on), _still(moving) or say("each function follows its control")))
    return [*actions, _end_of_take(solved, takes[0])] if takes else actions


def _joined(*sentences: str) -> str:
    return " ".join(text for text in sentences if text)


def _move(solved: Solved, handset: Unit, loss: Loss) -> tuple[str, str, str]:
    """Return how to move an axis, how it stays moved ("" if it does by itself), and how it comes back."""
    control = solved.results[loss.feed.handset, loss.feed.channel].control
    named, short = _control(solved, loss), spoken(solved.rig, handset.name, control.name, alone=True)
    if control.springs:
        return (
            say("Move {control} slowly and hold it.", control=named),
            say("Keep holding {control}.", control=short),
            say("Let go of {control}.", control=short),
        )
    home = place(solved.power_up_positions[handset.name, control.name])
    return (
        say("Move {control} slowly.", control=named),
        "",
        say("Set {control} to {position}.", control=short, position=home),
    )


def _moves(solved: Solved, loss: Loss) -> str:
    if turns_picture(solved, loss.feed):
        return say("the picture turns")
    return say("{axis} moves", axis=loss.feed.input.title)


def _still(moving: Sequence[Loss]) -> str:
    """Return which axes must stay still once the link is back; "" if none has a rest."""
    resting = [
        loss.feed.input.title
        for loss in moving
        if loss.feed.input.sweep and loss.feed.input.sweep.rest is not None
    ]
    if not resting:
        return ""
    return say_count(len(resting), "{axes} stays still", "{axes} stay still", axes=listed(resting))


def _end_of_take(solved: Solved, loss: Loss) -> Action:
    """Return the step that ends the take of the test, wherever the loss has left it."""
    title = _control(solved, loss)
    if is_record(loss.feed.input.states):
        return Action(say("Stop the take with {control}.", control=title), say("the tally is out"))
    return Action(say("If the tally is lit, press {control} once.", control=title), say("the tally is out"))


def _control(solved: Solved, loss: Loss) -> str:
    name = solved.results[loss.feed.handset, loss.feed.channel].control.name
    return spoken(solved.rig, loss.feed.handset, name)


def _presses(loss: Loss) -> bool:
    """Whether the loss itself presses a key that toggles."""
    return loss.reading is not None and any(done.toggles for done in loss.reading.effects)


def _record_seen(loss: Loss) -> str:
    if loss.kind == "hold" or loss.state == RUN:
        return say("the take goes on")
    return say("the take ends") if loss.state == STANDBY else say("the take: not stated: look")
