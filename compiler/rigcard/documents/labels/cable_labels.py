"""Labels for both ends of every cable leg and for spare leads, and blank labels.

Geometry of wraps and flags: tests/reference/labelling.csv. A flag has two faces back to back and one turn round
the jacket. A wrap has a printed zone and a clear tail that covers it. A sleeve is a strip once round the cable
under clear tube, shrunk on before the plug. The choice for each cable is common practice, no source: nothing
that moves or flies has a flag, which would flutter and snag.
"""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor, pi
from typing import NamedTuple

from rigcard.documents.base.layout import line_height, text_at, wrap
from rigcard.documents.base.model import SMALLEST, Line, Mark, Text, Typeface
from rigcard.documents.labels.frame import EDGE, SET, Label, cell_room, gathered, outline, text_height
from rigcard.documents.labels.ratings import ratings
from rigcard.resolve.model import SERVO, Cable, End, Leg, Rig
from rigcard.words import millimetres

FACES = (25.0, 30.0, 35.0, 40.0, 45.0, 50.0)  # lengths of a flag's face
FLAG_FACE = FACES[0]
TALL_FLAG = 16.0  # mm of text height from which a flag has wider faces
WIDEST_WRAP = 150.0  # mm along the cable
WRAP_FROM = 4.5  # mm of jacket diameter from which a still cable has wraps
NARROWEST_ZONE = 9.0  # mm: a jacket with a smaller printed zone has a sleeve
OVERLAP = 2.0  # mm by which the tail of a wrap extends past the print
ZONES = ((5.0, 12.0), (7.0, 15.0), (9.0, 20.0), (float("inf"), 25.0))  # jacket below -> printed zone
TIGHT = 0.12  # mm of leading that each line of a low wrap may lose
GROUND = "G|"  # on labels of servo plugs, which have no key
BETWEEN = " · "
BLANKS = 4
BLANK_WIDTH = 50.0

Ratings = Mapping[str, tuple[str, ...]]  # volts and amperes of power leads, by the id of the leg


class Words(NamedTuple):
    """The words for one end of a leg: where this plug goes, the id with its end, where the other end is.

    `facts`: volts and amperes of a power lead, and what tells the lead from others; each stays on one line.
    """

    here: str
    id: str
    there: str
    lasting: str  # `there` without the revision
    facts: tuple[str, ...]


# ---- geometry ------------------------------------------------------------------------------------------------


def girth(diameter: float) -> float:
    """Return the circumference in mm of a jacket of `diameter` mm."""
    return pi * diameter


def flag_length(diameter: float, face: float) -> int:
    """Return the length of film for a flag in whole mm: two faces and one turn."""
    return ceil(round(2 * face + girth(diameter), 6))


def wrap_length(diameter: float, zone: float) -> int | None:
    """Return the length of film for a clear-tail wrap in whole mm; None if the print would cover itself."""
    if zone > girth(diameter):
        return None
    return ceil(round(zone + girth(diameter) + OVERLAP, 6))


def printed_zone(diameter: float) -> float | None:
    """Return the printed zone of a wrap in mm: the usual one, at most one turn.

    None if the cable needs a sleeve.
    """
    usual = next(zone for below, zone in ZONES if diameter < below)
    zone = min(usual, floor(girth(diameter) * 10) / 10)
    return zone if zone >= NARROWEST_ZONE else None


def sleeve_height(diameter: float) -> float:
    """Return the height in mm of a sleeve's strip: one turn, and at least a line with its edges, which lap."""
    return max(floor(girth(diameter) * 10) / 10, line_height(SMALLEST) + 2 * EDGE)


# ---- words ---------------------------------------------------------------------------------------------------


def end_words(rig: Rig, cable: Cable, leg: Leg, rated: Ratings) -> tuple[Words, Words]:
    """Return the words for the two ends of a leg, which always differ."""
    assert leg.second is not None
    first, second = _place(rig, leg.first), _place(rig, leg.second)
    facts = _facts(cable, leg, rated)
    return (
        _words(rig, cable, _ground(rig, cable, leg, leg.first) + first, end_id(leg, leg.first), second, facts),
        _words(
            rig, cable, _ground(rig, cable, leg, leg.second) + second, end_id(leg, leg.second), first, facts
        ),
    )


