"""A production as text: handsets, receivers, heads, leads that look alike, mounts, plugs and cases, of any size.

`python tests/bench/production.py 12` writes the rig of twelve handsets to standard output.
"""

from __future__ import annotations

import sys

USES = ("radio", "heads", "camera", "packs")
HEAD = """rig "Season" {
  job "Production of many cameras"
  revision "A" on 2026-04-01
  crew operator "Head operator"
  guard 5%
  day 10h
}
model weight-1 "Counterweight" { role other; mass 1.6kg }
model receiver-7 "7-pin receiver" {
  role receiver
  channels 12
  port p1..p7 out servo by servo-3 channel 1..7
  port bus out serial-16 by servo-3
  port power in rail-5v
  takes 4.5V..8.4V on power, bus
  draws 80mA
  passes power to p1..p7 up to 3A
  failsafe after 700ms
  shows "link light steady" when linked
  mass 0.02kg
}
"""
# One operator's position: what hangs on one handset. Spares of another model, which are tried in place of the unit in
# use, and leads with two wirings in the same plugs are what takes long.
STATION = """unit hs-{n} is handset-12 "Handset {n}" {{
  asset "HS-{n:03}"
  case "Case {a}"
  held by operator
  memory {m} "STATION {n} A"
  channel 1 pan from right-across failsafe 0%
  channel 2 tilt from right-along failsafe 0%
  channel 3 lock from front-toggle failsafe hold reverse auto
}}
unit rx-{n} is receiver-8 "Receiver {n}" {{ asset "RX-{n:03}"; case "Case {a}"; bound to hs-{n}; mounted on head-{n} }}
unit spare-{n} is receiver-7 "Spare receiver {n}" spare for rx-{n} {{ asset "RS-{n:03}"; case "Case {a}" }}
unit head-{n} is head-2 "Head {n}" {{
  asset "HD-{n:03}"
  case "Case {b}"
  mount upright
  input pan from pan
  input tilt from tilt
  input lock from lock
  set line-type "16-channel serial"
}}
unit plate-{n} is weight-1 "Plate {n}" {{ asset "PL-{n:03}"; case "Case {b}"; mounted on head-{n} }}
unit pack-{n} is pack-300 "Pack {n}" {{ asset "PK-{n:03}"; case "Case {c}" }}
cable S{n} "Remote lead {n}" {{
  rx-{n}.bus to head-{n}.remote
  length 500mm; jacket 3mm; wire AWG26; mass 30g; plugs servo-3 to control-6; rides head-{n}; case "Case {a}"
}}
cable P{n} "Head power {n}" {{
  pack-{n}.out-1 to head-{n}.power
  length 3m; jacket 8mm; wire 2.5mm2; rated 16A; fuse 15A; mass 400g; moving
  plugs power-4 to power-4; route 2m slack 10% loops 1 x 200mm; case "Case {c}"
}}
"""
SHELF = """unit view-{k} is monitor-7 "Monitor {k}" {{ asset "MN-{k:03}"; case "Case {c}" }}
unit feed-{k} is pack-98 "Monitor pack {k}" {{ asset "PM-{k:03}"; case "Case {c}" }}
cable M{k} "Monitor power {k}" {{
  feed-{k}.out-1 to view-{k}.power
  length 500mm; jacket 5mm; wire AWG20; rated 5A; fuse 5A; mass 70g; plugs power-4 to power-2; case "Case {c}"
  pin 1 to 2 colour BK "Ground"
{second}  pin 4 to 1 colour RD "Supply"
  mark "{mark}"
}}
"""
SECOND = '  pin 2 to 2 colour WH "Ground too"\n'
CASE = 'case "Case {n}" empty 4kg up to 32kg\n'
CLAIM = "expect hs-{n}.right-across.right gives head-{n}.pan.right\nexpect hs-{n}.front-toggle.toward gives head-{n}.live\n"


def production(stations: int, shelf: int) -> str:
    """A rig of so many operators' positions, and so many monitors with leads of two wirings that look alike."""
    cases = max(3, 5 * stations)
    parts = [HEAD, *(f'use "{name}.rig"\n' for name in USES)]
    for n in range(1, stations + 1):
        a, b, c = (1 + (3 * n + k) % cases for k in range(3))
        parts.append(STATION.format(n=n, m=n % 20, a=a, b=b, c=c))
    for k in range(1, shelf + 1):
        second, mark = (("", "one ring"), (SECOND, "two rings"))[k % 2]
        parts.append(SHELF.format(k=k, c=1 + k % cases, second=second, mark=mark))
    parts += [CASE.format(n=n) for n in range(1, cases + 1)]
    parts += [CLAIM.format(n=n) for n in range(1, stations + 1)]
    return "".join(parts)


if __name__ == "__main__":
    stations = int(sys.argv[1])
    print(production(stations, int(sys.argv[2]) if len(sys.argv) > 2 else stations), end="")
