"""What goes wrong with such rigs in practice, put into the samples one at a time, and what the compiler says to it.

`python tests/faults.py` prints a table and the rates: caught (an error or a warning), rightly accepted, printed (no
message, but the papers show what a person must look at), silent. Every fault is common practice, no source.
"""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

from conftest import ROOT
from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.documents.base.model import Text
from rigcard.documents.cards.card_set import card_document
from rigcard.documents.kit.kit_list import kit_document
from rigcard.documents.labels.label_sheets import label_document
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved

SAMPLES = ROOT / "samples"
ERROR, WARNING, ACCEPTED, PRINTED, SILENT = "error", "warning", "accepted", "printed", "silent"
Files = dict[str, str]  # "rig" and the names of the stock files, with their text
Edit = Callable[[Files], None]


class Fault(NamedTuple):
    """A fault of the trade: `expected` is the outcome that is right for the person who made it.

    `shown` is what a line of the papers must carry for it to count as printed.
    """

    id: str
    words: str
    sample: str
    expected: str
    edits: tuple[Edit, ...]
    shown: str = ""


class Outcome(NamedTuple):
    """What became of a fault."""

    kind: str
    found: tuple[Diagnostic, ...]

    @property
    def codes(self) -> list[str]:
        """The codes reported, each once."""
        return list(dict.fromkeys(diagnostic.code.id for diagnostic in self.found))


# ---- edits ---------------------------------------------------------------------------------------------------


def put(old: str, new: str = "", file: str = "rig") -> Edit:
    """Write `new` for `old`, which must stand in the file just once."""

    def edit(files: Files) -> None:
        assert files[file].count(old) == 1, f"{old!r} stands {files[file].count(old)} times in {file}"
        files[file] = files[file].replace(old, new)

    return edit


def camera(old: str, new: str = "") -> Edit:
    """The same in the stock of cameras and what drives them."""
    return put(old, new, "camera.rig")


def heads(old: str, new: str = "") -> Edit:
    """The same in the stock of heads."""
    return put(old, new, "heads.rig")


def radio(old: str, new: str = "") -> Edit:
    """The same in the stock of handsets and receivers."""
    return put(old, new, "radio.rig")


def add(text: str, file: str = "rig") -> Edit:
    """Write more at the end of a file."""

    def edit(files: Files) -> None:
        files[file] += f"\n{text}\n"

    return edit


def drop(pattern: str, file: str = "rig") -> Edit:
    """Take out whatever matches; `^` is the start of a line and `.` any character but its end."""

    def edit(files: Files) -> None:
        files[file], count = re.subn(pattern, "", files[file], flags=re.MULTILINE)
        assert count, f"nothing matches {pattern}"

    return edit


def without(kind: str, name: str) -> Edit:
    """Take out a unit or a cable with its block."""
    return drop(rf"^{kind} +{re.escape(name)} [^\n{{]*(?:\{{[^}}]*\}}[^\n]*)?\n")


# ---- the faults ------------------------------------------------------------------------------------------------

FAULTS: list[Fault] = []


def fault(number: str, words: str, sample: str, expected: str, *edits: Edit, shown: str = "") -> None:
    """Note a fault."""
    FAULTS.append(Fault(number, words, sample, expected, edits, shown))


# fmt: off
G, M, F = "gorge", "mast", "first"
RECORD = "channel 5  record    from left-flip     travel auto       subtrim auto  reverse auto  failsafe hold"
RECORD_M = "channel 3 record from left-toggle  travel auto  subtrim auto  reverse auto  failsafe hold"
TOOLS = "travel 60% / 60%  failsafe -60%"

# A rest that is not met
fault("01a", "soft keys on a switch without a middle", G, ERROR, put("from right-rocker", "from left-flip"))
fault("01b", "the model does not say which band is rest", G, ERROR, camera("-44%  rest", "-44%"))
fault("01c", "sub-trim of another job, still well inside", G, ACCEPTED, put(TOOLS, f"{TOOLS} subtrim 20"))
fault("01d", "sub-trim of another job, near the edge", G, WARNING, put(TOOLS, f"{TOOLS} subtrim 80"))
fault("01e", "sub-trim and travel of another job, in a gap", G, ERROR, put(TOOLS, "travel 70% / 70% subtrim -80 failsafe -60%"))
fault("01f", "an axis learns its zero, so a small sub-trim does no harm", G, ACCEPTED, put("channel 7  pan       from right-across  failsafe 0%", "channel 7  pan       from right-across subtrim 30  failsafe 4.5%"), heads('input     pan        on remote "Pan"  critical { sweeps left to right  rest 0%  dead-band 3%', 'input     pan        on remote "Pan"  critical { learns neutral; sweeps left to right  rest 0%  dead-band 3%'))
fault("01g", "keys learn their zero from a switch that rests at one side", G, ERROR, camera("soft-5   84%..118%", "soft-5   84%..118%\n    learns neutral"))
fault("01h", "an axis learns its zero with a sub-trim, and its failsafe stays where the zero was", G, ERROR, put("channel 7  pan       from right-across", "channel 7  pan       from right-across subtrim 30"), heads('input     pan        on remote "Pan"  critical { sweeps left to right  rest 0%  dead-band 3%', 'input     pan        on remote "Pan"  critical { learns neutral; sweeps left to right  rest 0%  dead-band 3%'))

# Mixes and their conditions
fault("02a", "a mix without its condition", M, WARNING, put(" while front-toggle toward  #", "  #"))
fault("02b", "a mix on the wrong switch", M, ERROR, put("while front-toggle toward  #", "while left-flip away  #"))
fault("02c", "a mix on the wrong position", M, ERROR, put("while front-toggle toward  #", "while front-toggle away  #"))
fault("02d", "the rate of another adapter", G, ERROR, put("into tools at 40%", "into tools at 20%"))
fault("02e", "a rate that only just reaches", G, WARNING, put("into tools at 40%", "into tools at 25%"))
fault("02f", "a mix turned round", G, ERROR, put("into tools at 40%", "into tools at -40%"))
fault("02g", "another switch locks the head while its own says live", M, WARNING, put("0% / -60% while", "0% / -150% while"), put("expect hs-a.front-toggle.toward gives head.lock.gentle while left-flip toward\n"))

