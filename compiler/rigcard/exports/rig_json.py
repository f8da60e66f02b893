"""The solved rig as JSON for other programs. The keys are documented in grammar/reference.md, "rig.json"."""

import json
from collections.abc import Iterable, Sequence
from fractions import Fraction
from io import BytesIO, TextIOWrapper
from typing import Any

from rigcard import __version__
from rigcard.compare.read_facts import FORM
from rigcard.documents.base.model import Sheet
from rigcard.documents.cards.card_set import card_key
from rigcard.documents.cards.cover import copies_of
from rigcard.documents.cards.frame import LaidGroup
from rigcard.documents.labels.frame import Label, label_code
from rigcard.exports.paths import legs_of, turn_of
from rigcard.exports.power_json import power_data
from rigcard.faults.judged import judged
from rigcard.resolve.links import Feed, obeying
from rigcard.resolve.model import Cable, Measurement, Rig, Unit
from rigcard.resolve.once import once_a_rig
from rigcard.resolve.packing import look_alikes
from rigcard.resolve.payload import Load, handed, load_of
from rigcard.resolve.radio import all_links
from rigcard.solve.claims import Proof
from rigcard.solve.levels import TOLERANCE, effects_of, hearing, trim_throw
from rigcard.solve.power.provision import provided
from rigcard.solve.rules.measured import computed_pulse, in_force
from rigcard.solve.sharing import Part, parts_of
from rigcard.solve.solved import ChannelResult, Effect, JointRow, Loss, Reading, Row, Solved, WrongStart
from rigcard.solve.turning import unasked_turn

SCHEMA = FORM  # what is compared is all in it
HARM = ("critical", "command", "other")


def rig_json(data: dict[str, Any]) -> bytes:
    """Return the values as the file."""
    out = BytesIO()
    text = TextIOWrapper(out, "utf-8", newline="\n")
    json.dump(data, text, ensure_ascii=False, indent=1)  # `dumps` would hold a million pieces at once
    text.write("\n")
    text.flush()
    return out.getvalue()


def rig_data(
    solved: Solved, pack: Sequence[LaidGroup], labels: Sequence[Label], sheets: Sequence[Sheet]
) -> dict[str, Any]:
    """Return the rig as values that JSON has, keys in a fixed order; check codes tell which papers are still valid."""
    rig = solved.rig
    return {
        "schema": SCHEMA,
        "rigcard": __version__,
        "rig": rig.title,
        "job": rig.job,
        "revision": rig.revision,
        "date": rig.date,
        "crew": dict(rig.crew),
        "guard_percent": _number(rig.guard),
        "units": [_unit(solved, name) for name in rig.units],
        "spare_units": [_spare(unit) for unit in rig.spare_units.values()],
        "radio_links": [
            {
                "title": link.title,
                "sender": link.sender,
                "receivers": list(link.receivers),
                "band": link.band,
                "channel": link.channel,
            }
            for link in all_links(rig)
        ],
        "channels": [_channel(solved, result) for result in solved.results.values()],
        "power_up": [
            {
                "handset": handset,
                "control": control,
                "position": solved.power_up_positions[handset, control].name,
            }
            for handset, control in sorted(solved.needed)
        ],
        "wrong_starts": [_wrong_start(solved, found) for found in solved.wrong_starts],
        "power": power_data(solved.power),
        "cables": [_cable(solved, name) for name in rig.cables],
        "cases": [
            {
                "case": case.name,
                "empty_kg": _number(case.empty),
                "mass_kg": _number(case.mass),
                "limit_kg": _number(case.limit),
                "not_weighed": case.unknown,
            }
            for case in provided(solved.rig, solved.power)
            if case.name
        ],
        "look_alikes": [
            [[cable.name for cable in wiring] for wiring in group.wirings] for group in look_alikes(rig)
        ],
        "independent": [[".".join(place) for place in found.inputs] for found in rig.independents],
        "handed_over": [
            {
                "unit": told.load.carrier.name,
                "kind": told.kind,
                "mass_kg": _number(told.load.with_carrier),
                "not_weighed": told.unknown,
            }
            for told in handed(rig)
        ],
        "expectations": [
            {
                "given": f"{found.handset}.{found.control}.{found.position.name}",
                "gives": ".".join((found.unit, *found.wanted)),
                "while": found.meanwhile,
                "proven": True,
            }
            for found in rig.expectations
        ],
        "harmless": [
            [f"{found.handset}.{control}.{place.name}" for control, place in found.places]
            for found in rig.harmless
        ],
        "measurements": [_measurement(solved, found) for found in in_force(rig)],
        "function_test": _function_test(solved),
        "open_questions": list(rig.questions),
        "hazards": list(rig.hazards),
        "steps": [{"phase": step.phase, "text": step.text} for step in rig.steps],
        "notes": list(rig.notes),
        "cards": [
            {
                "card": card_key(found),
                "title": found.group.title,
                "sides": found.sides,
                "full_page": found.group.full_sheet,
                "role": found.group.role,
                "copies": copies_of(rig, found.group),
                "check": found.code,
            }
            for found in pack
        ],
        "labels": [{"label": label.name, "check": label_code(label)} for label in labels],
        "sheets": [{"sheet": sheet.name, "file": sheet.file, "check": sheet.code} for sheet in sheets],
    }


