"""Binds the names of a program into a rig."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any

from rigcard.diagnostics import Diagnostics, Edit, Related
from rigcard.reporting.suggest import one_of
from rigcard.resolve import build, ceilings, codes, label_sheets, models, power, signals, words
from rigcard.resolve.measures import length_mm
from rigcard.resolve.mechanics import Connector, Inventory
from rigcard.resolve.model import (
    CENTRE,
    UNKNOWN,
    Cable,
    Control,
    End,
    Expectation,
    Harmless,
    Leg,
    Measurement,
    Model,
    Position,
    RadioLink,
    Rig,
    Signal,
    Step,
    Unit,
)
from rigcard.resolve.paper_side import LabelSheet, Typefaces
from rigcard.resolve.scope import Block, lookup, once, show, word
from rigcard.resolve.spares import spares_of
from rigcard.resolve.units import unit
from rigcard.source import Span
from rigcard.syntax import codes as syntax_codes
from rigcard.syntax import tree
from rigcard.syntax.load import Program
from rigcard.words import listed

Settle = Callable[[Model, Diagnostics], Model]
Units = dict[str, Unit | None]  # None: the unit has a reported fault, so statements that name it are not blamed


def as_declared(model: Model, diagnostics: Diagnostics) -> Model:
    """A model as its file has it: what it leaves unknown stays so."""
    return model


def resolve(program: Program, diagnostics: Diagnostics, settle: Settle = as_declared) -> Rig | None:
    """The rig that the statements describe; None if there is no `rig` block. All faults are reported.

    `settle` finds what a model leaves unknown, from its readings, before a unit is read.
    """
    name = tree.Words("", Span(program.main, 0, min(1, len(program.main.text))))
    block = Block(program.statements, name, diagnostics)
    head = block.one(tree.Rig)
    if head is None:
        diagnostics.report(
            codes.MISSING_STATEMENT,
            name.span,
            "no file here has a `rig` block, so the papers have no name",
            'begin the file with `rig "Name of the rig" { job "..."; revision "A" }`',
        )
        return None
    inner = Block(head.items, head.title, diagnostics)
    crew = _crew(inner, diagnostics)
    signals, inventory, known = _declared(block, diagnostics, settle)
    every = _units(block, known, crew, diagnostics)
    ceilings.mount_chains(every, diagnostics)
    spares = spares_of(block.items, every, diagnostics)
    units = {name: None if name in spares else unit for name, unit in every.items()}
    declared = _sheets(block, diagnostics)
    paper = inner.one(tree.Paper)
    spoken = inner.one(tree.Language)
    guard = inner.one(tree.Guard)
    revision = inner.one(tree.Revision)
    own = inner.one(tree.Typeface)
    return Rig(
        title=head.title.text,
        job=inner.text(tree.Job),
        revision=revision.text.text if revision else "",
        date=_date(revision.date, diagnostics) if revision and revision.date else "",
        crew=crew,
        language=(word(spoken.code, words.LANGUAGES, "language", diagnostics) if spoken else None) or "en",
        paper=(word(paper.name, words.PAPERS, "paper", diagnostics) if paper else None) or "a4",
        card=_card(inner.one(tree.CardSize), paper, diagnostics),
        typeface=Typefaces(own.regular.text, (own.bold or own.regular).text, own.regular.span) if own else None,
        per_sheet=_per_sheet(inner.one(tree.PerSheet), diagnostics),
        sheet=_sheet(inner, declared, diagnostics),
        sheets=tuple(declared.values()),
        reel=label_sheets.reel(inner.one(tree.LabelsOn), diagnostics),
        spares=label_sheets.spares(inner.one(tree.SpareLabels), diagnostics),
        codes=(word(chosen.kind, words.CODES, "kind of code", diagnostics) or "")
        if (chosen := inner.one(tree.Codes))
        else "",
        guard=_guard(guard.percent, diagnostics) if guard else Fraction(0),
        day=power.day(inner, diagnostics),
        signals=signals,
        models=known,
        units={name: found for name, found in units.items() if found},
        spare_units=spares,
        cables=_cables(block, units, inventory.connectors, diagnostics),
        expectations=_expectations(block, units, diagnostics),
        harmless=_harmless(block, units, diagnostics),
        measurements=_measurements(block, units, diagnostics),
        steps=tuple(
            Step(item.phase.text, item.text.text)
            for item in block.all(tree.Step)
            if word(item.phase, words.PHASES, "phase", diagnostics)
        ),
        hazards=tuple(
            item.name.text
            for item in block.all(tree.Hazard)
            if word(item.name, words.HAZARDS, "hazard", diagnostics)
        ),
        notes=tuple(item.text.text for item in block.all(tree.Note)),
        questions=_questions(block.all(tree.Question), diagnostics),
        inventory=inventory,
        independents=build.independents(block.all(tree.Independent), units, diagnostics),
        radio_links=_radio_links(block, units, diagnostics),
        span=head.title.span,
    )


def only_declares(program: Program) -> bool:
    """Whether a program is a stock file: it declares models and their parts, and nothing else."""
    declaring = tree.Model | tree.Signal | tree.Connector | tree.StockLengths | tree.Sheet
    only = all(isinstance(item, declaring | tree.Use | tree.Note) for item in program.statements)
    return only and any(isinstance(item, declaring) for item in program.statements)


def resolve_models(program: Program, diagnostics: Diagnostics, settle: Settle = as_declared) -> list[Model]:
    """The models of a file, including those of the files that it uses. All faults are reported."""
    name = tree.Words("", Span(program.main, 0, min(1, len(program.main.text))))
    return list(_declared(Block(program.statements, name, diagnostics), diagnostics, settle)[2].values())


def resolve_bare(program: Program, title: str) -> Rig | None:
    """A rig that has a title and nothing else, for papers of a file that only declares."""
    words = tree.Words(title, Span(program.main, 0, min(1, len(program.main.text))))
    return resolve(program._replace(statements=(tree.Rig(words, ()),)), Diagnostics())


def _declared(
    block: Block, diagnostics: Diagnostics, settle: Settle
) -> tuple[dict[str, Signal], Inventory, dict[str, Model]]:
    """Signals, connectors and cases, and models: declarations that a rig may use."""
    signals = _signals(block, diagnostics)
    inventory = build.inventory(block, signals, diagnostics)
    known = {
        statement.name.text: settle(
            models.model(statement, signals, inventory.connectors, diagnostics), diagnostics
        )
        for statement in _unique(block.all(tree.Model), "model", diagnostics)
    }
    return signals, inventory, known


def _sheets(block: Block, diagnostics: Diagnostics) -> dict[str, LabelSheet]:
    """The sheets of labels that the files declare."""
    return {
        statement.name.text: sheet
        for statement in _unique(block.all(tree.Sheet), "sheet", diagnostics)
        if (sheet := label_sheets.sheet(statement, diagnostics))
    }


def _sheet(rig: Block, declared: dict[str, LabelSheet], diagnostics: Diagnostics) -> LabelSheet | None:
    """The sheet for the labels, either declared in the files or one of the common ones."""
    chosen = rig.one(tree.LabelsOn)
    if chosen is None or not isinstance(chosen.sheet, tree.Name):
        return None
    return lookup(chosen.sheet, {**label_sheets.COMMON, **declared}, "sheet", diagnostics)


def _questions(statements: list[tree.Question], diagnostics: Diagnostics) -> tuple[str, ...]:
    """The unanswered questions; each one is reported, so that nobody takes a draft for a release."""
    for item in statements:
        diagnostics.report(
            codes.QUESTION_OPEN,
            item.text.span,
            f"a question is open, so every paper says DRAFT: {item.text.text}",
            "answer it, put the answer in the file, and remove this line",
        )
    return tuple(item.text.text for item in statements)


def _unique(statements: list[Any], what: str, diagnostics: Diagnostics) -> list[Any]:
    taken: dict[str, Span] = {}
    return [statement for statement in statements if once(statement.name, taken, what, diagnostics)]


def _card(size: tree.CardSize | None, paper: tree.Paper | None, diagnostics: Diagnostics) -> str:
    card = word(size.name, words.CARDS, "size of card", diagnostics) if size else None
    if size and card == "a4" and paper and paper.name.text == "letter":
        diagnostics.report(
            codes.OUT_OF_RANGE,
            size.name.span,
            "a card of a4 is longer than letter paper",
            "write `card a5`, or `paper a4`",
        )
    return card or ""


def _per_sheet(stated: tree.PerSheet | None, diagnostics: Diagnostics) -> int | None:
    if stated is None:
        return None
    if stated.number.value not in words.PER_SHEET:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            stated.number.span,
            f"{show(stated.number)} cards cannot be set on a sheet",
            "write `cards per-sheet 1`, `2` or `4`",
        )
    return int(stated.number.value)


def _guard(percent: tree.Number, diagnostics: Diagnostics) -> Fraction:
    if percent.value < 0:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            percent.span,
            f"{show(percent)} is no distance to an edge",
            f"write `guard {show(percent).lstrip('-')}`",
        )
    return percent.value


def _date(name: tree.Name, diagnostics: Diagnostics) -> str:
    try:
        date.fromisoformat(name.text)
    except ValueError:
        diagnostics.report(
            syntax_codes.IMPOSSIBLE_DATE,
            name.span,
            f"{name.text} is no date of the calendar",
            "write year-month-day, such as 2026-05-14",
        )
    return name.text


def _crew(block: Block, diagnostics: Diagnostics) -> dict[str, str]:
    roles = [role for item in block.all(tree.Crew) for role in item.roles]
    return {role.name.text: role.title.text for role in _unique(roles, "crew role", diagnostics)}


def _signals(block: Block, diagnostics: Diagnostics) -> dict[str, Signal]:
    known = {signals.BUILT_IN.name: signals.BUILT_IN}
    for statement in _unique(block.all(tree.Signal), "signal", diagnostics):
        if statement.name.text == signals.BUILT_IN.name:
            diagnostics.report(
                codes.DOUBLED_NAME,
                statement.name.span,
                f"every rig knows the signal `{statement.name.text}`",
                "give yours another name, or remove it",
            )
        known[statement.name.text] = signals.signal(statement, diagnostics)
    return known


def _units(block: Block, known: dict[str, Model], crew: dict[str, str], diagnostics: Diagnostics) -> Units:
    written = [_model_last(statement, known, diagnostics) for statement in block.all(tree.Unit)]
    statements = _unique(written, "unit", diagnostics)
    names = {statement.name.text: statement for statement in statements}
    if statements and not known:
        model = statements[0].model
        diagnostics.report(
            codes.UNKNOWN_NAME,
            model.span,
            f"there is no model named `{model.text}`, for no file of the rig declares a model",
            'write `use "FILE.rig"` with the stock file that declares them',
        )
        return dict.fromkeys(names)
    return {name: unit(statement, known, crew, names, diagnostics) for name, statement in names.items()}


def _model_last(statement: tree.Unit, known: dict[str, Model], diagnostics: Diagnostics) -> tree.Unit:
    """The statement of a unit with its own name first; the name of a model in its place is reported."""
    name, model = statement.name, statement.model
    if name.text not in known or model.text in known:
        return statement
    diagnostics.report(
        codes.UNKNOWN_NAME,
        model.span,
        f"`{name.text}` is a model, and `{model.text}` is not",
        f"write `unit {model.text} is {name.text}`",
        edits=(Edit(name.span, model.text), Edit(model.span, name.text)),
    )
    return statement._replace(name=model, model=name)


def _cables(
    block: Block, units: Units, connectors: dict[str, Connector], diagnostics: Diagnostics
) -> dict[str, Cable]:
    cables: dict[str, Cable] = {}
    for item in _unique(block.all(tree.Cable), "cable", diagnostics):
        inner = Block(item.items, item.name, diagnostics)
        length = inner.one(tree.Length)
        jacket = inner.one(tree.Jacket)
        places = {place.word.text for place in inner.all(tree.CablePlace)}
        cables[item.name.text] = Cable(
            name=item.name.text,
            title=item.title.text,
            legs=_legs(item.name.text, inner.all(tree.Leg), units, diagnostics),
            length=length_mm(length.length) if length else None,
            jacket=length_mm(jacket.diameter) if jacket else None,
            moving="moving" in places,
            airborne="airborne" in places,
            build=build.build(inner, connectors, units, diagnostics),
            power=power.cable_power(inner, diagnostics),
            span=item.name.span,
        )
    return cables


def _legs(cable: str, statements: list[tree.Leg], units: Units, diagnostics: Diagnostics) -> tuple[Leg, ...]:
    legs = []
    taken: dict[str, Span] = {}
    for number, item in enumerate(statements, 1):
        first = _end(item.first, units, diagnostics)
        second = _end(item.second, units, diagnostics) if item.second else None
        tag = item.tag.text.text if item.tag else ""
        if item.tag:
            once(
                tree.Name(tag, item.tag.text.span), taken, "tag", diagnostics, "give one of the two another tag"
            )
        leg_id = f"{cable}.{tag or number}" if len(statements) > 1 else cable
        if first and (second or item.second is None):
            legs.append(Leg(leg_id, first, second, tag))
    return tuple(legs)


def _end(plug: tree.Plug, units: Units, diagnostics: Diagnostics) -> End | None:
    found = lookup(plug.unit, units, "unit", diagnostics)
    if found is None or lookup(plug.port, found.model.ports, f"port on `{found.name}`", diagnostics) is None:
        return None
    return End(
        plug.unit.text, plug.port.text, Span(plug.unit.span.source, plug.unit.span.start, plug.port.span.end)
    )


def _radio_links(block: Block, units: Units, diagnostics: Diagnostics) -> tuple[RadioLink, ...]:
    found = []
    for item in block.all(tree.Link):
        names = (item.sender, *item.receivers.names)
        if all([name.text in units or lookup(name, units, "unit", diagnostics) for name in names]):
            found.append(
                RadioLink(
                    title=item.title.text,
                    sender=item.sender.text,
                    receivers=tuple(dict.fromkeys(name.text for name in item.receivers.names)),
                    band=item.band.text,
                    channel=item.channel.text if item.channel else "",
                    span=item.title.span,
                )
            )
    return tuple(found)


def _expectations(block: Block, units: Units, diagnostics: Diagnostics) -> tuple[Expectation, ...]:
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
            conditions = _conditions(stated, handset, control, diagnostics)
            if len(conditions) < len(stated):
                continue
            found.append(
                Expectation(
                    handset=handset.name,
                    control=control.name,
                    position=position,
                    unit=target.name,
                    wanted=wanted,
                    span=span,
                    given_span=given_span,
                    conditions=conditions,
                )
            )
    return tuple(found)


def _conditions(
    stated: tuple[tree.Condition, ...], handset: Unit, control: Control, diagnostics: Diagnostics
) -> tuple[tuple[str, Position], ...]:
    """The positions of other controls of the handset; faulty ones are reported and left out."""
    found: dict[str, Position] = {}
    for item in stated:
        other = lookup(item.control, handset.model.controls, f"control on `{handset.name}`", diagnostics)
        if other is None:
            continue
        if other.name == control.name or other.name in found:
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
            found[other.name] = position
    return tuple(found.items())


def _harmless(block: Block, units: Units, diagnostics: Diagnostics) -> tuple[Harmless, ...]:
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
    if handset and not handset.model.controls and handset.role != UNKNOWN:
        diagnostics.report(
            codes.UNKNOWN_NAME,
            parts[0].span,
            f"`{handset.name}` is {words.a_role(handset.role)} and has no controls",
            "begin with the handset, as in `hs.front-toggle.away`",
        )
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


def _measurements(block: Block, units: Units, diagnostics: Diagnostics) -> tuple[Measurement, ...]:
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
