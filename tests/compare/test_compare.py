"""Comparing: nothing with itself, the mirror of the way back, and valid papers that say the same in both builds."""

from __future__ import annotations

import json
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from revisions import CHANGES, TOGETHER, Edit, made, revised, revision
from rigcard.compare.compare import Side, compare, same_rig
from rigcard.compare.comparison import Comparison, Effect
from rigcard.compare.read_facts import facts_of
from rigcard.compare.reading import earlier
from rigcard.exports.compare_text import NOTHING, WORDS_ONLY, as_json, as_text
from rigcard.exports.rig_json import rig_json
from rigs import rig_text
from samples import SAMPLES
from strategies import whole_rigs

SLOW = settings(max_examples=12)


def changes(*edits: Edit, sample: str = "gorge") -> Comparison:
    """What some words in place of others bring, in a sample under its own letter."""
    return compare(revision(sample).side, made(revised(sample, edits)).side)


def kinds(found: Comparison) -> set[str]:
    """The kinds of effects."""
    return {effect.kind for effect in found.effects}


def work(found: Comparison) -> list[tuple[str, tuple[str, ...]]]:
    """What to do: kind and about what."""
    return [(action.kind, action.about) for action in found.actions]


# ---- with itself -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_does_not_differ_from_itself(path: Path) -> None:
    """Neither as a rig file nor as the rig.json that it is written to."""
    here = revision(path.stem)
    found = compare(here.side, here.side)
    read = compare(Side(earlier(rig_json(here.job.data).decode())), here.side)

    assert found.nothing and read.nothing
    assert as_text(found) == as_text(read) == NOTHING


@SLOW
@given(whole_rigs())
def test_a_rig_does_not_differ_from_itself(text: str) -> None:
    """Whatever is in it; its facts come back from the text of its rig.json."""
    one, other = made(text), made(text)

    assert compare(one.side, other.side).nothing
    assert earlier(rig_json(one.job.data).decode()) == one.side.facts


# ---- there and back ----------------------------------------------------------------------------------------------


def turned_round(effects: Iterable[Effect]) -> set[tuple[object, ...]]:
    """Effects as the other way shows them; of equal margins of a control, any one stands for all."""
    return {
        (effect.kind, effect.about[:3] if effect.kind == "margins" else effect.about, effect.now, effect.was)
        for effect in effects
    }


@SLOW
@given(st.sets(st.sampled_from(TOGETHER)), st.sets(st.sampled_from(TOGETHER)))
def test_the_way_back_mirrors_the_way_there(here: set[str], there: set[str]) -> None:
    """Was and now change places in every effect, new and withdrawn in every paper; what is valid stays valid."""
    one, other = (revision("gorge", *sorted(names)).side for names in (here, there))
    forth, back = compare(one, other), compare(other, one)

    assert turned_round(forth.effects) == {
        (kind, about, was, now) for kind, about, now, was in turned_round(back.effects)
    }
    mirrored = {"new": "withdrawn", "withdrawn": "new"}
    assert {(paper.kind, paper.name, paper.state) for paper in forth.papers} == {
        (paper.kind, paper.name, mirrored.get(paper.state, paper.state)) for paper in back.papers
    }
    assert forth.nothing == back.nothing == (here == there)
    assert forth.words_only == back.words_only


# ---- single changes ----------------------------------------------------------------------------------------------


def test_a_mounting_turned_over_turns_the_axes() -> None:
    """Upright in place of underslung: pan and tilt go the other way, which no claim stands for any more."""
    claims = [
        (f"expect hs.right-a{way} gives head.{axis}\n", "")
        for way, axis in (("cross.right ", "pan.right"), ("long.away   ", "tilt.up"))
    ]
    found = changes(("mount underslung", "mount upright"), *claims)
    turned = {(effect.about[1], effect.about[4]) for effect in found.effects if effect.kind == "turned"}

    assert turned == {("pan", "left"), ("pan", "right"), ("tilt", "toward"), ("tilt", "away")}
    assert ("mount", ("head",)) in work(found)
    (test,) = (about for kind, about in work(found) if kind == "test")
    assert len(test) == len(found.new.needs)  # the head powers the receiver, so all of them need it