# Memories
fault("03a", "no memory noted", G, ERROR, put('memory 4 "GORGE C"'))
fault("03b", "a memory of the revision before", G, WARNING, put("GORGE C", "GORGE B"))
fault("03c", "one memory on two handsets", M, WARNING, put('1 "MASTCAM B"', '2 "MAST B"'))
fault("03d", "a memory of another job", G, PRINTED, put("GORGE C", "FINISH C"), shown="FINISH C")

# Binding, spares
fault("04a", "both receivers on one handset", M, ERROR, put("bound to hs-b", "bound to hs-a"))
fault("04b", "two receivers bound crosswise", M, ERROR, put("bound to hs-a", "bound to hs-c"), put("bound to hs-b", "bound to hs-a"), put("bound to hs-c", "bound to hs-b"))
SPARE = 'unit hs-2 is handset-12 "Second handset"'
fault("04c", "a spare handset in its case", G, ACCEPTED, add(f'{SPARE} spare for hs {{ asset "HS-015"; case "Case 1" }}'))
fault("04d", "a second handset that nobody calls a spare", G, ERROR, add(f'{SPARE} {{ asset "HS-015" }}'))
fault("04e", "a receiver that is not bound", G, ERROR, put("  bound to hs\n"))
OLD = 'unit rx-2 is receiver-8 "Old receiver"'
fault("04f", "a receiver without lead and supply", G, WARNING, add(f"{OLD} {{ bound to hs }}"))
fault("04g", "a spare receiver in its case", G, ACCEPTED, add(f'{OLD} spare for rx {{ asset "RX-032"; case "Case 1" }}'))
fault("04h", "a spare receiver is plugged in beside the other", G, ERROR, add(f'{OLD} spare for rx {{ asset "RX-032"; case "Case 1" }}'), put("  rx.p2 to motor.signal", "  rx-2.p2 to motor.signal"))

# Directions
PAN = "input pan        from pan   reversed"
fault("05a", "reversal forgotten for a head that hangs", G, ERROR, put(PAN, "input pan from pan"))
PAN_CH = "channel 7  pan       from right-across"
fault("05b", "reversed at the handset and in the head", G, ERROR, put(PAN_CH, f"{PAN_CH} reversed"))
fault("05c", "the head hangs, the file says upright", G, ERROR, put("mount underslung", "mount upright"))
fault("05d", "nobody says how the head is mounted", G, ERROR, put("  mount underslung\n"))
fault("05e", "horizon turned round, and nobody says what is wanted", G, PRINTED, put("input horizon    from horizon", "input horizon from horizon reversed"), shown="Horizon right / left")
fault("05f", "reversed at the handset instead of in the head", G, ACCEPTED, put(PAN_CH, f"{PAN_CH} reversed"), put(PAN, "input pan from pan"))
fault("05g", "tilt turned round, and nobody says what is wanted", F, PRINTED, put("input tilt from tilt", "input tilt from tilt reversed"), shown="Tilt down / up")
fault("05h", "a head hangs whose model says nothing of that", M, WARNING, put("mount upright", "mount underslung"))
fault("05i", "the speed dial turned round", G, PRINTED, put("pace      from left-dial", "pace      from left-dial reversed"), shown="Tilt speed fast /")

# Radio loss
fault("06a", "no failsafe on a critical axis", G, ERROR, put("from right-across  failsafe 0%", "from right-across"))
fault("06b", "hold on the speed of an axis", G, ERROR, put("from right-across  failsafe 0%", "from right-across  failsafe hold"))
fault("06c", "record fails to the middle, as from the factory", G, ERROR, put("reverse auto  failsafe hold", "reverse auto  failsafe 0%"))
fault("06d", "the mode fails to a mode that moves", G, WARNING, put("failsafe -90%", "failsafe 90%"))
fault("06e", "the mode fails between two bands", G, ERROR, put("failsafe -90%", "failsafe -45%"))
fault("06f", "the iris jumps to half on radio loss", G, PRINTED, put("from left-along    failsafe hold", "from left-along    failsafe 0%"), shown="goes to 50 % of the way")
fault("06g", "the keys fail to a key", G, WARNING, put(TOOLS, "travel 60% / 60%  failsafe 60%"))
fault("06h", "no failsafe on any channel that is not critical", G, WARNING, drop(r"  failsafe (?:hold|-60%)"))
fault("06i", "the speed fails to full", G, PRINTED, put("from left-dial     failsafe hold", "from left-dial     failsafe 100%"), shown="Pan speed, Tilt speed: go to fast.")
fault("06j", "a mode that holds on radio loss", G, PRINTED, put("failsafe -90%", "failsafe hold"), shown="Mode, Iris")
fault("06k", "no failsafe on record", G, WARNING, put("reverse auto  failsafe hold", "reverse auto"))
fault("06l", "no pulses at all on a critical axis", G, ERROR, put("from right-across  failsafe 0%", "from right-across  failsafe none"))
fault("06m", "the failsafe turns an axis inside what counts as rest", G, ERROR, put("from right-across  failsafe 0%", "from right-across  failsafe 5%"))

