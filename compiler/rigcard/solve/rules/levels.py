"""Claims on levels: expectations, bands, rest, limits."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import Feed
from rigcard.resolve.model import CENTRE, Band, Expectation, Position, Rig, Sweep
from rigcard.resolve.targets import Target
from rigcard.solve.bearing import borne_on, freed_by, scaled_turns
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import contributors, heard, level_at, reach, read, trim_throw
from rigcard.solve.power_up import all_tried, rests_alone
from rigcard.solve.remedies import elsewhere, line_hint, open_hint
from rigcard.solve.reversal import turn_hint
from rigcard.solve.solved import ChannelResult, Reading, Row, part_of_way
from rigcard.solve.targets import targets
from rigcard.solve.unwished import unsaid
from rigcard.words import MINUS, decimal, listed, microseconds, percent, signed_percent


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
        misses = [_miss(proof, expectation, target) for target in found]
        commanded = any(target.feed.unit != expectation.unit for target in found)
        if all(misses) or (any(misses) and not commanded):
            missed = next(at for at, miss in enumerate(misses) if miss)
            channel = rig.units[expectation.handset].channels[found[missed].feed.channel]
            missing = _reading(proof, expectation, found[missed])
            held = _held_hint(proof, expectation, found[missed]) or _scaled_hint(
                proof, expectation, found[missed]
            )
            yield Finding(
                expectation.span,
                f"{asked} does not give {wanted}{_meanwhile(expectation)}: {misses[missed]}",
                held
                or turn_hint(proof, expectation, found[missed], missing)
                or line_hint(proof, found[missed])
                or open_hint(channel),
                (Related(channel.span, "its channel"),),
            )


def _meanwhile(expectation: Expectation) -> str:
    stands = [f"`{control}.{position.name}`" for control, position in expectation.conditions]
    return f" with {listed(stands)}" if stands else ""


def _held_hint(proof: Proof, expectation: Expectation, target: Target) -> str:
    """The remedy where another input of the unit holds the one that is meant still."""
    if not _reading(proof, expectation, target).held:
        return ""
    for mode, free in freed_by(proof.solved, target.feed):
        if free and mode.handset == expectation.handset:
            control = proof.solved.results[mode.handset, mode.channel].control.name
            also = ", " if expectation.conditions else " while "
            return f"write{also}`{control} {free[0].name}` at the end of the `expect`".replace(
                " while `", " `while "
            )
    return "give the mode a position in which it does not hold the input still"


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
    solved, stated = proof.solved, dict(expectation.conditions)
    for feed in solved.bearers[target.feed.unit, target.feed.input.name]:
        if feed.input.sweep is None:
            continue
        control = solved.results[feed.handset, feed.channel].control
        turns = [turn for axis, turn in scaled_turns(solved, feed) if axis == target.feed]
        if feed.handset == expectation.handset and control.name != expectation.control and turns:
            fastest = max(turns[0], key=lambda placed: placed[1])[0].name
            if control.name in stated:
                return f"write `{control.name} {fastest}` in the `while` of the `expect`"
            also = ", " if stated else "while "
            return f"write `{also}{control.name} {fastest}` at the end of the `expect`"
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
    return borne_on(solved.rig, solved.bearers, reading, values, solved.power_up_positions, proof.dials)


LEAST_TURN = Fraction(
    5, 100
)  # of the way outside the dead band, for an axis with a rest (common practice, no source)
LEAST_WAY = Fraction(10, 100)  # of the way, for a ring or an axis without one (common practice, no source)
END = Fraction(90)  # per cent of the way that count as the end, unless the model says `reached at`


def _least(sweep: Sweep) -> Fraction:
    """The part of the way that counts as moved."""
    return LEAST_WAY if sweep.rest is None else LEAST_TURN


def _miss(proof: Proof, expectation: Expectation, target: Target) -> str:
    """Why an expectation does not come true at a target; "" if it does."""
    reading, sweep = _reading(proof, expectation, target), target.feed.input.sweep
    part = part_of_way(sweep, reading.heard) if sweep else Fraction(1)
    if target.band:
        good = reading.band is target.band or target.band in reading.either  # RC471 is for a shared edge
        wanted = f"{_range(target.band)} is wanted"
    else:
        good = reading.state == target.end if target.end else reading.state != CENTRE
        wanted = f"`{target.end or target.feed.input.name}` is wanted"
    if good and reading.held:
        return f"`{reading.held}` of `{target.feed.unit}` holds `{target.feed.input.name}` still meanwhile"
    if good and sweep and target.end != CENTRE and part < _least(sweep):
        return (
            f"`{target.feed.unit}` hears {_heard(reading)}, {percent(part * 100)} of the way to `{reading.state}`, "
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
    return f"{unit} hears {_heard(reading)}, which is {_state(reading)}{_by_line(reading)}; {wanted}"


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
            if sweep is None or target.end in ("", CENTRE) or _miss(proof, expectation, target):
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


def _range(band: Band) -> str:
    return f"`{band.name}` from {percent(band.low)} to {percent(band.high)}"


def _heard(reading: Reading) -> str:
    return signed_percent(reading.heard)


def _position(row: Row) -> str:
    """A position as messages name it, with where other controls stand meanwhile."""
    places = ((row.control, row.position), *row.conditions)
    return " with ".join(f"`{control}.{position.name}`" for control, position in places)


def _state(reading: Reading) -> str:
    return f"`{reading.state}`" if reading.state else "outside every band"


@claim("RC412", Severity.ERROR)
def level_outside_bands(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a position of a switch whose level lies in no band of an input.
    Why: nobody knows what a device does between its bands; it may hold, guess or stop.
    Bad: a switch at +-90 % into bands that end at -60 % and begin at 60 %, with 0 % in the middle unclaimed
    Good: a band for every position, or travel and sub-trim that put each level inside one
    """
    expected = _expected(proof)
    for result, row, reading in _readings(proof):
        known = (reading.feed, _place(row)) in expected or reading.feed in proof.restless
        if reading.band or not reading.feed.input.bands or known or row.level.clipped:
            continue
        bands = listed([_range(band) for band in reading.feed.input.bands])
        yield Finding(
            proof.solved.rig.units[result.handset].channels[result.name].span,
            f"{_position(row)} gives {_heard(reading)} at `{reading.feed.input.name}` of "
            f"`{reading.feed.unit}`, outside every band",
            f"change travel, sub-trim or mix so that it lands in one of them: {bands}",
            (Related(reading.feed.input.span, "the bands"),),
        )


