"""The language server as people use an editor: at every word of the samples, with other line ends, letters of several
bytes, files that come and go, two folders, many rigs, many faults, and editors that leave without a word."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types
from pygls.exceptions import JsonRpcException

from editor import Editor, applied, at, copy_of_samples, over, places
from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from rigcard.server.index import Index
from rigcard.source import Source
from rigcard.syntax.facts import fixed_words
from rigcard.syntax.parser import Language, load

pytest_plugins = ("editor",)
SAMPLES = (
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


# ---- at every word of the samples ------------------------------------------------------------------------------


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


@pytest.mark.parametrize("name", SAMPLES)
def test_what_stands_in_the_samples_is_offered_there(editor: Editor, job: Path, name: str) -> None:
    """Each word of the language and each name that is used is among the offers at its place, written over nothing,
    while the rest of its line is not there yet, and when only it is taken out."""
    path = job / name
    text = path.read_text()
    if name.startswith("stock"):
        editor.open(job / "gorge.rig")
    editor.open(path)
    language = load()
    names = declared(language, path)
    missing = []
    for start, word, terminal in kinds_of_words(language, path):
        if start in names or (terminal == "NAME" and word in ("left", "right")):  # the ends of a new control
            continue
        for rest in (start + len(word), text.index("\n", start)):
            editor.change(path, text[:start] + text[rest:])
            place = at(text, text[:start][-30:] + word, len(text[:start][-30:]))
            items = editor.completion(path, place)
            if word not in {item.label for item in items}:
                missing.append((text[:start].rpartition("\n")[2], word))
            for item in items[:3]:
                assert isinstance(item.text_edit, types.TextEdit)
                assert item.text_edit.range == types.Range(place, place)

    assert missing == []


@pytest.mark.parametrize("name", SAMPLES)
def test_every_word_of_the_samples_says_something(editor: Editor, job: Path, name: str) -> None:
    """A word of the language is explained by a line of the reference that has it or begins its statement; a name by
    the line that declares it. Only the `to` of a leg is left alone."""
    path = job / name
    text = editor.open(path)
    language = load()
    for start, word, terminal in kinds_of_words(language, path):
        line = text[text.rfind("\n", 0, start) + 1 : text.index("\n", start)]
        said = editor.hover(path, at(text, text[:start][-30:] + word, len(text[:start][-30:]) + 1))
        if word == "to" and not said:
            assert "." in line.split(" to ")[0]
            continue
        if terminal in ("EXPECT", "GIVES", "MEASURED"):
            assert "CONTROL" in said
            continue
        assert said, (word, line)
        if terminal != "NAME" and terminal not in fixed_words():
            statement = re.split(r"[{};]", text[:start].rpartition("\n")[2])[-1].split()[:1] or [word]
            assert re.search(rf"`(?:{statement[0]}\b|[^`]*\b{word}\b)", said), (word, line, said)


@pytest.mark.parametrize(
    ("mark", "inside", "said", "unsaid"),
    [
        ("mounted on head", 9, "the unit that carries it", "ports"),
        ('"C" on 2026', 5, "the letter of this frozen state", "ports"),
        ("up to 23kg", 1, "a case that kit is packed in", "longest lead"),
        ("hazard overhead", 2, "a danger of the whole rig", "(#"),
        ("failsafe hold", 10, "number, name and control", ""),
        ("mount underslung", 8, "`upright` or `underslung`", "whose direction"),
    ],
)
def test_a_word_is_explained_where_it_stands(
    editor: Editor, job: Path, mark: str, inside: int, said: str, unsaid: str
) -> None:
    """The same word means another thing in another statement; links of the reference are shown as words."""
    path = job / "gorge.rig"
    shown = editor.hover(path, at(editor.open(path), mark, inside))

    assert said in shown
    assert not unsaid or unsaid not in shown


def test_a_name_of_a_stock_file_alone_has_no_values(editor: Editor, job: Path) -> None:
    """No open rig uses it: there is nothing to compute, and no fault is to blame for that."""
    stock = job / "stock" / "radio.rig"
    text = editor.open(stock)

    assert (
        editor.hover(stock, at(text, "front-toggle", 2))
        == 'switch front-toggle "Front toggle" away, toward at 120mm, 190mm'
    )


def test_a_new_line_is_a_new_statement(editor: Editor, job: Path) -> None:
    """At column 0 below a line, the offers are statements, and none replaces the last word of the line before."""
    path = job / "gorge.rig"
    whole = editor.open(path)
    text = whole + "hazard water\n"
    editor.change(path, text)
    place = types.Position(text.count("\n"), 0)
    items = editor.completion(path, place)

    assert {"unit", "expect", "hazard"} <= {item.label for item in items}
    edits = [item.text_edit for item in items]
    assert all(isinstance(edit, types.TextEdit) and edit.range == types.Range(place, place) for edit in edits)


def test_the_outline_of_a_stock_file(editor: Editor, job: Path) -> None:
    """Models with controls, ports, inputs and their states, settings and commands, in the order of the file."""
    stock = job / "stock" / "camera.rig"
    text = editor.open(stock)
    found = {symbol.name: symbol for symbol in editor.symbols(stock)}

    assert list(found) == re.findall(r"^(?:model|signal) ([\w-]+)", text, re.M)
    bridge = {inner.name: inner for inner in found["bridge-3"].children or []}
    assert list(bridge)[:4] == ["j1", "j2", "j3", "camera"]
    assert [state.name for state in bridge["trigger"].children or []] == ["run", "standby"]
    assert bridge["trigger"].kind == types.SymbolKind.Method
    camera = [inner.name for inner in found["camera-c"].children or []]
    assert {"socket", "soft-1", "standby", "run", "iris"} <= set(camera)
    radio = job / "stock" / "radio.rig"
    text = editor.open(radio)
    handset = next(symbol for symbol in editor.symbols(radio) if symbol.name == "handset-12")
    assert [inner.name for inner in handset.children or []] == re.findall(
        r"^ +(?:stick|slider|dial|switch) ([\w-]+)", text.split("}")[0], re.M
    )
    receiver = next(symbol for symbol in editor.symbols(radio) if symbol.name == "receiver-8")
    assert next((port.name, port.detail) for port in receiver.children or []) == ("p1", "to p8, out")


# ---- letters, line ends, columns -------------------------------------------------------------------------------


@pytest.mark.parametrize("wanted", [["utf-8", "utf-16"], ["utf-32"], ["utf-16"]])
def test_columns_are_utf_16_whatever_an_editor_would_rather_have(tmp_path: Path, wanted: list[str]) -> None:
    """The protocol: the server names the encoding, UTF-16 is known to every editor. It keeps to what it names."""
    general = types.GeneralClientCapabilities(
        position_encodings=[types.PositionEncodingKind(kind) for kind in wanted]
    )
    editor = Editor(tmp_path, able=types.ClientCapabilities(general=general))
    path = tmp_path / "x.rig"
    text = 'note "\U0001f3a5 é 日本"; step riging "x"\nrig "R" { revision "A" }\n'
    editor.open(path, text)
    (found, *_) = editor.diagnostics(path)

    assert editor.able.position_encoding in (None, types.PositionEncodingKind.Utf16)
    assert found.range == over(text, "riging")
    editor.quit()


def test_typing_between_letters_of_several_bytes(editor: Editor, job: Path) -> None:
    """Hover, definition, references, completion and rename behind and between characters of two, three, four bytes."""
    path = job / "gorge.rig"
    text = (
        path.read_text().replace('"Bridge loom" {', '"\U0001f3a5 Brücke 日本" { note').replace("{ note", "{", 1)
    )
    text = text.replace('job "Whitewater', 'job "\U0001f3a5\U0001f3a5 Wildwasser, Tag 2 — ') + (
        'note "\U0001f9ea"; expect hs.left-flip.away gives cam.standby # \U0001f9ea\n'
    )
    editor.open(path, text)
    assert editor.diagnostics(path) == []
    last = '\U0001f9ea"; expect hs.left-flip.away gives cam.standby'
    place = at(text, last, last.index("cam."))

    assert editor.hover(path, place).startswith("unit cam is camera-c")
    assert editor.definition(path, place)[0].range == over(text, "cam", 1) or editor.definition(path, place)[
        0
    ].range.start == at(text, "unit cam", 5)
    assert over(text, "cam.standby", text.count("cam.standby")).start in [
        found.range.start for found in editor.references(path, place)
    ]
    edit = editor.rename(path, place, "body")
    assert edit.changes
    new = applied(text, list(edit.changes[path.as_uri()]))
    assert "gives body.standby # \U0001f9ea" in new and "\U0001f9ea Brü" not in new
    editor.change(path, new)
    assert editor.diagnostics(path) == []
    typed = new.replace("gives body.standby # \U0001f9ea", "gives body.st # \U0001f9ea")
    editor.change(path, typed)
    place = at(typed, "gives body.st #", len("gives body.st"))
    (item,) = [item for item in editor.completion(path, place) if item.label == "standby"]
    assert isinstance(item.text_edit, types.TextEdit)
    assert applied(typed, [item.text_edit]) == new
    inside = types.Position(
        at(typed, "\U0001f9ea").line, at(typed, "\U0001f9ea").character + 1
    )  # half a character
    assert editor.hover(path, inside) == ""


def test_line_ends_of_another_system_are_kept(editor: Editor, job: Path) -> None:
    """What is laid out, added by a remedy or renamed in a file with CRLF leaves no line with LF alone."""
    path = job / "gorge.rig"
    text = path.read_text().replace("input horizon from horizon\n", "").replace("\n", "\r\n")
    path.write_bytes(text.encode())
    editor.open(path)
    found = [mine for mine in editor.diagnostics(path) if mine.code == "RC311"]
    (action,) = editor.actions(path, found[0])
    assert action.edit and action.edit.changes
    added = applied(text, list(action.edit.changes[path.as_uri()]))
    edit = editor.rename(path, at(text, "unit head", 6), "nodder")
    assert edit.changes
    renamed = applied(text, list(edit.changes[path.as_uri()]))
    laid_out = applied(text, editor.formatting(path))

    assert "  unused horizon\r\n}" in added
    assert "unit nodder is head-3" in renamed
    for new in (added, renamed, laid_out):
        assert new != text
        assert re.search(r"(?<!\r)\n|\r(?!\n)", new) is None
    editor.change(path, laid_out)
    assert editor.formatting(path) == []
    editor.change(path, "rig {\r\n")
    assert editor.formatting(path) == []  # it cannot be read; why is told


# ---- files and folders that come and go ------------------------------------------------------------------------


def test_a_used_file_is_deleted_and_comes_back(editor: Editor, job: Path) -> None:
    """The rig says that it cannot be read, at the `use`; it is silent again when the file is there again."""
    path, stock = job / "first.rig", job / "stock" / "heads.rig"
    text = editor.open(path)
    assert editor.diagnostics(path) == []

    away = stock.rename(job / "stock" / "away.txt")
    editor.on_disk(stock, types.FileChangeType.Deleted)
    editor.codes(path, ["RC109"])
    assert editor.diagnostics(path)[0].range == over(text, '"stock/heads.rig"')
    assert editor.definition(path, at(text, "stock/heads.rig", 3)) == []
    assert editor.completion(path, at(text, "unit head is", len("unit head is")))
    away.rename(stock)
    editor.on_disk(stock, types.FileChangeType.Created)
    editor.codes(path, [])


def test_an_open_file_is_renamed(editor: Editor, job: Path) -> None:
    """Editors close the old name and open the new one: nothing stays behind on the old one."""
    path = job / "first.rig"
    wrong = path.read_text().replace("bound to hs", "bound to hx")
    editor.open(path, wrong)
    editor.codes(path, ["RC201"])

    path.unlink()
    new = job / "second.rig"
    new.write_text(wrong)
    editor.close(path)
    editor.open(new)
    editor.codes(new, ["RC201"])
    editor.codes(path, [])
    assert editor.hover(path, types.Position(0, 0)) == ""
    assert (
        editor.symbols(path)
        == editor.actions(path, editor.diagnostics(new)[0])
        == editor.formatting(path)
        == []
    )
    assert editor.completion(path, types.Position(0, 0)) == []


def test_a_file_is_saved(editor: Editor, job: Path) -> None:
    """A save changes nothing of what is shown."""
    path = job / "first.rig"
    text = path.read_text().replace("bound to hs", "bound to hx")
    editor.open(path, text)
    editor.codes(path, ["RC201"])
    path.write_text(text)
    editor.published.clear()
    editor.tell(editor.client.text_document_did_save, types.DidSaveTextDocumentParams(editor.file(path), text))
    editor.codes(path, ["RC201"])


def test_two_folders(root: Path, tmp_path: Path) -> None:
    """A name is looked for in all folders of the editor, and renamed only where it is the same; folders come and go."""
    one, two = tmp_path / "one", tmp_path / "two words"
    copy_of_samples(root, one)
    copy_of_samples(root, two)
    (two / "more").mkdir()
    editor = Editor(one / "stock", two)
    stock = one / "stock" / "radio.rig"
    radio = editor.open(stock)
    name = at(radio, "model handset-12", 8)

    assert {name for name, _, _ in places(editor.references(stock, name))} == {"radio.rig"}
    editor.refold([one], [one / "stock"])
    found = editor.references(stock, name)
    assert {name for name, _, _ in places(found)} == {"radio.rig", "first.rig", "gorge.rig", "mast.rig"}
    assert all("/one/" in place.uri for place in found)
    edit = editor.rename(stock, name, "handset-13")
    assert edit.changes and len(edit.changes) == 4 and all("/one/" in uri for uri in edit.changes)
    gorge = two / "gorge.rig"
    text = editor.open(gorge)
    assert {
        place.uri.count("/two%20words/") for place in editor.references(gorge, at(text, "handset-12", 2))
    } == {1}
    editor.quit()


@pytest.mark.parametrize("known", ["folder", "file"])
def test_a_folder_behind_a_link(root: Path, tmp_path: Path, known: str) -> None:
    """Files are named by the path that the editor uses, open or not, though they are told apart by the real one."""
    copy_of_samples(root, tmp_path / "real")
    (tmp_path / "link é").symlink_to(tmp_path / "real")
    folder = tmp_path / "link é"
    (tmp_path / "empty").mkdir()
    editor = Editor(folder if known == "folder" else tmp_path / "empty")
    path = folder / "first.rig"
    text = editor.open(path)
    name = at(text, "is handset-12", 4)

    found = editor.references(path, name)
    assert len(found) == (4 if known == "folder" else 2)
    assert {place.uri.rpartition("/stock")[0] or place.uri.rpartition("/")[0] for place in found} == {
        folder.as_uri()
    }
    (declared,) = editor.definition(path, name)
    assert declared.uri == (folder / "stock" / "radio.rig").as_uri()
    editor.quit()


def test_two_rigs_with_one_faulty_file(editor: Editor, job: Path) -> None:
    """The fault of a stock file that two open rigs use is told once."""
    stock = job / "stock" / "radio.rig"
    stock.write_text(stock.read_text().replace("role handset", "rol handset", 1))
    for name in ("first.rig", "gorge.rig"):
        editor.open(job / name)
        editor.diagnostics(job / name)

    assert [found.code for found in editor.diagnostics(stock)] == ["RC102"]


# ---- many rigs -------------------------------------------------------------------------------------------------


@pytest.fixture
def fleet(job: Path) -> Path:
    """Forty rigs beside the samples; one of them has a model of its own, another a name for itself."""
    text = (job / "first.rig").read_text()
    for number in range(40):
        (job / f"rig-{number:02}.rig").write_text(text.replace("My first rig", f"Rig {number}"))
    own = 'model lens-99 "Own lens" { role lens }\n'
    (job / "rig-07.rig").write_text(text + own + 'use "stock/camera.rig"\nunit lens is lens-50 "Lens"\n')
    (job / "rig-08.rig").write_text(text + own + 'use "stock/camera.rig"\n')
    return job


def test_a_name_is_changed_in_the_rigs_that_have_it(editor: Editor, fleet: Path) -> None:
    """Of 43 rigs those that say the name are edited, whether they are open or not; all stay as clean as they were."""
    stock = fleet / "stock" / "camera.rig"
    text = editor.open(stock)
    before = {path: faults(path) for path in fleet.glob("*.rig")}
    edit = editor.rename(stock, at(text, "model lens-50", 8), "lens-51")
    assert edit.changes

    wanted = {path for path in fleet.rglob("*.rig") if re.search(r"\blens-50\b", path.read_text())}
    assert set(edit.changes) == {path.as_uri() for path in wanted}
    assert len(wanted) == 3  # the stock file, rig-07 and the mast
    for path in wanted:
        path.write_text(applied(path.read_text(), list(edit.changes[path.as_uri()])))
    assert {path: faults(path) for path in fleet.glob("*.rig")} == before


def faults(path: Path) -> list[str]:
    """The codes of a rig's faults."""
    diagnostics = Diagnostics()
    check_rig(path, diagnostics)
    return [found.code.id for found in diagnostics.sorted()]


