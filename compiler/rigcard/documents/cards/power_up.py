"""Power-up, power-down, and what to do after a battery swap. No setting is changed on these cards."""

from __future__ import annotations

from rigcard.documents.base.layout import BODY, TICK, Block, Cell, heading, joined, paragraph, row, space, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import control_title, effect, place, recording, sentence, the
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.parts import steps
from rigcard.resolve.model import Rig, Unit
from rigcard.resolve.payload import load_of
from rigcard.solve.loss import STANDBY, is_toggle
from rigcard.solve.power.circuits import ON_THE_MAINS, Circuit, circuits, givers
from rigcard.solve.solved import Solved, WrongStart
from rigcard.words import decimal, listed, listed_or

MAY_HAVE_SWITCH = ("head", "camera", "monitor", "sender")  # no model says so: common practice, no source
SIGNS = {  # what shows that each works: common practice, no source
    "receiver": "link light steady",
    "adapter": "it shows that it is ready",
    "camera": "picture, no menu open",
    "head": "it comes to a stop and stays still",
}
SCREENS = ("monitor", "sender", "other")


def power_up(face: Typeface, inner: float, solved: Solved) -> Group:
    """Set the positions of controls first, then the order of switching on, the head last."""
    rig = solved.rig
    pinned = cautions.on("power-up", rig)
    blocks = [
        block for handset in _units(solved, "handset") for block in _positions(face, inner, solved, handset)
    ]
    blocks += [
        heading(face, "Then, in this order", inner),
        steps(face, inner, _actions(solved)),
        paragraph(face, "Anything different? STOP. Call the technician. Change nothing.", inner, bold=True),
    ]
    if solved.wrong_starts:
        rows = [_wrong(solved, start) for start in solved.wrong_starts]
        blocks.append(
            joined(
                heading(face, "If a control was in the wrong position (worst first)", inner),
                table(face, ("WAS AT", "WHAT HAPPENS"), rows, (inner * 0.46, inner * 0.54)),
            )
        )
    return Group("POWER UP", "Power-up", tuple(blocks), pinned)


def power_down(face: Typeface, inner: float, solved: Solved) -> Group:
    """Set the actual order of switching off, and what a battery swap requires."""
    blocks = [steps(face, inner, _power_down_actions(solved))]
    if rows := _swap_rows(solved):
        blocks.append(
            joined(
                heading(face, "After a battery swap or a loss of power", inner),
                table(face, ("WAS OFF", "BEFORE YOU POWER IT AGAIN"), rows, (inner * 0.26, inner * 0.74)),
            )
        )
    if rows := _spare_rows(solved):
        blocks.append(
            joined(
                heading(face, "A unit swapped for its spare", inner),
                table(face, ("SPARE", "POWER OFF, THEN"), rows, (inner * 0.36, inner * 0.64)),
            )
        )
    pinned = cautions.on("power-down", solved.rig)
    return Group("POWER DOWN", "Power-down and battery swap", tuple(blocks), pinned)


def _units(solved: Solved, *roles: str) -> list[Unit]:
    return [unit for unit in solved.rig.units.values() if unit.role in roles]


def _positions(face: Typeface, inner: float, solved: Solved, handset: Unit) -> list[Block]:
    rows = []
    springs = []
    for control in handset.model.controls.values():
        if (handset.name, control.name) not in solved.needed:
            continue
        position = solved.power_up_positions[handset.name, control.name]
        if control.springs and position.value == 0:
            springs.append(control.title)
        else:
            rows.append([TICK, Cell(place(position), 20.0, True), Cell(control.title, 14.0)])
    blocks = []
    if rows:
        pieces = [piece for cells in rows for piece in row(face, cells, (9.0, 38.0, inner - 47.0))]
        title = f"BEFORE POWER: set {the(handset.title)}"
        blocks.append(joined(heading(face, title, inner), Block(tuple(pieces)), space(1.5)))
    if springs:
        blocks.append(paragraph(face, f"Do not touch: {listed(springs)}.", inner, gap=2.0))
    return blocks