Place = tuple[str, Position, frozenset[tuple[str, Position]]]  # control, position, conditions


def _place(row: Row) -> Place:
    return row.control, row.position, frozenset(row.conditions)


def _expected(proof: Proof) -> set[tuple[Feed, Place]]:
    """Inputs and positions that an expectation speaks of: if they miss, that is reported there."""
    rig, links, found = proof.solved.rig, proof.solved.links, set()
    for wish in rig.expectations:
        handset = rig.units[wish.handset]
        for target in targets(rig, links, wish):
            bearing = {one.name for one in contributors(handset, handset.channels[target.feed.channel])}
            moved = (
                (name, place)
                for name, place in wish.conditions
                if name in bearing and proof.solved.power_up_positions[wish.handset, name] != place
            )
            found.add((target.feed, (wish.control, wish.position, frozenset(moved))))
    return found


def _readings(proof: Proof) -> Iterator[tuple[ChannelResult, Row, Reading]]:
    for result in proof.solved.results.values():
        for row in result.rows:
            for reading in row.readings:
                yield result, row, reading


@claim("RC413", Severity.ERROR)
def no_rest_position(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an input that must see rest at power-up, although no position of its controls gives rest.
    Why: the adapter locks up, or a key is held down from the first second.
    Bad: ready -30%..30% rest, fed by a two-position switch at +-90 %
    Good: the same input fed by a three-position switch, whose middle gives 0 %
    """
    rig = proof.solved.rig
    for feed in proof.restless:
        handset = rig.units[feed.handset]
        channel = handset.channels[feed.channel]
        sweep = feed.input.sweep
        rests = [_range(band) for band in feed.input.bands if band.rest]
        wanted = f"{percent(sweep.rest)}" if sweep and sweep.rest is not None else " or ".join(rests)
        others = restless_together(proof, feed)
        together = [f"`{other.input.name}` of `{other.unit}`" for other in others]
        found = "gives that" if all_tried(handset, [feed, *others]) else "was found that gives that"
        why = f"no position of `{channel.control}` {found}"
        if handset.model.controls[channel.control].springs:
            why = f"`{channel.control}`, which springs back, does not rest there"
        if together:
            why = f"no position {found} and the rest of {listed(together)} as well"
        yield Finding(
            channel.span,
            f"`{feed.input.name}` of `{feed.unit}` must see {wanted} at power-up, and {why}",
            "change travel or sub-trim, or use a control that has such a position",
            (Related(feed.input.span, "the input"),),
        )


def restless_together(proof: Proof, feed: Feed) -> list[Feed]:
    """The other inputs that fail with this one and share its controls, if each of them alone could rest."""
    rig = proof.solved.rig
    handset = rig.units[feed.handset]
    own = contributors(handset, handset.channels[feed.channel])
    if rests_alone(rig, handset, feed, proof.solved.power_up_positions, proof.dials):
        return [
            other
            for other in proof.restless
            if other != feed
            and other.handset == feed.handset
            and any(control in own for control in contributors(handset, handset.channels[other.channel]))
        ]
    return []


@claim("RC414", Severity.WARNING)
def level_clipped(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a position whose level the handset cuts off at its output limit.
    Why: two positions may give the same level, and the level on the card is not the sum of the dialled values.
    Bad: travel 65% / 120% subtrim 60, on a handset where 80 steps are 12 %, with output -125%..125%
    Good: travel 65% / 115% subtrim 60
    """
    for result in proof.solved.results.values():
        for row in result.rows:
            if row.level.clipped:
                yield Finding(
                    proof.solved.rig.units[result.handset].channels[result.name].span,
                    f"{_position(row)} asks for {percent(row.level.wanted)}, and the handset "
                    f"stops at {percent(row.level.percent)}",
                    "take travel or sub-trim back by the difference",
                )


@claim("RC415", Severity.WARNING)
def margin_below_guard(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a level nearer to the edge of its band than the rig's `guard`; without one, a level on the edge itself,
        unless the handset cannot go beyond it.
    Why: a knocked trim, a cold handset or another receiver moves the level and changes the state. Where the handset has trim levers, the margin is counted after one throw of a trim.
    Bad: guard 5%, and a level of 52 % in a band that begins at 50 %
    Good: guard 5%, and the level at 64 %
    """
    rig = proof.solved.rig
    told: set[tuple[str, str]] = set()  # one message a channel, for its smallest margin
    for left, key, places, reading in sorted(_margins(proof), key=lambda item: item[0]):
        if (left >= rig.guard and not _on_edge(rig, left, reading)) or key in told or reading.either:
            continue
        told.add(key)
        assert reading.band is not None
        throw = reading.margin - left if reading.margin is not None else Fraction(0)
        yield Finding(
            rig.units[key[0]].channels[key[1]].span,
            f"{places} gives {_heard(reading)}, {_inside(left + throw)} "
            f"`{reading.band.name}` ({percent(reading.band.low)} to {percent(reading.band.high)})"
            f"{f', and one throw of a trim is {percent(throw)}' if throw else ''}; "
            f"{f'the guard is {percent(rig.guard)}' if rig.guard else 'a pulse that is a little off leaves it'}",
            "move the level with travel or sub-trim, or use `auto`",
            (Related(reading.band.span, "the band"),),
        )


def _inside(margin: Fraction) -> str:
    return f"{percent(margin)} inside" if margin else "just on the edge of"


def _on_edge(rig: Rig, left: Fraction, reading: Reading) -> bool:
    """Whether nothing is left to an edge that the handset can go beyond.

    The last band to either side counts as open if it ends at 100 % or beyond (common practice, no source).
    """
    bands = reading.feed.input.bands
    ends = (min(band.low for band in bands), max(band.high for band in bands))
    if abs(reading.heard) >= 100 and reading.heard in ends:
        return False
    arithmetic = rig.units[reading.feed.handset].model.arithmetic
    assert arithmetic is not None
    limits = (
        heard(rig, reading.feed, arithmetic.output_low),
        heard(rig, reading.feed, arithmetic.output_high),
    )
    return left <= 0 and min(limits) < reading.heard < max(limits)


def _margins(proof: Proof) -> Iterator[tuple[Fraction, tuple[str, str], str, Reading]]:
    """(margin less a trim's throw, channel, positions, reading) of every level in a band; no trim moves a failsafe."""
    for loss in proof.solved.losses:
        if loss.reading and loss.reading.margin is not None:
            yield loss.reading.margin, (loss.feed.handset, loss.feed.channel), "failsafe", loss.reading
    for result, row, reading in _readings(proof):
        if reading.margin is not None:
            left = reading.margin - trim_throw(proof.solved, reading)
            yield left, (result.handset, result.name), _position(row), reading
    for key, rows in proof.solved.joint.items():
        for joint in rows:
            places = " with ".join(f"`{control}.{place.name}`" for control, place in joint.places)
            for reading in joint.readings:
                if reading.margin is not None:
                    yield reading.margin - trim_throw(proof.solved, reading), key, places, reading


@claim("RC470", Severity.ERROR)
def states_share_code(proof: Proof) -> Iterator[Finding]:
    """
    Reports: two levels that belong to two states of an input and leave as one code on the serial line.
    Why: the line is cut at its field, or counts too coarsely: the device cannot tell the two apart.
    Bad: levels of -150 % and -125 % over counts whose least code stands for -121 %
    Good: levels that lie within what the line carries
    """
    solved = proof.solved
    for feed in solved.links.feeds:
        result = solved.results[feed.handset, feed.channel]
        told = [
            (_position(row), reading) for row in result.rows for reading in row.readings if reading.feed == feed
        ]
        told += [("failsafe", loss.reading) for loss in solved.losses if loss.feed == feed and loss.reading]
        meant: dict[int | None, tuple[str, Reading, Band]] = {}
        for place, reading in told:
            band = next((band for band in feed.input.bands if band.holds(reading.exact)), None)
            if reading.code is None or band is None:
                continue
            first, other, wanted = meant.setdefault(reading.code, (place, reading, band))
            if wanted is not band and not _failing(proof) & {(result.handset, first), (result.handset, place)}:
                yield Finding(
                    solved.rig.units[result.handset].channels[result.name].span,
                    f"{first}, meant for `{wanted.name}`, and {place}, meant for `{band.name}`, are one code on the line "
                    f"to `{feed.unit}`: {reading.code}, {signed_percent(reading.heard)}",
                    f"bring the levels, {signed_percent(other.exact)} and {signed_percent(reading.exact)} as heard, within "
                    "what the line carries, with travel or sub-trim",
                    (Related(feed.input.span, "the input"),),
                )
                break


def _failing(proof: Proof) -> set[tuple[str, str]]:
    """The handset and position of each expectation that a level breaks, which is told there."""
    return {
        (claim_.handset, f"`{claim_.control}.{claim_.position.name}`")
        for claim_ in proof.solved.rig.expectations
        for target in targets(proof.solved.rig, proof.solved.links, claim_)
        if _miss(proof, claim_, target)
    }


@claim("RC471", Severity.WARNING)
def level_on_shared_edge(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a level that lies exactly on the edge that two bands share.
    Why: both ends of a band belong to it, so the device may take either state, a different one each day.
    Bad: a level of -25 % into bands that end and begin at -25 %
    Good: a level of -40 %, inside one of them
    """
    told: set[tuple[str, str]] = set()
    for _, key, places, reading in _margins(proof):
        if reading.either and key not in told:
            told.add(key)
            both = [f"`{band.name}`" for band in reading.either]
            yield Finding(
                proof.solved.rig.units[key[0]].channels[key[1]].span,
                f"{places} gives {_heard(reading)} at `{reading.feed.input.name}` of `{reading.feed.unit}`, the edge "
                f"that {listed(both)} share: either may come",
                "move the level off the edge with travel or sub-trim, or use `auto`",
                (Related(reading.either[-1].span, "one of the two bands"),),
            )


@claim("RC416", Severity.ERROR)
def command_not_understood(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a position that makes an adapter send a command that the unit at the other end does not have.
    Why: the switch does nothing, and the fault is looked for in the wiring.
    Bad: a bridge that sends soft-2 to a camera whose model has no `command soft-2`
    Good: command soft-2 ... in the camera's model, or a level that gives another key
    """
    rig = proof.solved.rig
    told: set[tuple[str, str]] = set()
    for result, row, reading in _readings(proof):
        orders = proof.solved.links.orders_of(reading.feed)
        name = reading.feed.input.name if reading.feed.input.sweep else reading.state
        silent = reading.band is not None and reading.band.rest
        if not orders or not name or silent or reading.effects or (reading.feed.unit, name) in told:
            continue
        told.add((reading.feed.unit, name))
        receivers = list(dict.fromkeys(order.receiver for order in orders))
        known = sorted({command for receiver in receivers for command in rig.units[receiver].commands})
        yield Finding(
            rig.units[result.handset].channels[result.name].span,
            f"`{row.control}.{row.position.name}` makes `{reading.feed.unit}` send `{name}`, and "
            f"{_not_obeying(rig, receivers, name)}",
            _obey_hint(rig, receivers, name)
            or f"add `command {name}` to its model; it knows {', '.join(known) or 'none'}".replace(MINUS, "-"),
            (Related(reading.feed.input.span, "the input that sends it"),),
        )


def _not_obeying(rig: Rig, receivers: list[str], name: str) -> str:
    """Why a command is for nobody at the ends of the leads."""
    titles = listed([f"`{receiver}`" for receiver in receivers])
    if any(name in rig.units[receiver].model.commands for receiver in receivers):
        return f"{titles} {'do' if len(receivers) > 1 else 'does'} not obey it"
    return f"{titles} {'do' if len(receivers) > 1 else 'does'} not know that command"


def _obey_hint(rig: Rig, receivers: list[str], name: str) -> str:
    """Where a model knows the command, and its unit obeys others."""
    for receiver in receivers:
        unit = rig.units[receiver]
        if name in unit.model.commands:
            return f"write `obeys {', '.join((*(unit.obeys or ()), name))}` in the block of `{receiver}`"
    return ""


@claim("RC418", Severity.ERROR)
def pulse_outside_window(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a level whose pulse is shorter or longer than what the listener takes for a pulse (`reads` in its model).
    Why: it may be read as no signal at all, and the device falls into its failsafe in the middle of a move.
    Bad: a level of -115 % at 5 us per 1 %, which is 925 us, into a model that `reads 1000us..2000us`
    Good: travel that ends at -100 %
    """
    solved = proof.solved
    for feed in solved.links.feeds:
        handset, listener = solved.rig.units[feed.handset], solved.rig.units[feed.unit]
        window, arithmetic = listener.model.window, handset.model.arithmetic
        if window is None or arithmetic is None or solved.rig.signal_at(feed.plug).kind != "servo":
            continue
        channel = handset.channels[feed.channel]
        values = {name: solved.power_up_positions[handset.name, name] for name in handset.model.controls}
        levels = [level.percent for level in reach(handset, channel, proof.dials, values)]
        if isinstance(channel.failsafe, Fraction):
            levels.append(channel.failsafe)
        pulses = sorted((arithmetic.pulse.width(level), level) for level in levels)
        for pulse, level in (pulses[0], pulses[-1]):
            if not window[0] <= pulse <= window[1]:
                edge = window[0] if pulse < window[0] else window[1]
                yield Finding(
                    channel.span,
                    f"channel `{channel.name}` comes to {signed_percent(level)}, a pulse of {microseconds(pulse)}, and "
                    f"`{feed.unit}` reads {microseconds(window[0])} to {microseconds(window[1])}: it may be taken for no signal",
                    f"keep the level at {signed_percent(arithmetic.pulse.level(edge))} or nearer to centre, with travel or sub-trim",
                    (Related(feed.input.span, "the input"),),
                )
                break


@claim("RC417", Severity.ERROR)
def aim_missed(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a level named by `aims` that the stated values do not give.
    Why: the card would print a wish and a value that contradict each other.
    Bad: aims away 63%, toward -52% travel 100% / 100%
    Good: aims away 63%, toward -52% travel auto subtrim auto reverse auto
    """
    solved = proof.solved
    for unit in solved.rig.units.values():
        arithmetic = unit.model.arithmetic
        for channel in unit.channels.values():
            for aim in channel.aims:
                assert arithmetic is not None
                values = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
                values[channel.control] = aim.position
                level = level_at(unit, channel, values, proof.dials).percent
                if abs(level - aim.level) > max(arithmetic.travel_step, arithmetic.subtrim_step):
                    yield Finding(
                        aim.span,
                        f"`{channel.control}.{aim.position.name}` gives {signed_percent(level)}, "
                        f"and {signed_percent(aim.level)} is aimed at",
                        "write `travel auto subtrim auto reverse auto` instead of the stated values",
                        (Related(channel.span, "the channel"),),
                    )
