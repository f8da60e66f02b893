"""The remedy for a part that is missing, or for text that stands in its place."""

import re
from collections.abc import Sequence
from typing import NamedTuple

from rigcard.diagnostics import Edit
from rigcard.reporting.suggest import near, one_of
from rigcard.source import Span
from rigcard.syntax import facts
from rigcard.syntax.place import Place
from rigcard.syntax.vocabulary import EARLIER, LINKS, MONTHS, MONTHS_ELSEWHERE, NUMBER_WORDS, SYNONYMS, UNITS
from rigcard.words import listed_or

_WORDED_DATE = re.compile(
    r"(?:(?P<first>\d{1,2})(?:st|nd|rd|th)?\.?(?:[ \t]+of)?[ \t]+)?(?P<month>[A-Za-zä]{3,})\.?[ \t,]+"
    r"(?:(?P<second>\d{1,2})(?:st|nd|rd|th)?[ \t,]+)?(?P<year>\d{4})"
)
_DATE = re.compile(r"\d+[./-]\d+[./-]\d+")
_LEG = re.compile(r"([A-Za-z][\w-]*\.[A-Za-z][\w-]*(?:[ \t]+to[ \t]+[A-Za-z][\w-]*\.[A-Za-z][\w-]*)?)[ \t]*\{")
_EDGE = re.compile(r"[<>≤≥]=?[ \t]*([-+−]?\d[\d.]*%)")


class Instead(NamedTuple):
    """What is said of text that stands in place of a name, quoted words or a number.

    `loose`: the remedy only says what belongs there, and a closer one may be found.
    """

    cause: str
    hint: str
    length: int
    loose: bool


def wanted_instead(place: Place, wants: list[str], where: str) -> Instead:
    """Cause, remedy and length of the text that stands in place of a name, quoted words or a number."""
    hint, length, loose = _remedy(place, wants)
    many = wants[0].startswith("words")
    listed, shown = listed_or(wants), quoted(place.text[place.at : place.at + length].rstrip())
    cause = f"{listed} {'are' if many else 'is'} missing {where}"
    if place.found:
        cause = f"{listed} {'belong' if many else 'belongs'} {where}, not {shown}"
    return Instead(cause, hint, length, loose)


def _remedy(place: Place, wants: list[str]) -> tuple[str, int, bool]:
    """The remedy for such a text, over how many characters, and whether it only says what belongs there."""
    found, before, length = place.found, place.before, len(place.found)
    if "DATE" in place.expected:
        worded = _WORDED_DATE.match(place.text, place.at)
        if worded and (iso := _from_words(worded)):
            return f"write {iso}", len(worded[0]), False
        if date := _DATE.match(place.text, place.at):
            return f"write year-month-day, such as {_iso(date[0])}", len(date[0]), False
    if hint := _for_a_sign(place, wants):
        return hint, length, False
    if "STRING" in place.expected and (leg := _LEG.match(place.rest)):
        return f'write a title in "quotes" there, and `{leg[1]}` in the block', len(leg[1]), False
    if "STRING" in place.expected and (plain := _unquoted(place)):
        ended = place.source.text.startswith('"', place.base + place.at + len(plain))  # only the second quote
        return f'write "{plain}"', len(plain) + ended, True
    if found and ("INT" in place.expected or found == "{"):
        return f"write {listed_or(wants)} before {quoted(found)}", length, True
    if found[:1].isdigit() and "`tape`" in wants:
        return f"write `tape` before `{found}`", length, False
    if found.isdigit() and before == "." and (pin := _pin(place)):
        return f"write `{pin}`", length, False
    if found[:1].isdigit() and "NAME" in place.expected:
        return "begin the name with a letter", length, True
    if found in ("<", ">", "≤", "≥") and "PERCENT" in place.expected and (edge := _EDGE.match(place.rest)):
        both = f"-150%..{edge[1]}" if found in "<≤" else f"{edge[1]}..150%"
        return f"write both ends of the range, as in `{both}`", length, False
    if not found and before == "expect":
        return "write a claim, as in `UNIT.CONTROL.POSITION gives UNIT.STATE`", length, False
    return f"write {listed_or(wants)}", length, True