def _wrong(solved: Solved, start: WrongStart) -> list[Cell]:
    control = control_title(solved.rig, start.handset, start.control)
    then = [
        effect(solved, reading)
        if reading.effects
        else f"{solved.rig.units[reading.feed.unit].title}: {effect(solved, reading)}"
        for reading in start.readings
    ]
    for feed, state in start.learned:
        read_as = state or "no state: it locks"
        then.append(f"{solved.rig.units[feed.unit].title} learns this as zero, rest then reads as {read_as}")
    return [Cell(f"{control} {place(start.position)}", BODY), Cell("; ".join(then), BODY, True)]


def _actions(solved: Solved) -> list[tuple[str, str]]:
    rig = solved.rig
    actions = [(step.text, "") for step in rig.steps if step.phase == "rigging"]
    if _units(solved, "head"):
        actions.append(("Everybody out of reach of the head. Say “POWER COMING ON”.", "nobody within reach"))
    found = circuits(solved)
    for at, circuit in enumerate(found):
        later = {name for other in found[at + 1 :] for name in other.units}  # it waits for another supply
        actions += _on(solved, circuit, [name for name in circuit.units if name not in later])
    actions += [(step.text, "") for step in rig.steps if step.phase == "power-up"]
    actions.append(("Say “RIG LIVE”.", "everybody answers"))
    return actions


def _on(solved: Solved, circuit: Circuit, awake: list[str]) -> list[tuple[str, str]]:
    """Return one lead or switch with what it turns on, then a look at each unit, the nearest first."""
    rig = solved.rig
    first, *others = (rig.units[name] for name in circuit.units)
    hands = "Hands off. " if any(rig.units[name].role == "head" for name in circuit.units) else ""
    if circuit.leads:
        switch = " (any switch on)" if first.role in MAY_HAVE_SWITCH else ""
        do = f"Plug {_from_givers(solved, circuit)} into {the(first.title)}{switch}."
    else:
        do = f"{'Switch on' if circuit.source else 'Power on'} {the(first.title)}."
    if others:
        titles = listed([the(unit.title) for unit in others])
        do += f" {sentence(titles)} come{'s' if len(others) == 1 else ''} on with it."
    pressed = pressed_units(solved)
    looks = [
        (
            rig.units[name],
            _sign(rig.units[name], name == first.name) + (", tally dark" if name in pressed else ""),
        )
        for name in awake
    ]
    seen = [(unit, sign) for unit, sign in looks if sign]
    if seen and seen[0][0] is not first:
        seen.insert(0, (first, ""))
    return [
        (f"{hands}{do}", seen[0][1] if seen else ""),
        *((f"Look at {the(unit.title)}.", sign) for unit, sign in seen[1:]),
    ]


def _from_givers(solved: Solved, circuit: Circuit) -> str:
    """Return the leads of a circuit and where they come from."""
    found = givers(solved, circuit).items()
    return listed([f"{' and '.join(legs)} from {the(solved.rig.units[name].title)}" for name, legs in found])


def _sign(unit: Unit, first: bool) -> str:
    """Return how a unit shows that it is on, after its start-up time; "" if it shows nothing.

    A unit at the lead itself always shows that it is on.
    """
    wait = unit.model.ready_after
    sign = _shows(unit, first)
    if wait is None:
        return sign
    return f"count {decimal(wait / 1000)} s, then {sign}" if sign else f"count {decimal(wait / 1000)} s"


def _shows(unit: Unit, first: bool) -> str:
    if unit.role == "handset":
        assert unit.memory is not None
        number, name = unit.memory
        return f"screen reads memory {number} “{name}”"
    return SIGNS.get(unit.role, "it is on" if first or unit.role in SCREENS else "")


