"""The wiring diagram: its parts, their sizes, and the drawing once they are placed.

Left to right: control, channel, receiver pin, cable, input, effect. A cable has no box: its id stands above its
line, the kind of signal and the length below.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from rigcard.documents.base.full_sheet import HEAD, MARGIN, sheet_code, sheet_head
from rigcard.documents.base.layout import line_height, text_at, wrap
from rigcard.documents.base.model import (
    Curve,
    Document,
    Frame,
    Line,
    Mark,
    Page,
    Rectangle,
    Shape,
    Typeface,
    enlarged,
    moved,
)
from rigcard.documents.base.paper import LARGE, SIZES, scale_bar
from rigcard.documents.base.phrases import effect, place
from rigcard.documents.cards.ruler import readings_of
from rigcard.documents.diagram.clipping import ROUNDED, bounds_of, inside
from rigcard.documents.diagram.leads import lead_pages
from rigcard.documents.labels.cable_labels import end_id
from rigcard.resolve.links import Feed, Route, Wire, obeying
from rigcard.resolve.model import End, RadioLink, Rig, Unit
from rigcard.resolve.radio import on_air
from rigcard.solve.power.wording import meeting
from rigcard.solve.solved import ChannelResult, Solved
from rigcard.words import millimetres, percent

SIZE = 9.0
SMALL = 7.5
WIDEST = 46.0  # mm of text in a node before it wraps
OVERLAP = 60.0  # mm that neighbouring sheets share, more than the widest node
LEGEND = 9.0
LARGEST = 1.5  # times: a small drawing is not enlarged to a poster


class Style(NamedTuple):
    """How a kind of line is drawn, and its word in the legend."""

    word: str
    weight: float
    dash: tuple[float, ...]


STYLES = {
    "control": Style("inside a device", 0.2, ()),
    "mix": Style("mix", 0.2, (0.6, 0.8)),
    "radio": Style("radio link", 0.3, (4.0, 1.2, 0.6, 1.2)),
    "servo": Style("servo pulse", 0.6, ()),
    "channels": Style("serial, many channels", 0.5, (2.4, 1.0)),
    "commands": Style("commands", 0.5, (1.0, 0.8)),
    "picture": Style("picture", 0.5, (0.4, 1.0)),
    "power": Style("power", 1.0, ()),
    "power-too": Style("power in a signal lead", 1.0, (2.6, 0.9)),
    "inside": Style("inside a device", 0.2, ()),
}


class Node(NamedTuple):
    """A node of the diagram: its lines of text, and its size in mm.

    A cable has no box, only text along its line.
    """

    id: str
    kind: str  # control, channel, pin, cable, input, effect, device
    lines: tuple[tuple[str, float, bool], ...]
    width: float
    height: float


class Edge(NamedTuple):
    """A line from one node to another, in the style of its kind."""

    tail: str
    head: str
    kind: str


class Graph(NamedTuple):
    """The nodes and edges of one diagram, in the order of the file."""

    name: str
    title: str
    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]


class Placement(NamedTuple):
    """The layout from graphviz, in mm from the top left: centres of nodes, Bezier points of edges."""

    width: float
    height: float
    nodes: dict[str, tuple[float, float]]
    edges: tuple[tuple[tuple[float, float], ...], ...]


def _above(lines: Sequence[tuple[str, float, bool]]) -> float:
    """Return the height in mm of the bold lines of a cable."""
    return sum(line_height(size) for _, size, bold in lines if bold)


class _Builder:
    def __init__(self, face: Typeface) -> None:
        self.face = face
        self.nodes: dict[str, Node] = {}
        self.edges: dict[Edge, None] = {}

    def node(self, node_id: str, kind: str, *lines: tuple[str, float, bool]) -> str:
        if node_id not in self.nodes:
            wrapped = [
                (part, size, bold)
                for text, size, bold in lines
                for part in wrap(self.face, text, size, WIDEST, bold)
                if part
            ]
            width = max(self.face.width(text, size, bold) for text, size, bold in wrapped) + 4.0
            height = sum(line_height(size) for _, size, _ in wrapped) + 2.4
            if kind == "cable":  # its bold lines stand above the line, the others below
                height = 2 * max(_above(wrapped), height - 2.4 - _above(wrapped)) + 1.6
            self.nodes[node_id] = Node(node_id, kind, tuple(wrapped), width, height)
        return node_id

    def edge(self, tail: str, head: str, kind: str) -> None:
        self.edges[Edge(tail, head, kind)] = None

    def graph(self, name: str, title: str) -> Graph:
        return Graph(name, title, tuple(self.nodes.values()), tuple(self.edges))


# ---- what it shows -------------------------------------------------------------------------------------------


def signal_graph(face: Typeface, solved: Solved) -> Graph:
    """Build the graph from every control in use to its effects."""
    rig = solved.rig
    build = _Builder(face)
    for result in _by_pin(solved):
        handset = rig.units[result.handset]
        channel = f"channel:{result.handset}.{result.name}"
        lines = [(f"CH {result.number}  {result.name}", SIZE, True)]
        for mix in result.mixes:
            rate = percent(mix.rate.high) if mix.rate else ""
            text = f"+ {rate} of {mix.source}"
            if mix.while_control and mix.while_position:
                title = handset.model.controls[mix.while_control].title
                text += f" while {title} {place(mix.while_position)}"
            lines.append((text, SMALL, False))
        control = _control(build, solved, result.handset, result.control.name)
        build.node(channel, "channel", *lines)
        build.edge(control, channel, "control")
        for mix in result.mixes:
            source = handset.channels[mix.source].control
            build.edge(_control(build, solved, result.handset, source), channel, "mix")
        for feed in solved.links.feeds_of(result.handset, result.name):
            pin = _pin(build, rig, feed.route[0])
            build.edge(channel, pin, "radio")
            kind = rig.signal_at(feed.pin).kind
            cable = _along(build, solved, pin, feed.route)
            unit = rig.units[feed.unit]
            known = f"input:{feed.unit}.{feed.input.name}"
            build.node(
                known,
                "input",
                (feed.input.title, SIZE, True),
                (f"{unit.label}, {rig.port(feed.plug).label}", SMALL, False),
                (end_id(feed.last.leg, feed.plug), SMALL, True),
            )
            build.edge(cable, known, kind)
            _effects(build, solved, known, feed)
    boxes: dict[str, str] = {}  # the last box of the picture in each unit, from which links carry it further
    for wire in solved.links.wires:
        if rig.signal_at(wire.source).kind == "picture":
            boxes.update(_plain(build, solved, wire))
    for link in rig.radio_links:
        _radio(build, rig, link, boxes)
    return build.graph("wiring", "Signals")


def _by_pin(solved: Solved) -> list[ChannelResult]:
    """Group the channels by pin, in the order of the file.

    A channel with several pins stands with the pin that most channels use, and one that is only mixed into
    another stands beside that one. So a new cable in the file does not move what it does not touch.
    """
    pins = {
        key: [f"{feed.pin.unit}.{feed.pin.port}" for feed in solved.links.feeds_of(*key)]
        for key in solved.results
    }
    users = Counter(pin for found in pins.values() for pin in set(found))
    main = {key: max(found, key=lambda pin: users[pin]) for key, found in pins.items() if found}
    for key, result in solved.results.items():
        for mix in result.mixes:
            source = key[0], mix.source
            if key in main and source in solved.results:
                main.setdefault(source, main[key])
    groups: dict[str, list[ChannelResult]] = {}
    for key, result in solved.results.items():
        groups.setdefault(main.get(key, ""), []).append(result)
    return [result for group in groups.values() for result in group]


def columns(graph: Graph) -> list[list[str]]:
    """Return the node ids of each column of a diagram, from the top down.

    The first column has the order of the graph, each later one the order of the nodes that lead to it. The
    order comes from the file and not from a search, so it stays the same in the next revision.
    """
    before: dict[str, list[str]] = {node.id: [] for node in graph.nodes}
    for edge in graph.edges:
        before[edge.head].append(edge.tail)
    depth: dict[str, int] = {}

    def deep(node: str) -> int:
        if node not in depth:
            depth[node] = 0  # a ring of edges begins here
            depth[node] = max((deep(tail) + 1 for tail in before[node]), default=0)
        return depth[node]

    found: list[list[str]] = [[] for _ in range(1 + max(map(deep, before), default=-1))]
    for node in before:
        found[depth[node]].append(node)
    row: dict[str, int] = {}
    for column in found:
        column.sort(key=lambda node: min((row.get(tail, 0) for tail in before[node]), default=0))
        row.update({node: at for at, node in enumerate(column)})
    return found


def power_graph(face: Typeface, solved: Solved) -> Graph:
    """Build the graph from every pack to what it feeds, over all leads and through devices, one box each."""
    rig = solved.rig
    runs = [run for wire in solved.links.wires if (run := _power_run(solved, wire))]
    at: dict[
        str, dict[str, str]
    ] = {}  # for each unit: the ports that carry power, and the end plugged in there
    for wire, *ends in runs:
        for end in ends:
            at.setdefault(end.unit, {})[end.port] = end_id(wire.leg, end)
    build = _Builder(face)
    boxes = {name: _powered(build, unit, at[name]) for name, unit in rig.units.items() if name in at}
    for wire, giver, taker in runs:
        cable = _cable(build, rig, wire, power_lines(solved, wire))
        kind = "power" if rig.signal_at(wire.source).kind == "power" else "power-too"
        build.edge(boxes[giver.unit], cable, kind)
        build.edge(cable, boxes[taker.unit], kind)
    return build.graph("wiring-power", "Power")


def _power_run(solved: Solved, wire: Wire) -> tuple[Wire, End, End] | None:
    """Return a lead with the end where power enters and the end where it leaves; None if it carries none."""
    use = solved.power.leads.get(wire.leg.id) if solved.power else None
    if use:
        return wire, use.lead.giver, use.lead.taker
    return (wire, wire.source, wire.sink) if solved.rig.signal_at(wire.source).powers else None


def _powered(build: _Builder, unit: Unit, plugged: Mapping[str, str]) -> str:
    """Add the box of a device, its ports in the order of its model."""
    ports = [
        (f"{port.label}  {plugged[name]}", SMALL, True)
        for name, port in unit.model.ports.items()
        if name in plugged
    ]
    meets = [(text, SMALL, False) for text in meeting(unit)]
    return build.node(f"device:{unit.name}", "device", (unit.label, SIZE, True), *ports, *meets)


def _control(build: _Builder, solved: Solved, handset: str, control: str) -> str:
    unit = solved.rig.units[handset]
    title = unit.model.controls[control].title
    return build.node(
        f"control:{handset}.{control}", "control", (title, SIZE, True), (unit.label, SMALL, False)
    )


def _pin(build: _Builder, rig: Rig, wire: Wire) -> str:
    end = wire.source
    title = rig.units[end.unit].label
    return build.node(
        f"pin:{end.unit}.{end.port}",
        "pin",
        (rig.port(end).label, 12.0, True),
        (title, SMALL, False),
        (end_id(wire.leg, end), SMALL, True),
    )


def power_lines(solved: Solved, wire: Wire) -> list[str]:
    """Return the text below a lead of the power drawing: wire and fuse, volts at its end, greatest amperes."""
    use = solved.power.leads.get(wire.leg.id) if solved.power else None
    if use is None or solved.power is None:
        return []
    from rigcard.solve.power.wording import amps, volts_at_peak

    cable = wire.cable.power
    made = [cable.wire.shown] if cable.wire else []
    made += [f"fuse {amps(cable.fuse)}"] if cable.fuse is not None else []
    volts = volts_at_peak(solved.power.rails[use.lead.sink].volts)
    return [*([", ".join(made)] if made else []), volts, f"up to {amps(max(use.amps))}"]


def _cable(build: _Builder, rig: Rig, wire: Wire, more: Sequence[str] = ()) -> str:
    signal = rig.signal_at(wire.source)
    word = STYLES[signal.kind].word.split(",")[0]
    length = f", {millimetres(wire.cable.length)}" if wire.cable.length else ""
    return build.node(
        f"cable:{wire.leg.id}",
        "cable",
        (wire.leg.id, SIZE, True),
        (f"{word}{length}", SMALL, False),
        *((line, SMALL, False) for line in more),
    )


def _along(build: _Builder, solved: Solved, start: str, route: Route) -> str:
    """Add the leads of a route from a box on, and return the last lead.

    Every unit that passes the signal on has a box.
    """
    rig = solved.rig
    kind = rig.signal_at(route[0].source).kind
    for number, wire in enumerate(route):
        cable = _cable(build, rig, wire)
        build.edge(start, cable, kind)
        if number < len(route) - 1:
            start = _through(build, solved, wire.sink.unit, wire.sink.port)
            build.edge(cable, start, kind)
    return cable


def _through(build: _Builder, solved: Solved, unit: str, source: str) -> str:
    """Add the box of a unit that passes on what enters at a port, with every port where it leaves."""
    passed = solved.rig.units[unit].model.passed
    lines = []
    for wire in solved.links.wires:
        for end in (wire.sink, wire.source):
            if end.unit == unit and (end.port == source or passed.get(end.port) == source):
                lines.append((f"{end.port}  {end_id(wire.leg, end)}", SMALL, True))
    return build.node(f"through:{unit}.{source}", "device", (solved.rig.units[unit].title, SIZE, True), *lines)


def _plain(build: _Builder, solved: Solved, wire: Wire) -> list[tuple[str, str]]:
    """Add a lead between two devices; return each device and its box."""
    rig = solved.rig
    ends = []
    for end in (wire.source, wire.sink):
        unit = rig.units[end.unit]
        source = unit.model.passed.get(end.port, end.port)
        if source in unit.model.passed.values():
            ends.append(_through(build, solved, end.unit, source))
            continue
        ends.append(
            build.node(
                f"device:{end.unit}.{end.port}",
                "device",
                (unit.label, SIZE, True),
                (rig.port(end).label, SMALL, False),
                (end_id(wire.leg, end), SMALL, True),
            )
        )
    cable = _cable(build, rig, wire)
    kind = rig.signal_at(wire.source).kind
    build.edge(ends[0], cable, kind)
    build.edge(cable, ends[1], kind)
    return [(end.unit, box) for end, box in zip((wire.source, wire.sink), ends, strict=True)]


def _radio(build: _Builder, rig: Rig, link: RadioLink, boxes: Mapping[str, str]) -> None:
    """Add a radio link other than a handset's: from the box of its sender to those of its receivers."""
    if rig.units[link.sender].role == "handset":
        return
    sender, *receivers = (
        boxes.get(name) or build.node(f"device:{name}", "device", (rig.units[name].title, SIZE, True))
        for name in (link.sender, *link.receivers)
    )
    radio = build.node(f"link:{link.title}", "cable", (link.title, SIZE, True), (on_air(link), SMALL, False))
    build.edge(sender, radio, "radio")
    for receiver in receivers:
        build.edge(radio, receiver, "radio")


