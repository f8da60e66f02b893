"""What lets a reader follow a control to its function: numbers, sizes, columns, frames, and lines that cross nothing.

The rigs: every sample, the case files that compile, a production of six stations, and random rigs.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from typing import NamedTuple

import networkx as nx
import pytest
from hypothesis import HealthCheck, Phase, given, settings

from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Curve, Line, Page, Rectangle, Shape, Text
from rigcard.documents.base.paper import LARGE, SIZES
from rigcard.documents.diagram.drawing import FRAME, strip_marks
from rigcard.documents.diagram.graph import Cell, Graph, Placement
from rigcard.documents.diagram.leads import list_document
from rigcard.documents.diagram.power import power_graph
from rigcard.documents.diagram.sheets import drawing_document
from rigcard.documents.diagram.signals import signal_graph
from rigcard.pipeline import check_rig
from rigcard.render.dot import place
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved
from samples import ROOT, SAMPLES, STOCK
from strategies import reworded_samples, whole_rigs

sys.path.insert(0, str(ROOT / "tests" / "bench"))
from doubling import chain
from production import production

FACE = EmbeddedTypeface()
CASES = sorted((ROOT / "tests" / "cases").rglob("*.ok.rig"))
TOUCH = 0.05  # mm: rounding
RANDOM = settings(
    max_examples=15,
    phases=(Phase.generate,),
    suppress_health_check=list(HealthCheck),
)


def solved_of(path: Path) -> Solved | None:
    """A rig, if it compiles."""
    return check_rig(path, Diagnostics(), stock=STOCK).solved


@cache
def stations(folder: Path, count: int) -> Solved:
    """A production of so many handsets."""
    path = folder / f"production-{count}.rig"
    path.write_text(production(count, 0), encoding="utf-8")
    solved = solved_of(path)
    assert solved is not None
    return solved


def graphs_of(solved: Solved) -> list[Graph]:
    """Both diagrams where they have parts."""
    return [graph for graph in (signal_graph(FACE, solved), power_graph(FACE, solved)) if graph.cells]


@pytest.fixture(params=[*SAMPLES, "production"], ids=lambda path: getattr(path, "stem", path))
def rig(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Solved:
    """Each sample, and a production of six stations."""
    if request.param == "production":
        return stations(tmp_path_factory.getbasetemp(), 6)
    solved = solved_of(request.param)
    assert solved is not None
    return solved


# ---- numbers -----------------------------------------------------------------------------------------------------


def unnumbered(solved: Solved) -> Iterator[str]:
    """Every cell on the way of a channel that lacks its number: what leads to the channel, and all behind it."""
    graph = signal_graph(FACE, solved)
    cells = {cell.id: cell for cell in graph.cells}
    lines = nx.DiGraph()
    lines.add_nodes_from(cells)
    lines.add_edges_from((edge.tail, edge.head) for edge in graph.edges)
    for result in solved.results.values():
        channel = f"channel:{result.handset}.{result.name}"
        for cell in (channel, *lines.predecessors(channel), *nx.descendants(lines, channel)):
            if str(result.number) not in cells[cell].numbers:
                yield f"{cell} lacks {result.number}"
        feeds = solved.links.feeds_of(result.handset, result.name)
        kinds = {cells[cell].kind for cell in nx.descendants(lines, channel)}
        if feeds and not kinds >= {"pin", "cable", "input", "effect"}:
            yield f"{channel} ends before its function: {sorted(kinds)}"


def test_the_channel_stands_in_every_box_of_its_path(rig: Solved) -> None:
    """Control, channel, pin, cable, input, port, device and function have the number of every channel through them."""
    assert list(unnumbered(rig)) == []


def test_the_channel_stands_in_every_box_of_the_case_rigs() -> None:
    """The same for every case file that compiles."""
    found = {path.name: list(unnumbered(solved)) for path in CASES if (solved := solved_of(path))}

    assert len(found) > 50
    assert not any(found.values()), {name: faults for name, faults in found.items() if faults}


def test_numbers_are_drawn_in_their_boxes(rig: Solved) -> None:
    """White on black, inside the cell, each number of the cell once; nothing else is white."""
    for graph in graphs_of(rig):
        for drawn in strips_of(graph):
            white = [mark for mark in drawn.marks if isinstance(mark, Text) and mark.inverse]
            held = 0
            for cell, room in drawn.cells.items():
                inside = [mark.text for mark in white if room.holds(mark.x + mark.width / 2, mark.y)]
                plain = [text.removeprefix("CH ") for text in inside]
                assert sorted(plain) == sorted(graph_cell(graph, cell).numbers), cell
                held += len(inside)
            assert held == len(white)


def test_a_serial_line_has_a_strand_for_each_channel(rig: Solved) -> None:
    """Where a lead or a pin carries several channels, each has its cell, at the pin, on the lead and at its end."""
    graph = signal_graph(FACE, rig)
    for wire in rig.links.wires:
        through = {(feed.handset, feed.channel) for feed in rig.links.feeds if wire in feed.route}
        strands = [cell for cell in graph.cells if cell.part == f"cable:{wire.leg.id}" and cell.numbers]
        if through:
            assert len(strands) == len(through)
            assert all(len(cell.numbers) == 1 for cell in strands)
            pins = [
                cell
                for cell in graph.cells
                if cell.part in (f"pin:{wire.source.unit}.{wire.source.port}",) and cell.kind == "pin"
            ]
            first = {(feed.handset, feed.channel) for feed in rig.links.feeds if feed.route[0] == wire}
            assert len(pins) == len(first) or not first


# ---- sizes -------------------------------------------------------------------------------------------------------


def sizes(graph: Graph, kind: str) -> list[float]:
    """The sizes of the first lines of cells of a kind."""
    return [cell.lines[0][1] for cell in graph.cells if cell.kind == kind and cell.lines]


def test_functions_are_largest_and_pins_smallest(rig: Solved) -> None:
    """Function, control, input, channel, pin: from the largest words to the smallest."""
    graph = signal_graph(FACE, rig)
    ranked = [sizes(graph, kind) for kind in ("effect", "control", "input", "channel", "pin")]

    for larger, smaller in pairwise(ranked):
        assert min(larger) > max(smaller)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_smaller_than_8_points(rig: Solved, paper: str) -> None:
    """Lists are on the rig's paper; drawings on it or on the next larger one, no size below 8 points."""
    solved = rig._replace(rig=rig.rig._replace(paper=paper))
    drawings = drawing_document(FACE, solved.rig, [(graph, place(graph)) for graph in graphs_of(solved)])
    lists = list_document(FACE, solved)

    assert lists.pages and drawings.pages
    assert {(page.width, page.height) for page in lists.pages} == {SIZES[paper]}
    across = {(SIZES[name][1], SIZES[name][0]) for name in (paper, LARGE[paper])}
    assert {(page.width, page.height) for page in drawings.pages} <= across
    for page in (*drawings.pages, *lists.pages):
        assert min(mark.size for mark in page.marks if isinstance(mark, Text)) >= 8.0