def _for_a_sign(place: Place, wants: list[str]) -> str:
    """The remedy for a sign, a number or a single word that is commonly written there; empty for any other text."""
    found, before = place.found, place.before
    sign = re.match(r"[-+−]+[ \t]*(\d[\w.%]*)", place.rest)
    if found in ("=", ":"):
        return f"remove {found}"
    if "INT" in place.expected and found.lower() in NUMBER_WORDS:
        return f"write {NUMBER_WORDS.index(found.lower())}"
    if found == "AWG" and "WIRE" in place.expected:
        return "write AWG and its number as one word, such as AWG14"
    if found == "." and before == "..":
        return "write a range with two dots"
    if found == before == ".":
        return "remove one of the two dots"
    if found == ".":
        return "write a space in place of `.`"
    if found.isdigit() and before == "from" and "NAME" in place.expected:
        return by_number(place, "from ")
    if before == ",":
        return f"write {wants[0]} there, or remove the comma"
    if sign and found in ("-", "+", "−"):
        return f"write {found}{sign[1]}"
    if re.fullmatch(r'"[\w.%-]+"', found):
        return f"write {found[1:-1]} without quotes"
    return ""


def _pin(place: Place) -> str:
    """The port of a unit that is written as its number alone, if others of the unit have numbers."""
    unit = re.search(r"([A-Za-z][\w-]*)\.[ \t]*$", place.statement)
    begun = set(re.findall(rf"\b{re.escape(unit[1])}\.([A-Za-z-]+)\d+\b", place.source.text)) if unit else set()
    return f"{begun.pop()}{place.found}" if len(begun) == 1 else ""


def _from_words(date: re.Match[str]) -> str:
    """A date with the name of its month in the form of the language; empty if it is none."""
    short = date["month"][:3].lower()
    month, day = MONTHS_ELSEWHERE.get(short, short), date["first"] or date["second"]
    return f"{date['year']}-{MONTHS.index(month) + 1:02}-{int(day):02}" if month in MONTHS and day else ""


def _iso(date: str) -> str:
    """A date in the form of the language if its order is unambiguous, otherwise an example."""
    first, second, third = re.split(r"[./-]", date)
    if len(first) == 4:
        return f"{first}-{second:0>2}-{third:0>2}"
    if len(third) == 4 and "." in date:
        return f"{third}-{second:0>2}-{first:0>2}"
    return "2026-05-14"


def missing_sign(place: Place, wanted: str) -> str:
    """How to write a missing sign."""
    found, before = place.found, place.before
    apart = place.text[place.at - 1 : place.at].isspace()
    second = re.match(r"[-−.]*[ \t]*([-+−]?\d[\d.]*%)", place.rest)
    number = second[1] if second and not (apart and found[:1] in ("-", "−")) else found
    if wanted == ".." and not found:
        return f"write both ends of the range, as in `{before}..150%`"
    if wanted == "/":
        return f"write both sides, such as `{before.lstrip('-−+')} / {second[1].lstrip('-−') if second else before}`"
    if wanted == ".." and second and found[:1] in ("-", "−") and len(found) > 1:
        if not apart and before[:1] in ("-", "−"):  # a minus or a sign for a range
            return f"write the range with two dots: `{before}..{found[1:]}` or `{before}..{found}`"
        return f"write the range with two dots: `{before}..{number if apart else found[1:]}`"
    if wanted == ".." and found == "to":
        return "write .. in place of `to`"
    if "," in wanted and found in ("and", "&", "+"):
        return f"write , in place of `{found}`"
    if wanted == "," and not found:
        return "write , and the next name"
    if wanted == "." and found in LINKS:
        return f"name a port of `{before}` after a dot, as in `{before}.PORT {found}`"
    if wanted == "." and re.search(rf"\bgives[ \t]+{re.escape(before)}[ \t]*$", place.statement):
        return f"write the unit that it belongs to and a dot before `{before}`"
    return where_to_write(wanted, found)