def end_id(leg: Leg, end: End) -> str:
    """Return the name of one end of a leg, used on its label and wherever that plug is meant."""
    return f"{leg.id}-{'A' if end == leg.first else 'B'}"


def _words(rig: Rig, cable: Cable, here: str, name: str, other: str, facts: tuple[str, ...]) -> Words:
    lasting = f"→ {other}{_length(cable)}"
    there = f"{lasting}, rev {rig.revision}" if rig.revision else lasting
    return Words(here, name, there, lasting, facts)


def _place(rig: Rig, end: End) -> str:
    return f"{rig.units[end.unit].label} {rig.port(end).label}"


def _length(cable: Cable) -> str:
    return f", {millimetres(cable.length)}" if cable.length else ""


def _facts(cable: Cable, leg: Leg, rated: Ratings) -> tuple[str, ...]:
    """Return volts and amperes, then a core that is cut on purpose, then what to compare before plugging in."""
    build = cable.build
    cut = [f"{core} cut" for core in ("plus", "ground") if core in cable.power.cuts]
    own = ["EXACT"] if build.swap == "exact" else []
    mark = [f"mark: {build.mark}"] if build.mark else []
    return (*rated.get(leg.id, ()), *cut, *own, *mark)


def _ground(rig: Rig, cable: Cable, leg: Leg, end: End) -> str:
    """Return the ground mark for a plug without a key.

    It is on a servo port, or on another port with the same connector.
    """
    ports = rig.units[end.unit].model.ports
    servo = {port.connector for port in ports.values() if rig.signals[port.signal].kind == SERVO}
    plugs = cable.build.plugs
    plug = ports[end.port].connector or (plugs[0 if end == leg.first else 1] if plugs else None)
    return f"{GROUND} " if rig.signal_at(end).kind == SERVO or (plug and plug in servo) else ""


def _is_power(rig: Rig, leg: Leg) -> bool:
    return rig.signal_at(leg.first).powers


# ---- labels --------------------------------------------------------------------------------------------------


def cable_labels(face: Typeface, rig: Rig, rated: Ratings | None = None) -> list[Label]:
    """Make labels for both ends of every leg, in the order of the file.

    `rated`: the ratings, if already known.
    """
    rated = ratings(rig) if rated is None else rated
    return [
        _label(face, rig, cable, words.id, words)
        for cable, leg in _legs(rig)
        for words in end_words(rig, cable, leg, rated)
    ]


def _legs(rig: Rig) -> list[tuple[Cable, Leg]]:
    return [(cable, leg) for cable in rig.cables.values() for leg in cable.legs]


def spare_lead_labels(face: Typeface, rig: Rig, rated: Ratings | None = None) -> list[Label]:
    """Make labels for both ends of every packed spare lead: its own id, and the lead that it replaces."""
    rated = ratings(rig) if rated is None else rated
    return [
        label
        for cable in rig.cables.values()
        for number in range(1, cable.build.spares + 1)
        for leg in cable.legs
        for label in _spare(face, rig, cable, leg, rated, f"{cable.name}-S{number}{leg.id[len(cable.name) :]}")
    ]


def spare_labels(face: Typeface, rig: Rig, rated: Ratings | None = None) -> list[Label]:
    """Make labels, with room for a number, for spares made on the day, up to the spare share of all legs.

    Packed spare leads count first, because they have their own labels. Every power lead without a spare gets
    one at least; leads that move come next, then the others.
    """
    if not rig.spares:
        return []
    rated = ratings(rig) if rated is None else rated
    legs = _legs(rig)
    packed = sum(cable.build.spares for cable, _ in legs)
    bare = [pair for pair in legs if not pair[0].build.spares]
    power = sum(_is_power(rig, leg) for _, leg in bare)
    count = max(power, ceil(rig.spares / 100 * len(legs)) - packed)
    order = sorted(
        bare, key=lambda pair: (not _is_power(rig, pair[1]), not (pair[0].moving or pair[0].airborne))
    )
    return [label for cable, leg in order[:count] for label in _spare(face, rig, cable, leg, rated, "")]


