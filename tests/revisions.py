"""Revisions of samples: the changes of a season, each as words put in place of others; and sides to compare."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from rigcard.compare.compare import Side
from rigcard.compare.read_facts import facts_of
from rigcard.diagnostics import Diagnostics
from rigcard.outputs.registry import Job
from rigcard.pipeline import prepare
from samples import ROOT, STOCK

Edit = tuple[str, str]  # what was written, and what is written now

# A camera of the same commands with other menus; a longer lens; a pack of another class by air. All invented.
CAMERA = """
model camera-e "Light cinema camera" {
  role    camera
  port    control in  key-line by control-6
  port    power   in  pack-power by power-2
  takes   11.5V..17V
  draws   60W peak 75W
  setting wire "System > Remote"  choices "Off", "On"
  setting f-1 "Keys > F1"
  setting f-2 "Keys > F2"
  setting f-3 "Keys > F3"
  setting f-4 "Keys > F4"
  setting f-5 "Keys > F5"
  command standby, run  needs wire = "On"
  command iris          needs wire = "On", electronic-iris
  command soft-1        needs wire = "On"  does f-1
  command soft-2        needs wire = "On"  does f-2
  command soft-3        needs wire = "On"  does f-3
  command soft-4        needs wire = "On"  does f-4
  command soft-5        needs wire = "On"  does f-5
  mass    3.4kg
}
"""
LENS = '\nmodel zoom-6 "6-to-1 zoom lens" { role lens; offers electronic-iris; mass 2.3kg }\n'
PACK = """
model pack-143 "143 Wh pack" {
  role      pack
  port      out-1, out-2 out pack-power by power-4
  chemistry lithium-ion
  cells     4
  capacity  9.9Ah at 14.4V
  supplies  12V..16.8V up to 12A
  fuse      15A
  hazard    lithium
  mass      1.1kg
}
"""
# A small handset of another scale, whose travel is too short for what the old one sent. Invented.
HANDSET = """
model handset-4 "Small handset" {
  role     handset
  face     120mm x 120mm
  stick    right-along "Right stick, along" toward to away springs within 1% at 90mm, 60mm
  switch   left-toggle "Left toggle"        away, toward                     at 30mm, 100mm
  channels 6
  pulse    1500us centre, 5us per 1%
  travel   0%..75% step 1%
  subtrim  -20..20 steps, 5 steps = 1%, shifts whole
  reverse  after subtrim
  output   -100%..100%
  capacity 1Ah at 7.4V
  draws    150mA
  hazard   lithium
  mass     0.4kg
}
"""
MAST_END = 'step rigging "Guy the mast and check the wind limit with the mast operator."\n'
END = "hazard water\n"  # a line of the sample behind which models may stand
GORGE_D: tuple[Edit, ...] = (
    ('revision    "C" on 2026-05-14', 'revision    "D" on 2026-05-15'),
    ('memory 4 "GORGE C"', 'memory 4 "GORGE D"'),
)
MAST_C: tuple[Edit, ...] = (
    ('revision    "B" on 2026-04-19', 'revision    "C" on 2026-04-20'),
    ('"MAST B"', '"MAST C"'),
    ('"MASTCAM B"', '"MASTCAM C"'),
)
LETTERS = {"gorge": GORGE_D, "mast": MAST_C}
CHANGES: dict[str, tuple[str, tuple[Edit, ...]]] = {
    "camera": (
        "gorge",
        (
            (END, END + CAMERA),
            (
                'unit cam is camera-c "Cinema camera" {\n  asset "CA-021"',
                'unit cam is camera-e "Cinema camera" {\n  asset "CA-044"',
            ),
            ('set   socket "Orders"', 'set   wire "On"'),
            *((f"set   soft-{number}", f"set   f-{number}") for number in range(1, 6)),
        ),
    ),
    "lens": (
        "gorge",
        (
            (END, END + LENS),
            ('zoom-4 "Zoom lens" {\n  asset "LE-035"', 'zoom-6 "Zoom lens" {\n  asset "LE-052"'),
        ),
    ),
    "handset": (
        "mast",
        (
            (MAST_END, MAST_END + HANDSET),
            (
                'hs-b is handset-6 "Camera handset" {\n  asset   "HS-022"',
                'hs-b is handset-4 "Camera handset" {\n  asset   "HS-031"',
            ),
        ),
    ),
    "pin": (
        "gorge",
        (
            ("channel 2  zoom ", "channel 8  zoom "),
            ("channel 8  horizon", "channel 2  horizon"),
            ("rx.p2 to motor", "rx.p8 to motor"),
        ),
    ),
    "subtrim": ("gorge", (("travel 60% / 60%  failsafe", "travel 60% / 60%  subtrim 10  failsafe"),)),
    "cable": ("gorge", (("length      600mm", "length      1m"),)),
    "channel": (
        "gorge",
        (
            (
                "  channel 10 tool-pick",
                "  channel 11 marker    from right-slider  failsafe hold\n  channel 10 tool-pick",
            ),
        ),
    ),
    "role": ("gorge", (('chief "Crew chief"', 'chief "Crew chief", spotter "Spotter"'),)),
    "pack": (
        "gorge",
        (
            (END, END + PACK),
            ('pack-98   "Camera pack" { asset "PK-098"', 'pack-143  "Camera pack" { asset "PK-143"'),
        ),
    ),
    "typo": ("gorge", (('zoom-4 "Zoom lens"', 'zoom-4 "Zoom-lens"'),)),
}
# Changes of one sample that go together.
TOGETHER = ("camera", "pin", "subtrim", "cable", "channel", "role", "pack", "typo")


class Made(NamedTuple):
    """A revision: its side, and the job that makes its papers."""

    side: Side
    job: Job


def revised(sample: str, edits: Iterable[Edit] = ()) -> str:
    """The text of a sample with some words in place of others, which must be there."""
    text = (ROOT / "samples" / f"{sample}.rig").read_text(encoding="utf-8")
    for was, now in edits:
        assert was in text, was
        text = text.replace(was, now)
    return text


def made(text: str) -> Made:
    """A revision of this text, beside the stock of the samples; it must compile."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "own.rig"
        path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
        diagnostics = Diagnostics()
        prepared = prepare(path, diagnostics, stock=STOCK)
        assert prepared, [found.message for found in diagnostics]
        return Made(Side(facts_of(prepared.job.data), prepared.job.solved), prepared.job)


@cache
def revision(sample: str, *names: str) -> Made:
    """A sample with some of the changes, under the next letter if there are any."""
    letter = LETTERS[sample] if names else ()
    edits = [edit for name in names for edit in CHANGES[name][1]]
    return made(revised(sample, (*letter, *edits)))
