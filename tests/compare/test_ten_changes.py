"""The changes of a season, each with its whole outcome written by hand: effects, work, values, papers and people.

The files in `changes/` hold what `rigcard compare` must say, but for the cards and the numbers of lines: which cards
change is held against the words on the cards of both builds, and the lines against the mistakes that they must show.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from revisions import CHANGES, TOGETHER, Made, revision
from rigcard.compare.compare import compare
from rigcard.compare.comparison import Comparison
from rigcard.documents.base.layout import HUGE
from rigcard.documents.base.model import Text
from rigcard.documents.cards.frame import LaidGroup, leaves_of
from rigcard.documents.diagram.leads import lead_pages
from rigcard.exports.compare_text import as_text
from rigcard.faults.judged import judged
from samples import ROOT

EXPECTED = ROOT / "tests" / "compare" / "changes"
OF_CARDS = re.compile(r"^  \w+ +Cards: .*\n|^  COPIES .*\n", re.MULTILINE)
OF_LINES = re.compile(r" Lines? [\d, and]+ of the function test shows? what the whole test would\.")
OF_ISSUE = re.compile(r"rev |REV$|check |\d{4}-\d{2}-\d{2}")  # what tells the issue of a card, and its code


def compared(name: str) -> Comparison:
    """What a change of the season brings."""
    sample = CHANGES[name][0]
    return compare(revision(sample).side, revision(sample, name).side)


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_brings_all_this_and_no_more(name: str) -> None:
    """Word for word, but for the cards; that somebody has a card that changes follows from these."""
    said = OF_CARDS.sub("", as_text(compared(name))) + "\n"
    said = OF_LINES.sub("", said)
    said = re.sub(r"Has a card that changes\.|[Hh]as a card that changes; ", "", said)

    assert unaligned(said) == unaligned((EXPECTED / f"{name}.txt").read_text(encoding="utf-8"))


def unaligned(text: str) -> str:
    """A text whose columns are as narrow as they go: how wide they are depends on the lines about cards."""
    return re.sub(r"(?m)^  (.+?)  +", r"  \1  ", text)


def words(made: Made, found: LaidGroup) -> list[str]:
    """The words on the finished cards of a group, without what tells their issue."""
    rig = made.job.solved.rig
    if found.group.full_sheet:
        marks = [mark for column in found.columns for mark in column.marks]
    else:
        leaves = leaves_of(made.job.face, rig, [found])
        marks = [mark for leaf in leaves for side in leaf.sides for mark in side]
    texts = [mark for mark in marks if isinstance(mark, Text)]
    issue = [mark for mark in texts if mark.size == HUGE and mark.text == rig.revision]
    return [mark.text for mark in texts if mark not in issue and not OF_ISSUE.search(mark.text)]


def states(before: dict[str, list[str]], after: dict[str, list[str]]) -> dict[str, str]:
    """What became of papers with these words: valid if equal, changed if not, new and withdrawn if on one side."""
    found = {
        name: "new" if name not in before else "valid" if before[name] == after[name] else "changed"
        for name in after
    }
    return found | dict.fromkeys(before.keys() - after.keys(), "withdrawn")


def cards_of(made: Made) -> dict[str, list[str]]:
    """The words on every card of a revision."""
    return {found.group.mark: words(made, found) for found in made.job.cards}


@pytest.mark.parametrize("name", CHANGES)
def test_a_card_is_valid_where_both_builds_have_the_same_words(name: str) -> None:
    """The cards of both revisions, text for text."""
    sample = CHANGES[name][0]
    expected = states(cards_of(revision(sample)), cards_of(revision(sample, name)))

    assert {paper.name: paper.state for paper in compared(name).papers if paper.kind == "card"} == expected
    assert {"valid", "changed"} <= set(expected.values())


@settings(max_examples=8)
@given(st.sets(st.sampled_from(TOGETHER)), st.sets(st.sampled_from(TOGETHER)))
def test_the_same_holds_for_any_two_revisions(here: set[str], there: set[str]) -> None:
    """Several changes at once, and some of them undone."""
    sides = [revision("gorge", *sorted(names)) for names in (here, there)]
    found = compare(*(made.side for made in sides))

    assert {paper.name: paper.state for paper in found.papers if paper.kind == "card"} == states(
        *map(cards_of, sides)
    )


def sheets_of(made: Made) -> dict[str, list[str]]:
    """The words on the kit list, on each lid sheet and on the list of leads, without what tells their issue."""
    pages = [*made.job.kit.pages, *lead_pages(made.job.face, made.job.solved)]
    found: dict[str, list[str]] = {}
    name = ""
    for page in pages:
        name = page.paper.name if page.paper else name
        texts = [mark.text for mark in page.marks if isinstance(mark, Text)]
        found.setdefault(name, []).extend(text for text in texts if not OF_ISSUE.search(text))
    return found


@pytest.mark.parametrize("name", CHANGES)
def test_a_list_is_valid_where_both_builds_have_the_same_words(name: str) -> None:
    """Kit list, lid sheets and leads of both revisions, text for text."""
    sample = CHANGES[name][0]
    expected = states(sheets_of(revision(sample)), sheets_of(revision(sample, name)))
    found = {paper.name: paper.state for paper in compared(name).papers if paper.kind == "sheet"}

    assert expected == {name: state for name, state in found.items() if name in expected}
    assert len(expected) > 1


@pytest.mark.parametrize("name", CHANGES)
def test_everybody_with_another_card_is_told(name: str) -> None:
    """A role is told of a card if one for it or for everybody, the issue sheet apart, is not as it was."""
    found = compared(name)
    other = [paper for paper in found.papers if paper.kind == "card" and paper.state != "valid"]
    known = {**found.old.cards, **found.new.cards}
    roles = {paper.role for paper in other if not known[paper.name].issue}
    told = {person.who for person in found.people if "card" in person.reasons}

    assert told == {role for role in (*found.new.crew, "technician") if roles & {"", role}}


def test_an_added_role_gets_its_copies() -> None:
    """A card for everybody that stays valid is printed once more; one for a single reader is not."""
    found = compared("role")
    more = {paper.name: paper.more for paper in found.papers if paper.more}

    assert more
    assert set(more.values()) == {1}
    assert all(found.new.cards[name].role == "" and found.new.cards[name].copies == 4 for name in more)


def test_a_typo_is_words_alone() -> None:
    """The letter, the name of the memory and a title: nothing is or does anything else."""
    assert compared("typo").words_only
    assert not any(compared(name).words_only for name in CHANGES if name not in ("typo", "role"))


@pytest.mark.parametrize("name", CHANGES)
def test_the_lines_named_show_what_the_whole_test_would(name: str) -> None:
    """Of each mistake with a lead or a value that was touched: if any line shows it, one of these does."""
    solved = revision(CHANGES[name][0], name).side.solved
    assert solved
    found = compared(name)
    (lines,) = [action.now for action in found.actions if action.kind == "test"] or [()]
    touched = {action.about for action in found.actions if action.kind == "dial"}
    touched |= {action.about[:1] for action in found.actions if action.kind == "plug"}
    rows = [row for row in judged(solved).matrix.rows if {row.fault.names[:2], row.fault.names[:1]} & touched]
    shown = [row for row in rows if row.differs]

    assert all({number + 1 for number in row.differs} & set(lines or ()) for row in shown)
    assert bool(shown) or name not in ("subtrim", "pin", "handset")
