"""Statements of stock files, kept between runs: one that has not changed since is not parsed again.

Each file has one of its own beside the cached grammar. What it holds counts for the same text alone, read by the same
version of the language; anything else in it, whatever it is, is passed over and written anew.
"""

import os
import pickle
from contextlib import suppress
from hashlib import sha256
from io import BytesIO
from typing import Any

from rigcard.source import Source
from rigcard.syntax import parser, tree


def load(cache: str, path: str, source: Source) -> tree.File | None:
    """The statements kept of the file at a real path; None if there are none, or they are of another text."""
    try:
        with open(_place(cache, path), "rb") as file:
            about, data = pickle.load(file)
            if about != (_language(cache), source.text):
                return None
            found = _Reader(BytesIO(data), source).load()
    except Exception:  # none yet, or broken in any way: it will be replaced
        return None
    return found if isinstance(found, tree.File) else None


def store(cache: str, path: str, source: Source, statements: tree.File) -> None:
    """Keep the statements of a file for the next run, if they can be."""
    data = BytesIO()
    _Writer(data, pickle.HIGHEST_PROTOCOL).dump(statements)
    place = _place(cache, path)
    work = f"{place}-{os.getpid()}"
    with suppress(OSError):  # no room, or no right: the next run parses again
        try:
            with open(work, "wb") as file:
                pickle.dump(((_language(cache), source.text), data.getvalue()), file)
            os.replace(work, place)
        except OSError:
            os.unlink(work)
            raise


def _place(cache: str, path: str) -> str:
    return f"{cache}-{sha256(os.fsencode(path)).hexdigest()[:24]}"


def _language(cache: str) -> tuple[str, list[int]]:
    """What statements are read by: the grammar and the files that make them."""
    return parser.load(cache).digest, [os.stat(str(module.__file__)).st_mtime_ns for module in (parser, tree)]


class _Writer(pickle.Pickler):
    """Leaves the source out: the name of a file depends on where a run is started."""

    def persistent_id(self, thing: Any) -> str | None:
        return "source" if isinstance(thing, Source) else None


class _Reader(pickle.Unpickler):
    def __init__(self, file: BytesIO, source: Source) -> None:
        super().__init__(file)
        self._source = source

    def persistent_load(self, _: Any) -> Source:
        return self._source
