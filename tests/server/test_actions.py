"""Remedies that an editor offers for a click; their effect is judged by `check`."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types

from editor import Editor, applied, at
from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.pipeline import check_rig
from samples import CASES

pytest_plugins = ("editor",)

REMEDIES = [
    ("from top-rocker", "from top-rockr", "RC201"),
    ("channel 7", "chanel 7", "RC102"),
    ("failsafe -90%", "failsafe -90 %", "RC106"),
    ("length 300mm", "length 300MM", "RC106"),
    ("jacket 3.2mm", "jacket 3,2mm", "RC106"),
    ("into tools at 40%", "into tools at 40", "RC106"),
    ("cam.run", "cam.rum", "RC201"),
    ('set socket "Orders"', 'set socket "Order"', "RC341"),
    ('set socket "Orders"', 'set socket "Closed"', "RC342"),
    ('  set socket "Orders"\n', "", "RC342"),
    ("pan reversed", "pan", "RC411"),
    ("input horizon from horizon", "", "RC311"),
    ("on 2026-05-14", "on 14.05.2026", "RC101"),
    ("bound to hs", "bound hs", "RC101"),
    ("from right-along", "right-along", "RC101"),
    ("16-channel serial", "16-chanel serial", "RC341"),
    ('job "Whitewater final, day 2"', "job Whitewater final", "RC101"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("good", "bad", "code"), REMEDIES, ids=[f"{code} {bad or good}" for good, bad, code in REMEDIES]
)
def test_a_remedy_is_one_click(editor: Editor, job: Path, good: str, bad: str, code: str) -> None:
    """The edit of an action, made in the text, takes the message away, and no error is left."""
    path = job / "gorge.rig"
    whole = path.read_text()
    assert good in whole
    text = whole.replace(good, bad, 1)
    editor.open(path, text)
    found = [mine for mine in editor.diagnostics(path) if mine.code == code]
    assert found, editor.diagnostics(path)
    actions = editor.actions(path, found[0])
    assert actions, found[0].message
    for action in actions:
        assert action.kind == types.CodeActionKind.QuickFix
        assert action.diagnostics and action.diagnostics[0].code == code
        assert action.edit and action.edit.changes
        path.write_text(applied(text, list(action.edit.changes[path.as_uri()])))
        diagnostics = Diagnostics()
        check_rig(path, diagnostics)
        assert all(fault.code.id != code for fault in diagnostics), (action.title, list(diagnostics))
    if len(actions) == 1:
        assert [
            fault.message for fault in diagnostics if fault.code.severity.value == "error"
        ] == [] or code == "RC311"


def test_a_hint_that_only_shows_an_example_is_no_action(editor: Editor, job: Path) -> None:
    """Where the message can but give an example, nothing is offered."""
    path = job / "gorge.rig"
    for good, bad in (
        ("memory 4 ", "memory  "),
        ("length 300mm", "length 300"),
        ('cable S02 "Receiver to head"', "cable S02"),
    ):
        text = path.read_text().replace(good, bad, 1)
        editor.open(path, text)
        (found, *_) = editor.diagnostics(path)
        assert editor.actions(path, found) == []
        editor.close_all()


def test_a_claim_in_a_used_file(editor: Editor, job: Path) -> None:
    """Its fixed words show its own row, not that of a claim of the same place in another file."""
    more, path = job / "claims.rig", job / "gorge.rig"
    more.write_text("expect hs.left-flip.toward gives cam.run\n")
    text = path.read_text() + 'use "claims.rig"\n'
    path.write_text(text)
    editor.open(path)
    shown = editor.hover(more, types.Position(0, 2))

    assert "toward" in shown and "away" not in shown.split("CONTROL")[1]
    assert shown == editor.hover(path, at(text, "expect hs.left-flip.toward", 2)) or "run" in shown


def test_remedies_of_one_kind_only(editor: Editor, job: Path) -> None:
    """An editor that asks for refactorings gets none; what asks for quick fixes, or for all, gets them."""
    path = job / "gorge.rig"
    text = path.read_text().replace("from front-toggle", "from front-togle")
    editor.open(path, text)
    (found,) = editor.diagnostics(path)

    def asked(*only: types.CodeActionKind) -> int:
        context = types.CodeActionContext([found], only=list(only) or None)
        params = types.CodeActionParams(editor.file(path), found.range, context)
        return len(editor.wait(editor.client.text_document_code_action_async(params)) or [])

    assert asked() == asked(types.CodeActionKind.QuickFix) == 1
    assert asked(types.CodeActionKind.Refactor) == asked(types.CodeActionKind.SourceFixAll) == 0


OF_WRITING = re.compile("RC10[1-7]")
MOST_CLICKS = 8


@pytest.fixture
def bench(session: Editor, request: pytest.FixtureRequest) -> Path:
    """A folder of the session with the shared models of the cases."""
    folder = session.folder / re.sub(r"\W", "-", request.node.name)
    folder.mkdir()
    for path in CASES.glob("*.rig"):
        (folder / path.name).write_bytes(path.read_bytes())
    return folder


def case_text(path: Path) -> str:
    """A case without its expectations, beside the models that it uses."""
    return re.sub(r"^\s*#! .*\n", "", path.read_text("utf-8"), flags=re.M).replace('use "../', 'use "')


def judged(path: Path, text: str) -> list[Diagnostic]:
    """What `check` says of a text."""
    path.write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    check_rig(path, diagnostics)
    return [found for found in diagnostics.sorted() if found.span and found.span.source.name == str(path)]


def clicked(path: Path, text: str, action: types.CodeAction) -> str:
    """A text after a remedy."""
    assert action.edit and action.edit.changes and set(action.edit.changes) == {path.as_uri()}
    return applied(text, list(action.edit.changes[path.as_uri()]))


@pytest.mark.slow
@pytest.mark.parametrize("folder", ["syntax", "names", "check", "solve"])
def test_every_remedy_of_many_cases(editor: Editor, bench: Path, folder: str) -> None:
    """Its message is gone from its place; a line that was written wrong is read after a few clicks."""
    offered = 0
    every = 3 if folder == "syntax" else 1
    for number, case in enumerate(sorted((CASES / folder).glob("*.rig"))[::every]):
        path = bench / f"case-{number}.rig"
        text = case_text(case)
        faults = judged(path, text)
        if b"\r" in case.read_bytes() or not faults:
            continue
        editor.open(path, text)
        for shown in editor.diagnostics(path):
            for action in editor.actions(path, shown):
                offered += 1
                new = clicked(path, text, action)
                left = judged(path, new)
                place = (shown.range.start.line + 1, shown.range.start.character + 1)
                cause = shown.message.partition("\ndo:")[0]
                assert all(
                    (found.message, found.span and found.span.source.position(found.span.start))
                    != (cause, place)
                    for found in left
                ), (case.name, action.title)
                if OF_WRITING.match(str(shown.code)):
                    assert is_read_after_clicks(editor, path, new, place[0]), (case.name, action.title, new)
                editor.change(path, text)
        editor.close(path)

    assert offered >= {"syntax": 20, "names": 20, "check": 9, "solve": 3}[folder], offered


def is_read_after_clicks(editor: Editor, path: Path, text: str, line: int) -> bool:
    """Whether a line has no fault of its writing once the first remedy of what is left was taken again and again."""
    for _ in range(MOST_CLICKS):
        editor.change(path, text)
        left = [
            found
            for found in editor.diagnostics(path)
            if OF_WRITING.match(str(found.code)) and found.range.start.line + 1 == line
        ]
        if not left:
            return True
        actions = editor.actions(path, left[0])
        if not actions:
            return False
        text = clicked(path, text, actions[0])
    return False


HANDSET = """use "stock.rig"
rig "Case" { revision "A" }
unit hs is handset-12 "Handset" {
  memory 1 "CASE A"
  %s
}
"""
BRIDGE = f"""{HANDSET % "channel 4 iris from left-slider failsafe hold"}
unit rx is receiver-8 "Receiver" {{ bound to hs }}
unit bridge is bridge-3 "Bridge" {{ unused trigger, keys }}
unit cam is camera-c "Camera" {{ set protocol "Remote keys" }}
unit lens is lens-35 "Lens" {{ mounted on cam }}
cable W1 "Bridge" {{ rx.p4 to bridge.two; length 300mm; jacket 3mm }}
cable W2 "Camera" {{ bridge.camera to cam.control; length 400mm; jacket 4mm }}
"""
HEAD = f"""{HANDSET % "channel 1 pan from right-across failsafe 0%"}
unit rx is receiver-8 "Receiver" {{ bound to hs }}
unit head is head-2 "Head" {{ input pan from pan; unused mode }}
cable W1 "Head" {{ rx.bus to head.remote; length 500mm; jacket 3mm }}
"""
OTHER = """unit hs-2 is handset-12 "Other handset" { memory 2 "CASE B"; channel 4 iris from left-slider failsafe hold }
unit rx-2 is receiver-8 "Other receiver" { bound to hs-2 }
"""
CLICKS = [  # the rig; what is right in it, and what is written there; the code; what stands there after a click
    (HEAD, 'revision "A"', "revision “A”", "RC107", 'revision "A"'),
    (HEAD, 'revision "A"', 'revision "A",', "RC101", 'revision "A" }'),
    (HEAD, "length 500mm", 'length 20"', "RC106", "length 508mm"),
    (BRIDGE, "unit lens is", "unit main lens is", "RC101", "unit main-lens is"),
    (HEAD, "failsafe 0%", "failsafe ±0%", "RC107", None),
    (HEAD, "bus to head", "bus → head", "RC107", "bus to head"),
    (HEAD, '"Case" {', '"Case" (', "RC101", '"Case" {'),
    (HEAD, "hs }", "hs } }", "RC104", None),
    (HEAD, ' { bound to hs }', "", "RC331", '"Receiver" { bound to hs }'),
    (HEAD, " bound to hs ", " ", "RC331", '"Receiver" { bound to hs }'),
    (HEAD, "{ bound to hs }", "{}", "RC331", '"Receiver" { bound to hs }'),
    (HEAD, "from pan; unused mode", "from pan", "RC311", "pan; unused mode }"),
    (HEAD, "unused mode", 'note "x"; unused mode; set format "Of"', "RC341", 'set format "Off"'),
    (BRIDGE, "", "expect hs.left-slider.away gives cam.iris.closed\n", "RC411", "failsafe hold reversed\n"),
    (BRIDGE, "left-slider", "left-slider reversed", "RC411", "from left-slider failsafe"),
    (BRIDGE, "", OTHER + "expect hs.left-slider.away gives cam.iris.closed\n", "RC411", None),
    (BRIDGE, "failsafe hold\n", "failsafe hold # not reversed\n", "RC411", "failsafe hold reversed # not"),
    (BRIDGE, "mounted on cam", "mounted on can", "RC201", "mounted on cam"),
]  # fmt: skip


@pytest.mark.parametrize(("rest", "good", "bad", "code", "mended"), CLICKS)
def test_what_one_click_writes(
    editor: Editor, bench: Path, rest: str, good: str, bad: str, code: str, mended: str | None
) -> None:
    """The exact text, in the words of the language; none where the message can but give an example."""
    path = bench / "case.rig"
    text = rest
    if "reversed" in bad:
        end = "closed" if "# not reversed" in bad else "open"
        text += f"expect hs.left-slider.away gives cam.iris.{end}\n"
    text = text.replace(good, bad, 1) if good else text + bad
    editor.open(path, text)
    found = [shown for shown in editor.diagnostics(path) if shown.code == code]
    assert len(found) == 1, editor.diagnostics(path)
    actions = editor.actions(path, found[0])
    new = [clicked(path, text, action) for action in actions]

    assert len(new) == (mended is not None), [action.title for action in actions]
    assert all(mended in each and not judged(path, each) for each in new if mended)


def test_quotes_inside_a_value_can_be_typed(tmp_path: Path) -> None:
    """The remedy for a setting (RC342) whose value has a quote or a backslash is read as that value."""
    case = (CASES / "check" / "RC342_unmet_setting.rig").read_text(encoding="utf-8")
    stock = (CASES / "stock.rig").read_text(encoding="utf-8")
    value = r"\"Remote\" \\ keys"
    assert stock.count('"Remote keys"') > 1
    (tmp_path / "stock.rig").write_text(stock.replace('"Remote keys"', f'"{value}"'), encoding="utf-8")
    path = tmp_path / "case.rig"
    text = case.replace('use "../stock.rig"', 'use "stock.rig"')
    path.write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    check_rig(path, diagnostics)
    (found,) = [one for one in diagnostics if one.code.id == "RC342"]
    assert found.hint == f'write `set protocol "{value}"` in its block'
    path.write_text(text.replace('set protocol "Off"', found.hint.split("`")[1]), encoding="utf-8")
    after = Diagnostics()
    check_rig(path, after)
    assert [one.code.id for one in after] == []