def _spare(face: Typeface, rig: Rig, cable: Cable, leg: Leg, rated: Ratings, own: str) -> list[Label]:
    """Make labels for both ends of a spare with its own id, or room for its number: swaps are traceable."""
    assert leg.second is not None
    labels = []
    for end, letter in ((leg.first, "A"), (leg.second, "B")):
        here = f"{_ground(rig, cable, leg, end)}SPARE FOR {leg.id}"
        small = f"{_place(rig, end)}{_length(cable)}"
        name = f"{own or f'{_prefix(leg.id)}__'}-{letter}"
        words = Words(here, name, small, small, _facts(cable, leg, rated))
        labels.append(_label(face, rig, cable, name if own else f"{leg.id}-{letter} spare", words))
    return labels


def _prefix(name: str) -> str:
    """Return the letters for the kind of a lead: W, P, V ..."""
    found = re.sub("[^A-Za-z].*", "", name)
    return found if len(found) <= 3 else found[0]


def _label(face: Typeface, rig: Rig, cable: Cable, name: str, words: Words) -> Label:
    assert cable.jacket is not None
    diameter = float(cable.jacket)
    moves = cable.moving or cable.airborne
    made = None
    if moves or diameter >= WRAP_FROM:
        made = _wrap(face, words, diameter, _along_cable(rig, diameter), moves)
    if made is None:
        room = cell_room(rig.sheet)[0] if rig.sheet else WIDEST_WRAP
        made = (
            _sleeve(face, words, diameter, min(room, WIDEST_WRAP))
            if moves
            else _flag(face, words, diameter, room)
        )
    form, width, height, marks = made
    alone = (words.id, f"{GROUND} {words.id}")
    whole = any(isinstance(mark, Text) and mark.text not in alone for mark in marks)
    says = (words.here, words.id, words.lasting, *words.facts, form, str(cable.jacket))
    return Label(name, form, width, height, marks, says, whole)


def _along_cable(rig: Rig, diameter: float) -> float:
    """Return the most mm that a wrap may take along the cable: a cell's width, or its height when turned."""
    if rig.sheet is None:
        return WIDEST_WRAP
    width, height = cell_room(rig.sheet)
    zone = printed_zone(diameter)
    film = (zone and wrap_length(diameter, zone)) or 0
    return min(WIDEST_WRAP, height if height < film <= width else width)


Made = tuple[str, float, float, tuple[Mark, ...]]  # form, width, height, marks


def _flag(face: Typeface, words: Words, diameter: float, widest: float = WIDEST_WRAP) -> Made:
    """Make a flag with the shortest face that holds the words, or the longest that `widest` mm allow."""
    for number, length in enumerate(FACES):
        if number and flag_length(diameter, length) > widest:
            break
        lines = _flag_lines(face, words, length)
        if text_height(lines) <= TALL_FLAG:
            break
    widest = max(face.width(text, size, bold) for text, size, bold in lines)
    length = max(FLAG_FACE, float(ceil(widest + 2 * EDGE)))
    height = text_height(lines) + 2 * EDGE
    marks = _flag_frame(diameter, length, height)
    for x in (0.0, _second_face(diameter, length)):
        marks += _stacked(face, lines, x, (height - text_height(lines)) / 2, length)
    return "flag", float(flag_length(diameter, length)), height, tuple(marks)


def _second_face(diameter: float, length: float) -> float:
    return flag_length(diameter, length) - length


def _flag_frame(diameter: float, length: float, height: float) -> list[Mark]:
    """Return the cut line, and ticks where the faces end."""
    marks = outline(flag_length(diameter, length), height)
    for x in (length, _second_face(diameter, length)):
        marks.append(Line(((x, 0), (x, 1.2)), 0.15))
        marks.append(Line(((x, height - 1.2), (x, height)), 0.15))
    return marks


def _flag_lines(face: Typeface, words: Words, length: float) -> list[SET]:
    room = length - 2 * EDGE
    parts: list[Part] = [((words.here,), 8.0, True), ((words.id,), 7.0, True), (words.facts, 6.5, False)]
    return _set(face, [*parts, ((words.there,), 6.5, False)], room)