def test_a_name_that_is_taken_in_a_rig_that_is_not_open(editor: Editor, fleet: Path) -> None:
    """Neither rig-07, which uses the model, nor rig-08, which does not, may get two models of one name."""
    stock = fleet / "stock" / "camera.rig"
    text = editor.open(stock)
    with pytest.raises(JsonRpcException, match="there is a model named `lens-99` already"):
        editor.rename(stock, at(text, "model lens-50", 8), "lens-99")
    (fleet / "rig-07.rig").unlink()
    with pytest.raises(JsonRpcException, match="there is a model named `lens-99` already"):
        editor.rename(stock, at(text, "model zoom-4", 8), "lens-99")


def test_a_name_in_a_statement_that_cannot_be_read(editor: Editor, job: Path) -> None:
    """Whether it is the name cannot be told, so nothing is changed by halves; a fault elsewhere does not matter."""
    path = job / "gorge.rig"
    whole = path.read_text()
    text = whole.replace("mounted on head\n", "mounted = head\n", 1)
    editor.open(path, text)
    line = at(text, "mounted = head").line + 1
    with pytest.raises(JsonRpcException, match=re.escape(f"`head` stands in line {line} of gorge.rig")):
        editor.rename(path, at(text, "unit head", 6), "nodder")

    edit = editor.rename(path, at(text, "unit lens", 6), "glass")
    assert edit.changes and len(edit.changes[path.as_uri()]) == len(
        re.findall(r"\blens\b(?![-\w])", count_of(text))
    )


