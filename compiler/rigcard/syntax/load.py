"""Reads a rig file and every file it uses, each once."""

import os
from pathlib import Path
from typing import NamedTuple

from rigcard.diagnostics import Sink
from rigcard.source import Source, Span
from rigcard.syntax import codes, tree
from rigcard.syntax.parser import parse

LARGEST = 4_000_000  # bytes, all files of a rig together


class Program(NamedTuple):
    """The statements of the main file, and of the files it uses after it; the names of all, in the order read."""

    main: Source
    statements: tuple[object, ...]
    sources: tuple[str, ...] = ()


def load(path: Path, sink: Sink, cache: str | None = None) -> Program | None:
    """Read and parse a rig file. Returns None where a file could not be read or parsed; all faults reported."""
    return _Loader(sink, cache).run(path)


class Raw(NamedTuple):
    """One file as it is on the disk, and as it is read."""

    data: bytes
    source: Source


def read_alone(path: Path, sink: Sink) -> Raw | None:
    """One file without those it uses, not parsed; None, and why reported, where it cannot be read."""
    loader = _Loader(sink, None)
    data = loader.bytes_of(path, str(path), None)
    return None if data is None else as_raw(data, str(path), sink)


def as_raw(data: bytes, name: str, sink: Sink) -> Raw | None:
    """Bytes that a caller has read already, under the name that messages show; None if they are no text."""
    loader = _Loader(sink, None)
    source = None if loader.too_large(data, name, None) else loader.decoded(data, name, None)
    return Raw(data, source) if source else None


class _Loader:
    def __init__(self, sink: Sink, cache: str | None) -> None:
        self.sink = sink
        self.cache = cache
        self.seen: set[str] = set()
        self.size = 0
        self.statements: list[object] = []
        self.sources: list[str] = []
        self.whole = True

    def run(self, path: Path) -> Program | None:
        main = self._file(path, str(path), None)
        if main is None or not self.whole:
            return None
        return Program(main, tuple(self.statements), tuple(self.sources))

    def _file(self, path: Path, name: str, asked: Span | None) -> Source | None:
        real = os.path.realpath(path)
        if real in self.seen:
            return None
        self.seen.add(real)
        raw = self.bytes_of(path, name, asked)
        source = None if raw is None else self.decoded(raw, name, asked)
        parsed = parse(source, self.sink, self.cache) if source else None
        if source is None or parsed is None:
            self.whole = False
            return None
        self.sources.append(source.name)
        self.statements.extend(parsed.statements)
        for statement in parsed.statements:
            if isinstance(statement, tree.Use):
                used = statement.path.text
                self._file(path.parent / used, str(Path(name).parent / used), statement.path.span)
        return source

    def bytes_of(self, path: Path, name: str, asked: Span | None) -> bytes | None:
        """What a file holds, or None, and why reported."""
        try:
            with path.open("rb") as file:
                raw = file.read(LARGEST + 1)  # a device has no size and no end
        except (OSError, ValueError) as fault:
            reason = getattr(fault, "strerror", None) or str(fault)
            self.sink.report(
                codes.UNREADABLE_FILE,
                asked,
                f"{name} cannot be read: {reason}",
                "check the name; a path in `use` is relative to the file that says it"
                if asked
                else "check the name of the file",
                where=name,
            )
            return None
        if self.too_large(raw, name, asked):
            return None
        self.size += len(raw)
        return raw

    def too_large(self, raw: bytes, name: str, asked: Span | None) -> bool:
        """Whether a file goes beyond what all may have together, which is then reported."""
        if len(raw) + self.size <= LARGEST:
            return False
        self.sink.report(
            codes.FILE_TOO_LARGE,
            asked,
            f"the files of the rig are larger than {LARGEST // 1_000_000} MB together",
            "give a rig file, which is text",
            where=name,
        )
        return True

    def decoded(self, raw: bytes, name: str, asked: Span | None) -> Source | None:
        """Bytes as text, or None, and why reported."""
        try:
            if b"\0" in raw:
                raise UnicodeDecodeError("utf-8", raw, raw.index(b"\0"), raw.index(b"\0") + 1, "a zero byte")
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError as fault:
            line = raw.count(b"\n", 0, fault.start) + 1
            self.sink.report(
                codes.NOT_TEXT,
                asked,
                f"{name} is not UTF-8 text: line {line} has a byte that cannot be read",
                "save it as UTF-8 in the editor",
                where=name,
            )
            return None
        return Source(name, text.replace("\r\n", "\n"))
