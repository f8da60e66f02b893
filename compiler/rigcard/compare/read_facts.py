"""Reads the facts of a revision from the values of a `rig.json`.

A rig file is solved and put into the form of `rig.json` first, so both kinds of sides go one way. Numbers become
exact fractions of what is written there.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from rigcard.compare.facts import (
    Cable,
    Card,
    Dial,
    Done,
    Facts,
    Lead,
    Leg,
    Loss,
    Margin,
    Number,
    Rail,
    Run,
    Sent,
    Source,
    Turn,
    Unit,
    Weight,
    Where,
)
from rigcard.resolve.model import SERVO

FORM = 4  # the form of `rig.json` that has all that is compared


class UnreadableError(ValueError):
    """Values that are no `rig.json` of this form; the message names the key."""


class _Row:
    """One object of the JSON; every value that is asked for has the kind that is asked for."""

    def __init__(self, data: object, where: str) -> None:
        if not isinstance(data, dict):
            raise UnreadableError(f"`{where}` is no object")
        self.data: dict[str, Any] = data
        self.where = where

    def _get(self, key: str) -> Any:
        if key not in self.data:
            raise UnreadableError(f"`{self.where}` lacks `{key}`")
        return self.data[key]

    def _wrong(self, key: str) -> UnreadableError:
        return UnreadableError(f"`{key}` of `{self.where}` is of another kind")

    def text(self, key: str) -> str:
        """Return words; "" for null."""
        value = self._get(key)
        if value is not None and not isinstance(value, str):
            raise self._wrong(key)
        return value or ""

    def number(self, key: str) -> Number:
        """Return a number, or None for null."""
        value = self._get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._wrong(key)
        try:
            return Fraction(str(value))
        except ValueError as fault:
            raise self._wrong(key) from fault

    def amount(self, key: str) -> Fraction:
        """Return a number that must be there."""
        value = self.number(key)
        if value is None:
            raise self._wrong(key)
        return value

    def whole(self, key: str) -> int:
        """Return a whole number that must be there."""
        value = self._get(key)
        if isinstance(value, bool) or not isinstance(value, int):
            raise self._wrong(key)
        return value

    def maybe_whole(self, key: str) -> int | None:
        """Return a whole number, or None for null."""
        return None if self._get(key) is None else self.whole(key)

    def flag(self, key: str) -> bool:
        """Return true or false."""
        value = self._get(key)
        if not isinstance(value, bool):
            raise self._wrong(key)
        return value

    def maybe_flag(self, key: str) -> bool | None:
        """Return true or false, or None for null."""
        return None if self._get(key) is None else self.flag(key)

    def rows(self, key: str) -> list[_Row]:
        """Return a list of objects."""
        value = self._get(key)
        if not isinstance(value, list):
            raise self._wrong(key)
        return [_Row(inner, key) for inner in value]

    def row(self, key: str) -> _Row | None:
        """Return an object, or None for null."""
        value = self._get(key)
        return None if value is None else _Row(value, key)

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of words; () for null."""
        value = self._get(key)
        if value is not None and not (isinstance(value, list) and all(isinstance(one, str) for one in value)):
            raise self._wrong(key)
        return tuple(value or ())

    def places(self, key: str) -> tuple[str, ...]:
        """Return a list of control.position."""
        found = self.texts(key)
        if not all("." in one for one in found):
            raise self._wrong(key)
        return found

    def joined(self, key: str, count: int) -> str:
        """Return names joined by points, `count` of them at least."""
        value = self.text(key)
        if value.count(".") < count - 1:
            raise self._wrong(key)
        return value

    def named(self, key: str) -> dict[str, str]:
        """Return words by name."""
        value = self._get(key)
        if not isinstance(value, dict) or not all(isinstance(one, str) for one in value.values()):
            raise self._wrong(key)
        return dict(value)


