"""The files of an editor's session: open texts ahead of the disk, uses between files, results of the passes."""

import os
import re
import time
from collections.abc import Collection, Generator, Iterable, Iterator
from contextlib import contextmanager, suppress
from typing import NamedTuple

from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.pipeline import finished, passes
from rigcard.server.index import Index, Key, Occurrence
from rigcard.server.places import Lines, lines_of, named_path, path_of, uri_of
from rigcard.solve.solved import Solved
from rigcard.source import Source, Span
from rigcard.syntax import tree
from rigcard.syntax.load import LARGEST, as_raw, read_within, within
from rigcard.syntax.parser import parse, readable, unescaped

COARSE = 1.0  # seconds: in a shorter time a file may change twice without the system's saying so
MOST_FILES = 2000  # rig files in the editor's folders that are searched for uses of a name
_USE = re.compile(r'\buse[ \t]+"((?:[^"\\\x00-\x1f\x7f]|\\.)*)"')
Edits = dict[str, list[tuple[int, int, str]]]  # by path: start, end, new text; in order, without overlaps


class TextFile(NamedTuple):
    """A file as it is now; its source is named by its real path.

    `uses`: the paths it names and their targets.
    """

    source: Source
    statements: tuple[object, ...]
    uses: tuple[tuple[tree.Words, str], ...]

    @property
    def lines(self) -> Lines:
        """Return its lines."""
        return lines_of(self.source)


class Findings(NamedTuple):
    """The diagnostics and computed values of a rig; a claim that fails does not stop the values."""

    found: tuple[Diagnostic, ...]
    values: Solved | None


class _Known(NamedTuple):
    """Results for a rig, valid as long as its texts stay the same."""

    texts: dict[str, str]
    names: Index
    findings: Findings | None


class _Parsed(NamedTuple):
    """What a parse of a text gave; `statements` is None if it is faulty."""

    source: Source
    statements: tree.File | None
    found: tuple[Diagnostic, ...]


class _OnDisk(NamedTuple):
    """What was read of a file, and what the system said of the file then."""

    state: tuple[int, ...]
    data: bytes


class _Moment:
    """What is looked up once in a request: the disk does not change meanwhile, as far as anybody can tell."""

    def __init__(self) -> None:
        self.texts: dict[str, str | None] = {}
        self.used: dict[tuple[str, str], str] = {}
        self.closures: dict[str, dict[str, TextFile]] = {}
        self.reaches: dict[str, list[str]] = {}
        self.glances: dict[str, tuple[str, ...]] = {}
        self.holding: dict[tuple[str, str], bool] = {}
        self.folders: dict[str, list[str]] = {}


