"""What the brief says of radio loss, by result."""

from __future__ import annotations

from cardlines import FACE, WIDE, at, lines, sample
from rigcard.documents.cards.brief import brief


def test_radio_loss_says_how_far_and_what_to_keep_clear() -> None:
    """50 deg/s for 0.7 s are 35 deg (arithmetic); the file keeps 45 deg clear."""
    found = lines(brief(FACE, WIDE, sample("gorge")))

    assert "For 0.7 s the last command goes on. Then:" in found
    assert "Pan, Tilt: keep turning, up to 35°, then stop." in found
    assert "Room to keep free in case the radio is lost: Pan 45° and Tilt 45°." in found
    assert any("Pan, Tilt: keep turning, up to 35°, then stop; the take goes on" in line for line in found)


def test_every_function_is_said_once_and_what_moves_comes_first() -> None:
    """By result: the axes that turn, then the others, those that stay as they are last."""
    solved = sample("gorge")
    found = lines(brief(FACE, WIDE, solved))
    first = at(found, "For 0.7 s the last command")
    said = found[first + 1 : at(found, "Say “RADIO LOST”")]
    titles = [title for line in said for title in line.split(":")[0].replace(" and ", ", ").split(", ")]

    assert sorted(titles) == sorted(loss.feed.input.title for loss in solved.losses)
    assert titles[:2] == ["Pan", "Tilt"]
    assert said[-1].endswith("unchanged.")


def test_the_test_of_the_loss_ends_its_take() -> None:
    """A test that starts a take does not leave the camera running: the last step stops it and looks at the tally."""
    for name, control in (("gorge", "the left flip switch"), ("mast", "the left toggle of the camera handset")):
        found = lines(brief(FACE, WIDE, sample(name)))
        start = at(found, f"Start a take with {control}.")
        stop = at(found, f"Stop the take with {control}.")
        assert start < stop
        assert found[stop + 1] == "→ the tally is out"
