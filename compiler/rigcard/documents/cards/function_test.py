"""The function test: harmless first, every line tells right from wrong; bold numbers make the short version."""

from typing import NamedTuple

from rigcard.documents import cautions
from rigcard.documents.card import Group
from rigcard.documents.cards.parts import effect_and_turn, place
from rigcard.documents.layout import BODY, SMALL, TICK, Block, Cell, Piece, paragraph, row, table
from rigcard.documents.model import Typeface
from rigcard.solve.loss import RUN, is_record
from rigcard.solve.solved import ChannelSheet, Reading, Row, Solved
from rigcard.words import microseconds, signed_percent

CLOSE = 0.6  # mm above and below a row: the boxes to tick keep the rows apart
SECONDS_A_LINE = 8  # common practice, no source


class Test(NamedTuple):
    """What one person does, where another one looks, and what tells right from wrong there; level and pulse are for
    the technician. `short`: part of the test after a battery swap."""

    do: str
    at: str
    see: str
    level: str
    short: bool


def function_test(face: Typeface, inner: float, solved: Solved) -> Group:
    """All lines for the first test of the day; the bold numbers after a battery swap."""
    tests = _tests(solved)
    whole, quick = _minutes(len(tests)), _seconds(sum(test.short for test in tests))
    rows = [_row(number, test) for number, test in enumerate(tests, 1)]
    widths = (7.0, (inner - 35.0) * 0.51, (inner - 35.0) * 0.49, 17.0, 11.0)
    head = ("", "O: DO", "H: SEE", "INPUT", "SEEN")
    aligns = ("left", "left", "left", "right", "left")
    blank = [Cell(label=text, kind="blank") for text in ("tested at (time)", "O, initials", "H, initials")]
    blocks: list[Block] = [
        paragraph(
            face,
            f"All lines: first of the day, about {whole} min. Bold numbers: after a battery swap, about {quick} s. "
            "O works the handset, H watches and calls SEE.",
            inner,
        ),
        _with_last(
            table(face, head, rows, widths, aligns=aligns, pad=CLOSE),
            row(face, blank, (inner / 3,) * 3, ruled=False),
        ),
    ]
    pinned = cautions.on("function-test", solved.rig)
    return Group("FUNCTION TEST", "Function test", tuple(blocks), pinned)


def _row(number: int, test: Test) -> list[Cell]:
    return [
        Cell(str(number), BODY, test.short),
        Cell(test.do, BODY),
        Cell(test.see, BODY, True, label=test.at),
        Cell(test.level, SMALL, align="right"),
        TICK,
    ]


def _with_last(tests: Block, signed: list[Piece]) -> Block:
    """Who tested stands under a test, never alone on a card."""
    *before, last = tests.pieces
    return Block((*before, last._replace(keep=True), *signed))


def _minutes(lines: int) -> int:
    return max(1, -(-lines * SECONDS_A_LINE // 60))


def _seconds(lines: int) -> int:
    return -(-lines * SECONDS_A_LINE // 10) * 10


def _tests(solved: Solved) -> list[Test]:
    """The harmless first and radio loss last."""
    found: list[tuple[int, Test]] = []
    for unit in solved.rig.units.values():
        if unit.role == "handset" and unit.memory:
            number, name = unit.memory
            found.append((0, Test("Read the screen", unit.title, f"memory {number} “{name}”", "", True)))
    for sheet in solved.sheets.values():
        told: set[str] = set()
        for line in sheet.rows:
            for reading in line.readings:
                silent = solved.links.orders_of(reading.feed.unit) and not reading.effects
                if (text := effect_and_turn(solved, reading)) and not silent:
                    key = f"{reading.feed.unit}.{reading.feed.input.name}"
                    found.append((_harm(reading), _test(solved, sheet, line, reading, text, key not in told)))
                    told.add(key)
    found.sort(key=lambda item: item[0])
    last = Test("Radio loss, as on its card, last of all", "", "each function as the card says", "", False)
    return [*(test for _, test in found), last]


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


def _test(solved: Solved, sheet: ChannelSheet, line: Row, reading: Reading, text: str, short: bool) -> Test:
    control = solved.rig.units[sheet.handset].model.controls[line.control]
    unit = solved.rig.units[reading.effects[0].unit if reading.effects else reading.feed.unit]
    if is_record(reading.feed.input.states) and reading.state == RUN:
        text += ", tally lit, media time counts"
    level = f"{signed_percent(line.level.percent)}\n{microseconds(line.pulse)}"
    return Test(f"{control.title} {place(line.position)}", unit.title, text, level, short)
