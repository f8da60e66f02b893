"""Explains numbers that lack their unit, have a wrong one, or are written in another notation."""

import re
from decimal import Decimal
from typing import NamedTuple

from rigcard.diagnostics import Diagnostic, Edit
from rigcard.syntax import codes, facts, numbers
from rigcard.syntax.place import Place
from rigcard.syntax.vocabulary import QUANTITIES, UNITS
from rigcard.words import listed_or

MOST_PERCENT = 200  # that an example has
_NUMBER = re.compile(r"[-+−]?\d+(?:\.\d+)?")
_SECOND = re.compile(r"([ \t]*(?:\.\.|/)[ \t]*)([-+−]?\d+(?:\.\d+)?)(?![\w%.])")  # of a range or a pair
_APART = re.compile(r"[ \t]+([A-Za-zµ°][A-Za-z/°]*)(?![\w-])")  # what may be a unit behind a space
_COMMA_NUMBER = re.compile(r"([-+−]?\d+),(\d+)([a-zA-Z%µμ]+[²2]?)")
_GAUGE = re.compile(r"\d{1,2}[ \t]*(?:AWG|gauge|ga)(?![\w-])", re.IGNORECASE)
_CORES = re.compile(r"\d{1,2}[ \t]*[x×*][ \t]*(\d+(?:\.\d+)?mm[2²]|AWG\d{1,2})(?!\w)")


class _Said(NamedTuple):
    """What is said of a number: the cause, and what to write, or a remedy in words; over how many characters."""

    cause: str
    new: str
    length: int
    hint: str = ""


def too_long(place: Place) -> Diagnostic | None:
    """A number with more digits than the language takes."""
    found = numbers.too_long(place.found) if place.expected & QUANTITIES.keys() else None
    return found and Diagnostic(codes.WRONG_UNIT, place.span(place.at, found.length), found.cause, found.hint)


def wrong_number(place: Place) -> Diagnostic | None:
    """Numbers that lack their unit, have a wrong one, or are written in another notation."""
    quantities = [name for name in QUANTITIES if name in place.expected]
    if not quantities:
        return None
    if found := _in_another_manner(place):
        return found
    number = _NUMBER.match(place.found)
    if number is None:
        return None
    said = _said(place, quantities, number[0])
    span = place.span(place.at, said.length)
    unsigned = number[0][0] in "-−" and said.new[:1].isdigit()  # a person has to say that the sign goes
    edits = (Edit(span, said.new),) if said.new and not unsigned else ()
    return Diagnostic(codes.WRONG_UNIT, span, said.cause, said.hint or f"write {said.new}", edits=edits)


