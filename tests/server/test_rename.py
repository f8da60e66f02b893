"""A name is changed everywhere and nothing else, or the change is refused."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from lsprotocol import types
from pygls.exceptions import JsonRpcException

from editor import WHOLE, Editor, applied, at, places
from rigcard.diagnostics import Diagnostics
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig

pytest_plugins = ("editor",)

# ---- definition, references, rename ------------------------------------------------------------------------------


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
    """rig.json without the keys of cards, sheets and labels, which are digests of what they show, and the words of the test card.

    A command with another name than `standby` ends no take, so the card says something else of it.
    """
    whole = json.loads(text)
    for key in ("cards", "labels", "sheets", "function_test"):
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
    assert len(wanted) == 4  # the stock file, rig-07, the mast and the arm
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
