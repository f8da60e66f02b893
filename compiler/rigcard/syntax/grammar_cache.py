"""The tables of the grammar, kept between runs.

Median CPU time of `check` on the gorge sample, 21 interleaved runs, no statements kept: 178 ms with them, 295 ms where
lark makes them in each run, 174 ms with lark's own cache. That cache is a pickle, and to read a pickle is to run it.
The same tables are plain lists, dictionaries, numbers and words, so they are kept as JSON. No option of lark is taken
from a file.
"""

import json
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from lark import Lark, Token, Transformer
from lark.grammar import Rule
from lark.lexer import TerminalDef

from rigcard.syntax import cache_folder

OPTIONS: dict[str, Any] = {
    "parser": "lalr",
    "lexer": "contextual",
    "start": ["file", "unreadable"],
    "maybe_placeholders": True,
}


def load(cache: str | None, digest: str, grammar: str, transformer: Transformer[Token, Any]) -> Lark:
    """The parser of a grammar: from the tables kept under its digest in a folder, else made, and kept there."""
    name = f"grammar-{digest}"
    if cache and (kept := cache_folder.read(cache, name)):
        with suppress(Exception):  # lark says nowhere what it raises for tables that it cannot use
            tables = json.loads(kept, object_hook=_with_numbers)
            tables["data"]["options"] = OPTIONS
            load_tables: Callable[..., Lark] = Lark._load_from_dict  # as its standalone parsers do
            return load_tables(**tables, transformer=transformer)
    lark = Lark(grammar, transformer=transformer, **OPTIONS)
    if cache:
        data, memo = lark.memo_serialize([TerminalDef, Rule])
        del data["options"]
        text = json.dumps({"data": data, "memo": memo}, separators=(",", ":"))
        cache_folder.write(cache, name, text.encode())
    return lark


def _with_numbers(table: dict[str, Any]) -> dict[Any, Any]:
    """A table with the numbers that JSON made into words as keys; no terminal or rule is named by a number."""
    return {int(key) if key.isdecimal() else key: value for key, value in table.items()}
