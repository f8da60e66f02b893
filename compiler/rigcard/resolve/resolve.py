"""Binds the names of a program into a rig."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any

from rigcard.diagnostics import Diagnostics, Edit
from rigcard.resolve import build, ceilings, claims, codes, label_sheets, models, power, signals, words
from rigcard.resolve.claims import Units
from rigcard.resolve.measures import length_mm
from rigcard.resolve.mechanics import Connector, Inventory
from rigcard.resolve.model import (
    Cable,
    End,
    Leg,
    Model,
    RadioLink,
    Rig,
    Signal,
    Step,
)
from rigcard.resolve.paper_side import LabelSheet, Typefaces
from rigcard.resolve.scope import Block, lookup, once, show, word
from rigcard.resolve.spares import spares_of
from rigcard.resolve.units import unit
from rigcard.source import Span
from rigcard.syntax import codes as syntax_codes
from rigcard.syntax import tree
from rigcard.syntax.load import Program

Settle = Callable[[Model, Diagnostics], Model]


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
        expectations=claims.expectations(block, units, diagnostics),
        harmless=claims.harmless(block, units, diagnostics),
        measurements=claims.measurements(block, units, diagnostics),
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