class Project:
    """Open files by real path, with the URI that the editor gave."""

    def __init__(self, cache: str | None = None) -> None:
        self.cache = cache
        self.folders: tuple[str, ...] = ()
        self.opened: dict[str, str] = {}
        self.versions: dict[str, int] = {}  # of open files, as the editor counts them
        self._uris: dict[str, str] = {}
        self._links: dict[str, str] = {}  # folders that the editor names by a path other than the real one
        self._files: dict[str, TextFile] = {}
        self._known: dict[str, _Known] = {}
        self._parsed: dict[str, _Parsed] = {}
        self._disk: dict[str, _OnDisk] = {}
        self._moment: _Moment | None = None

    @contextmanager
    def one_moment(self) -> Iterator[None]:
        """While this lasts, each file is looked at once; without it, at every question."""
        if self._moment is not None:
            yield
            return
        self._moment = _Moment()
        try:
            yield
        finally:
            self._moment = None

    def _changed(self) -> None:
        if self._moment is not None:
            self._moment = _Moment()

    def take_folders(self, uris: Iterable[str]) -> None:
        """Set the editor's folders."""
        named = {path_of(uri): named_path(uri) for uri in uris}
        self._changed()
        self.folders = tuple(named)
        self._links |= named

    def put(self, uri: str, text: str, version: int) -> None:
        """Set the text of an open file."""
        self._changed()
        path = path_of(uri)
        self.opened[path] = text
        self.versions[path] = version
        self._uris[path] = uri
        folder = os.path.dirname(named_path(uri))
        self._links.setdefault(os.path.realpath(folder), folder)

    def close(self, uri: str) -> None:
        """Close a file: from now on the file on the disk counts."""
        self._changed()
        self.opened.pop(path_of(uri), None)
        self.versions.pop(path_of(uri), None)

    def uri(self, path: str) -> str:
        """Return the URI of a path, in the editor's spelling of the file or its folder if it has one."""
        if path in self._uris:
            return self._uris[path]
        within = [real for real in self._links if path.startswith(os.path.join(real, ""))]
        real = max(within, key=len, default="")
        return uri_of(self._links.get(real, real) + path[len(real) :])

    # ---- files ---------------------------------------------------------------------------------------------

    def read(self, path: str) -> bytes:
        """Return the bytes of a file for the loader. Raises OSError or ValueError."""
        text = self.opened.get(os.path.realpath(path))
        if text is not None:
            return text.encode("utf-8", "surrogatepass")
        if not self._may_read(path):
            raise ValueError("it lies outside the folders of the editor and of its open files")
        return self._from_disk(path)

    def _may_read(self, path: str) -> bool:
        return any(within(path, folder) for folder in (*self.folders, *map(os.path.dirname, self.opened)))

    def _from_disk(self, path: str) -> bytes:
        """The bytes of a file, read again only if the system says that it changed, or did so just now."""
        said = os.stat(path)
        state = (said.st_dev, said.st_ino, said.st_size, said.st_mtime_ns, said.st_ctime_ns)
        known = self._disk.get(path)
        if known is None or known.state != state:
            known = _OnDisk(state, read_within(path, self._may_read))
            if time.time() - max(said.st_mtime, said.st_ctime) > COARSE:
                self._disk[path] = known
        return known.data

    def text(self, path: str) -> str | None:
        """The text of a file; None where there is none that `check` would read."""
        if self._moment is None:
            return self._text(path)
        if path not in self._moment.texts:
            self._moment.texts[path] = self._text(path)
        return self._moment.texts[path]

    def _text(self, path: str) -> str | None:
        try:
            data = self.read(path)
            return None if len(data) > LARGEST else data.decode("utf-8-sig").replace("\r\n", "\n")
        except (OSError, ValueError):
            return None

    def line_end(self, path: str) -> str:
        """Return the line end of a file as the editor reads it."""
        return "\r\n" if b"\r\n" in self.read(path) else "\n"

    def file(self, path: str) -> TextFile | None:
        """Return a file with all that can be read of it; None if it has no text."""
        text = self.text(path)
        if text is None:
            return None
        known = self._files.get(path)
        if known is None or known.source.text != text:
            source = Source(path, text)
            parsed = self.parsed(source, Diagnostics())
            statements = (parsed or readable(source, self.cache)).statements
            source = self._parsed[path].source
            uses = tuple(
                (item.path, self._used(path, item.path.text))
                for item in statements
                if isinstance(item, tree.Use)
            )
            self._files[path] = known = TextFile(source, statements, uses)
        return known

    def parsed(self, source: Source, diagnostics: Diagnostics) -> tree.File | None:
        """The statements of a text, as `parse` gives and reports them; a text that did not change is not parsed."""
        known = self._parsed.get(source.name)
        if known is None or known.source.text != source.text:
            found = Diagnostics()
            statements = parse(source, found, self.cache)
            self._parsed[source.name] = known = _Parsed(source, statements, tuple(found))
        for fault in known.found:
            diagnostics.add(fault)
        return known.statements

    def closure(self, path: str) -> dict[str, TextFile]:
        """A file and all that it uses, by path; what lies outside its folder is left out, as `check` refuses it."""
        if self._moment is None:
            return self._closure(path)
        if path not in self._moment.closures:
            self._moment.closures[path] = self._closure(path)
        return self._moment.closures[path]

    def _closure(self, path: str) -> dict[str, TextFile]:
        own = os.path.dirname(path)
        found: dict[str, TextFile] = {}
        wanted = [path]
        while wanted:
            next_path = wanted.pop()
            file = None if next_path in found else self.file(next_path)
            if file:
                found[next_path] = file
                wanted += [used for _, used in reversed(file.uses) if _inside(used, own)]
        return found

    def roots(self) -> list[str]:
        """Return the open files that are rigs: they reach a `rig` block, and no other such file uses them."""
        closures = {path: self.closure(path) for path in sorted(self.opened)}
        rigs = {
            path: files
            for path, files in closures.items()
            if any(isinstance(item, tree.Rig) for file in files.values() for item in file.statements)
        }
        return [
            path
            for path in rigs
            if not any(
                path in files and (other not in rigs[path] or other < path)
                for other, files in rigs.items()
                if other != path
            )
        ]

    def rigs_with(self, path: str) -> list[str]:
        """Return the open rigs that a file belongs to, or the file itself if it belongs to none."""
        return [root for root in self.roots() if path in self.closure(root)] or [path]

    def rigs_holding(self, path: str, keys: Collection[Key], new: str = "") -> list[str]:
        """Return the rigs, open or not, that use a file and have one of the names elsewhere too.

        `new` is one more name to look for. Other rigs are not parsed. Of several rigs that have the names in
        the same files, one is enough for a name of the whole rig, which depends on no file without it.
        """
        places = self.folders or (os.path.dirname(path),)
        there = {found for folder in places for found in self._rig_files(folder)}
        words = {key.name for key in keys} | ({new} if new else set())
        word = re.compile(rf"(?<![\w-])(?:{'|'.join(sorted(map(re.escape, words)))})(?![\w-])")
        of_rig = not any(key.scope for key in keys)
        seen: set[frozenset[str]] = set()
        found = set(self.rigs_with(path))
        with self.one_moment():
            for root in sorted({*there, *self.opened, path}):
                reach = self._reach(root)
                holding = frozenset(file for file in reach if self._holds(file, word) and file != path)
                if (
                    path in reach
                    and holding
                    and not (of_rig and holding in seen)
                    and path in self.closure(root)
                ):
                    seen.add(holding)
                    found.add(root)
        return sorted(found)

    def _rig_files(self, folder: str) -> list[str]:
        if self._moment is None:
            return list(_rig_files(folder))
        if folder not in self._moment.folders:
            self._moment.folders[folder] = list(_rig_files(folder))
        return self._moment.folders[folder]

    def _reach(self, path: str) -> list[str]:
        """What a file may use, itself included, without parsing."""
        assert self._moment is not None
        if path in self._moment.reaches:
            return self._moment.reaches[path]
        own = os.path.dirname(path)
        self._moment.reaches[path] = reach = [path]
        for file in reach:  # the list grows during the walk
            reach += [
                used for used in dict.fromkeys(self._glance(file)) if used not in reach and _inside(used, own)
            ]
        return reach

    def _glance(self, path: str) -> tuple[str, ...]:
        """The paths that a file may use, itself not parsed."""
        assert self._moment is not None
        if path not in self._moment.glances:
            text = self.text(path) or ""
            uses = tuple(self._used(path, unescaped(found)) for found in _USE.findall(text))
            self._moment.glances[path] = uses
        return self._moment.glances[path]

    def _holds(self, path: str, word: re.Pattern[str]) -> bool:
        assert self._moment is not None
        key = path, word.pattern
        if key not in self._moment.holding:
            self._moment.holding[key] = bool(word.search(self.text(path) or ""))
        return self._moment.holding[key]

    def _used(self, path: str, written: str) -> str:
        """Return the real path of a file that another one uses."""
        if self._moment is None:
            return _real(path, written)
        place = os.path.dirname(path), written
        if place not in self._moment.used:
            self._moment.used[place] = _real(path, written)
        return self._moment.used[place]

    def mentions(self, root: str, word: str) -> bool:
        """Whether a word stands anywhere in a rig or in a file that it uses."""
        found = re.compile(rf"(?<![\w-]){re.escape(word)}(?![\w-])")
        return any(found.search(file.source.text) for file in self.closure(root).values())

    # ---- what is known of a rig ----------------------------------------------------------------------------

    def _look(self, root: str) -> _Known:
        files = self.closure(root)
        texts = {path: file.source.text for path, file in files.items()}
        known = self._known.get(root)
        if known is None or known.texts != texts:
            statements = [item for file in files.values() for item in file.statements]
            self._known[root] = known = _Known(texts, Index(statements), None)
        return known

    def index(self, root: str) -> Index:
        """Return the names of a rig."""
        return self._look(root).names

    def findings(self, root: str) -> Findings:
        """Return the results of all passes for a rig."""
        return finished(self._finding(root))

    def _finding(self, root: str) -> Generator[None, None, Findings]:
        known = self._look(root)
        if known.findings is None:
            diagnostics = Diagnostics()
            checked = yield from passes(root, diagnostics, self.cache, reader=self.read, parser=self.parsed)
            known = known._replace(findings=Findings(tuple(diagnostics.sorted()), checked.values))
            self._known[root] = known
        assert known.findings is not None
        return known.findings

    def syntax_faults(self, path: str) -> tuple[Diagnostic, ...]:
        """Return the diagnostics of the first pass for a file that belongs to no open rig."""
        file = self.file(path)
        diagnostics = Diagnostics()
        if file:
            self.parsed(file.source, diagnostics)
        else:
            with suppress(OSError, ValueError):
                as_raw(self.read(path), path, diagnostics)  # says why it is not read
        return tuple(diagnostics.sorted())

    def unreadable(self, root: str) -> list[Diagnostic]:
        """Return the diagnostics of the first pass for all files of a rig."""
        return [fault for path in self.closure(root) for fault in self.syntax_faults(path)]

    def diagnostics(self) -> dict[str, list[Diagnostic]]:
        """Return the diagnostics to show on each file, by path; open files without a fault are included."""
        with self.one_moment():
            return finished(self.diagnosing())

    def diagnosing(self) -> Generator[None, None, dict[str, list[Diagnostic]]]:
        """Do the work of `diagnostics`, with a pause after each pass; after a change it is to be begun anew."""
        shown: dict[str, list[Diagnostic]] = {path: [] for path in self.opened}
        seen = set()
        roots = self.roots()
        covered = {path for root in roots for path in self.closure(root)}
        faults = []
        for root in roots:
            findings = yield from self._finding(root)
            faults += [(root, found) for found in findings.found]
        faults += [
            (path, found)
            for path in sorted(self.opened)
            if path not in covered
            for found in self.syntax_faults(path)
        ]
        for root, found in faults:
            path = os.path.realpath(found.span.source.name) if found.span else root
            place = (found.span.start, found.span.end) if found.span else (0, 0)
            key = (path, place, found.code.id, found.message)
            if key not in seen:
                seen.add(key)
                shown.setdefault(path, []).append(found)
        return shown

    # ---- names through all files ---------------------------------------------------------------------------

    def everywhere(self, path: str, offset: int) -> list[Occurrence]:
        """Return every occurrence of a name in all rigs of the editor's folders that share its declaration."""
        names = [self.index(root).at(path, offset) for root in self.rigs_with(path)]
        name = next((name for name in names if name), None)
        if name is None:
            return []
        found: dict[tuple[str, int, int], Occurrence] = {}
        declared: dict[tuple[str, Key], None] = {}

        def take(places: list[Occurrence]) -> None:
            for place in places:
                found.setdefault(place.span.sort_key(), place)
                if place.declares:
                    declared[place.span.source.name, place.keys[0]] = None

        for root in self.rigs_holding(path, name.keys):
            index = self.index(root)
            here = index.at(path, offset)
            take(index.same(here.keys[0]) if here else [])
        done: set[tuple[str, Key]] = set()
        while left := [each for each in declared if each not in done]:
            for file, key in left:
                done.add((file, key))
                for root in self.rigs_holding(file, (key,)):
                    take(self.index(root).same(key))
        return [found[place] for place in sorted(found)]

    def with_edits(self, edits: Edits) -> "Project":
        """Return the same files with edits applied, to see the result."""
        tried = Project(self.cache)
        tried.folders = self.folders
        tried._files = dict(self._files)
        tried._known = dict(self._known)
        tried._parsed = dict(self._parsed)
        tried._disk = self._disk
        tried.opened = dict(self.opened)
        for path, changes in edits.items():
            tried.opened[path] = edited(self.text(path) or "", changes)
        return tried


def edited(text: str, changes: list[tuple[int, int, str]]) -> str:
    """Apply changes to a text, the last one first."""
    for start, end, new in sorted(changes, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def _inside(path: str, folder: str) -> bool:
    """Whether a real path lies in a real folder, at any depth."""
    return path.startswith(os.path.join(folder, ""))


def _real(path: str, written: str) -> str:
    return os.path.realpath(os.path.join(os.path.dirname(path), written))


def in_file(span: Span) -> str:
    """Return the real path of the file of a diagnostic's span."""
    return os.path.realpath(span.source.name)


def _rig_files(folder: str) -> Iterator[str]:
    left = MOST_FILES
    for place, inner, names in os.walk(folder):
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        for name in sorted(names):
            path = os.path.realpath(os.path.join(place, name))
            if name.endswith(".rig") and left and within(path, folder):
                left -= 1
                yield path
