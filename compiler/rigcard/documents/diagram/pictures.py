"""Pictures and radio links in the signal drawing: from each sender over leads, units that pass them on, and the air."""

from __future__ import annotations

from rigcard.documents.base.language import say
from rigcard.documents.diagram.graph import PIN, SMALL, TITLE, Builder, Words
from rigcard.documents.diagram.parts import cable, device
from rigcard.documents.diagram.rows import depths
from rigcard.documents.labels.cable_labels import end_id
from rigcard.resolve.links import Wire
from rigcard.resolve.model import End, RadioLink, Rig
from rigcard.solve.solved import Solved

Step = tuple[str, str, str]  # from a socket, over a lead or a link, to a socket


def add_pictures(build: Builder, solved: Solved, first: int, input_column: int) -> None:
    """Add picture leads and radio links, in columns that the channels use too: devices and cables by turns."""
    rig = solved.rig
    wires = {
        f"cable:{wire.leg.id}": wire
        for wire in solved.links.wires
        if rig.signal_at(wire.source).kind == "picture"
    }
    sockets: dict[str, tuple[str, tuple[Words, ...]]] = {}  # what stands at each: its unit and its words
    steps: list[Step] = []
    last: dict[str, str] = {}  # the socket of each unit from which links carry its picture further
    for key, wire in wires.items():
        ends = [_socket(solved, wire, end, sockets) for end in (wire.source, wire.sink)]
        last.update(zip((wire.source.unit, wire.sink.unit), ends, strict=True))
        steps.append((ends[0], key, ends[1]))
    links = {f"link:{link.title}": link for link in rig.radio_links if rig.units[link.sender].role != "handset"}
    by_radio = ((say("by radio"), PIN, False),)
    for key, link in links.items():
        for name in (link.sender, *link.receivers):
            sockets.setdefault(last.setdefault(name, f"device:{name}"), (name, by_radio))
        steps += [(last[link.sender], key, last[receiver]) for receiver in link.receivers]
    deep = depths([(tail, head) for tail, _, head in steps])
    slots = [first, *range(first + 1, input_column + 1)]
    leading: dict[str, list[Step]] = {}
    for step in steps:
        leading.setdefault(step[0], []).append(step)

    def column(position: int) -> int:
        """Return the column of a place on the way: a device at even ones, a lead at odd ones."""
        return slots[position] if position < len(slots) else input_column + 2 + position - len(slots)

    def place(socket: str) -> list[Step]:
        """Add a socket; return what its picture goes to, if it is new."""
        fresh = socket not in build.cells
        unit, lines = sockets[socket]
        build.cell(socket, "device", column(2 * deep.get(socket, 0)), *lines, frame=device(build, rig, unit))
        return list(reversed(leading.get(socket, []))) if fresh else []

    def follow(socket: str) -> None:
        """Add a socket and everything that its picture goes to, the first of it on the row that stands there."""
        waiting = place(socket)  # no recursion: a chain may be long
        seen: set[str] = set()
        while waiting:
            tail, key, head = waiting.pop()
            if tail in seen:
                build.start()
            seen.add(tail)
            at = column(2 * deep[tail] + 1)
            if wire := wires.get(key):
                lead, kind = cable(build, rig, wire, at), "picture"
            else:
                build.frame(key, (links[key].title, TITLE, True), (_on_air(links[key]), SMALL, False))
                lead, kind = build.cell(key, "cable", at, frame=key), "radio"
            build.edge(tail, lead, kind)
            waiting += place(head)
            build.edge(lead, head, kind)

    heads = {head for _, _, head in steps}
    for socket in (*(tail for tail, _, _ in steps if tail not in heads), *sockets):
        if socket not in build.cells:
            build.start()
            follow(socket)


def _socket(solved: Solved, wire: Wire, end: End, sockets: dict[str, tuple[str, tuple[Words, ...]]]) -> str:
    """Note what stands at an end of a picture lead; a unit that passes pictures on has one socket for all of them."""
    rig = solved.rig
    unit = rig.units[end.unit]
    source = unit.model.passed.get(end.port, end.port)
    through = source in unit.model.passed.values()
    key = f"through:{end.unit}.{source}" if through else f"device:{end.unit}.{end.port}"
    words = _words(rig, wire, end)
    _, before = sockets.get(key, (end.unit, ()))
    sockets[key] = end.unit, (*before, *(line for line in words if line not in before))
    return key


def _words(rig: Rig, wire: Wire, end: End) -> tuple[Words, ...]:
    return ((f"{rig.port(end).label}  {end_id(wire.leg, end)}", PIN, False),)


def _on_air(link: RadioLink) -> str:
    """Return the frequency and the channel of a link, as far as they are stated."""
    channel = say("channel {channel}", channel=link.channel) if link.channel else ""
    return ", ".join(filter(None, (link.band, channel)))
