"""One small rig as text, for tests of what the compiler proves: a test states only what it speaks of."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig
from rigcard.resolve.model import Rig
from rigcard.resolve.resolve import resolve
from rigcard.solve.solved import JointRow, Row, Solved
from rigcard.source import Source
from rigcard.syntax.load import Program
from rigcard.syntax.parser import parse
from samples import STOCK

AUTO = "travel auto subtrim auto reverse auto failsafe hold"
# Start and stop of a take, with the edge at -70 % (common practice, no source).
RECORD = 'input trigger on one "Record" { run -150%..-70%; standby -69.99%..150% }'
# Five keys with edges at +-25 % and +-75 % (common practice, no source); a hundredth of a per cent parts two bands.
KEYS = """input keys on two "Keys" {
    a-minus -125%..-75%
    b-minus -74.99%..-25.01%
    none    -25%..25% rest
    b-plus  25.01%..74.99%
    a-plus  75%..125%
  }"""
RIG = """\
rig "Proof" {{ revision "A"; guard {guard} }}
signal line "Serial" carries 16 channels counts 172 to 1811 over -100% to 100%
model set "Handset" {{
  role handset
  stick  across "Across" left to right springs
  slider fader "Fader" toward to away
  switch a "Switch A" away, middle, toward
  switch b "Switch B" away, middle, toward
  switch c "Switch C" away, middle, toward
  switch two "Two" away, toward
  channels 16
  pulse   {pulse}
  travel  0%..140% step 1%
  subtrim {subtrim}, shifts {shifts}
  reverse {reverse}
  mix     {mix}
  output  {output}
  has     {has}
  {handset}
}}
model rec "Receiver" {{ role receiver; channels 16; port p1..p8 out servo channel 1..8; port bus out line }}
model box "Listener" {{
  role other
  {listener}
  port one, two, three, four in servo
  port bus in line
  {inputs}
}}
unit hs is set "Handset" {{
  memory 1 "PROOF"
  {channels}
}}
unit rx is rec "Receiver" {{ bound to hs }}
unit dev is box "Listener" {{ {unit} }}
{cables}
{more}
"""
USUAL = {
    "guard": "0%",
    "pulse": "1500us centre, 4us per 1%",
    "subtrim": "-240..240 steps, 240 steps = 35%",  # common practice, no source
    "shifts": "whole",
    "reverse": "before subtrim",
    "mix": "after travel",
    "output": "-150%..150%",
    "has": "slow",
    "handset": "",
    "listener": "",
    "inputs": RECORD,
    "channels": "",
    "unit": "",
    "cables": 'cable W1 "Lead" { rx.p1 to dev.one; length 1m; jacket 3mm }',
    "more": "",
}
# Two switches on one channel, half of the second mixed into the first.
MIXED = {
    "output": "-125%..125%",
    "inputs": KEYS,
    "channels": """channel 2 keys from a failsafe 0%
  channel 3 half from b failsafe 0%
  mix half into keys at 50%""",
    "cables": 'cable W2 "Lead" { rx.p2 to dev.two; length 1m; jacket 3mm }',
}


def rig_text(**parts: str) -> str:
    """The rig with the parts that a test changes."""
    assert parts.keys() <= USUAL.keys(), parts.keys() - USUAL.keys()
    return RIG.format(**{**USUAL, **parts})


def compiled(folder: Path, **parts: str) -> tuple[Solved | None, list[Diagnostic]]:
    """The rig with these parts, through every pass that needs no paper; and what was reported."""
    return checked(folder, rig_text(**parts))


def checked(folder: Path, text: str) -> tuple[Solved | None, list[Diagnostic]]:
    """A rig file of this text, through every pass that needs no paper; and what was reported."""
    path = folder / "proof.rig"
    path.write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    return solved, diagnostics.sorted()


def solved_rig(folder: Path, **parts: str) -> Solved:
    """The rig with these parts, in which nothing may be an error."""
    solved, found = compiled(folder, **parts)
    assert solved is not None, found
    return solved


def ids(found: list[Diagnostic]) -> list[str]:
    """The codes reported."""
    return [diagnostic.code.id for diagnostic in found]


def only(found: list[Diagnostic], code: str) -> Diagnostic:
    """The one diagnostic of a code."""
    matching = [diagnostic for diagnostic in found if diagnostic.code.id == code]
    assert len(matching) == 1, found
    return matching[0]


def rows(solved: Solved, channel: str) -> dict[tuple[str, str], Row]:
    """The rows of a channel's sheet by control and position."""
    return {(row.control, row.position.name): row for row in solved.results["hs", channel].rows}


