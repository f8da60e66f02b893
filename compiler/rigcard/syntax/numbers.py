"""Numbers as people write them elsewhere, and what they are in the language: fractions, commas, words for units."""

import re
from collections.abc import Set
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from rigcard.syntax.vocabulary import IMPERIAL, SCALES, UNIT_WORDS, UNITS

MOST_DIGITS, MOST_DECIMALS = 9, 6  # of a number, as the grammar has them
_SIGN = r"[-+−]?"
_UNIT_OF = {word: unit for unit, words in UNIT_WORDS.items() for word in words}
_WRITTEN = "|".join(re.escape(unit) for unit in sorted((*UNITS, *_UNIT_OF), key=len, reverse=True))
_UNIT = rf"(?P<gap>[ \t]*)(?P<unit>{_WRITTEN})(?![\w%/²-])"
_FORMS = (  # most telling first; what the number is, and what is said of it
    (re.compile(rf"(?P<sign>{_SIGN})(?P<over>\d+)/(?P<under>[1-9]\d*){_UNIT}", re.IGNORECASE), "fraction"),
    (re.compile(rf"(?P<sign>{_SIGN})\.(?P<part>\d+){_UNIT}", re.IGNORECASE), "no digit"),
    (
        re.compile(rf"(?P<sign>{_SIGN})(?P<whole>\d{{1,3}}(?:\.\d{{3}})+),(?P<part>\d+){_UNIT}", re.IGNORECASE),
        "thousands",
    ),
    (
        re.compile(rf"(?P<sign>{_SIGN})(?P<whole>\d{{1,3}}(?:,\d{{3}})+)\.(?P<part>\d+){_UNIT}", re.IGNORECASE),
        "thousands",
    ),
    (
        re.compile(
            rf"(?P<sign>{_SIGN})(?P<whole>\d{{1,3}}(?:[ \u00a0\u202f'’]\d{{3}})+)(?:[.,](?P<part>\d+))?{_UNIT}",
            re.IGNORECASE,
        ),
        "thousands",
    ),
    (re.compile(rf"(?P<sign>{_SIGN})(?P<whole>\d+)[·٫](?P<part>\d+){_UNIT}", re.IGNORECASE), "mark"),
    (re.compile(rf"(?P<sign>{_SIGN})(?P<whole>\d+),(?P<part>\d+){_UNIT}", re.IGNORECASE), "comma"),
    (re.compile(rf"(?P<sign>{_SIGN})(?P<whole>\d+)(?:\.(?P<part>\d+))?{_UNIT}", re.IGNORECASE), "unit"),
)
_NUMBER = r"[-+−]?\d+(?:\.\d+)?"
_RANGE = re.compile(
    rf"(?P<low>{_NUMBER})(?P<mine>[a-zA-Z%µμ]*)[ \t]*(?P<sign>-|–|—|−|~|…|to|bis|\.\.)[ \t]*(?P<high>{_NUMBER})[ \t]*(?P<unit>[a-zA-Z%µμ]+)"
)
_AROUND = re.compile(
    r"(?:±|\+/-|\+-|-/\+)[ \t]*(?P<high>\d+(?:\.\d+)?)(?:[ \t]*(?P<unit>%|[a-zA-Zµμ]+)(?!\w))?"
)
_CLOCK = re.compile(r"(?P<hours>\d{1,2})[ \t]*[:h][ \t]*(?P<minutes>[0-5]\d)(?:[ \t]*(?:min|m|h))?(?!\w)")
_BETWEEN_CLOCKS = re.compile(r"[ \t]*(?:-|–|—|to|\.\.)[ \t]*")


class Meant(NamedTuple):
    """What is written, how the language writes it ("" if it cannot), and what is said of it."""

    written: str
    number: str
    cause: str


def meant(text: str, at: int) -> Meant | None:
    """The number at a place that is written in another manner than the language's; None if none is."""
    for pattern, form in _FORMS:
        if match := pattern.match(text, at):
            return _meant(match, form)
    return None


def _meant(match: re.Match[str], form: str) -> Meant | None:
    parts = match.groupdict()
    written = match[0]
    unit = _unit(parts["unit"])
    sign = parts["sign"]
    if form == "fraction":
        value = Fraction(int(parts["over"]), int(parts["under"]))
        exact = Decimal(value.numerator) / Decimal(value.denominator)
        number = f"{sign}{exact:f}{unit}" if Fraction(exact) == value else ""
        return Meant(written, number, f"{written} is a fraction, and a number has a decimal point")
    digits = re.sub(r"\D", "", parts.get("whole") or "0")
    number = f"{sign}{digits}" + (f".{parts['part']}" if parts.get("part") else "") + unit
    if form == "comma" and len(parts["part"]) == 3 and "," in written:
        return None  # a decimal mark or one of thousands: a person has to say
    if number == written:
        return None
    causes = {
        "no digit": f"{written} has no digit before its point",
        "thousands": f"{written} is parted into thousands, and a number has a decimal point only",
        "mark": f"{written} has another decimal mark, and the decimal mark is a point",
        "comma": f"{written} is written with a comma, and the decimal mark is a point",
    }
    cause = causes.get(form) or _of_unit(parts["unit"], unit, written, bool(parts["gap"]))
    return Meant(written, number, cause)