# Record
TOGGLE = camera('command standby, run  needs socket = "Orders"', 'command start-stop toggles run, standby needs socket = "Orders"')
TRIGGER = (camera("run     -66%..-38%", "start-stop -66%..-38%"), camera("standby  50%..78%  rest", "ready  50%..78%  rest"))
CLAIMS = "expect hs.left-flip.away      gives cam.standby\nexpect hs.left-flip.toward    gives cam.run"
fault("07a", "a camera that toggles, claimed as one that does not", G, ERROR, TOGGLE, *TRIGGER)
fault("07b", "a camera that toggles, claimed as such", G, ACCEPTED, TOGGLE, *TRIGGER, put(CLAIMS, "expect hs.left-flip.away gives bridge.trigger.ready\nexpect hs.left-flip.toward gives cam.start-stop"))
fault("07c", "nobody who runs the camera sees a tally", M, PRINTED, without("unit", "view"), without("unit", "view-pack"), without("cable", "V11"), without("cable", "P13"), shown="the tally is lit")
fault("07d", "the switch is labelled the other way round", G, PRINTED, put("cam.standby\n", "cam.RUN\n"), put("cam.run\n", "cam.standby\n"), put("cam.RUN\n", "cam.run\n"), shown="AWAY camera records")
fault("07e", "record from a slow dial", G, ERROR, put("record    from left-flip ", "record    from right-slider "))
fault("07f", "another switch ends the take", G, WARNING, put(RECORD, "channel 5 record from left-flip travel 65% / 50% subtrim -10 reversed failsafe hold\n  channel 11 other from front-toggle\n  mix other into record at 0% / -115% while left-flip toward"))

# Menus
fault("08a", "the camera's control socket closed", G, ERROR, put('socket "Orders"', 'socket "Closed"'))
fault("08b", "the menu of the camera not noted", G, ERROR, put('  set   socket "Orders"\n'))
fault("08c", "the head expects single pulses", G, ERROR, put('line-type "16-channel serial"', 'line-type "One pulse each"'))
fault("08d", "the head expects nothing", G, ERROR, put('line-type "16-channel serial"', 'line-type "Nothing"'))
fault("08e", "the menu of the head not noted", F, ERROR, put('  set   line-type "16-channel serial"\n'))
fault("08f", "the head's own reaction to radio loss", G, PRINTED, put('lost-link "Halt"', 'lost-link "Carry on"'), shown="Carry on")
fault("08g", "the camera's control lead left out", G, ERROR, without("cable", "S04"))
fault("08h", "a menu choice that the head does not have", G, ERROR, put('lost-link "Halt"', 'lost-link "Stop"'))

# Soft keys
fault("09a", "a key without a job", G, ERROR, put('  set   soft-2 "Spirit level"\n'))
fault("09b", "two keys with one job", G, PRINTED, put('"Wiper, slow"', '"Frame marker"'), shown="TOWARD Frame marker")
fault("09c", "older software knows no such key", G, ERROR, camera('  command soft-4        needs socket = "Orders"  does soft-4\n'))
fault("09d", "one key given two jobs", G, ERROR, put('set   soft-4 "Wiper', 'set   soft-3 "Wiper'))
fault("09e", "the rocker of the keys the wrong way round", G, ERROR, put(TOOLS, f"{TOOLS} reversed"))

# Lens
fault("10a", "a lens with an iris by hand", G, ERROR, put("zoom-4", "lens-50"))
fault("10b", "the lens mounted on nothing", G, ERROR, put("  mounted on cam\n  note", "  note"))
fault("10c", "the lens left out", G, ERROR, drop(r'^unit lens is zoom-4 "Zoom lens" \{\n(?: .*\n)*\}\n'), put("; mounted on lens }", " }"))
fault("10d", "iris orders to a camera with a lens by hand", M, ERROR, put("rx-b.p6 to motor.signal", "rx-b.p6 to bridge.j1"), put("unused iris, tools", "unused tools"), without("unit", "motor"), put("independent head.pan, motor.turn"), put("expect hs-b.right-along.away    gives motor.turn.open"))
fault("10e", "nobody notes where the iris ring stands", G, PRINTED, put('  note  "Iris ring on REMOTE."\n'), shown="rings of Zoom lens")
ON_RING = put("  mounted on cam\n  note", "  mounted on ring\n  note")
RING = 'case "Case 3"; mounted on cam'
fault("10f", "a lens behind an adapter with contacts", G, ACCEPTED, add(f'model ring-1 "Adapter" {{ role lens-mount; mass 100g }}\nunit ring is ring-1 "Mount adapter" {{ asset "RI-001"; {RING} }}'), ON_RING)
fault("10g", "a lens behind an adapter without contacts", G, ERROR, add(f'model ring-1 "Adapter" {{ role other; mass 100g }}\nunit ring is ring-1 "Mount adapter" {{ asset "RI-001"; {RING} }}'), ON_RING)

# Trims
FACE12 = 'model handset-12 "12-channel handset" {\n  role     handset'
fault("11a", "trim levers of which the model says nothing", G, PRINTED, shown="trim levers of")
fault("11b", "trim levers that reach far", G, WARNING, radio(FACE12, f"{FACE12}\n  trims 20%"))
fault("11c", "trim levers that reach a little", G, WARNING, radio(FACE12, f"{FACE12}\n  trims 10%"))