def _effects(build: _Builder, solved: Solved, known: str, feed: Feed) -> None:
    """Add the effects of an input beside it, or at the far ends of the leads that carry its commands."""
    rig, unit, name = solved.rig, feed.unit, feed.input.name
    feeds = [other for other in solved.links.feeds if other.unit == unit and other.input.name == name]
    rows = readings_of(solved, feeds[0])
    several = len({row.control for row, _ in rows}) > 1
    lines = []
    for row, reading in rows:
        if text := effect(solved, reading):
            title = solved.rig.units[feeds[0].handset].model.controls[row.control].title
            lines.append((f"{f'{title} ' if several else ''}{place(row.position)}  {text}", SMALL, False))
    lines = list(dict.fromkeys(lines))  # at another rate a stick does the same
    orders = obeying(rig, solved.links, feed) or solved.links.orders_of(feed)
    if not orders:
        node = build.node(f"effect:{unit}.{name}", "effect", *lines)
        build.edge(known, node, "inside")
    for order in orders:
        first, source, sink = order.route[0], order.port, order.plug
        port = build.node(
            f"pin:{source.unit}.{source.port}",
            "pin",
            (rig.port(source).label, SIZE, True),
            (rig.units[source.unit].label, SMALL, False),
            (end_id(first.leg, source), SMALL, True),
        )
        build.edge(known, port, "inside")
        cable = _along(build, solved, port, order.route)
        node = build.node(
            f"effect:{order.receiver}.{unit}.{name}",
            "effect",
            (rig.units[order.receiver].label, SIZE, True),
            (f"{rig.port(sink).label}, {end_id(order.route[-1].leg, sink)}", SMALL, False),
            *lines,
        )
        build.edge(cable, node, "commands")


