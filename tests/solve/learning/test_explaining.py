"""Readings that are off, explained by the fewest causes: one mistake is put into a rig, and its readings typed back.

The pulses come from compiling the rig with the mistake in its text, so not from the code that looks for it.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import combinations, pairwise, product
from pathlib import Path

import pytest

from rigcard.resolve.model import Measurement
from rigcard.solve.learning.explaining import Desk, Explanation, State, explanations, pulse_at, telling
from rigcard.solve.solved import Solved
from rigs import compiled, only, solved_rig

CHANNELS = """channel 1 pan  from a travel 60% / 80% subtrim 40 failsafe hold
  channel 2 keys from b travel 70% / 75% reversed failsafe hold
  channel 3 half from c travel 90% / 90% failsafe hold
  channel 4 fade from fader travel 50% / 85% subtrim -30 failsafe hold
  mix half into keys at 40%
  mix fade into pan at 30% while two toward"""
CONTROLS = {"pan": ("a", "fader"), "keys": ("b", "c"), "half": ("c",), "fade": ("fader",)}
INPUTS = """input x1 on one "X1" { sweeps left to right }
  input x2 on two "X2" { sweeps left to right }
  input x3 on three "X3" { sweeps left to right }
  input x4 on four "X4" { sweeps left to right }"""
CABLES = "\n".join(
    f'cable W{at} "Lead {at}" {{ rx.p{at} to dev.{port}; length 1m; jacket 3mm }}'
    for at, port in enumerate(("one", "two", "three", "four"), 1)
)
USED = {"channels": CHANNELS, "inputs": INPUTS, "cables": CABLES, "output": "-200%..200%"}
# What stands otherwise, as a change of the text, and how the explanation names it.
MISTAKES = {
    "pan subtrim": (("channels", "subtrim 40", "subtrim 92"), ("sub-trim", "pan")),
    "pan low": (("channels", "travel 60%", "travel 71%"), ("low travel", "pan")),
    "pan high": (("channels", "/ 80%", "/ 66%"), ("high travel", "pan")),
    "keys reversal": (("channels", "75% reversed", "75%"), ("reversal", "keys")),
    "pan reversal": (("channels", "subtrim 40", "subtrim 40 reversed"), ("reversal", "pan")),
    "half low": (("channels", "90% / 90%", "60% / 90%"), ("low travel", "half")),
    "mix rate": (("channels", "at 40%", "at 25%"), ("mix rate", "half")),
    "mix off": (("channels", "  mix half into keys at 40%\n", ""), ("mix-off", "half")),
    "mix always": (("channels", " while two toward", ""), ("mix-always", "fade")),
    "pins": (("channels", "channel 1 pan", "channel 3 pan"), ("pins", "pan")),
    "centre": (("pulse", "1500us", "1520us"), ("centre", "")),
    "scale": (("pulse", "4us per", "5.12us per"), ("scale", "")),
    "reverse": (("reverse", "before subtrim", "before travel"), ("reverse", "")),
    "shifts": (("shifts", "whole", "centre"), ("shifts", "")),
    "mix place": (("mix", "after travel", "before travel"), ("mix-place", "")),
}
TEXT = {
    "pulse": "1500us centre, 4us per 1%",
    "reverse": "before subtrim",
    "shifts": "whole",
    "mix": "after travel",
    **USED,
}


def text_with(*changes: tuple[str, str, str]) -> dict[str, str]:
    """The parts of the rig with some of its words changed."""
    parts = dict(TEXT)
    for part, old, new in changes:
        assert old in parts[part], (old, parts[part])
        parts[part] = parts[part].replace(old, new)
        if new == "channel 3 pan":  # two channels change numbers
            parts[part] = parts[part].replace("channel 3 half", "channel 1 half")
    return parts


def places(solved: Solved) -> list[tuple[str, str, str]]:
    """Every channel with each control that may move it, at each of its positions."""
    model = solved.rig.units["hs"].model
    return [
        (channel, control, position.name)
        for channel, controls in CONTROLS.items()
        for control in controls
        for position in model.controls[control].positions
    ]


def read_from(parts: dict[str, str], folder: Path) -> dict[tuple[str, str, str], int]:
    """What a meter that shows whole us reads at the pin of each channel, whatever channel is set to that pin."""
    solved = solved_rig(folder, **parts)
    unit = solved.rig.units["hs"]
    dials = {key: result.dial for key, result in solved.results.items()}
    state = State(unit, dials)
    pins = {"pan": 1, "keys": 2, "half": 3, "fade": 4}
    by_number = {channel.number: channel.name for channel in unit.channels.values()}
    found = {}
    for channel, control, position in places(solved):
        place = unit.model.controls[control].position(position)
        assert place is not None
        channel_there = by_number[pins[channel]]
        taken = Measurement("hs", channel_there, control, place, Fraction(0), unit.span)
        found[channel, control, position] = round(pulse_at(state, taken, solved.power_up_positions))
    return found


def desk_of(folder: Path, pulses: dict[tuple[str, str, str], int]) -> Desk:
    """The rig as stated with these readings typed back."""
    more = "\n".join(
        f"measured hs.{control}.{position} on {channel} is {pulse}us"
        for (channel, control, position), pulse in pulses.items()
    )
    solved = solved_rig(folder, **TEXT, more=more)
    dials = {key: result.dial for key, result in solved.results.items()}
    return Desk(State(solved.rig.units["hs"], dials), solved.rig.measurements, solved.power_up_positions)


@cache
def pulses_with(folder: Path, *names: str) -> dict[tuple[str, str, str], int]:
    """The readings of the rig with these mistakes."""
    return read_from(text_with(*(MISTAKES[name][0] for name in names)), folder)


def named(found: Explanation) -> set[tuple[str, str]]:
    """The causes of an explanation as the table above names them."""
    return {(cause.kind, cause.of) for cause in found.causes}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_single_mistake_is_found_first(tmp_path: Path, name: str) -> None:
    """With every position read, the first explanation is the one mistake, and all readings are right with it."""
    desk = desk_of(tmp_path, pulses_with(tmp_path, name))
    found = explanations(desk)

    assert named(found[0]) == {MISTAKES[name][1]}
    assert desk.fits(found[0].state, desk.readings)


def test_no_reading_off_needs_no_cause(tmp_path: Path) -> None:
    """The rig as stated agrees with its own pulses."""
    desk = desk_of(tmp_path, read_from(TEXT, tmp_path))

    assert all(desk.fits(desk.state, [one]) for one in desk.readings)


PAIRS = [
    ("pan subtrim", "keys reversal"),
    ("pan low", "half low"),
    ("pan low", "pan high"),
    ("pan subtrim", "pan high"),
    ("centre", "pan low"),
    ("scale", "mix off"),
    ("centre", "scale"),
    ("pan reversal", "mix rate"),
    ("keys reversal", "centre"),
]


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_two_mistakes_are_found(tmp_path: Path, one: str, other: str) -> None:
    """No single cause explains two mistakes; the pair is among the explanations, and each of them fits."""
    desk = desk_of(tmp_path, pulses_with(tmp_path, one, other))
    found = explanations(desk)

    assert {MISTAKES[one][1], MISTAKES[other][1]} in [named(each) for each in found]
    assert all(len(each.causes) == 2 for each in found)
    assert all(desk.fits(each.state, desk.readings) for each in found)


@pytest.mark.parametrize("name", ["pan subtrim", "pan low", "half low", "keys reversal", "mix rate"])
def test_brute_force_finds_no_other_single_dial(tmp_path: Path, name: str) -> None:
    """Every dial of every channel is tried blindly: those that fit are just those that the search finds."""
    desk = desk_of(tmp_path, pulses_with(tmp_path, name))
    arithmetic, dials = desk.state.arithmetic, desk.state.dials
    blind = set()
    for key, dial in dials.items():
        travels = range(int(arithmetic.travel_low), int(arithmetic.travel_high) + 1)
        others = [
            ("low travel", dial._replace(travel=dial.travel._replace(low=Fraction(at)))) for at in travels
        ]
        others += [
            ("high travel", dial._replace(travel=dial.travel._replace(high=Fraction(at)))) for at in travels
        ]
        others += [("reversal", dial._replace(reversed=not dial.reversed))]
        others += [("sub-trim", dial._replace(subtrim=at)) for at in range(-240, 241)]
        for kind, other in others:
            if desk.fits(desk.state._replace(dials={**dials, key: other}), desk.readings):
                blind.add((kind, key[1]))
    local = {"low travel", "high travel", "reversal", "sub-trim"}

    assert {one for each in explanations(desk) for one in named(each) if one[0] in local} == blind


def test_the_telling_reading_is_the_best_of_all(tmp_path: Path) -> None:
    """One reading alone fits several causes; the reading that is named parts them as no other place does better."""
    pulses = pulses_with(tmp_path, "pan low")
    alone = {key: pulse for key, pulse in pulses.items() if key == ("pan", "a", "away")}
    desk = desk_of(tmp_path, alone)
    found = explanations(desk)
    assert len(found) > 1
    unit = desk.state.unit
    others = []
    for channel, control, position in pulses:
        place = unit.model.controls[control].position(position)
        assert place is not None
        others.append(Measurement("hs", channel, control, place, Fraction(0), unit.span))
    best = telling(desk, found, others)
    assert best is not None

    def groups(place: Measurement) -> int:
        values = sorted(pulse_at(one.state, place, desk.standing) for one in found)
        return 1 + sum(b - a > desk.tolerance for a, b in pairwise(values))

    assert groups(best) == max(map(groups, others)) > 1


def test_advice_spares_a_position_that_was_right(tmp_path: Path) -> None:
    """One side low: travel of that side, and not the sub-trim, which would move the middle and the other side."""
    pulses = pulses_with(tmp_path, "pan high")
    more = "\n".join(
        f"measured hs.{control}.{position} on {channel} is {pulse}us"
        for (channel, control, position), pulse in pulses.items()
        if channel == "pan"
    )
    _, found = compiled(tmp_path, **TEXT, more=more)
    said = only(found, "RC451")

    assert "the high travel of `pan` acts as 66 %, not 80 %" in said.message
    assert "high travel 94 %; first see that 80 % is dialled" in said.hint
    assert "sub-trim" not in said.hint


@pytest.mark.parametrize(("asset", "stale"), [("HS-014", False), ("HS-021", True)])
def test_a_reading_goes_with_its_handset(tmp_path: Path, asset: str, stale: bool) -> None:
    """A reading of another asset is not used: it is warned of, and neither proves nor accuses."""
    more = f'measured hs.a.away on pan is 1000us of "{asset}"'
    channels = CHANNELS.replace("channel 1", 'asset "HS-014"\n  channel 1')
    _, found = compiled(tmp_path, **{**TEXT, "channels": channels}, more=more)

    assert {one.code.id for one in found} == ({"RC484"} if stale else {"RC451"})


def test_readings_of_all_pairs_of_places_are_explained(tmp_path: Path) -> None:
    """Whichever two positions were read, every explanation that is told makes both right."""
    pulses = pulses_with(tmp_path, "pan low")
    desk = desk_of(tmp_path, pulses)
    pan = [one for one in desk.readings if one.channel == "pan"]
    for chosen in combinations(pan, 2):
        part = desk._replace(readings=chosen)
        if part.fits(part.state, chosen):
            continue
        found = explanations(part)
        assert found
        for one, reading in product(found, chosen):
            assert abs(part.residual(one.state, reading)) <= part.tolerance
