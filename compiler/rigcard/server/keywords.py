"""Explains the words of the language from the tables of `grammar/reference.md`."""

import re
from collections.abc import Sequence
from functools import lru_cache
from importlib import resources
from typing import NamedTuple

_ROW = re.compile(r"\| ([^|]*`[^|]*) \| ([^|]+) \|")
_CODE = re.compile(r"`([^`]+)`")
_BLOCKS = {
    "## Top-level statements": "file",
    "### `rig`": "rig",
    "### `signal`": "signal",
    "### `expect`": "",
    "### `harmless`": "",
    "### `sheet`": "sheet",
    "### `connector`": "connector",
    "### `stock-lengths`": "",
    "### `step`, `hazard`, `note`, `open`": "file",
    "## Lines of a model": "model",
    "### Inputs": "input",
    "| line of a device | says | left out |": "model",
    "### Settings and commands": "model",
    "## Lines of a unit": "unit",
    "## Lines of a cable": "cable",
    "## What is computed": "",
}


class _Row(NamedTuple):
    """One form of a row in a table: its block, its words, and the explanation."""

    block: str
    words: tuple[str, ...]
    said: str


@lru_cache(maxsize=1)
def _rows() -> tuple[_Row, ...]:
    text = resources.files("rigcard.grammar").joinpath("reference.md").read_text(encoding="utf-8")
    found = []
    block = ""
    for line in text.splitlines():
        block = _BLOCKS.get(line, block)
        row = _ROW.match(line)
        for code in _CODE.findall(row[1]) if row and block else ():
            said = re.sub(r"\[([^]]*)\]\([^)]*\)", r"\1", f"{row[1]}: {row[2]}") if row else ""
            found.append(_Row(block, tuple(code.split()), said))
    return tuple(found)


def sentences(block: str, before: Sequence[str], word: str) -> list[str]:
    """Explain a word in a block after the words before it in its statement; each sentence includes the form.

    An option has the explanation of its own row, any other word that of its statement. The list is empty if no
    table has the word.
    """
    rows = _rows()

    def begun_by(first: str, block: str) -> list[_Row]:
        return [row for row in rows if row.block == block and row.words[0] == first]

    if not before:
        found = begun_by(word, block)
    else:
        found = begun_by(word, before[0])  # options of a statement without a block
        found = found or [
            row for row in rows if row.block == block and row.words[0] in before and word in row.words
        ]
        elsewhere = any(row.words[0] == before[0] for row in rows)
        if not found and (begun_by(before[0], block) or not elsewhere):
            found = begun_by(word, block) or begun_by(before[0], block)
    return list(dict.fromkeys(row.said for row in found))
