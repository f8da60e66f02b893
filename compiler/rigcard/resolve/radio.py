"""Every radio link of a rig: the declared ones, and one from each handset to its receivers."""

import re
from fractions import Fraction

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


UNITS = {"ghz": 1000, "mhz": 1}
_BAND = re.compile(r"([0-9]+(?:[.,][0-9]+)?)(ghz|mhz)")


def on_one_channel(link: RadioLink) -> tuple[str | Fraction, str]:
    """Band and channel, alike for all ways of writing them: `5.8 GHz` and `5800MHz`, `3`, `03` and `CH 3`."""
    band = "".join(link.band.casefold().split())
    number = _BAND.fullmatch(band)
    channel = "".join(link.channel.casefold().split()).removeprefix("channel").removeprefix("ch").lstrip("0")
    if number is None:
        return band, channel
    return Fraction(number[1].replace(",", ".")) * UNITS[number[2]], channel


def on_air(link: RadioLink) -> str:
    """A link's frequency and channel as papers write them: `5.8 GHz, channel 3`; "" if not stated."""
    return ", ".join(part for part in (link.band, link.channel and f"channel {link.channel}") if part)
