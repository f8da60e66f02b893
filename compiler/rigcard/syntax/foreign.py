"""What other programs leave in a rig file: curly quotes, wide digits, tables, fences, signs of web pages, comments.

Each kind is reported once a file, however often it stands there, and mended in a copy of the same length, so that
the faults of the rest are found at their places.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator

from rigcard.diagnostics import Code, Diagnostics, Edit
from rigcard.reporting.suggest import near
from rigcard.source import Source, Span
from rigcard.syntax import codes, facts

_APART = r'"(?:[^"\\\n]|\\.)*"?|#[^\n]*'  # words in quotes and comments, in which all this may stand
_CURLY = re.compile(rf"{_APART}|(?P<found>[“„«»‘’'](?P<words>\w[^\"\\“”„«»‘’'\n]*)[”“»«’'])")
_ENTITY = re.compile(rf"{_APART}|(?P<found>&(?:quot|nbsp|amp|lt|gt|#34|#39|#160);)")
_ENTITIES = {"&quot;": '"', "&#34;": '"', "&#39;": '"', "&nbsp;": " ", "&#160;": " ", "&lt;": "<", "&gt;": ">"}
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
_FENCE = re.compile(r"^[ \t]*(?:`{3,}|~{3,})[ \t]*(?:[\w-]+[ \t]*)?(?:\n|$)", re.MULTILINE)
_CELLS = re.compile(r"[ \t]*+[\w.%-]++([\t,;|])[-+\w.% /]*+(?:\1[-+\w.% /]*+)++[ \t]*+")
_BETWEEN = re.compile(r"(?:(?<![ \t])[ \t]+)?[\t,;|][ \t]*")
_PIPED = re.compile(r"[ \t]*\|.*")
_ALONE = re.compile(r"[ \t]*[-+]?\d+%?[ \t]*")
_ROW = re.compile(r"(\d+),([A-Za-z][\w-]*),([A-Za-z][\w-]*),([-+]?\d+(?:\.\d+)?%|hold|none)")


def mended(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """A text of a source with all this taken out, and reported."""
    text = _tables(source, _fences(source, text, diagnostics), diagnostics)
    for step in (_web_signs, _comments, _curly, _twice, _wide, _continued):
        text = step(source, text, diagnostics)
    return text


def _found(pattern: re.Pattern[str], text: str) -> list[re.Match[str]]:
    return [match for match in pattern.finditer(text) if match["found"]]


def more_like_it(count: int, where: str = "in this file") -> str:
    """The words of a message that say how many more of a kind there are; none if there are no more."""
    return f", and {count} more {where}" if count else ""


def as_long(new: str, old: str) -> str:
    """A text with blanks up to the length of what it replaces; lines stay lines."""
    return new + re.sub(r"[^\n]", " ", old[len(new) :])


def with_parts(text: str, parts: Iterable[tuple[int, int, str]]) -> str:
    """A text with others in place of some of its parts, which stand in order."""
    pieces, done = [], 0
    for start, end, new in parts:
        pieces += [text[done:start], new]
        done = end
    return "".join([*pieces, text[done:]])


def _replaced(text: str, found: list[re.Match[str]], new: Callable[[re.Match[str]], str]) -> str:
    parts = ((*match.span("found"), as_long(new(match), match["found"])) for match in found)
    return with_parts(text, parts)


def _edits(source: Source, found: list[re.Match[str]], new: Callable[[re.Match[str]], str]) -> tuple[Edit, ...]:
    return tuple(Edit(Span(source, match.start("found"), match.end("found")), new(match)) for match in found)


def _report(
    code: Code,
    source: Source,
    first: re.Match[str],
    cause: str,
    hint: str,
    edits: tuple[Edit, ...],
    diagnostics: Diagnostics,
) -> None:
    span = Span(source, first.start("found"), first.end("found"))
    diagnostics.report(code, span, cause, hint, edits=edits)


def _in_quotes(match: re.Match[str]) -> str:
    """Set the words of a match in the quotes of the language."""
    return f'"{match["words"]}"'


def _curly(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Words in the quotes of a program for letters."""
    found = _found(_CURLY, text)
    if not found:
        return text

    signs = dict.fromkeys(sign for match in found for sign in (match["found"][0], match["found"][-1]))
    hint = (
        f'write " in place of each {" and ".join(signs)}' if len(found) > 1 else f"write {_in_quotes(found[0])}"
    )
    cause = f"words stand in straight double quotes, and {found[0]['found']} in others{more_like_it(len(found) - 1)}"
    _report(
        codes.UNREADABLE_CHARACTER,
        source,
        found[0],
        cause,
        hint,
        _edits(source, found, _in_quotes),
        diagnostics,
    )
    return _replaced(text, found, _in_quotes)


