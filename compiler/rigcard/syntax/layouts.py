"""Lines and whole files in the layout of other programs: JSON and the like, marks of a merge, lists, headings, blocks.

As in `foreign`, each kind is reported once a file, and mended in a copy of the same length.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

from rigcard.diagnostics import Diagnostics, Edit
from rigcard.source import Source, Span
from rigcard.syntax import codes, facts
from rigcard.syntax.cutting import TITLED, TOP
from rigcard.syntax.mending import Leftover, Part, empty, more_like_it, put, with_parts, without

MOST_BLOCKS = 50  # that are told of
_TOPS = re.compile("^" + TOP.pattern, re.MULTILINE)
_PAIR = r"^[ \t]*+(?:-[ \t]++)?\"?[A-Za-z](?:[\w.-]|[ ](?=[\w.-]))*+\"?[ \t]*+"
_HEAD_LINES, _HEAD = 100, 10_000  # lines and characters that tell what a file is
_FORMATS = (  # by what the head of a file must have that has no statement of the language
    ("JSON", (re.compile(r"\A\s*[\[{]\s*[\[{\"\]}]"),)),
    ("XML", (re.compile(r"\A\s*<[?!/A-Za-z]"),)),
    (
        "TOML",
        (
            re.compile(r"^[ \t]*+\[++[\w. \"-]++\]++[ \t]*+$", re.MULTILINE),
            re.compile(r"^[ \t]*+[\w\".-]++[ \t]*+=", re.MULTILINE),
        ),
    ),
    (
        "YAML",
        (re.compile(rf"{_PAIR}:(?:[ \t][^\n]*+)?\n\s*+{_PAIR.removeprefix('^')}:(?=\s|$)", re.MULTILINE),),
    ),
    (
        "Python",
        (
            re.compile(
                r"^(?:(?:from[ \t]+\w++[ \t]+)?import[ \t]+\w|def[ \t]+\w++\(|class[ \t]+\w)", re.MULTILINE
            ),
        ),
    ),
    (
        "a table",
        (
            re.compile(
                r"\A\s*[A-Za-z][\w ./-]*+(?P<part>[,;\t])[\w ./-]++[^\n]*+\n\s*[^\n,;\t]++(?P=part)[^\n]"
            ),
        ),
    ),
)
_COMMENTS = re.compile(r"(?:[ \t]*+(?:#[^\n]*+)?\n)*+[ \t]*+")
_MARKS = re.compile(
    r"^[ \t]*+(?P<mark>[-*+>•·–—]|\d{1,4}[.):|])[ \t]++(?=(?P<word>[a-z][a-z-]*+)[ \t]++[\"\w])", re.MULTILINE
)
_RULED = re.compile(r"^[ \t]*+(?P<rule>[-=*_~+]{3,}+)[^\n\"{};]*+$", re.MULTILINE)
_HEADING = re.compile(r"^[ \t]*+(?P<words>[A-Za-z][\w &/,'’-]*+:)[ \t]*+$", re.MULTILINE)
_KEYED = re.compile(
    r"^[ \t]*+(?P<key>(?P<quote>\"?)(?P<word>[a-z][a-z-]*+)(?P=quote))[ \t]*+(?P<sign>[:=])[ \t]*+(?P<value>[^\s,{\[][^\n]*+)$",
    re.MULTILINE,
)
_OPENER = re.compile(r"[ \t]*(?P<sign>:|=>?|->|(?:begin|do|then|with)(?![\w-]))[ \t]*(?=#|\n|$)")
_CLOSER = re.compile(r"^[ \t]*(?P<word>end)\b[ \t]*[\w;.]*[ \t]*$", re.MULTILINE)


def mended(source: Source, diagnostics: Diagnostics) -> str:
    """The text of a source with all this taken out, and reported."""
    text = source.text
    if found := _format(text):
        _report_format(source, found, diagnostics)
        return empty(text, 0, len(text))
    text = without(source, text, (_merges, _marks, _ruled), diagnostics)
    text = _blocks(source, text, diagnostics)
    return without(source, text, (_headings, _pairs), diagnostics)


def _format(text: str) -> str:
    """What a text is instead of a rig file; empty if it has a statement of the language, or if there is no telling."""
    if _TOPS.search(text):
        return ""
    lines = text.split("\n", _HEAD_LINES)[:_HEAD_LINES]
    head = "\n".join(line for line in lines if not line.lstrip().startswith("#"))[:_HEAD]
    return next((name for name, patterns in _FORMATS if all(one.search(head) for one in patterns)), "")


def _begins(text: str) -> int:
    """Where a text begins after blank lines and comments."""
    found = _COMMENTS.match(text)
    return found.end() if found else 0


def _report_format(source: Source, found: str, diagnostics: Diagnostics) -> None:
    start = _begins(source.text)
    end = source.text.find("\n", start)
    diagnostics.report(
        codes.UNEXPECTED_TEXT,
        Span(source, start, len(source.text) if end < 0 else end),
        f"this file is {found if found == 'a table' else f'written as {found}'}, and no statement of a rig stands in it",
        "begin with the file that `rigcard new NEW.rig` writes, and put your own names and numbers into it",
    )


class _Versions(NamedTuple):
    """Where two versions of some lines begin, where the first one is, and where the second one ends."""

    start: int
    mine: tuple[int, int]
    end: int


def _versions(text: str) -> Iterator[_Versions]:
    start = first = middle = -1
    for line in re.finditer(r"[^\n]++", text):
        sign = line[0][:7]
        if line[0][7:8].strip():
            continue
        if sign == "<" * 7:
            start, first, middle = line.start(), line.end(), -1
        elif sign in ("|" * 7, "=" * 7) and start >= 0 > middle:
            middle = line.start()
        elif sign == ">" * 7 and middle >= 0:
            yield _Versions(start, (first, middle), line.end())
            start = middle = -1


def _merges(text: str) -> Leftover | None:
    """Two versions of some lines, set one after the other by a program that could not join them."""
    found = list(_versions(text))
    if not found:
        return None
    start = found[0].start
    return Leftover(
        codes.UNEXPECTED_TEXT,
        (start, text.index("\n", start)),
        "two versions of the same lines stand here, one above ======= and one below, up to the line with >>>>>>>"
        + more_like_it(len(found) - 1),
        "keep the lines of one version, and remove the others and the lines with <<<<<<<, ======= and >>>>>>>",
        [part for one in found for part in ((one.start, one.mine[0], ""), (one.mine[1], one.end, ""))],
        edits=(),
    )


def _marks(text: str) -> Leftover | None:
    """Statements that stand as points of a list."""
    found = [match for match in _MARKS.finditer(text) if match["word"] in facts.homes()]
    if not found:
        return None
    first = found[0]
    numbered = any(match["mark"][0].isdigit() for match in found)
    parts = [(match.start("mark"), match.start("word"), "") for match in found]
    return Leftover(
        codes.UNEXPECTED_TEXT,
        first.span("mark"),
        f"`{first['mark']}` makes this line a point of a list, and a statement begins with its first word"
        + more_like_it(len(found) - 1),
        f"remove `{first['mark']}`" + (", and the marks of the other lines" if len(found) > 1 else ""),
        parts,
        edits=() if numbered else parts,  # no remedy takes a number away
    )


def _ruled(text: str) -> Leftover | None:
    """Lines of a sign that sets parts of a text off, with words or without."""
    found = list(_RULED.finditer(text))
    if not found:
        return None
    first = found[0]
    return Leftover(
        codes.UNREADABLE_CHARACTER,
        first.span("rule"),
        f"`{first['rule']}` begins no comment here{more_like_it(len(found) - 1)}",
        "begin a comment with #",
        [(*match.span(), "") for match in found],
        edits=[(match.start("rule"), match.start("rule") + 1, "#") for match in found],
    )


def _headings(text: str) -> Leftover | None:
    """Lines that only name what follows them."""
    found = list(_HEADING.finditer(text))
    if not found:
        return None
    first = found[0]
    return Leftover(
        codes.UNEXPECTED_TEXT,
        first.span("words"),
        f"`{first['words']}` is a heading, and no statement{more_like_it(len(found) - 1)}",
        "begin it with # as a comment, or remove the line",
        [(*match.span(), "") for match in found],
        edits=[(match.start("words"), match.start("words"), "# ") for match in found],
    )


def _pairs(text: str) -> Leftover | None:
    """Statements in the manner of a list of keys with their values."""
    found = [
        match
        for match in _KEYED.finditer(text)
        if match["word"] in facts.homes() and not _TOPS.match(text, match.start())
    ]
    if not any(match["quote"] for match in found) and len(found) < 2:  # the parser reports a single sign
        return None
    first = found[0]
    parts: list[Part] = []
    for match in found:
        parts.append((match.start("key"), match.start("value"), f"{match['word']} "))
        value = match["value"].rstrip()
        if value.endswith(","):
            end = match.start("value") + len(value)
            parts.append((end - 1, end, ""))
    return Leftover(
        codes.UNEXPECTED_TEXT,
        (first.start("key"), first.end("sign")),
        f"`{first['sign']}` pairs a key with a value, and a statement is its words one after the other"
        + more_like_it(len(found) - 1),
        f"write `{first['word']} {first['value'].rstrip().removesuffix(',')}`",
        parts,
    )


def _blocks(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Blocks that open with a word or a sign other than {, and end with `end` or where lines are less far in."""
    for titled in TITLED.finditer(text):
        opener = _OPENER.match(text, titled.end()) if len(diagnostics) < MOST_BLOCKS else None
        if opener is None:
            continue
        at, sign = opener.start("sign"), opener["sign"]
        top = _TOPS.search(text, titled.end())
        limit = top.start() if top else len(text)
        closer = _CLOSER.search(text, opener.end(), limit)
        where = "in place of `end`" if closer else "on a line of its own where the block ends"
        edits = [Edit(Span(source, *opener.span("sign")), "{" if text[at - 1] in " \t" else " {")]
        if closer:
            edits.append(Edit(Span(source, *closer.span("word")), "}"))
        diagnostics.report(
            codes.UNEXPECTED_TEXT,
            Span(source, *opener.span("sign")),
            f"`{sign}` opens no block",
            f"write {{ in place of `{sign}`, and }} {where}",
            edits=tuple(edits) if closer else (),
        )
        text = with_parts(text, [(*opener.span("sign"), "{")])
        if closer:
            text = with_parts(text, [(*closer.span(), "}")])
        elif (last := _last_line(text, opener.end(), limit)) and text[last : last + 2] in ("\n", "\n\n"):
            text = put(text, last, "}")
    return text


def _last_line(text: str, start: int, limit: int) -> int:
    """The end of the last line with words before a limit; 0 if a } stands there already."""
    inner = text[start:limit].rstrip()
    return 0 if inner.count("}") > inner.count("{") else start + len(inner)
