"""Claims on combinations of controls that share a channel."""

from __future__ import annotations

from collections.abc import Iterator

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.solve.claims import Proof, claim
from rigcard.solve.cures import between, cure, told
from rigcard.solve.joint import MOST_COMBINATIONS, READABLE, combinations
from rigcard.solve.levels import mixes_into
from rigcard.solve.solved import JointRow
from rigcard.words import listed, signed_percent


@claim("RC421", Severity.ERROR)
def too_many_combinations(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a channel whose controls have more positions together than can be tabulated: 4096 in all tables of a rig.
    Why: nobody could print or test that table, and what is not tabulated is not proven.
    Bad: eight dials mixed into one channel
    Good: two controls on one channel, the others on channels of their own
    """
    for handset, channel in proof.crowded:
        unit = proof.solved.rig.units[handset]
        own = combinations(unit, unit.channels[channel])
        before = sum(map(len, proof.solved.joint.values()))
        yield Finding(
            unit.channels[channel].span,
            f"the controls of channel `{channel}` have more than {MOST_COMBINATIONS} combinations of positions"
            if own > MOST_COMBINATIONS
            else f"the controls of channel `{channel}` have {own} combinations of positions, those of other channels "
            f"have {before}, and a rig has at most {MOST_COMBINATIONS}",
            "take mixes off it until fewer controls share the channel",
        )


@claim("RC494", Severity.WARNING)
def table_too_long_to_read(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a channel whose controls have more than 100 combinations of positions together.
    Why: the cards print the whole table, some twenty lines a side, and nobody reads or tests that.
    Bad: five three-way switches mixed into one channel
    Good: two switches mixed into one channel
    """
    for (handset, channel), rows in proof.solved.joint.items():
        if len(rows) > READABLE:
            unit = proof.solved.rig.units[handset]
            yield Finding(
                unit.channels[channel].span,
                f"the controls of channel `{channel}` have {len(rows)} combinations of positions, and the cards "
                "print each of them",
                "take mixes off it until fewer controls share the channel",
                tuple(Related(mix.span, "the mix") for mix in mixes_into(unit, channel)),
            )


@claim("RC422", Severity.WARNING)
def combination_fires_other(proof: Proof) -> Iterator[Finding]:
    """
    Reports: positions of two or more controls of one channel that together give a state which none of them gives alone, or that together bring an input to rest and so cut short a state which one of them asks for.
    Why: the camera does what no switch shows, and nobody sees why. A rest that ends another control's take, or cancels its stop, is the worst of these.
    Bad: mix tool-pick into tools at 40% / 80%
    Good: mix tool-pick into tools at 40%
    """
    for (handset, channel), rows in proof.solved.joint.items():
        strays = [row for row in rows if told(row)]
        if strays:
            unit = proof.solved.rig.units[handset]
            shown = listed([_shown(row) for row in strays[:2]])
            more = f", and {len(strays) - 2} more" if len(strays) > 2 else ""
            others, short = all(row.stray for row in strays), all(row.cut_short for row in strays)
            if short:
                why = "it cuts short what one of them asks for"
            else:
                why = (
                    "the state of a position in which neither stands"
                    if others
                    else "no control asks for that where it stands"
                )
            yield Finding(
                unit.channels[channel].span,
                f"together, {shown}{more}: {why}",
                ("" if others and not short else f"{_meant(unit.name, strays[0])}; or else ")
                + cure(proof, unit, channel),
                tuple(Related(mix.span, "the mix") for mix in mixes_into(unit, channel)),
            )


def _meant(handset: str, row: JointRow) -> str:
    """How the file says that a combination is meant, or does no harm."""
    (control, place), *others = row.places
    reading = next(reading for reading in row.readings if reading.band)
    does = reading.effects[0] if reading.effects else None
    gives = (
        f"{does.unit}.{does.command}"
        if does
        else f"{reading.feed.unit}.{reading.feed.input.name}.{reading.state}"
    )
    given = f"{handset}.{control}.{place.name}"
    meanwhile = ", ".join(f"{name} {position.name}" for name, position in others)
    with_them = ", ".join(f"{handset}.{name}.{position.name}" for name, position in others)
    return (
        f"if it is meant, write `expect {given} gives {gives} while {meanwhile}`, or "
        f"`harmless {given} with {with_them}` if nothing comes of it"
    )


@claim("RC474", Severity.WARNING)
def nothing_to_excuse(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a `harmless` line for a combination that gives no message.
    Why: it excuses a combination that the file no longer has, and would hide the next one like it.
    Bad: harmless hs.front-toggle.toward with hs.left-rocker.toward, for controls that share no channel
    Good: a `harmless` for a combination that a message named
    """
    solved = proof.solved
    for found in solved.rig.harmless:
        excused = any(
            handset == found.handset
            and row.harmless
            and (row.unasked or between(row))
            and all(place in row.places for place in found.places)
            for (handset, _), rows in solved.joint.items()
            for row in rows
        )
        if not excused:
            yield Finding(
                found.span,
                "nothing is said of this combination, so there is nothing to excuse",
                "take the line out",
            )


@claim("RC423", Severity.WARNING)
def combination_outside_bands(proof: Proof) -> Iterator[Finding]:
    """
    Reports: two controls of one channel that together land between the bands of an input, or on its limit.
    Why: what the device does there is not known.
    Bad: two switches of 60 % and 70 % on one channel into bands that end at 118 %
    Good: the mix with `while OTHER-SWITCH middle`
    """
    for (handset, channel), rows in proof.solved.joint.items():
        if any(told(row) and not row.cut_short for row in rows):
            continue  # one table, one message; a rest says too little of a gap
        alone = {row.level.percent for row in proof.solved.results[handset, channel].rows}
        lost = [row for row in rows if row.level.percent not in alone and between(row) and not row.harmless]
        if lost:
            unit = proof.solved.rig.units[handset]
            yield Finding(
                unit.channels[channel].span,
                f"together, {listed([_shown(row) for row in lost[:2]])}",
                cure(proof, unit, channel),
                tuple(Related(mix.span, "the mix") for mix in mixes_into(unit, channel)),
            )


def _shown(row: JointRow) -> str:
    places = " with ".join(f"`{control}.{place.name}`" for control, place in row.places)
    states = [f"`{reading.state}`" if reading.state else "no state" for reading in row.readings]
    return f"{places} gives {signed_percent(row.level.percent)}, {' and '.join(states)}"
