"""Claims that every `expect` comes true, and that the end of a sweep is reached."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import CENTRE, Band, Expectation, Sweep
from rigcard.resolve.targets import Target
from rigcard.solve.bearing import borne_on, freed_by, scaled_turns
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import contributors, level_at, read
from rigcard.solve.remedies import elsewhere, line_hint, open_hint
from rigcard.solve.reversal import turn_hint
from rigcard.solve.solved import Reading, part_of_way
from rigcard.solve.targets import targets
from rigcard.solve.unwished import unsaid
from rigcard.words import decimal, listed, percent, signed_percent


@claim("RC411", Severity.ERROR)
def expectation_fails(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an `expect` that does not come true.
    Why: the operator would move the control and the rig would do something else.
    Bad: expect hs.left-flip.away gives cam.run, with the switch wired the other way round
    Good: expect hs.left-flip.toward gives cam.run, or `reverse auto` on the channel
    """
    rig, links = proof.solved.rig, proof.solved.links
    for expectation in rig.expectations:
        found = targets(rig, links, expectation)
        asked = f"`{expectation.handset}.{expectation.control}.{expectation.position.name}`"
        wanted = f"`{'.'.join((expectation.unit, *expectation.wanted))}`"
        if not found:
            cause, hint = _astray(proof, expectation) or elsewhere(proof, expectation)
            yield Finding(expectation.span, f"nothing leads from {asked} to {wanted}{cause}", hint)
            continue
        causes = [miss(proof, expectation, target) for target in found]
        commanded = any(target.feed.unit != expectation.unit for target in found)
        if all(causes) or (any(causes) and not commanded):
            missed = next(at for at, cause in enumerate(causes) if cause)
            channel = rig.units[expectation.handset].channels[found[missed].feed.channel]
            missing = _reading(proof, expectation, found[missed])
            held = _held_hint(proof, expectation, found[missed]) or _scaled_hint(
                proof, expectation, found[missed]
            )
            yield Finding(
                expectation.span,
                f"{asked} does not give {wanted}{_meanwhile(expectation)}: {causes[missed]}",
                held
                or turn_hint(proof, expectation, found[missed], missing)
                or line_hint(proof, found[missed])
                or open_hint(channel),
                (Related(channel.span, "its channel"),),
            )


def _meanwhile(expectation: Expectation) -> str:
    stands = [f"`{place}`" for place in expectation.meanwhile]
    return f" with {listed(stands)}" if stands else ""


def _held_hint(proof: Proof, expectation: Expectation, target: Target) -> str:
    """The remedy where another input of the unit holds the one that is meant still."""
    if not _reading(proof, expectation, target).held:
        return ""
    for mode, free in freed_by(proof.solved, target.feed):
        if free:
            control = proof.solved.results[mode.handset, mode.channel].control.name
            return _stands_hint(expectation, mode.handset, control, free[0].name)
    return "give the mode a position in which it does not hold the input still"


def _stands_hint(expectation: Expectation, handset: str, control: str, position: str) -> str:
    """The remedy that says where another control stands meanwhile."""
    name = control if handset == expectation.handset else f"{handset}.{control}"
    if any(place.startswith(f"{name}.") for place in expectation.meanwhile):
        return f"write `{name} {position}` in the `while` of the `expect`"
    also = ", " if expectation.meanwhile else "while "
    return f"write `{also}{name} {position}` at the end of the `expect`"


def _slowed(reading: Reading, end: str) -> bool:
    """Whether an axis turns towards an end, and only what another input leaves of its turn is too little."""
    sweep = reading.feed.input.sweep
    if sweep is None or end == CENTRE:
        return False
    part = part_of_way(sweep, reading.heard)
    return part >= _least(sweep) > part * reading.share


