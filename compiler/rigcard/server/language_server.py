"""The server that an editor talks to: it passes requests to the other modules and returns their answers."""

import asyncio
import functools
from collections.abc import Callable, Generator
from contextlib import suppress
from typing import Any, BinaryIO, TypeVar, cast

from lark import UnexpectedInput
from lsprotocol import types
from pygls.exceptions import JsonRpcException
from pygls.lsp.server import LanguageServer
from pygls.protocol import LanguageServerProtocol, default_converter, lsp_method

from rigcard import __version__
from rigcard.catalogue import as_entry
from rigcard.diagnostics import Diagnostic, Severity
from rigcard.formatting.layout import formatted
from rigcard.server.actions import remedies
from rigcard.server.completion import complete
from rigcard.server.hover import hover
from rigcard.server.index import Occurrence
from rigcard.server.parent import end_with
from rigcard.server.places import path_of, range_of
from rigcard.server.project import Edits, Project, TextFile, in_file
from rigcard.server.rename import RefusedError, renamable, renamed
from rigcard.server.symbols import Symbol, symbols
from rigcard.source import Span

SETTLED = 0.1  # seconds without a change before a file is checked
PAUSE = 0.002  # seconds between two passes, in which the editor is heard
MOST_MENDED = 20  # faults for which remedies are tried at once; each needs a check of its own
LONGEST_HEADER = 4096  # bytes of a line
LARGEST_MESSAGE = 32_000_000  # bytes; the largest text of a rig takes up to six for each of its own
T = TypeVar("T")

_SYMBOLS = {
    "rig": types.SymbolKind.Namespace,
    "role": types.SymbolKind.Object,
    "signal": types.SymbolKind.Interface,
    "model": types.SymbolKind.Class,
    "unit": types.SymbolKind.Object,
    "cable": types.SymbolKind.Array,
    "sheet": types.SymbolKind.Struct,
    "control": types.SymbolKind.Field,
    "input": types.SymbolKind.Method,
    "state": types.SymbolKind.EnumMember,
    "setting": types.SymbolKind.Property,
    "port": types.SymbolKind.Interface,
    "command": types.SymbolKind.Event,
    "channel": types.SymbolKind.Variable,
}
_OFFERS = {
    "keyword": types.CompletionItemKind.Keyword,
    "word": types.CompletionItemKind.EnumMember,
    "text": types.CompletionItemKind.Value,
    "file": types.CompletionItemKind.File,
    "model": types.CompletionItemKind.Class,
    "unit": types.CompletionItemKind.Variable,
    "position": types.CompletionItemKind.EnumMember,
    "state": types.CompletionItemKind.EnumMember,
}


class _Protocol(LanguageServerProtocol):
    """Counts columns in UTF-16 code units, which every editor knows, whatever other unit it prefers.

    Error responses leave out the traceback, which no user can use.
    """

    @lsp_method(types.INITIALIZE)
    def lsp_initialize(self, params: types.InitializeParams) -> Generator[Any, Any, types.InitializeResult]:
        end_with(params.process_id)
        if params.capabilities.general:
            params.capabilities.general.position_encodings = None
        return (yield from super().lsp_initialize(params))

    def _send_response(self, msg_id: Any, result: Any = None, error: types.ResponseError | None = None) -> None:
        if error is not None:
            error = types.ResponseError(error.code, error.message.split("\n", 1)[0])
        super()._send_response(msg_id, result, error)


