"""Every radio link of a rig: the declared ones, and one from each handset to its receivers."""

from rigcard.resolve.model import RadioLink, Rig


def all_links(rig: Rig) -> list[RadioLink]:
    """The links of the handsets come first; a link that the file also declares appears once, with its band."""
    found = []
    declared = list(rig.radio_links)
    for handset in rig.units.values():
        bound = [unit for unit in rig.units.values() if unit.bound_to == handset.name]
        own = [link for link in declared if link.sender == handset.name]
        told = {receiver for link in own for receiver in link.receivers}
        rest = tuple(unit.name for unit in bound if unit.name not in told)
        if rest:
            found.append(RadioLink(handset.title, handset.name, rest, "", "", handset.span))
    return [*found, *declared]


def on_air(link: RadioLink) -> str:
    """A link's frequency and channel as papers write them: `5.8 GHz, channel 3`; "" if not stated."""
    return ", ".join(part for part in (link.band, link.channel and f"channel {link.channel}") if part)