def _twice(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Words in the doubled quotes of a spreadsheet."""
    found = _found(_TWICE, text)
    if not found:
        return text

    cause = f"{found[0]['found']} stands in doubled quotes{more_like_it(len(found) - 1)}"
    hint = f"write {_in_quotes(found[0])}, with one quote at each end"
    _report(
        codes.UNEXPECTED_TEXT, source, found[0], cause, hint, _edits(source, found, _in_quotes), diagnostics
    )
    return _replaced(text, found, _in_quotes)


def _wide(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Digits and letters that are wider than those of the language, or of another script."""
    found = _found(_WIDE, text)
    if not found:
        return text

    def new(match: re.Match[str]) -> str:
        return "".join(map(_plain, match["found"]))

    wide = any("\uff00" < char < "\uff5f" for char in found[0]["found"])
    kind = "full-width characters" if wide else "digits of another script"
    cause = f"`{found[0]['found']}` has {kind}{more_like_it(len(found) - 1, 'numbers or words like it')}"
    _report(
        codes.UNREADABLE_CHARACTER,
        source,
        found[0],
        cause,
        f"write {new(found[0])}",
        _edits(source, found, new),
        diagnostics,
    )
    return _replaced(text, found, new)


def _plain(char: str) -> str:
    if "\uff00" < char < "\uff5f":
        return chr(ord(char) - 0xFEE0)
    return str(unicodedata.decimal(char)) if char.isdecimal() else char


def _web_signs(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """`&quot;` and its like."""
    found = _found(_ENTITY, text)
    if not found:
        return text

    def new(match: re.Match[str]) -> str:
        return _ENTITIES.get(match["found"], "&")

    sign = new(found[0])
    cause = f"`{found[0]['found']}` is how a web page writes {'a space' if sign == ' ' else sign}{more_like_it(len(found) - 1)}"
    hint = f"write {'a space' if sign == ' ' else sign} in place of `{found[0]['found']}`"
    _report(codes.UNREADABLE_CHARACTER, source, found[0], cause, hint, _edits(source, found, new), diagnostics)
    return _replaced(text, found, new)


def _comments(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Comments with the sign of another language."""
    found = [match for match in _found(_COMMENT, text) if not (match["prose"] and _begins(match["prose"]))]
    if not found:
        return text
    openers = [_OPENERS.search(text, match.start("found")) for match in found]
    first = openers[0]
    assert first  # each form has one
    edits = [
        Edit(Span(source, at.start(), at.end()), "#")
        for at in openers
        if at and at[0] not in ("/*", "<!--")  # whose end would have to go too
    ]
    diagnostics.report(
        codes.UNREADABLE_CHARACTER,
        Span(source, first.start(), first.end()),
        f"`{first[0]}` begins no comment here{more_like_it(len(found) - 1)}",
        "begin a comment with #" + (" on every line" if "\n" in found[0]["found"] else ""),
        edits=tuple(edits) if len(edits) == len(found) else (),
    )
    return _replaced(text, found, lambda match: "")


def _begins(word: str) -> bool:
    """Whether a statement begins with a word, or with one that looks like it."""
    return any(known[0] == word[0].lower() for known in near(word.lower(), facts.homes(), 1))


def _continued(source: Source, text: str, diagnostics: Diagnostics) -> str:
    r"""Lines that end with \ so that they go on in the next."""
    found = _found(_GOES_ON, text)
    if not found:
        return text
    at = text.index("\\", found[0].start("found"))
    diagnostics.report(
        codes.UNEXPECTED_TEXT,
        Span(source, at, at + 1),
        f"`\\` does not carry a statement over to the next line{more_like_it(len(found) - 1)}",
        "write it on one line; only after a comma it may go on in the next",
        edits=_edits(source, found, lambda match: " "),
    )
    return with_parts(text, ((*match.span("found"), " " * len(match["found"])) for match in found))


def _fences(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Lines that fence code off in a text page."""
    found = list(_FENCE.finditer(text))
    if not found:
        return text
    first = found[0]
    sign = first[0].strip()[:3]
    start = first.start() + len(first[0]) - len(first[0].lstrip())
    diagnostics.report(
        codes.UNEXPECTED_TEXT,
        Span(source, start, first.start() + len(first[0].rstrip())),
        f"this line of {sign} fences off code in a page of text, and is no part of a rig{more_like_it(len(found) - 1)}",
        "remove this line" if len(found) == 1 else f"remove each line that begins with {sign}",
        edits=tuple(Edit(Span(source, match.start(), match.end()), "") for match in found),
    )
    return with_parts(text, ((*match.span(), as_long("", match[0])) for match in found))


def _tables(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Rows of a spreadsheet, or of a table in a page of text."""
    rows = list(_rows(text))
    if not rows:
        return text
    start, end = rows[0]
    line = text[start:end]
    example = "channel 1 pan from right-across failsafe 0%"
    for begin, stop in rows:
        cells = _BETWEEN.sub(",", text[begin:stop].strip().strip("|").strip())
        if row := _ROW.fullmatch(cells):
            example = f"channel {row[1]} {row[2]} from {row[3]} failsafe {row[4]}"
            break
    these = f"this line and {len(rows) - 1} more are rows" if len(rows) > 1 else "this line is a row"
    diagnostics.report(
        codes.UNEXPECTED_TEXT,
        Span(source, start + len(line) - len(line.lstrip()), start + len(line.rstrip())),
        f"{these} of a table, and a statement begins with a word",
        f"write a statement for each row, such as `{example}`",
    )
    return with_parts(text, ((begin, stop, " " * (stop - begin)) for begin, stop in rows))


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
