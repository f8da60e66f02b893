"""The language server, asked over its streams by the client of another library (pygls), its answers taken apart by
the protocol's own types (lsprotocol). Values are compared with what the other commands say."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types
from pygls.exceptions import JsonRpcException

from command import CLEAN, FAULTS, UNUSABLE, rigcard
from editor import Editor, applied, at, over
from rigcard.catalogue import all_codes, as_entry
from rigcard.diagnostics import Diagnostics
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig

pytest_plugins = ("editor",)


def file_of(location: types.Location) -> str:
    """The name of the file of a place."""
    return location.uri.rsplit("/", 1)[-1]


def labels(items: list[types.CompletionItem]) -> set[str]:
    """What a completion offers."""
    return {item.label for item in items}


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


# ---- hover -----------------------------------------------------------------------------------------------------


def shown_rows(hover: str) -> list[dict[str, str]]:
    """The table in a hover: values by the head of their column."""
    lines = hover.split("\n")
    head = next(line for line in lines if line.startswith("CONTROL"))
    columns = [(found.start(), found.group()) for found in re.finditer(r"\S+", head)]
    rows = []
    for line in lines[lines.index(head) + 1 :]:
        ends = [start for start, _ in columns[1:]] + [len(line) + 1]
        rows.append({name: line[start:end].strip() for (start, name), end in zip(columns, ends, strict=True)})
    return rows


def number(text: str) -> float:
    """The number that a cell begins with."""
    found = re.match(r"[-+−]?[\d.]+", text.replace("\u202f", "").replace("\u00a0", ""))
    assert found, text
    return float(found[0].replace("−", "-"))


@pytest.mark.parametrize("mark", ["channel 5 record", "from left-flip", "hs.left-flip"])
def test_hover_shows_what_show_computes(editor: Editor, job: Path, mark: str) -> None:
    """Level, pulse, level heard, state and margin at each position are those of `rigcard show --json`."""
    path = job / "gorge.rig"
    text = editor.open(path)
    shown = shown_rows(editor.hover(path, at(text, mark, len(mark) - 2)))
    run = rigcard("show", path, "record", "--json", at=job)
    told = json.loads(run.out)

    assert run.code == CLEAN
    assert len(shown) == len(told) == 2
    for mine, theirs in zip(shown, told, strict=True):
        assert mine["CONTROL"] == f"{theirs['control']} {theirs['position']}"
        assert number(mine["LEVEL"]) == pytest.approx(theirs["level_percent"], abs=0.06)
        assert number(mine["PULSE"]) == pytest.approx(theirs["pulse_us"], abs=0.6)
        assert number(mine["HEARD"]) == pytest.approx(theirs["heard_percent"], abs=0.06)
        assert mine["STATE"] == theirs["state"]
        assert number(mine["MARGIN"]) == pytest.approx(theirs["margin_percent"], abs=0.06)


def test_hover_on_a_position_an_input_and_a_claim(editor: Editor, job: Path) -> None:
    """Each shows its own rows: one of the position and of the claim, all of the input."""
    path = job / "gorge.rig"
    text = editor.open(path)
    claim = "expect hs.left-flip.toward"

    one = shown_rows(editor.hover(path, at(text, claim, len(claim) - 1)))
    same = shown_rows(editor.hover(path, at(text, claim, 2)))
    mode = shown_rows(editor.hover(path, at(text, "input mode", 7)))

    assert one == same and [row["STATE"] for row in one] == ["run"]
    assert [row["STATE"] for row in mode] == ["parked", "steady", "steer"]
    assert 'model camera-c "Cinema camera"' in editor.hover(path, at(text, "is camera-c", 4))


def test_hover_has_the_values_where_a_claim_fails(editor: Editor, job: Path) -> None:
    """The wrong level is what the person looks for: the same rows as in the right file, beside the error."""
    path = job / "gorge.rig"
    right = path.read_text()
    claim = "expect hs.top-rocker.away gives head.parked"
    assert claim in right
    wrong = right.replace(claim, claim.replace("head.parked", "head.steady"))
    editor.open(path, right)
    rows = shown_rows(editor.hover(path, at(right, "1 mode", 4)))
    editor.change(path, wrong)

    assert [row["STATE"] for row in rows] == ["parked", "steady", "steer"]
    editor.codes(path, ["RC411"])
    assert shown_rows(editor.hover(path, at(wrong, "1 mode", 4))) == rows


def test_hover_explains_messages_and_words(editor: Editor, job: Path) -> None:
    """On a fault the text of `explain`; on a word of the language a sentence of the reference."""
    path = job / "gorge.rig"
    text = path.read_text().replace("from top-rocker", "from top-rockr")
    editor.open(path, text)
    run = rigcard("explain", "RC201", at=job)

    assert run.out.strip() in editor.hover(path, at(text, "top-rockr", 3))
    assert "Values are computed once no error but of a claim is left." in editor.hover(
        path, at(text, "3 tools", 4)
    )
    assert "the unit that carries it" in editor.hover(path, at(text, "mounted on", 2))
    assert "how far each side goes" in editor.hover(path, at(text, "travel auto", 2))
    assert editor.hover(path, at(text, "outside diameter", 3)) == ""


# ---- definition, references, rename ------------------------------------------------------------------------------


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


def written(job: Path, edit: types.WorkspaceEdit) -> None:
    """Make the edits of a server in the files on the disk."""
    assert edit.changes
    for uri, edits in edit.changes.items():
        path = next(path for path in job.rglob("*.rig") if path.as_uri() == uri)
        path.write_text(applied(path.read_text(), list(edits)))


def data(path: Path) -> str:
    """The rig.json of a rig, which must have no fault."""
    diagnostics = Diagnostics()
    papers = build_rig(path, diagnostics, request=Request(only=("data",)))
    assert papers and list(diagnostics) == []
    return papers.files["rig.json"].decode()


@pytest.mark.parametrize(
    ("mark", "old"),
    [
        ("unit head", "head"),
        ("channel 5 record", "record"),
        ("from left-flip", "left-flip"),
        ("is handset-12", "handset-12"),
        ("set soft-1", "soft-1"),
        ("gives cam.standby", "standby"),
        ("cable S02", "S02"),
        ("rx.bus", "bus"),
        ("held by operator", "operator"),
        ("input horizon", "horizon"),
        ("gives head.steady", "steady"),
    ],
)
def test_rename_changes_nothing_but_the_name(editor: Editor, job: Path, mark: str, old: str) -> None:
    """All rigs of the folder stay clean, and rig.json is the same once the new name is put back."""
    path = job / "gorge.rig"
    text = editor.open(path)
    edit = editor.rename(path, at(text, mark, mark.index(old) + 1), f"{old}9")
    before = data(path)
    written(job, edit)

    for rig in job.glob("*.rig"):
        diagnostics = Diagnostics()
        assert check_rig(rig, diagnostics).solved and list(diagnostics) == []
    after = data(path)
    assert f"{old}9" in after + path.read_text()
    checked = r'"check_code": "[^"]*"|"digest": "[^"]*"'  # of the content, names included
    assert re.sub(checked, "", without_codes(after.replace(f"{old}9", old))) == re.sub(
        checked, "", without_codes(before)
    )


def without_codes(text: str) -> str:
    """rig.json without the keys of cards and labels, which are digests of what they show."""
    whole = json.loads(text)
    for key in ("cards", "labels"):
        whole.pop(key, None)
    return json.dumps(whole, sort_keys=True)


@pytest.mark.parametrize(
    ("mark", "inside", "new", "why"),
    [
        ("unit head", 6, "2nd", "is no name"),
        ("unit head", 6, "a b", "is no name"),
        ("unit head", 6, "cam", "there is a unit named `cam` already"),
        ("unit rx", 6, "length", "cannot be the name"),
        ("from pace", 6, "pan", "there is a channel named `pan` already"),
        ("rx.p5", 4, "pin", "one of a row"),
        ('"Head handset"', 4, "x", "no name stands here"),
        ("failsafe", 3, "x", "no name stands here"),
    ],
)
def test_rename_is_refused(editor: Editor, job: Path, mark: str, inside: int, new: str, why: str) -> None:
    """What is no name, is taken, or would read otherwise; with the reason."""
    path = job / "gorge.rig"
    text = editor.open(path)
    with pytest.raises(JsonRpcException, match=re.escape(why)) as refused:
        editor.rename(path, at(text, mark, inside), new)

    assert refused.value.code == types.LSPErrorCodes.RequestFailed.value
    assert refused.value.data is None


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
    ("measured hs.left-flip.away on ", "file", {"record", "pan"}, {"left-flip"}),
    ("hazard ", "file", {"overhead", "mains"}, {"rigging"}),
    ('use "stock/', "file", {"stock/radio.rig", "stock/heads.rig"}, {"first.rig"}),
    ("# expect hs.", "file", set(), {"left-flip"}),
]  # fmt: skip


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


# ---- code actions ------------------------------------------------------------------------------------------------

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
    assert '"pygls>=2.1,<3"' in (Path(__file__).parents[1] / "pyproject.toml").read_text(), "the same bounds"
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
