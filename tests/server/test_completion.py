"""What an editor offers to write."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types

from editor import SAMPLE_FILES, WHOLE, Editor, applied, at, declared, kinds_of_words
from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from rigcard.syntax.parser import load

pytest_plugins = ("editor",)


def labels(items: list[types.CompletionItem]) -> set[str]:
    """What a completion offers."""
    return {item.label for item in items}


# ---- outline, completion -----------------------------------------------------------------------------------------


COMPLETIONS = [
    ("unit hs is ", "file", {"handset-12", "handset-6", "camera-c", "head-3"}, {"hs", "left-flip"}),
    ("channel 11 extra from ", "hs", {"left-flip", "left-dial"}, {"toward", "pan"}),
    ("channel 11 extra from left-dial ", "hs", {"travel", "subtrim", "reversed", "failsafe", "aims"}, {"memory", "from"}),
    ("channel 11 extra from left-flip aims ", "hs", {"away", "toward"}, {"centre"}),
    ("", "hs", {"channel", "mix", "held", "memory", "asset"}, {"length", "model", "handset-12"}),
    ("", "rig", {"job", "revision", "crew", "guard", "labels"}, {"channel"}),
    ("", "file", {"unit", "cable", "expect", "model", "use"}, {"job", "channel"}),
    ("bound to ", "rx", {"hs"}, {"head", "rx"}),
    ("mounted on ", "bridge", {"head", "cam"}, {"head-3"}),
    ("input ", "head", {"pan", "mode", "horizon"}, {"record"}),
    ("input pan from ", "head", {"pan", "record", "pace"}, {"left-flip", "parked"}),
    ("set ", "cam", {"socket", "soft-1"}, {"line-type"}),
    ('set socket "', "cam", {"Closed", "Orders"}, {"socket"}),
    ('set socket "Ord', "cam", {"Closed", "Orders"}, {"socket"}),
    ("", "S02", {"rx", "head", "length", "jacket"}, {"bus"}),
    ("rx.", "S02", {"p1", "p8", "bus"}, {"remote"}),
    ("rx.bus to head.", "S02", {"remote", "power"}, {"p1"}),
    ("expect ", "file", {"hs"}, {"cam", "left-flip"}),
    ("expect hs.", "file", {"left-flip", "left-dial"}, {"pan"}),
    ("expect hs.left-flip.", "file", {"away", "toward"}, {"centre", "middle"}),
    ("expect hs.left-dial.", "file", {"left", "right", "centre"}, {"away"}),
    ("expect hs.left-flip.away ", "file", {"gives"}, {"away"}),
    ("expect hs.left-flip.away gives cam.", "file", {"standby", "run", "soft-1"}, {"steady"}),
    ("expect hs.left-along.away gives cam.iris.", "file", {"open", "closed"}, {"left"}),
    ("expect hs.left-flip.away gives cam.run while ", "file", {"left-dial"}, {"pan"}),
    ("expect hs.left-flip.away gives cam.run while hs.", "file", {"left-dial"}, {"pan"}),
    ("expect hs.left-flip.away gives cam.run while hs.top-rocker ", "file", {"middle", "toward"}, {"centre"}),
    ("measured hs.left-flip.away on ", "file", {"record", "pan"}, {"left-flip"}),
    ("hazard ", "file", {"overhead", "mains"}, {"rigging"}),
    ('use "stock/', "file", {"stock/radio.rig", "stock/heads.rig"}, {"first.rig"}),
    ("# expect hs.", "file", set(), {"left-flip"}),
]  # fmt: skip


def test_completion_of_a_reading(editor: Editor, job: Path) -> None:
    """Words and names of the lines that describe a handset by measuring; the names are those of its model."""
    path = job / "gorge.rig"
    whole = editor.open(path)
    head = 'model mine "Mine" {\n  role handset\n  switch flip "Flip" off, on\n  dial wheel "Wheel" left to right\n  '
    for typed, wanted, unwanted in (
        ("reverse ", {"before", "after", "unknown"}, {"flip"}),
        ("pulse ", {"unknown"}, {"flip"}),
        ("subtrim -9..9 steps, 9 steps = 9%, shifts ", {"whole", "centre", "unknown"}, {"flip"}),
        ("reading subtrim 9 ", {"reversed", "at"}, {"travel", "flip"}),
        ("reading subtrim 9 at ", {"flip", "wheel"}, {"pan", "left-flip"}),
        ("reading reversed at flip.", {"off", "on"}, {"left"}),
        ("reading at flip.on mix 50% of ", {"wheel"}, {"pan"}),
        ("reading at flip.on mix 50% of wheel.", {"left", "right", "centre"}, {"on"}),
        ("reading at flip.on is 1500us ", {"within"}, {"of"}),
    ):
        text = f"{whole}\n{head}{typed}\n}}\n"
        editor.change(path, text)
        offered = labels(editor.completion(path, at(f"{whole}\n{head}{typed}\0", "\0")))
        assert wanted <= offered, (typed, wanted - offered)
        assert not unwanted & offered, (typed, unwanted & offered)


def test_completion_of_an_edge(editor: Editor, job: Path) -> None:
    """The states of the input in which a reading stands, unknown bands among them."""
    path = job / "gorge.rig"
    whole = editor.open(path)
    head = 'model mine "Mine" {\n  role adapter\n  port one in servo\n  input keys on one "K" {\n    low unknown\n    high 10%..90%\n    '
    for typed, wanted, unwanted in (
        ("reading ", {"raised", "lowered", "turns"}, {"travel"}),
        ("reading raised to ", {"low", "high"}, {"pan"}),
        ("reading lowered to low ", {"at"}, {"is"}),
    ):
        text = f"{whole}\n{head}{typed}\n  }}\n}}\n"
        editor.change(path, text)
        offered = labels(editor.completion(path, at(f"{whole}\n{head}{typed}\0", "\0")))
        assert wanted <= offered, (typed, wanted - offered)
        assert not unwanted & offered, (typed, unwanted & offered)


def test_completion(editor: Editor, job: Path) -> None:
    """Names of the right kind, and the words that the grammar allows; with a half-written word as without."""
    path = job / "gorge.rig"
    whole = editor.open(path)
    openings = {
        name: re.search(rf"^(?:unit|cable) +{name}\b[^{{]*{{", whole, re.M)
        for name in ("hs", "rx", "bridge", "head", "cam", "S02")
    }
    for typed, block, wanted, unwanted in COMPLETIONS:
        opening = openings.get(block) or re.search(r"^rig [^{]*{", whole, re.M)
        assert opening
        start = len(whole) if block == "file" else opening.end()
        for begun in ("", "zz"):
            text = f"{whole[:start]}\n{typed}{begun}\n{whole[start:]}"
            editor.change(path, text)
            place = at(text[: start + 1 + len(typed + begun)] + "\0", "\0")
            items = editor.completion(path, place)
            assert wanted <= labels(items), (typed, wanted - labels(items))
            assert not unwanted & labels(items), typed
            for item in items:
                edit = item.text_edit
                assert isinstance(edit, types.TextEdit) and edit.range.end == place
                assert edit.new_text == item.label


def test_what_completion_offers_can_be_written(editor: Editor, job: Path) -> None:
    """Each name that is offered after `from` makes a statement that the compiler reads."""
    path = job / "gorge.rig"
    whole = editor.open(path)
    text = whole.replace("from left-dial ", "from  ")
    editor.change(path, text)
    place = at(text, "pace from ", len("pace from "))
    items = [item for item in editor.completion(path, place) if item.label]
    assert len(items) == len(
        re.findall(
            r"^\s+(?:stick|slider|dial|switch) ", (job / "stock/radio.rig").read_text().split("}")[0], re.M
        )
    )
    for item in items:
        assert isinstance(item.text_edit, types.TextEdit)
        path.write_text(applied(text, [item.text_edit]))
        diagnostics = Diagnostics()
        check_rig(path, diagnostics)
        assert all(found.code.id[2] not in "12" for found in diagnostics), item.label


# ---- at every word of the samples ------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("name", SAMPLE_FILES)
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
