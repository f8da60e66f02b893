"""The outline of a file in an editor."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types

from editor import Editor, at, over

pytest_plugins = ("editor",)

# ---- outline, completion -----------------------------------------------------------------------------------------


def test_symbols(editor: Editor, job: Path) -> None:
    """The outline has every statement with a name, and each place lies in that of its statement."""
    path = job / "gorge.rig"
    text = editor.open(path)
    found = editor.symbols(path)

    assert [symbol.name for symbol in found[1:]] == re.findall(r"^(?:unit|cable) +([\w-]+)", text, re.M)
    hs = next(symbol for symbol in found if symbol.name == "hs")
    assert [inner.name for inner in hs.children or []] == re.findall(r"channel \d+ +([\w-]+)", text)
    assert hs.range.start == at(text, "unit hs")
    assert hs.range.end == at(text, "three tools of each\n}", len("three tools of each\n}"))
    for symbol in [*found, *(hs.children or [])]:
        inner, outer = symbol.selection_range, symbol.range
        assert (outer.start.line, outer.start.character) <= (inner.start.line, inner.start.character)
        assert (inner.end.line, inner.end.character) <= (outer.end.line, outer.end.character)


def test_a_broken_file_still_has_names(editor: Editor, job: Path) -> None:
    """A statement that cannot be read costs only itself."""
    path = job / "gorge.rig"
    text = path.read_text().replace("memory 4", "memory = 4").replace("cable P01 ", "cable ")
    editor.open(path, text)
    assert {mine.code for mine in editor.diagnostics(path)} == {"RC101"}

    names = [symbol.name for symbol in editor.symbols(path)]
    assert "hs" in names and "P02" in names and "P01" not in names
    (place,) = editor.definition(path, at(text, "bound to hs", 10))
    assert place.range == over(text, "hs", 1) or place.range.start == at(text, "unit hs", 5)


# ---- at every word of the samples ------------------------------------------------------------------------------


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
