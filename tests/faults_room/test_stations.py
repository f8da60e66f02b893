"""Stations: what shares nothing is tested by itself, and nothing of the test is lost by it.

Held against a rig that has one station alone: three stations of a kind have three times its lines, each with its
times and questions. Common practice, no source: crews that share no kit do not wait for each other.
"""

from __future__ import annotations

import re
import runpy
from pathlib import Path

from cardlines import lines
from papers import FACE
from rigcard.diagnostics import Diagnostics
from rigcard.documents.cards.card_set import card_heads
from rigcard.documents.cards.fault_finding import actions
from rigcard.documents.cards.function_test import lines_of_test
from rigcard.faults.diagnosis import leaves
from rigcard.faults.judged import Judged, judged
from rigcard.faults.matrix import by_station
from rigcard.pipeline import check_rig
from rigcard.solve.solved import Solved
from rigcard.solve.stations import stations_of

ROOT = Path(__file__).parents[2]
production = runpy.run_path(str(ROOT / "tests" / "bench" / "production.py"))["production"]
MONITOR = """
unit view-9 is monitor-7 "Village monitor" { asset "MN-999"; case "Case 1" }
unit feed-9 is pack-98 "Village pack" { asset "PM-999"; case "Case 1" }
cable M9 "Village power" {
  feed-9.out-1 to view-9.power
  length 500mm; jacket 5mm; wire AWG20; rated 5A; fuse 5A; mass 70g; plugs power-4 to power-2; case "Case 1"
}
"""


def solved_text(tmp_path: Path, text: str) -> Solved:
    """A rig of the sample stock."""
    path = tmp_path / "rig.rig"
    path.write_text(text)
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, None, [str(ROOT / "samples" / "stock")]).solved
    assert solved, [(found.code, found.message) for found in diagnostics]
    return solved


def bare(text: str) -> str:
    """A text without the numbers of stations."""
    return re.sub(r"\d+", "#", text)


def told(found: Judged, station: int) -> list[tuple[str, str]]:
    """The lines of a station in words."""
    return [(bare(test.do), bare(test.see)) for test in lines_of_test(found.solved, station)]


def test_each_station_is_tested_as_if_it_were_alone(tmp_path: Path) -> None:
    """Lines, times and the actions of fault-finding are those of a rig that has one of the stations alone."""
    alone = judged(solved_text(tmp_path, production(1, 0)))
    mine_alone = told(alone, 0)
    seconds = [(short.swap.seconds, short.morning.seconds) for short in alone.shorts]
    do = {bare(each) for leaf in leaves(alone.questions[0]) for each in actions(alone.solved, leaf)}
    together = judged(solved_text(tmp_path, production(3, 0)))
    assert len(stations_of(together.solved)) == len(together.shorts) == 3
    radio_loss = "Radio-loss test of the brief"
    crosswise = "Bind Receiver # again, and the receiver that obeys its handset, each as on its card."
    named = [(see if do_ == radio_loss else do_, see) for do_, see in mine_alone]
    for station in range(3):
        mine = told(together, station)
        assert len(mine) == len(named)
        assert [see for _, see in mine] == [see for _, see in named]
        assert [(together.shorts[station].swap.seconds, together.shorts[station].morning.seconds)] == seconds
        found = {
            bare(each)
            for leaf in leaves(together.questions[station])
            for each in actions(together.solved, leaf)
        }
        assert found == do | {crosswise}
    assert together.short.swap.seconds == 3 * seconds[0][0]
    assert together.short.swap.proven


def test_every_line_and_every_mistake_that_is_found_belongs_to_a_station(tmp_path: Path) -> None:
    """Nothing is lost: the lines are numbered through, and what the test finds some station finds."""
    found = judged(solved_text(tmp_path, production(3, 2) + MONITOR))
    parts = by_station(found.matrix)
    assert [at for lines in parts.lines for at in lines] == list(range(len(found.matrix.lines)))
    assert {id(row) for rows in parts.rows for row in rows} == {
        id(row) for row in found.matrix.rows if row.detected
    }
    for short, own in zip(found.shorts, parts.lines, strict=True):
        assert short.swap.chosen | short.morning.chosen <= set(own)


def test_what_a_lead_joins_is_one_station(tmp_path: Path) -> None:
    """A receiver that rides on another head joins them; a shelf of monitors belongs to nobody's station."""
    apart = stations_of(solved_text(tmp_path, production(2, 1)))
    assert [station.others for station in apart] == [False, False, True]
    assert apart[2].units == {"view-1", "feed-1"}
    text = production(2, 1).replace("bound to hs-2; mounted on head-2", "bound to hs-2; mounted on head-1")
    joined = stations_of(solved_text(tmp_path, text))
    assert [len(station.handsets) for station in joined] == [2]
    assert len(joined[0].units) == len(apart[0].units | apart[1].units | apart[2].units)


def test_the_cards_of_a_station_are_those_of_a_rig_that_has_it_alone(tmp_path: Path) -> None:
    """Brief, power-up and power-down: word for word but for the numbers."""

    def cards(solved: Solved) -> list[tuple[str, str]]:
        return [
            (group.mark, bare(" ".join(lines(group))))
            for group in card_heads(FACE, solved)
            if group.mark.startswith(("BRIEF", "POWER UP", "POWER DOWN"))
        ]

    alone = cards(solved_text(tmp_path, production(1, 0)))
    assert [mark for mark, _ in alone] == ["BRIEF", "POWER UP", "POWER DOWN"]
    expected = [
        (f"{mark} HANDSET {number}", words.replace("the handset", "the Handset #"))
        for number in (1, 2, 3)
        for mark, words in alone
    ]
    found = [
        (mark, words.replace("the handset", "the Handset #"))
        for mark, words in cards(solved_text(tmp_path, production(3, 0)))
    ]
    assert found == expected


def test_each_station_has_its_own_cards(tmp_path: Path) -> None:
    """The marks name the handset; one station alone needs no name."""
    marks = [group.mark for group in card_heads(FACE, solved_text(tmp_path, production(2, 1)))]
    assert marks[:8] == [
        *("BRIEF HANDSET 1", "POWER UP HANDSET 1", "POWER DOWN HANDSET 1"),
        *("BRIEF HANDSET 2", "POWER UP HANDSET 2", "POWER DOWN HANDSET 2"),
        *("POWER UP OTHER UNITS", "POWER DOWN OTHER UNITS"),
    ]
    assert [mark for mark in marks if mark.startswith(("TEST", "FAULTS"))] == [
        *("TEST HANDSET 1", "FAULTS HANDSET 1", "TEST HANDSET 2", "FAULTS HANDSET 2"),
    ]
    marks = [group.mark for group in card_heads(FACE, solved_text(tmp_path, production(1, 1)))]
    assert [mark for mark in marks if mark.startswith(("TEST", "FAULTS"))] == ["TEST", "FAULTS"]