def _function_test(solved: Solved) -> dict[str, Any] | None:
    from rigcard.exports.faults import judged_data  # with all that tries mistakes on the rig: not for `check`

    return judged_data(judged(solved)) if solved.losses else None


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
        "model_title": unit.model.title,
        "role": unit.role,
        "asset": unit.asset,
        "serial": unit.serial,
        "software": unit.software,
        "case": unit.case,
        "packs": list(unit.packs),
        "owner": unit.owner,
        "short": unit.short,
        "mass_kg": _number(unit.model.mass),
        "substitution": unit.swap,
        "payload": _payload(load_of(solved.rig, unit)),
        "held_by": unit.held_by,
        "memory": {"number": unit.memory[0], "name": unit.memory[1]} if unit.memory else None,
        "bound_to": unit.bound_to,
        "mounted_on": unit.mounted_on,
        "underslung": unit.underslung,
        "ports": {port.name: port.label for port in unit.model.ports.values()},
        "controls": {control.name: control.title for control in unit.model.controls.values()},
        "menus": {key: unit.model.settings[key].menu for key in unit.settings},
        "settings": {key: value.text for key, value in unit.settings.items()},
        "assigned": [
            key for key in unit.settings if any(key == found.does for found in unit.commands.values())
        ],
        "reset": {
            key: known.default
            for key, value in unit.settings.items()
            if (known := unit.model.settings[key]).default and known.default != value.text
        },
        "ready_after_ms": _number(unit.model.ready_after),
        "looks": [{"text": look.text, "when": look.when} for look in unit.model.looks],
        "obeys": list(unit.commands),
        "inputs": [_input(solved, feed) for feed in solved.links.feeds if feed.unit == name],
        "unused_inputs": list(unit.unused),
    }


def _spare(unit: Unit) -> dict[str, Any]:
    """Return a unit that stays in its case until it replaces another."""
    return {
        "name": unit.name,
        "title": unit.title,
        "model": unit.model.name,
        "role": unit.role,
        "spare_for": unit.spare_for,
        "asset": unit.asset,
        "serial": unit.serial,
        "software": unit.software,
        "case": unit.case,
        "mass_kg": _number(unit.model.mass),
        "memory": {"number": unit.memory[0], "name": unit.memory[1]} if unit.memory else None,
        "bound_to": unit.bound_to,
    }


def _payload(load: Load) -> dict[str, Any] | None:
    if not load.burdens:
        return None
    return {
        "mass_kg": _number(load.mass),
        "rating_kg": _number(load.carrier.model.carries),
        "margin_kg": _number(load.margin),
        "not_weighed": load.unknown,
    }


def _input(solved: Solved, feed: Feed) -> dict[str, Any]:
    return {
        "name": feed.input.name,
        "title": feed.input.title,
        "critical": feed.input.critical,
        "stop": feed.input.stops,
        "handset": feed.handset,
        "channel": feed.channel,
        "pin": f"{feed.pin.unit}.{feed.pin.port}",
        "cable": feed.last.leg.id,
        "route": legs_of(feed.route),
        "sends_by": list(feed.input.sends),
        "reversed": feed.turned,
        "flipped": feed.flipped,
        "learned_percent": _number(feed.zero) if feed.input.learns else None,
        "holds": [
            {"state": band.name, "inputs": list(band.stills)} for band in feed.input.bands if band.stills
        ],
        "scales": {
            "input": scale.input,
            "low_percent": _number(scale.low),
            "high_percent": _number(scale.high),
        }
        if (scale := feed.input.sweep.scales if feed.input.sweep else None)
        else None,
        "needs": [{"kind": part.kind, "name": list(part.name)} for part in _needs(solved, feed)],
    }


