"""The function test: harmless first, every line tells right from wrong; bold numbers make the short version."""

from __future__ import annotations

from rigcard.documents import cautions
from rigcard.documents.card import Group
from rigcard.documents.cards.parts import effect_and_turn, place, steps
from rigcard.documents.layout import Block, Cell, paragraph, row
from rigcard.documents.model import Typeface
from rigcard.solve.loss import RUN, is_record
from rigcard.solve.solved import ChannelSheet, Reading, Row, Solved
from rigcard.words import microseconds, signed_percent

SECONDS_A_LINE = 8  # common practice, no source


def function_test(face: Typeface, inner: float, solved: Solved) -> Group:
    """All lines for the first test of the day; the bold numbers after a battery swap."""
    lines = _lines(solved)
    actions = [(do, see) for do, see, _ in lines]
    short = frozenset(number for number, (_, _, chosen) in enumerate(lines, 1) if chosen)
    whole, quick = _minutes(len(lines)), _seconds(len(short))
    blocks: list[Block] = [
        paragraph(
            face,
            f"All lines: first of the day, about {whole} min. Bold numbers: after a battery swap, about {quick} s. "
            "Watcher at the head calls SEE.",
            inner,
        ),
        steps(face, inner, actions, bold=short),
        Block(
            tuple(
                row(
                    face,
                    [Cell(label=text, kind="blank") for text in ("tested at (time)", "operator", "watcher")],
                    (inner / 3, inner / 3, inner / 3),
                    ruled=False,
                )
            )
        ),
    ]
    pinned = cautions.on("function-test", solved.rig)
    return Group("FUNCTION TEST", "Function test", tuple(blocks), pinned)


def _minutes(lines: int) -> int:
    return max(1, -(-lines * SECONDS_A_LINE // 60))


def _seconds(lines: int) -> int:
    return -(-lines * SECONDS_A_LINE // 10) * 10


def _lines(solved: Solved) -> list[tuple[str, str, bool]]:
    """(do, see, part of the short test), the harmless first and radio loss last."""
    found: list[tuple[int, str, str, bool]] = []
    for unit in solved.rig.units.values():
        if unit.role == "handset" and unit.memory:
            number, name = unit.memory
            found.append((0, f"Read the screen of {unit.title}.", f"memory {number} “{name}”", True))
    for sheet in solved.sheets.values():
        told: set[str] = set()
        for line in sheet.rows:
            for reading in line.readings:
                silent = solved.links.orders_of(reading.feed.unit) and not reading.effects
                if (text := effect_and_turn(solved, reading)) and not silent:
                    key = f"{reading.feed.unit}.{reading.feed.input.name}"
                    found.append((_harm(reading), *_line(solved, sheet, line, reading, text), key not in told))
                    told.add(key)
    found.sort(key=lambda item: item[0])
    last = [("Radio loss: as on its card, last of all.", "each function as the card says", False)]
    return [(do, see, chosen) for _, do, see, chosen in found] + last


def _harm(reading: Reading) -> int:
    """Order of a test: settings, keys, record, slow things, then what moves."""
    known = reading.feed.input
    if known.critical:
        return 6 if known.sweep else 7
    if is_record(known.states):
        return 3 if reading.state == RUN else 4
    if reading.effects:
        return 1 if known.sweep else 2
    return 5


def _line(solved: Solved, sheet: ChannelSheet, line: Row, reading: Reading, text: str) -> tuple[str, str]:
    control = solved.rig.units[sheet.handset].model.controls[line.control]
    numbers = f"{signed_percent(line.level.percent)}, {microseconds(line.pulse)}"
    unit = solved.rig.units[reading.effects[0].unit if reading.effects else reading.feed.unit]
    see = f"{unit.title}: {text}"
    if is_record(reading.feed.input.states) and reading.state == RUN:
        see += ", tally lit, media time counts"
    return f"{control.title} {place(line.position)} ({numbers}).", see