Part = tuple[Sequence[str], float, bool]  # words set one after the other, size, whether bold


def _set(face: Typeface, parts: Sequence[Part], room: float) -> list[SET]:
    """Set each part on new lines; the words of a part share a line while they fit."""
    return [
        (line, size, bold)
        for texts, size, bold in parts
        for text in gathered(face, texts, size, room, bold, BETWEEN)
        for line in wrap(face, text, size, room, bold=bold)
    ]


def _stacked(
    face: Typeface, lines: Sequence[SET], x: float, top: float, width: float, between: float = 0.0
) -> list[Mark]:
    marks: list[Mark] = []
    for text, size, bold in lines:
        marks.append(text_at(face, x, top, text, size, bold=bold, align="centre", width=width))
        top += line_height(size) + between
    return marks


def _wrap(face: Typeface, words: Words, diameter: float, widest: float, moves: bool) -> Made | None:
    """Make a wrap.

    Returns None if no wrap fits round the cable, or if it would not hold all words of a still cable, which may
    have a flag.
    """
    zone = printed_zone(diameter)
    if zone is None:
        return None
    room = zone - EDGE  # the cut is at the top of the zone, the tail at its foot
    lines, complete = _along(face, words, room, widest - 2 * EDGE, again=line_height(SMALLEST))
    if not complete and not moves:
        return None
    for size in (
        8.0,
        7.0,
        SMALLEST,
    ):  # repeat the id so that one copy faces up, always smaller than the first line
        if lines[0][0] != words.id and size >= lines[0][1] > SMALLEST:
            continue
        added = 0
        while (
            _closed(lines) + line_height(size) - TIGHT <= room
            and face.width(words.id, size, True) <= widest - 2 * EDGE
        ):
            lines.append((words.id, size, True))
            added += 1
        if added:
            break
    between = (room - text_height(lines)) / len(lines)
    width = _width(face, lines, widest)
    total = wrap_length(diameter, zone)
    assert total is not None
    top = EDGE + (room - text_height(lines) - between * (len(lines) - 1)) / 2
    marks = [*_wrap_frame(width, total, zone), *_stacked(face, lines, 0, top, width, between)]
    return "wrap", width, float(total), tuple(marks)


def _wrap_frame(width: float, total: float, zone: float) -> list[Mark]:
    """Return the cut line, and ticks where the clear tail begins."""
    ticks = [Line(((x, zone), (x + 1.2, zone)), 0.15) for x in (0.0, width - 1.2)]
    return [*outline(width, total), *ticks]


def _sleeve(face: Typeface, words: Words, diameter: float, widest: float) -> Made:
    height = sleeve_height(diameter)
    lines, _ = _along(face, words, height - 2 * EDGE, widest - 2 * EDGE)
    width = _width(face, lines, widest)
    top = (height - text_height(lines)) / 2
    return "sleeve", width, height, (*outline(width, height), *_stacked(face, lines, 0, top, width))


def _width(face: Typeface, lines: Sequence[SET], widest: float) -> float:
    """Return the width in whole mm for the longest line and both edges, at most `widest`."""
    needed = max(face.width(text, size, bold) for text, size, bold in lines) + 2 * EDGE
    return max(needed, min(float(ceil(needed)), widest))


def _closed(lines: list[SET]) -> float:
    """Return the height in mm of lines set as tightly as a low wrap allows."""
    return text_height(lines) - TIGHT * len(lines)


def _along(
    face: Typeface, words: Words, height: float, width: float, again: float = 0.0
) -> tuple[list[SET], bool]:
    """Set words along the cable, as large as height and width allow; also return whether all of them fit.

    With `again`, a choice that leaves so many mm for a second id comes first. If words must go, the place of
    the other end goes first, then the place of this plug; the id always stays.
    """
    fitting: list[SET] = []
    for parts in _choices(words, height):
        lines = _set(face, parts, width)
        if again and _closed(lines) + again - TIGHT <= height:
            return lines, True
        if not fitting and _closed(lines) <= height:
            fitting = lines
            if not again:
                break
    if fitting:
        return fitting, True
    marked = words.here.startswith(GROUND)
    both = (f"{words.here}{BETWEEN}{words.id}",)
    less: list[Part] = [(both, 7.0, True), (both, 6.0, True)]
    less += [((f"{GROUND} {words.id}" if marked else words.id,), size, True) for size in (8.0, 7.0, SMALLEST)]
    for part in less:
        lines = _set(face, [part], width)
        if _closed(lines) <= height:
            return lines, False
    return [(words.id, SMALLEST, True)], False


