"""The tables of the grammar, kept between runs.

Median CPU time of `check` on the gorge sample, 21 interleaved runs, without cached statements: 178 ms with
these tables, 295 ms if lark builds them in each run, 174 ms with lark's own cache. Lark's cache is a pickle,
and reading a pickle executes it. The same tables are plain lists, dictionaries, numbers and words, so we keep
them as JSON. No option of lark is read from a file.
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
    """The parser of a grammar: from the tables cached under its digest, or newly built and then cached."""
    name = f"grammar-{digest}"
    if cache and (kept := cache_folder.read(cache, name)):
        with suppress(Exception):  # lark does not document what it raises for unusable tables
            tables = json.loads(kept, object_hook=_with_numbers)
            tables["data"]["options"] = OPTIONS
            load_tables: Callable[..., Lark] = Lark._load_from_dict  # lark's standalone parsers do the same
            return load_tables(**tables, transformer=transformer)
    lark = Lark(grammar, transformer=transformer, **OPTIONS)
    if cache:
        data, memo = lark.memo_serialize([TerminalDef, Rule])
        del data["options"]
        text = json.dumps({"data": data, "memo": memo}, separators=(",", ":"))
        cache_folder.write(cache, name, text.encode())
    return lark


def _with_numbers(table: dict[str, Any]) -> dict[Any, Any]:
    """Restores the numeric keys that JSON turned into strings; no terminal or rule has a number as its name."""
    return {int(key) if key.isdecimal() else key: value for key, value in table.items()}
