"""Each hazard's line stands on every card where it must, pinned, under the signal word of the published standard.

Signal words: ANSI Z535.4-2007, tests/reference/signal_words.csv. Which line belongs on which card: common practice,
no source.
"""

from __future__ import annotations

import csv
import re
from functools import cache
from io import BytesIO, StringIO
from pathlib import Path

import pypdf
import pytest

from cardlines import group_words, kind, sample, squeezed
from papers import SamplePapers, card_texts
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Text
from rigcard.documents.cards import cautions
from rigcard.documents.cards.card_set import card_document, card_groups, card_pack
from rigcard.documents.cards.frame import LaidGroup, leaves_of
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.words import HAZARDS
from rigcard.solve.solved import Solved
from samples import ROOT

pytest_plugins = ("papers",)

FACE = EmbeddedTypeface()
MUST = {  # kinds of cards that a person holds while the danger is there; set-up cards: see below
    "moving-parts": ("BRIEF", "POWER UP", "POWER DOWN", "OPERATOR", "TEST", "FAULTS"),
    "overhead": ("BRIEF", "POWER UP", "POWER DOWN", "TEST"),
    "airborne": ("BRIEF", "POWER UP", "POWER DOWN", "OPERATOR", "TEST"),
    "vehicle": ("BRIEF", "POWER UP", "OPERATOR", "TEST"),
    "lithium": ("POWER DOWN", "POWER"),  # with the battery swap, and with the packs
    "water": ("BRIEF", "POWER UP"),
    "mains": ("POWER UP", "POWER DOWN", "POWER", "FAULTS"),  # whoever touches mains, and nobody else
    "public": ("BRIEF", "POWER UP", "OPERATOR", "TEST"),
}
PINNED = ("POWER",)  # at the foot of the first side; on the others above its step
ABOVE = {  # the step that each caution belongs to, on the gorge sample: common practice, no source
    "POWER UP": {
        "moving-parts": "Plug P01",  # the head wakes
        "overhead": "Fit the secondary retention",
        "airborne": "Clear everybody",
        "vehicle": "Clear everybody",
        "public": "Clear everybody",
        "water": "Plug P02",  # the first plug
        "mains": "Plug P02",
    },
    "POWER DOWN": {
        "moving-parts": "Unplug P01",
        "overhead": "Bring the head within reach",
        "airborne": "POWER GOING OFF",
        "mains": "Unplug P02",
    },
    "TEST": {
        "moving-parts": "Top rocker MIDDLE",  # the mode of the head: the first that can harm
        "overhead": "Read the memory",
        "airborne": "Read the memory",
        "vehicle": "Read the memory",
        "public": "Read the memory",
    },
    "FAULTS": {"moving-parts": "Then answer", "mains": "Then answer"},
}


@cache
def with_hazard(hazard: str, folder: Path, of_unit: bool) -> Solved:
    """A gorge rig with this hazard alone: of the rig, or of a thing on its head."""
    text = (ROOT / "samples" / "gorge.rig").read_text(encoding="utf-8")
    text = text.replace('use "stock', f'use "{folder}').replace("hazard overhead\n", "")
    text = text.replace("hazard water\n", "" if of_unit else f"hazard {hazard}\n")
    if of_unit:
        text += f'model odd "Odd thing" {{ role other; mass 1g; hazard {hazard} }}\n'
        text += 'unit odd is odd "Odd thing" { mounted on head }\n'
    path = folder.parent / f"{hazard}-{of_unit}.rig"
    path.write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics).solved
    assert solved is not None, list(diagnostics)
    return solved


