"""What the words of the language say, read from the tables of `grammar/reference.md`."""

import re
from functools import lru_cache
from importlib import resources

_ROW = re.compile(r"\| ([^|]*`[^|]*) \| ([^|]+) \|")
_CODE = re.compile(r"`([^`]+)`")
_BLOCKS = {
    "## Top-level statements": "file",
    "### `rig`": "rig",
    "### `signal`": "signal",
    "### `expect`": "",
    "### `sheet`": "sheet",
    "### `step`, `hazard`, `note`, `open`": "file",
    "## Lines of a model": "model",
    "### Inputs": "input",
    "### Settings and commands": "model",
    "## Lines of a unit": "unit",
    "## Lines of a cable": "cable",
    "## What is computed": "",
}


@lru_cache(maxsize=1)
def _entries() -> dict[tuple[str, str], list[str]]:
    """Sentences by block and first word."""
    text = resources.files("rigcard.grammar").joinpath("reference.md").read_text(encoding="utf-8")
    found: dict[tuple[str, str], list[str]] = {}
    block = ""
    for line in text.splitlines():
        block = _BLOCKS.get(line, block)
        row = _ROW.match(line)
        for code in _CODE.findall(row[1]) if row and block else ():
            found.setdefault((block, code.split()[0]), []).append(f"{row[1]}: {row[2]}" if row else "")
    return found


def sentences(block: str, word: str) -> list[str]:
    """What a word says in a block, each with the form it is written in; none for a word that is no keyword."""
    entries = _entries()
    near = entries.get((block, word))
    if near is None:
        near = next((said for (_, known), said in entries.items() if known == word), [])
    return list(dict.fromkeys(re.sub(r"\[(`[^`]*`)\]\([^)]*\)", r"\1", said) for said in near))
