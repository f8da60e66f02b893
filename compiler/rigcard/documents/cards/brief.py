"""The brief: what everybody, and a stand-in in two minutes, must know before the rig is live."""

from __future__ import annotations

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import BODY, Block, Cell, heading, joined, paragraph, row, space, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import the
from rigcard.documents.cards import cautions, radio_loss
from rigcard.documents.cards.actions import warned_steps
from rigcard.documents.cards.frame import Group, caution_block
from rigcard.documents.cards.moves import functions_of
from rigcard.documents.cards.operator import stop_line
from rigcard.documents.cards.sticks import titles_of
from rigcard.resolve.model import Unit
from rigcard.solve.power.circuits import circuits, givers
from rigcard.solve.solved import Solved


def brief(face: Typeface, inner: float, solved: Solved) -> Group:
    """Make the card: people, stop words, area, power, what nobody touches; then the loss of the radio."""
    rig = solved.rig
    blocks: list[Block] = [stop_line(face, inner)]
    blocks.append(caution_block(face, cautions.on("brief", rig), inner))
    blocks.append(_people(face, inner, solved))
    blocks += _area(face, inner, solved)
    blocks += _cut(face, inner, solved)
    blocks += _hands_off(face, inner, solved)
    if solved.losses:
        blocks += [*_loss(face, inner, solved), *_proof(face, inner, solved)]
    return Group(say("BRIEF"), say("for a stand-in: two minutes"), tuple(blocks))


def _handsets(solved: Solved) -> list[Unit]:
    return [unit for unit in solved.rig.units.values() if unit.role == "handset"]


def _people(face: Typeface, inner: float, solved: Solved) -> Block:
    """Set who holds which handset and works what, with a blank for each name."""
    rig = solved.rig
    rows = []
    for unit in _handsets(solved):
        role = rig.crew.get(unit.held_by or "", "")
        works = listed(functions_of(solved, unit) or [say("nothing")])
        rows.append([Cell(role or "________", BODY, True), Cell(f"{unit.title}: {works}", BODY), _name()])
    held = {unit.held_by for unit in _handsets(solved)}
    rows += [[Cell(title, BODY, True), Cell(), _name()] for role, title in rig.crew.items() if role not in held]
    head = (say("WHO"), say("HOLDS, AND WORKS"), say("NAME"))
    widths = (inner * 0.22, inner * 0.56, inner * 0.22)
    return joined(heading(face, say("Who does what"), inner), table(face, head, rows, widths))


def _name() -> Cell:
    return Cell("________", BODY)


def _area(face: Typeface, inner: float, solved: Solved) -> list[Block]:
    """Set what to keep clear: the area, which the file does not state, and how far an axis may turn unasked."""
    lines = []
    if ways := radio_loss.clearances(solved):
        lines.append(say("Room to keep free in case the radio is lost: {ways}.", ways=listed(ways)))
    blank = row(face, [Cell(label=say("keep out of this area"), kind="blank")], (inner,), ruled=False)
    return [
        joined(heading(face, say("Keep clear"), inner), Block(tuple(blank)), space(1.0)),
        *(paragraph(face, line, inner) for line in lines),
    ]


def _cut(face: Typeface, inner: float, solved: Solved) -> list[Block]:
    """Set where the power of each head is cut, and a blank for who cuts it."""
    rows = []
    for circuit in circuits(solved):
        heads = [name for name in circuit.units if solved.rig.units[name].role == "head"]
        if not heads:
            continue
        first = solved.rig.units[circuit.units[0]]
        if circuit.leads:
            ends = [
                say("{leads} at {source}", leads=listed(legs), source=the(solved.rig.units[name].title))
                for name, legs in givers(solved, circuit).items()
            ]
            where = say("pull {ends}", ends=listed(ends))
        else:
            where = say("the switch of {unit}", unit=the(first.title))
        title = listed([solved.rig.units[name].title for name in heads])
        rows.append([Cell(title, BODY, True), Cell(where, BODY), _name()])
    if not rows:
        return []
    head = (say("TO STOP"), say("WHERE"), say("WHO"))
    text = say("If hands off does not stop it, cut its power. Never pass under it or reach in to do that.")
    return [
        joined(
            heading(face, say("Who cuts the power, and where"), inner),
            table(face, head, rows, (inner * 0.3, inner * 0.48, inner * 0.22)),
            paragraph(face, text, inner, whole=True),
        )
    ]


def _hands_off(face: Typeface, inner: float, solved: Solved) -> list[Block]:
    """Set what nobody touches: handsets of others, controls to leave, trims and menus, a live head."""
    rig = solved.rig
    lines = []
    if any(unit.role == "head" for unit in rig.units.values()):
        lines.append(say("The head while it is live: nobody."))
    for unit in _handsets(solved):
        if unit.leave:
            left = listed(titles_of(rig, unit.name, unit.leave))
            lines.append(say("{handset}, {controls}: nobody.", handset=unit.title, controls=left))
    many = len(_handsets(solved)) > 1
    lines.append(
        say("Each handset: only the person who holds it.")
        if many
        else say("The handset: only the person who holds it.")
    )
    lines.append(say("Menus, plugs and packs: only on the technician’s word."))
    *more, last = lines
    return [
        joined(
            heading(face, say("Hands off"), inner),
            *(paragraph(face, line, inner, gap=0.4, keep=True) for line in more),
            paragraph(face, last, inner, whole=True),
        )
    ]


def _loss(face: Typeface, inner: float, solved: Solved) -> list[Block]:
    return [
        joined(
            heading(face, say("If the radio is lost"), inner),
            *radio_loss.results(face, inner, solved, solved.losses),
            radio_loss.return_line(face, inner, solved, solved.losses),
        )
    ]


def _proof(face: Typeface, inner: float, solved: Solved) -> list[Block]:
    pinned = cautions.on("radio-loss", solved.rig)
    actions = radio_loss.proof(solved, pinned)
    return [
        joined(
            heading(face, say("Radio-loss test, the last test of all"), inner),
            warned_steps(face, inner, actions),
        )
    ]
