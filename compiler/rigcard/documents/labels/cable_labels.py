"""Labels for both ends of every cable leg and for spare leads, and blank labels.

A flag has two faces back to back and one turn round the jacket. A wrap has a printed zone and a clear tail that
covers it. A sleeve is a strip once round the cable under clear tube, shrunk on before the plug. The choice for
each cable is common practice, no source: nothing that moves or flies has a flag, which would flutter and snag.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from math import ceil

from rigcard.documents.base.model import Line, Mark, Typeface, moved
from rigcard.documents.labels.frame import EDGE, Label, cell_room, outline
from rigcard.documents.labels.geometry import (
    flag_length,
    girth,
    printed_zone,
    sizes_for,
    sleeve_height,
    wrap_length,
)
from rigcard.documents.labels.ratings import Ratings, ratings
from rigcard.documents.labels.reel_labels import blank_on_reel, cable_on_reel
from rigcard.documents.labels.setting import (
    ALL,
    ID_ALONE,
    Made,
    Sizes,
    all_texts,
    around,
    height_of,
    placed,
    rows_of,
    to_write,
    unbroken,
    width_of,
)
from rigcard.documents.labels.words import Words, end_id, end_words, kind_letters, spare_words
from rigcard.resolve.model import Cable, Leg, Rig

__all__ = ["blank_labels", "cable_labels", "end_id", "spare_labels", "spare_lead_labels"]

FACES = (25.0, 30.0, 35.0, 40.0, 45.0, 50.0)  # lengths of a flag's face
LOWEST_FLAG, LOW_FLAG = 8.0, 10.0  # mm of height of a flag whose words fit the shortest face
FLAG_SIZES = (Sizes(9.0, 7.0, 6.0), Sizes(8.0, 7.0, 6.0), Sizes(8.0, 6.0, 6.0))
FEWEST_ROWS = 2  # where the plug goes; the id and all else: no longer face makes a lower flag
WIDEST_WRAP = 150.0  # mm along the cable
WRAP_FROM = 4.5  # mm of jacket diameter from which a still cable has wraps
BLANKS = 4
BLANK_WIDTH, BLANK_HEIGHT = 50.0, 16.0  # mm; the height is that of a flag


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


def _is_power(rig: Rig, leg: Leg) -> bool:
    return rig.signal_at(leg.first).powers


def _spare(face: Typeface, rig: Rig, cable: Cable, leg: Leg, rated: Ratings, own: str) -> list[Label]:
    return [
        _label(face, rig, cable, words.id if own else f"{leg.id}-{letter} spare", words)
        for letter, words in zip("AB", spare_words(rig, cable, leg, rated, own), strict=True)
    ]


def _label(face: Typeface, rig: Rig, cable: Cable, name: str, words: Words) -> Label:
    assert cable.jacket is not None
    diameter = float(cable.jacket)
    moves = cable.moving or cable.airborne
    if rig.reel:
        made = cable_on_reel(face, rig.reel, words, diameter, moves)
    else:
        made = _made(face, rig, words, diameter, moves)
    form, width, height, marks, says = made
    code = (words.marked, words.id, words.there, words.length, *words.facts, form, str(cable.jacket))
    return Label(name, form, width, height, marks, code, says != ID_ALONE)


def _made(face: Typeface, rig: Rig, words: Words, diameter: float, moves: bool) -> Made:
    """Make a wrap, or what takes its place: a flag on a cable that lies still, a sleeve on one that moves."""
    if moves or diameter >= WRAP_FROM:
        made = _wrap(face, words, diameter, _along_cable(rig, diameter), moves)
        if made is not None:
            return made
    room = cell_room(rig.sheet)[0] if rig.sheet else WIDEST_WRAP
    if moves:
        return _sleeve(face, words, diameter, min(room, WIDEST_WRAP))
    return _flag(face, words, diameter, room)


def _along_cable(rig: Rig, diameter: float) -> float:
    """Return the most mm that a wrap may take along the cable: a cell's width, or its height when turned."""
    if rig.sheet is None:
        return WIDEST_WRAP
    width, height = cell_room(rig.sheet)
    zone = printed_zone(diameter)
    film = (zone and wrap_length(diameter, zone)) or 0
    return min(WIDEST_WRAP, height if height < film <= width else width)


# ---- forms ---------------------------------------------------------------------------------------------------


def _flag(face: Typeface, words: Words, diameter: float, widest: float = WIDEST_WRAP) -> Made:
    """Make a flag as small as its words allow, at most `widest` mm long.

    The largest type that makes a low flag with the shortest face comes first, then the least film. Both faces
    bear the words, and the first one alone the mark of the ground side.
    """
    length, sizes = _smallest_flag(face, words, diameter, widest)
    room = length - 2 * EDGE
    first, second = (rows_of(face, words, sizes, room, here) for here in (words.marked, words.here))
    length = max(FACES[0], float(ceil(max(width_of(face, first), width_of(face, second)) + 2 * EDGE)))
    height = max(LOWEST_FLAG, height_of(first) + 2 * EDGE)
    marks = _flag_frame(diameter, length, height)
    for rows, x in ((first, 0.0), (second, _second_face(diameter, length))):
        marks += placed(face, rows, x, (height - height_of(rows)) / 2, length)
    return "flag", float(flag_length(diameter, length)), height, tuple(marks), ALL


