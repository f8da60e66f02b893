"""Cuts a text into pieces, into statements, and down to one statement with the heads of the blocks around it."""

import re
from collections import Counter
from collections.abc import Iterator
from functools import lru_cache

from rigcard.source import Source

_PIECE = re.compile(r'"(?:[^"\\\n]|\\.)*"?|#[^\n]*|[{}\n;]|[^"#{}\n;]+')
STATEMENTS = (
    "rig|use|signal|model|unit|cable|expect|measured|sheet|step|open|connector|stock-lengths|independent"
)
TOP = re.compile(rf'[ \t]*(?:{STATEMENTS})[ \t]+["A-Za-z]')
TITLED = re.compile(
    r"^[ \t]*(rig|(?:model|cable|sheet)[ \t]+[\w-]+|unit[ \t]+[\w-]+[ \t]+is[ \t]+[\w-]+"
    r'|input[ \t]+[\w-]+(?:[ \t]+on[ \t]+[\w-]+)?)[ \t]+("[^"\n]*")(?:[ \t]+critical)?(?:[ \t]+stop)?',
    re.MULTILINE,
)
TO_NEXT_LINE = re.compile(
    r"[ \t]*(?:#[^\n]*)?\n(?:[ \t]*(?:#[^\n]*)?\n)*[ \t]*"
)  # blanks and comments included
_WORDS = re.compile(r'"[^"\n]*"|#[^\n]*')
_NAMES = re.compile(r"[\w-]+")
_OTHER_THAN_LINES = re.compile(r"[^\n]")


def pieces(text: str, start: int = 0) -> Iterator[tuple[int, str]]:
    """The text from `start` on, cut at braces, line ends, semicolons, quoted words and comments."""
    for match in _PIECE.finditer(text, start):
        yield match.start(), match.group()


@lru_cache(maxsize=1)
def uses(source: Source) -> Counter[str]:
    """How often a source has each name or fixed word, the parts of `hs.two` each; none in quotes and comments."""
    return Counter(_NAMES.findall(_WORDS.sub(" ", source.text)))


def bare(text: str, start: int) -> str:
    """The text with everything before a statement removed, except the heads of the blocks around it."""
    heads: list[tuple[int, int]] = []
    begun = 0
    for at, piece in pieces(text[:start]):
        if piece == "{":
            heads.append((begun, at + 1))
        elif piece == "}" and heads:
            heads.pop()
        if piece in "{};\n":
            begun = at + 1
    parts = []
    done = 0
    for begin, end in [*heads, (start, len(text))]:
        parts += [_OTHER_THAN_LINES.sub(" ", text[done:begin]), text[begin:end]]
        done = end
    return "".join(parts)


def statement_around(text: str, at: int) -> tuple[int, int]:
    """The span of the innermost statement that contains an offset, including the block that it opens."""
    starts = [0]
    before = ""
    for offset, piece in pieces(text):
        ends = piece in ";}" or (piece == "\n" and not before.endswith(","))
        if ends and starts[-1] <= at <= offset and text[starts[-1] : offset].strip():
            return starts[-1], offset
        if piece == "{":
            starts.append(offset + 1)
        elif piece == "}" and len(starts) > 1:
            starts.pop()
        elif ends:
            starts[-1] = offset + 1
        if not (piece.isspace() or piece.startswith("#")):
            before = piece.rstrip()
    return 0, len(text)