def _power_down_actions(solved: Solved) -> list[tuple[str, str]]:
    rig = solved.rig
    actions = [("Say “POWER GOING OFF”.", "everybody answers")]
    if cameras := _units(solved, "camera"):
        positions = recording(solved, [unit.name for unit in cameras], STANDBY)
        by = f" ({', '.join(positions)})" if positions else ""
        actions.append((f"Stop recording{by}.", "the tally is out"))
    actions += [(step.text, "") for step in rig.steps if step.phase == "power-down"]
    dark: set[str] = set()
    found = circuits(solved)[::-1]
    for circuit in found:
        do, see = _off(solved, circuit, dark)
        last = circuit is found[-1] and rig.units[circuit.units[0]].role == "handset"
        actions.append((f"{do}, last." if last else f"{do}.", see))
        dark.update(circuit.units)
    return actions


def _off(solved: Solved, circuit: Circuit, dark: set[str]) -> tuple[str, str]:
    """Return one switch or lead, without its full stop, and what it turns off that is still on."""
    rig = solved.rig
    first = rig.units[circuit.units[0]]
    ids = " and ".join(circuit.leads)
    more = [name for name in circuit.units[1:] if name not in dark]
    title = the(first.title)
    if first.name in dark:
        return f"Unplug {ids} at {title}", "what it feeds is off" if more else ""
    if not circuit.leads:
        do = f"{'Switch off' if circuit.source else 'Take the power off'} {title}"
    elif first.role in (*MAY_HAVE_SWITCH, "handset"):
        do = f"Any switch off, then unplug {ids} at {title}"
    else:
        do = f"Unplug {ids} at {title}"
    head = next((rig.units[name] for name in circuit.units if rig.units[name].role == "head"), None)
    if head and (support := _support(rig, head)):
        do = f"{support} {do}"
    see = "its screen is dark" if first.role == "handset" else "it is off"
    return do, f"{see}, and what it feeds is off" if more else see


def _support(rig: Rig, head: Unit) -> str:
    """Return how to support a head's load before it loses power; "" if it carries nothing.

    A hand is requested only if nothing in the file puts the head out of reach.
    """
    load = {burden.name for burden in load_of(rig, head).burdens}
    cameras = [unit for unit in rig.units.values() if unit.role == "camera"]
    camera = any(unit.name in load or unit.mounted_on is None for unit in cameras)
    if not camera and not load:
        return ""
    if head.mounted_on is not None or set(cautions.ALOFT) & set(cautions.hazards_of(rig)):
        return "Bring the head within reach or lock it: it may fall limp."
    return f"Hold {'the camera' if camera else 'its load'} by hand: the head may fall limp."


def _swap_rows(solved: Solved) -> list[list[Cell]]:
    """Return what each pack, or device with a battery inside, restarts.

    Without a pack in the file, each device stands for itself.
    """
    rig = solved.rig
    by_source: dict[tuple[str, ...], dict[str, None]] = {}
    for circuit in circuits(solved):
        sources = tuple(givers(solved, circuit)) or (circuit.source or circuit.units[0],)
        units = by_source.setdefault(sources, {})
        units.update(dict.fromkeys(circuit.units))
    titles: dict[str, list[str]] = {}  # two handsets may require the same
    for sources, units in by_source.items():
        text = _beside_others(solved, sources, list(units)) + _swapped(
            solved, sources[0], list(units), pressed_units(solved)
        )
        titles.setdefault(text, []).append(_off_and_on(rig, sources))
    return [[Cell(listed_or(found), BODY, True), Cell(text, BODY)] for text, found in titles.items()]


def _off_and_on(rig: Rig, sources: tuple[str, ...]) -> str:
    """Return what is swapped; for a mains supply, that its power went off and on."""
    return listed_or(
        [
            f"{rig.units[name].title} off and on"
            if rig.units[name].role == ON_THE_MAINS
            else rig.units[name].title
            for name in sources
        ]
    )