def _choices(words: Words, height: float) -> Iterator[list[Part]]:
    """Yield ways to set all words, the largest first; this plug's place comes first, larger than the id."""
    large = next(size for least, size in ((23.0, 12.0), (17.0, 10.0), (0.0, 8.0)) if height >= least)
    for size, below, small, last in ((large, large - 1.0, 7.0, 6.5), (8.0, 7.0, 6.5, 6.0)):
        yield [
            ((words.here,), size, True),
            ((words.id,), below, True),
            (words.facts, small, False),
            ((words.there,), last, False),
        ]
    joined = (f"{words.id}{' ' if words.there.startswith('→') else BETWEEN}{words.there}", *words.facts)
    for size in (8.0, 7.0):
        yield [((words.here,), size, True), ((words.id, *words.facts), 6.5, True), ((words.there,), 6.0, False)]
        yield [((words.here,), size, True), (joined, 6.0, False)]


# ---- blanks --------------------------------------------------------------------------------------------------


def blank_labels(face: Typeface, rig: Rig, made: Sequence[Label] | None = None) -> list[Label]:
    """Make labels to write on, A and B in turn, in the form and size of most of the rig's leads.

    `made`: the labels of its cables, if already laid out.
    """
    if not rig.spares:
        return []
    made = cable_labels(face, rig) if made is None else made
    found = Counter(
        (label.form, cable.jacket or Fraction(0), _prefix(leg.id))
        for (cable, leg), label in zip(_legs(rig), made[::2], strict=True)
    )
    if not found:
        return []
    (form, jacket, letters), _ = found.most_common(1)[0]
    return [
        _blank(face, rig, form, float(jacket), f"blank {number}", f"{letters}__-{'BA'[number % 2]}")
        for number in range(1, BLANKS + 1)
    ]


def _blank(face: Typeface, rig: Rig, form: str, diameter: float, name: str, text: str) -> Label:
    room = (
        _along_cable(rig, diameter) if form == "wrap" else cell_room(rig.sheet)[0] if rig.sheet else BLANK_WIDTH
    )
    width = min(BLANK_WIDTH, room)
    if form == "flag":
        total, height = float(flag_length(diameter, FLAG_FACE)), TALL_FLAG
        marks = _flag_frame(diameter, FLAG_FACE, height)
        for x in (0.0, _second_face(diameter, FLAG_FACE)):
            marks += _to_write(face, text, x + EDGE, FLAG_FACE - 2 * EDGE, height - 2 * EDGE)
    elif form == "wrap" and (zone := printed_zone(diameter)) and (film := wrap_length(diameter, zone)):
        total, height = width, float(film)
        marks = [*_wrap_frame(width, height, zone), *_to_write(face, text, EDGE, width - 2 * EDGE, zone - EDGE)]
    else:
        total, height = width, sleeve_height(diameter)
        marks = [*outline(width, height), *_to_write(face, text, EDGE, width - 2 * EDGE, height - 2 * EDGE)]
    return Label(name, form, total, height, tuple(marks), (text, form, str(round(diameter, 3))))


def _to_write(face: Typeface, text: str, x: float, width: float, height: float) -> list[Mark]:
    """Set an id to complete, from the edge, with ruled lines below it, or beside it if the label is low."""
    size = 10.0 if height >= line_height(10.0) else SMALLEST
    marks: list[Mark] = [text_at(face, x, EDGE, text, size, bold=True)]
    below = EDGE + line_height(size) + 3.5
    if below > EDGE + height:
        left = x + face.width(text, size, True) + 2.0
        y = EDGE + min(line_height(size), height) - 0.3
        return [*marks, Line(((left, y), (x + width, y)), 0.15)]
    while below <= EDGE + height:
        marks.append(Line(((x, below), (x + width, below)), 0.15))
        below += 4.5
    return marks
