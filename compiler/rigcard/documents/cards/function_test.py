"""The function test: harmless steps first, each with its pass criterion; bold numbers are the short version."""

from typing import NamedTuple

from rigcard.documents.base.layout import BODY, SMALL, TICK, Block, Box, Cell, paragraph, row, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import control_title, effect_and_turn, meanwhile, place
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.order_of_test import Line, in_order
from rigcard.resolve.links import obeying
from rigcard.resolve.model import Unit
from rigcard.resolve.radio import on_air
from rigcard.solve.loss import RUN, is_record, is_toggle, toggles_take
from rigcard.solve.solved import Reading, Solved
from rigcard.words import listed, microseconds, signed_percent

CLOSE = 0.5  # mm above and below a row, which keeps the tick boxes of two rows apart
SECONDS_A_LINE = 8  # common practice, no source


class Test(NamedTuple):
    """What one person does, where another looks, and what shows a pass or a fault.

    Level and pulse are for the technician. `short`: part of the test after a battery swap. `stays`: the control
    that this line leaves where it frees other inputs; also set on the line that moves it back.
    """

    do: str
    at: str
    see: str
    level: str
    short: bool
    stays: str


def function_test(face: Typeface, inner: float, solved: Solved) -> Group:
    """Make all lines for the first test of the day; those with bold numbers follow a battery swap."""
    tests = lines_of_test(solved)
    whole, quick = _minutes(len(tests)), _seconds(sum(test.short for test in tests))
    rows = [_row(number, test) for number, test in enumerate(tests, 1)]
    widths = (7.0, (inner - 33.0) * 0.545, (inner - 33.0) * 0.455, 16.0, 10.0)
    head = ("", "O: DO", "H: SEE", "INPUT", "SEEN")
    aligns = ("left", "left", "left", "right", "left")
    blank = [Cell(label=text, kind="blank") for text in ("tested at (time)", "O, initials", "H, initials")]
    blocks: list[Block] = [
        paragraph(
            face,
            f"All lines: first of the day, about {whole} min. Bold: after a battery swap, about {quick} s. "
            f"O works the handset, H calls SEE. {_back_to_rest(tests)}",
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


def _with_last(tests: Block, signed: list[Box]) -> Block:
    """Keep the signature with the last line of a test, so that it never stands alone on a card."""
    *before, last = tests.boxes
    return Block((*before, last._replace(keep_with_next=True), *signed))


def _minutes(lines: int) -> int:
    return max(1, -(-lines * SECONDS_A_LINE // 60))


def _seconds(lines: int) -> int:
    return -(-lines * SECONDS_A_LINE // 10) * 10


def _back_to_rest(tests: list[Test]) -> str:
    """Return where controls go after their lines, and which of them stay."""
    held: dict[str, list[int]] = {}
    for number, test in enumerate(tests, 1):
        if test.stays:
            held.setdefault(test.stays, []).append(number)
    stay = [
        f"Leave {control} where line {numbers[0]} puts it until line {numbers[-1]}."
        for control, numbers in held.items()
    ]
    return " ".join(["After its lines put each control back where it was.", *stay])


def lines_of_test(solved: Solved) -> list[Test]:
    """Return every line: screens, each position of each control, the loss of the radio, then all at rest."""
    handsets = [unit for unit in solved.rig.units.values() if unit.role == "handset" and unit.memory]
    screens = []
    for unit in handsets:
        assert unit.memory is not None
        number, name = unit.memory
        screens.append(Test("Read the screen: memory", unit.title, f"{number} “{name}”", "", True, ""))
    screens += _link_lines(solved)
    return [*screens, *(_test(solved, line) for line in in_order(solved)), *_last_lines(solved, handsets)]


def _link_lines(solved: Solved) -> list[Test]:
    """Return a line for every other radio link: look at its signal where it is received."""
    units = solved.rig.units
    return [
        Test(f"Look at {link.title}, {on_air(link)}", units[name].title, "there, and steady", "", True, "")
        for link in solved.rig.radio_links
        if units[link.sender].role != "handset"
        for name in link.receivers
    ]


def _test(solved: Solved, line: Line) -> Test:
    row, reading = line.row, line.reading
    control = control_title(solved.rig, reading.feed.handset, row.control)
    obeying_units = list(dict.fromkeys(done.unit for done in reading.effects)) or [reading.feed.unit]
    at = listed([solved.rig.units[name].title for name in obeying_units])
    text = effect_and_turn(solved, reading)
    if is_record(reading.feed.input.states) and reading.state == RUN:
        text += ", tally lit"
    level = f"{signed_percent(reading.heard)}\n{microseconds(row.pulse)}"
    do = f"{control} {place(row.position)}{meanwhile(solved.rig, reading.feed.handset, row)}"
    if line.press:
        do += ", once" if line.press == 1 else ", once more"
        text = _toggled(reading, line.press)
    return Test(do, at, text, level, line.short, control if line.stays else "")


def _toggled(reading: Reading, press: int) -> str:
    """Describe a press that changes a state from what is seen before it to what is seen after it."""
    done = next(done for done in reading.effects if done.toggles)
    if is_toggle(reading):
        return "the take starts: tally lit, media time counts" if press == 1 else "the take stops: tally dark"
    return f"changes between {' and '.join(done.toggles)}" if press == 1 else "is as before"


def _last_lines(solved: Solved, handsets: list[Unit]) -> list[Test]:
    """Return the last lines: the loss of the radio, the take that the test made, everything back at rest."""
    rig, links = solved.rig, solved.links
    lines = [Test("Do the radio-loss test, as on its card", "", "all steps ticked", "", False, "")]
    recorders = [
        name
        for feed in links.feeds
        if is_record(feed.input.states) or toggles_take(solved, feed)
        for name in [order.receiver for order in obeying(rig, links, feed)] or [feed.unit]
    ]
    if recorders:
        at = listed([rig.units[name].title for name in dict.fromkeys(recorders)])
        lines.append(Test("Play the test take", at, "plays back to the end", "", False, ""))
    at = listed([unit.title for unit in handsets]) if handsets else ""
    lines.append(Test("Set all controls as on the power-up card", at, "checked by both", "", True, ""))
    return lines