# ---- the drawing ---------------------------------------------------------------------------------------------


def drawing(face: Typeface, graph: Graph, placed: Placement) -> list[Mark]:
    """Return the marks of a placed diagram, from (0, 0)."""
    marks: list[Mark] = []
    reach: dict[str, list[float]] = {}  # for each cable, where the lines on both sides end
    for edge, points in zip(graph.edges, placed.edges, strict=True):
        reach.setdefault(edge.head, []).append(points[-1][0])
        reach.setdefault(edge.tail, []).append(points[0][0])
        marks.append(Curve(points, STYLES[edge.kind].weight, STYLES[edge.kind].dash))
        if not edge.head.startswith(("cable:", "link:")):
            marks += _arrow(points)
    for node in graph.nodes:
        x, y = placed.nodes[node.id]
        marks += _node_marks(face, graph, node, x - node.width / 2, y - node.height / 2, reach.get(node.id, []))
    return marks


def _arrow(points: Sequence[tuple[float, float]]) -> list[Mark]:
    x, y = points[-1]
    return [Shape(((x, y), (x - 1.7, y - 0.7), (x - 1.7, y + 0.7)), 0.1, True)]


def _node_marks(
    face: Typeface, graph: Graph, node: Node, x: float, y: float, reach: Sequence[float]
) -> list[Mark]:
    marks: list[Mark] = []
    top = y + 1.2
    style = STYLES[next((edge.kind for edge in graph.edges if edge.tail == node.id), "inside")]
    if node.kind == "cable":
        middle = y + node.height / 2
        left, right = min([x, *reach]), max([x + node.width, *reach])
        ends = (left - 2 * ROUNDED, middle), (right + 2 * ROUNDED, middle)  # over the lines on both sides
        marks.append(Line(ends, style.weight, style.dash))
        top = middle - _above(node.lines) - style.weight / 2
    elif node.kind == "control":
        marks.append(
            Rectangle(x, y, node.width, node.height, 0.3, radius=min(3.0, node.height / 2), blank=True)
        )
    elif node.kind == "effect":
        marks.append(Line(((x, y), (x, y + node.height)), 0.8))
    else:
        weight = 0.6 if node.kind == "pin" else 0.3
        marks.append(Rectangle(x, y, node.width, node.height, weight, blank=True))
    align = "left" if node.kind == "effect" else "centre"
    below = False
    for text, size, bold in node.lines:
        if node.kind == "cable" and not bold and not below:
            below = True
            top = y + node.height / 2 + 0.3 + style.weight / 2
        marks.append(
            text_at(
                face,
                x + 2.0,
                top,
                text,
                size,
                bold=bold,
                align=align,
                width=node.width - 4.0,
            )
        )
        top += line_height(size)
    return marks


