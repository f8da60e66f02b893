"""Power-up and power-down in their true order. No setting is changed on these cards."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents.base.language import listed, say, say_count
from rigcard.documents.base.layout import (
    BODY,
    LARGE,
    TICK,
    Block,
    Cell,
    columns_for,
    heading,
    joined,
    paragraph,
    row,
    space,
    table,
)
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import control_title, place, recording, seen, sentence, stand, the
from rigcard.documents.cards import cautions
from rigcard.documents.cards.actions import Action, warned_steps
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.losing_power import around, camera_on, pressed_units
from rigcard.documents.cards.moves import stays_put
from rigcard.documents.cards.sticks import titles_of
from rigcard.documents.cards.swaps import swaps
from rigcard.resolve.model import Unit
from rigcard.solve.loss import STANDBY, is_toggle
from rigcard.solve.power.circuits import Circuit, circuits, givers
from rigcard.solve.solved import Solved, WrongStart
from rigcard.words import decimal

MAY_HAVE_SWITCH = ("head", "camera", "monitor", "sender")  # no model says so: common practice, no source
SCREENS = ("monitor", "sender", "other")
RIGGING, CLEAR, REACH, POWER, PLUG, HEAD, CALL = "rigging", "clear", "reach", "power", "plug", "head", "call"
ABOVE = {  # the steps that a caution belongs to, the first that the card has
    "overhead": (RIGGING, REACH, CLEAR, HEAD, POWER),
    "airborne": (CLEAR, HEAD, POWER),
    "vehicle": (CLEAR, HEAD, POWER),
    "public": (CLEAR, HEAD, POWER),
    "water": (PLUG, POWER),
    "mains": (PLUG, POWER),
    "moving-parts": (REACH, HEAD, POWER),
}
Step = tuple[str, Action]  # what kind of step it is, and the step


def power_up(face: Typeface, inner: float, solved: Solved) -> Group:
    """Set the positions of controls first, then the order of switching on, the head last."""
    blocks = [
        block for handset in _units(solved, "handset") for block in _positions(face, inner, solved, handset)
    ]
    blocks += [
        heading(face, say("Then, in this order") if blocks else say("In this order"), inner),
        warned_steps(face, inner, _warned(solved, "power-up", _actions(solved))),
        paragraph(
            face, say("Anything different? STOP. Call the technician. Change nothing."), inner, bold=True
        ),
    ]
    if solved.wrong_starts:
        rows = [_wrong(solved, start) for start in solved.wrong_starts]
        head = (say("WAS AT"), say("WHAT HAPPENS"))
        blocks.append(
            joined(
                heading(face, say("If a control was in the wrong position (worst first)"), inner),
                table(face, head, rows, columns_for(face, head, rows, inner)),
            )
        )
    title = say("the head last") if any(_units(solved, "head")) else say("one after the other")
    return Group(say("POWER UP"), title, tuple(blocks))


def power_down(face: Typeface, inner: float, solved: Solved) -> Group:
    """Set the order of switching off, the motors first; then what each swap of the day needs."""
    actions = _warned(solved, "power-down", _power_down_actions(solved))
    blocks = [warned_steps(face, inner, actions), *swaps(face, inner, solved)]
    return Group(say("POWER DOWN"), say("and swaps"), tuple(blocks))


def _units(solved: Solved, *roles: str) -> list[Unit]:
    return [unit for unit in solved.rig.units.values() if unit.role in roles]


def _warned(solved: Solved, card: str, steps: Sequence[Step]) -> list[Action]:
    """Return the steps, each hazard's caution above the step that it belongs to; the last step always exists."""
    above: dict[int, list[str]] = {}
    kinds = [kind for kind, _ in steps]
    for hazard in cautions.present(card, solved.rig):
        kind = next((kind for kind in ABOVE[hazard] if kind in kinds), kinds[-1])
        above.setdefault(kinds.index(kind), []).append(cautions.LINES[hazard].text)
    return [action._replace(cautions=tuple(above.get(at, ()))) for at, (_, action) in enumerate(steps)]


# ---- power-up ------------------------------------------------------------------------------------------------