def facts_of(data: object) -> Facts:
    """Return the facts of the values of a `rig.json` of the present form. Raises UnreadableError."""
    top = _Row(data, "rig.json")
    units = top.rows("units")
    channels = top.rows("channels")
    power = top.row("power")
    inputs = [(unit.text("name"), known) for unit in units for known in unit.rows("inputs")]
    signals = {leg.text("id"): leg.text("signal") for row in top.rows("cables") for leg in row.rows("legs")}
    numbers = {(row.text("handset"), row.text("name")): row.whole("number") for row in channels}
    rows = [(row, place) for row in channels for place in (*row.rows("positions"), *_resting(row))]
    read = [(_where(row, place), reading) for row, place in rows for reading in place.rows("readings")]
    return Facts(
        title=top.text("rig"),
        job=top.text("job"),
        revision=top.text("revision"),
        date=top.text("date"),
        crew=top.named("crew"),
        units={row.text("name"): _unit(row) for row in units},
        spares={row.text("name"): _spare(row) for row in top.rows("spare_units")},
        settings={
            (row.text("name"), key): value for row in units for key, value in row.named("settings").items()
        },
        sources={
            (unit, row.text("name")): Source(
                numbers.get((row.text("handset"), row.text("channel")), 0), row.flag("reversed")
            )
            for unit, row in inputs
            if signals.get(row.text("cable")) != SERVO  # a pin carries its own channel: no menu assigns it
        },
        legs={
            leg.text("id"): Leg(leg.text("a"), leg.text("b"))
            for row in top.rows("cables")
            for leg in row.rows("legs")
        },
        cables={row.text("name"): _cable(row) for row in top.rows("cables")},
        dials={(row.text("handset"), row.text("name")): _dial(row) for row in channels},
        done={_heard_at(where, reading): _done(reading) for where, reading in read},
        margins={
            _heard_at(where, reading): Margin(reading.amount("margin_percent"), reading.number("margin_us"))
            for where, reading in read
            if reading.number("margin_percent") is not None
        },
        turns={
            at: turn
            for at, turn in ((_heard_at(where, reading), _turn(reading)) for where, reading in read)
            if turn
        },
        levels={
            _heard_at(where, reading): reading.amount("heard_percent")
            for where, reading in read
            if _sweeps(reading) and not _turn(reading)
        },
        sent={
            (row.text("handset"), row.text("name"), *_where(row, place)[1:]): Sent(
                place.amount("level_percent"), place.amount("pulse_us")
            )
            for row, place in rows
        },
        combined=dict(_combined(channels)),
        losses={
            (row.text("unit"), row.text("input")): _loss(row)
            for one in channels
            for row in one.rows("radio_loss")
        },
        stands={
            (row.text("handset"), row.text("control")): row.text("position") for row in top.rows("power_up")
        },
        starts={
            (row.text("handset"), row.text("control"), row.text("position")): row.text("harm")
            for row in top.rows("wrong_starts")
        },
        rails={
            (row.text("unit"), row.text("port")): Rail(
                _to(row.amount("volts_full"), 100),
                _to(row.amount("volts_empty"), 100),
                row.number("takes_low"),
                row.number("takes_high"),
            )
            for row in (power.rows("rails") if power else ())
        },
        leads={
            row.text("id"): Lead(_to(row.amount("amps"), 100), row.number("rated_amps"))
            for row in (power.rows("leads") if power else ())
        },
        runs={row.text("unit"): _run(row) for row in (power.rows("packs") if power else ())},
        loads={
            row.text("name"): Weight(load.amount("mass_kg"), load.number("rating_kg"))
            for row in units
            if (load := row.row("payload"))
        },
        handed={row.text("unit"): Weight(row.amount("mass_kg"), None) for row in top.rows("handed_over")},
        cases={
            row.text("case"): Weight(row.amount("mass_kg"), row.number("limit_kg")) for row in top.rows("cases")
        },
        radio={row.text("title"): (row.text("band"), row.text("channel")) for row in top.rows("radio_links")},
        claims=dict.fromkeys(
            (
                (row.joined("given", 3), row.joined("gives", 2), *row.places("while"))
                for row in top.rows("expectations")
            ),
            True,
        ),
        questions=dict.fromkeys(top.texts("open_questions"), True),
        hazards=dict.fromkeys(top.texts("hazards"), True),
        steps=dict.fromkeys(((row.text("phase"), row.text("text")) for row in top.rows("steps")), True),
        needs={
            (unit, row.text("name")): frozenset(
                (part.text("kind"), *part.texts("name")) for part in row.rows("needs")
            )
            for unit, row in inputs
        },
        assigned=frozenset((row.text("name"), key) for row in units for key in row.texts("assigned")),
        titles=dict(_titles(units, inputs)),
        sweeps=frozenset(_heard_at(where, reading)[:2] for where, reading in read if _sweeps(reading)),
        kinds={row.text("unit"): row.text("kind") for row in top.rows("handed_over")},
        cards={
            row.text("card"): Card(
                row.text("check"), row.text("role"), row.whole("copies"), row.flag("full_page")
            )
            for row in top.rows("cards")
        },
        labels={row.text("label"): row.text("check") for row in top.rows("labels")},
        sheets={row.text("sheet"): (row.text("file"), row.text("check")) for row in top.rows("sheets")},
    )


def _resting(row: _Row) -> list[_Row]:
    """Return what a channel does with every control as at power-up."""
    return [rest] if (rest := row.row("rest")) else []


def _where(row: _Row, place: _Row) -> Where:
    return (row.text("handset"), place.text("control"), place.text("position"), *place.places("while"))


def _heard_at(where: Where, reading: _Row) -> tuple[str, ...]:
    return (reading.text("unit"), reading.text("input"), *where)


def _sweeps(reading: _Row) -> bool:
    """Whether a reading is of an input that follows the level: it has a state and no band around it."""
    return bool(reading.text("state")) and reading.number("margin_percent") is None


def _done(reading: _Row) -> Done:
    return Done(reading.text("state"), _does(reading), reading.text("held_by"))


def _does(row: _Row) -> tuple[str, ...]:
    """Return what follows from a reading, each once: the value of a setting or the end of a sweep, else the command."""
    found = [command.text("does") or command.text("command") for command in row.rows("commands")]
    return tuple(dict.fromkeys(found))


