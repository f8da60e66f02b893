"""What the file claims: every `expect`, `harmless` and `measured`, with its names bound."""

from __future__ import annotations

from rigcard.diagnostics import Diagnostics, Edit, Related
from rigcard.reporting.suggest import one_of
from rigcard.resolve import codes, words
from rigcard.resolve.model import (
    CENTRE,
    UNKNOWN,
    Control,
    Expectation,
    Harmless,
    Measurement,
    Position,
    Unit,
)
from rigcard.resolve.scope import Block, lookup
from rigcard.source import Span
from rigcard.syntax import tree
from rigcard.words import listed

Units = dict[str, Unit | None]  # None: the unit has a reported fault, so statements that name it are not blamed


def expectations(block: Block, units: Units, diagnostics: Diagnostics) -> tuple[Expectation, ...]:
    """Every `expect` whose names are all known; the others are reported and left out."""
    found = []
    for item in block.all(tree.Expect):
        then = item.then.parts
        given = _given(item.given, units, diagnostics)
        if given and len(then) not in (2, 3):
            diagnostics.report(
                codes.PARTLY_NAMED,
                then[0].span,
                "an `expect` gives unit.state, or unit.input.state",
                "write it as `expect hs.front-toggle.away gives cam.standby`",
            )
            continue
        target = lookup(then[0], units, "unit", diagnostics)
        if given and target and _target_known(then, target, diagnostics):
            handset, control, position, given_span = given
            span = Span(then[0].span.source, then[0].span.start, then[-1].span.end)
            wanted = tuple(part.text for part in then[1:])
            stated = item.conditions.conditions if item.conditions else ()
            conditions = _conditions(stated, handset, control, units, diagnostics)
            if len(conditions) < len(stated):
                continue
            own = {name: place for (whose, name), place in conditions.items() if whose == handset.name}
            elsewhere = {key: place for key, place in conditions.items() if key[0] != handset.name}
            found.append(
                Expectation(
                    handset=handset.name,
                    control=control.name,
                    position=position,
                    unit=target.name,
                    wanted=wanted,
                    span=span,
                    given_span=given_span,
                    conditions=tuple(own.items()),
                    elsewhere=tuple(elsewhere.items()),
                )
            )
    return tuple(found)


def _conditions(
    stated: tuple[tree.Condition, ...],
    claimed: Unit,
    control: Control,
    units: Units,
    diagnostics: Diagnostics,
) -> dict[tuple[str, str], Position]:
    """The positions of other controls, by handset and control; faulty ones are reported and left out."""
    found: dict[tuple[str, str], Position] = {}
    for item in stated:
        handset = lookup(item.handset, units, "unit", diagnostics) if item.handset else claimed
        if handset is None or (item.handset and _without_controls(handset, item.handset, diagnostics)):
            continue
        other = lookup(item.control, handset.model.controls, f"control on `{handset.name}`", diagnostics)
        if other is None:
            continue
        key = handset.name, other.name
        if key == (claimed.name, control.name) or key in found:
            diagnostics.report(
                codes.DOUBLED_STATEMENT,
                item.control.span,
                f"`{other.name}` cannot stand at two positions at once",
                "name each control once",
            )
            continue
        known = {position.name: position for position in other.positions}
        position = lookup(item.position, known, f"position of `{other.name}`", diagnostics)
        if position:
            found[key] = position
    return found


def harmless(block: Block, units: Units, diagnostics: Diagnostics) -> tuple[Harmless, ...]:
    """Every `harmless` whose names are all known; the others are reported and left out."""
    found = []
    for item in block.all(tree.Harmless):
        given = [_given(place, units, diagnostics) for place in item.places]
        places = [place for place in given if place]
        if len(places) < len(given):
            continue
        handset, first = places[0][0], item.places[0].parts[0].span
        last = item.places[-1].parts[-1].span
        if any(other is not handset for other, *_ in places):
            diagnostics.report(
                codes.OUT_OF_RANGE,
                next(place[3] for place in places if place[0] is not handset),
                "the controls of two handsets share no channel, so there is no combination to name",
                f"name positions of controls on `{handset.name}` only",
            )
        elif len({control.name for _, control, *_ in places}) < len(places):
            diagnostics.report(
                codes.DOUBLED_STATEMENT,
                places[-1][3],
                "a control cannot stand at two positions at once",
                "name each control once",
            )
        else:
            found.append(
                Harmless(
                    handset=handset.name,
                    places=tuple((control.name, position) for _, control, position, _ in places),
                    span=Span(first.source, first.start, last.end),
                )
            )
    return tuple(found)


