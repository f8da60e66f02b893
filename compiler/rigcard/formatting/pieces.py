"""Reads a rig file as words and comments, nested into statements, for the layout.

lark's own lexer finds the words. The lexer drops comments, line ends and `;`, so these are read from the text
between the words.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

from rigcard.source import Source
from rigcard.syntax.parser import Language
from rigcard.syntax.vocabulary import QUANTITIES

VALUES = frozenset((*QUANTITIES, "NAME", "STRING", "DATE", "ORDER", "DIRECTION"))
COMMENT, LINE_END, SEMICOLON = "comment", "line end", ";"
_BETWEEN = re.compile(r"#[^\n]*|\n|;")


class Piece(NamedTuple):
    """A word, a comment, a line end or a `;`.

    The kind of a value is its terminal in the grammar (`NAME`, `PERCENT`); the kind of any other word is the
    word itself. So `from` has the kind `from` as a word of the language, and `NAME` as a name.
    """

    kind: str
    text: str


class Comment(NamedTuple):
    """A comment. `own`: nothing stands before it on its line; `apart`: a blank line stands before it."""

    text: str
    own: bool
    apart: bool = False


class Word(NamedTuple):
    """A word of a statement. `broke`: it begins a line; `comments` stand between it and the comma before it."""

    kind: str
    text: str
    broke: bool = False
    comments: tuple[Comment, ...] = ()


class Block(NamedTuple):
    """The content of a pair of braces.

    `on_one_line`: both braces were on one line; `opened`: the comment after the opening brace.
    """

    items: "tuple[Statement | Comment, ...]"
    on_one_line: bool
    opened: str


class Statement(NamedTuple):
    """Words, an optional block and an optional trailing comment. `apart`: a blank line stands before it."""

    words: tuple[Word, ...]
    block: Block | None
    comment: str
    apart: bool


def read(language: Language, text: str) -> tuple[Piece, ...]:
    """Return the pieces of a text in order. Raises UnexpectedInput if it does not parse."""
    return tuple(_pieces(language, text))


def _pieces(language: Language, text: str) -> Iterator[Piece]:
    end = 0
    for token in language.tokens(Source("", text)):
        if token.type == "_SEP":
            continue
        start = token.start_pos or 0
        yield from _between(text[end:start])
        word = "," if token.type == "_COMMA" else str(token)
        end = start + len(word)
        yield Piece(token.type if token.type in VALUES else word, word)
    yield from _between(text[end:])


def _between(text: str) -> Iterator[Piece]:
    for found in _BETWEEN.findall(text):
        if found in ("\n", ";"):
            yield Piece(LINE_END if found == "\n" else SEMICOLON, found)
        else:
            yield Piece(COMMENT, found.rstrip(" \t\r\f"))


def significant_tokens(pieces: tuple[Piece, ...]) -> list[tuple[str, str]]:
    """List what no layout may change.

    That is words and comments in order, statement ends, and which comments have their own line.
    """
    kept: list[tuple[str, str]] = [("{", "")]  # treat the file as if it were in a block
    own, ended = True, False
    for piece in pieces:
        if piece.kind in (LINE_END, SEMICOLON):
            own = own or piece.kind == LINE_END
            ended = True
            continue
        if piece.kind == COMMENT:
            kept.append((COMMENT, f"{'own' if own else 'behind'} {piece.text}"))
            continue
        before = next(kind for kind, _ in reversed(kept) if kind != COMMENT)
        if ended and before not in ("{", ",", "end") and piece.kind != "}":
            kept.append(("end", ""))
        kept.append((piece.kind, piece.text))
        own = ended = False
    return kept


def statements(pieces: tuple[Piece, ...]) -> tuple[Statement | Comment, ...]:
    """Return the statements and comments of a file that parses, with the blocks nested in them."""
    return _Reader(pieces).items()


class _Reader:
    """Reads the pieces in turn; `ends` counts the line ends since the last word or comment."""

    def __init__(self, pieces: tuple[Piece, ...]) -> None:
        self.pieces = pieces
        self.at = 0

    def items(self) -> tuple[Statement | Comment, ...]:
        """Read up to the closing brace of the block, which is not consumed, or to the end."""
        found: list[Statement | Comment] = []
        while True:
            apart = self._separators() > 1
            kind = self._kind()
            if kind in ("", "}"):
                return tuple(found)
            if kind == COMMENT:
                found.append(Comment(self._take().text, True, apart))
            else:
                found.append(self._statement(apart))

    def _statement(self, apart: bool) -> Statement:
        words: list[Word] = []
        block = None
        while self._kind() not in ("", "}", COMMENT, LINE_END, SEMICOLON):
            if self._kind() == "{":
                block = self._block()
                break
            piece = self._take()
            words.append(Word(*piece))
            if piece.kind == ",":
                words.append(self._after_comma())
        return Statement(tuple(words), block, self._behind(), apart)

    def _after_comma(self) -> Word:
        comments: list[Comment] = []
        broke = False
        while self._kind() in (COMMENT, LINE_END):
            piece = self._take()
            if piece.kind == COMMENT:
                comments.append(Comment(piece.text, broke))
            else:
                broke = True
        return Word(*self._take(), broke, tuple(comments))

    def _block(self) -> Block:
        begin = self.at
        self._take()
        opened = self._behind()
        items = self.items()
        end = self.at
        self._take()
        on_one_line = all(piece.kind != LINE_END for piece in self.pieces[begin:end])
        return Block(items, on_one_line, opened)

    def _behind(self) -> str:
        """Return the comment on the rest of the line, or an empty text."""
        at = self.at
        while self._kind() == SEMICOLON:
            self._take()
        if self._kind() == COMMENT:
            return self._take().text
        self.at = at
        return ""

    def _separators(self) -> int:
        ends = 0
        while self._kind() in (LINE_END, SEMICOLON):
            ends += self._take().kind == LINE_END
        return ends

    def _kind(self) -> str:
        return self.pieces[self.at].kind if self.at < len(self.pieces) else ""

    def _take(self) -> Piece:
        self.at += 1
        return self.pieces[self.at - 1]