def test_a_large_rig_is_divided_by_handset(tmp_path: Path) -> None:
    """Six stations need several sheets; each handset is whole on one of them, and none is on two."""
    solved = stations(tmp_path, 6)
    graph = signal_graph(FACE, solved)
    pages = drawing_document(FACE, solved.rig, [(graph, place(graph))]).pages

    assert len(pages) > 1
    for number in range(1, 7):
        titles = (f"Handset {number}", f"Receiver {number}", f"Head {number}")
        holding = {title: [at for at, page in enumerate(pages) if title in words_on(page)] for title in titles}
        assert len(holding[titles[0]]) == 1
        assert all(found == holding[titles[0]] for found in holding.values())


def words_on(page: Page) -> list[str]:
    """Every text of a page."""
    return [mark.text for mark in page.marks if isinstance(mark, Text)]


def test_one_handset_that_fills_more_than_a_sheet_is_divided_by_channel(tmp_path: Path) -> None:
    """Ten switches of many positions: every channel is whole on one sheet, and its handset is named on each."""
    bands = "; ".join(f"b{n} {-107.6 + 15.38 * n:.1f}%..{-92.4 + 15.38 * n:.1f}%" for n in range(14))
    places = ", ".join(f"p{n}" for n in range(14))
    switches = "\n".join(f'switch k{n} "Switch {n}" {places}' for n in range(1, 11))
    inputs = "\n".join(f'input i{n} on line "Input {n}" {{ {bands} }}' for n in range(1, 11))
    channels = "\n".join(f"channel {n} c{n} from k{n} failsafe hold" for n in range(1, 11))
    sources = "\n".join(f"input i{n} from c{n}" for n in range(1, 11))
    path = tmp_path / "tall.rig"
    path.write_text(TALL.format(**locals()), encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    assert solved is not None, [found.message for found in diagnostics]
    graph = signal_graph(FACE, solved)
    pages = drawing_document(FACE, solved.rig, [(graph, place(graph))]).pages

    assert len(pages) > 1
    assert all("Tall handset" in words_on(page) for page in pages)
    for n in range(1, 11):
        holding = [page for page in pages if f"Switch {n}" in words_on(page)]
        assert len(holding) == 1
        assert f"Input {n} b13" in words_on(holding[0])


TALL = """rig "Tall" {{ revision "A" }}
use "radio.rig"
model hm "H" {{ role handset; {switches}
  channels 12; pulse 1520us centre, 4us per 1%; travel 0%..140% step 1%; subtrim -80..80 steps, 80 steps = 12%, shifts whole
  reverse before subtrim; output -150%..150% }}
model rm "R" {{ role receiver; channels 12; port bus out serial-16 }}
model dm "D" {{ role other; port line in serial-16
{inputs} }}
unit hs is hm "Tall handset" {{ memory 1 "M"
{channels} }}
unit rx is rm "Receiver" {{ bound to hs }}
unit de is dm "Device" {{
{sources} }}
cable S1 "Lead" {{ rx.bus to de.line; length 1m; jacket 3mm }}
"""


def test_power_through_more_devices_than_a_sheet_holds_goes_on_below(tmp_path: Path) -> None:
    """A chain of 60 splitters: large sheets that do not overlap, every lead once, a device at a fold drawn twice."""
    path = tmp_path / "chain.rig"
    path.write_text(chain(60), encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics).solved
    assert solved is not None, [found.message for found in diagnostics]
    graph = power_graph(FACE, solved)
    pages = drawing_document(FACE, solved.rig, [(graph, place(graph))]).pages

    words = [text for page in pages for text in words_on(page)]
    assert len(pages) < 60 / 3
    assert not any("overlapping" in text for text in words)
    assert all(words.count(f"{side}{n}-{end}") == 1 for side in "PL" for end in "AB" for n in range(1, 61))
    twice = [
        text for strip in graph.strips for box in strip.boxes if len(box.lines) > 1 for text, _, _ in box.lines
    ]
    names = [text for text in twice if text.startswith("Splitter")]
    assert len(names) == 2 * len(set(names)) > 0
    assert (
        sum("drawn again" in text for text in twice)
        == sum("fed by" in text for text in twice)
        == len(names) / 2
    )


def test_a_chain_wider_than_a_sheet_goes_on_sheets_that_overlap(tmp_path: Path) -> None:
    """Nine motors in a chain: every word is whole on a sheet, and each frame that is cut off shows on both sheets."""
    motors = "\n".join(f'unit m{n} is mm "Motor {n}" {{ obeys k{n} }}' for n in range(1, 10))
    cables = "\n".join(
        f'cable C{n} "Chain {n}" {{ {"bx.chain" if n == 1 else f"m{n - 1}.thru"} to m{n}.bus; length 1m; jacket 3mm }}'
        for n in range(1, 10)
    )
    inputs = "\n".join(
        f'input k{n} on line "Drive {n}" to chain {{ sweeps near to far }}' for n in range(1, 10)
    )
    sliders = "\n".join(f'slider s{n} "Slider {n}" near to far' for n in range(1, 10))
    channels = "\n".join(f"channel {n} c{n} from s{n} failsafe hold" for n in range(1, 10))
    sources = "\n".join(f"input k{n} from c{n}" for n in range(1, 10))
    commands = ", ".join(f"k{n}" for n in range(1, 10))
    path = tmp_path / "chain.rig"
    path.write_text(CHAIN.format(**locals()), encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    assert solved is not None, [found.message for found in diagnostics]
    graph = signal_graph(FACE, solved)
    placed = place(graph)
    pages = drawing_document(FACE, solved.rig, [(graph, placed)]).pages

    assert len(pages) > 1
    said = {text for page in pages for text in words_on(page)}
    assert {text for cell in graph.cells for text, _, _ in cell.lines} <= said
    assert {text for strip in graph.strips for box in strip.boxes for text, _, _ in box.lines} <= said
    for page in pages:
        assert any("overlapping" in words for words in words_on(page))
        assert min(mark.size for mark in page.marks if isinstance(mark, Text)) >= 8.0
    assert any(isinstance(mark, Line) and mark.weight == FRAME for mark in pages[0].marks)
    edge = min(x for mark in pages[1].marks if isinstance(mark, Line) for x, _ in mark.points)
    level = [m.points for m in pages[1].marks if isinstance(m, Line) and m.points[0][1] == m.points[-1][1]]
    before = [n for n in range(1, 10) if f"Motor {n}" not in words_on(pages[1])]
    assert 0 < len(before) < 9
    assert sum(start == pytest.approx(edge) and end[0] - start > 200 for (start, _), end in level) == len(
        before
    )


CHAIN = """rig "Chain" {{ revision "A" }}
use "radio.rig"
signal drive "Drive" carries commands
model hm "H" {{ role handset; {sliders}
  channels 12; pulse 1520us centre, 4us per 1%; travel 0%..140% step 1%; subtrim -80..80 steps, 80 steps = 12%, shifts whole
  reverse before subtrim; output -150%..150% }}
model rm "R" {{ role receiver; channels 12; port bus out serial-16 }}
model bm "B" {{ role adapter; port line in serial-16; port chain out drive
{inputs} }}
model mm "M" {{ role motor; port bus in drive; port thru out drive; passes bus to thru; command {commands} }}
unit hs is hm "Handset" {{ memory 1 "M"
{channels} }}
unit rx is rm "Receiver" {{ bound to hs }}
unit bx is bm "Box" {{
{sources} }}
{motors}
cable S1 "Lead" {{ rx.bus to bx.line; length 1m; jacket 3mm }}
{cables}
"""


# ---- geometry ----------------------------------------------------------------------------------------------------


class Room(NamedTuple):
    """A rectangle in mm."""

    left: float
    top: float
    right: float
    bottom: float

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies in it, its edge left out."""
        return self.left + TOUCH < x < self.right - TOUCH and self.top + TOUCH < y < self.bottom - TOUCH

    def meets(self, other: Room) -> bool:
        """Whether it covers any of another one."""
        across = min(self.right, other.right) - max(self.left, other.left)
        return across > TOUCH and min(self.bottom, other.bottom) - max(self.top, other.top) > TOUCH

    def within(self, other: Room) -> bool:
        """Whether it lies in another one."""
        return (
            self.left >= other.left - TOUCH
            and self.top >= other.top - TOUCH
            and self.right <= other.right + TOUCH
            and self.bottom <= other.bottom + TOUCH
        )


class Drawn(NamedTuple):
    """A strip as drawn: the rooms of its cells by id, its frames by key, its lines in the order of its edges."""

    cells: dict[str, Room]
    frames: list[tuple[str, Room]]
    marks: list[object]


def strips_of(graph: Graph, placed: Placement | None = None) -> Iterator[Drawn]:
    """Every strip, as it is drawn."""
    placed = placed or place(graph)
    for number, strip in enumerate(graph.strips):
        marks = strip_marks(FACE, graph, placed, number)
        frames = [mark for mark in marks if isinstance(mark, Rectangle)][: len(strip.boxes)]
        cells = {}
        for row, y in zip(strip.rows, placed.rows[number], strict=True):
            for column, cell in row.items():
                x, half = placed.columns[column], graph_cell(graph, cell).height / 2
                cells[cell] = Room(x, y - half, x + graph.widths[column], y + half)
        rooms = [Room(mark.x, mark.y, mark.x + mark.width, mark.y + mark.height) for mark in frames]
        keys = [box.frame for box in strip.boxes]
        yield Drawn(cells, list(zip(keys, rooms, strict=True)), list(marks))


def graph_cell(graph: Graph, cell_id: str) -> Cell:
    """A cell by its id."""
    return next(cell for cell in graph.cells if cell.id == cell_id)


def points_of(mark: object) -> list[tuple[float, float]]:
    """Points along a line or a Bezier curve (de Casteljau's weights)."""
    if isinstance(mark, Line):
        return [
            (x + (right - x) * part / 40, y + (bottom - y) * part / 40)
            for (x, y), (right, bottom) in pairwise(mark.points)
            for part in range(41)
        ]
    assert isinstance(mark, Curve)
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = mark.points
    found = []
    for t in (step / 40 for step in range(41)):
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        found.append((a * ax + b * bx + c * cx + d * dx, a * ay + b * by + c * cy + d * dy))
    return found


def geometry_faults(graph: Graph) -> Iterator[str]:
    """What is wrong with the places of cells, frames and lines."""
    placed = place(graph)
    frame_of = {cell.id: cell.frame for cell in graph.cells}
    for strip, drawn in zip(graph.strips, strips_of(graph, placed), strict=True):
        for (one, room), (other, there) in combinations(drawn.cells.items(), 2):
            if room.meets(there):
                yield f"{one} covers {other}"
        for (one, room), (other, there) in combinations(drawn.frames, 2):
            if room.meets(there):
                yield f"the frames of {one} and {other} cover each other"
        for cell, room in drawn.cells.items():
            around = [key for key, frame in drawn.frames if room.within(frame)]
            touched = [key for key, frame in drawn.frames if room.meets(frame)]
            boxed = [key for key in (frame_of[cell],) if key]
            if around != boxed or touched != boxed:
                yield f"{cell} of {boxed} is in {around}, touches {touched}"
        ends = {(edge.tail, edge.head): edge for edge in strip.edges}
        for tail, head in ends:
            alone = strip._replace(
                cells=(),
                boxes=(),
                edges=(ends[tail, head],),
                via=(strip.via[strip.edges.index(ends[tail, head])],),
            )
            number = graph.strips.index(strip)
            only = graph._replace(
                strips=tuple(alone if at == number else s for at, s in enumerate(graph.strips))
            )
            for mark in strip_marks(FACE, only, placed, number):
                if isinstance(mark, Shape):
                    continue
                for x, y in points_of(mark):
                    for cell, room in drawn.cells.items():
                        if room.holds(x, y):
                            yield f"the line from {tail} to {head} goes through {cell}"
                    for key, room in drawn.frames:
                        if room.holds(x, y) and key not in (frame_of[tail], frame_of[head]):
                            yield f"the line from {tail} to {head} goes through the frame of {key}"


def column_faults(graph: Graph) -> Iterator[str]:
    """What is not aligned: bars of functions, boxes of controls, channels, pins, inputs; and not level."""
    placed = place(graph)
    lefts: dict[tuple[str, int], set[float]] = {}
    for drawn in strips_of(graph, placed):
        boxes = [mark for mark in drawn.marks if isinstance(mark, Rectangle)]
        bars = [mark for mark in drawn.marks if isinstance(mark, Line) and mark.weight == 0.8]
        for cell_id, room in drawn.cells.items():
            cell = graph_cell(graph, cell_id)
            if cell.kind == "cable":
                continue
            at = [mark.x for mark in boxes if (mark.x, mark.y) == pytest.approx((room.left, room.top))]
            if cell.kind == "effect":
                at = [bar.points[0][0] for bar in bars if bar.points[0] == pytest.approx((room.left, room.top))]
            if len(at) != 1:
                yield f"{cell_id} is drawn {len(at)} times"
            column = 0 if cell.kind in ("effect", "control", "channel", "pin", "input", "port") else cell.column
            lefts.setdefault((cell.kind, column), set()).update(at)
    yield from (f"{kind} at {sorted(found)}" for (kind, _), found in lefts.items() if len(found) > 1)


def test_columns_are_aligned(rig: Solved) -> None:
    """One left edge for all bars of functions, and for all boxes of controls, channels, pins, inputs and ports."""
    for graph in graphs_of(rig)[:1]:
        assert list(column_faults(graph)) == []


def test_lines_frames_and_boxes_keep_clear_of_each_other(rig: Solved) -> None:
    """No box covers another, frames hold their own cells and no other, no line goes through a box or another's frame."""
    for graph in graphs_of(rig):
        assert list(geometry_faults(graph)) == []


def test_a_device_has_its_title_once(rig: Solved) -> None:
    """In each stage of the way, all cells of a device stand in one frame, with its title once."""
    for graph in graphs_of(rig):
        for strip in graph.strips:
            spots = [(box.frame, box.columns) for box in strip.boxes]
            assert len(spots) == len(set(spots))
        devices = [
            box.frame for strip in graph.strips for box in strip.boxes if box.frame.startswith("device:")
        ]
        if graph.name == "wiring-power":
            assert len(devices) == len(set(devices))
        for strip in graph.strips:
            ways = [box for box in strip.boxes if carries(strip.cells, box.frame)]
            assert len(ways) == len({box.frame for box in ways})


def carries(cells: tuple[Cell, ...], frame: str) -> bool:
    """Whether every cell in a frame has a channel: sockets for pictures stand in rows of their own."""
    return all(cell.numbers for cell in cells if cell.frame == frame)


@pytest.mark.slow
@RANDOM
@given(text=whole_rigs())
def test_random_rigs_keep_clear(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    """Numbers, columns, frames and lines of rigs that nobody drew."""
    everything(tmp_path_factory.mktemp("random") / "random.rig", text)


@pytest.mark.slow
@settings(RANDOM, max_examples=8)
@given(text=reworded_samples())
def test_samples_in_other_words_keep_clear(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    """The same for samples with other words and names."""
    everything(tmp_path_factory.mktemp("reworded") / "reworded.rig", text)


def everything(path: Path, text: str) -> None:
    """All claims on the places of cells."""
    path.write_text(text, encoding="utf-8")
    solved = solved_of(path)
    assert solved is not None
    assert list(unnumbered(solved)) == []
    for graph in graphs_of(solved):
        assert list(geometry_faults(graph)) == []
    assert list(column_faults(signal_graph(FACE, solved))) == []


@pytest.mark.parametrize("part", range(4))
def test_case_rigs_keep_clear(part: int) -> None:
    """The same for a quarter of the case files each."""
    seen = 0
    for path in CASES[part::4]:
        solved = solved_of(path)
        for graph in graphs_of(solved) if solved else ():
            seen += 1
            assert list(geometry_faults(graph)) == [], path.name
            assert list(column_faults(graph)) == [], path.name
    assert seen > 10


def test_words_are_legible_from_the_page(rig: Solved) -> None:
    """On paper too, a function is larger than an input, and an input larger than a pin: sizes as drawn."""
    graph = signal_graph(FACE, rig)
    words = {
        kind: {cell.lines[0] for cell in graph.cells if cell.kind == kind and cell.lines}
        for kind in ("effect", "input", "pin")
    }
    pages = drawing_document(FACE, rig.rig, [(graph, place(graph))]).pages
    drawn = {
        kind: {
            mark.size
            for page in pages
            for mark in page.marks
            if isinstance(mark, Text) and any((mark.text, mark.bold) == (text, bold) for text, _, bold in found)
        }
        for kind, found in words.items()
    }
    assert max(drawn["effect"]) > max(drawn["input"]) > max(drawn["pin"]) >= 8.0
    assert max(drawn["effect"]) >= 12.0