def _turn(reading: _Row) -> Turn | None:
    degrees, speed = reading.number("turn_degrees"), reading.number("turn_degrees_a_second")
    return None if degrees is None and speed is None else Turn(degrees, speed)


def _combined(channels: list[_Row]) -> Iterator[tuple[tuple[str, ...], Done]]:
    for channel in channels:
        for row in channel.rows("combinations"):
            places = [f"{place.text('control')}.{place.text('position')}" for place in row.rows("places")]
            for reading in row.rows("readings"):
                yield _heard_at((channel.text("handset"), *places), reading), _done(reading)


def _loss(row: _Row) -> Loss:
    first, *others = row.rows("phases") or [_Row(None, "phases")]
    after = next((phase for phase in others if phase.text("phase") != "return"), None)
    return Loss(
        kind=after.text("phase") if after else "hold",
        level=after.number("level_percent") if after else None,
        state=after.text("state") if after else "",
        does=_does(after) if after else (),
        delay=first.number("lasts_ms"),
        at_rest=row.flag("comes_to_rest"),
        unasked=row.number("unasked_turn_degrees"),
    )


def _dial(row: _Row) -> Dial:
    failsafe = row.data.get("failsafe")
    return Dial(
        number=row.whole("number"),
        control=row.text("control"),
        low=row.amount("travel_low_percent"),
        high=row.amount("travel_high_percent"),
        subtrim=row.whole("subtrim_steps"),
        reversed=row.flag("reversed"),
        rate=row.amount("rate_percent"),
        expo=row.amount("expo_percent"),
        switched=tuple(
            (one.joined("while", 2), one.number("rate_percent"), one.number("expo_percent"))
            for one in row.rows("switched")
        ),
        slow=row.amount("slow_ms"),
        mixes=tuple(
            (one.text("source"), one.number("low_percent"), one.number("high_percent"), one.text("while"))
            for one in row.rows("mixes")
        ),
        failsafe=row.text("failsafe")
        if isinstance(failsafe, str) or failsafe is None
        else row.amount("failsafe"),
    )


def _unit(row: _Row) -> Unit:
    return Unit(
        title=row.text("title"),
        model=row.text("model"),
        model_title=row.text("model_title"),
        role=row.text("role"),
        asset=row.text("asset"),
        serial=row.text("serial"),
        software=row.text("software"),
        case=row.text("case"),
        packs=row.texts("packs"),
        owner=row.text("owner"),
        mass=row.number("mass_kg"),
        held_by=row.text("held_by"),
        memory=_memory(row),
        bound_to=row.text("bound_to"),
        mounted_on=row.text("mounted_on"),
        underslung=row.maybe_flag("underslung"),
    )


def _memory(row: _Row) -> tuple[int, str] | None:
    memory = row.row("memory")
    return (memory.whole("number"), memory.text("name")) if memory else None


def _spare(row: _Row) -> Unit:
    return Unit(
        title=row.text("title"),
        model=row.text("model"),
        model_title="",
        role=row.text("role"),
        asset=row.text("asset"),
        serial=row.text("serial"),
        software=row.text("software"),
        case=row.text("case"),
        packs=(),
        owner="",
        mass=row.number("mass_kg"),
        held_by="",
        memory=_memory(row),
        bound_to=row.text("bound_to"),
        mounted_on="",
        underslung=None,
        spare_for=row.text("spare_for"),
    )


def _cable(row: _Row) -> Cable:
    route = row.row("route")
    return Cable(
        title=row.text("title"),
        length=row.number("length_mm"),
        jacket=row.number("jacket_mm"),
        wire=row.text("wire"),
        plugs=row.texts("plugs"),
        pins=tuple((pin.text("first"), pin.text("second"), pin.text("colour")) for pin in row.rows("pins")),
        wet=row.flag("wet"),
        moving=row.flag("moving"),
        airborne=row.flag("airborne"),
        mass=row.number("mass_kg"),
        rides=row.text("rides"),
        case=row.text("case"),
        mark=row.text("mark"),
        spares=row.whole("spares"),
        needed=route.number("needed_mm") if route else None,
    )


def _run(row: _Row) -> Run:
    return Run(
        watt_hours=row.amount("watt_hours"),
        hours=_minutes(row.number("hours")),
        cold=_minutes(row.number("cold_hours")),
        day=row.maybe_whole("day"),
        spares=row.whole("spares"),
        air=row.text("air"),
    )


def _to(value: Fraction, parts: int) -> Fraction:
    """Return a value rounded as papers show it: what no paper shows is no change."""
    return Fraction(round(value * parts), parts)


def _minutes(hours: Number) -> Number:
    """Return whole minutes, cut off: a pack is not to be trusted beyond."""
    return None if hours is None else Fraction(int(hours * 60), 60)


def _titles(units: list[_Row], inputs: list[tuple[str, _Row]]) -> Iterator[tuple[tuple[str, ...], str]]:
    for unit in units:
        name = unit.text("name")
        for kind, key in (("control", "controls"), ("port", "ports"), ("menu", "menus")):
            for inner, title in unit.named(key).items():
                yield (kind, name, inner), title
    for name, row in inputs:
        yield ("input", name, row.text("name")), row.text("title")
