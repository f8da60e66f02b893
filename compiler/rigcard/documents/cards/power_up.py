"""Power-up, power-down, and what to do after a battery swap. No setting is changed on these cards."""

from __future__ import annotations

from rigcard.documents import cautions
from rigcard.documents.card import Group
from rigcard.documents.cards.parts import control_title, effect, place, power_wire, steps
from rigcard.documents.layout import BODY, TICK, Block, Cell, heading, joined, paragraph, row, space, table
from rigcard.documents.model import Typeface
from rigcard.resolve.model import Unit
from rigcard.solve.solved import Solved, WrongStart
from rigcard.words import listed

CAMERA_SIDE = ("camera", "lens", "motor", "monitor", "sender", "other")


def power_up(face: Typeface, inner: float, solved: Solved) -> Group:
    """Positions of controls first, then the order of switching on, the head last."""
    rig = solved.rig
    pinned = cautions.on("power-up", rig)
    blocks = [
        block for handset in _units(solved, "handset") for block in _positions(face, inner, solved, handset)
    ]
    blocks += [
        heading(face, "Then, in this order", inner),
        steps(face, inner, _actions(solved)),
        paragraph(
            face, "Anything else on a screen or a light? STOP. Change no setting here.", inner, bold=True
        ),
    ]
    if solved.wrong_starts:
        rows = [_wrong(solved, start) for start in solved.wrong_starts]
        blocks.append(
            joined(
                heading(face, "If one control stood wrong, worst first", inner),
                table(face, ("STOOD", "THEN"), rows, (inner * 0.46, inner * 0.54)),
            )
        )
    return Group("POWER-UP", "Power-up", tuple(blocks), pinned)


def power_down(face: Typeface, inner: float, solved: Solved) -> Group:
    """The true order of switching off, and what a battery swap asks for."""
    blocks = [steps(face, inner, _power_down_actions(solved))]
    if rows := _swap_rows(solved):
        blocks += [
            heading(face, "After a battery swap", inner),
            table(face, ("SWAPPED", "BEFORE POWER RETURNS"), rows, (inner * 0.34, inner * 0.66)),
        ]
    pinned = cautions.on("power-down", solved.rig)
    return Group("POWER-DOWN", "Power-down and battery swap", tuple(blocks), pinned)


def _units(solved: Solved, *roles: str) -> list[Unit]:
    return [unit for unit in solved.rig.units.values() if unit.role in roles]


def _positions(face: Typeface, inner: float, solved: Solved, handset: Unit) -> list[Block]:
    rows = []
    springs = []
    for control in handset.model.controls.values():
        if (handset.name, control.name) not in solved.needed:
            continue
        position = solved.home[handset.name, control.name]
        if control.springs and position.value == 0:
            springs.append(control.title)
        else:
            rows.append([TICK, Cell(place(position), 20.0, True), Cell(control.title, 14.0)])
    blocks = []
    if rows:
        pieces = [piece for cells in rows for piece in row(face, cells, (9.0, 38.0, inner - 47.0))]
        title = f"BEFORE POWER: look at {handset.title}"
        blocks.append(joined(heading(face, title, inner), Block(tuple(pieces)), space(1.5)))
    if springs:
        blocks.append(paragraph(face, f"Hands off: {listed(springs)}.", inner, gap=2.0))
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
    heads = _units(solved, "head")
    if heads:
        actions.append(("Clear the full swing of the head. Say “POWER COMING ON”.", "nobody within reach"))
    for unit in _units(solved, "handset"):
        assert unit.memory is not None
        number, name = unit.memory
        actions.append((f"Switch on {unit.title}.", f"screen reads memory {number} “{name}”"))
    for unit in _units(solved, "receiver"):
        actions.append((_switch_on(solved, unit), "link light steady"))
    for unit in _units(solved, "adapter"):
        actions.append((_switch_on(solved, unit), "ready light"))
    for unit in _units(solved, *CAMERA_SIDE):
        if unit.role == "camera":
            actions.append((_switch_on(solved, unit), "picture, media time, no menu open"))
        elif power_wire(solved, unit):
            actions.append((_switch_on(solved, unit), "it is on"))
    for unit in heads:
        actions.append(
            (f"Hands off the sticks. {_switch_on(solved, unit)}", "it levels itself and stays still")
        )
    actions += [(step.text, "") for step in rig.steps if step.phase == "power-up"]
    actions.append(("Say “RIG LIVE”.", "everybody answers"))
    return actions


def _switch_on(solved: Solved, unit: Unit) -> str:
    wire = power_wire(solved, unit)
    if wire is None:
        return f"Power {unit.title}."
    pack = solved.rig.units[wire.source.unit].title
    return f"Plug {wire.leg.id} from {pack} into {unit.title}. Switch it on."


def _power_down_actions(solved: Solved) -> list[tuple[str, str]]:
    actions = [("Say “POWER GOING OFF”.", "everybody answers")]
    cameras = _units(solved, "camera")
    if cameras:
        actions.append(("Recording to standby.", "tally is dark"))
    actions += [(step.text, "") for step in solved.rig.steps if step.phase == "power-down"]
    for unit in _units(solved, "head"):
        actions.append(
            (f"Hold the camera by hand: the head falls limp. Switch off {unit.title}.", "head is limp")
        )
    for unit in reversed(_units(solved, *CAMERA_SIDE)):
        if unit.role == "camera" or power_wire(solved, unit):
            actions.append((f"Switch off {unit.title}.", "it is dark"))
    for unit in _units(solved, "adapter", "receiver"):
        actions.append((f"Take power off {unit.title}.", "its light is out"))
    for unit in _units(solved, "handset"):
        actions.append((f"Switch off {unit.title}, last.", "its screen is dark"))
    return actions


def _swap_rows(solved: Solved) -> list[list[Cell]]:
    rows = []
    listening = "Controls as on the power-up card."
    for unit in _units(solved, "handset"):
        text = f"{listening} While it is off the rig does what it does on radio loss."
        rows.append((unit.title, text))
    for unit in _units(solved, "receiver", "adapter"):
        rows.append((unit.title, f"{listening} Hands off the sticks."))
    for unit in _units(solved, "camera"):
        settings = " Then look at its settings card again." if unit.settings else ""
        rows.append((unit.title, f"Recording control at standby.{settings}"))
    for unit in _units(solved, "head"):
        rows.append((unit.title, "Hold the camera. Stand clear, hands off the sticks, then power."))
    return [[Cell(title, BODY, True), Cell(text, BODY)] for title, text in rows]
