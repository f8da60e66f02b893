"""Explains numbers that lack their unit, have a wrong one, or are written in another notation."""

import re
from decimal import Decimal

from lark import UnexpectedInput

from rigcard.diagnostics import Diagnostics, Edit
from rigcard.syntax import codes, facts, numbers
from rigcard.syntax.parser import Language
from rigcard.syntax.place import Place
from rigcard.syntax.vocabulary import QUANTITIES, UNITS
from rigcard.words import listed_or

MOST_PERCENT = 200  # that an example has
_APART = re.compile(r"[ \t]+([A-Za-zµ°][A-Za-z/°]*)(?![\w-])")  # what may be a unit behind a space
_COMMA_NUMBER = re.compile(r"([-+−]?\d+),(\d+)([a-zA-Z%µμ]+[²2]?)")
_GAUGE = re.compile(r"\d{1,2}[ \t]*(?:AWG|gauge|ga)(?![\w-])", re.IGNORECASE)
_CORES = re.compile(r"\d{1,2}[ \t]*[x×*][ \t]*(\d+(?:\.\d+)?mm[2²]|AWG\d{1,2})(?!\w)")


def too_long(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> bool:
    """A number with more digits than the language takes."""
    found = numbers.too_long(place.found) if expected & QUANTITIES.keys() else None
    if found:
        diagnostics.report(codes.WRONG_UNIT, place.span(place.at, found.length), found.cause, found.hint)
    return found is not None


def wrong_number(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> bool:
    """Report numbers that lack their unit, have a wrong one, or are written in another notation."""
    quantities = [name for name in QUANTITIES if name in expected]
    number = re.match(r"[-+−]?\d+(?:\.\d+)?", place.found)
    if not quantities:
        return False
    if _in_another_manner(language, place, expected, diagnostics):
        return True
    if not number:
        return False
    wanted, example = QUANTITIES[quantities[0]]
    mine = example.lstrip("0123456789.")
    unit = place.found[number.end() :]
    likely = quantities[0] != "PERCENT" or float(number[0].replace("−", "-")) <= MOST_PERCENT
    near_example = f"write {wanted} such as {f'{number[0]}{mine}' if likely else example}"
    new = ""
    end = place.base + place.at + len(place.found)
    length = len(place.found)
    written = place.found
    apart = _APART.match(place.text, place.at + length)
    if apart and not unit and quantities[0] != "INT" and apart[1] not in facts.fixed_words():
        unit, written, length = apart[1], written + apart[0], length + len(apart[0])
    if comma := _COMMA_NUMBER.match(place.text, place.at):  # a decimal mark or one of thousands
        whole, part, unit = comma.groups()
        length = len(comma[0])
        cause = f"{comma[0]} is written with a comma, and the decimal mark is a point"
        hint = f"write {whole}.{part}{unit}, or {whole}{part}{unit} if the comma parts thousands"
    elif "LENGTH" in quantities and (unit == "in" or place.source.text[end : end + 1] == '"'):
        new = f"{float(number[0]) * 25.4:g}mm"
        cause = "the length is given in inches"
        length += unit != "in"  # the inch sign belongs to the number
    elif place.source.text[end : end + 1] == "°" and not unit and quantities[0] in ("TURN", "TEMPERATURE"):
        mine = "deg" if quantities[0] == "TURN" else "C"
        cause, new, length = f"{place.found}° is written {place.found}{mine}", place.found + mine, length + 1
    elif "WIRE" in quantities and (gauge := _GAUGE.match(place.text, place.at)):
        cause, new, length = "AWG stands before its number", f"AWG{number[0]}", len(gauge[0])
    elif "WIRE" in quantities and (cores := _CORES.match(place.text, place.at)):
        cause, hint, length = (
            f"{cores[0]} is a number of cores with their size",
            f"write {cores[1]}, the size of one",
            len(cores[0]),
        )
    elif exact := numbers.converted(number[0], unit, set(facts.units_of(quantities[0]))):
        known = unit in UNITS
        cause = f"{written} is {'given in another unit' if not known else facts.quantity_of(unit)}, and {wanted} belongs here"
        hint = f"write {exact}"
    elif not unit and "PERCENT" in quantities and 0 < abs(float(number[0].replace("−", "-"))) < 1:
        cause = f"{place.found} has no unit"
        whole = Decimal(number[0].replace("−", "-")) * 100
        hint = f"write {whole.normalize():f}%, or {place.found}% if that is meant"
    elif not unit and len(units := facts.units_of(quantities[0])) > 1:  # several units are possible
        cause = f"{place.found} has no unit"
        hint = f"write {wanted} such as {listed_or([place.found + one for one in units])}"
    elif not unit and quantities[0] != "INT":
        cause, hint = f"{place.found} has no unit", near_example
        if len(quantities) == 1 and quantities[0] != "WIRE":  # 14 may be a gauge, or square millimetres
            new = place.found + mine
            second = re.compile(r"([ \t]*(?:\.\.|/)[ \t]*)([-+−]?\d+(?:\.\d+)?)(?![\w%.])").match(
                place.text, place.at + length
            )
            if second and reads(language, f"{place.text[: place.at]}{new}{second[0]}{mine}"):
                new += second[0] + mine
                length += len(second[0])
    elif not unit:
        cause, hint = f"{place.found} is not a whole number", f"write {wanted} such as {example}"
    elif unit == "%" and quantities == ["INT"] and "subtrim" in place.statement:
        cause = f"{place.found} is a percentage, and sub-trim is set in steps"
        hint = "write the steps of the dial, a whole number without %"
    elif number[0][0] in "-−" and unit in facts.units_of(quantities[0]):
        cause, hint = f"{place.found} is below zero, and {wanted} is not", f"write {place.found[1:]}"
    elif unit in UNITS:
        cause, hint = (
            f"{place.found} is {facts.quantity_of(unit)}, and {wanted} belongs here",
            near_example,
        )
    elif unit.isalpha() and quantities == ["INT"]:
        cause, hint = (
            f"{place.found} has letters behind it, and a whole number belongs here",
            f"write {number[0]}",
        )
    elif unit.isalpha():
        cause, hint = f"`{unit}` is no unit that the language knows", near_example
    elif times := re.fullmatch(r"(\d+)[a-z]*x(\d+[a-z]*)", place.found):
        cause, new = (
            f"{place.found} is written without spaces",
            f"{place.found[: times.start(2) - 1]} x {times[2]}",
        )
    else:
        cause, hint = f"{place.found} is no number that can be read", near_example
    span = place.span(place.at, length)
    if new:
        hint = f"write {new}"
    edits = (Edit(span, new),) if new else ()
    diagnostics.report(codes.WRONG_UNIT, span, cause, hint, edits=edits)
    return True


def _in_another_manner(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> bool:
    """A number, or a range, that the language writes in one manner only; told if that fits the statement."""
    if place.text[place.at - 1 : place.at] == ".":  # the third dot of a range
        return False
    hours = numbers.hours_meant(place.text, place.at) if "HOURS" in expected else None
    for found in (hours, numbers.range_meant(place.text, place.at), numbers.meant(place.text, place.at)):
        if found and not found.number:
            hint = "write it as a decimal number with its unit, such as 0.333m"
            diagnostics.report(codes.WRONG_UNIT, place.span(place.at, len(found.written)), found.cause, hint)
            return True
        if found and reads(language, place.text[: place.at] + found.number):
            span = place.span(place.at, len(found.written))
            hint = f"write {found.number}"
            edits = (Edit(span, found.number),) if found is not hours else ()  # its digits are others
            diagnostics.report(codes.WRONG_UNIT, span, found.cause, hint, edits=edits)
            return True
    return False


def reads(language: Language, text: str) -> bool:
    """Whether the parser reads a text to its end."""
    try:
        return bool(language.follows(text))
    except UnexpectedInput:
        return False