def _given(
    place: tree.Place, units: Units, diagnostics: Diagnostics
) -> tuple[Unit, Control, Position, Span] | None:
    """Resolves `handset.control.position`."""
    parts = place.parts
    span = Span(parts[0].span.source, parts[0].span.start, parts[-1].span.end)
    if len(parts) != 3:
        whole = _whole_positions([part.text for part in parts], units)
        edits = (Edit(span, whole[0]),) if len(whole) == 1 else ()
        hint = f"write {one_of(whole)}" if whole else "write it as `hs.front-toggle.away`"
        cause = f"`{span.text}` is no whole name of a position, which is handset.control.position"
        diagnostics.report(codes.PARTLY_NAMED, span, cause, hint, edits=edits)
        return None
    handset = lookup(parts[0], units, "unit", diagnostics)
    if handset and _without_controls(handset, parts[0], diagnostics):
        return None
    if handset and parts[1].text not in handset.model.controls and parts[1].text in handset.channels:
        control_name = handset.channels[parts[1].text].control
        diagnostics.report(
            codes.UNKNOWN_NAME,
            parts[1].span,
            f"`{parts[1].text}` is a channel of `{handset.name}`, and a position is one of its control",
            f"write `{handset.name}.{control_name}.{parts[2].text}`",
            edits=(Edit(parts[1].span, control_name),),
        )
        return None
    control = (
        lookup(parts[1], handset.model.controls, f"control on `{handset.name}`", diagnostics)
        if handset
        else None
    )
    if handset is None or control is None:
        return None
    known = {position.name: position for position in control.positions}
    position = lookup(parts[2], known, f"position of `{control.name}`", diagnostics)
    return (handset, control, position, span) if position else None


def _without_controls(unit: Unit, name: tree.Name, diagnostics: Diagnostics) -> bool:
    """Whether a unit is no handset, so that no control of it can stand anywhere; reports that."""
    if unit.model.controls or unit.role == UNKNOWN:
        return False
    diagnostics.report(
        codes.UNKNOWN_NAME,
        name.span,
        f"`{unit.name}` is {words.a_role(unit.role)} and has no controls",
        "begin with the handset, as in `hs.front-toggle.away`",
    )
    return True


def _whole_positions(parts: list[str], units: Units) -> list[str]:
    """The positions that a name of too few parts can mean, by their whole names: it lacks the handset or the end."""
    found = []
    for handset in filter(None, units.values()):
        for control in handset.model.controls.values():
            for position in control.positions:
                whole = [handset.name, control.name, position.name]
                if parts in (whole[:2], whole[1:]):
                    found.append(".".join(whole))
    return found


def measurements(block: Block, units: Units, diagnostics: Diagnostics) -> tuple[Measurement, ...]:
    """Every `measured` whose names are all known; the others are reported and left out."""
    found = []
    for item in block.all(tree.Measured):
        given = _given(item.given, units, diagnostics)
        if given is None:
            continue
        handset, control, position, _ = given
        channel = lookup(item.channel, handset.channels, f"channel of `{handset.name}`", diagnostics)
        if channel:
            found.append(
                Measurement(
                    handset=handset.name,
                    channel=channel.name,
                    control=control.name,
                    position=position,
                    pulse=item.pulse.value,
                    span=item.pulse.span,
                    asset=item.asset.text if item.asset else "",
                )
            )
    return tuple(found)


def _target_known(then: tuple[tree.Name, ...], unit: Unit, diagnostics: Diagnostics) -> bool:
    model = unit.model
    if _only_changed(then[-1], unit, diagnostics):
        return False
    if len(then) == 2:
        states = [state for known in model.inputs.values() for state in known.states]
        having = [
            known.name
            for known in model.inputs.values()
            if then[1].text in known.states and known.name not in unit.unused
        ]
        if len(having) > 1 and then[1].text not in model.commands:
            diagnostics.report(
                codes.AMBIGUOUS_STATE,
                then[1].span,
                f"{listed([f'`{name}`' for name in having])} of `{unit.name}` each have a state `{then[1].text}`",
                f"name the input, as in `{unit.name}.{having[0]}.{then[1].text}`",
            )
            return False
        return (
            lookup(
                then[1],
                dict.fromkeys([*model.commands, *states], True),
                f"state or command on `{unit.name}`",
                diagnostics,
            )
            is not None
        )
    if then[1].text in model.commands and then[1].text not in model.inputs:
        return True  # the ends of a command's sweep belong to the sender
    found = lookup(
        then[1], {**model.commands, **model.inputs}, f"input or command on `{unit.name}`", diagnostics
    )
    if found is None:
        return False
    known = model.inputs[then[1].text]
    states = [*known.states, CENTRE] if known.sweep else known.states
    return lookup(then[2], dict.fromkeys(states, True), f"state of `{then[1].text}`", diagnostics) is not None


def _only_changed(name: tree.Name, unit: Unit, diagnostics: Diagnostics) -> bool:
    """Whether no control position gives a state, because commands only toggle it; if so, it is reported."""
    inputs = unit.model.inputs.values()
    if name.text in unit.model.commands or any(name.text in known.states for known in inputs):
        return False
    for command in unit.model.commands.values():
        if command.toggles and name.text in command.toggles:
            diagnostics.report(
                codes.TOGGLED_STATE,
                name.span,
                f"`{command.name}` of `{unit.name}` changes between `{command.toggles[0]}` and "
                f"`{command.toggles[1]}`, so no position of a control gives `{name.text}`",
                f"write `gives {unit.name}.{command.name}`",
                Related(command.span, "each order changes the state"),
            )
            return True
    return False
