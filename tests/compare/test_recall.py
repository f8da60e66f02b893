"""Recall: what a build says and prints after an earlier one, and what it refuses to be compared with."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest

from command import CLEAN, FAULTS, UNUSABLE, contents, rigcard
from revisions import CHANGES, GORGE_D, Edit, revised
from rigcard.compare.read_facts import FORM
from rigs import rig_text
from samples import ROOT

MOVED = rig_text(channels="channel 1 rec from a failsafe hold")
STOCK = ("--stock", str(ROOT / "samples"))


def words(path: Path) -> str:
    """Every word of a PDF."""
    document = pypdfium2.PdfDocument(path)
    return "\n".join(page.get_textpage().get_text_range() for page in document)


def gorge(folder: Path, *edits: Edit) -> None:
    """Write the sample with some words in place of others."""
    (folder / "gorge.rig").write_text(revised("gorge", edits), encoding="utf-8")


def built_before(folder: Path) -> dict[str, str]:
    """Build the sample and keep its rig.json as old.json; returns its cards with their check codes."""
    if not (folder / "stock").exists():
        (folder / "stock").symlink_to(ROOT / "samples" / "stock")
    gorge(folder)
    done = rigcard("build", "gorge.rig", *STOCK, at=folder)
    assert done.code == CLEAN, done.said
    (folder / "old.json").write_bytes((folder / "out" / "gorge" / "rig.json").read_bytes())
    data = json.loads((folder / "old.json").read_text(encoding="utf-8"))
    return {card["card"]: card["check"] for card in data["cards"]}


def line(said: str, start: str) -> str:
    """The one line of an output that begins so."""
    (found,) = (one for one in said.splitlines() if one.startswith(start))
    return found


# ---- what is printed -----------------------------------------------------------------------------------------


def test_nothing_changed_prints_nothing(tmp_path: Path) -> None:
    """No cards and no labels, not even those of the build before; the count of what stays."""
    cards = built_before(tmp_path)
    done = rigcard("build", "gorge.rig", *STOCK, "--changed-since", "old.json", at=tmp_path)

    assert (done.code, done.err) == (CLEAN, "")
    assert "no paper differs: there is nothing to print" in done.out
    assert line(done.out, "cards: ") == f"cards: still valid: {len(cards)}"
    assert {"cards.pdf", "labels.pdf"}.isdisjoint(contents(tmp_path / "out" / "gorge"))


def test_a_revision_that_does_not_touch_a_card_does_not_rename_it(tmp_path: Path) -> None:
    """Another letter, and a change at the bridge: the same marks; what is printed says which cards stay."""
    before = built_before(tmp_path)
    gorge(tmp_path, *GORGE_D, *CHANGES["subtrim"][1])
    done = rigcard("build", "gorge.rig", *STOCK, "--changed-since", "old.json", at=tmp_path)
    data = json.loads((tmp_path / "out" / "gorge" / "rig.json").read_text(encoding="utf-8"))
    after = {card["card"]: card["check"] for card in data["cards"]}

    assert done.code == CLEAN
    assert list(after) == list(before)
    kept = [mark for mark, code in after.items() if before[mark] == code]
    printed = words(tmp_path / "out" / "gorge" / "cards.pdf")
    assert kept
    assert "CHANGES" in printed
    assert "A card is valid if its check code is in this list" in " ".join(printed.split())
    assert "Collect and destroy all" not in printed
    for mark in kept:
        assert after[mark] in printed  # on the issue sheet
        assert f"check {after[mark]}" not in printed  # no such card is printed


def test_an_added_role_gets_its_copies(tmp_path: Path) -> None:
    """Cards for everybody that stay valid are printed too, and said to be one more copy."""
    built_before(tmp_path)
    gorge(tmp_path, *GORGE_D, *CHANGES["role"][1])
    done = rigcard("build", "gorge.rig", *STOCK, "--changed-since", "old.json", at=tmp_path)
    said = line(done.out, "cards: ")
    marks = said.partition("still valid, one more copy of each: ")[2].partition(";")[0].split(", ")
    printed = words(tmp_path / "out" / "gorge" / "cards.pdf")

    assert marks != [""]
    data = json.loads((tmp_path / "out" / "gorge" / "rig.json").read_text(encoding="utf-8"))
    codes = {card["card"]: card["check"] for card in data["cards"]}
    assert all(f"check {codes[mark]}" in printed for mark in marks)


def test_draft_is_no_card_to_keep(tmp_path: Path) -> None:
    """A question is answered: the cards with DRAFT across their face are changed, every one, and the lists too."""
    question = ("hazard overhead\n", 'open "Which lens?"\nhazard overhead\n')
    built_before(tmp_path)
    gorge(tmp_path, question)
    assert rigcard("build", "gorge.rig", *STOCK, at=tmp_path).code == CLEAN
    (tmp_path / "draft.json").write_bytes((tmp_path / "out" / "gorge" / "rig.json").read_bytes())
    gorge(tmp_path, *GORGE_D)
    done = rigcard("build", "gorge.rig", *STOCK, "--changed-since", "draft.json", at=tmp_path)

    assert line(done.out, "cards: ").endswith("still valid: 0")
    assert line(done.out, "lists and drawings: ").endswith("still valid: 0")


def test_lists_lids_drawings_and_labels_are_recalled(tmp_path: Path) -> None:
    """A heavier lens: the kit list and the lid of its case, and its own label."""
    built_before(tmp_path)
    gorge(tmp_path, *GORGE_D, *CHANGES["lens"][1])
    done = rigcard("build", "gorge.rig", *STOCK, "--changed-since", "old.json", at=tmp_path)

    assert line(done.out, "lists and drawings: ").startswith(
        "lists and drawings: changed, collect the old ones: Kit, Lid sheet: Case 3; still valid: "
    )
    assert line(done.out, "labels: changed").startswith(
        "labels: changed, collect the old ones: lens; still valid: "
    )


def test_the_same_is_told_to_programs(tmp_path: Path) -> None:
    """As notes: what a person reads below the names of the papers."""
    built_before(tmp_path)
    gorge(tmp_path, *GORGE_D, *CHANGES["lens"][1])
    asked = ("build", "gorge.rig", *STOCK, "--changed-since", "old.json")
    read = rigcard(*asked, at=tmp_path).out.splitlines()[1:]
    done = rigcard(*asked, "--message-format", "json", at=tmp_path)
    notes = json.loads(done.out)

    assert done.code == CLEAN
    assert [(note["code"], note["severity"], note["file"]) for note in notes] == [
        ("RC553", "note", "out/gorge")
    ] * len(read)
    assert [note["message"] for note in notes] == read
    strict = rigcard(*asked, "--message-format", "json", "--strict", at=tmp_path)
    assert strict.code == CLEAN


# ---- what is warned of and refused ---------------------------------------------------------------------------


def test_one_letter_for_two_is_warned_of(tmp_path: Path) -> None:
    """Values changed under revision C: RC552; under D, or unchanged, no word."""
    built_before(tmp_path)
    for edits, codes in (
        ((), []),
        ((*GORGE_D, *CHANGES["subtrim"][1]), []),
        (CHANGES["subtrim"][1], ["RC552"]),
    ):
        gorge(tmp_path, *edits)
        done = rigcard(
            "build", "gorge.rig", *STOCK, "--changed-since", "old.json", "--message-format", "json", at=tmp_path
        )
        found = json.loads(done.out)
        assert [one["code"] for one in found if one["severity"] != "note"] == codes


def test_another_rig_is_refused(tmp_path: Path) -> None:
    """RC551 with its remedy, and nothing is written."""
    built_before(tmp_path)
    (tmp_path / "mast.rig").write_text(revised("mast"), encoding="utf-8")
    done = rigcard("build", "mast.rig", *STOCK, "--changed-since", "old.json", at=tmp_path)

    assert done.code == FAULTS
    assert "RC551" in done.err and done.err.count("  do: ") == 1
    assert not (tmp_path / "out" / "mast").exists()


@pytest.mark.parametrize("form", [FORM + 1, *range(FORM), "2", 1.5, [2], True])
def test_an_earlier_rig_json_of_another_form_is_refused(tmp_path: Path, form: object) -> None:
    """Exit 2, one cause, one remedy; nothing is written. Without a form it is no rig.json."""
    (tmp_path / "first.rig").write_text(MOVED, encoding="utf-8")
    assert rigcard("build", "first.rig", at=tmp_path).code == CLEAN
    data = json.loads((tmp_path / "out" / "first" / "rig.json").read_text(encoding="utf-8"))
    (tmp_path / "old.json").write_text(json.dumps({**data, "schema": form}), encoding="utf-8")
    del data["schema"]
    (tmp_path / "none.json").write_text(json.dumps(data), encoding="utf-8")
    before = contents(tmp_path / "out" / "first")
    done = rigcard("build", "first.rig", "--changed-since", "old.json", at=tmp_path)

    assert done.code == UNUSABLE
    assert f"it has form {form}, and only form {FORM} says everything that is compared" in done.err
    assert done.err.count("  do: ") == 1
    assert contents(tmp_path / "out" / "first") == before
    done = rigcard("build", "first.rig", "--changed-since", "none.json", at=tmp_path)
    assert done.code == UNUSABLE
    assert "none.json is no rig.json" in done.err


@pytest.mark.parametrize("old", [b"rig {", b"%PDF-1.4\n%\x93\x8c", b"[" * 100_000], ids=["rig", "pdf", "deep"])
def test_an_earlier_file_that_is_no_json_is_refused(tmp_path: Path, old: bytes) -> None:
    """Exit 2 in the words of the trade: no place in bytes, no traceback."""
    (tmp_path / "first.rig").write_text(rig_text(), encoding="utf-8")
    (tmp_path / "old").write_bytes(old)
    done = rigcard("build", "first.rig", "--changed-since", "old", at=tmp_path)

    assert done.code == UNUSABLE
    assert done.err.startswith("rigcard: old is no rig.json that can be compared with: it is no JSON\n  do: ")


def test_what_to_collect_after_a_change_is_told(tmp_path: Path) -> None:
    """The memory moved: the handset's card is out of date, the receiver's is still valid."""
    (tmp_path / "first.rig").write_text(MOVED, encoding="utf-8")
    rigcard("build", "first.rig", at=tmp_path)
    (tmp_path / "old.json").write_bytes((tmp_path / "out" / "first" / "rig.json").read_bytes())
    text = MOVED.replace('memory 1 "PROOF"', 'memory 2 "PROOF"')
    (tmp_path / "first.rig").write_text(text, encoding="utf-8")
    done = rigcard("build", "first.rig", "--changed-since", "old.json", at=tmp_path)
    said = line(done.out, "cards: ").partition("; still valid: ")[0]

    assert said.startswith("cards: changed, collect the old ones: ")
    assert "HANDSET" in said
    assert "RECEIVER" not in said