# What an old memory leaves behind
HAS = radio(FACE12, f"{FACE12}\n  has rate, expo, slow")
fault("12a", "a mix of pan into tilt left over", G, WARNING, put("at 40%  ", "at 40%\n  mix pan into tilt at 20%  "))
fault("12b", "a rate left over on pan", G, PRINTED, HAS, put(PAN_CH, f"{PAN_CH} rate 70%"), shown="33.5°/s")
fault("12c", "a rate left over on keys", G, ERROR, HAS, put(TOOLS, f"{TOOLS} rate 70%"))
fault("12d", "a shorter travel left over on pan", G, PRINTED, put(PAN_CH, f"{PAN_CH} travel 100% / 70%"), shown="33.5°/s")
fault("12e", "a small mix left over that no input feels", G, ACCEPTED, put("at 40%  ", "at 40%\n  mix pace into record at 5%  "))
fault("12f", "a slow left over on keys", G, WARNING, HAS, put(TOOLS, f"{TOOLS} slow 1s"))
fault("12k", "a shorter travel left over on the zoom", G, WARNING, put("zoom      from left-slider ", "zoom      from left-slider travel 70% / 70%"))
fault("12g", "a sub-trim left over on pan", G, ERROR, put(PAN_CH, f"{PAN_CH} subtrim 25"))
fault("12h", "a small mix left over on keys", G, ACCEPTED, put("at 40%  ", "at 40%\n  mix mode into tools at 10%  "))
fault("12i", "a mix of a slider that stays put left over on pan", G, WARNING, put("at 40%  ", "at 40%\n  mix zoom into pan at 50%  "))
fault("12j", "an axis that hardly moves", G, ERROR, put(PAN_CH, f"{PAN_CH} travel 5% / 5%"))

# Channels without a purpose, dials with two
PACE = "  channel 9  pace      from left-dial     failsafe hold\n"
fault("13a", "the speed channel left out", G, ERROR, put(PACE))
fault("13b", "a speed input declared unused", G, PRINTED, put("  input pan-speed  from pace\n", "  unused pan-speed\n"), shown="Pan speed: not used")
fault("13c", "one dial moves two functions", G, WARNING, put("iris      from left-along ", "iris      from right-dial "))
fault("13d", "an input fed by the wrong channel", G, PRINTED, put("input pan-speed  from pace", "input pan-speed  from zoom"), shown="Pan speed fast / slow")
fault("13k", "two speed inputs on the wrong channel, their own left over", G, WARNING, put("input pan-speed  from pace", "input pan-speed from horizon"), put("input tilt-speed from pace", "input tilt-speed from horizon"))
fault("13e", "the speed dial stands anywhere at power-up", G, PRINTED, shown="Left dial")
fault("13f", "the horizon tilts on radio loss", G, PRINTED, put("right-dial    failsafe hold", "right-dial    failsafe 30%"), shown="Horizon: goes to 65 %")
fault("13g", "the iris on a slider that stays put", G, ACCEPTED, put("iris      from left-along ", "iris      from right-slider "))
fault("13h", "a dial that scales an axis, said so", G, ACCEPTED, heads('"Pan speed"     { sweeps slow to fast }', '"Pan speed"     { sweeps slow to fast  scales pan 10%..100% }'))
fault("13l", "a speed dial whose slow end stops the axis, which is claimed to turn", G, ERROR, heads('"Pan speed"     { sweeps slow to fast }', '"Pan speed"     { sweeps slow to fast  scales pan 0%..100% }'), put("expect hs.right-across.right  gives head.pan.right", "expect hs.right-across.right gives head.pan.right while left-dial left"))
fault("13i", "two channels of one number", G, ERROR, put("channel 9  pace", "channel 8  pace"))
fault("13j", "a channel that no pin of the link carries", G, ERROR, put("channel 9  pace", "channel 13 pace"))

# Margins
MODE = "travel 90% / 90%  failsafe -90%"
fault("14a", "a level closer to the edge than the guard", G, WARNING, put(MODE, "travel 60% / 65%  failsafe -90%"))
fault("14b", "a level between two bands", G, ERROR, put(MODE, "travel 50% / 50%  failsafe -90%"))
fault("14c", "three modes from a switch of two positions", G, ERROR, put("mode      from top-rocker ", "mode      from front-toggle "))
fault("14d", "no guard stated, and a level on the edge", G, WARNING, drop(r"^ +guard .*\n"), put(MODE, "travel 60% / 90%  failsafe -90%"))
fault("14e", "two bands share an edge and a level stands on it", G, WARNING, heads("steady  -28%..28%", "steady  -90%..28%"), put("guard       5% ", "guard       0% "), heads("parked -120%..-60%", "parked -120%..-90%"))

# Plugs and pins
fault("15a", "two plugs of the loom exchanged", G, ERROR, put("rx.p5 to", "rx.px to"), put("rx.p3 to", "rx.p5 to"), put("rx.px to", "rx.p3 to"))
fault("15b", "a plug one pin over", G, ERROR, put("rx.p5 to bridge.j3", "rx.p4 to bridge.j3"))
fault("15c", "the head feeds the bridge too many volts", G, ERROR, heads("regulates power to remote at 5V efficiency 85% up to 2A  #", "regulates power to remote at 7.4V efficiency 85% up to 2A  #"))
fault("15d", "a servo plug turned round", G, ERROR, put("plugs  servo-3 to servo-3", "plugs  servo-3 to servo-3\n  pin 1 to 3\n  pin 2 to 2\n  pin 3 to 1"))
fault("15e", "two plugs on one pin", G, ERROR, put("rx.p3 to bridge.j2", "rx.p6 to bridge.j2"))
fault("15f", "two plugs of a small receiver exchanged", M, ERROR, put("rx-b.p6 to", "rx-b.px to"), put("rx-b.p3 to", "rx-b.p6 to"), put("rx-b.px to", "rx-b.p3 to"))
fault("15g", "the camera on the pack of the head", G, ERROR, put("cam-pack.out-1 to cam.power", "head-pack.out-2 to cam.power"))
LIGHT = 'model light-1 "Light" { role other; port power in pack-power; takes 10V..26V; draws 12W; mass 300g }\nunit light is light-1 "Light" { asset "LI-001"; case "Case 3"; mounted on head }\n'
fault("15h", "two leads from one socket of a pack", G, ERROR, add(LIGHT + 'cable P03 "Light power" { cam-pack.out-1 to light.power; length 300mm; jacket 5mm; wire 1mm2; fuse 5A; rated 10A; mass 50g; rides head; case "Case 4" }'))
fault("15i", "a plug in the wrong pin, values typed in", M, ERROR, put("rx-b.p3 to", "rx-b.p4 to"), put(RECORD_M, "channel 3 record from left-toggle travel 76% / 70% subtrim 2 reversed failsafe hold"))
fault("15j", "two plugs exchanged, values typed in", G, ERROR, put("rx.p5 to", "rx.px to"), put("rx.p3 to", "rx.p5 to"), put("rx.px to", "rx.p3 to"), put(RECORD, "channel 5 record from left-flip travel 65% / 50% subtrim -10 reversed failsafe hold"))