def wiring_document(face: Typeface, solved: Solved, placed: Sequence[tuple[Graph, Placement]]) -> Document:
    """Set all diagrams on as few sheets as they need, followed by the list of leads."""
    rig = solved.rig
    pages = [page for graph, placement in placed for page in _sheets(face, rig, graph, placement)]
    pages += lead_pages(face, solved)
    return Document("wiring", f"{rig.title}: wiring", tuple(pages))


def figure(face: Typeface, rig: Rig, graph: Graph, placed: Placement) -> Page:
    """Set one diagram on a page of its own size, for the screen."""
    width, height = placed.width + 2 * MARGIN, placed.height + 2 * MARGIN + HEAD + LEGEND
    width = max(width, 180.0)
    return _page(face, rig, graph, drawing(face, graph, placed), width, height, (0, 0), "", True)


def _sheets(face: Typeface, rig: Rig, graph: Graph, placed: Placement) -> list[Page]:
    marks = drawing(face, graph, placed)
    sizes = [(SIZES[name][1], SIZES[name][0]) for name in (rig.paper, LARGE[rig.paper])]
    for width, height in sizes:
        room = width - 2 * MARGIN, height - 2 * MARGIN - HEAD - LEGEND
        times = min(room[0] / max(placed.width, 1.0), room[1] / max(placed.height, 1.0), LARGEST)
        if times >= 1:  # use spare room to enlarge it, because it is also read from a photo
            larger = [enlarged(mark, times) for mark in marks]
            return [_page(face, rig, graph, larger, width, height, (0, 0), "", False)]
    pages = []
    columns = _offsets(placed.width, room[0])
    rows = _offsets(placed.height, room[1])
    for index, (dy, dx) in enumerate((dy, dx) for dy in rows for dx in columns):
        part = f"sheet {index + 1} of {len(rows) * len(columns)}, overlapping"
        pages.append(_page(face, rig, graph, marks, width, height, (dx, dy), part, False))
    return pages