class RigServer(LanguageServer):
    """One session of an editor."""

    def __init__(self, cache: str | None) -> None:
        super().__init__(
            "rigcard",
            __version__,
            types.TextDocumentSyncKind.Full,
            protocol_cls=_Protocol,
            converter_factory=default_converter,
        )
        self.project = Project(cache)
        self.shown: set[str] = set()
        self.waiting: asyncio.TimerHandle | None = None
        self.checking: asyncio.Task[None] | None = None

    # ---- diagnostics ---------------------------------------------------------------------------------------

    def check_soon(self, delay: float = SETTLED) -> None:
        """Check when no change has come for a while; a check of an older text is given up."""
        if self.waiting:
            self.waiting.cancel()
        if self.checking:
            self.checking.cancel()
        self.waiting = asyncio.get_running_loop().call_later(delay, self._begin)

    def _begin(self) -> None:
        self.waiting = None
        self.checking = asyncio.get_running_loop().create_task(self._check())

    async def _check(self) -> None:
        """Send the editor all current diagnostics, and clear those that are gone."""
        steps = self.project.diagnosing()
        try:
            found = None
            while found is None:
                with self.project.one_moment():
                    try:
                        next(steps)
                    except StopIteration as done:
                        found = done.value
                await asyncio.sleep(PAUSE)  # a change that has come meanwhile is taken, and ends this check
        except Exception as fault:
            self.tell(fault)
            return
        with suppress(BrokenPipeError):  # the editor has gone; the end of its messages ends the server
            self._publish(found)

    def _publish(self, found: dict[str, list[Diagnostic]]) -> None:
        for path in sorted({*found, *self.shown}):
            self.text_document_publish_diagnostics(
                types.PublishDiagnosticsParams(
                    self.project.uri(path),
                    [self._diagnostic(fault) for fault in found.get(path, [])],
                    self.project.versions.get(path),
                )
            )
        self.shown = {path for path in found if found[path]}

    def _diagnostic(self, found: Diagnostic) -> types.Diagnostic:
        start = types.Position(0, 0)
        return types.Diagnostic(
            range=range_of(found.span) if found.span else types.Range(start, start),
            message=f"{found.message}\ndo: {found.hint}",
            severity=types.DiagnosticSeverity.Error
            if found.code.severity is Severity.ERROR
            else types.DiagnosticSeverity.Warning,
            code=found.code.id,
            source="rigcard",
            data={"slug": found.code.slug, "explanation": as_entry(found.code)},
            related_information=[
                types.DiagnosticRelatedInformation(self.location(related.span), related.label)
                for related in found.related
            ],
        )

    # ---- places --------------------------------------------------------------------------------------------

    def location(self, span: Span) -> types.Location:
        """Convert a span to a location."""
        return types.Location(self.project.uri(in_file(span)), range_of(span))

    def cursor(self, params: types.TextDocumentPositionParams | Any) -> tuple[str, int]:
        """Return the path and the offset of a request."""
        path = path_of(params.text_document.uri)
        file = self.project.file(path)
        return path, file.lines.offset(params.position) if file else 0

    def workspace_edit(self, edits: Edits) -> types.WorkspaceEdit:
        """Convert edits to the protocol's form."""
        files = {path: file for path in edits if (file := self.project.file(path))}
        return types.WorkspaceEdit(
            changes={self.project.uri(path): self.text_edits(file, edits[path]) for path, file in files.items()}
        )

    def text_edits(self, file: TextFile, parts: list[tuple[int, int, str]]) -> list[types.TextEdit]:
        """Convert the edits of one file, with the line ends of that file."""
        end = self.project.line_end(file.source.name)
        return [
            types.TextEdit(file.lines.range(start, stop), text.replace("\n", end))
            for start, stop, text in parts
        ]

    def tell(self, fault: Exception) -> None:
        """Log a failure of our own as one line in the editor's log, never as a traceback."""
        text = f"{type(fault).__name__}: {fault}".split("\n", 1)[0]
        self.window_log_message(
            types.LogMessageParams(types.MessageType.Error, f"rigcard could not answer: {text}")
        )


def _answer(
    server: RigServer, feature: str, options: object = None
) -> Callable[[Callable[..., T]], Callable[..., T | None]]:
    """Register a function as the answer to a request; if it fails, the answer is empty."""

    def register(function: Callable[..., T]) -> Callable[..., T | None]:
        @functools.wraps(function)
        def guarded(params: Any) -> T | None:
            try:
                with server.project.one_moment():
                    return function(params)
            except JsonRpcException:
                raise
            except Exception as fault:
                server.tell(fault)
                return None

        server.feature(feature, options)(guarded)
        return guarded

    return register


def make_server(cache: str | None = None) -> RigServer:
    """Make a server with all its features; `cache` is the folder of the compiled grammar."""
    server = RigServer(cache)
    _files(server)
    _reading(server)
    _writing(server)
    return server


