"""Names of every kind in an editor: found everywhere, renamed or refused, with the values that go through them."""

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

from editor import Editor, applied, at, places
from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from test_editing import GOODBYE, HELLO, HOVER, OPEN, message

pytest_plugins = ("editor",)

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
unit hs-b is hand "Grip handset" { memory 1 "B"; channel 1 hold-on from flip failsafe hold }
unit rx-b is ears "Grip receiver" { bound to hs-b }
unit drum is winch "Winch"
cable lead-2 "Grip" { rx-b.q1 to drum.slot; length 500mm; jacket 3mm }
independent head.yaw, drum.grip
expect hs.across.left gives head.yaw.east
expect hs.flip.upper gives head.slowly
expect hs.fader.hard gives head.yaw.west while flip lower
measured hs.across.right on sweep is 1900us
"""
NAMES = sorted(set(re.findall(r"[a-z]\S+", """
  strips line feed plug-a plug-b hand across left soft flip upper spare-dial ears trunk nodder entry mains-in yaw west
  east gear slowly quickly dialect brick tap-1 hs puller sweep speed sway rx head pack lower trunk-1 fader winch slot
  grip gripped drum hs-b rx-b hold-on loose lead-2
""")))  # fmt: skip


@pytest.fixture
def whole(session: Editor, request: pytest.FixtureRequest) -> Path:
    """The rig in a folder of its own."""
    folder = session.folder / re.sub(r"\W", "-", request.node.name)
    folder.mkdir()
    path = folder / "whole.rig"
    path.write_text(WHOLE)
    return path


def count_of(text: str) -> str:
    """A text of the same length, blank where words and comments stand, and where a word of the language is."""
    blank = re.sub(r'"[^"\n]*"|#[^\n]*', lambda found: " " * len(found[0]), text)
    fixed = r"role \w+|shifts whole|(?<=reverse before )subtrim|(?<=mix before )travel|carries power"
    return re.sub(fixed, lambda found: " " * len(found[0]), blank)


@pytest.mark.parametrize("name", NAMES)
def test_each_name_is_found_everywhere(editor: Editor, whole: Path, name: str) -> None:
    """From any of its places the same places are found: each that a search for the word finds; and it is renamed."""
    text = editor.open(whole)
    found = [start.start() for start in re.finditer(rf"(?<![\w-]){name}(?![\w-])", count_of(text))]
    spots = {(text.count("\n", 0, start), start - text.rfind("\n", 0, start) - 1) for start in found}
    for line, column in sorted(spots):
        asked = editor.references(whole, types.Position(line, column + 1))
        assert {(line, column) for _, line, column in places(asked)} == spots

    line, column = min(spots)
    edit = editor.rename(whole, types.Position(line, column), f"{name}-x")
    assert edit.changes and len(edit.changes[whole.as_uri()]) == len(found)
    whole.write_text(applied(text, list(edit.changes[whole.as_uri()])))
    assert list(judged(whole)) == []


def judged(path: Path) -> Diagnostics:
    """What `check` says."""
    diagnostics = Diagnostics()
    check_rig(path, diagnostics)
    return diagnostics


def test_a_name_is_asked_for_before_it_is_changed(editor: Editor, whole: Path) -> None:
    """The place and the present name; or why it cannot be changed. The same name again changes nothing."""
    text = editor.open(whole)
    ask = editor.client.text_document_prepare_rename_async
    place = at(text, "bound to hs", 10)
    found = editor.wait(ask(types.PrepareRenameParams(editor.file(whole), place)))

    assert isinstance(found, types.PrepareRenamePlaceholder)
    assert found.placeholder == "hs"
    assert found.range.start == at(text, "bound to hs", 9)
    edit = editor.rename(whole, place, "hs")
    assert edit.changes and applied(text, list(edit.changes[whole.as_uri()])) == text
    for mark, inside, why in (
        ("out servo", 5, "`servo` is declared in no file of the rig"),
        ("carries 16", 2, "no name stands here"),
    ):
        with pytest.raises(JsonRpcException, match=re.escape(why)):
            editor.wait(ask(types.PrepareRenameParams(editor.file(whole), at(text, mark, inside))))


def test_two_names_do_not_become_one(editor: Editor, whole: Path) -> None:
    """A state by the name of a state of another input would be meant by the claim as well."""
    text = WHOLE.replace("west to east", "slow-1 to east")
    editor.open(whole, text)
    with pytest.raises(JsonRpcException, match=r"`slowly` (is the name of something else|cannot be the name)"):
        editor.rename(whole, at(text, "slow-1", 2), "slowly")


def test_values_through_every_kind_of_name(editor: Editor, job: Path) -> None:
    """A state, a command, a port and a row of ports have the rows of the paths through them; the rest is counted."""
    gorge = job / "gorge.rig"
    text = editor.open(gorge)
    heads, camera, radio = (job / "stock" / f"{name}.rig" for name in ("heads", "camera", "radio"))

    state = editor.hover(heads, at(heads.read_text(), "steady -", 2))
    assert "mode" in state and "steady" in state and "steer" not in state.split("CONTROL")[1]
    command = editor.hover(camera, at(camera.read_text(), "command standby, run", 9))
    assert len([line for line in command.split("\n") if line.startswith("left-flip away")]) == 1
    pin = editor.hover(gorge, at(text, "rx.p5", 4))
    assert "record" in pin and "tools" not in pin
    bus = editor.hover(gorge, at(text, "rx.bus", 4))
    assert bus.count("\n") <= 100
    cable = editor.hover(gorge, at(text, "cable S01", 7))
    assert {"record", "iris", "tools"} <= set(re.findall(r"\w+", cable))
    use = editor.hover(radio, at(radio.read_text(), "port bus", 6))
    assert "record" in use or "pan" in use


def test_more_values_than_can_be_read(editor: Editor, whole: Path) -> None:
    """Twelve switches of six positions on one line: sixty rows, the count of the others, and what shows all."""
    places = ", ".join(f"at-{number}" for number in range(6))
    text = WHOLE
    for number in range(4, 16):
        text = text.replace("  dial spare-dial", f'  switch s{number} "S" {places}\n  dial spare-dial')
        text = text.replace("  leave", f"  channel {number} c{number} from s{number} failsafe hold\n  leave")
        text = text.replace("  input gear", f'  input i{number} on entry "I" {{ sweeps a to b }}\n  input gear')
        text = text.replace("; set dialect", f"; input i{number} from c{number}; set dialect")
    editor.open(whole, text.replace("channels 8", "channels 16"))
    text = text.replace("channels 8", "channels 16")
    shown = editor.hover(whole, at(text, "rx.trunk", 4)).split("\n")

    rows = shown[next(n for n, line in enumerate(shown) if line.startswith("CONTROL")) + 1 :]
    assert len(rows) == 61
    more = re.fullmatch(r"and (\d+) more: rigcard show", rows[-1])
    assert more and int(more[1]) >= 12


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


@pytest.mark.parametrize(
    "half",
    [
        "expect hs\n",
        "expect hs.across gives head\n",
        "port z9..a1 out servo\n",
        "hazard overhead",
        'unit z is brick "Z"',
    ],
)
def test_half_a_statement(editor: Editor, whole: Path, half: str) -> None:
    """What is not finished, at the end of the file or in a block, hides no other name and stops no request."""
    text = (
        WHOLE.replace("  leave spare-dial", f"  leave spare-dial\n{half}") if "port" in half else WHOLE + half
    )
    text = (
        text.replace("port q1..q4 out servo", f"{half.strip()}; port q1..q4 out servo")
        if "port" in half
        else text
    )
    editor.open(whole, text)
    editor.diagnostics(whole)

    assert "lead-1" in {symbol.name for symbol in editor.symbols(whole)}
    assert len(editor.references(whole, at(text, "unit head", 6))) >= 7
    assert all(
        (symbol.range.end.line, symbol.range.end.character) <= (text.count("\n"), 200)
        for symbol in editor.symbols(whole)
    )


def test_nothing_is_offered_where_nothing_is_known(editor: Editor, job: Path) -> None:
    """A folder that is not there, a setting without choices, and a block with more faults than are passed over."""
    path = job / "gorge.rig"
    whole = editor.open(path)
    for block, typed in (("", 'use "nowhere/'), ("unit cam ", '  set soft-1 "')):
        start = whole.index("\n", whole.index(block + "is")) + 1 if block else len(whole)
        text = f"{whole[:start]}{typed}\n{whole[start:]}"
        editor.change(path, text)
        assert editor.completion(path, at(text, typed, len(typed))) == []
    start = whole.index("\n", whole.index("unit hs")) + 1
    text = f"{whole[:start]}{'  memry 1' + chr(10)}" * 1 + "  memry 2\n" * 25 + "  \n" + whole[start:]
    editor.change(path, text)
    assert editor.completion(path, at(text, "  \n", 2)) == []


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
