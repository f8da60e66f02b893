"""Remedies for controls that disturb each other on one channel. Each is tried by computing its whole table."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import prod

from rigcard.resolve.model import Rate, Travel, Unit
from rigcard.solve.claims import Proof
from rigcard.solve.joint import joint_table
from rigcard.solve.levels import contributors, mixes_into
from rigcard.solve.power_up import neutral_position
from rigcard.solve.solved import JointRow
from rigcard.words import percent

COARSE = 5  # per cent between the travels and rates that are tried, since a person would dial round numbers
NO_CURE = "give one of the controls a channel of its own, or use switches that spring back to the middle"


def cure(proof: Proof, unit: Unit, channel: str) -> str:
    """The remedies whose tables are clean, or otherwise what the user can still do."""
    found = [
        text for text in (_only_in_the_middle(proof, unit, channel), _own_levels(proof, unit, channel)) if text
    ]
    return ", or ".join([*found, NO_CURE])


def _only_in_the_middle(proof: Proof, unit: Unit, channel: str) -> str:
    """The remedy that lets each mix act only while the channel's own control is in the middle."""
    own = unit.model.controls[unit.channels[channel].control]
    easy = neutral_position(own)
    if easy.value != 0 or not own.is_switch:
        return ""
    tamed = unit._replace(
        mixes=tuple(
            mix._replace(while_control=own.name, while_position=easy) if mix.target == channel else mix
            for mix in unit.mixes
        )
    )
    if not _clean(_table(proof, tamed, channel, proof.dials[unit.name, channel].travel)):
        return ""
    return f"add `while {own.name} {easy.name}` to the mix (computed: no such combination is left)"


def _own_levels(proof: Proof, unit: Unit, channel: str) -> str:
    """The remedy that gives every combination a level of its own, if every listener has enough bands."""
    controls, mixes = contributors(unit, unit.channels[channel]), mixes_into(unit, channel)
    arithmetic = unit.model.arithmetic
    combinations = prod(len(control.positions) for control in controls)
    feeds = proof.solved.links.feeds_of(unit.name, channel)
    crowded = any(len(feed.input.bands) < combinations for feed in feeds)
    assert arithmetic is not None
    if crowded or len(mixes) != 1 or not all(control.is_switch for control in controls):
        return ""
    best: tuple[Fraction, int, int] | None = None
    low, high, step = arithmetic.travel_low, arithmetic.travel_high, arithmetic.travel_step
    travels = [at for at in range(COARSE, int(high) + 1, COARSE) if at >= low and (at - low) % step == 0]
    travels.sort(key=lambda travel: abs(travel - 100))  # among equals, the first is the nearest to 100 %
    for travel, rate in product(travels, range(COARSE, 101, COARSE)):
        both = Rate(Fraction(rate), Fraction(rate))
        tried = unit._replace(
            mixes=tuple(mix._replace(rate=both) if mix in mixes else mix for mix in unit.mixes)
        )
        rows = _table(proof, tried, channel, Travel(Fraction(travel), Fraction(travel)))
        margin = _apart(rows)
        if margin and (best is None or margin > best[0]):
            best = margin, travel, rate
    if best is None:
        return ""
    margin, travel, rate = best
    return (
        f"`travel {travel}% / {travel}%` and the mix `at {rate}%` (computed: {combinations} levels, each in a band of its "
        f"own, {percent(margin)} from its edge) and an `expect ... while` for each that no control gives alone"
    )


def _table(proof: Proof, unit: Unit, channel: str, travel: Travel) -> tuple[JointRow, ...]:
    key = (unit.name, channel)
    dials = {**proof.dials, key: proof.dials[key]._replace(travel=travel)}
    known = unit.channels[channel]
    return joint_table(
        proof.solved.rig, proof.solved.links, unit, known, dials, proof.solved.power_up_positions
    )


def _clean(rows: tuple[JointRow, ...]) -> bool:
    return not any(told(row) or between(row) for row in rows)


def _apart(rows: tuple[JointRow, ...]) -> Fraction | None:
    """The smallest margin, or None if two combinations share a band at any listener."""
    seen: set[tuple[int, str]] = set()
    margins: list[Fraction] = []
    for row in rows:
        for at, reading in enumerate(row.readings):
            if reading.margin is None or (at, reading.state) in seen:
                return None
            seen.add((at, reading.state))
            margins.append(reading.margin)
    return min(margins)


def told(row: JointRow) -> bool:
    """Whether to report a combination: nothing asks for its state, and the file does not call it harmless."""
    return row.unasked and not row.harmless


def between(row: JointRow) -> bool:
    """Whether a combination lands outside every band of some listener."""
    return any(reading.feed.input.bands and not reading.band for reading in row.readings)