def test_a_speed_that_the_file_states_otherwise() -> None:
    """Full speed 40 in place of 50 deg/s: at both ends of the stick, and half of nothing at its centre."""
    found = changes(
        ("input pan        from pan   reversed", "input pan        from pan   reversed  full 40deg/s")
    )
    turns = {
        effect.about[4]: (effect.was.speed, effect.now.speed)
        for effect in found.effects
        if effect.kind == "turns"
    }

    assert turns == {"left": (50, 40), "right": (50, 40)}


def test_radio_loss_decided_otherwise() -> None:
    """The failsafe of iris from hold to a level: what happens on loss, a value to dial, a function to test."""
    found = changes(
        ("iris      from left-along    failsafe hold", "iris      from left-along    failsafe -100%")
    )
    (loss,) = (effect for effect in found.effects if effect.kind == "losses")

    assert loss.about == ("bridge", "iris")
    assert (loss.was.kind, loss.now.kind, loss.now.level, loss.now.delay) == ("hold", "preset", -100, 700)
    assert ("dial", ("hs", "iris")) in work(found)
    assert ("test", ("bridge.iris",)) in work(found)


def test_a_key_assigned_otherwise_does_something_else() -> None:
    """In each position, and together with the other switch where no single position explains it."""
    found = changes(('set   soft-3 "Wiper, one stroke"', 'set   soft-3 "Wiper, two strokes"'))

    assert ("assign", ("cam", "soft-3")) in work(found)
    (effect,) = found.effects
    assert effect.about[:2] == ("bridge", "tools")
    assert (effect.was.does, effect.now.does) == (("Wiper, one stroke",), ("Wiper, two strokes",))
    assert ("test", ("bridge.tools",)) in work(found)


def test_another_memory_means_all_values_again() -> None:
    """Memory 5 in place of 4 is blank, whatever its name."""
    found = changes(('memory 4 "GORGE C"', 'memory 5 "GORGE C"'))
    dialled = [about for kind, about in work(found) if kind == "dial"]

    assert len(dialled) == 10
    assert all(action.was is None for action in found.actions if action.kind == "dial")


def test_a_receiver_bound_to_another_piece_is_bound_again() -> None:
    """Another handset of the same model, by its number: bind, dial all, test all that it moves."""
    found = changes(('asset  "HS-014"', 'asset  "HS-015"'))

    assert ("swap", ("hs",)) in work(found)
    assert ("bind", ("rx", "hs")) in work(found)
    (test,) = (about for kind, about in work(found) if kind == "test")
    assert len(test) == len(found.new.needs)


def test_a_number_that_was_not_stated_before_is_no_other_piece() -> None:
    """A serial number looked up and written down: labels and lists only."""
    found = changes(('asset "CA-021"', 'asset "CA-021"; serial "4711"'))

    assert ("swap", ("cam",)) not in work(found)
    assert found.words_only


def test_the_job_is_on_every_card() -> None:
    """Another job: no card is valid, and that is more than words; so is DRAFT, which comes with an open question."""
    job = changes(('"Whitewater final, day 2"', '"Whitewater final, day 3"'))
    draft = changes(next(iter([("hazard overhead\n", 'open "Which lens?"\nhazard overhead\n')])))

    for found in (job, draft):
        assert not [paper for paper in found.papers_in("valid") if paper.kind in ("card", "sheet")]
        assert not found.words_only
    assert [effect.about for effect in draft.effects if effect.kind == "questions"] == [("Which lens?",)]


def test_the_letter_and_its_date_leave_the_other_cards_valid() -> None:
    """A revision that changes nothing else: only what shows the date, the issue sheet, is printed."""
    found = changes(('revision    "C" on 2026-05-14', 'revision    "D" on 2026-05-16'))

    assert {paper.name for paper in found.papers_in("changed")} <= {"ISSUE SHEET"}  # if that shows the date
    assert [effect.kind for effect in found.issue] == ["revision", "date"]


def test_a_hazard_is_told_to_everybody() -> None:
    """A caution that comes is no matter of words."""
    found = changes(("hazard water\n", "hazard water\nhazard public\n"))
    told = {person.who: person.reasons for person in found.people}

    assert "hazards" in kinds(found)
    assert all("hazard" in told[role] for role in found.new.crew)