def _beside_others(solved: Solved, sources: tuple[str, ...], names: list[str]) -> str:
    """Return how to swap one of several packs that feed the same units.

    This comes before the actions that both packs together require.
    """
    if len(sources) < 2:
        return ""
    units = solved.rig.units
    if any(units[name].model.power.plates for name in names):
        return "One at a time, while the other feeds: nothing restarts. All off: "
    return "All together, by freshly charged ones. "


def _spare_rows(solved: Solved) -> list[list[Cell]]:
    """Return what each spare needs before it can replace its unit."""
    rows = []
    for spare in solved.rig.spare_units.values():
        unit = solved.rig.units[spare.spare_for or ""]
        where = f", {spare.case}" if spare.case else ""
        name = f"{spare.title}{f' {spare.asset}' if spare.asset else ''}{where}, for {unit.title}"
        rows.append([Cell(name, BODY, True), Cell(" ".join(_in_place_of(solved.rig, spare, unit)), BODY)])
    return rows


def _in_place_of(rig: Rig, spare: Unit, unit: Unit) -> list[str]:
    """Return the steps of one swap. Nothing is known about a spare except what the file says."""
    steps_of_it = []
    if spare.model is not unit.model:
        steps_of_it.append(f"It is another model ({spare.model.title}): compile the rig with it first.")
    if any(
        unit.name in (leg.first.unit, leg.second and leg.second.unit)
        for cable in rig.cables.values()
        for leg in cable.legs
    ):
        steps_of_it.append("Each plug into the same port.")
    handset = rig.units.get(unit.bound_to or "")
    if handset and spare.bound_to == handset.name:
        steps_of_it.append(f"It is bound to {handset.title}: look for its link light.")
    elif handset:
        steps_of_it.append(f"Bind it to {handset.title}, then set the failsafe again.")
    if unit.role == "handset":
        bound = [other.title for other in rig.units.values() if other.bound_to == unit.name]
        steps_of_it.append(f"Memory and all values as on the card of {unit.title}.")
        steps_of_it += [f"Bind {listed(bound)} to it, then set the failsafe again."] if bound else []
    elif unit.settings:
        steps_of_it.append(f"Settings as on the card of {unit.title}.")
    return [*steps_of_it, "Then the whole function test."]


def pressed_units(solved: Solved) -> set[str]:
    """Return the units whose takes one key starts and stops.

    After a restart, only the tally shows their state.
    """
    return {
        done.unit
        for result in solved.results.values()
        for row in result.rows
        for reading in row.readings
        if is_toggle(reading)
        for done in reading.effects
    }


def _swapped(solved: Solved, source: str, names: list[str], pressed: set[str]) -> str:
    rig = solved.rig
    units = [rig.units[name] for name in names]
    roles = {unit.role for unit in units}
    others = [unit.title for unit in units if unit.name != source]
    support = next((found for unit in units if unit.role == "head" and (found := _support(rig, unit))), "")
    parts = [support] if support else []
    parts += [f"{listed(others)} restart{'s' if len(others) == 1 else ''}."] if others else []
    if roles & {"handset", "receiver", "adapter", "head"}:
        parts.append("Controls as on the power-up card.")
    if "handset" in roles:
        parts.append("While it is off, what it controls does as on radio loss.")
    if "head" in roles:
        parts.append("Stand clear, hands off.")
    elif roles & {"receiver", "adapter"}:
        parts.append("Hands off.")
    cameras = [unit for unit in units if unit.role == "camera"]
    if recording(solved, [unit.name for unit in cameras], STANDBY):
        parts.append("Stop recording.")
    if pressed & {unit.name for unit in units}:
        parts.append("Whether it then records is not known: look at the tally before you press anything.")
    if any(unit.settings for unit in cameras):
        parts.append("Then check its settings card.")
    alone = len(parts) < 2 and not pressed & {unit.name for unit in units}
    return " ".join([*parts, "Nothing to do first."] if alone else parts)