def _smallest_flag(face: Typeface, words: Words, diameter: float, widest: float) -> tuple[float, Sizes]:
    """Return the length of the face, and the type sizes, of the smallest flag that holds the words."""
    room = FACES[0] - 2 * EDGE
    for sizes in FLAG_SIZES:
        low = height_of(rows_of(face, words, sizes, room, words.marked)) + 2 * EDGE <= LOW_FLAG
        if low and unbroken(face, all_texts(words, sizes), room):
            return FACES[0], sizes
    sizes = FLAG_SIZES[-1]  # no larger type takes less film
    found: list[tuple[bool, float, float]] = []
    for length in FACES:
        if found and flag_length(diameter, length) > widest:
            break
        rows = rows_of(face, words, sizes, length - 2 * EDGE, words.marked)
        broken = not unbroken(face, all_texts(words, sizes), length - 2 * EDGE)
        found.append((broken, (height_of(rows) + 2 * EDGE) * flag_length(diameter, length), length))
        if len(rows) == FEWEST_ROWS:
            break
    return min(found)[2], sizes


def _second_face(diameter: float, length: float) -> float:
    return flag_length(diameter, length) - length


def _flag_frame(diameter: float, length: float, height: float) -> list[Mark]:
    """Return the cut line, and ticks where the faces end."""
    marks = outline(flag_length(diameter, length), height)
    for x in (length, _second_face(diameter, length)):
        marks.append(Line(((x, 0), (x, 1.2)), 0.15))
        marks.append(Line(((x, height - 1.2), (x, height)), 0.15))
    return marks


def _wrap(face: Typeface, words: Words, diameter: float, widest: float, moves: bool) -> Made | None:
    """Make a wrap.

    Returns None if no wrap fits round the cable, or if it would not hold all words of a still cable, which may
    have a flag.
    """
    zone = printed_zone(diameter)
    if zone is None:
        return None
    room = (widest - 2 * EDGE, zone - EDGE)  # the cut is at the top of the zone, the tail at its foot
    content = around(face, words, room, girth(diameter), sizes_for(diameter))
    if content.says != ALL and not moves:
        return None
    width = _width(content.width, widest)
    total = wrap_length(diameter, zone)
    assert total is not None
    left = (width - content.width) / 2
    marks = (*_wrap_frame(width, total, zone), *(moved(mark, left, EDGE) for mark in content.marks))
    return "wrap", width, float(total), marks, content.says


def _wrap_frame(width: float, total: float, zone: float) -> list[Mark]:
    """Return the cut line, and ticks where the clear tail begins."""
    ticks = [Line(((x, zone), (x + 1.2, zone)), 0.15) for x in (0.0, width - 1.2)]
    return [*outline(width, total), *ticks]


def _sleeve(face: Typeface, words: Words, diameter: float, widest: float) -> Made:
    height = sleeve_height(diameter)
    room = (widest - 2 * EDGE, height - 2 * EDGE)
    content = around(face, words, room, girth(diameter), sizes_for(diameter))
    width = _width(content.width, widest)
    height = max(height, content.height + 2 * EDGE)
    left = (width - content.width) / 2
    marks = (*outline(width, height), *(moved(mark, left, EDGE) for mark in content.marks))
    return "sleeve", width, height, marks, content.says


def _width(needed: float, widest: float) -> float:
    """Return the width in whole mm for words and both edges, at most `widest`."""
    needed += 2 * EDGE
    return max(needed, min(float(ceil(needed)), widest))


# ---- blanks --------------------------------------------------------------------------------------------------


def blank_labels(face: Typeface, rig: Rig, made: Sequence[Label] | None = None) -> list[Label]:
    """Make labels to write on, A and B in turn, in the form and size of most of the rig's leads.

    `made`: the labels of its cables, if already laid out.
    """
    if not rig.spares:
        return []
    made = cable_labels(face, rig) if made is None else made
    found = Counter(
        (label.form, cable.jacket or Fraction(0), kind_letters(leg.id))
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
    says = (text, form, str(round(diameter, 3)))
    if rig.reel:
        width, height, marks = blank_on_reel(face, rig.reel, text, diameter, form)
        return Label(name, form, width, height, marks, says)
    room = (
        _along_cable(rig, diameter) if form == "wrap" else cell_room(rig.sheet)[0] if rig.sheet else BLANK_WIDTH
    )
    width = min(BLANK_WIDTH, room)
    if form == "flag":
        total, height = float(flag_length(diameter, FACES[0])), BLANK_HEIGHT
        drawn = _flag_frame(diameter, FACES[0], height)
        for x in (0.0, _second_face(diameter, FACES[0])):
            drawn += to_write(face, text, (x + EDGE, EDGE), (FACES[0] - 2 * EDGE, height - 2 * EDGE))
    elif form == "wrap" and (zone := printed_zone(diameter)) and (film := wrap_length(diameter, zone)):
        total, height = width, float(film)
        drawn = _wrap_frame(width, height, zone)
        drawn += to_write(face, text, (EDGE, EDGE), (width - 2 * EDGE, zone - EDGE))
    else:
        total, height = width, sleeve_height(diameter)
        drawn = outline(width, height)
        drawn += to_write(face, text, (EDGE, EDGE), (width - 2 * EDGE, height - 2 * EDGE))
    return Label(name, form, total, height, tuple(drawn), says)