def test_radio_links_go_to_the_coordinator() -> None:
    """A channel of the picture link moved."""
    found = changes(('band "5.8 GHz" channel "3"', 'band "5.8 GHz" channel "5"'), sample="arm")

    assert {person.who for person in found.people} >= {"coordinator"}
    assert [(effect.was, effect.now) for effect in found.effects if effect.kind == "radio"] == [
        (("5.8 GHz", "3"), ("5.8 GHz", "5"))
    ]


def test_one_rig_and_another() -> None:
    """A corrected title with the same pieces is one rig, and so are other pieces under one title; both at once are not."""
    gorge, mast = revision("gorge").side.facts, revision("mast").side.facts

    assert same_rig(gorge, gorge._replace(title="Gorge cable cam"))
    assert same_rig(gorge, gorge._replace(units=mast.units))
    assert not same_rig(gorge, mast)
    assert not same_rig(mast, gorge)


# ---- another handset ---------------------------------------------------------------------------------------------

# 5 us per 1 %, a step of sub-trim of 0.2 %: 1360 us is -28 %, 1080 us is -84 % (common practice, no source).
OTHER_SCALE = {
    "pulse": "1500us centre, 5us per 1%",
    "subtrim": "-240..240 steps, 5 steps = 1%",
}
HEARING = "pulse 1500us centre, 4us per 1%"  # of the listener, whatever the handset
RECORD = "channel 1 rec from two travel {low}% / {high}% subtrim {trim} failsafe hold"


def ported(old: str, new: str) -> Comparison:
    """Two rigs of one title, whose handset is of another model in the second."""
    return compare(
        made(old).side,
        made(new.replace("model set ", "model set-b ").replace("hs is set ", "hs is set-b ")).side,
    )


def test_the_same_pulses_on_another_scale() -> None:
    """Sub-trim -240 of 35/240 % and travel 70 / 0 give 1080 and 1360 us; on the other scale -140, 56 / 0 do."""
    old = rig_text(listener=HEARING, channels=RECORD.format(low=70, high=0, trim=-240))
    new = rig_text(listener=HEARING, **OTHER_SCALE, channels=RECORD.format(low=70, high=0, trim=-175))
    found = ported(old, new)
    (channel,) = found.ports[0].channels

    assert channel.dial is not None
    for low, high, trim in (
        (channel.dial.travel.low, channel.dial.travel.high, channel.dial.subtrim),
        (56, 0, -140),
    ):
        sent = [1500 + 5 * (Fraction(trim, 5) + side) for side in (-low, high)]  # both ways are exact
        assert sent == [1080, 1360]
    assert not channel.missed
    assert not channel.same
    right = ported(
        old, rig_text(listener=HEARING, **OTHER_SCALE, channels=RECORD.format(low=56, high=0, trim=-140))
    )
    assert right.ports[0].channels[0].same
    assert "margins" not in kinds(right)


def test_what_another_handset_cannot_reach() -> None:
    """Sub-trim to 100 steps of 0.2 % only: no standby at -28 %; the nearest splits what is lacking, 20 us."""
    old = rig_text(listener=HEARING, channels=RECORD.format(low=70, high=0, trim=-240))
    short = {**OTHER_SCALE, "subtrim": "-100..100 steps, 5 steps = 1%"}
    new = rig_text(listener=HEARING, **short, channels=RECORD.format(low=70, high=0, trim=-100))
    (channel,) = ported(old, new).ports[0].channels

    assert [(missed.position, missed.wanted, missed.nearest) for missed in channel.missed] == [
        ("toward", Fraction(1360), Fraction(1400))
    ]


# ---- the texts ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CHANGES)
def test_json_has_every_sentence_of_the_text(name: str) -> None:
    """One entry a line, with its values; words alone are marked as such."""
    sample = CHANGES[name][0]
    found = compare(revision(sample).side, revision(sample, name).side)
    data = json.loads(as_json(found))
    text = as_text(found)

    for part in ("issue", "effects", "actions", "people"):
        assert all(entry["text"] in text for entry in data[part])
    assert len(data["papers"]) == len(found.papers)
    assert data["words_only"] == text.startswith(WORDS_ONLY)
    assert data["changed"] is True


def test_facts_are_the_same_from_either_kind_of_side() -> None:
    """The values of a rig file and those read back from its rig.json."""
    for path in SAMPLES:
        here = revision(path.stem)
        assert facts_of(json.loads(rig_json(here.job.data))) == here.side.facts