def _scaled_hint(proof: Proof, expectation: Expectation, target: Target) -> str:
    """The remedy where another input of the unit scales the turn of the one that is meant too far down."""
    reading = _reading(proof, expectation, target)
    if not _slowed(reading, target.end):
        return ""
    solved = proof.solved
    for feed in solved.bearers[target.feed.unit, target.feed.input.name]:
        if feed.input.sweep is None:
            continue
        control = solved.results[feed.handset, feed.channel].control
        turns = [turn for axis, turn in scaled_turns(solved, feed) if axis == target.feed]
        moved = (feed.handset, control.name) == (expectation.handset, expectation.control)
        if turns and not moved:
            fastest = max(turns[0], key=lambda placed: placed[1])[0].name
            return _stands_hint(expectation, feed.handset, control.name, fastest)
    return f"raise the lower end of `scales {target.feed.input.name}` in the model of `{target.feed.unit}`"


def _astray(proof: Proof, expectation: Expectation) -> tuple[str, str] | None:
    """Where a command is made that a claim wants and goes elsewhere: by another port, or to a unit that obeys others."""
    solved = proof.solved
    unit, name = solved.rig.units[expectation.unit], expectation.wanted[0]
    if name in unit.model.commands and name not in unit.commands:
        obeyed = ", ".join((*unit.commands, name))
        return f": `{unit.name}` does not obey `{name}`", f"write `obeys {obeyed}` in its block"
    handset = solved.rig.units[expectation.handset]
    for feed in solved.links.feeds_from(handset.name):
        controls = [control.name for control in contributors(handset, handset.channels[feed.channel])]
        if expectation.control not in controls or name not in feed.input.commands:
            continue
        for (sender, port), links in solved.links.by_port.items():
            here = [link for link in links if link.receiver == unit.name]
            if sender == feed.unit and port not in feed.input.sends and here:
                leaves = ", ".join(f"`{sender}.{own}`" for own in feed.input.sends)
                lead = here[0].route[0].leg.id
                return (
                    f": `{name}` leaves by {leaves}, and {lead} to `{unit.name}` is in `{sender}.{port}`",
                    f"plug {lead} into {leaves.split(', ')[0]}",
                )
    return unsaid(solved.rig, solved.links, unit)


def _reading(proof: Proof, expectation: Expectation, target: Target) -> Reading:
    solved = proof.solved
    unit = solved.rig.units[expectation.handset]
    values = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
    values.update(expectation.places())
    level = level_at(unit, unit.channels[target.feed.channel], values, proof.dials).percent
    reading = read(solved.rig, solved.links, target.feed, level)
    standing = {**solved.power_up_positions, **dict(expectation.elsewhere)}
    return borne_on(solved.rig, solved.bearers, reading, values, standing, proof.dials)


LEAST_TURN = Fraction(
    5, 100
)  # of the way outside the dead band, for an axis with a rest (common practice, no source)
LEAST_WAY = Fraction(10, 100)  # of the way, for a ring or an axis without one (common practice, no source)
END = Fraction(90)  # per cent of the way that count as the end, unless the model says `reached at`


def _least(sweep: Sweep) -> Fraction:
    """The part of the way that counts as moved."""
    return LEAST_WAY if sweep.rest is None else LEAST_TURN