@once_a_rig
def _borne(rig: Rig) -> dict[str, list[Unit]]:
    """Return the units that are mounted on each unit."""
    found: dict[str, list[Unit]] = {}
    for unit in rig.units.values():
        if unit.mounted_on:
            found.setdefault(unit.mounted_on, []).append(unit)
    return found


def _needs(solved: Solved, feed: Feed) -> list[Part]:
    """Return the parts without which an input is dead or not obeyed: also what a unit that obeys must bear."""
    found = parts_of(solved, feed)
    for order in obeying(solved.rig, solved.links, feed):
        known = solved.rig.units[order.receiver].commands
        features = {
            need.name
            for name in feed.input.commands
            if name in known
            for need in known[name].needs
            if need.value is None
        }
        borne = _borne(solved.rig).get(order.receiver, ())
        found += [Part("unit", (unit.name,)) for unit in borne if features & set(unit.model.offers)]
    return list(dict.fromkeys(found))


def _channel(solved: Solved, result: ChannelResult) -> dict[str, Any]:
    key = result.handset, result.name
    failsafe = result.failsafe
    shape = solved.rig.units[result.handset].channels[result.name].shape
    return {
        "handset": result.handset,
        "number": result.number,
        "name": result.name,
        "control": result.control.name,
        "travel_low_percent": _number(result.dial.travel.low),
        "travel_high_percent": _number(result.dial.travel.high),
        "subtrim_steps": result.dial.subtrim,
        "reversed": result.dial.reversed,
        "rate_percent": _number(shape.rate),
        "expo_percent": _number(shape.expo),
        "switched": [
            {
                "while": f"{one.control}.{one.position.name}",
                "rate_percent": _number(one.rate),
                "expo_percent": _number(one.expo),
            }
            for one in shape.switched
        ],
        "slow_ms": _number(shape.slow),
        "mixes": [
            {
                "source": mix.source,
                "low_percent": _number(mix.rate.low) if mix.rate else None,
                "high_percent": _number(mix.rate.high) if mix.rate else None,
                "while": f"{mix.while_control}.{mix.while_position.name}" if mix.while_position else None,
            }
            for mix in result.mixes
        ],
        "failsafe": _number(failsafe) if isinstance(failsafe, Fraction) else failsafe,
        "computed": result.solution is not None,
        "headroom_percent": _number(result.solution.headroom) if result.solution else None,
        "unique": result.solution.unique if result.solution else None,
        "rest": _row(solved, result.rest),
        "positions": [_row(solved, row) for row in result.rows],
        "combinations": [_combination(solved, row) for row in solved.joint.get(key, ())],
        "radio_loss": [
            _loss(solved, result, loss)
            for loss in solved.losses
            if (loss.feed.handset, loss.feed.channel) == key
        ],
    }


def _row(solved: Solved, row: Row) -> dict[str, Any]:
    return {
        "control": row.control,
        "position": row.position.name,
        "while": [f"{control}.{place.name}" for control, place in row.conditions],
        "level_percent": _number(row.level.percent),
        "clipped": row.level.clipped,
        "pulse_us": _number(row.pulse),
        "readings": [_reading(solved, reading) for reading in row.readings],
    }


def _reading(solved: Solved, reading: Reading) -> dict[str, Any]:
    margin = reading.margin
    return {
        "unit": reading.feed.unit,
        "input": reading.feed.input.name,
        "cable": reading.feed.last.leg.id,
        "code": reading.code,
        "heard_percent": _number(reading.heard),
        "state": reading.state or None,
        "held_by": reading.held or None,
        "turn_degrees": _number(turn_of(reading, False)),
        "turn_degrees_a_second": _number(turn_of(reading, True)),
        "margin_percent": _number(margin),
        "margin_us": _number(_in_pulses(solved, reading)),
        "margin_after_trim_percent": None if margin is None else _number(margin - trim_throw(solved, reading)),
        "commands": _commands(reading.effects),
    }


def _in_pulses(solved: Solved, reading: Reading) -> Fraction | None:
    """Return a margin in us of the handset; None without a band, and on a serial line, which has no pulses."""
    arithmetic = solved.rig.units[reading.feed.handset].model.arithmetic
    if reading.margin is None or reading.code is not None or arithmetic is None:
        return None
    return reading.margin / abs(hearing(solved.rig, reading.feed)[0]) * arithmetic.pulse.per_percent


