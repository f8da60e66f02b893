"""`rigcard compare` as a command: either kind of side, the change card, and what cannot be compared."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from command import CLEAN, FAULTS, UNUSABLE, contents, rigcard
from revisions import CHANGES, GORGE_D, revised
from samples import ROOT

OF_LINES = re.compile(r" Lines? [\d, and]+ of the function test shows? what the whole test would\.")
STOCK = ("--stock", str(ROOT / "samples"))


@pytest.fixture
def season(tmp_path: Path) -> Path:
    """A folder with revision C and D of a sample, and the rig.json of both."""
    (tmp_path / "stock").symlink_to(ROOT / "samples" / "stock")
    for name, edits in (("c", ()), ("d", (*GORGE_D, *CHANGES["subtrim"][1]))):
        (tmp_path / f"{name}.rig").write_text(revised("gorge", edits), encoding="utf-8")
        done = rigcard("build", f"{name}.rig", "--only", "data", *STOCK, at=tmp_path)
        assert done.code == CLEAN, done.said
    return tmp_path


def test_either_kind_of_side_says_the_same(season: Path) -> None:
    """Rig file or rig.json, in each of four ways; only a rig file tells which lines to test. The same twice: nothing."""
    files, read = ("c.rig", "d.rig"), ("out/c/rig.json", "out/d/rig.json")
    said = {
        OF_LINES.sub("", rigcard("compare", old, new, *STOCK, at=season).out)
        for old in (files[0], read[0])
        for new in (files[1], read[1])
    }

    assert len(said) == 1
    assert "7.5 µs nearer to its edge" in said.pop()
    for name in (*files, *read):
        done = rigcard("compare", name, name, *STOCK, at=season)
        assert (done.code, done.out, done.err) == (CLEAN, "Nothing changed.\n", "")


def test_as_json(season: Path) -> None:
    """What a program reads: effects with values, work, papers, people."""
    done = rigcard("compare", "c.rig", "d.rig", "--message-format", "json", *STOCK, at=season)
    data = json.loads(done.out)

    assert done.code == CLEAN
    assert {entry["kind"] for entry in data["effects"]} == {"margins"}
    (dial,) = (entry for entry in data["actions"] if entry["kind"] == "dial")
    assert (dial["was"]["subtrim"], dial["now"]["subtrim"]) == (0, 10)
    assert {paper["state"] for paper in data["papers"]} == {"valid", "changed"}
    assert (data["old"]["revision"], data["new"]["revision"]) == ("C", "D")


def test_the_change_card(season: Path) -> None:
    """A PDF of cards: what to do with a box to tick, what is different, which cards stay."""
    done = rigcard("compare", "out/c/rig.json", "d.rig", "-o", "made/change.pdf", *STOCK, at=season)
    document = pypdfium2.PdfDocument(season / "made" / "change.pdf")
    words = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)

    assert done.code == CLEAN
    for text in (
        "CHANGES 1",
        "TECHNICIAN",
        "sub-trim 10 steps, was sub-trim 0 steps",
        "nearer to their edges",
        "VALID",
    ):
        assert text in words


def test_the_change_card_in_another_language(season: Path) -> None:
    """The fixed words of the new side's papers; the screen stays English."""
    text = (
        (season / "d.rig")
        .read_text(encoding="utf-8")
        .replace("  paper       a4", "  paper       a4\n  language de")
    )
    (season / "e.rig").write_text(text, encoding="utf-8")
    done = rigcard("compare", "c.rig", "e.rig", "-o", "change.pdf", *STOCK, at=season)
    document = pypdfium2.PdfDocument(season / "change.pdf")
    words = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)

    assert "nearer to its edge" in done.out
    assert "näher an der Grenze" in words
    assert "ÄNDERUNGEN" in words
    assert "nearer" not in words


@pytest.mark.parametrize("place", ["c.rig", "d.rig", "other.rig", "out/c/rig.json"])
def test_the_change_card_replaces_no_rig(season: Path, place: str) -> None:
    """Neither side, nor any file that is no PDF; nothing is said of the comparison then."""
    before = contents(season)
    done = rigcard("compare", "c.rig", "d.rig", "-o", place, *STOCK, at=season)

    assert (done.code, done.out) == (UNUSABLE, "")
    assert "RC513" in done.err and done.err.count("  do: ") == 1
    assert contents(season) == before


