"""What differs in the facts of two revisions: what the rig does else, and what its issue says else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from rigcard.compare.comparison import Effect
from rigcard.compare.facts import Done, Facts, Margin
from rigcard.resolve.model import CENTRE

Key = TypeVar("Key")
Value = TypeVar("Value")


def changes(old: Mapping[Key, Value], new: Mapping[Key, Value]) -> list[tuple[Key, Value | None, Value | None]]:
    """Return what differs as (key, was, now): the order of the new side, then what is gone; None: not there."""
    found: list[tuple[Key, Value | None, Value | None]] = [
        (key, old.get(key), now) for key, now in new.items() if old.get(key) != now
    ]
    return [*found, *((key, was, None) for key, was in old.items() if key not in new)]


def issue_of(old: Facts, new: Facts) -> tuple[Effect, ...]:
    """Return what differs in title, job, revision, date and crew."""
    found = [
        Effect(kind, (), was, now)
        for kind in ("title", "job", "revision", "date")
        if (was := getattr(old, kind)) != (now := getattr(new, kind))
    ]
    return (*found, *(Effect("crew", (role,), was, now) for role, was, now in changes(old.crew, new.crew)))


def effects_of(old: Facts, new: Facts) -> tuple[Effect, ...]:
    """Return what the rig does else, what matters most first: functions, then loss, starts, margins, the rest."""
    done = _done(old, new)
    return (
        *done,
        *_combined(old, new, done),
        *_listed("losses", old, new),
        *_listed("starts", old, new),
        *_margins(old, new),
        *_shared("turns", old, new),
        *_shared("levels", old, new),
        *_listed("rails", old, new),
        *_shared("leads", old, new),
        *_listed("runs", old, new),
        *_listed("loads", old, new),
        *_listed("handed", old, new),
        *_listed("cases", old, new),
        *_listed("hazards", old, new),
        *_listed("steps", old, new),
        *_listed("radio", old, new),
        *_listed("claims", old, new),
        *_listed("questions", old, new),
    )


def _listed(kind: str, old: Facts, new: Facts) -> list[Effect]:
    """Return every difference in the facts of a kind."""
    return [
        Effect(kind, key if isinstance(key, tuple) else (key,), was, now)
        for key, was, now in changes(getattr(old, kind), getattr(new, kind))
    ]


def _shared(kind: str, old: Facts, new: Facts) -> list[Effect]:
    """Return the differences in what is there on both sides; what comes or goes is another effect."""
    return [found for found in _listed(kind, old, new) if found.was is not None and found.now is not None]


def _done(old: Facts, new: Facts) -> list[Effect]:
    """Return where a position does something else; `turned` if a sweep leads to its other end."""
    found = []
    for effect in _listed("done", old, new):
        was, now = effect.was, effect.now
        here = effect.about[:2]
        turned = here in old.sweeps & new.sweeps and _opposite(was, now)
        if _acts(was) or _acts(now):
            found.append(effect._replace(kind="turned") if turned else effect)
    return found


def _acts(done: Done | None) -> bool:
    """Whether a position does anything at an input: a sweep at its centre does nothing."""
    return done is not None and done.state != CENTRE


def _opposite(was: Done | None, now: Done | None) -> bool:
    return (
        was is not None and now is not None and was.state != now.state and CENTRE not in (was.state, now.state)
    )


def _combined(old: Facts, new: Facts, done: list[Effect]) -> list[Effect]:
    """Return the combinations of controls that do something else, but for those that fewer controls explain."""
    explained: dict[object, list[set[str]]] = {}
    for effect in done:
        control, position, *others = effect.about[3:]
        places = {f"{control}.{position}", *others}
        explained.setdefault((effect.about[:3], effect.was, effect.now), []).append(places)
    return [
        effect
        for effect in _listed("combined", old, new)
        if not any(
            places <= set(effect.about[3:])
            for places in explained.get((effect.about[:3], effect.was, effect.now), ())
        )
    ]


def _margins(old: Facts, new: Facts) -> list[Effect]:
    """Return margins that moved within the same state, what is nearest to its edge first.

    Where several positions give the same level, as the rest of each control does, the first one stands for all.
    """
    found: dict[object, Effect] = {}
    for effect in _shared("margins", old, new):
        state = new.done[effect.about].state
        if old.done[effect.about].state == state:
            found.setdefault((effect.about[:3], state, effect.was, effect.now), effect)
    return sorted(found.values(), key=_nearest)


def _nearest(effect: Effect) -> tuple[bool, object]:
    was, now = effect.was, effect.now
    assert isinstance(was, Margin) and isinstance(now, Margin)
    return now.percent > was.percent, now.percent