def joint(solved: Solved, channel: str) -> dict[tuple[str, ...], JointRow]:
    """The truth table of a channel by the positions of its controls, in the order of the table."""
    return {tuple(place.name for _, place in row.places): row for row in solved.joint["hs", channel]}


def resolved(text: str) -> tuple[Rig, Diagnostics]:
    """The rig of a text, not yet checked, and what was reported."""
    source, diagnostics = Source("plan.rig", text), Diagnostics()
    parsed = parse(source, diagnostics)
    assert parsed is not None, list(diagnostics)
    rig = resolve(Program(source, parsed.statements), diagnostics)
    assert rig is not None, list(diagnostics)
    return rig, diagnostics


WAYS = ("away", "middle", "toward")
OTHER_SET = {
    "pulse": "1520us centre, 5.12us per 1%",
    "listener": "pulse 1500us centre, 4us per 1%",
    "inputs": KEYS,
    "channels": "channel 2 keys from b travel 50% / 50% failsafe -3.90625%",
    "cables": MIXED["cables"],
    "guard": "5%",
}
PAN = 'input pan on one "Pan" critical { sweeps left to right rest 0% }'
SPEED = 'input speed on one "Speed" critical { sweeps slow to fast rest -100% }'
RECORDING = "channel 1 record from two travel 0% / 70% subtrim -240 reversed"
HUNG = {
    "inputs": 'input pan on bus "Pan" critical { sweeps left to right rest 0% }\n  underslung flips pan',
    "cables": 'cable W1 "Bus" { rx.bus to dev.bus; length 1m; jacket 3mm }',
}
STOP = 'input brake on one "Brake" critical stop { hold -150%..-50% rest; free 50%..150% }'
SECOND = 'cable W3 "Lead" { rx.p3 to dev.three; length 1m; jacket 3mm }'
LEAD = 'cable W1 "Lead" { rx.p1 to dev.one; length 1m; jacket 3mm }'
EACH_INTO_THE_OTHER = """use "radio.rig"
model hs-mix "Handset" {
  role     handset
  stick    a "A" left to right springs
  stick    b "B" toward to away springs
  channels 4
  pulse    1500us centre, 4us per 1%
  travel   0%..140% step 1%
  subtrim  -240..240 steps, 240 steps = 36%, shifts whole
  reverse  before subtrim
  mix      after travel
  output   -300%..300%
}
model two-in "Two inputs" {
  role other
  port one, two in servo
  input x on one "X" { low X_LOW; still -15%..15%; high X_HIGH }
  input lamp on one "Lamp" { sweeps dark to bright over -300%..300% }
  input y on two "Y" { down Y_LOW; idle -15%..15%; up Y_HIGH }
}
rig "Case" { revision "A" }
unit hs is hs-mix "Handset" {
  memory 1 "CASE A"
  channel 1 x from a travel auto subtrim auto reverse auto failsafe hold
  channel 2 y from b travel auto subtrim auto reverse auto failsafe hold
  mix x into y at X_INTO_Y
  mix y into x at Y_INTO_X
}
unit rx is receiver-8 "Receiver" { bound to hs }
unit box is two-in "Box"
cable W1 "One" { rx.p1 to box.one; length 300mm; jacket 3mm }
cable W2 "Two" { rx.p2 to box.two; length 300mm; jacket 3mm }
expect hs.a.left gives box.low
expect hs.a.right gives box.high
expect hs.a.right gives box.lamp.bright
expect hs.a.left gives box.down
expect hs.a.right gives box.up
expect hs.b.toward gives box.low
expect hs.b.away gives box.high
expect hs.b.toward gives box.down
expect hs.b.away gives box.up
"""
TURNING = 'input pan on one "Pan" critical {{ sweeps left to right rest 0% dead-band {dead}% full 60deg/s }}'
STICK = "channel 1 pan from across failsafe {failsafe}"


@cache
def solved_or_none(path: Path) -> Solved | None:
    """A rig as far as it compiles."""
    return check_rig(path, Diagnostics(), None, STOCK).solved


def diagnosed(path: Path) -> list[Diagnostic]:
    """What a case file gives; a case of the last pass needs papers."""
    diagnostics = Diagnostics()
    if path.parent.name == "papers":
        build_rig(path, diagnostics, request=Request(only=("labels",)), stock=STOCK)
    else:
        check_rig(path, diagnostics, stock=STOCK)
    return diagnostics.sorted()
