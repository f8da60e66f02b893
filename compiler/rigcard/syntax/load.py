"""Reads a rig file and every file that it uses, each one once."""

import errno
import os
import re
import stat
from collections.abc import Callable, Sequence
from typing import NamedTuple

from rigcard.diagnostics import Diagnostics, Edit
from rigcard.reporting.suggest import near, one_of
from rigcard.source import Source, Span, StrPath
from rigcard.syntax import codes, statement_cache, tree
from rigcard.syntax.parser import parse

LARGEST = 4_000_000  # bytes, all files of a rig together
DEEPEST = 20  # files in a chain of `use`
MOST_FILES = 200
DEEPEST_FOLDER = 50  # folders in each other that are searched for rigs
MOST_FOLDERS = 100  # in which a missing file is looked for
NO_FILE = "it is no file but a pipe or a device"


class Program(NamedTuple):
    """The statements of the main file, then of the files that it uses; all file names in reading order."""

    main: Source
    statements: tuple[object, ...]
    sources: tuple[str, ...] = ()


class _Used(NamedTuple):
    """A file to read: its path as messages show it, the folder that it may not leave ("": the main file's
    folder and every stock folder), the length of the chain of `use` that leads to it, and the words that name
    it."""

    name: str
    root: str = ""
    depth: int = 0
    asked: Span | None = None


def from_disk(path: str) -> bytes:
    """The bytes of a file, at most one more than a rig may have. Raises OSError or ValueError."""
    with open(path, "rb") as file:
        return file.read(LARGEST + 1)  # a device has no size and may never end