def test_a_change_card_needs_the_rig_file(season: Path) -> None:
    """A rig.json does not hold the papers' typeface and paper."""
    done = rigcard("compare", "c.rig", "out/d/rig.json", "-o", "change.pdf", *STOCK, at=season)

    assert done.code == UNUSABLE
    assert "give the rig file as NEW" in done.err
    assert not (season / "change.pdf").exists()


def test_a_letter_for_two_and_another_rig(season: Path) -> None:
    """RC552 warns and the comparison is said; RC551 refuses."""
    (season / "same.rig").write_text(revised("gorge", CHANGES["subtrim"][1]), encoding="utf-8")
    (season / "mast.rig").write_text(revised("mast"), encoding="utf-8")
    warned = rigcard("compare", "c.rig", "same.rig", *STOCK, at=season)
    refused = rigcard("compare", "out/c/rig.json", "mast.rig", *STOCK, at=season)

    assert warned.code == CLEAN
    assert warned.err.startswith("same.rig:3:5: warning[RC552]")
    assert "nearer to its edge" in warned.out
    assert refused.code == UNUSABLE
    assert refused.err.startswith("mast.rig: error[RC551]")
    assert refused.out == ""


def test_a_side_with_an_error_is_not_compared(season: Path) -> None:
    """Its messages are those of `check`, and nothing is compared."""
    text = (season / "d.rig").read_text(encoding="utf-8").replace("gives cam.run", "gives cam.runs")
    (season / "e.rig").write_text(text, encoding="utf-8")
    done = rigcard("compare", "c.rig", "e.rig", *STOCK, at=season)

    assert (done.code, done.out) == (FAULTS, "")
    assert "e.rig:" in done.err


@pytest.mark.parametrize(
    ("name", "content", "cause"),
    [
        ("junk.json", b"\x00\xff{", "it is no JSON"),
        ("list.json", b"[1, 2]", "it is no rig.json"),
        ("empty.json", b"{}", "it is no rig.json"),
        ("deep.json", b"[" * 100_000, "it is no JSON"),
        ("form.json", b'{"schema": 3}', "it has form 3, and only form 4"),
        ("bare.json", b'{"schema": 4}', "it is damaged: `rig.json` lacks"),
        ("no-ending", b' {"schema": 4}', "it is damaged: `rig.json` lacks"),
    ],
)
def test_what_is_no_side(season: Path, name: str, content: bytes, cause: str) -> None:
    """RC550 with one remedy, whichever side it is; exit 2."""
    (season / name).write_bytes(content)
    for sides in ((name, "d.rig"), ("c.rig", name)):
        done = rigcard("compare", *sides, *STOCK, at=season)
        assert (done.code, done.out) == (UNUSABLE, "")
        assert "error[RC550]" in done.err and cause in done.err
        assert done.err.count("  do: ") == 1


def test_a_file_that_is_not_there(season: Path) -> None:
    """A rig file as `check` says it, a rig.json as RC550; a folder is neither."""
    for name, code in (("none.rig", "RC1"), ("none.json", "RC550"), ("out", "RC1")):
        done = rigcard("compare", name, "d.rig", *STOCK, at=season)
        assert done.code == UNUSABLE
        assert f"[{code}" in done.err


def damaged(value: Any, path: tuple[object, ...] = ()) -> list[tuple[object, ...]]:
    """The places of every value, of lists the first entry only."""
    found = [path]
    if isinstance(value, dict):
        found += [place for key, inner in value.items() for place in damaged(inner, (*path, key))]
    elif isinstance(value, list) and value:
        found += damaged(value[0], (*path, 0))
    return found


def test_a_damaged_rig_json_never_gives_a_traceback(season: Path) -> None:
    """Each value in turn of another kind: RC550, or a comparison where nothing of it is compared."""
    from rigcard.compare.compare import Side, compare
    from rigcard.compare.read_facts import UnreadableError, facts_of
    from rigcard.exports.compare_text import as_json, as_text

    text = (season / "out" / "c" / "rig.json").read_text(encoding="utf-8")
    sound = facts_of(json.loads(text))
    refused = 0
    for path in damaged(json.loads(text))[1:]:
        for wrong in (None, 7, "x", [], {}, [7], True, 1e999):
            data = json.loads(text)
            holder = data
            for key in path[:-1]:
                holder = holder[key]
            holder[path[-1]] = wrong
            try:
                facts = facts_of(data)
            except UnreadableError:
                refused += 1
                continue
            found = compare(Side(sound), Side(facts))
            assert as_text(found) and as_json(found)
    assert refused > 500