def count_of(text: str) -> str:
    """A text without comments and quoted words, and without names that go on."""
    return re.sub(r'"[^"\n]*"|#[^\n]*|role lens', "", text)


def test_the_ports_of_a_row_are_told_apart(editor: Editor, job: Path) -> None:
    """`p5` of `p1..p8` is used once and declared with its row; the places of `p1` are not its own."""
    path, stock = job / "gorge.rig", job / "stock" / "radio.rig"
    text = editor.open(path)
    radio = stock.read_text()
    found = editor.references(path, at(text, "rx.p5", 4))

    assert places(found) == {
        ("gorge.rig", at(text, "rx.p5").line, at(text, "rx.p5", 3).character),
        ("radio.rig", at(radio, "port p1..p8").line, at(radio, "port p1..p8", 5).character),
    }


# ---- many faults -----------------------------------------------------------------------------------------------


def test_two_hundred_faults(editor: Editor, job: Path) -> None:
    """The first fifty of the syntax are shown; names, outline, hover and remedies are there as before."""
    path = job / "gorge.rig"
    whole = path.read_text()
    wrong = "expct hs.left-flip.away gives cam.standby\n"
    text = wrong * 200 + whole
    editor.open(path, text)
    found = editor.diagnostics(path)

    assert [mine.code for mine in found] == ["RC102"] * 50
    assert {"hs", "head", "cam", "S01"} <= {symbol.name for symbol in editor.symbols(path)}
    assert editor.definition(path, at(text, "bound to hs", 10))[0].range.start == at(text, "unit hs", 5)
    assert "bound to hs" in editor.hover(path, at(text, "bound to", 2))
    for mine in (found[0], found[-1]):
        (action,) = editor.actions(path, mine)
        assert action.edit and action.edit.changes
        (edit,) = action.edit.changes[path.as_uri()]
        assert (edit.range, edit.new_text) == (mine.range, "expect")
    everything = types.Range(types.Position(0, 0), types.Position(10_000, 0))
    assert 0 < len(editor.actions(path, types.Diagnostic(everything, ""))) <= 20


