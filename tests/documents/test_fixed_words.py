"""No fixed word is on a paper but by `say`: in a language of other letters, only the user's words are Latin."""

from __future__ import annotations

import re
from collections import UserDict
from collections.abc import Iterator
from pathlib import Path

import pytest

from papers import compiled_rig, laid_out
from rigcard.documents.base.language import speaking
from rigcard.documents.base.model import Document, Text
from samples import GORGE, SAMPLES

LATIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
CYRILLIC = str.maketrans(
    LATIN, "".join(chr(0x0410 + at) for at in range(26)) + "".join(map(chr, range(0x0430, 0x044A)))
)
PLACES = {
    "away",
    "middle",
    "toward",
    "left",
    "right",
    "up",
    "down",
    "centre",
}  # which `say` knows, or a title has
UNITS = {"AWG", "mm", "kg", "mA", "Wh", "min", "GHz", "ms"}  # alike in every language: ISO 80000, ASTM B258
SHEETS = {"letter", "tabloid"}  # names of sizes: ANSI/ASME Y14.1
NOT_SAID = {"role", "kind", "span", "polarity"}  # fields whose words the language of rig files fixes


class OtherLetters(UserDict[str, str]):
    """A catalogue that has every text, in Cyrillic letters, its parts as they are."""

    def get(self, text: str, default: object = None) -> str:  # type: ignore[override]
        """Return a text in other letters."""
        pieces = re.split(r"(\{\w+\})", text)
        return "".join(piece if piece.startswith("{") else piece.translate(CYRILLIC) for piece in pieces)


def words_in(value: object) -> Iterator[str]:
    """Every text inside a value; names of fields, and what the language of files fixes, left out."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, found in value.items():
            yield from words_in(key)
            yield from words_in(found)
    elif isinstance(value, tuple) and hasattr(value, "_fields"):
        for field, found in zip(value._fields, value, strict=True):
            if field not in NOT_SAID:
                yield from words_in(found)
    elif isinstance(value, list | tuple | set | frozenset):
        for found in value:
            yield from words_in(found)


def texts_of(document: Document) -> Iterator[str]:
    """Every text that a person reads in a file: its title, its bookmarks, what is printed."""
    yield document.title
    yield document.subject
    for page in document.pages:
        yield from page.bookmarks
        yield from (mark.text for mark in page.marks if isinstance(mark, Text))


def latin(text: str) -> list[str]:
    """The words of a text that have two Latin letters or more; a code of digits and letters is no word."""
    return [word for word in re.findall(r"\w+", text) if re.fullmatch(r"[A-Za-z]{2,}", word)]


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_only_words_of_the_user_are_in_latin_letters(sample: Path) -> None:
    """Every word in Latin letters stands in the file, is a unit or a check code."""
    solved = compiled_rig(sample)
    with speaking("xx", OtherLetters()):
        documents = laid_out(solved)
    written = [text for text in words_in(solved.rig) if text not in PLACES]
    own = {word.casefold() for text in written for word in latin(text)}
    texts = {text for document in documents.values() for text in texts_of(document)}
    check = "check".translate(CYRILLIC)
    codes = {code for text in texts for code in re.findall(rf"{check} (\w{{4}})\b", text)}
    found = {
        (word, text)
        for text in texts
        for word in latin(text)
        if word.casefold() not in own | SHEETS and word not in UNITS | codes
    }

    assert {document.language for document in documents.values()} == {"xx"}
    assert codes
    assert not sorted(found)


def test_ends_of_an_axis_are_said() -> None:
    """The picture turns to the left in German too: a title of the sample would hide `left` from the test above."""
    with speaking("de"):
        texts = list(texts_of(laid_out(compiled_rig(GORGE))["cards"]))

    assert any("Bild nach links" in text for text in texts)
    assert not [text for text in texts if "nach left" in text or "nach right" in text]


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_german_takes_at_most_a_quarter_more_sides(sample: Path) -> None:
    """German words are longer (by a third in running text, common practice, no source); the pack stays small."""
    solved = compiled_rig(sample)
    sides = {}
    for language in ("en", "de"):
        with speaking(language):
            sides[language] = sum(len(page.frames) for page in laid_out(solved)["cards"].pages)

    assert sides["de"] <= 1.25 * sides["en"], sides
