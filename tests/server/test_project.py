"""Files and folders that come and go while an editor is open."""

from __future__ import annotations

import asyncio
import os
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types

from editor import Editor, at, copy_of_samples, over, places
from rigcard.server import project as project_module
from rigcard.server.language_server import make_server
from rigcard.syntax.load import read_within
from rigcard.syntax.parser import parse

pytest_plugins = ("editor",)


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
    assert {name for name, _, _ in places(found)} == {
        "radio.rig",
        "arm.rig",
        "first.rig",
        "gorge.rig",
        "mast.rig",
    }
    assert all("/one/" in place.uri for place in found)
    edit = editor.rename(stock, name, "handset-13")
    assert edit.changes and len(edit.changes) == 5 and all("/one/" in uri for uri in edit.changes)
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
    assert len(found) == (5 if known == "folder" else 2)
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


# ---- what an edit costs --------------------------------------------------------------------------------------------


def test_what_did_not_change_is_neither_read_nor_parsed(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After an edit, only its text is parsed and nothing is read; after a change on the disk, that one file is both."""
    folder = (tmp_path / "job").resolve()
    copy_of_samples(root, folder)
    for file in folder.rglob("*.rig"):
        os.utime(file, (1, 1))  # long ago: what is younger than the clock of a disk can tell is read again
    read: list[str] = []
    parsed: list[str] = []
    monkeypatch.setattr(
        project_module, "read_within", lambda path, allowed: read.append(path) or read_within(path, allowed)
    )
    monkeypatch.setattr(
        project_module, "parse", lambda source, *rest: parsed.append(source.name) or parse(source, *rest)
    )
    monkeypatch.setattr(project_module, "COARSE", -1.0)  # the change of a mode is always young
    path, stock = folder / "first.rig", folder / "stock" / "heads.rig"
    project = project_module.Project()
    text = path.read_text()
    project.put(path.as_uri(), text, 1)
    assert project.diagnostics() == {str(path): []}
    assert len(read) == len(set(read)) == len(parsed) - 1 > 3

    read.clear()
    parsed.clear()
    project.put(path.as_uri(), text.replace("bound to hs", "bound to hx"), 2)
    assert [found.code.id for found in project.diagnostics()[str(path)]] == ["RC201"]
    assert (read, parsed) == ([], [str(path)])

    parsed.clear()
    stock.write_text(stock.read_text() + "# longer\n")
    project.diagnostics()
    assert (read, parsed) == ([str(stock)], [str(stock)])


def test_a_check_of_an_older_text_is_given_up(root: Path, tmp_path: Path) -> None:
    """A change that comes between two passes ends the check: only what is told of the newest text is sent."""
    path = (tmp_path / "job" / "first.rig").resolve()
    copy_of_samples(root, path.parent)
    right = path.read_text()
    wrong = right.replace("bound to hs", "bound to hx")
    server = make_server()
    sent: list[list[str]] = []
    server._publish = lambda found: sent.append([fault.code.id for fault in found[str(path)]])  # type: ignore[method-assign]

    async def edits() -> None:
        server.project.put(path.as_uri(), wrong, 1)
        server.check_soon(0)
        while server.checking is None:  # it begins
            await asyncio.sleep(0)
        await asyncio.sleep(0)  # and makes its first step
        older = server.checking
        server.project.put(path.as_uri(), right, 2)
        server.check_soon(0)
        while server.checking is older:
            await asyncio.sleep(0.001)
        assert older.cancelled()
        assert server.checking is not None
        await server.checking

    asyncio.run(edits())
    assert sent == [[]]
