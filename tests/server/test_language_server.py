"""The language server, asked over its streams by the client of another library (pygls), its answers taken apart by
the protocol's own types (lsprotocol). Values are compared with what the other commands say."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types

from command import FAULTS, UNUSABLE, rigcard
from editor import Editor, applied, at, copy_of_samples, over
from rigcard.catalogue import all_codes, as_entry
from samples import ROOT

pytest_plugins = ("editor",)

# ---- diagnostics -----------------------------------------------------------------------------------------------


def test_a_fault_is_told_while_typing_and_gone_when_mended(editor: Editor, job: Path) -> None:
    """A sample is silent; a wrong name has code, exact place, cause, remedy, explanation; the mended text is silent."""
    path = job / "gorge.rig"
    text = editor.open(path)
    assert editor.diagnostics(path) == []

    wrong = text.replace("from top-rocker", "from top-rockr")
    editor.change(path, wrong)
    (found,) = editor.diagnostics(path)

    assert (found.code, found.source, found.severity) == ("RC201", "rigcard", types.DiagnosticSeverity.Error)
    assert found.range == over(wrong, "top-rockr")
    assert found.message.endswith("do: did you mean `top-rocker` or `right-rocker`?")
    assert found.data == {"slug": "unknown_name", "explanation": as_entry(all_codes()["RC201"])}
    editor.change(path, text)
    assert editor.diagnostics(path) == []


def test_diagnostics_are_those_of_check(editor: Editor, job: Path) -> None:
    """Code, place and related places agree with `check --message-format json` on the same text."""
    path = job / "gorge.rig"
    text = path.read_text().replace("input mode from mode", "input mode from tools").replace(
        "cable P02", "cable P01"
    )  # fmt: skip
    path.write_text(text)
    run = rigcard("check", "--message-format", "json", path, at=job)
    assert run.code == FAULTS
    told = json.loads(run.out)
    editor.open(path)
    found = editor.diagnostics(path)

    assert len(found) == len(told) > 0
    for mine, theirs in zip(found, told, strict=True):
        assert mine.code == theirs["code"]
        start = mine.range.start
        assert (start.line + 1, start.character + 1) == (theirs["line"], theirs["column"])
        assert mine.message == f"{theirs['message']}\ndo: {theirs['hint']}"
        assert [place.message for place in mine.related_information or []] == [
            place["label"] for place in theirs["related"]
        ]
    assert any(mine.related_information for mine in found)


def test_the_unsaved_text_of_a_used_file_counts(editor: Editor, job: Path) -> None:
    """A fault typed into a stock file is told on that file, and its consequences on the file that uses it."""
    path, stock = job / "first.rig", job / "stock" / "radio.rig"
    editor.open(path)
    radio = editor.open(stock)
    assert editor.diagnostics(path) == editor.diagnostics(stock) == []

    editor.change(stock, radio.replace("role handset", "role handsett", 1))
    (found,) = editor.diagnostics(stock)
    assert (found.code, found.range.start.line) == ("RC201", at(radio, "role handset").line)

    editor.change(stock, radio.replace("model handset-12", "model handset-13"))
    assert editor.diagnostics(stock) == []
    assert [mine.code for mine in editor.diagnostics(path)] == ["RC201"]
    editor.change(stock, radio)
    assert editor.diagnostics(stock) == editor.diagnostics(path) == []


def test_a_file_that_is_not_open_gets_its_diagnostics_too(editor: Editor, job: Path) -> None:
    """A used file with a fault on the disk: the fault is on its own URI, without a version."""
    path, stock = job / "first.rig", job / "stock" / "radio.rig"
    stock.write_text(stock.read_text().replace("carries", "carriess").replace("role handset", "rol handset"))
    editor.open(path)
    assert editor.diagnostics(path) == []

    assert {mine.code for mine in editor.diagnostics(stock)} == {"RC102"}


def test_a_stock_file_alone_is_checked_for_syntax_only(editor: Editor, job: Path) -> None:
    """No `rig` block, no open file that uses it: nothing is missing, a misspelt word is still told."""
    stock = job / "stock" / "heads.rig"
    text = editor.open(stock)
    assert editor.diagnostics(stock) == []

    wrong = text.replace("setting ", "seting ", 1)
    editor.change(stock, wrong)
    (found,) = editor.diagnostics(stock)
    assert (found.code, found.range) == ("RC102", over(wrong, "seting"))


def test_columns_are_utf_16_code_units(editor: Editor, job: Path) -> None:
    """A character beyond the basic plane counts two; line ends may be those of any system."""
    path = job / "first.rig"
    text = path.read_text().replace("\n", "\r\n")
    wrong = text + '\r\nnote "\U0001f3a5\U0001f3a5"; step riging "x"\r\n'
    editor.open(path, wrong)
    found = [mine for mine in editor.diagnostics(path) if mine.code == "RC201"]

    line = next(row for row in wrong.split("\r\n") if "riging" in row)
    column = len(line[: line.index("riging")].encode("utf-16-le")) // 2
    assert column == line.index("riging") + 2
    assert [mine.range for mine in found] == [
        types.Range(
            types.Position(wrong.split("\r\n").index(line), column),
            types.Position(wrong.split("\r\n").index(line), column + len("riging")),
        )
    ]
    (action,) = editor.actions(path, found[0])
    assert action.edit and action.edit.changes
    (edit,) = action.edit.changes[path.as_uri()]
    assert (edit.range, edit.new_text) == (found[0].range, "rigging")


# ---- the whole ---------------------------------------------------------------------------------------------------


def test_many_changes_and_a_cancelled_request(editor: Editor, job: Path) -> None:
    """Typing fast, asking meanwhile, asking no more: the last text counts, and every request has its answer."""
    path = job / "gorge.rig"
    text = editor.open(path)
    line = "expect hs.left-flip.away gives cam.standby\n"
    for end in range(len(line) + 1):
        editor.change(path, text + line[:end])
        params = types.CancelParams(id=f"unknown-{end}")
        if end % 10 == 0:
            editor.hover(path, at(text, "unit head", 6))
            editor.tell(editor.client.cancel_request, params)

    assert editor.diagnostics(path) == []
    assert editor.logged == []


@pytest.mark.parametrize(
    "junk", ["", "{", "}" * 40, 'rig "', "unit", "\ufeff", "\u2028\f\r", "expect a.b.c gives", "\0", "\ud800"]
)
def test_no_text_is_too_strange(editor: Editor, job: Path, junk: str) -> None:
    """Every request has an answer on every text, and none is an error."""
    path = job / "strange.rig"
    path.write_text("")
    editor.open(path, junk)
    editor.diagnostics(path)
    for place in (types.Position(0, 0), types.Position(0, 3), types.Position(9, 9)):
        editor.hover(path, place)
        editor.definition(path, place)
        editor.references(path, place)
        editor.completion(path, place)
    editor.symbols(path)

    assert editor.logged == []


def test_goodbye(tmp_path: Path) -> None:
    """After `shutdown` the exit code is 0, without it 1, as the protocol has it; nothing is written to the error stream."""
    assert Editor(tmp_path).leave() == 1


def test_without_its_package_the_command_says_what_to_install(tmp_path: Path) -> None:
    """One cause, one remedy, exit 2; `check` never imports the library of the server."""
    (tmp_path / "sitecustomize.py").write_text(
        "import sys, importlib.util as util\nfind = util.find_spec\n"
        "util.find_spec = lambda name, *more: None if name == 'pygls' else find(name, *more)\n"
    )
    run = rigcard("language-server", at=tmp_path, env={"PYTHONPATH": str(tmp_path)})

    assert run.code == UNUSABLE
    assert "pip install 'pygls>=2.1,<3'" in run.err
    assert '"pygls>=2.1,<3"' in (ROOT / "pyproject.toml").read_text(), "the same bounds"
    assert run.out == ""


def test_no_other_command_loads_the_server(root: Path) -> None:
    """The start-up of `check` does not pay for it."""
    import subprocess

    code = (
        "import sys; from rigcard.cli import main; main(['check', sys.argv[1]]);"
        "print([name for name in sys.modules if name.startswith(('pygls', 'lsprotocol', 'rigcard.server', 'asyncio'))])"
    )
    run = subprocess.run(
        [sys.executable, "-c", code, root / "samples" / "first.rig"], capture_output=True, text=True, check=True
    )

    assert run.stdout.splitlines()[-1] == "[]"


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
    """It stands in many places and is told at the first: its remedy mends every place of it."""
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

    assert found.range.start == at(text, "cam.rum", 4)
    assert "cam.rum" not in mended
    assert mended == text.replace("cam.rum", "cam.run")
    assert editor.diagnostics(path) == []


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


def test_a_failure_of_our_own_is_one_line_in_the_log(tmp_path: Path) -> None:
    """Every request has an answer, empty; the editor's log has one line, and nothing is on the error stream."""
    broken = (
        "import sys, rigcard.server.language_server as server\n"
        "def fail(*_):\n    raise KeyError('lost\\nand found')\n"
        "server.hover = fail\nserver.Project.diagnostics = fail\n"
        "from rigcard.cli import main\nsys.exit(main(['language-server']))"
    )
    wait = message(id=5, method="textDocument/documentSymbol", params={"textDocument": {"uri": "untitled:1"}})
    run = subprocess.run(
        [sys.executable, "-c", broken],
        input=HELLO + OPEN + HOVER + wait * 3 + GOODBYE,
        capture_output=True,
        cwd=tmp_path,
        timeout=60,
        check=False,
    )
    sent = [json.loads(body) for body in re.findall(rb"\{.*?\}(?=Content-Length|$)", run.stdout, re.S)]
    logged = [each["params"]["message"] for each in sent if each.get("method") == "window/logMessage"]

    assert (run.returncode, run.stderr) == (0, b"")
    assert next(each for each in sent if each.get("id") == 2)["result"] is None
    assert logged and set(logged) == {"rigcard could not answer: KeyError: 'lost\\nand found'"}
