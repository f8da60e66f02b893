"""An editor for tests: a client of another library, in a thread, that talks to `rigcard language-server`."""

from __future__ import annotations

import asyncio
import re
import shutil
import sys
import threading
from collections.abc import Coroutine, Iterator
from pathlib import Path
from typing import Any, TypeVar

import pytest
from lsprotocol import types
from pygls.lsp.client import LanguageClient

from rigcard.server.index import Index
from rigcard.source import Source
from rigcard.syntax.parser import Language

PATIENCE = 30  # seconds until an answer counts as missing
T = TypeVar("T")


def at(text: str, mark: str, inside: int = 0, nth: int = 1) -> types.Position:
    """The place of the nth `mark` in a text, `inside` characters on. Columns in UTF-16 code units, by the codec."""
    offset = -1
    for _ in range(nth):
        offset = text.index(mark, offset + 1)
    before = text[: offset + inside]
    line = before.rpartition("\n")[2]
    return types.Position(before.count("\n"), len(line.encode("utf-16-le")) // 2)


def over(text: str, mark: str, nth: int = 1) -> types.Range:
    """The place of all of the nth `mark` in a text."""
    return types.Range(at(text, mark, 0, nth), at(text, mark, len(mark), nth))


def applied(text: str, edits: list[types.TextEdit]) -> str:
    """A text with the edits of a server made. Columns are counted by the codec, not by the server's own code."""

    def offset(place: types.Position) -> int:
        lines = text.split("\n")
        line = lines[place.line].encode("utf-16-le")[: place.character * 2].decode("utf-16-le")
        return sum(len(before) + 1 for before in lines[: place.line]) + len(line)

    parts = sorted(
        ((offset(edit.range.start), offset(edit.range.end), edit.new_text) for edit in edits), reverse=True
    )
    for start, end, new in parts:
        text = text[:start] + new + text[end:]
    return text


def places(locations: list[types.Location]) -> set[tuple[str, int, int]]:
    """Places as name of the file, line and column."""
    return {
        (found.uri.rsplit("/", 1)[-1], found.range.start.line, found.range.start.character)
        for found in locations
    }


class Editor:
    """Open files, ask, and keep the newest diagnostics of each file."""

    def __init__(self, folder: Path, *more: Path, able: types.ClientCapabilities | None = None) -> None:
        self.folder = folder
        self.loop = asyncio.new_event_loop()
        self.thread = threading.Thread(target=self.loop.run_forever, daemon=True)
        self.thread.start()
        self.client = LanguageClient("tests", "1")
        self.news = threading.Condition()
        self.published: dict[str, types.PublishDiagnosticsParams] = {}
        self.logged: list[str] = []
        self.versions: dict[str, int] = {}
        self.client.feature(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)(lambda params: self._publish(params))
        self.client.feature(types.WINDOW_LOG_MESSAGE)(lambda params: self.logged.append(params.message))
        self.client.feature(types.WINDOW_SHOW_MESSAGE)(lambda params: self.logged.append(params.message))
        self.wait(self.client.start_io(sys.executable, "-m", "rigcard", "language-server"))
        self.registered: list[types.Registration] = []
        self.client.feature(types.CLIENT_REGISTER_CAPABILITY)(
            lambda params: self.registered.extend(params.registrations)
        )
        folders = [types.WorkspaceFolder(each.as_uri(), each.name) for each in (folder, *more)]
        able = able or types.ClientCapabilities(
            text_document=types.TextDocumentClientCapabilities(
                hover=types.HoverClientCapabilities(content_format=[types.MarkupKind.PlainText])
            )
        )
        asked = types.InitializeParams(
            able, process_id=None, root_uri=folder.as_uri(), workspace_folders=folders
        )
        self.able = self.wait(self.client.initialize_async(asked)).capabilities
        self.tell(self.client.initialized, types.InitializedParams())

    def refold(self, added: list[Path], removed: list[Path]) -> None:
        """Folders come and go."""

        def named(folders: list[Path]) -> list[types.WorkspaceFolder]:
            return [types.WorkspaceFolder(each.as_uri(), each.name) for each in folders]

        event = types.WorkspaceFoldersChangeEvent(named(added), named(removed))
        self.tell(
            self.client.workspace_did_change_workspace_folders, types.DidChangeWorkspaceFoldersParams(event)
        )

    def on_disk(self, path: Path, kind: types.FileChangeType) -> None:
        """A file has changed on the disk, come or gone."""
        params = types.DidChangeWatchedFilesParams([types.FileEvent(path.as_uri(), kind)])
        self.tell(self.client.workspace_did_change_watched_files, params)

    def _publish(self, params: types.PublishDiagnosticsParams) -> None:
        with self.news:
            self.published[params.uri] = params
            self.news.notify_all()

    def wait(self, answer: Coroutine[Any, Any, T]) -> T:
        """The answer to a request."""
        return asyncio.run_coroutine_threadsafe(answer, self.loop).result(PATIENCE)

    def tell(self, notify: Any, params: Any) -> None:
        """Send a notification, in the order of the calls."""

        async def send() -> None:
            notify(params)

        self.wait(send())

    def quit(self) -> int | None:
        """Say goodbye as the protocol wants; the exit code of the server."""
        self.wait(self.client.shutdown_async(None))
        return self.leave()

    def leave(self) -> int | None:
        """Go without shutting down; the exit code of the server."""
        process = self.client._server
        assert process
        self.tell(self.client.exit, None)
        self.wait(self.client.stop())
        self.loop.call_soon_threadsafe(self.loop.stop)
        self.thread.join(PATIENCE)
        self.loop.close()
        return process.returncode

    # ---- files ---------------------------------------------------------------------------------------------

    def open(self, path: Path, text: str | None = None) -> str:
        """Open a file, with another text than the one on the disk if one is given; returns the text."""
        shown = path.read_bytes().decode("utf-8") if text is None else text
        self.versions[path.as_uri()] = 1
        item = types.TextDocumentItem(path.as_uri(), "rig", 1, shown)
        self.tell(self.client.text_document_did_open, types.DidOpenTextDocumentParams(item))
        return shown

    def change(self, path: Path, text: str) -> None:
        """Type: the file has another text now."""
        self.versions[path.as_uri()] += 1
        params = types.DidChangeTextDocumentParams(
            types.VersionedTextDocumentIdentifier(self.versions[path.as_uri()], path.as_uri()),
            [types.TextDocumentContentChangeWholeDocument(text)],
        )
        self.tell(self.client.text_document_did_change, params)

    def close(self, path: Path) -> None:
        """Close a file."""
        del self.versions[path.as_uri()]
        params = types.DidCloseTextDocumentParams(self.file(path))
        self.tell(self.client.text_document_did_close, params)

    def close_all(self) -> None:
        """Close every file."""
        for uri in self.versions:
            params = types.DidCloseTextDocumentParams(types.TextDocumentIdentifier(uri))
            self.tell(self.client.text_document_did_close, params)
        self.versions.clear()

    def diagnostics(self, path: Path) -> list[types.Diagnostic]:
        """What the server says of the newest text of an open file, or of one that is not open."""
        uri = path.as_uri()
        version = self.versions.get(uri)

        def there() -> bool:
            news = self.published.get(uri)
            return news is not None and news.version == version

        with self.news:
            assert self.news.wait_for(there, PATIENCE), f"no diagnostics of version {version}"
            return list(self.published[uri].diagnostics)

    def codes(self, path: Path, wanted: list[str]) -> None:
        """Wait until these are the codes that are shown on a file, whose text may have been the same all the time."""

        def shown() -> list[object]:
            news = self.published.get(path.as_uri())
            return [found.code for found in news.diagnostics] if news else []

        with self.news:
            assert self.news.wait_for(lambda: shown() == wanted, PATIENCE), shown()

    # ---- requests ------------------------------------------------------------------------------------------

    def file(self, path: Path) -> types.TextDocumentIdentifier:
        """A file as requests name it."""
        return types.TextDocumentIdentifier(path.as_uri())

    def hover(self, path: Path, place: types.Position) -> str:
        """The text beside a place, "" if there is none."""
        found = self.wait(self.client.text_document_hover_async(types.HoverParams(self.file(path), place)))
        assert found is None or isinstance(found.contents, types.MarkupContent)
        return found.contents.value if found else ""

    def definition(self, path: Path, place: types.Position) -> list[types.Location]:
        """Where the name at a place is declared."""
        params = types.DefinitionParams(self.file(path), place)
        found = self.wait(self.client.text_document_definition_async(params))
        assert isinstance(found, list)
        return [each for each in found if isinstance(each, types.Location)]

    def references(self, path: Path, place: types.Position, declaration: bool = True) -> list[types.Location]:
        """Every place of a name."""
        params = types.ReferenceParams(types.ReferenceContext(declaration), self.file(path), place)
        return list(self.wait(self.client.text_document_references_async(params)) or [])

    def rename(self, path: Path, place: types.Position, new: str) -> types.WorkspaceEdit:
        """The edits of another name."""
        params = types.RenameParams(self.file(path), place, new)
        found = self.wait(self.client.text_document_rename_async(params))
        assert found
        return found

    def completion(self, path: Path, place: types.Position) -> list[types.CompletionItem]:
        """What may be written at a place."""
        params = types.CompletionParams(self.file(path), place)
        found = self.wait(self.client.text_document_completion_async(params))
        assert isinstance(found, types.CompletionList)
        return list(found.items)

    def formatting(self, path: Path) -> list[types.TextEdit]:
        """The edits that lay a file out."""
        params = types.DocumentFormattingParams(self.file(path), types.FormattingOptions(2, True))
        return list(self.wait(self.client.text_document_formatting_async(params)) or [])

    def symbols(self, path: Path) -> list[types.DocumentSymbol]:
        """The outline of a file."""
        params = types.DocumentSymbolParams(self.file(path))
        found = self.wait(self.client.text_document_document_symbol_async(params)) or []
        return [symbol for symbol in found if isinstance(symbol, types.DocumentSymbol)]

    def actions(self, path: Path, found: types.Diagnostic) -> list[types.CodeAction]:
        """The remedies of a diagnostic."""
        params = types.CodeActionParams(self.file(path), found.range, types.CodeActionContext([found]))
        answer = self.wait(self.client.text_document_code_action_async(params)) or []
        return [action for action in answer if isinstance(action, types.CodeAction)]


# ---- fixtures --------------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def session(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Editor]:
    """One server for all tests of a process; each test has a folder of its own in the editor's folder."""
    editor = Editor(tmp_path_factory.mktemp("workspace"))
    yield editor
    assert editor.quit() == 0
    assert editor.logged == []


@pytest.fixture
def editor(session: Editor) -> Iterator[Editor]:
    """The session with no file open."""
    yield session
    session.close_all()


@pytest.fixture
def job(session: Editor, root: Path, request: pytest.FixtureRequest) -> Iterator[Path]:
    """A copy of the samples in the folder of the session."""
    folder = session.folder / request.node.name
    copy_of_samples(root, folder)
    yield folder
    shutil.rmtree(folder)


def copy_of_samples(root: Path, folder: Path) -> None:
    """The samples, with one blank between words: columns move with the words in them."""
    shutil.copytree(root / "samples", folder)
    for path in folder.rglob("*.rig"):
        path.write_text(re.sub(r"(?<=\S) {2,}", " ", path.read_text()))


SAMPLE_FILES = (
    "first.rig",
    "gorge.rig",
    "mast.rig",
    "stock/radio.rig",
    "stock/heads.rig",
    "stock/camera.rig",
    "stock/packs.rig",
    "stock/signals.rig",
    "stock/connectors.rig",
)


def declared(language: Language, path: Path) -> set[int]:
    """Where names are declared in a file: nobody can know them before."""
    index = Index(language.parse(Source(str(path), path.read_text())).statements)
    return {found.span.start for found in index.of(str(path)) if found.declares}


def kinds_of_words(language: Language, path: Path) -> list[tuple[int, str, str]]:
    """One word of each kind that a file has: its offset, itself, its terminal. Words of two kinds differ in what they
    are, in what stands before them, or in the first word of their line."""
    text = path.read_text()
    found: dict[tuple[str, str, str], tuple[int, str, str]] = {}
    before = ""
    for token in language.tokens(Source(str(path), text)):
        start = token.start_pos or 0
        line = text[text.rfind("\n", 0, start) + 1 : start]
        if token[:1].isalpha() and token.type != "WIRE":
            kind = (token.type, before, (line.split() or [""])[0])
            found.setdefault(kind, (start, str(token), token.type))
        before = token.type
    return list(found.values())


# A rig in which every kind of name is declared and used, most of them by a word of its own.
WHOLE = """rig "Whole" {
  revision "A"
  crew puller "Focus"
  labels on strips
}
sheet strips "Strips" { page a4; grid 1 x 4; cell 180mm x 60mm; margin 10mm, 10mm }
signal line "Serial" carries 16 channels
signal feed "Supply" carries power
connector plug-a "Plug" mates plug-b rated 10A
connector plug-b "Socket" mates plug-a
stock-lengths line 0.5m, 1m
model hand "Handset" {
  role handset
  stick across "Across" left to right springs
  slider fader "Fader" soft to hard
  switch flip "Flip" upper, centre-of, lower
  dial spare-dial "Dial" low to high
  channels 8; pulse 1500us centre, 4us per 1%; travel 0%..140% step 1%
  subtrim -80..80 steps, 80 steps = 12%, shifts whole; reverse before subtrim; mix before travel
  output -150%..150%; has rate
}
model ears "Receiver" { role receiver; channels 8; port q1..q4 out servo channel 1..4; port trunk out line by plug-a }
model nodder "Head" {
  role head
  port entry in line by plug-a; port mains-in in feed by plug-b
  takes 11V..17V; draws 1A on mains-in
  input yaw on entry "Yaw" { sweeps west to east rest 0% }
  input gear on entry "Gear" { slowly -150%..-50%; quickly 50%..150% rest; midway -20%..20% holds yaw; without pulses gives quickly }
  setting dialect "Menu > Dialect" choices "Serial", "Pulse"
  underslung flips yaw
}
model brick "Pack" { role pack; port tap-1 out feed by plug-b; supplies 12V..16.8V }
unit hs is hand "Handset" {
  held by puller
  memory 1 "W"
  channel 1 sweep from across rate 90% while flip upper failsafe 0%
  channel 2 speed from flip aims upper 1100us, lower 1900us failsafe hold
  channel 3 sway from fader failsafe 0%
  mix sway into sweep at 10% while flip lower
  leave spare-dial
}
unit rx is ears "Receiver" { bound to hs; mounted on head }
unit head is nodder "Head" { input yaw from sweep; input gear from speed; set dialect "Serial"; mount underslung }
unit pack is brick "Pack" { mounted on head }
cable trunk-1 "Trunk" { rx.trunk to head.entry; length 500mm; jacket 3mm; plugs plug-a to plug-a; rides head }
cable lead-1 "Lead" { pack.tap-1 to head.mains-in; length 500mm; jacket 3mm; wire AWG14; plugs plug-b to plug-b }
model winch "Winch" { role other; port slot in servo; input grip on slot "Grip" { gripped -150%..-50% rest; half -20%..20%; loose 50%..150% } }
unit hs-b is hand "Grip handset" { held by puller; memory 1 "B"; channel 1 hold-on from flip failsafe hold }
unit rx-b is ears "Grip receiver" { bound to hs-b }
unit drum is winch "Winch"
cable lead-2 "Grip" { rx-b.q1 to drum.slot; length 500mm; jacket 3mm }
independent head.yaw, drum.grip
expect hs.across.left gives head.yaw.east
expect hs.flip.upper gives head.slowly
expect hs.fader.hard gives head.yaw.west while flip lower
measured hs.across.right on sweep is 1900us
"""


@pytest.fixture
def whole(session: Editor, request: pytest.FixtureRequest) -> Path:
    """The rig in a folder of its own."""
    folder = session.folder / re.sub(r"\W", "-", request.node.name)
    folder.mkdir()
    path = folder / "whole.rig"
    path.write_text(WHOLE)
    return path
