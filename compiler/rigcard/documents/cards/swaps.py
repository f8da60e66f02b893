"""Swaps during the day, each in about five lines: pack, lens, camera, operator, handset and other spares."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents.base.language import listed, listed_or, say, say_count
from rigcard.documents.base.layout import BODY, Block, Cell, heading, joined, paragraph, space, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import recording, the
from rigcard.documents.cards import cautions
from rigcard.documents.cards.burden import whom
from rigcard.documents.cards.frame import caution_block
from rigcard.documents.cards.losing_power import around, films, pressed_units
from rigcard.documents.cards.moves import stays_put
from rigcard.documents.cards.radio_loss import before_return
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Rig, Unit
from rigcard.resolve.payload import handed, load_of
from rigcard.solve.loss import STANDBY
from rigcard.solve.power.circuits import ON_THE_MAINS, circuits, givers
from rigcard.solve.solved import Solved


def swaps(face: Typeface, inner: float, solved: Solved) -> list[Block]:
    """Set one short list for each kind of swap that the rig can have, packs first."""
    blocks = [pack] if (pack := _packs(face, inner, solved)) else []
    for title, lines in (
        (say("Swap: lens"), _lens(solved)),
        (say("Swap: camera"), _camera(solved)),
        (say("Swap: operator"), _operator(solved)),
        (say("Swap: handset"), _handset(solved)),
    ):
        if lines:
            blocks.append(_lines(face, inner, title, lines))
    if rows := _spare_rows(solved):
        head = (say("SPARE"), say("POWER OFF, THEN"))
        named = heading(face, say("Swap: a unit for its spare"), inner)
        blocks.append(joined(named, table(face, head, rows, (inner * 0.36, inner * 0.64))))
    return blocks


def _lines(face: Typeface, inner: float, title: str, lines: Sequence[str]) -> Block:
    """Set a swap as numbered lines that stay together."""
    pieces = [heading(face, title, inner)]
    for number, line in enumerate(lines, 1):
        one = paragraph(face, line, inner, indent=6.0, gap=0.5, keep=number < len(lines), whole=True)
        first = paragraph(face, str(number), inner, bold=True).boxes[0].marks
        box, *rest = one.boxes
        pieces.append(Block((box._replace(marks=(*first, *box.marks)), *rest)))
    return joined(*pieces, space(1.0))


# ---- lens, camera, operator, handset -------------------------------------------------------------------------


def _on_head(solved: Solved, unit: Unit) -> bool:
    heads = [one for one in solved.rig.units.values() if one.role == "head"]
    return any(burden.name == unit.name for head in heads for burden in load_of(solved.rig, head).burdens)


def _first(solved: Solved, unit: Unit) -> str:
    """Return what comes first: no take, and no motor that can move, before a hand goes near."""
    stop = say("Stop recording.") if films(solved.rig) else ""
    down = say("Power the head down as on side 1.") if _on_head(solved, unit) else ""
    return f"{stop} {down}".strip() or say("Tell everybody.")


def _balance(solved: Solved, unit: Unit) -> list[str]:
    """Return what follows from another mass on a head."""
    if not _on_head(solved, unit):
        return []
    told = [whom(one) for one in handed(solved.rig)]
    if not told:
        return [say("Balance and tune the head.")]
    people = listed(list(dict.fromkeys(told)))
    return [say("Balance and tune the head. Tell {people} the new mass.", people=people)]


def _after(solved: Solved, feeds: Sequence[Feed]) -> str:
    """Return the last line of a swap: which part of the function test it needs."""
    titles = list(dict.fromkeys(feed.input.title for feed in feeds))
    if not titles:
        return say("Power up. Short function test.")
    return say(
        "Power up. Short function test and all lines of {functions}.",
        functions=listed(titles),
    )


def _works(solved: Solved, names: set[str]) -> list[Feed]:
    """Return the inputs whose effect is seen on these units."""
    return [
        feed
        for feed in solved.links.feeds
        if feed.unit in names or names & {order.receiver for order in solved.links.orders_of(feed)}
    ]


def _lens(solved: Solved) -> list[str]:
    rig = solved.rig
    lenses = [unit for unit in rig.units.values() if unit.role == "lens"]
    if not lenses:
        return []
    on_it = [unit for unit in rig.units.values() if unit.mounted_on in {lens.name for lens in lenses}]
    lines = [_first(solved, lenses[0])]
    if on_it:
        titles = listed([the(unit.title) for unit in on_it])
        lines.append(say("Move {units} to the new lens.", units=titles))
    lines += [note for lens in lenses for note in lens.notes]
    lines += _balance(solved, lenses[0])
    needs = [
        feed
        for feed in solved.links.feeds
        for order in solved.links.orders_of(feed)
        for need in _needs(rig, order.receiver, feed)
        if need in {offer for lens in lenses for offer in lens.model.offers}
    ]
    return [*lines, _after(solved, [*_works(solved, {unit.name for unit in on_it}), *needs])]


def _needs(rig: Rig, receiver: str, feed: Feed) -> list[str]:
    """Return the features that a mounted unit must offer for the commands of an input."""
    commands = rig.units[receiver].commands
    found = [commands[name] for name in feed.input.commands if name in commands]
    return [need.name for command in found for need in command.needs if need.value is None]


def _camera(solved: Solved) -> list[str]:
    rig = solved.rig
    cameras = [unit for unit in rig.units.values() if unit.role == "camera"]
    if not cameras:
        return []
    names = {unit.name for unit in cameras}
    lines = [_first(solved, cameras[0])]
    leads = _leads(rig, names)
    if leads:
        lines.append(say("Put every lead back into the same port: {leads}.", leads=listed(leads)))
    lines += _balance(solved, cameras[0])
    if any(unit.settings for unit in cameras):
        lines.append(say("Set every line of its settings card."))
    if names & pressed_units(solved):
        lines.append(say("Whether it records is not known: look at the tally before you press anything."))
    return [*lines, _after(solved, _works(solved, names))]


def _leads(rig: Rig, names: set[str]) -> list[str]:
    return [
        leg.id
        for cable in rig.cables.values()
        for leg in cable.legs
        if names & {end.unit for end in (leg.first, leg.second) if end}
    ]


def _operator(solved: Solved) -> list[str]:
    if not any(unit.held_by for unit in solved.rig.units.values() if unit.role == "handset"):
        return []
    return [
        say("Let go of what springs back. Leave all else as it is."),
        say("Hand over the handset, switched on, with its card and the brief."),
        say("The new operator reads both, then says the stop words."),
        say("Clear everybody out of reach; the new operator does the test."),
        say("Tell everybody who works the rig now."),
    ]


def _handset(solved: Solved) -> list[str]:
    rig = solved.rig
    handsets = [unit for unit in rig.units.values() if unit.role == "handset"]
    if not handsets:
        return []
    lines = [
        say("Power down as on side 1. Battery out of the old handset."),  # the new one may command anything yet
        say("Same model only. Dial in every value of the handset card."),
    ]
    bind = [step.text for step in rig.steps if step.phase == "bind"]
    receivers = [unit for unit in rig.units.values() if unit.bound_to in {one.name for one in handsets}]
    if receivers:
        to_one = say("Bind it to {receivers}.", receivers=listed([the(unit.title) for unit in receivers]))
        to = to_one if len(handsets) == 1 else say("Bind it to the receiver of the old one.")
        lines += [to, *bind] if bind else [f"{to} {say('How is not stated: ask.')}"]
    lines.append(say("Measure every pin again. Set the failsafe, last of all."))
    lines.append(say("Power up. The whole function test."))
    return lines


# ---- packs and spares ----------------------------------------------------------------------------------------


def _packs(face: Typeface, inner: float, solved: Solved) -> Block | None:
    """Set what each pack, or device with a battery inside, restarts.

    Without a pack in the file, each device stands for itself.
    """
    by_source: dict[tuple[str, ...], dict[str, None]] = {}
    for circuit in circuits(solved):
        sources = tuple(givers(solved, circuit)) or (circuit.source or circuit.units[0],)
        units = by_source.setdefault(sources, {})
        units.update(dict.fromkeys(circuit.units))
    titles: dict[str, list[str]] = {}  # two handsets may require the same
    for sources, units in by_source.items():
        text = " ".join(
            [*_beside_others(solved, sources, list(units)), *_swapped(solved, sources, list(units))]
        )
        titles.setdefault(text, []).append(_off_and_on(solved.rig, sources))
    rows = [[Cell(listed_or(found), BODY, True), Cell(text, BODY)] for text, found in titles.items()]
    if not rows:
        return None
    head = (say("WITHOUT POWER"), say("BEFORE YOU POWER IT AGAIN"))
    return joined(
        caution_block(face, cautions.on("swaps", solved.rig), inner),
        heading(face, say("Swap: a pack, or power lost. Then the short function test"), inner),
        table(face, head, rows, (inner * 0.24, inner * 0.76), pad=0.6),
    )


def _off_and_on(rig: Rig, sources: tuple[str, ...]) -> str:
    """Return what is swapped; for a mains supply, that its power went off and on."""
    return listed_or(
        [
            say("{unit} off and on", unit=rig.units[name].title)
            if rig.units[name].role == ON_THE_MAINS
            else rig.units[name].title
            for name in sources
        ]
    )


def _beside_others(solved: Solved, sources: tuple[str, ...], names: list[str]) -> list[str]:
    """Return how to swap one of several packs that feed the same units.

    This comes before the actions that both packs together require.
    """
    if len(sources) < 2:
        return []
    units = solved.rig.units
    if any(units[name].model.power.plates for name in names):
        return [say("One at a time, while the other feeds: nothing restarts."), say("If all were off:")]
    return [say("All together, by freshly charged ones.")]


def _swapped(solved: Solved, sources: tuple[str, ...], names: list[str]) -> list[str]:
    rig = solved.rig
    units = [rig.units[name] for name in names]
    roles = {unit.role for unit in units}
    others = [unit.title for unit in units if unit.name not in sources[:1]]
    heads = [unit for unit in units if unit.role == "head"]
    parts = [text for head in heads[:1] if (text := around(rig, head)[0])]
    if others:
        parts.append(say_count(len(others), "{units} restarts.", "{units} restart.", units=listed(others)))
    if roles & {"handset", "receiver", "adapter", "head"}:
        alone = roles == {"handset"}  # only the link is lost and returns: a running take goes on
        mine = [loss for loss in solved.losses if loss.feed.handset in names]
        if alone and mine:
            parts.append(before_return(solved, mine))
        elif any(stays_put(solved, unit) for unit in rig.units.values() if unit.role == "handset"):
            parts.append(say("Set the controls as on the power-up card."))
    if "handset" in roles:
        parts.append(say("While it is off, the rig behaves as on radio loss."))
    if heads:
        parts.append(say("Stand clear, hands off."))
    elif roles & {"receiver", "adapter"}:
        parts.append(say("Hands off."))
    cameras = [unit for unit in units if unit.role == "camera"]
    if recording(solved, [unit.name for unit in cameras], STANDBY):
        parts.append(say("Stop recording."))
    pressed = pressed_units(solved) & set(names)
    if pressed:
        parts.append(say("Whether it then records is not known: look at the tally before you press anything."))
    if any(unit.settings for unit in cameras):
        parts.append(say("Then check its settings card."))
    return [*parts, say("Nothing to do first.")] if len(parts) < 2 and not pressed else parts


def _spare_rows(solved: Solved) -> list[list[Cell]]:
    """Return what each spare needs before it can replace its unit; those of another station stand on its own card."""
    rows = []
    for spare in solved.rig.spare_units.values():
        unit = solved.rig.units.get(spare.spare_for or "")
        if unit is None:
            continue
        name = " ".join(part for part in (spare.title, spare.asset) if part)
        where = f", {spare.case}" if spare.case else ""
        title = say("{spare}, for {unit}", spare=f"{name}{where}", unit=unit.title)
        rows.append([Cell(title, BODY, True), Cell(" ".join(_in_place_of(solved.rig, spare, unit)), BODY)])
    return rows


def _in_place_of(rig: Rig, spare: Unit, unit: Unit) -> list[str]:
    """Return the steps of one swap. Nothing is known about a spare except what the file says."""
    found = []
    if spare.model is not unit.model:
        found.append(
            say("It is another model ({model}): compile the rig with it first.", model=spare.model.title)
        )
    if _leads(rig, {unit.name}):
        found.append(say("Put each plug into the same port."))
    handset = rig.units.get(unit.bound_to or "")
    if handset and spare.bound_to == handset.name:
        found.append(say("It is bound to {handset}: look for its link light.", handset=the(handset.title)))
    elif handset:
        found.append(say("Bind it to {handset}.", handset=the(handset.title)))
        found += [step.text for step in rig.steps if step.phase == "bind"]
        found.append(say("Set the failsafe again."))
    if unit.role == "handset":
        bound = [the(other.title) for other in rig.units.values() if other.bound_to == unit.name]
        found.append(say("Memory and all values as on the card of {unit}.", unit=the(unit.title)))
        if bound:
            found.append(say("Bind {units} to it, then set the failsafe again.", units=listed(bound)))
    elif unit.settings:
        found.append(say("Settings as on the card of {unit}.", unit=the(unit.title)))
    return [*found, say("Then the whole function test.")]
