"""A small rig of packs, leads and loads, in which a test changes what it speaks of; published values."""

from __future__ import annotations

import csv
from typing import Any

import pint

from samples import REFERENCE

UNITS: pint.UnitRegistry[Any] = pint.UnitRegistry()


def published(name: str) -> list[dict[str, str]]:
    """The rows of a table of published values."""
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


POWER_RIG = """\
rig "Power" {{ revision "A"; {rig} }}
signal line "Serial" carries 16 channels
signal dc "Supply" carries power
model set "Handset" {{
  role handset
  stick across "Across" left to right springs
  channels 4; pulse 1500us centre, 4us per 1%; travel 0%..140% step 1%
  subtrim -80..80 steps, 80 steps = 12%, shifts whole; reverse before subtrim; mix before travel
  output -150%..150%
}}
model rec "Receiver" {{ role receiver; channels 4; port p1..p4 out servo channel 1..4; port bus out line }}
model hd "Head" {{
  role head
  port remote in line
  port power in dc
  input pan on remote "Pan" {{ sweeps left to right }}
  {load}
}}
model pk "Pack" {{ role pack; port out-1, out-2 out dc; {pack} }}
unit hs is set "Handset" {{ memory 1 "P"; channel 1 pan from across failsafe 0% }}
unit rx is rec "Receiver" {{ bound to hs }}
unit head is hd "Head" {{ input pan from pan }}
unit pack is pk "Pack"
cable W1 "Serial" {{ rx.bus to head.remote; length 1m; jacket 3mm }}
cable P1 "Power" {{ pack.out-1 to head.power; length 10m; jacket 8mm; {p1} }}
{more}
"""
