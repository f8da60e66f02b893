"""The solved rig as JSON for other programs. The keys are documented in grammar/reference.md, "rig.json"."""

import json
from collections.abc import Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from rigcard import __version__
from rigcard.documents.card import Numbered
from rigcard.documents.cards.pack import card_key
from rigcard.documents.labels import cable_labels, label_code, unit_labels
from rigcard.documents.model import Typeface
from rigcard.solve.solved import ChannelSheet, Row, Solved

SCHEMA = 1


def rig_json(face: Typeface, solved: Solved, numbered: Sequence[Numbered]) -> str:
    """The rig as JSON text, keys in a fixed order; with the check codes that tell which papers are still valid."""
    rig = solved.rig
    data = {
        "schema": SCHEMA,
        "rigcard": __version__,
        "rig": rig.title,
        "job": rig.job,
        "revision": rig.revision,
        "date": rig.date,
        "crew": dict(rig.crew),
        "guard_percent": _number(rig.guard),
        "units": [_unit(solved, name) for name in rig.units],
        "channels": [_channel(sheet) for sheet in solved.sheets.values()],
        "power_up": [
            {"handset": handset, "control": control, "position": solved.home[handset, control].name}
            for handset, control in sorted(solved.needed)
        ],
        "cables": [_cable(solved, name) for name in rig.cables],
        "expectations": [
            {
                "given": f"{found.handset}.{found.control}.{found.position.name}",
                "gives": ".".join((found.unit, *found.wanted)),
                "proven": True,
            }
            for found in rig.expectations
        ],
        "open_questions": list(rig.questions),
        "cards": [
            {"card": card_key(found), "first": found.first, "count": found.length, "check": found.code}
            for found in numbered
        ],
        "labels": [
            {"label": label.name, "check": label_code(label)}
            for label in (*cable_labels(face, rig), *unit_labels(face, rig))
        ],
    }
    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def _number(value: Fraction | None) -> int | float | None:
    if value is None:
        return None
    return int(value) if value.denominator == 1 else round(float(value), 6)


def _unit(solved: Solved, name: str) -> dict[str, Any]:
    unit = solved.rig.units[name]
    return {
        "name": name,
        "title": unit.title,
        "model": unit.model.name,
        "role": unit.role,
        "asset": unit.asset,
        "serial": unit.serial,
        "software": unit.software,
        "case": unit.case,
        "mass_kg": _number(unit.model.mass),
        "held_by": unit.held_by,
        "memory": {"number": unit.memory[0], "name": unit.memory[1]} if unit.memory else None,
        "bound_to": unit.bound_to,
        "mounted_on": unit.mounted_on,
        "underslung": unit.underslung,
        "settings": {key: value.text for key, value in unit.settings.items()},
        "unused_inputs": list(unit.unused),
    }


def _channel(sheet: ChannelSheet) -> dict[str, Any]:
    failsafe = sheet.failsafe
    return {
        "handset": sheet.handset,
        "number": sheet.number,
        "name": sheet.name,
        "control": sheet.control.name,
        "travel_low_percent": _number(sheet.dial.travel.low),
        "travel_high_percent": _number(sheet.dial.travel.high),
        "subtrim_steps": sheet.dial.subtrim,
        "reversed": sheet.dial.reversed,
        "mixes": [
            {
                "source": mix.source,
                "low_percent": _number(mix.rate.low) if mix.rate else None,
                "high_percent": _number(mix.rate.high) if mix.rate else None,
                "while": f"{mix.while_control}.{mix.while_position.name}" if mix.while_position else None,
            }
            for mix in sheet.mixes
        ],
        "failsafe": _number(failsafe) if isinstance(failsafe, Fraction) else failsafe,
        "computed": sheet.solution is not None,
        "headroom_percent": _number(sheet.solution.headroom) if sheet.solution else None,
        "positions": [_row(row) for row in sheet.rows],
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "control": row.control,
        "position": row.position.name,
        "level_percent": _number(row.level.percent),
        "clipped": row.level.clipped,
        "pulse_us": _number(row.pulse),
        "code": row.code,
        "readings": [
            {
                "unit": reading.feed.unit,
                "input": reading.feed.input.name,
                "cable": reading.feed.wire.leg.id,
                "heard_percent": _number(reading.heard),
                "state": reading.state or None,
                "margin_percent": _number(reading.margin),
                "commands": [
                    {"unit": found.unit, "command": found.command, "does": found.does}
                    for found in reading.effects
                ],
            }
            for reading in row.readings
        ],
    }


def _cable(solved: Solved, name: str) -> dict[str, Any]:
    cable = solved.rig.cables[name]
    return {
        "name": name,
        "title": cable.title,
        "length_mm": _number(cable.length),
        "jacket_mm": _number(cable.jacket),
        "moving": cable.moving,
        "airborne": cable.airborne,
        "legs": [
            {
                "id": leg.id,
                "a": f"{leg.first.unit}.{leg.first.port}",
                "b": f"{leg.second.unit}.{leg.second.port}" if leg.second else None,
                "signal": solved.rig.port(leg.first).signal,
            }
            for leg in cable.legs
        ],
    }


class Valid(NamedTuple):
    """Papers of an earlier build by name, with their check codes."""

    cards: dict[str, str]
    labels: dict[str, str]


def still_valid(text: str) -> Valid:
    """What an earlier rig.json says of its papers. Raises ValueError where the text is none."""
    data = json.loads(text)
    try:
        cards = {str(card["card"]): str(card["check"]) for card in data["cards"]}
        labels = {str(label["label"]): str(label["check"]) for label in data["labels"]}
    except (KeyError, TypeError, IndexError) as fault:
        raise ValueError("it lacks the check codes of cards and labels") from fault
    return Valid(cards, labels)