def _files(server: RigServer) -> None:
    """Register the handlers of file notifications."""
    project = server.project

    def take_folders() -> None:
        folders = [folder.uri for folder in server.workspace.folders.values()]
        root = server.workspace.root_uri
        project.take_folders(folders or ([root] if root else []))

    @_answer(server, types.WORKSPACE_DID_CHANGE_WORKSPACE_FOLDERS)
    def refolded(params: types.DidChangeWorkspaceFoldersParams) -> None:
        take_folders()

    @_answer(server, types.INITIALIZED)
    def initialized(params: types.InitializedParams) -> None:
        take_folders()
        able = server.client_capabilities.workspace
        watched = able.did_change_watched_files if able else None
        if watched and watched.dynamic_registration:
            options = types.DidChangeWatchedFilesRegistrationOptions([types.FileSystemWatcher("**/*.rig")])
            asked = types.Registration("rig-files", types.WORKSPACE_DID_CHANGE_WATCHED_FILES, options)
            server.client_register_capability(types.RegistrationParams([asked]))

    @_answer(server, types.TEXT_DOCUMENT_DID_OPEN)
    def opened(params: types.DidOpenTextDocumentParams) -> None:
        document = params.text_document
        project.put(document.uri, document.text, document.version)
        server.check_soon(0)

    @_answer(server, types.TEXT_DOCUMENT_DID_CHANGE)
    def changed(params: types.DidChangeTextDocumentParams) -> None:
        document = params.text_document
        project.put(document.uri, server.workspace.get_text_document(document.uri).source, document.version)
        server.check_soon()

    @_answer(server, types.TEXT_DOCUMENT_DID_CLOSE)
    def closed(params: types.DidCloseTextDocumentParams) -> None:
        project.close(params.text_document.uri)
        server.check_soon(0)

    @_answer(server, types.TEXT_DOCUMENT_DID_SAVE)
    def saved(params: types.DidSaveTextDocumentParams) -> None:
        server.check_soon(0)

    @_answer(server, types.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def on_disk(params: types.DidChangeWatchedFilesParams) -> None:
        server.check_soon()


def _reading(server: RigServer) -> None:
    """Register what an editor shows in a file."""
    project = server.project

    @_answer(server, types.TEXT_DOCUMENT_HOVER)
    def on_hover(params: types.HoverParams) -> types.Hover | None:
        shown = hover(project, *server.cursor(params))
        if shown is None:
            return None
        able = server.client_capabilities.text_document
        formats = (able.hover.content_format if able and able.hover else None) or [types.MarkupKind.PlainText]
        markdown = types.MarkupKind.Markdown in formats
        text = "\n\n".join(_fenced(part) if markdown else part for part in shown.parts)
        kind = types.MarkupKind.Markdown if markdown else types.MarkupKind.PlainText
        return types.Hover(types.MarkupContent(kind, text), range_of(shown.span))

    @_answer(server, types.TEXT_DOCUMENT_DEFINITION)
    def definition(params: types.DefinitionParams) -> list[types.Location]:
        path, offset = server.cursor(params)
        return [server.location(span) for span in _definitions(project, path, offset)]

    @_answer(server, types.TEXT_DOCUMENT_REFERENCES)
    def references(params: types.ReferenceParams) -> list[types.Location]:
        found = project.everywhere(*server.cursor(params))
        return [
            server.location(place.span)
            for place in found
            if params.context.include_declaration or not place.declares
        ]

    @_answer(server, types.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def outline(params: types.DocumentSymbolParams) -> list[types.DocumentSymbol]:
        file = project.file(path_of(params.text_document.uri))
        return [_symbol(symbol) for symbol in symbols(file)] if file else []


def _writing(server: RigServer) -> None:
    """Register what helps to write a file."""
    project = server.project

    @_answer(
        server, types.TEXT_DOCUMENT_COMPLETION, types.CompletionOptions(trigger_characters=[".", '"', " "])
    )
    def completion(params: types.CompletionParams) -> types.CompletionList:
        path, offset = server.cursor(params)
        offers = complete(project, path, offset)
        file = project.file(path)
        place = (
            file.lines.range(offers.start, offset) if file else types.Range(params.position, params.position)
        )
        items = [
            types.CompletionItem(
                offer.text,
                kind=_OFFERS.get(offer.kind, types.CompletionItemKind.Reference),
                detail=offer.detail or None,
                sort_text=f"{offer.kind == 'keyword':d}{number:04}",
                text_edit=types.TextEdit(place, offer.text),
            )
            for number, offer in enumerate(offers.offers)
        ]
        return types.CompletionList(False, items)

    @_answer(server, types.TEXT_DOCUMENT_PREPARE_RENAME)
    def prepare_rename(params: types.PrepareRenameParams) -> types.PrepareRenamePlaceholder:
        found: Occurrence = _or_refused(renamable, project, *server.cursor(params))
        return types.PrepareRenamePlaceholder(range_of(found.span), found.keys[0].name)

    @_answer(server, types.TEXT_DOCUMENT_RENAME, types.RenameOptions(prepare_provider=True))
    def rename(params: types.RenameParams) -> types.WorkspaceEdit:
        return server.workspace_edit(_or_refused(renamed, project, *server.cursor(params), params.new_name))

    kinds = types.CodeActionOptions(code_action_kinds=[types.CodeActionKind.QuickFix])

    @_answer(server, types.TEXT_DOCUMENT_CODE_ACTION, kinds)
    def actions(params: types.CodeActionParams) -> list[types.CodeAction]:
        wanted = params.context.only
        if wanted and not any(str(types.CodeActionKind.QuickFix.value).startswith(kind) for kind in wanted):
            return []
        return _actions(server, params)

    @_answer(server, types.TEXT_DOCUMENT_FORMATTING)
    def formatting(params: types.DocumentFormattingParams) -> list[types.TextEdit]:
        file = project.file(path_of(params.text_document.uri))
        if file is None:
            return []
        text = file.source.text
        try:
            new = formatted(text, project.cache)
        except UnexpectedInput:  # the fault is already reported
            return []
        return server.text_edits(file, [(0, len(text), new)]) if new != text else []


def _actions(server: RigServer, params: types.CodeActionParams) -> list[types.CodeAction]:
    project = server.project
    path = path_of(params.text_document.uri)
    file = project.file(path)
    if file is None:
        return []
    first, last = (file.lines.offset(place) for place in (params.range.start, params.range.end))
    marked = [
        (fault, fault.span)
        for fault in project.diagnostics().get(path, [])
        if fault.span and fault.span.start <= last and first <= fault.span.end
    ]
    found = []
    for fault, span in marked[:MOST_MENDED]:
        cures = remedies(project, path, fault, span)
        found += [
            types.CodeAction(
                cure.title,
                types.CodeActionKind.QuickFix,
                [server._diagnostic(fault)],
                is_preferred=len(cures) == 1,
                edit=server.workspace_edit(cure.edits),
            )
            for cure in cures
        ]
    return found


def _or_refused(function: Callable[..., T], *arguments: object) -> T:
    try:
        return function(*arguments)
    except RefusedError as refused:
        raise JsonRpcException(str(refused), types.LSPErrorCodes.RequestFailed.value) from None


def _definitions(project: Project, path: str, offset: int) -> list[Span]:
    file = project.file(path)
    for words, used in file.uses if file else ():
        inside = any(used in project.closure(root) for root in project.rigs_with(path))
        source = project.file(used) if inside else None
        if words.span.start <= offset <= words.span.end and source:
            return [Span(source.source, 0, 0)]
    found = []
    for root in project.rigs_with(path):
        index = project.index(root)
        name = index.at(path, offset)
        found += [place.span for place in index.declarations(name)] if name else []
    return list({span.sort_key(): span for span in found}.values())


def _symbol(symbol: Symbol) -> types.DocumentSymbol:
    return types.DocumentSymbol(
        name=symbol.name,
        kind=_SYMBOLS[symbol.kind],
        range=range_of(symbol.whole),
        selection_range=range_of(symbol.span),
        detail=symbol.detail,
        children=[_symbol(inner) for inner in symbol.inner],
    )


def _fenced(text: str) -> str:
    """Fence text so that Markdown leaves it unchanged."""
    fence = "```"
    while fence in text:
        fence += "`"
    return f"{fence}text\n{text}\n{fence}"


class _Heard:
    """What an editor sends. A message that no editor sends ends the session, as the end of the stream does."""

    def __init__(self, stream: BinaryIO) -> None:
        self.stream = stream

    def readline(self) -> bytes:
        """Return a line of a header, or its first part."""
        return self.stream.readline(LONGEST_HEADER)

    def read(self, count: int) -> bytes:
        """Return the text of a message; b"" at the end."""
        return self.stream.read(count) if count <= LARGEST_MESSAGE else b""


def serve(cache: str | None, incoming: BinaryIO, outgoing: BinaryIO) -> int:
    """Talk to an editor over two streams until it disconnects; return the protocol's exit code."""
    server = make_server(cache)
    server.start_io(cast(BinaryIO, _Heard(incoming)), outgoing)
    return 0 if server.protocol._shutdown else 1