def _offsets(length: float, room: float) -> list[float]:
    offsets = [0.0]
    while offsets[-1] + room < length:
        offsets.append(offsets[-1] + room - OVERLAP)
    return offsets


def _page(
    face: Typeface,
    rig: Rig,
    graph: Graph,
    marks: Sequence[Mark],
    width: float,
    height: float,
    offset: tuple[float, float],
    part: str,
    on_screen: bool,
) -> Page:
    room = width - 2 * MARGIN, height - 2 * MARGIN - HEAD - LEGEND
    field = Frame(graph.title, MARGIN, MARGIN + HEAD, *room)
    window = Frame(graph.title, *offset, *room)
    near = [mark for mark in marks if _touches(mark, window)]  # most marks lie on other sheets
    shown = [moved(mark, field.x - offset[0], field.y - offset[1]) for mark in near]
    shown = [clipped for mark in shown if (clipped := inside(mark, field)) is not None]
    code = graph_code(rig, graph)
    return Page(
        width,
        height,
        (
            *shown,
            *sheet_head(face, rig, graph.title, part, code, width),
            *_legend(face, graph, width, height, on_screen),
        ),
        (field,),
        (graph.title,) if not part or part.startswith("sheet 1 ") else (),
    )


def graph_code(rig: Rig, graph: Graph) -> str:
    """Return the check code of a drawing: of its boxes with their words, and of the lines between them."""
    boxes = [text for node in graph.nodes for text in (node.id, *(line for line, _, _ in node.lines))]
    return sheet_code(rig, graph.title, [*boxes, *(" ".join(edge) for edge in graph.edges)])