def test_a_wrong_name_that_is_told_once(editor: Editor, job: Path) -> None:
    """It stands in many places and is told at the first: its remedy mends that one, and the next is told."""
    path = job / "gorge.rig"
    text = (
        path.read_text().replace("gives cam.run", "gives cam.rum")
        + "expect hs.left-flip.toward gives cam.rum\n"
    )
    assert text.count("cam.rum") == 2
    editor.open(path, text)
    (found,) = editor.diagnostics(path)
    (action,) = editor.actions(path, found)
    assert action.edit and action.edit.changes
    mended = applied(text, list(action.edit.changes[path.as_uri()]))
    editor.change(path, mended)
    (again,) = editor.diagnostics(path)

    assert found.range.start == at(text, "cam.rum", 4)
    assert again.range.start == at(mended, "cam.rum", 4)


# ---- other editors ---------------------------------------------------------------------------------------------


def test_an_editor_that_reads_markdown_and_watches_files(root: Path, tmp_path: Path) -> None:
    """What is shown stands in a fence that no text of the rig can end; changed files are asked for by pattern."""
    job = tmp_path / "job"
    copy_of_samples(root, job)
    able = types.ClientCapabilities(
        workspace=types.WorkspaceClientCapabilities(
            did_change_watched_files=types.DidChangeWatchedFilesClientCapabilities(dynamic_registration=True)
        ),
        text_document=types.TextDocumentClientCapabilities(
            hover=types.HoverClientCapabilities(
                content_format=[types.MarkupKind.Markdown, types.MarkupKind.PlainText]
            )
        ),
    )
    editor = Editor(job, able=able)
    path = job / "first.rig"
    text = path.read_text().replace('"Handset"', '"Hand```set *x* <b>"')
    editor.open(path, text)
    found = editor.wait(
        editor.client.text_document_hover_async(types.HoverParams(editor.file(path), at(text, "unit hs", 6)))
    )

    assert found and isinstance(found.contents, types.MarkupContent)
    assert found.contents.kind == types.MarkupKind.Markdown
    fence, shown, end = found.contents.value.split("\n")
    assert (fence, end) == ("````text", "````")
    assert shown == 'unit hs is handset-12 "Hand```set *x* <b>"'
    (asked,) = editor.registered
    assert asked.method == types.WORKSPACE_DID_CHANGE_WATCHED_FILES
    editor.quit()