def _positions(face: Typeface, inner: float, solved: Solved, handset: Unit) -> list[Block]:
    rows = []
    springs = []
    for control in handset.model.controls.values():
        if (handset.name, control.name) not in solved.needed:
            continue
        position = solved.power_up_positions[handset.name, control.name]
        if control.springs and position.value == 0:
            springs.append(control.name)
        else:
            rows.append([TICK, Cell(stand(control, position), LARGE, True), Cell(control.title, BODY)])
    blocks = []
    title = say("BEFORE POWER: set {handset}", handset=the(handset.title))
    hands_off = (
        say("{controls}: do not touch.", controls=listed(titles_of(solved.rig, handset.name, springs)))
        if springs
        else ""
    )
    if rows:
        pieces = [piece for cells in rows for piece in row(face, cells, (9.0, 40.0, inner - 49.0), pad=0.4)]
        blocks.append(joined(heading(face, title, inner), Block(tuple(pieces)), space(1.5)))
    rest = _rest(solved, handset)
    if rest and not rows:
        blocks.append(joined(heading(face, title, inner), paragraph(face, rest, inner, whole=True)))
    elif rest:
        blocks.append(paragraph(face, say("The rest: {controls}", controls=rest), inner, gap=0.8))
    if hands_off:
        blocks.append(paragraph(face, hands_off, inner, gap=2.0))
    return blocks


def _rest(solved: Solved, handset: Unit) -> str:
    """Return where the other controls in use stand that stay where they are put; "" without any."""
    places = [
        say(
            "{control} {position}",
            control=control.title,
            position=stand(control, solved.power_up_positions[handset.name, control.name]),
        )
        for control in stays_put(solved, handset)
        if (handset.name, control.name) not in solved.needed
    ]
    return f"{'; '.join(places)}." if places else ""


def _wrong(solved: Solved, start: WrongStart) -> list[Cell]:
    control = control_title(solved.rig, start.handset, start.control)
    then = [
        say("a take starts or stops") if is_toggle(reading) else seen(solved, reading)
        for reading in start.readings
    ]
    for feed, state in start.learned:
        then.append(
            say(
                "{unit} takes this as zero; at rest it then reads {state}",
                unit=solved.rig.units[feed.unit].title,
                state=state or say("no state: it locks"),
            )
        )
    return [Cell(f"{control} {place(start.position)}", BODY), Cell("; ".join(then), BODY)]


def _actions(solved: Solved) -> list[Step]:
    rig = solved.rig
    steps = [(RIGGING, Action(step.text)) for step in rig.steps if step.phase == "rigging"]
    if _units(solved, "head"):
        do = say("Clear everybody out of reach of the head. Say “POWER COMING ON”.")
        steps.append((CLEAR, Action(do, say("nobody within reach"))))
    found = circuits(solved)
    for at, circuit in enumerate(found):
        later = {name for other in found[at + 1 :] for name in other.units}  # it waits for another supply
        steps += _on(solved, circuit, [name for name in circuit.units if name not in later])
    steps += [(POWER, Action(step.text)) for step in rig.steps if step.phase == "power-up"]
    steps.append((CALL, Action(say("Say “RIG LIVE”."), say("everybody answers"))))
    return steps


def _on(solved: Solved, circuit: Circuit, awake: list[str]) -> list[Step]:
    """Return one lead or switch with what it turns on, then a look at each unit, the nearest first."""
    rig = solved.rig
    first, *others = (rig.units[name] for name in circuit.units)
    heads = any(rig.units[name].role == "head" for name in circuit.units)
    parts = [say("Hands off.")] if heads else []
    if circuit.leads:
        parts.append(
            say("Plug {leads} into {unit}.", leads=_from_givers(solved, circuit), unit=the(first.title))
        )
        if first.role in MAY_HAVE_SWITCH:
            parts.append(say("Turn any switch on."))
    elif circuit.source:
        parts.append(say("Switch on {unit}.", unit=the(first.title)))
    else:
        parts.append(say("Power on {unit}.", unit=the(first.title)))
    if others:
        titles = sentence(listed([the(unit.title) for unit in others]))
        parts.append(
            say_count(len(others), "{units} comes on with it.", "{units} come on with it.", units=titles)
        )
    pressed = pressed_units(solved)
    looks = []
    for name in awake:
        sign = _sign(rig.units[name], name == first.name)
        if sign:
            looks.append((rig.units[name], say("{sign}, tally out", sign=sign) if name in pressed else sign))
    if looks and looks[0][0] is not first:
        looks.insert(0, (first, ""))
    kind = HEAD if heads else PLUG if circuit.leads else POWER
    return [
        (kind, Action(" ".join(parts), looks[0][1] if looks else "")),
        *((POWER, Action(say("Look at {unit}.", unit=the(unit.title)), sign)) for unit, sign in looks[1:]),
    ]