# Two supplies, no return
PACK10 = 'unit rx-pack is pack-10 "Receiver pack" { asset "PK-012"; case "Case 4"; mounted on head }\n'
LEAD = 'length 300mm; jacket 3mm; wire AWG22; rated 3A; mass 20g; rides head; case "Case 4"'
fault("16a", "a pack of its own beside the rail of the head", G, ERROR, add(PACK10 + f'cable P04 "Receiver power" {{ rx-pack.out-1 to rx.power; {LEAD} }}'))
fault("16b", "the ground cut in the only lead", M, ERROR, put("bridge.j3; length", "bridge.j3; cut ground; length"))
fault("16c", "the supply cut in the only lead", M, ERROR, put("bridge.j3; length", "bridge.j3; cut plus; length"))
fault("16d", "two packs on one camera", G, ERROR, add(f'cable P03 "Second supply" {{ head.aux to cam.power; {LEAD} }}'))
fault("16e", "two packs joined output to output", G, ERROR, add(f'cable P03 "Joined" {{ head-pack.out-2 to cam-pack.out-2; {LEAD} }}'))
fault("16f", "an adapter feeds its supply back into the receiver", G, ERROR, camera("  takes 4.5V..6V\n  draws 120mA", "  port power in pack-power\n  takes 7V..17V on power\n  draws 120mA on power\n  regulates power to j1, j2, j3 at 5V efficiency 80%"), add(f'cable P03 "Bridge power" {{ cam-pack.out-2 to bridge.power; {LEAD} }}'))
fault("16g", "a rail cut where another feeds, as it should be", G, ACCEPTED, add(PACK10 + f'cable P04 "Receiver power" {{ rx-pack.out-1 to rx.power; {LEAD} }}'), put("  moving\n  plugs       servo-3 to control-6", "  moving\n  cut plus\n  plugs       servo-3 to control-6"))
PLATE = 'model plate-2 "Plate" {{ role other; port in-1, in-2 in pack-power by power-4; port out out pack-power by power-4; {} to out; mass 300g }}\nunit plate is plate-2 "Plate" {{ asset "PL-001"; case "Case 4"; mounted on head }}\nunit pack-b is pack-300 "Second pack" {{ asset "PK-302"; case "Case 4"; mounted on head }}\ncable P05 "To the plate" {{ head-pack.out-1 to plate.in-1; {} }}\ncable P06 "To the plate, too" {{ pack-b.out-1 to plate.in-2; {} }}'
THICK = 'length 300mm; jacket 8mm; wire 2.5mm2; rated 20A; fuse 20A; mass 80g; rides head; case "Case 4"; mark "{} rings"'
FROM_PLATE = put("head-pack.out-1 to head.power", "plate.out to head.power")
BIG = heads("carries   9kg", "carries   12kg")
fault("16h", "two packs on a plate that takes either", G, ACCEPTED, FROM_PLATE, BIG, add(PLATE.format("either in-1, in-2", THICK.format("four"), THICK.format("five"))))
fault("16i", "two packs on a plate that only has two sockets", G, WARNING, FROM_PLATE, BIG, add(PLATE.format("passes in-1", THICK.format("four"), THICK.format("five"))))

# Wires, volts
fault("17a", "a camera lead too long and too thin", G, ERROR, put("length 300mm\n  jacket 6mm\n  wire   1mm2", "length 8m\n  jacket 6mm\n  wire   AWG22"))
fault("17b", "a thin lead up the mast, and a small pack", M, ERROR, put("wire   2.5mm2", "wire   0.75mm2"), put('is pack-300 "Mast pack"    ', 'is pack-98 "Mast pack"'))
fault("17c", "no size of wire noted on the supply leads", G, WARNING, put("  wire        2.5mm2\n"), put("  wire   1mm2\n"))
fault("17d", "a thin lead up the mast with the right pack", M, ACCEPTED, put("wire   2.5mm2", "wire   0.75mm2"))
fault("17e", "a fuse above what the wire bears", G, WARNING, put("  wire   1mm2\n  rated  10A\n  fuse   10A", "  wire   AWG24\n  fuse   10A"))
fault("17f", "a regulator asked to raise volts", F, ERROR, put("pack.out-1 to head.power;", "pack.out-1 to up.power;"), add('model up-24 "Regulator" { role regulator; port power in pack-power; port out out pack-power; takes 9V..17V; regulates power to out at 24V efficiency 90% }\nunit up is up-24 "Regulator"\ncable P2 "To the head" { up.out to head.power; length 500mm; jacket 6mm; wire 1.5mm2; mass 90g }'))
fault("17g", "a fuse that blows in use", G, ERROR, put("rated  10A\n  fuse   10A", "rated  10A\n  fuse   3A"))