def _unit(written: str) -> str:
    """The unit of the language for one as people write it."""
    if written in UNITS:
        return written
    small = {unit.lower(): unit for unit in UNITS}
    return _UNIT_OF.get(written.lower()) or small.get(written.lower()) or written


def _of_unit(written: str, unit: str, number: str, apart: bool) -> str:
    if written in UNITS and apart:
        return f"{number} has a space before its unit"
    if written.lower() == unit:
        return f"the unit `{unit}` is written in small letters"
    if written.lower() == unit.lower():
        return f"the unit `{unit}` is written with its capital"
    return f"`{written}` is written {unit}"


def range_meant(text: str, at: int) -> Meant | None:
    """The range that is written at a place in another manner than with two dots; None if none is."""
    if around := _AROUND.match(text, at):
        unit = around["unit"] or ""
        high = around["high"] + (_unit(unit) if _unit(unit) in UNITS else "")
        whole = around[0] if high != around["high"] else text[at : around.end("high")]
        return Meant(whole, f"-{high}..{high}", "a range is written with two dots")
    found = _RANGE.match(text, at)
    if found is None:
        return None
    unit = _unit(found["unit"])
    if unit not in UNITS or (found["mine"] and _unit(found["mine"]) != unit):
        return None
    number = f"{found['low']}{unit}..{found['high']}{unit}"
    if number == found[0]:
        return None
    if found["sign"] == "..":
        mine = found["mine"]
        cause = _of_unit(mine, unit, found[0], False) if mine else f"{found['low']} has no unit"
        return Meant(found[0], number, cause)
    return Meant(found[0], number, "a range is written with two dots")


def hours_meant(text: str, at: int) -> Meant | None:
    """The hours that are written at a place as on a clock: how long, or from when to when; None if none are."""
    first = _CLOCK.match(text, at)
    if first is None:
        return None
    between = _BETWEEN_CLOCKS.match(text, first.end())
    second = _CLOCK.match(text, between.end()) if between else None
    minutes = _minutes(first) if second is None else (_minutes(second) - _minutes(first)) % (24 * 60)
    number = f"{minutes / 60:g}h" if minutes % 15 == 0 else f"{minutes}min"
    written = text[at : (second or first).end()]
    return Meant(written, number, f"{written} is written as on a clock, and a number of hours belongs here")


def _minutes(clock: re.Match[str]) -> int:
    return int(clock["hours"]) * 60 + int(clock["minutes"])


def converted(number: Decimal, unit: str, units: Set[str]) -> str:
    """A number in the first of some other units of the same quantity that holds it; empty if none does.

    One that has to be rounded is rounded to a whole number.
    """
    for scale in SCALES if unit not in units else ():
        for other in sorted(units & scale.keys(), key=lambda one: -scale[one]):
            if unit in scale and unit != other:
                value = number * scale[unit] / scale[other]
                if value == round(value, MOST_DECIMALS) and abs(value) >= 1:
                    return f"{value.normalize():f}{other}"
    if unit in IMPERIAL and IMPERIAL[unit][1] in units:
        size, other, less = IMPERIAL[unit]
        return f"{round((float(number) - less) * size)}{other}"
    return ""


class TooLong(NamedTuple):
    """A number with too many digits: how many characters it has, the cause, and what to do."""

    length: int
    cause: str
    hint: str


def too_long(written: str) -> TooLong | None:
    """What to say of a number that is right but for its many digits; None for any other text."""
    number = re.match(r"[-+−]?(\d+)(?:\.(\d+))?", written)
    if not number:
        return None
    whole, part = len(number[1]), len(number[2] or "")
    if whole > MOST_DIGITS:
        cause = f"this number has {whole} digits, and the most is {MOST_DIGITS}"
        return TooLong(number.end(), cause, "write a smaller number")
    if part > MOST_DECIMALS:
        cause = f"this number has {part} digits after its point, and the most is {MOST_DECIMALS}"
        return TooLong(
            number.end(), cause, f"write {number[0][: MOST_DECIMALS - part]}{written[number.end() :]}"
        )
    return None