def may_end(place: Place) -> str:
    """The remedy for a word after a statement that could have ended before it; "" if there is no telling one."""
    found, before = place.found, place.before
    links = [word for word in place.words if word in LINKS]
    if before in (*LINKS, "the", "a", "an"):
        return f"remove `{before}`"
    if before == "channel" and found.isdigit():
        return by_number(place, "from ")
    two_words = before not in facts.homes() and found[0].isalpha()
    if two_words and re.search(rf"\bfrom[ \t]+{re.escape(before)}[ \t]*$", place.statement):
        return f"a name is one word: write `{before}-{found}`"
    if found in EARLIER:
        return f"write `{found}` and its value before `{EARLIER[found]}`"
    written = place.source.text[place.base + place.at :].split("\n", 1)[0]
    touches = place.text[place.at - 1] == '"' and found[0].isalpha()
    if before.startswith('"') and (touches or written.count('"') % 2):
        return 'write \\" for a quote inside words'
    if "LBRACE" in place.expected and "unit" in facts.homes().get(found, ()):
        return f"write {{ before `{found}`"
    if "_COMMA" in place.expected and found in ("and", "&", "+"):
        return f"write , in place of `{found}`"
    if found in ("and", "&"):
        return "write a statement for each"
    if "_COMMA" in place.expected and found[0].isalpha():
        return f"write , before `{found}`, or end the statement before it with ; or a new line"
    if links and (found[0].isalnum() or found in ("->", "=>", "-", ":", "=")):
        return f"{where_to_write(one_of(links), found)}, or end the statement with a new line"
    if found == "." and (more := re.match(r"\.([A-Za-z][\w-]*)", place.rest)):
        if re.search(rf"\bunit[ \t]+{re.escape(before)}[ \t]", place.source.text):
            return f"write `{more[1]}` alone, without `{before}.`"
        return f"a name is one word: write `{before}-{more[1]}`"
    if found in (",", "."):
        return f"write a new line or ; in place of `{found}`"
    if found in ("(", "["):
        return f"write {{ in place of `{found}`" if "LBRACE" in place.expected else ""
    glued = re.match(r"\d[\d.]*([A-Za-z]\w*)", found)
    if glued and glued[1] not in UNITS and "NAME" in place.expected:
        return "begin the name with a letter"
    return ""


def by_number(place: Place, link: str = "") -> str:
    """The remedy for a channel that is named by its number."""
    named = set(re.findall(rf"\bchannel[ \t]+{place.found}[ \t]+([\w-]+)[ \t]+from", place.source.text))
    name = named.pop() if len(named) == 1 else "NAME"
    return f"write the name of the channel, not its number: `{link}{name}`"


def where_to_write(wanted: str, found: str) -> str:
    """Where to write the missing part: before a word that may stay, or in place of a sign that may not."""
    if not found:
        return f"write {wanted} there"
    if found in (*LINKS, "and", "&"):
        return f"write {wanted} in place of `{found}`"
    stays = (
        found[0].isalnum() or found[0] in '"{' or (found[0] in "-+−" and len(found) > 1 and ">" not in found)
    )
    return f"write {wanted} {'before' if stays else 'in place of'} {quoted(found)}"


def _unquoted(place: Place) -> str:
    """The words that lack their quotes."""
    plain = re.split(r'[{};#"]|,[ \t]*[\w-]+[ \t]+"|[ \t]on[ \t]+\d', place.rest, maxsplit=1)[0].strip()
    return plain if plain and (plain[0].isalnum() or plain[0] in "./") else ""


def quoted(text: str) -> str:
    """A piece of the file as messages show it."""
    return text if text.startswith('"') else f"`{text}`"


def close_words(found: str, words: Sequence[str]) -> list[str]:
    """The nearest word with the same first letter, or the word with the same meaning."""
    if same := [word for word in SYNONYMS.get(found.lower(), ()) if word in words]:
        return same
    if phrase := facts.phrase(found.lower(), words):
        return [phrase]
    if mixed := [word for word in words if sorted(word) == sorted(found.lower())]:
        return mixed[:1]
    stem = f"{found.lower().removesuffix('s')}-"  # the first half of a hyphenated word
    if halves := [word for word in words if len(stem) > 3 and word.startswith(stem)]:
        return halves[:1]
    if len(begun := [word for word in words if len(found) > 1 and word.startswith(found.lower())]) == 1:
        return begun
    return [word for word in near(found.lower(), words, 1) if word[0] == found[0].lower()]


def did_you_mean(close: list[str], span: Span) -> tuple[str, tuple[Edit, ...]]:
    """The remedy for a word that looks like others, and its edit if it looks like one."""
    return f"did you mean {one_of(close)}?", (Edit(span, close[0]),) if len(close) == 1 else ()