def _touches(mark: Mark, window: Frame) -> bool:
    """Whether a part of a mark may lie in a window of the drawing; the points of a curve enclose it."""
    bounds = bounds_of(mark)
    if bounds is None:
        return True
    left, top, right, bottom = bounds
    across = left <= window.x + window.width + ROUNDED and right >= window.x - ROUNDED
    return across and top <= window.y + window.height + ROUNDED and bottom >= window.y - ROUNDED


def _legend(face: Typeface, graph: Graph, width: float, height: float, on_screen: bool) -> list[Mark]:
    """Draw the kinds of line in use, each with its word; on paper also a bar to check the scale."""
    marks: list[Mark] = []
    y = height - MARGIN - 3.0
    x = MARGIN
    kinds = {edge.kind for edge in graph.edges}
    for style in dict.fromkeys(style for kind, style in STYLES.items() if kind in kinds):
        needed = 14.0 + face.width(style.word, 8.0) + 5.0
        if x + needed > width - MARGIN:
            x, y = MARGIN, y + line_height(8.0)
        marks.append(Line(((x, y), (x + 12.0, y)), style.weight, style.dash))
        marks.append(text_at(face, x + 13.5, y - 2.0, style.word, 8.0))
        x += needed
    if not on_screen:
        marks += scale_bar(face, width, height, 2.0, 4.0, "this bar is 50 mm")
    return marks
