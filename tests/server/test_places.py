"""Places as an editor counts them: letters of several bytes, other line ends."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types

from editor import Editor, applied, at, over

pytest_plugins = ("editor",)


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