# Lines of signals
SERIAL = 'signal serial-b "Other serial" carries 16 channels counts 200 to 1800 over -100% to 100% field 0 to 2047 rate {} polarity {} logic {} up to 2m'
REMOTE = heads('model head-3 "Three-axis stabilised head" {\n  role      head\n  port      remote in  serial-16', 'model head-3 "Three-axis stabilised head" {\n  role      head\n  port      remote in  serial-b')
fault("18a", "the head listens to the other polarity", G, ERROR, REMOTE, add(SERIAL.format("250000baud", "inverted", "3.3V"), "signals.rig"))
fault("18b", "a serial lead longer than the line reaches", G, ERROR, put("length      600mm", "length      3m"))
fault("18c", "the receiver's menu on another line", G, ERROR, radio("port     bus    out serial-16 by servo-3\n", 'port     bus    out serial-16 by servo-3 needs line = "A"\n  setting  line "Button" choices "A", "B"\n'), put('asset "RX-031"\n  case  "Case 1"\n', 'asset "RX-031"\n  case  "Case 1"\n  set line "B"\n'))
fault("18d", "the serial lead in a servo pin of the adapter", G, ERROR, put("rx.p5 to bridge.j3", "rx.bus to bridge.j3"))
fault("18e", "the head listens at another rate and voltage", G, ERROR, REMOTE, add(SERIAL.format("115200baud", "normal", "5V"), "signals.rig"))
fault("18f", "a level beyond what the line carries", G, ERROR, put("  field 0 to 2047", "", "signals.rig"), heads("parked -120%..-60%", "parked -130%..-105%"), put("travel 90% / 90%  failsafe -90%", "travel 115% / 90%  failsafe -115%"))

# Radio links
SENDER = 'model sender-1 "Sender" {{ role sender; port sdi in picture-line; mass 100g }}\nmodel radio-view "Radio monitor" {{ role monitor }}\nunit sender is sender-1 "Picture sender" {{ mounted on head; case "Case 3" }}\nunit far is radio-view "Radio monitor" {{ case "Case 3" }}\ncable V01 "Picture" {{ cam.sdi to sender.sdi; length 300mm; jacket 5mm; mass 30g; rides head; case "Case 3" }}\nlink "Picture" from sender to far band "{}" channel "3"\nlink "Head control" from hs to rx band "2.4 GHz" channel "3"'
fault("19a", "the picture sent on the channel of the handset", G, ERROR, add(SENDER.format("2.4 GHz")))
fault("19b", "the picture sent in a band of its own", G, ACCEPTED, add(SENDER.format("5.8 GHz")))
fault("19c", "nobody notes how the antennas stand", G, PRINTED, drop(r'^  note  "Both antennas.*\n'), shown="radio range, antennas")
fault("19d", "the picture sent in the band of the handset, no channel noted", G, PRINTED, add(SENDER.format("2.4 GHz").replace(' channel "3"', "")), shown="Picture sender")

# Look-alikes
fault("20a", "no mark on two look-alike leads", M, WARNING, put('  mark   "red ring"\n'), put('  mark   "three rings"\n'))
fault("20b", "the camera fed by a turned lead", M, ERROR, put('pin    1 to 1 colour BK "Ground"\n  pin    4 to 2 colour RD "Supply"', 'pin    1 to 2 colour BK "Ground"\n  pin    4 to 1 colour RD "Supply"'))
fault("20c", "one mark on two look-alike leads", M, WARNING, put('mark   "three rings"', 'mark   "red ring"'))
SWAP = (put("cam-pack.out-1 to cam.power", "view-pack.out-1 to view.power#"), put("  view-pack.out-1 to view.power\n", "  cam-pack.out-1 to cam.power\n"))
fault("20d", "two look-alike leads exchanged", M, ERROR, *SWAP)
fault("20e", "a plug that does not fit", G, ERROR, put("plugs  power-4 to power-2", "plugs  power-4 to power-4"))
fault("20f", "two look-alike leads exchanged, both strong enough", M, ERROR, *SWAP, put("wire   AWG20\n  rated  5A\n  fuse   5A", "wire   1mm2\n  rated  10A\n  fuse   10A"))
fault("20g", "nobody notes how a turned lead is wired", M, WARNING, drop(r"^  pin .*\n"))

# Leads that move
fault("21a", "a head lead without slack", M, ERROR, put("length 12m", "length 10m"))
fault("21b", "a picture lead without a loop", M, WARNING, put("route  15m slack 10% loops 2 x 500mm", "route  15m slack 10%"))
fault("21c", "a lead up the mast lies still", M, WARNING, put("  moving\n  plugs  power-4 to power-4\n  route  9.5m slack 10% loops 1 x 600mm\n", "  plugs  power-4 to power-4\n"))
fault("21d", "the receiver beside the head, its lead lies still", G, WARNING, put("  bound to hs\n  mounted on head\n", "  bound to hs\n"), put("  moving\n  plugs       servo-3 to control-6\n  route       350mm slack 10% loops 1 x 150mm\n", "  plugs       servo-3 to control-6\n"))
fault("21e", "a picture lead down the mast lies still", M, WARNING, put("  moving\n  plugs  coax-75 to coax-75\n  route  15m slack 10% loops 2 x 500mm\n", "  plugs  coax-75 to coax-75\n"))
fault("21f", "a plug in the rain that is not sealed", G, ERROR, put("  moving\n  plugs       servo-3 to control-6", "  moving\n  wet\n  plugs       servo-3 to control-6"))

# Packs and the day
fault("22a", "a charger with too few bays", G, WARNING, put('charger-8 "Charger"    ', 'charger-2 "Charger"'))
fault("22b", "no temperature on a winter job", G, PRINTED, put("  temperature -2C..18C\n"), shown="~ 20 °C")
fault("22c", "no length of the day", G, PRINTED, put("  day         10h duty 60%\n"), put("  night       10h\n"), shown="as the rig states no day")
fault("22d", "a pack too small for the head", G, ERROR, put('is pack-300  "Head pack" ', 'is pack-98 "Head pack"'))
fault("22e", "a receiver pack on the head", F, ERROR, put('pack-98    "Pack"', 'pack-10 "Pack"'))
fault("22f", "no spare pack", G, PRINTED, put("  night       10h\n", "  night       10h\n  spare-packs 0\n"), shown="0 spare")
fault("22g", "a night without a charger", G, WARNING, without("unit", "charger"))
fault("22h", "no night and no charger", M, PRINTED, shown="No charger is listed.")
fault("22i", "a night too short", G, WARNING, put("  night       10h\n", "  night       1h\n"))

