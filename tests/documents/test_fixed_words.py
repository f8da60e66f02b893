"""No fixed word is on a paper but by `say`: in a language of other letters, only the user's words are Latin."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from papers import made
from rigcard.documents.base import language
from rigcard.documents.base.model import Text
from samples import SAMPLES

ASIDE = frozenset(  # units (ISO 80000) and signs of the trade, which are the same in every language
    "V A W Wh Ah mm m kg g ms s µs deg min h AWG UTC A3 A4 A5 A6 LETTER TABLOID".split()
)


class OtherLetters(dict[str, str]):
    """A catalogue in which every fixed letter is a Cyrillic one."""

    def get(self, text: str, default: object = None) -> str:  # type: ignore[override]
        """Return a text with other letters, its parts as they are."""
        pieces = re.split(r"(\{\w+\})", text)
        return "".join(piece if piece[:1] == "{" else piece.translate(LETTERS) for piece in pieces)


LETTERS = {ord(letter): 0x0410 + at for at, letter in enumerate("ABCDEFGHIJKLMNOPQRSTUVWXYZ")} | {
    ord(letter): 0x0430 + at for at, letter in enumerate("abcdefghijklmnopqrstuvwxyz")
}


def words_of(value: object) -> Iterator[str]:
    """Return every text inside a value, names of fields and of classes left out."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, found in value.items():
            yield from words_of(key)
            yield from words_of(found)
    elif isinstance(value, tuple) and hasattr(value, "_fields"):
        for field, found in zip(value._fields, value, strict=True):
            if field not in ("role", "kind", "span"):
                yield from words_of(found)
    elif isinstance(value, list | tuple | set | frozenset):
        for found in value:
            yield from words_of(found)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_only_words_of_the_user_are_in_latin_letters(sample: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every word in Latin letters stands in the file."""
    token = language._CATALOGUE.set(OtherLetters())
    try:
        papers = made.__wrapped__(sample, "a4") if hasattr(made, "__wrapped__") else made(sample, "a4")
    finally:
        language._CATALOGUE.reset(token)
    own = {word.casefold() for text in words_of(papers.solved.rig) for word in re.findall(r"[A-Za-z]+", text)}
    found = {
        (name, mark.text)
        for name, document in papers.documents.items()
        for page in document.pages
        for mark in page.marks
        if isinstance(mark, Text)
        for word in re.findall(r"[A-Za-z]+", mark.text)
        if len(word) > 1 and word.casefold() not in own and word not in ASIDE
    }
    assert not sorted(found)