def miss(proof: Proof, expectation: Expectation, target: Target) -> str:
    """Why an expectation does not come true at a target; "" if it does."""
    reading, sweep = _reading(proof, expectation, target), target.feed.input.sweep
    part = part_of_way(sweep, reading.heard) if sweep else Fraction(1)
    if target.band:
        good = reading.band is target.band or target.band in reading.either  # RC471 is for a shared edge
        wanted = f"{band_range(target.band)} is wanted"
    else:
        good = reading.state == target.end if target.end else reading.state != CENTRE
        wanted = f"`{target.end or target.feed.input.name}` is wanted"
    if good and reading.held:
        return f"`{reading.held}` of `{target.feed.unit}` holds `{target.feed.input.name}` still meanwhile"
    if good and sweep and target.end != CENTRE and part < _least(sweep):
        return (
            f"`{target.feed.unit}` hears {heard_as(reading)}, {percent(part * 100)} of the way to `{reading.state}`, "
            f"and less than {percent(_least(sweep) * 100)} counts as not moved"
        )
    if good and sweep and _slowed(reading, target.end):
        names = [
            f"`{feed.input.name}`"
            for feed in proof.solved.bearers[target.feed.unit, target.feed.input.name]
            if feed.input.sweep
        ]
        return (
            f"{listed(names)} of `{target.feed.unit}` leaves `{target.feed.input.name}` {percent(reading.share * 100)} "
            f"of its turn meanwhile, and less than {percent(_least(sweep) * 100)} of its turn in all counts as not moved"
        )
    if good:
        return ""
    unit = f"`{target.feed.unit}`"
    if target.feed.turned and not target.feed.flipped:
        unit = f"reversed at {unit}, it"
    elif target.feed.flipped and not target.feed.turned:
        unit += " hangs underslung, so it"
    return f"{unit} hears {heard_as(reading)}, which is {state_as(reading)}{_by_line(reading)}; {wanted}"


def _by_line(reading: Reading) -> str:
    """What the line, or a learned neutral, made of a level, where that moved it to another state."""
    exact = next((band for band in reading.feed.input.bands if band.holds(reading.exact)), None)
    if reading.code is not None and exact is not reading.band:
        return f" (code {reading.code} stands for it: the line does not carry {signed_percent(reading.exact)})"
    if reading.feed.zero:
        return f" (it learned {signed_percent(reading.feed.zero)} as its zero)"
    return ""


@claim("RC472", Severity.WARNING)
def end_not_reached(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an `expect` of an end of a sweep whose level comes less than 90 % of the way, or less than `reached at`.
    Why: the iris stays half open, the zoom never gets to its end, and the operator turns the control no farther.
    Bad: channel 4 iris from left-slider travel 60% / 60%, and expect hs.left-slider.high gives iris-bridge.iris.open
    Good: the same with travel 100% / 100%, or `reached at 60%` in the `sweeps` line if that is the end
    """
    rig, links = proof.solved.rig, proof.solved.links
    for expectation in rig.expectations:
        for target in targets(rig, links, expectation):
            sweep = target.feed.input.sweep
            if sweep is None or target.end in ("", CENTRE) or miss(proof, expectation, target):
                continue
            channel = rig.units[expectation.handset].channels[target.feed.channel]
            aimed = any(
                (channel.control, aim.position) == (expectation.control, expectation.position)
                for aim in channel.aims
            )
            if aimed or (sweep.rest is not None and sweep.reached is None):
                continue  # the level is what the file asks for; a slower turn is a turn
            reading = _reading(proof, expectation, target)
            part, enough = part_of_way(sweep, reading.heard) * 100, sweep.reached or END
            if part < enough:
                yield Finding(
                    expectation.span,
                    f"`{expectation.control}.{expectation.position.name}` brings `{target.feed.input.name}` of "
                    f"`{target.feed.unit}` {percent(part)} of the way to `{target.end}`, and {percent(enough)} counts as "
                    "the end",
                    f"write `travel auto` on channel `{channel.name}`, or `reached at {decimal(part, 2)}%` in the "
                    "`sweeps` line if the device is at its end there",
                    (Related(channel.span, "its channel"),),
                )


def band_range(band: Band) -> str:
    """A band with its edges in per cent, for a message."""
    return f"`{band.name}` from {percent(band.low)} to {percent(band.high)}"


def heard_as(reading: Reading) -> str:
    """The level that an input hears, in per cent, for a message."""
    return signed_percent(reading.heard)


def state_as(reading: Reading) -> str:
    """The state that a level gives, for a message."""
    return f"`{reading.state}`" if reading.state else "outside every band"
