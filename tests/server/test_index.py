"""Names of every kind, found everywhere in an editor."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types

from editor import Editor, applied, at, places
from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig

pytest_plugins = ("editor",)


def file_of(location: types.Location) -> str:
    """The name of the file of a place."""
    return location.uri.rsplit("/", 1)[-1]


@pytest.mark.parametrize(
    ("mark", "name", "file", "declared"),
    [
        ("is handset-12", "handset-12", "radio.rig", "model handset-12"),
        ("from left-flip", "left-flip", "radio.rig", "switch left-flip"),
        ("bound to hs", "hs", "gorge.rig", "unit hs"),
        ("head.remote", "remote", "heads.rig", "port remote"),
        ("rx.p5", "p5", "radio.rig", "port p1"),
        ("set soft-1", "soft-1", "camera.rig", "setting soft-1"),
        ("input pan-speed", "pan-speed", "heads.rig", "input pan-speed"),
        ("mix tool-pick", "tool-pick", "gorge.rig", "channel 10 tool-pick"),
        ("gives cam.standby", "standby", "camera.rig", "command standby"),
        ("gives head.steady", "steady", "heads.rig", None),
        ("held by operator", "operator", "gorge.rig", "crew operator"),
        ('use "stock/radio.rig"', "radio", "radio.rig", ""),
    ],
)  # fmt: skip
def test_definition(editor: Editor, job: Path, mark: str, name: str, file: str, declared: str | None) -> None:
    """From a use of a name to the line that declares it, in the file that does."""
    path = job / "gorge.rig"
    text = editor.open(path)
    found = editor.definition(path, at(text, mark, mark.index(name) + 1))

    assert found, mark
    assert file_of(found[0]) == file
    where = next(job.rglob(file)).read_text()
    line = where.split("\n")[found[0].range.start.line]
    assert declared is None or declared in line
    assert declared == "" or line[found[0].range.start.character :].startswith(name if name != "p5" else "p1")


def test_references_are_counted(editor: Editor, job: Path) -> None:
    """As many as a search for the word finds, and in every rig of the folder that shares a stock file."""
    path = job / "gorge.rig"
    text = editor.open(path)
    code = re.sub(r'"[^"\n]*"|#[^\n]*', "", text)

    head = editor.references(path, at(text, "unit head", 6))
    assert len(head) == len(re.findall(r"(?<![\w.-])head(?![\w-])", code)) > 10
    assert len(editor.references(path, at(text, "unit head", 6), declaration=False)) == len(head) - 1

    stock = job / "stock" / "radio.rig"
    radio = editor.open(stock)
    model = editor.references(stock, at(radio, "model handset-12", 8))
    assert {file_of(place) for place in model} == {"radio.rig", "first.rig", "gorge.rig", "mast.rig"}
    texts = [re.sub(r'"[^"\n]*"|#[^\n]*', "", rig.read_text()) for rig in job.rglob("*.rig")]
    assert len(model) == sum(len(re.findall(r"(?<![\w.-])handset-12(?![\w-])", text)) for text in texts)


NAMES = sorted(set(re.findall(r"[a-z]\S+", """
  strips line feed plug-a plug-b hand across left soft flip upper spare-dial ears trunk nodder entry mains-in yaw west
  east gear slowly quickly dialect brick tap-1 hs puller sweep speed sway rx head pack lower trunk-1 fader winch slot
  grip gripped drum hs-b rx-b hold-on loose lead-2
""")))  # fmt: skip


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
