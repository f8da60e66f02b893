"""Rules on pictures: whether one comes in where it is shown or sent."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Severity


@rule("RC319", Severity.WARNING, tier=2)
def no_picture_comes_in(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a monitor or a sender with a socket for a picture, which neither a lead nor a radio link brings one to.
    Why: it has power and a place on the rig, and its screen, or all the screens that receive it, stay black.
    Bad: unit sender is sender-1 "Picture sender" { mounted on head }, and no lead at its `sdi`
    Good: cable V01 "Picture" { cam.sdi to sender.sdi; length 300mm; jacket 5mm }
    """
    rig = facts.rig
    plugged = {(end.unit, end.port) for wire in facts.links.wires for end in (wire.source, wire.sink)}
    joined = {name for name, _ in plugged}
    receiving = {name for link in rig.radio_links for name in link.receivers}
    sending = {link.sender for link in rig.radio_links}
    free: dict[str, list[tuple[str, str]]] = {}  # by signal: the outputs with no plug in them
    for unit in rig.units.values():
        for port in unit.model.ports.values():
            if port.direction == "out" and (unit.name, port.name) not in plugged:
                free.setdefault(port.signal, []).append((unit.name, port.name))
    for unit in rig.units.values():
        sockets = [
            port.name
            for port in unit.model.ports.values()
            if port.direction == "in" and rig.signals[port.signal].kind == "picture"
        ]
        alone = unit.name not in joined | sending and not unit.mounted_on  # told by unit_stands_alone
        if unit.role not in ("monitor", "sender") or not sockets or unit.name in receiving or alone:
            continue
        if not any((unit.name, name) in plugged for name in sockets):
            outputs = free.get(unit.model.ports[sockets[0]].signal, [])
            begins = next((f"{name}.{port}" for name, port in outputs if name != unit.name), "")
            yield Finding(
                unit.span,
                f"no lead and no link brings a picture to `{unit.name}`",
                f"add a cable leg `{begins} to {unit.name}.{sockets[0]}`"
                if begins
                else f"add the unit that its picture comes from, with a lead to `{unit.name}.{sockets[0]}`, or remove "
                f"`{unit.name}`",
                units=(unit.name,),
            )