def message(**parts: object) -> bytes:
    """One message as it goes over the streams."""
    body = json.dumps({"jsonrpc": "2.0", **parts}).encode()
    return b"Content-Length: %d\r\n\r\n%s" % (len(body), body)


HELLO = message(id=1, method="initialize", params={"processId": None, "rootUri": None, "capabilities": {}})
OPEN = message(
    method="textDocument/didOpen",
    params={"textDocument": {"uri": "untitled:1", "languageId": "rig", "version": 1, "text": 'note x"\n'}},
)
HOVER = message(
    id=2,
    method="textDocument/hover",
    params={"textDocument": {"uri": "untitled:1"}, "position": {"line": 0, "character": 1}},
)
UNHEARD = message(id=3, method="un/heard", params={}) + message(method="un/known", params={})
GOODBYE = message(id=9, method="shutdown") + message(method="exit")


@pytest.mark.parametrize(
    ("sent", "code"),
    [
        (b"", 1),
        (HELLO, 1),
        (HELLO + b"Content-Length: 100\r\n\r\n{", 1),
        (HELLO + b"Content-Len", 1),
        (HELLO + OPEN + HOVER + message(method="$/cancelRequest", params={"id": 2}) + GOODBYE, 0),
        (HELLO + OPEN + message(method="$/cancelRequest", params={"id": 77}) + HOVER + GOODBYE, 0),
        (HELLO + HOVER + UNHEARD + GOODBYE, 0),
    ],
)  # fmt: skip
def test_an_editor_that_says_strange_things_or_leaves(sent: bytes, code: int, tmp_path: Path) -> None:
    """The exit code is that of the protocol, every request has an answer, and nothing is on the error stream."""
    run = subprocess.run(
        [sys.executable, "-m", "rigcard", "language-server"],
        input=sent,
        capture_output=True,
        cwd=tmp_path,
        timeout=60,
        check=False,
    )
    bodies = [json.loads(body) for body in re.findall(rb"\{.*?\}(?=Content-Length|$)", run.stdout, re.S)]
    answered = {body["id"] for body in bodies if "id" in body and "method" not in body}

    assert (run.returncode, run.stderr) == (code, b"")
    for number in (1, 2, 3, 9):
        assert (number in answered) == (b'"id": %d, "method"' % number in sent)


def test_an_editor_that_does_not_listen_any_more(tmp_path: Path) -> None:
    """Its end of the stream is closed while messages are still to be shown: no traceback."""
    with subprocess.Popen(
        [sys.executable, "-m", "rigcard", "language-server"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
    ) as server:
        assert server.stdin and server.stdout and server.stderr
        server.stdin.write(HELLO)
        server.stdin.flush()
        assert server.stdout.readline().startswith(b"Content-Length")
        server.stdout.close()
        server.stdin.write(OPEN)
        server.stdin.close()
        said = server.stderr.read()

    assert said == b""
