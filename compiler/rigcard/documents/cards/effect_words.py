"""What is different between two revisions, in sentences."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import NamedTuple

from rigcard.compare.comparison import Comparison, Effect
from rigcard.compare.facts import (
    Done,
    Lead,
    Loss,
    Margin,
    Rail,
    Run,
    Turn,
    Weight,
)
from rigcard.documents.base.language import listed, say, say_count
from rigcard.documents.cards.cautions import LINES
from rigcard.documents.cards.change_titles import Line, Titles
from rigcard.solve.power.wording import clock
from rigcard.words import decimal, kilograms, microseconds, percent, signed_percent, volts


def effect_lines(found: Comparison) -> list[Line]:
    """Return what the rig does else."""
    titles = Titles(found.old, found.new)
    return [_EFFECTS[effect.kind](found, titles, effect) for effect in found.effects]


def effect_lines_in_short(found: Comparison) -> list[Line]:
    """Return the same for a card: margins that moved alike stand in one line, where the first of them would."""
    titles = Titles(found.old, found.new)
    moved: dict[_Moved, list[str]] = {}
    for effect in found.effects:
        if effect.kind == "margins":
            moved.setdefault(_moved(effect), []).append(_state_at(found, titles, effect))
    lines = []
    for effect in found.effects:
        if effect.kind != "margins":
            lines.append(_EFFECTS[effect.kind](found, titles, effect))
        elif states := moved.pop(_moved(effect), None):
            lines.append(_margin_line(_moved(effect), states))
    return lines


def _done_words(done: Done | None) -> str:
    """Return what an input gives at a position."""
    if done is None:
        return say("nothing")
    if not done.state:
        return say("a level outside every band")
    words = ", ".join(done.does) or done.state
    return say("{what}, held still", what=words) if done.held_by else words


def _done(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, control, position, *others = effect.about
    at, title = titles.at(handset, control, position, others), titles.input(unit, name)
    if effect.kind == "turned":
        return Line(
            say("DIRECTION"),
            say(
                "{at}: {input} goes {now}, went {was}.",
                at=at,
                input=title,
                now=_done_words(effect.now),
                was=_done_words(effect.was),
            ),
        )
    return Line(say("FUNCTION"), _gives(at, title, effect))


def _gives(at: str, title: str, effect: Effect) -> str:
    return say(
        "{at}: {input} gives {now}, gave {was}.",
        at=at,
        input=title,
        now=_done_words(effect.now),
        was=_done_words(effect.was),
    )


def _combined(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, first, *others = effect.about
    control, position = first.rsplit(".", 1)
    at = titles.at(handset, control, position, others)
    return Line(say("TOGETHER"), _gives(at, titles.input(unit, name), effect))


def _loss_words(loss: Loss | None) -> str:
    """Return what an input does on radio loss."""
    if loss is None:
        return say("nothing")
    ends = {
        "hold": say("holds its last order"),
        "unknown": say("not set"),
        "silence": say("gets no pulses"),
        "preset": say("goes to {level}", level=signed_percent(loss.level)) if loss.level is not None else "",
    }
    parts = [ends.get(loss.kind, loss.kind)]
    if loss.state:
        parts.append(", ".join(loss.does) or loss.state)
    if loss.delay is not None:
        parts.append(say("after {time} ms", time=decimal(loss.delay)))
    if loss.unasked:
        parts.append(say("up to {turn}° before that", turn=decimal(loss.unasked)))
    return ", ".join(parts)


def _losses(found: Comparison, titles: Titles, effect: Effect) -> Line:
    return Line(
        say("RADIO LOSS"),
        say(
            "{input}: {now}; before: {was}.",
            input=titles.input(*effect.about),
            now=_loss_words(effect.now),
            was=_loss_words(effect.was),
        ),
    )


def _starts(found: Comparison, titles: Titles, effect: Effect) -> Line:
    harms = {
        "critical": say("moves what must be at rest"),
        "command": say("sends a command"),
        "other": say("leaves a function off its rest"),
        None: say("does no harm"),
    }
    return Line(
        say("POWER-UP"),
        say(
            "Wrong start, {at}: {now}; before: {was}.",
            at=titles.at(*effect.about),
            now=harms.get(effect.now, effect.now),
            was=harms.get(effect.was, effect.was),
        ),
    )


class _Moved(NamedTuple):
    """How a margin moved, in words: nearer to its edge or farther from it, by how much, what it is and was."""

    nearer: bool
    by: str
    now: str
    was: str


def _moved(effect: Effect) -> _Moved:
    was, now = effect.was, effect.now
    assert isinstance(was, Margin) and isinstance(now, Margin)
    moved = now.percent - was.percent
    pulses = now.pulse - was.pulse if now.pulse is not None and was.pulse is not None else None
    by = percent(abs(moved)) if pulses is None else microseconds(abs(pulses))
    return _Moved(moved < 0, by, percent(now.percent), percent(was.percent))


def _state_at(found: Comparison, titles: Titles, effect: Effect) -> str:
    """Return what a margin belongs to: `Iris open (Left stick, along AWAY)`."""
    unit, name, handset, control, position, *others = effect.about
    done = found.new.done[effect.about]
    does = ", ".join(done.does)
    what = f"{titles.input(unit, name)} {done.state}" if does in ("", done.state) else does
    return f"{what} ({titles.at(handset, control, position, others)})"


def _margins(found: Comparison, titles: Titles, effect: Effect) -> Line:
    return _margin_line(_moved(effect), [_state_at(found, titles, effect)])


def _margin_line(moved: _Moved, states: Sequence[str]) -> Line:
    parts = {"what": listed(states), "by": moved.by, "now": moved.now, "was": moved.was}
    if moved.nearer:
        text = say_count(
            len(states),
            "{what} is {by} nearer to its edge: margin {now}, was {was}.",
            "{what} are {by} nearer to their edges: margin {now}, was {was}.",
            **parts,
        )
    else:
        text = say_count(
            len(states),
            "{what} is {by} farther from its edge: margin {now}, was {was}.",
            "{what} are {by} farther from their edges: margin {now}, was {was}.",
            **parts,
        )
    return Line(say("MARGIN"), text)


def _turn_words(turn: Turn) -> str:
    if turn.speed is not None:
        return f"{decimal(turn.speed, 2)}°/s"
    return f"{decimal(turn.degrees or Fraction(0), 2)}°"


def _turns(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, control, position, *others = effect.about
    return Line(
        say("SPEED") if effect.now.speed is not None else say("ANGLE"),
        say(
            "{at}: {input} turns {now}, turned {was}.",
            at=titles.at(handset, control, position, others),
            input=titles.input(unit, name),
            now=_turn_words(effect.now),
            was=_turn_words(effect.was),
        ),
    )


def _levels(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, control, position, *others = effect.about
    return Line(
        say("LEVEL"),
        say(
            "{at}: {input} hears {now}, heard {was}.",
            at=titles.at(handset, control, position, others),
            input=titles.input(unit, name),
            now=signed_percent(effect.now),
            was=signed_percent(effect.was),
        ),
    )


def _rail_words(rail: Rail | None) -> str:
    if rail is None:
        return say("no power")
    if rail.full == rail.empty:
        return volts(rail.full)
    return say("{full} full, {empty} near empty", full=volts(rail.full), empty=volts(rail.empty))


def _rails(found: Comparison, titles: Titles, effect: Effect) -> Line:
    now = effect.now
    parts = {
        "port": titles.port(".".join(effect.about)),
        "now": _rail_words(now),
        "was": _rail_words(effect.was),
    }
    if now is not None and now.low is not None and now.high is not None:
        return Line(
            say("VOLTS"),
            say(
                "{port}: {now}; before: {was}. It takes {low} to {high}.",
                low=volts(now.low),
                high=volts(now.high),
                **parts,
            ),
        )
    return Line(say("VOLTS"), say("{port}: {now}; before: {was}.", **parts))


def _leads(found: Comparison, titles: Titles, effect: Effect) -> Line:
    now, was = effect.now, effect.was
    assert isinstance(now, Lead) and isinstance(was, Lead)
    parts = {"lead": effect.about[0], "now": f"{decimal(now.amps, 2)} A", "was": f"{decimal(was.amps, 2)} A"}
    if now.rated is None:
        return Line(say("CURRENT"), say("{lead} carries up to {now}, before {was}.", **parts))
    rated = f"{decimal(now.rated, 2)} A"
    return Line(
        say("CURRENT"),
        say("{lead} carries up to {now}, before {was}; it is rated {rated}.", rated=rated, **parts),
    )


def _run_words(run: Run | None, other: Run | None) -> str:
    """Return what of a pack differs from the other revision, or all of it without one."""
    if run is None:
        return say("not there")
    parts = []
    if other is None or run.watt_hours != other.watt_hours:
        parts.append(f"{decimal(run.watt_hours, 2)} Wh")
    if run.hours is not None and (other is None or run.hours != other.hours):
        parts.append(clock(run.hours))
    if run.cold is not None and (other is None or run.cold != other.cold):
        parts.append(say("{time} in the cold", time=clock(run.cold)))
    if run.day is not None and (other is None or (run.day, run.spares) != (other.day, other.spares)):
        parts.append(say("packs: {day} for the day, {spares} to spare", day=run.day, spares=run.spares))
    if other is None or run.air != other.air:
        parts.append(run.air)
    return ", ".join(parts) or say("nothing")


def _runs(found: Comparison, titles: Titles, effect: Effect) -> Line:
    return Line(
        say("RUN TIME"),
        say(
            "{pack}: {now}; before: {was}.",
            pack=titles.unit(effect.about[0]),
            now=_run_words(effect.now, effect.was),
            was=_run_words(effect.was, effect.now),
        ),
    )


def _mass(weight: Weight | None) -> str:
    return kilograms(weight.mass) if weight else say("nothing")


def _loads(found: Comparison, titles: Titles, effect: Effect) -> Line:
    parts = {"unit": titles.unit(effect.about[0]), "now": _mass(effect.now), "was": _mass(effect.was)}
    now = effect.now
    if now is None or now.limit is None:
        return Line(say("MASS"), say("{unit} carries {now}, carried {was}.", **parts))
    left, limit = kilograms(now.limit - now.mass), kilograms(now.limit)
    return Line(
        say("MASS"),
        say("{unit} carries {now}, carried {was}; {left} left of {limit}.", left=left, limit=limit, **parts),
    )


def _handed(found: Comparison, titles: Titles, effect: Effect) -> Line:
    return Line(
        say("MASS"),
        say(
            "{unit} with all it carries: {now}, was {was}.",
            unit=titles.unit(effect.about[0]),
            now=_mass(effect.now),
            was=_mass(effect.was),
        ),
    )


def _cases(found: Comparison, titles: Titles, effect: Effect) -> Line:
    parts = {"case": effect.about[0], "now": _mass(effect.now), "was": _mass(effect.was)}
    limit = effect.now.limit if effect.now else None
    if limit is None:
        return Line(say("CASE"), say("{case}: {now}, was {was}.", **parts))
    return Line(say("CASE"), say("{case}: {now}, was {was}; at most {limit}.", limit=kilograms(limit), **parts))


def _hazards(found: Comparison, titles: Titles, effect: Effect) -> Line:
    known = LINES.get(effect.about[0])
    text = known.text if known else effect.about[0]
    if effect.now:
        return Line(say("CAUTION"), say("New: {text}", text=text))
    return Line(say("CAUTION"), say("No longer stated: {text}", text=text))


def _steps(found: Comparison, titles: Titles, effect: Effect) -> Line:
    text = effect.about[1]
    return Line(
        say("STEP"), say("New: {text}", text=text) if effect.now else say("No longer: {text}", text=text)
    )


def _radio(found: Comparison, titles: Titles, effect: Effect) -> Line:
    shown = [
        ", ".join(part for part in side if part) or say("not stated") if side else say("not there")
        for side in (effect.now, effect.was)
    ]
    return Line(
        say("RADIO"), say("{link}: {now}; before: {was}.", link=effect.about[0], now=shown[0], was=shown[1])
    )


def _claims(found: Comparison, titles: Titles, effect: Effect) -> Line:
    given, gives, *others = effect.about
    handset, control, position = given.split(".", 2)
    unit, _, state = gives.partition(".")
    parts = {"at": titles.at(handset, control, position, others), "gives": f"{titles.unit(unit)} {state}"}
    if effect.now:
        return Line(say("PROOF"), say("Expected and proven now: {at} gives {gives}.", **parts))
    return Line(say("PROOF"), say("No longer expected, so not proven: {at} gives {gives}.", **parts))


def _questions(found: Comparison, titles: Titles, effect: Effect) -> Line:
    text = effect.about[0]
    if effect.now:
        return Line(say("OPEN"), say("New question: {text}", text=text))
    return Line(say("OPEN"), say("Answered: {text}", text=text))


_EFFECTS: dict[str, Callable[[Comparison, Titles, Effect], Line]] = {
    "done": _done,
    "turned": _done,
    "combined": _combined,
    "losses": _losses,
    "starts": _starts,
    "margins": _margins,
    "turns": _turns,
    "levels": _levels,
    "rails": _rails,
    "leads": _leads,
    "runs": _runs,
    "loads": _loads,
    "handed": _handed,
    "cases": _cases,
    "hazards": _hazards,
    "steps": _steps,
    "radio": _radio,
    "claims": _claims,
    "questions": _questions,
}