def _said(place: Place, quantities: list[str], number: str) -> _Said:
    """What to say of a number that stands in place of one of some quantities."""
    found, first = place.found, quantities[0]
    wanted, example = QUANTITIES[first]
    mine = example.lstrip("0123456789.")  # the unit of the example
    unit, written, length = found[len(number) :], found, len(found)
    units = facts.units_of(first)
    if unit not in units and not facts.may_be_below_zero(first):
        number = number.lstrip("-+−")  # a remedy is of no use with it
    likely = first != "PERCENT" or _value(number) <= MOST_PERCENT
    near_example = f"write {wanted} such as {f'{number}{mine}' if likely else example}"
    after = place.source.text[place.base + place.at + length :][:1]
    apart = _APART.match(place.text, place.at + length)
    if apart and not unit and first != "INT" and apart[1] not in facts.fixed_words():
        unit, written, length = apart[1], written + apart[0], length + len(apart[0])

    if comma := _COMMA_NUMBER.match(place.text, place.at):  # a decimal mark or one of thousands
        whole, part, unit = comma.groups()
        cause = f"{comma[0]} is written with a comma, and the decimal mark is a point"
        hint = f"write {whole}.{part}{unit}, or {whole}{part}{unit} if the comma parts thousands"
        return _Said(cause, "", len(comma[0]), hint)
    if "LENGTH" in quantities and (unit == "in" or after == '"'):
        length += unit != "in"  # the inch sign belongs to the number
        return _Said("the length is given in inches", f"{_value(number) * 254 / 10:g}mm", length)
    if after == "°" and not unit and first in ("TURN", "TEMPERATURE"):
        new = found + ("deg" if first == "TURN" else "C")
        return _Said(f"{found}° is written {new}", new, length + 1)
    if "WIRE" in quantities and (gauge := _GAUGE.match(place.text, place.at)):
        return _Said("AWG stands before its number", f"AWG{number}", len(gauge[0]))
    if "WIRE" in quantities and (cores := _CORES.match(place.text, place.at)):
        cause = f"{cores[0]} is a number of cores with their size"
        return _Said(cause, "", len(cores[0]), f"write {cores[1]}, the size of one")
    if exact := numbers.converted(_value(number), unit, set(units)):
        quantity = facts.quantity_of(unit) if unit in UNITS else "given in another unit"
        return _Said(f"{written} is {quantity}, and {wanted} belongs here", "", length, f"write {exact}")
    if not unit:
        return _without_unit(place, quantities, number, near_example)
    if unit == "%" and quantities == ["INT"] and "subtrim" in place.statement:
        cause = f"{found} is a percentage, and sub-trim is set in steps"
        return _Said(cause, "", length, "write the steps of the dial, a whole number without %")
    if number[0] in "-−" and unit in units:
        return _Said(f"{found} is below zero, and {wanted} is not", "", length, f"write {found[1:]}")
    if unit in UNITS:
        cause = f"{found} is {facts.quantity_of(unit)}, and {wanted} belongs here"
        return _Said(cause, "", length, near_example)
    if unit.isalpha() and quantities == ["INT"]:
        cause = f"{found} has letters behind it, and a whole number belongs here"
        return _Said(cause, "", length, f"write {number}")
    if unit.isalpha():
        return _Said(f"`{unit}` is no unit that the language knows", "", length, near_example)
    if times := re.fullmatch(r"(\d+)[a-z]*x(\d+[a-z]*)", found):
        new = f"{found[: times.start(2) - 1]} x {times[2]}"
        return _Said(f"{found} is written without spaces", new, length)
    return _Said(f"{found} is no number that can be read", "", length, near_example)


def _without_unit(place: Place, quantities: list[str], number: str, near_example: str) -> _Said:
    """What to say of a number alone where it needs a unit, or where it should be a whole number."""
    found, length = place.found, len(place.found)
    wanted, example = QUANTITIES[quantities[0]]
    cause, units = f"{found} has no unit", facts.units_of(quantities[0])
    value = _value(number)
    if "PERCENT" in quantities and 0 < abs(value) < 1:
        hint = f"write {(value * 100).normalize():f}%, or {found}% if that is meant"
        return _Said(cause, "", length, hint)
    if len(units) > 1:  # several are possible
        hint = f"write {wanted} such as {listed_or([number + one for one in units])}"
        return _Said(cause, "", length, hint)
    if quantities[0] == "INT":
        return _Said(f"{found} is not a whole number", "", length, f"write {wanted} such as {example}")
    if len(quantities) > 1 or quantities[0] == "WIRE":  # 14 may be a gauge, or square millimetres
        return _Said(cause, "", length, near_example)
    mine = example.lstrip("0123456789.")
    new = number + mine
    second = _SECOND.match(place.text, place.at + length)
    if second and place.language.after(f"{place.text[: place.at]}{new}{second[0]}{mine}"):
        return _Said(cause, new + second[0] + mine, length + len(second[0]))
    return _Said(cause, new, length)


def _value(number: str) -> Decimal:
    return Decimal(number.replace("−", "-"))


def _in_another_manner(place: Place) -> Diagnostic | None:
    """A number, or a range, that the language writes in one manner only; told if that fits the statement."""
    if place.text[place.at - 1 : place.at] == ".":  # the third dot of a range
        return None
    hours = numbers.hours_meant(place.text, place.at) if "HOURS" in place.expected else None
    for found in (hours, numbers.range_meant(place.text, place.at), numbers.meant(place.text, place.at)):
        if not found:
            continue
        span = place.span(place.at, len(found.written))
        if not found.number:
            hint = "write it as a decimal number with its unit, such as 0.333m"
            return Diagnostic(codes.WRONG_UNIT, span, found.cause, hint)
        if place.language.after(place.text[: place.at] + found.number):
            edits = (Edit(span, found.number),) if found is not hours else ()  # its digits are others
            return Diagnostic(codes.WRONG_UNIT, span, found.cause, f"write {found.number}", edits=edits)
    return None