# Media
MEDIA = (camera("  setting soft-1", '  setting media "Body > Record to" choices "Card", "Nothing"\n  setting soft-1'), camera('command standby, run  needs socket = "Orders"', 'command standby, run  needs socket = "Orders", media = "Card"'))
fault("23a", "nobody looks at the card", G, PRINTED, shown="Recording media")
fault("23b", "where the camera records is not noted", G, ERROR, *MEDIA)
fault("23c", "the camera records to nothing", G, ERROR, *MEDIA, put('set   socket "Orders"', 'set   socket "Orders"\n  set media "Nothing"'))

# Masses
fault("24a", "a lens too heavy for the head", G, ERROR, camera("offers electronic-iris; mass 1.7kg", "offers electronic-iris; mass 4.2kg"))
HOOD = 'model hood-1 "Rain hood" {{ role other{} }}\nunit hood is hood-1 "Rain hood" {{ asset "HO-001"; case "Case 3"{} }}'
fault("24b", "a hood that nobody weighed", G, WARNING, add(HOOD.format("", "; mounted on cam")))
fault("24c", "a hood that is mounted on nothing", G, WARNING, add(HOOD.format("; mass 400g", "")))
fault("24d", "the camera mounted on nothing", G, WARNING, put('case  "Case 3"\n  mounted on head\n', 'case  "Case 3"\n'))
fault("24e", "a second camera as ballast", M, ERROR, add('model body-1 "Camera body" { role other; mass 12kg }\nunit body is body-1 "Second body" { mounted on head }'))
fault("24f", "two leads that nobody weighed", G, WARNING, put("wire   AWG26\n  plugs  servo-3 to servo-3\n  mass   20g\n", "wire   AWG26\n  plugs  servo-3 to servo-3\n"), put('  mark   "three rings"\n  mass   40g\n', '  mark   "three rings"\n'))
fault("24g", "no lead weighed, and none rides", G, WARNING, drop(r"^  mass +\d.*\n"), drop(r"^  rides .*\n"))
fault("24h", "a case heavier than one person lifts", G, WARNING, put('case "Case 2" empty 9.8kg up to 23kg', 'case "Case 2" empty 9.8kg up to 12kg'))

# Revisions
fault("25a", "no revision", G, PRINTED, put('  revision    "C" on 2026-05-14\n'), shown="no revision is stated")
fault("25b", "a revision letter that is mistaken for a number", G, PRINTED, put('revision    "C"', 'revision    "O"'), put("GORGE C", "GORGE O"), shown="rev O")
fault("25c", "a revision without a date", G, PRINTED, put('revision    "C" on 2026-05-14', 'revision    "C"'), shown="rev C · sheet 1 of 2")

# One fault, two losses; two orders at once
fault("26a", "iris and head on one receiver, which are to be independent", M, ERROR, put("independent head.pan, motor.turn", "independent motor.turn, bridge.trigger"))
fault("26b", "two axes of one head, which are to be independent", M, ERROR, put("independent head.pan, motor.turn", "independent head.pan, head.tilt"))
fault("26c", "one switch starts and stops a take at once", G, ERROR, camera("  input tools on j2", '  port j4 in servo by servo-3\n  input second on j4 "Second" { standby -66%..-38%; run 50%..78% rest }\n  input tools on j2'), put(RECORD, "channel 5 record from left-flip travel 65% / 50% subtrim -10 reversed failsafe hold"), put("rx.p5 to bridge.j3  tag", 'rx.p5 to bridge.j4 tag "S"\n  rx.p5 to bridge.j3  tag'))

# Motors in a chain
BOX = """
signal drive "Motor line" carries commands, power
model box-1 "Motor box" { role adapter; port one, two in servo; port m1, m2 out drive; port power in rail-5v; takes 4.5V..8.4V on power; passes power to m1, m2; mass 100g
  input focus on one "Focus"%s { sweeps near to far }
  input iris on two "Iris"%s { sweeps closed to open } }
model motor-3 "Motor" { role motor; port bus in drive; port thru out drive; passes bus to thru; takes 4V..9V; draws 100mA; mass 100g; command focus, iris }
unit box is box-1 "Motor box" { mounted on head }
unit fm is motor-3 "Focus motor" { mounted on lens%s }
unit im is motor-3 "Second iris motor" { mounted on lens%s }
cable C1 "Box" { rx-b.p1 to box.one tag "F"; rx-b.p2 to box.two tag "I"; length 300mm; jacket 3mm; wire AWG26; mass 10g; rides head }
cable C0 "Box power" { head.dc-5 to box.power; length 300mm; jacket 3mm; wire AWG22; mass 10g; rides head }
%s
expect hs-b.left-along.away gives fm.focus.far
expect hs-b.left-across.right gives im.iris.open
"""
LENS_CHANNELS = put(RECORD_M, f"{RECORD_M}\n  channel 1 focus from left-along failsafe hold\n  channel 2 pull from left-across failsafe hold")
ENDS = "length 300mm; jacket 3mm; wire AWG26; mass 10g; rides head"
TWO_LEADS = f'cable C2 "Focus" {{ box.m1 to fm.bus; {ENDS}; mark "one ring" }}\ncable C3 "Iris" {{ box.m2 to im.bus; {ENDS}; mark "two rings" }}'
CROSSED = f'cable C2 "Focus" {{ box.m2 to fm.bus; {ENDS}; mark "one ring" }}\ncable C3 "Iris" {{ box.m1 to im.bus; {ENDS}; mark "two rings" }}'
CHAIN = f'cable C2 "First" {{ box.m1 to fm.bus; {ENDS}; mark "one ring" }}\ncable C3 "Next" {{ fm.thru to im.bus; {ENDS}; mark "two rings" }}'
fault("27a", "two motors on the two sockets of a box", M, ACCEPTED, LENS_CHANNELS, add(BOX % (" to m1", " to m2", "", "", TWO_LEADS)))
fault("27b", "the two leads of a motor box exchanged", M, ERROR, LENS_CHANNELS, add(BOX % (" to m1", " to m2", "", "", CROSSED)))
fault("27c", "two motors in a chain, each on its axis", M, ACCEPTED, LENS_CHANNELS, add(BOX % (" to m1", " to m1", "; obeys focus", "; obeys iris", CHAIN)))
fault("27d", "two motors in a chain, both on one axis", M, ERROR, LENS_CHANNELS, add(BOX % (" to m1", " to m1", "; obeys focus", "; obeys focus", CHAIN)))
fault("27e", "two motors in a chain, the axis switches not noted", M, ERROR, LENS_CHANNELS, add(BOX % (" to m1", " to m1", "", "", CHAIN)))
fault("27f", "a box whose model does not say what leaves where", M, ERROR, LENS_CHANNELS, add(BOX % ("", "", "", "", TWO_LEADS)))
fault("27g", "a motor in a chain whose next lead is not plugged", M, ERROR, LENS_CHANNELS, add(BOX % (" to m1", " to m1", "; obeys focus", "; obeys iris", CHAIN.split("\n")[0])))
fault("27h", "a motor box fed over its servo lead, and its motors from there", M, ACCEPTED, LENS_CHANNELS, add((BOX % (" to m1", " to m2", "", "", TWO_LEADS)) .replace("port power in rail-5v; takes 4.5V..8.4V on power; passes power", "takes 4.5V..8.4V; passes one") .replace("\ncable C0", "\n#cable C0")))

