"""Finds where in a file the cursor stands: inside which blocks, and after which words of its statement."""

import re
from typing import NamedTuple

from lark import UnexpectedInput

from rigcard.syntax.cutting import TOP, pieces, statement_around
from rigcard.syntax.parser import Language

_TOPS = re.compile("^" + TOP.pattern, re.MULTILINE)
_PARTIAL = re.compile(r"[A-Za-z0-9][\w-]*\Z")
_MOST_BLANKED = 20  # faulty statements above the cursor that are skipped


class Context(NamedTuple):
    """The blocks and words around a cursor.

    `start` is where the top-level statement begins, `headers` are the opening lines of the blocks around the
    cursor, outermost first, `statement` is the part of the statement that is written, and `partial` the word at
    its end that is being written.
    """

    start: int
    headers: tuple[str, ...]
    statement: str
    partial: str
    in_comment: bool
    in_words: bool

    @property
    def block(self) -> str:
        """Return the word that opens the innermost block, or "file"."""
        return self.headers[-1].split()[0] if self.headers and self.headers[-1].split() else "file"

    @property
    def before(self) -> list[str]:
        """Return the words of the statement before the one that the cursor touches."""
        return self.statement[: len(self.statement) - len(self.partial)].split()

    def header(self, word: str) -> list[str]:
        """Return the words of the opening line of the block of this kind around the cursor."""
        return next((header.split() for header in self.headers if header.split()[:1] == [word]), [])


def context(text: str, offset: int) -> Context:
    """Return the context of a cursor at an offset."""
    text = text[:offset]
    start = max((found.start() for found in _TOPS.finditer(text)), default=0)
    headers: list[str] = []
    begins, before, last = start, "", ""
    for at, piece in pieces(text, start):
        last = piece
        if piece == "{":
            headers.append(text[begins:at].strip())
        elif piece == "}" and headers:
            headers.pop()
        if piece in "{};" or (piece == "\n" and not before.endswith(",")):
            begins = at + 1
        if not (piece.isspace() or piece.startswith("#")):
            before = piece.rstrip()
    statement = text[begins:].lstrip(" \t")
    in_words = last.startswith('"') and (len(last) == 1 or last[-1] != '"' or last.endswith('\\"'))
    partial = "" if in_words else (_PARTIAL.search(text) or [""])[0]
    return Context(start, tuple(headers), statement, partial, last.startswith("#"), in_words)


def terminals(language: Language, text: str, cursor: Context, offset: int) -> set[str]:
    """Return the terminals of the grammar that may stand at the cursor; none if its own statement is faulty."""
    end = offset - len(cursor.partial)
    own = end - cursor.start - len(cursor.statement) + len(cursor.partial)
    part = text[cursor.start : end]
    for _ in range(_MOST_BLANKED):
        try:
            return language.follows(part)
        except UnexpectedInput as fault:
            at = getattr(getattr(fault, "token", None), "start_pos", None) or fault.pos_in_stream or 0
            first, last = statement_around(part, min(int(at), len(part)))
            if last > own:
                return set()
            part = part[:first] + re.sub(r"[^\n]", " ", part[first:last]) + part[last:]
    return set()
