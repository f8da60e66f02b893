"""The bench card: the readings to take of a device, so that its model can be completed."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import (
    BLANK,
    BODY,
    SMALL,
    Block,
    Box,
    Cell,
    heading,
    joined,
    paragraph,
    row,
    table,
)
from rigcard.documents.base.model import Document, Typeface
from rigcard.documents.base.paper import LONG_EDGE, impose
from rigcard.documents.base.phrases import place
from rigcard.documents.cards.frame import TECHNICIAN, Group, card_size, check_code, inner_width, lay, leaves_of
from rigcard.resolve.model import Ask, BenchReading, Control, Model, Rig
from rigcard.resolve.readings import form, full_travel
from rigcard.words import decimal, percent, steps

LETTERS = "BCDEFGHJKLMNPQRSTUVWXYZ"  # behind the mark of a second card and of those after it
READ = 24.0  # mm to write a pulse in


def bench_document(face: Typeface, rig: Rig, models: Sequence[Model], flip: str = LONG_EDGE) -> Document:
    """Set a bench card for each model that leaves something unknown; size and paper are those of the rig."""
    groups = [bench_card(face, inner_width(rig), model, number) for number, model in enumerate(models)]
    laid = [lay(face, rig, group) for group in groups]
    footer = say("check {code}", code=check_code([found.code for found in laid]))
    pages = impose(face, leaves_of(face, rig, laid), card_size(rig), rig.paper, rig.per_sheet, flip, footer)
    return Document("bench", say("{rig}: bench cards", rig=rig.title), tuple(pages))


def bench_card(face: Typeface, inner: float, model: Model, number: int = 0) -> Group:
    """Make the card of one model: how to set it up, and a row a reading."""
    mark = say("BENCH") if not number else f"{say('BENCH')} {LETTERS[(number - 1) % len(LETTERS)]}"
    blocks = _of_handset(face, inner, model) if model.bench else _of_device(face, inner, model)
    return Group(mark, model.title, tuple(blocks), (), TECHNICIAN)


def _of_handset(face: Typeface, inner: float, model: Model) -> list[Block]:
    assert model.bench is not None
    asks = model.bench.asks
    own = model.controls[asks[0].control]
    source = next((model.controls[one.source] for one in asks if one.source), None)
    return [
        joined(heading(face, say("SET UP"), inner), _set_up(face, inner, model, own, source)),
        joined(
            heading(face, say("READ"), inner), _how(face, inner), _readings(face, inner, model, own, source)
        ),
        _type(face, inner, model, [form(one, "____us") for one in asks]),
    ]


# ---- a device other than a handset ---------------------------------------------------------------------------


def _of_device(face: Typeface, inner: float, model: Model) -> list[Block]:
    asks = model.asks
    lines = []
    if any(ask.kind != "loss" for ask in asks):
        lines += [
            say("Give the input a level that can be changed in small steps, and put a meter beside it."),
            say(
                "Change it slowly, one step at a time. Note the first level at which the device does what is asked."
            ),
        ]
    if any(ask.kind == "loss" for ask in asks):
        lines.append(say("Set a failsafe level that is far from the level that is sent, and watch the pin."))
    rows = [
        [Cell(str(number), BODY, True), Cell(_to_do(ask), SMALL), BLANK] for number, ask in enumerate(asks, 1)
    ]
    return [
        joined(
            heading(face, say("SET UP"), inner),
            Block((*_numbered(face, inner, lines), *_who(face, inner))),
        ),
        joined(
            heading(face, say("READ"), inner),
            table(face, ("", say("DO"), say("READ")), rows, (6.0, inner - 6.0 - READ, READ)),
        ),
        _type(face, inner, model, [ask.form.replace("...", "____") for ask in asks]),
    ]


def _to_do(ask: Ask) -> str:
    """Say what a reading is of, in one or two short sentences."""
    parts = {"input": ask.title, "start": ask.start, "state": ask.state}
    if ask.kind == "loss":
        return say("Switch the handset off. Time how long the old level lasts, in ms.")
    if ask.kind == "turn":
        return say("{input}: hold the level at the end of the sweep. Time half a turn, in s.", **parts)
    if ask.start and ask.kind == "raised":
        return say("{input}: raise the level from {start} until it gives {state}.", **parts)
    if ask.start:
        return say("{input}: lower the level from {start} until it gives {state}.", **parts)
    if ask.kind == "raised":
        return say("{input}: raise the level from its rest until it moves to {state}.", **parts)
    return say("{input}: lower the level from its rest until it moves to {state}.", **parts)


# ---- a handset -----------------------------------------------------------------------------------------------


def _set_up(face: Typeface, inner: float, model: Model, own: Control, source: Control | None) -> Block:
    """Say what to take and where to put it, one action a line."""
    assert model.bench is not None
    declared = model.bench.declared
    lines = [
        say("Take the handset, a receiver bound to it, and a pulse meter that shows whole µs."),
        say(
            "Take a blank memory: travel {full}, sub-trim 0, normal direction, no mix, trims zero, rates 100 %, no expo.",
            full=percent(full_travel(declared)),
        ),
        say("Set channel 1 to {control}.", control=own.title)
        if source is None
        else say("Set channel 1 to {control} and channel 2 to {other}.", control=own.title, other=source.title),
        say("Put the meter on the pin of channel 1."),
    ]
    if source:
        lines.append(
            say("Where a row has a mix, it adds that part of channel 2 to channel 1, on both sides alike.")
        )
    boxes = _numbered(face, inner, lines)
    return Block((*boxes, *_who(face, inner)))


def _who(face: Typeface, inner: float) -> list[Box]:
    """Leave room for the number of the device, for who read it, and when."""
    third = inner / 3
    who = [Cell(kind="blank", label=label) for label in (say("DEVICE NO."), say("READ BY"), say("DATE"))]
    return row(face, who, (third, third, third), ruled=False, pad=0.8)


def _how(face: Typeface, inner: float) -> Block:
    text = say(
        "Dial channel 1 as the row says; what is not bold is blank. Move the controls, wait, and write down what the meter shows."
    )
    return paragraph(face, text, inner, size=SMALL, gap=0.8, keep=True)


def _readings(face: Typeface, inner: float, model: Model, own: Control, source: Control | None) -> Block:
    """Set a row a reading: what to dial, where the controls stand, room for the pulse."""
    assert model.bench is not None
    full = full_travel(model.bench.declared)
    low, high = own.positions[0], own.positions[-1]
    head = [
        "",
        say("TRAVEL {low} / {high}", low=place(low), high=place(high)),
        say("SUB-TRIM"),
        say("DIRECTION"),
        own.title,
        *([say("MIX IN"), source.title] if source else []),
        say("READ, µs"),
    ]
    rows = [
        [
            Cell(str(number), BODY, True),
            _dialled(f"{decimal(one.travel.low)} / {decimal(one.travel.high)}", set(one.travel) != {full}),
            _dialled(steps(one.subtrim), one.subtrim != 0)._replace(
                kind="boxed" if one.subtrim < 0 else "text"
            ),
            _dialled(say("REVERSED") if one.reversed else say("normal"), one.reversed),
            Cell(place(one.position), SMALL, True),
            *(_mixed(one) if source else []),
            BLANK,
        ]
        for number, one in enumerate(model.bench.asks, 1)
    ]
    widths = [6.0, 22.0, 14.0, 19.0, 20.0, *([13.0, 20.0] if source else []), READ]
    widths[4] += inner - sum(widths)
    return table(face, head, rows, widths)


def _dialled(text: str, bold: bool) -> Cell:
    return Cell(text, SMALL, bold)


def _mixed(reading: BenchReading) -> list[Cell]:
    """The part of the other control that is added, and where it stands; it may stand anywhere without a mix."""
    if reading.source_position is None:
        return [Cell(say("off"), SMALL), Cell("", SMALL)]
    return [Cell(percent(reading.mix), SMALL, True), Cell(place(reading.source_position), SMALL, True)]


# ---- both ----------------------------------------------------------------------------------------------------


def _type(face: Typeface, inner: float, model: Model, lines: Sequence[str]) -> Block:
    """Show the lines that go into the model, with a gap for what was read."""
    into = (
        say("Type these lines with what you read into the blocks of the inputs of {model}.", model=model.name)
        if any(ask.kind != "loss" for ask in model.asks)
        else say("Type these lines with what you read into the block of {model}.", model=model.name)
    )
    words = f"{into} {say('Then check the file again. It says what is settled, and what to read next.')}"
    return joined(
        heading(face, say("TYPE"), inner),
        paragraph(face, words, inner, size=SMALL, gap=0.8, keep=True),
        Block(tuple(_numbered(face, inner, lines))),
    )


def _numbered(face: Typeface, inner: float, lines: Sequence[str]) -> list[Box]:
    """Set lines with their numbers before them."""
    return [
        box
        for at, line in enumerate(lines, 1)
        for box in row(
            face, [Cell(str(at), SMALL, True), Cell(line, SMALL)], (6.0, inner - 6.0), ruled=False, pad=0.4
        )
    ]
