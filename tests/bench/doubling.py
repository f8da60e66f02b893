"""What double the size costs, for `check` and `build` of rigs that grow in three ways: `python tests/bench/doubling.py`.

- a production (see production.py): 100 to 3,000 units and cables, with mounts, plugs, cases and leads that look alike;
- channels: 16 to 1,024, on handsets of 16;
- a chain of power through 25 to 200 splitters, with a lamp at each.

CPU time of whole processes (user and system, children included), the least of two runs; a ratio to the size before
it, start included; peak memory. One kind alone: its name as an argument.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from measure import Cost, process
from production import production

STOCK = Path(__file__).parents[2] / "samples" / "stock"
HANDSET = """unit hs-{n} is handset-16 "Handset {n}" {{
  memory 1 "M{n}"
{channels}
}}
unit rx-{n} is receiver-16 "Receiver {n}" {{ bound to hs-{n} }}
unit box-{n} is box-16 "Box {n}" {{
{inputs}
}}
cable S{n} "Lead {n}" {{ rx-{n}.bus to box-{n}.remote; length 500mm; jacket 3mm }}
"""
LINK = """unit s{n} is splitter "Splitter {n}"
unit l{n} is lamp "Lamp {n}"
cable P{n} "Lead {n}" {{ {last} to s{n}.in-1; length 100mm; jacket 8mm; wire 10mm2; rated 50A; plugs plug to plug }}
cable L{n} "Lamp lead {n}" {{ s{n}.out-2 to l{n}.in-1; length 100mm; jacket 3mm; wire 10mm2; rated 50A; plugs plug to plug }}
"""
CHAIN = """rig "Chain" { revision "A" }
signal power "Power" carries power
connector plug "Plug" pins 1 ground, 2 supply
model pack-1 "Pack" {
  role pack
  port out-1 out power by plug
  chemistry lithium-ion
  capacity 13.6Ah at 22.2V
  supplies 18V..25.2V up to 30A
  fuse 30A
}
model splitter "Splitter" {
  role other
  port in-1 in power by plug
  port out-1, out-2 out power by plug
  passes in-1 to out-1
  passes in-1 to out-2
}
model lamp "Lamp" { role other; port in-1 in power by plug; takes 10V..26V; draws 1mA }
unit pack is pack-1 "Pack"
"""


def channels(count: int) -> str:
    """A rig of so many channels, each from a switch of its own, proven at both ends."""
    each = range(1, 17)
    text = [
        'rig "Channels" { revision "A" }\nsignal serial-16 "Serial" carries 16 channels\n',
        'model handset-16 "Handset" {\n  role handset\n',
        *(f'  switch s{k} "Switch {k}" away, toward\n' for k in each),
        "  channels 16\n  pulse 1500us centre, 5us per 1%\n  travel 0%..125% step 5%\n",
        "  subtrim -80..80 steps, 80 steps = 12%, shifts whole\n  reverse before subtrim\n  mix after travel\n",
        "  output -140%..140%\n}\n",
        'model receiver-16 "Receiver" { role receiver; channels 16; port bus out serial-16 }\n',
        'model box-16 "Box" {\n  role other\n  port remote in serial-16\n',
        *(f'  input i{k} on remote "Input {k}" {{ off -150%..-45% rest; on 45%..150% }}\n' for k in each),
        "}\n",
    ]
    for n in range(count // 16):
        lines = "\n".join(f"  channel {k} c{k} from s{k} failsafe hold reverse auto" for k in each)
        inputs = "\n".join(f"  input i{k} from c{k}" for k in each)
        text.append(HANDSET.format(n=n, channels=lines, inputs=inputs))
        text += [f"expect hs-{n}.s{k}.toward gives box-{n}.i{k}.on\n" for k in each]
    return "".join(text)


def chain(count: int) -> str:
    """A chain of so many splitters behind one pack."""
    last = ["pack.out-1", *(f"s{n}.out-1" for n in range(1, count))]
    return CHAIN + "".join(LINK.format(n=n, last=last[n - 1]) for n in range(1, count + 1))


class Kind(NamedTuple):
    """A way to grow: the numbers to try, what they count, and the text for each."""

    sizes: tuple[int, ...]
    what: str
    text: Callable[[int], str]


KINDS = {
    "production": Kind(
        (100, 200, 400, 800, 1600, 3000), "units and cables", lambda n: production(n // 11, n // 11)
    ),
    "channels": Kind((16, 32, 64, 128, 256, 512, 1024), "channels", channels),
    "chain": Kind((25, 50, 100, 200), "splitters", chain),
}


def cost(command: list[str]) -> Cost:
    """The least of two runs."""
    return min(process(command), process(command))


def main(names: list[str]) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        for name in names:
            kind = KINDS[name]
            before: dict[str, float] = {}
            for size in kind.sizes:
                path = Path(folder) / f"{name}-{size}.rig"
                path.write_text(kind.text(size), encoding="utf-8")
                for command, more in (("check", []), ("build", ["-o", folder, "--jobs", "1"])):
                    rigcard = [sys.executable, "-m", "rigcard", command]
                    took = cost([*rigcard, str(path), "--stock", str(STOCK), *more])
                    ratio = f", {took.seconds / before[command]:.2f} times" if command in before else ""
                    before[command] = took.seconds
                    print(
                        f"{command} of {size} {kind.what}: {took.seconds:.2f} s CPU{ratio}; peak {took.memory:.0f} MiB",
                        flush=True,
                    )


if __name__ == "__main__":
    main(sys.argv[1:] or list(KINDS))
