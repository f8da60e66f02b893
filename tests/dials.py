"""A handset as text and as values, and its dials: what the tests of the arithmetic and of the search share."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from pathlib import Path

from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from rigcard.resolve.model import Arithmetic, Pulse, Travel, Unit
from rigcard.solve.arithmetic import Dial, Part, channel_level
from rigcard.solve.solved import Row, Solved
from rigs import resolved

STEP = Fraction(35, 240)  # per cent a sub-trim step; common practice, no source
MIXES = ("before-travel", "after-travel")
SET_RIG = """
rig "Worked" {{ revision "A" }}
signal line "Serial" carries 16 channels counts 172 to 1811 over -100% to 100% field 0 to 2047
model set "Handset" {{
  role handset
  switch two "Two" away, toward
  switch three "Three" away, middle, toward
  channels 16
  pulse {pulse}
  travel 0%..140% step 1%
  subtrim -{subtrim}..{subtrim} steps, 240 steps = 35%, shifts {shifts}
  reverse {reverse}
  mix before travel
  output -150%..150%
}}
model rec "Receiver" {{ role receiver; channels 16; port p1 out servo channel 1; port bus out line }}
model box "Listener" {{ role other; port a in servo; port bus in line; {inputs} }}
unit hs is set "Handset" {{ memory 1 "M"; {channels} }}
unit rx is rec "Receiver" {{ bound to hs }}
unit dev is box "Listener" {{ {sources} }}
cable W1 "Lead" {{ rx.p1 to dev.a; length 1m; jacket 3mm }}
cable W2 "Bus" {{ rx.bus to dev.bus; length 1m; jacket 3mm }}
{expects}
"""
USUAL_SET = {
    "pulse": "1500us centre, 4us per 1%",
    "subtrim": "240",
    "shifts": "whole",
    "reverse": "before subtrim",
    "inputs": 'input rec on a "Record" { run -150%..-70%; standby -69%..150% }',
    "channels": "",
    "sources": "",
    "expects": "",
}


@cache
def base() -> Unit:
    """A handset unit with one channel, as the compiler reads it: examples change what they speak of."""
    text = SET_RIG.format(**{**USUAL_SET, "channels": "channel 1 record from two"})
    rig, _ = resolved(text)
    return rig.units["hs"]


def handset(
    *,
    pulse: Pulse | None = None,
    subtrim: int = 240,
    step: Fraction = STEP,
    shifts: str = "whole",
    reverse: str = "before-subtrim",
    mix: str = "before-travel",
    output: int = 150,
    travel: tuple[int, int, int] = (0, 140, 1),
) -> Arithmetic:
    """The handset of the worked examples, with what an example changes."""
    arithmetic = base().model.arithmetic
    assert arithmetic is not None
    low, high, travel_step = (Fraction(number) for number in travel)
    return arithmetic._replace(
        pulse=pulse or Pulse(Fraction(1500), Fraction(4)),
        travel_low=low,
        travel_high=high,
        travel_step=travel_step,
        subtrim_low=-subtrim,
        subtrim_high=subtrim,
        subtrim_step=step,
        shifts=shifts,
        reverse=reverse,
        mix=mix,
        output_low=Fraction(-output),
        output_high=Fraction(output),
    )


def dial(low: int, high: int, subtrim: int, turned: bool = False) -> Dial:
    """Values as dialled."""
    return Dial(Travel(Fraction(low), Fraction(high)), subtrim, turned)


def level(arithmetic: Arithmetic, values: Dial, own: int | Fraction, *parts: Part) -> Fraction:
    """The level with the control at `own`."""
    return channel_level(arithmetic, values, Fraction(own), parts).percent


RECORD_RECIPE = Dial(Travel(Fraction(70), Fraction(0)), -240, False)  # low side 70, high side 0


def compiled_set(folder: Path, **parts: str) -> tuple[Solved | None, Diagnostics]:
    """The worked rig with some parts of its text given, through every pass."""
    path = folder / "worked.rig"
    path.write_text(SET_RIG.format(**{**USUAL_SET, **parts}), encoding="utf-8")
    diagnostics = Diagnostics()
    return check_rig(path, diagnostics).solved, diagnostics


def rows_of_set(solved: Solved | None, diagnostics: Diagnostics, name: str = "record") -> dict[str, Row]:
    """The rows of a channel's own control, by position."""
    assert solved is not None, [found.message for found in diagnostics]
    sheet = solved.results["hs", name]
    return {row.position.name: row for row in sheet.rows if row.control == sheet.control.name}