@pytest.fixture(scope="module")
def stock(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The stock of the samples without any hazard of its own."""
    folder = tmp_path_factory.mktemp("hazards") / "stock"
    folder.mkdir()
    for path in (ROOT / "samples" / "stock").iterdir():
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        kept = [line for line in lines if not line.lstrip().startswith("hazard")]
        (folder / path.name).write_text("".join(kept), encoding="utf-8")
    return folder


def sides(solved: Solved, found: LaidGroup) -> list[str]:
    """What stands on each side of a group, without spaces."""
    if found.group.full_sheet:
        return [squeezed(group_words(found))]
    return [
        squeezed("".join(mark.text for mark in side if isinstance(mark, Text)))
        for leaf in leaves_of(FACE, solved.rig, [found])
        for side in leaf.sides
        if side
    ]


def first_card(solved: Solved, found: LaidGroup) -> str:
    """What stands on the first side of a group, without spaces."""
    return sides(solved, found)[0]


@pytest.mark.parametrize("of_unit", [False, True], ids=["rig", "unit"])
@pytest.mark.parametrize("hazard", HAZARDS)
def test_a_line_stands_on_the_cards_where_it_must(stock: Path, hazard: str, of_unit: bool) -> None:
    """On each such group under WARNING, on its first side where it is pinned; on no card of another kind; and in the
    printed pack."""
    solved = with_hazard(hazard, stock, of_unit)
    pack = card_pack(FACE, solved)
    line = squeezed(cautions.LINES[hazard].text)
    assert {*MUST[hazard]} <= {kind(found.group) for found in pack}
    for found in pack:
        if kind(found.group) == "SET-UP":
            continue
        having = [text for text in sides(solved, found) if line in text]
        if kind(found.group) in MUST[hazard]:
            assert having, found.group.title
            assert all("WARNING" in text for text in having)
            assert kind(found.group) not in PINNED or line in first_card(solved, found)
        elif kind(found.group) != "POWER":  # which is the set-up card of small devices, too: see below
            assert not having, found.group.title
    printed = "".join(
        mark.text
        for page in card_document(FACE, solved, pack=pack).pages
        for mark in page.marks
        if isinstance(mark, Text)
    )
    assert squeezed(printed).count(line) >= len(MUST[hazard])


@pytest.mark.parametrize("hazard", HAZARDS)
def test_a_caution_stands_directly_above_its_step(stock: Path, hazard: str) -> None:
    """What follows the box, on the same side, is the step that it belongs to."""
    solved = with_hazard(hazard, stock, of_unit=False)
    line = cautions.LINES[hazard].text
    for mark, steps in ABOVE.items():
        pairs = zip(card_groups(FACE, solved), card_pack(FACE, solved)[1:], strict=True)
        ((group, found),) = (pair for pair in pairs if pair[1].group.mark == mark)
        boxes = [box for block in group.blocks for box in block.boxes]
        said = [" ".join(text.text for text in box.marks if isinstance(text, Text)) for box in boxes]
        at = [number for number, text in enumerate(said) if squeezed(line) in squeezed(text)]
        if hazard not in steps:
            continue
        after = [text for text in said[at[0] + 1 :] if text.strip()]
        step = after[1] if after[0].strip().startswith("O: DO") else after[0]  # below the head of its table
        assert steps[hazard] in step, (mark, step)
        assert boxes[at[0]].keep_with_next
        together = [text for text in sides(solved, found) if squeezed(line) in text and squeezed(step) in text]
        assert together


def test_a_charger_puts_mains_on_no_card_of_the_crew() -> None:
    """It stays in its case while the rig is in use: only the card that it is on and that of power speak of mains."""
    solved = sample("gorge")
    line = squeezed(cautions.LINES["mains"].text)
    having = {
        found.group.mark
        for found in card_pack(FACE, solved)
        if any(line in text for text in sides(solved, found))
    }

    assert having == {"POWER"}


@pytest.mark.parametrize("hazard", HAZARDS)
def test_a_unit_bears_the_line_of_its_own_hazard(stock: Path, hazard: str) -> None:
    """On its set-up card."""
    solved = with_hazard(hazard, stock, of_unit=True)
    pack = card_pack(FACE, solved)
    (own,) = (found for found in pack if found.group.mark == "POWER")

    assert squeezed(cautions.LINES[hazard].text) in first_card(solved, own)


@pytest.mark.parametrize("hazard", ["overhead", "airborne", "vehicle"])
def test_what_is_aloft_bears_the_danger_of_the_rig(stock: Path, hazard: str) -> None:
    """Head, camera, lens and packs on it can fall or strike; the handset in the hands cannot."""
    solved = with_hazard(hazard, stock, of_unit=False)
    pack = card_pack(FACE, solved)
    line = squeezed(cautions.LINES[hazard].text)
    having = {
        found.group.title
        for found in pack
        if kind(found.group) == "SET-UP" and line in first_card(solved, found)
    }

    aloft = [unit.title for unit in solved.rig.units.values() if unit.mounted_on or unit.role == "head"]
    with_one = {
        found.group.title
        for found in pack
        if kind(found.group) == "SET-UP"
        and any(title == found.group.title or title in group_words(found) for title in aloft)
    } - {"Head handset"}
    assert having == with_one
    assert "Head handset" not in having


def test_every_hazard_has_its_cards() -> None:
    """None is left out of the test above, and each has a line."""
    assert set(MUST) == set(HAZARDS) == set(cautions.LINES)


@pytest.mark.parametrize(
    "row",
    list(csv.DictReader(StringIO((ROOT / "tests/reference/signal_words.csv").read_text(encoding="utf-8")))),
    ids=lambda row: f"{row['likely']} {row['worst_injury']}",
)
def test_signal_words_are_the_published_ones(row: dict[str, str]) -> None:
    """signal_words.csv: what will or could happen to people decides the word."""
    assert cautions.signal_word(row["worst_injury"], certain=row["likely"] == "will") == row["word"]


def test_the_word_of_the_worst_is_over_all() -> None:
    """One label for several hazards bears the word of the worst one (public page on ANSI Z535.4-2007)."""
    texts = [caution.text for caution in cautions.LINES.values()]

    assert cautions.word_over(texts) == "WARNING"
    assert cautions.word_over([cautions.NEW_LOAD.text]) == "NOTICE"
    assert (cautions.HEAVY.word, cautions.SPECIAL.word) == ("CAUTION", "NOTICE")


def test_papers_defer_to_local_codes_and_competent_people() -> None:
    """The sentences that defer name them, and no line promises anything."""
    assert "local law" in cautions.defer() and "licensed or competent person" in cautions.defer()
    assert "local codes" in cautions.rigger_rates() and "competent person" in cautions.rigger_rates()


def test_cautions_stand_whole(papers: SamplePapers) -> None:
    """Every caution of the rig and the sentence that defers to law and the competent person are printed to the letter."""
    cards = card_texts(papers)
    rig = papers.solved.rig
    lines = {line for card in cautions.ON for line in cautions.on(card, rig)}

    assert lines
    for line in lines:
        assert any(squeezed(line) in card for card in cards), line
    assert any(squeezed(cautions.defer()) in card for card in cards)
    for unit in rig.units.values():
        for line in cautions.of_unit(rig, unit):
            assert any(squeezed(line) in card for card in cards), line


def test_caution_lines_are_short() -> None:
    """A caution has at most twelve words: common practice, no source."""
    more = (cautions.HEAVY, cautions.NEW_LOAD, cautions.LOOK_ALIKE, cautions.SPECIAL)
    for caution in (*cautions.LINES.values(), *more):
        assert 4 <= len(caution.text.split()) <= 12, caution


def test_nothing_is_called_safe(papers: SamplePapers) -> None:
    """The papers say what was checked and what was not; no word of theirs calls anything safe."""
    for paper, data in papers.files.items():
        for page in pypdf.PdfReader(BytesIO(data)).pages:
            assert not re.search(r"\bsafe(ly|ty)?\b", page.extract_text(), re.I), paper
