"""What other programs leave in a rig file: curly quotes, wide digits, tables, fences, signs of web pages, comments.

Each kind is reported once a file, however often it stands there, and mended in a copy of the same length, so that
the faults of the rest are found at their places.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator

from rigcard.diagnostics import Diagnostics
from rigcard.reporting.suggest import near
from rigcard.source import Source
from rigcard.syntax import codes, facts
from rigcard.syntax.mending import Leftover, Part, more_like_it, without

_APART = r'"(?:[^"\\\n]|\\.)*"?|#[^\n]*'  # words in quotes and comments, in which all this may stand
_CURLY = re.compile(rf"{_APART}|(?P<found>[“„«»‘’'](?P<words>\w[^\"\\“”„«»‘’'\n]*)[”“»«’'])")
_ENTITIES = {
    "&quot;": '"',
    "&#34;": '"',
    "&#39;": '"',
    "&nbsp;": " ",
    "&#160;": " ",
    "&lt;": "<",
    "&gt;": ">",
    "&amp;": "&",
}
_ENTITY = re.compile(rf"{_APART}|(?P<found>{'|'.join(_ENTITIES)})")
_TWICE = re.compile(rf'(?P<found>""(?P<words>\w[^"\\\n]*)"")|{_APART}')
_WIDE = re.compile(
    rf"{_APART}|(?P<found>(?<![-+−.\w%])[-+−.\w%]*(?:(?![0-9])\d|[\uff10-\uff19\uff21-\uff3a\uff41-\uff5a\uff05\uff0e\uff0d])"
    r"[-.\w%\uff05\uff0e\uff0d]*)"
)
_COMMENT = re.compile(
    rf"{_APART}|(?P<found>/\*(?s:.*?)\*/|<!--(?s:.*?)-->|(?<!\S)//[^\n]*|(?<!\S)--(?=[ \t]+[A-Za-z])[^\n]*"
    r"|^[ \t]*(?:REM|rem|%|!|'|;+)[ \t]+[A-Za-z][\w',.-]*(?:[ \t]+[\w',.-]+)*[ \t]*$"
    r"|;[ \t]+(?P<prose>[A-Za-z][a-z'-]*)(?:[ \t]+[A-Za-z][a-z'-]*[,.]?)+[ \t]*$)",
    re.MULTILINE,
)
_OPENERS = re.compile(r"/\*|<!--|//|--|REM|rem|%|!|'|;+")
_GOES_ON = re.compile(rf"{_APART}|(?P<found>(?:(?<![ \t])[ \t]+)?\\[ \t]*\n[ \t]*)")
_FENCE = re.compile(r"^[ \t]*(?P<sign>`{3,}|~{3,})[ \t]*(?:[\w-]+[ \t]*)?(?:\n|$)", re.MULTILINE)
_CELLS = re.compile(r"[ \t]*+[\w.%-]++([\t,;|])[-+\w.% /]*+(?:\1[-+\w.% /]*+)++[ \t]*+")
_BETWEEN = re.compile(r"(?:(?<![ \t])[ \t]+)?[\t,;|][ \t]*")
_PIPED = re.compile(r"[ \t]*\|.*")
_ALONE = re.compile(r"[ \t]*[-+]?\d+%?[ \t]*")
_ROW = re.compile(r"(\d+),([A-Za-z][\w-]*),([A-Za-z][\w-]*),([-+]?\d+(?:\.\d+)?%|hold|none)")


def mended(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """A text of a source with all this taken out, and reported."""
    kinds = (_fences, _tables, _web_signs, _comments, _curly, _twice, _wide, _continued)
    return without(source, text, kinds, diagnostics)


def _found(pattern: re.Pattern[str], text: str) -> list[re.Match[str]]:
    return [match for match in pattern.finditer(text) if match["found"]]


def _each(found: list[re.Match[str]], new: Callable[[re.Match[str]], str]) -> list[Part]:
    return [(*match.span("found"), new(match)) for match in found]


def _in_quotes(match: re.Match[str]) -> str:
    """Set the words of a match in the quotes of the language."""
    return f'"{match["words"]}"'


def _curly(text: str) -> Leftover | None:
    """Words in the quotes of a program for letters."""
    found = _found(_CURLY, text)
    if not found:
        return None
    first = found[0]
    signs = dict.fromkeys(sign for match in found for sign in (match["found"][0], match["found"][-1]))
    return Leftover(
        codes.UNREADABLE_CHARACTER,
        first.span("found"),
        f"words stand in straight double quotes, and {first['found']} in others{more_like_it(len(found) - 1)}",
        f'write " in place of each {" and ".join(signs)}' if len(found) > 1 else f"write {_in_quotes(first)}",
        _each(found, _in_quotes),
    )


def _twice(text: str) -> Leftover | None:
    """Words in the doubled quotes of a spreadsheet."""
    found = _found(_TWICE, text)
    if not found:
        return None
    first = found[0]
    return Leftover(
        codes.UNEXPECTED_TEXT,
        first.span("found"),
        f"{first['found']} stands in doubled quotes{more_like_it(len(found) - 1)}",
        f"write {_in_quotes(first)}, with one quote at each end",
        _each(found, _in_quotes),
    )


def _wide(text: str) -> Leftover | None:
    """Digits and letters that are wider than those of the language, or of another script."""
    found = _found(_WIDE, text)
    if not found:
        return None

    def new(match: re.Match[str]) -> str:
        return "".join(map(_plain, match["found"]))

    first = found[0]
    wide = any("\uff00" < char < "\uff5f" for char in first["found"])
    kind = "full-width characters" if wide else "digits of another script"
    return Leftover(
        codes.UNREADABLE_CHARACTER,
        first.span("found"),
        f"`{first['found']}` has {kind}{more_like_it(len(found) - 1, 'numbers or words like it')}",
        f"write {new(first)}",
        _each(found, new),
    )


def _plain(char: str) -> str:
    if "\uff00" < char < "\uff5f":
        return chr(ord(char) - 0xFEE0)
    return str(unicodedata.decimal(char)) if char.isdecimal() else char


def _web_signs(text: str) -> Leftover | None:
    """`&quot;` and its like."""
    found = _found(_ENTITY, text)
    if not found:
        return None
    first = found[0]
    sign = _ENTITIES[first["found"]]
    shown = "a space" if sign == " " else sign
    return Leftover(
        codes.UNREADABLE_CHARACTER,
        first.span("found"),
        f"`{first['found']}` is how a web page writes {shown}{more_like_it(len(found) - 1)}",
        f"write {shown} in place of `{first['found']}`",
        _each(found, lambda match: _ENTITIES[match["found"]]),
    )


def _comments(text: str) -> Leftover | None:
    """Comments with the sign of another language."""
    found = [match for match in _found(_COMMENT, text) if not (match["prose"] and _begins(match["prose"]))]
    if not found:
        return None
    openers = [
        at for match in found if (at := _OPENERS.search(text, match.start("found")))
    ]  # each form has one
    first = openers[0]
    two_signs = any(at[0] in ("/*", "<!--") for at in openers)  # the sign at the end would have to go too
    return Leftover(
        codes.UNREADABLE_CHARACTER,
        first.span(),
        f"`{first[0]}` begins no comment here{more_like_it(len(found) - 1)}",
        "begin a comment with #" + (" on every line" if "\n" in found[0]["found"] else ""),
        _each(found, lambda match: ""),
        edits=() if two_signs else [(*at.span(), "#") for at in openers],
    )


def _begins(word: str) -> bool:
    """Whether a statement begins with a word, or with one that looks like it."""
    return any(known[0] == word[0].lower() for known in near(word.lower(), facts.homes(), 1))


def _continued(text: str) -> Leftover | None:
    r"""Lines that end with \ so that they go on in the next."""
    found = _found(_GOES_ON, text)
    if not found:
        return None
    at = text.index("\\", found[0].start("found"))
    return Leftover(
        codes.UNEXPECTED_TEXT,
        (at, at + 1),
        f"`\\` does not carry a statement over to the next line{more_like_it(len(found) - 1)}",
        "write it on one line; only after a comma it may go on in the next",
        _each(found, lambda match: " " * len(match["found"])),  # also in place of the line end
        edits=_each(found, lambda match: " "),
    )


def _fences(text: str) -> Leftover | None:
    """Lines that fence code off in a text page."""
    found = list(_FENCE.finditer(text))
    if not found:
        return None
    first = found[0]
    sign = first["sign"][:3]
    return Leftover(
        codes.UNEXPECTED_TEXT,
        (first.start("sign"), first.start() + len(first[0].rstrip())),
        f"this line of {sign} fences off code in a page of text, and is no part of a rig{more_like_it(len(found) - 1)}",
        "remove this line" if len(found) == 1 else f"remove each line that begins with {sign}",
        [(*match.span(), "") for match in found],
    )


def _tables(text: str) -> Leftover | None:
    """Rows of a spreadsheet, or of a table in a page of text."""
    rows = list(_rows(text))
    if not rows:
        return None
    start, end = rows[0]
    line = text[start:end]
    example = "channel 1 pan from right-across failsafe 0%"
    for begin, stop in rows:
        cells = _BETWEEN.sub(",", text[begin:stop].strip().strip("|").strip())
        if row := _ROW.fullmatch(cells):
            example = f"channel {row[1]} {row[2]} from {row[3]} failsafe {row[4]}"
            break
    these = f"this line and {len(rows) - 1} more are rows" if len(rows) > 1 else "this line is a row"
    return Leftover(
        codes.UNEXPECTED_TEXT,
        (start + len(line) - len(line.lstrip()), start + len(line.rstrip())),
        f"{these} of a table, and a statement begins with a word",
        f"write a statement for each row, such as `{example}`",
        [(begin, stop, "") for begin, stop in rows],
        edits=(),
    )


def _rows(text: str) -> Iterator[tuple[int, int]]:
    """Where the rows of tables stand, with the heads right above them."""
    head: tuple[int, int, str] | None = None
    inside = ""  # what parts the cells of the line before, if that is a row
    ended = ""  # the last sign above
    for match in re.finditer(r"[^\n]+", text):
        line = match[0]
        cells = _CELLS.fullmatch(line) or _CELLS.fullmatch(line.replace("\t", " "))
        sign = "|" if _PIPED.fullmatch(line) else cells[1] if cells else ""
        numbers = any(_ALONE.fullmatch(cell) for cell in line.split(sign)) if sign else False
        first = bool(re.match(r"[ \t]*\d+[ \t]*[\t,;|]", line))
        row = sign == "|" or (first if sign == "\t" else bool(sign) and numbers)
        goes_on, ended = ended == ",", line.rstrip()[-1:] or ended
        if row and not goes_on:
            if head and head[2] == sign and not inside:
                yield head[:2]
            yield match.span()
            head, inside = None, sign
        else:
            head, inside = ((*match.span(), sign) if sign else None), ""