def read_within(name: str, allowed: Callable[[str], bool]) -> bytes:
    """The bytes of a file whose real path is allowed. Raises OSError or ValueError.

    It is opened once, and what was opened is judged: a link on the way may be another one a moment later.
    """
    handle = os.open(name, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(handle, "rb") as file:
        opened = os.fstat(handle)
        if stat.S_ISDIR(opened.st_mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        if not stat.S_ISREG(opened.st_mode):
            raise ValueError(NO_FILE)
        real = os.path.realpath(name)
        if not os.path.samestat(opened, os.stat(real)) or not allowed(real):
            raise ValueError("a link on the way to it changed while it was read")
        return file.read(LARGEST + 1)


def require_regular_file(name: str) -> None:
    """Raises ValueError if the path exists but is not a regular file: reading it may never end."""
    if os.path.exists(name) and not (os.path.isfile(name) or os.path.isdir(name)):
        raise ValueError(NO_FILE)


def require_no_named_pipe(name: str) -> None:
    """Raises ValueError for a pipe that lies in a folder: it may have no writer, ever. One of the shell has."""
    real = os.path.realpath(name)
    if os.path.exists(real) and stat.S_ISFIFO(os.stat(real).st_mode):
        raise ValueError(NO_FILE)


Reader = Callable[[str], bytes]
Parser = Callable[[Source, Diagnostics], tree.File | None]


def load(
    path: StrPath,
    diagnostics: Diagnostics,
    cache: str | None = None,
    stock: Sequence[str] = (),
    reader: Reader = from_disk,
    parser: Parser | None = None,
) -> Program | None:
    """Read and parse a rig file. `stock` names further folders whose files it may use.

    `reader` returns the bytes of a file; an editor passes one that knows its unsaved texts, and a `parser` that
    knows what it has parsed before. Returns None if a file cannot be read or parsed. All faults are reported.
    """
    return _Loader(diagnostics, cache, os.fspath(path), stock, reader, parser).run()


def named_files(path: StrPath, diagnostics: Diagnostics, stock: Sequence[str] = ()) -> tuple[str, ...]:
    """A rig file and every file that it uses, whether they can be read or not, in reading order."""
    loader = _Loader(diagnostics, None, os.fspath(path), stock)
    loader.run()
    return tuple(loader.named)


class Raw(NamedTuple):
    """One file: its bytes on the disk, and its decoded text."""

    data: bytes
    source: Source


def read_alone(path: StrPath, diagnostics: Diagnostics) -> Raw | None:
    """One file, not parsed and without the files that it uses; None, with a report, if it cannot be read."""
    name = os.fspath(path)
    data = _Loader(diagnostics, None, name).bytes_of(name, None)
    return None if data is None else as_raw(data, name, diagnostics)


def as_raw(data: bytes, name: str, diagnostics: Diagnostics) -> Raw | None:
    """Decodes bytes that a caller has already read; `name` is shown in messages. None if they are not text."""
    loader = _Loader(diagnostics, None, name)
    source = None if loader.too_large(data, name, None) else loader.decoded(data, name, None)
    return Raw(data, source) if source else None


class _Loader:
    def __init__(
        self,
        diagnostics: Diagnostics,
        cache: str | None,
        path: str,
        stock: Sequence[str] = (),
        reader: Reader = from_disk,
        parser: Parser | None = None,
    ) -> None:
        self.diagnostics = diagnostics
        self.cache = cache
        self.reader = reader
        self.parser = parser
        self.path = path
        self.own = os.path.realpath(os.path.dirname(path))
        self.stock = {folder: os.path.realpath(folder) for folder in stock}
        self.seen: set[str] = set()
        self.named: list[str] = []
        self.size = 0
        self.statements: list[object] = []
        self.sources: list[str] = []
        self.whole = True

    def run(self) -> Program | None:
        main = self._file(_Used(self.path))
        if main is None or not self.whole:
            return None
        return Program(main, tuple(self.statements), tuple(self.sources))

    def _file(self, file: _Used) -> Source | None:
        real = os.path.realpath(file.name)
        if real in self.seen or (file.asked and self._too_many(file)):
            return None
        self.seen.add(real)
        self.named.append(file.name)
        raw = self.bytes_of(file.name, file.asked, file.root or self.own)
        source = None if raw is None else self.decoded(raw, file.name, file.asked)
        parsed = self._parsed(file, source) if source else None
        if source is None or parsed is None:
            self.whole = False
            return None
        self.sources.append(source.name)
        self.statements.extend(parsed.statements)
        for statement in parsed.statements:
            if isinstance(statement, tree.Use) and (used := self._find(file, statement.path)):
                self._file(used)
        return source

    def _parsed(self, file: _Used, source: Source) -> tree.File | None:
        """The statements of a file. Those of stock files, which seldom change, are cached for the next run."""
        if self.parser is not None:
            return self.parser(source, self.diagnostics)
        if self.cache is None or file.asked is None or self.reader is not from_disk:
            return parse(source, self.diagnostics, self.cache)
        statements = statement_cache.load(self.cache, source)
        if statements is None and (statements := parse(source, self.diagnostics, self.cache)):
            statement_cache.store(self.cache, source, statements)
        return statements

    def _find(self, user: _Used, words: tree.Words) -> _Used | None:
        """The file of a `use`: beside the file that says it, else in a stock folder; never outside of both."""
        used = os.fsdecode(words.text.encode())  # a file name is UTF-8 bytes, whatever the locale says
        beside = joined(os.path.dirname(user.name), used)
        others = [joined(folder, used) for folder in self.stock]
        found = [
            _Used(name, root, user.depth + 1, words.span)
            for name in (beside, *others)
            if (root := self._root(name, user)) is not None
        ]
        there = [file for file in found if os.path.lexists(file.name)]
        if there or (found and found[0].name == beside):
            return (there or found)[0]
        self.whole = False
        self.diagnostics.report(
            codes.OUTSIDE,
            words.span,
            f"{beside} lies outside {'the stock folder' if user.root else 'the folder of the rig file'}",
            "copy it there, or name its folder with `--stock DIR`" if not user.root else "copy it there",
        )
        return None

    def _root(self, name: str, user: _Used) -> str | None:
        """The folder that a file may not leave, links resolved; "": the main file's; None: forbidden."""
        real = os.path.realpath(name)
        if not user.root and within(real, self.own):
            return ""
        return next(
            (root for root in self.stock.values() if user.root in ("", root) and within(real, root)), None
        )

    def _too_many(self, file: _Used) -> bool:
        """Whether the files exceed a limit; reported once."""
        if file.depth > DEEPEST:
            code, cause = (
                codes.USED_TOO_DEEP,
                f"{file.name} ends a chain of more than {DEEPEST} files that use each other",
            )
            hint = "let the rig file itself use it"
        elif len(self.seen) >= MOST_FILES:
            code, cause = codes.TOO_MANY_FILES, f"the rig has more than {MOST_FILES} files"
            hint = "use only the files whose models the rig has"
        else:
            return False
        if self.whole or all(found.code is not code for found in self.diagnostics):
            self.diagnostics.report(code, file.asked, cause, hint)
        self.whole = False
        return True

    def bytes_of(self, name: str, asked: Span | None, root: str = "") -> bytes | None:
        """The content of a file, or None with a report; one that is used (`asked`) must lie in the folder `root`."""
        try:
            if asked and self.reader is from_disk:
                raw = read_within(name, lambda real: within(real, root))
            else:
                (require_regular_file if asked else require_no_named_pipe)(name)
                raw = self.reader(name)
        except (OSError, ValueError) as fault:
            reason = getattr(fault, "strerror", None) or str(fault)
            beside = _meant(name)
            hint = "name a rig file that lies in it" if os.path.isdir(name) else "check the name of the file"
            if isinstance(fault, PermissionError):
                hint = "let its owner allow you to read it"
            edits: tuple[Edit, ...] = ()
            if asked:  # the path as it was written, with another name of a file
                written = asked.text.strip('"')
                beside = [written[: len(written) - len(os.path.basename(written))] + file for file in beside]
                hint = "check the name; a path in `use` is relative to the folder of this file"
                beside = beside or _elsewhere(name, written)
                if os.path.isdir(name):
                    hint = "name a file of this folder, each one in a `use` of its own"
                elif re.search(r"[*?]", written):
                    hint = "name each file in a `use` of its own"
                if len(beside) == 1 and re.fullmatch(r"[^\"\\]*", beside[0]):
                    edits = (Edit(asked, f'"{beside[0]}"'),)
            self.diagnostics.report(
                codes.UNREADABLE_FILE,
                asked,
                f"{name} cannot be read: {reason}",
                f"did you mean {one_of(beside)}?" if beside else hint,
                where=name,
                edits=edits,
            )
            return None
        if self.too_large(raw, name, asked):
            return None
        self.size += len(raw)
        return raw

    def too_large(self, raw: bytes, name: str, asked: Span | None) -> bool:
        """Whether a file exceeds the size allowed for all files together; if so, it is reported."""
        if len(raw) + self.size <= LARGEST:
            return False
        self.diagnostics.report(
            codes.FILE_TOO_LARGE,
            asked,
            f"the files of the rig are larger than {LARGEST // 1_000_000} MB together",
            "give a rig file, which is text",
            where=name,
        )
        return True

    def decoded(self, raw: bytes, name: str, asked: Span | None) -> Source | None:
        """The bytes as text, or None with a report."""
        try:
            if b"\0" in raw:
                raise UnicodeDecodeError("utf-8", raw, raw.index(b"\0"), raw.index(b"\0") + 1, "a zero byte")
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError as fault:
            line = raw.count(b"\n", 0, fault.start) + 1
            self.diagnostics.report(
                codes.NOT_TEXT,
                asked,
                f"{name} is not UTF-8 text: line {line} has a byte that cannot be read",
                "save it as UTF-8 in the editor",
                where=name,
            )
            return None
        text = text.replace("\r\n", "\n")
        end = text.rstrip("\r \t").find("\r")
        if "\n" in text or end < 0:
            return Source(name, text)
        source = Source(name, text.replace("\r", "\n"))
        self.diagnostics.report(
            codes.UNREADABLE_CHARACTER,
            Span(source, end, end + 1),
            "the lines of this file end with CR alone (U+000D)",
            "save it in the editor with line ends LF or CRLF",
        )
        return source


def _meant(name: str) -> list[str]:
    """The names in the folder of a missing file that are like its own; empty if the folder cannot be read."""
    own = os.path.basename(name)
    try:
        there = [] if os.path.lexists(name) else os.listdir(os.path.dirname(name) or os.curdir)
    except OSError:
        return []
    alike = {own.casefold(), f"{own}.rig".casefold()}
    return sorted(other for other in there if other.casefold() in alike) or near(own, there)


def _elsewhere(name: str, written: str) -> list[str]:
    """Where a file lies that is missing: one folder down, or right here; as paths for `use`."""
    folder, base = os.path.dirname(name) or os.curdir, os.path.basename(name)
    try:
        inner = [one for one in sorted(os.listdir(folder)) if os.path.isdir(os.path.join(folder, one))]
    except OSError:
        inner = []
    start = written[: len(written) - len(os.path.basename(written))]
    found = [
        f"{start}{one}/{base}"
        for one in inner[:MOST_FOLDERS]
        if os.path.isfile(os.path.join(folder, one, base))
    ]
    user = name.removesuffix(written)
    if not found and base != written and os.path.isfile(user + base):
        found = [base]
    return found


def joined(folder: str, used: str) -> str:
    """The shortest path of a used file. `..` after a link stays, since it leads to the link's target."""
    path = os.path.join(folder, used)
    short = os.path.normpath(path)
    return short if ".." not in path or os.path.realpath(short) == os.path.realpath(path) else path


def within(path: str, folder: str) -> bool:
    """Whether a path is a folder or lies below it, with every link followed."""
    path, folder = os.path.realpath(path), os.path.realpath(folder)
    return path == folder or path.startswith(os.path.join(folder, ""))


def users_of(files: Sequence[str], cache: str | None, stock: Sequence[str]) -> list[str]:
    """Find the rig files below this folder that use one of the given files; unreadable ones are left out.

    Folders in each other are searched to a depth that no person makes.
    """
    asked = {os.path.realpath(name) for name in files}
    found = []
    for folder, inner, names in os.walk(os.curdir):
        deepest = folder.count(os.sep) >= DEEPEST_FOLDER
        inner[:] = [] if deepest else sorted(name for name in inner if not name.startswith("."))
        for name in sorted(names):
            path = os.path.normpath(os.path.join(folder, name))
            if not name.endswith(".rig") or os.path.realpath(path) in asked:
                continue
            program = load(path, Diagnostics(), cache, stock)
            if program and asked & {os.path.realpath(used) for used in program.sources}:
                found.append(path)
    return found