def _commands(effects: Iterable[Effect]) -> list[dict[str, Any]]:
    return [
        {
            "unit": found.unit,
            "command": found.command,
            "does": found.does,
            "toggles": list(found.toggles) or None,
        }
        for found in effects
    ]


def _combination(solved: Solved, row: JointRow) -> dict[str, Any]:
    return {
        "places": [{"control": control, "position": position.name} for control, position in row.places],
        "level_percent": _number(row.level.percent),
        "clipped": row.level.clipped,
        "unasked": row.unasked,
        "stray": row.stray or None,
        "harmless": row.harmless,
        "readings": [_reading(solved, reading) for reading in row.readings],
    }


def _loss(solved: Solved, result: ChannelResult, loss: Loss) -> dict[str, Any]:
    """Return what an input does from the loss of the link to its return, phase by phase."""
    feed = loss.feed
    delay = solved.rig.units[feed.pin.unit].model.loss_after if loss.kind != "hold" else None
    phases = [_phase("hold", delay, None, None, "", ())]
    if loss.reading:
        code, effects = loss.reading.code, loss.reading.effects
        phases.append(_phase("preset", None, loss.level, code, loss.state, effects))
    elif loss.kind != "hold":
        name = "silence" if loss.kind == "none" else "unknown"
        effects = effects_of(solved.rig, solved.links, feed, loss.state)
        phases.append(_phase(name, None, None, None, loss.state, effects))
    back = next(reading for reading in result.rest.readings if reading.feed == feed)
    level = result.rest.level.percent
    phases.append(_phase("return", None, level, back.code, back.state, back.effects))
    return {
        "unit": feed.unit,
        "input": feed.input.name,
        "comes_to_rest": loss.at_rest,
        "held_by": loss.held or None,
        "unasked_turn_degrees": _number(unasked_turn(solved.rig, loss)),
        "phases": phases,
    }


def _phase(
    name: str,
    lasts: Fraction | None,
    level: Fraction | None,
    code: int | None,
    state: str,
    effects: Iterable[Effect],
) -> dict[str, Any]:
    return {
        "phase": name,
        "lasts_ms": _number(lasts),
        "level_percent": _number(level),
        "code": code,
        "state": state or None,
        "commands": _commands(effects),
    }


def _wrong_start(solved: Solved, found: WrongStart) -> dict[str, Any]:
    return {
        "handset": found.handset,
        "control": found.control,
        "position": found.position.name,
        "harm": HARM[found.harm],
        "readings": [_reading(solved, reading) for reading in found.readings],
        "learned": [
            {"unit": feed.unit, "input": feed.input.name, "rest_reads": state or None}
            for feed, state in found.learned
        ],
    }


def _measurement(solved: Solved, found: Measurement) -> dict[str, Any]:
    arithmetic = solved.rig.units[found.handset].model.arithmetic
    assert arithmetic is not None
    dials = {key: result.dial for key, result in solved.results.items()}
    computed = computed_pulse(Proof(solved, dials, (), ()), found)
    allowed = TOLERANCE * arithmetic.pulse.per_percent
    return {
        "handset": found.handset,
        "channel": found.channel,
        "control": found.control,
        "position": found.position.name,
        "measured_us": _number(found.pulse),
        "computed_us": _number(computed),
        "allowed_us": _number(allowed),
        "agrees": abs(found.pulse - computed) <= allowed,
    }


def _cable(solved: Solved, name: str) -> dict[str, Any]:
    cable = solved.rig.cables[name]
    return {
        "name": name,
        "title": cable.title,
        "length_mm": _number(cable.length),
        "jacket_mm": _number(cable.jacket),
        "wire": cable.power.wire.written if cable.power.wire else None,
        "moving": cable.moving,
        "airborne": cable.airborne,
        **_built(cable),
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


def _built(cable: Cable) -> dict[str, Any]:
    build, route = cable.build, cable.build.route
    return {
        "wet": build.wet,
        "mass_kg": _number(build.mass),
        "rides": build.rides,
        "case": build.case,
        "substitution": build.swap,
        "mark": build.mark,
        "spares": build.spares,
        "plugs": list(build.plugs) if build.plugs else None,
        "pins": [
            {"first": pin.first, "second": pin.second, "colour": pin.colour, "carries": pin.title}
            for pin in build.pins
        ],
        "route": {
            "length_mm": _number(route.length),
            "slack_percent": _number(route.slack),
            "loops": route.loops,
            "loop_mm": _number(route.loop),
            "needed_mm": _number(route.needed),
        }
        if route
        else None,
    }