# Splitters
SPLIT = 'model split-k "Splitter" {{ role other; port in in key-line by control-6; port a, b out key-line by control-6; mass 50g{} }}\nunit split is split-k "Splitter" {{ asset "SP-001"; case "Case 3"; mounted on head }}\ncable S09 "Splitter to camera" {{ split.a to cam.control; length 300mm; jacket 3mm; wire AWG26; mass 10g; rides head; case "Case 4"; mark "four rings" }}'
TO_SPLIT = put("bridge.camera to cam.control", "bridge.camera to split.in")
fault("28a", "a camera behind a splitter whose model says what leaves", G, ACCEPTED, TO_SPLIT, BIG, add(SPLIT.format("; passes in to a, b")))
fault("28b", "a camera behind a splitter whose model does not say what leaves", G, ERROR, TO_SPLIT, BIG, add(SPLIT.format("")))
# fmt: on

# What does not come out as it should, or cannot: the outcome, and why. It is part of the table as any other.
KNOWN_SILENT: dict[str, tuple[str, str]] = {}


# ---- running them -----------------------------------------------------------------------------------------------


@cache
def untouched(sample: str) -> tuple[tuple[str, str], ...]:
    """A sample and the whole stock."""
    stock = {path.name: path.read_text(encoding="utf-8") for path in sorted((SAMPLES / "stock").glob("*.rig"))}
    return tuple({"rig": (SAMPLES / f"{sample}.rig").read_text(encoding="utf-8"), **stock}.items())


def compiled(files: Files, folder: Path) -> tuple[Solved | None, list[Diagnostic]]:
    """The files through every pass that needs no paper; and what was reported."""
    (folder / "stock").mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / ("faulty.rig" if name == "rig" else f"stock/{name}")).write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(folder / "faulty.rig", diagnostics).solved
    return solved, diagnostics.sorted()


def texts(solved: Solved) -> list[str]:
    """Every line of text on the cards, the labels and the kit list."""
    face = EmbeddedTypeface()
    documents = (card_document(face, solved), label_document(face, solved.rig), kit_document(face, solved))
    return [
        mark.text
        for document in documents
        for page in document.pages
        for mark in page.marks
        if isinstance(mark, Text)
    ]


def tried(fault: Fault) -> Outcome:
    """Put a fault into its sample and see what is said."""
    files = dict(untouched(fault.sample))
    for edit in fault.edits:
        edit(files)
    with tempfile.TemporaryDirectory() as folder:
        solved, found = compiled(files, Path(folder))
    kinds = {diagnostic.code.severity.value for diagnostic in found}
    if kinds:
        return Outcome(ERROR if ERROR in kinds else WARNING, tuple(found))
    assert solved is not None
    if fault.expected == ACCEPTED:
        return Outcome(ACCEPTED, ())
    return Outcome(PRINTED if is_printed(fault, solved) else SILENT, ())


def is_printed(fault: Fault, solved: Solved) -> bool:
    """Whether its words stand on the papers."""
    return bool(fault.shown) and any(fault.shown in line for line in texts(solved))


def table() -> Iterator[str]:
    """The faults with their outcomes, and the rates."""
    yield "id | fault | outcome | codes | first message"
    kinds: Counter[str] = Counter()
    for each in FAULTS:
        outcome = tried(each)
        kinds[outcome.kind] += 1
        seen = outcome.kind if outcome.kind == each.expected else f"{outcome.kind} (right: {each.expected})"
        errors = [found for found in outcome.found if found.code.severity.value == outcome.kind]
        first = errors[0].message if errors else ""
        yield f"{each.id} | {each.sample}: {each.words} | {seen} | {' '.join(outcome.codes)} | {first}"
    yield ""
    caught = kinds[ERROR] + kinds[WARNING]
    yield f"{len(FAULTS)} faults: {caught} caught ({kinds[ERROR]} errors, {kinds[WARNING]} warnings), {kinds[ACCEPTED]} rightly accepted, {kinds[PRINTED]} printed, {kinds[SILENT]} silent"


if __name__ == "__main__":
    for line in table():
        print(line)