def _from_givers(solved: Solved, circuit: Circuit) -> str:
    """Return the leads of a circuit and where they come from."""
    return listed(
        [
            say("{leads} from {unit}", leads=listed(legs), unit=the(solved.rig.units[name].title))
            for name, legs in givers(solved, circuit).items()
        ]
    )


def _sign(unit: Unit, first: bool) -> str:
    """Return how a unit shows that it is on, after its start-up time; "" if it shows nothing.

    A unit at the lead itself always shows that it is on.
    """
    wait = unit.model.ready_after
    sign = _shows(unit, first)
    if wait is None:
        return sign
    count = decimal(wait / 1000)
    return (
        say("count {seconds} s, then {sign}", seconds=count, sign=sign)
        if sign
        else say("count {seconds} s", seconds=count)
    )


def _shows(unit: Unit, first: bool) -> str:
    """Return what shows that a unit works: common practice, no source, but for the memory of a handset."""
    if unit.role == "handset":
        assert unit.memory is not None
        number, name = unit.memory
        return say("screen reads memory {number} “{name}”", number=number, name=name)
    signs = {
        "receiver": say("link light steady"),
        "adapter": say("it shows that it is ready"),
        "camera": say("picture, no menu open"),
        "head": say("it comes to a stop and stays still"),
    }
    return signs.get(unit.role) or (say("it is on") if first or unit.role in SCREENS else "")


# ---- power-down ----------------------------------------------------------------------------------------------


def _power_down_actions(solved: Solved) -> list[Step]:
    rig = solved.rig
    steps = [(CLEAR, Action(say("Say “POWER GOING OFF”."), say("everybody answers")))]
    if cameras := _units(solved, "camera"):
        positions = recording(solved, [unit.name for unit in cameras], STANDBY)
        do = (
            say("Stop recording ({controls}).", controls=", ".join(positions))
            if positions
            else say("Stop recording.")
        )
        steps.append((POWER, Action(do, say("the tally is out"))))
    steps += [(POWER, Action(step.text)) for step in rig.steps if step.phase == "power-down"]
    dark: set[str] = set()
    found = circuits(solved)[::-1]
    for circuit in found:
        last = circuit is found[-1] and rig.units[circuit.units[0]].role == "handset"
        steps += _off(solved, circuit, dark, last)
        dark.update(circuit.units)
    return steps


def _off(solved: Solved, circuit: Circuit, dark: set[str], last: bool) -> list[Step]:
    """Return one switch or lead with what it turns off; of a head the motors stop before a hand goes near."""
    rig = solved.rig
    first = rig.units[circuit.units[0]]
    ids, title = listed(circuit.leads) if circuit.leads else "", the(first.title)
    more = [name for name in circuit.units[1:] if name not in dark]
    head = next((rig.units[name] for name in circuit.units if rig.units[name].role == "head"), None)
    if first.name in dark:
        see = say("what it feeds is off") if more else ""
        return [(PLUG, Action(say("Unplug {leads} at {unit}.", leads=ids, unit=title), see))]
    if not circuit.leads and circuit.source:
        do = say("Switch off {unit}, last.", unit=title) if last else say("Switch off {unit}.", unit=title)
    elif not circuit.leads:
        do = say("Take the power off {unit}.", unit=title)
    elif last:
        do = say("Turn any switch off. Unplug {leads} at {unit}, last.", leads=ids, unit=title)
    elif first.role in (*MAY_HAVE_SWITCH, "handset"):
        do = say("Turn any switch off. Unplug {leads} at {unit}.", leads=ids, unit=title)
    else:
        do = say("Unplug {leads} at {unit}.", leads=ids, unit=title)
    see = say("its screen is off") if first.role == "handset" else say("it is off")
    see = say("{sign}, and what it feeds is off", sign=see) if more else see
    if head is None:
        return [(PLUG if circuit.leads else POWER, Action(do, see))]
    before, after = around(rig, head)
    steps = [(REACH, Action(before))] if before else []
    motors = say("Hands stay off the camera: the motors stop first.") if camera_on(rig, head) else ""
    steps.append((HEAD, Action(f"{motors} {do}".strip(), see)))
    return [*steps, (POWER, Action(after))] if after else steps
