"""How cost grows with the size of a rig, as ratios measured in one run: `python tests/bench/growth.py`.

- check: CPU time a statement of a rig of 10,000 statements against one of 1,000 (start-up taken off both);
- parse: our parse of 10,000 statements against lark's own of the same text without callbacks;
- mistakes: the matrix, the short tests and the questions of a rig of 64 channels with 192 expectations against 32;
- labels: making and drawing the labels of 500 cables against drawing the same strings raw with reportlab.

What is compared runs in turns; medians of CPU time.
"""

from __future__ import annotations

import gc
import sys
import tempfile
from functools import partial
from importlib import resources
from io import BytesIO
from pathlib import Path

from measure import Cost, calls, processes

STOCK = Path(__file__).parents[2] / "samples" / "stock"
GROUP = """unit hs-{n} is handset-12 "Handset {n}" {{
  memory 1 "M{n}"
  channel 1 pan from right-across failsafe 0%
  channel 2 tilt from right-along failsafe 0%
  channel 3 lock from front-toggle failsafe hold reverse auto
}}
unit rx-{n} is receiver-8 "Receiver {n}" {{ bound to hs-{n} }}
unit head-{n} is head-2 "Head {n}" {{
  input pan from pan
  input tilt from tilt
  input lock from lock
  set line-type "16-channel serial"
}}
unit pack-{n} is pack-300 "Pack {n}"
cable S{n} "Lead {n}" {{ rx-{n}.bus to head-{n}.remote; length 500mm; jacket 3mm; wire AWG26; mass 30g }}
cable P{n} "Power {n}" {{ pack-{n}.out-1 to head-{n}.power; length 500mm; jacket 6mm; wire 1.5mm2; mass 90g }}
expect hs-{n}.right-across.right gives head-{n}.pan.right
expect hs-{n}.front-toggle.toward gives head-{n}.live
"""
A_GROUP = 26  # statements in it, those in blocks among them


def rig(groups: int) -> str:
    """A rig of as many handsets, each with its receiver, head and pack."""
    uses = "".join(f'use "{name}.rig"\n' for name in ("radio", "heads", "packs"))
    return f'rig "Grown" {{ revision "A" }}\n{uses}' + "".join(GROUP.format(n=n) for n in range(groups))


def check_costs(folder: Path, sizes: tuple[int, ...]) -> list[Cost]:
    """What a whole `check` costs for each number of groups."""
    commands = {}
    for groups in sizes:
        path = folder / f"grown-{groups}.rig"
        path.write_text(rig(groups), encoding="utf-8")
        commands[str(groups)] = [sys.executable, "-m", "rigcard", "check", str(path), "--stock", str(STOCK)]
    return list(processes(commands, 3).values())


def parse_seconds() -> dict[str, float]:
    """Our parse and lark's, the grammar loaded and used before."""
    from lark import Lark

    from rigcard.source import Source
    from rigcard.syntax.parser import load

    text = rig(10_000 // A_GROUP)
    ours = load()
    grammar = resources.files("rigcard.grammar").joinpath("rig.lark").read_text(encoding="utf-8")
    plain = Lark(grammar, parser="lalr", lexer="contextual", start="file", maybe_placeholders=True)
    return calls(
        {"ours": lambda: ours.parse(Source("grown", text)), "floor": lambda: plain.parse(text + "\n")}, 5
    )


def labels_seconds(folder: Path) -> dict[str, float]:
    """The labels of a rig of 500 cables, and its strings drawn raw with the same typeface."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfgen.canvas import Canvas

    from rigcard.diagnostics import Diagnostics
    from rigcard.documents.base.model import Text
    from rigcard.documents.labels.label_sheets import Used, label_sheets
    from rigcard.pipeline import check_rig
    from rigcard.render.pdf import pdf
    from rigcard.render.typeface import EmbeddedTypeface

    path = folder / "labels.rig"
    path.write_text(rig(250), encoding="utf-8")
    solved = check_rig(path, Diagnostics(), None, [str(STOCK)]).solved
    assert solved
    face = EmbeddedTypeface()
    made = label_sheets(face, solved.rig, Used()).document
    texts = [[mark for mark in page.marks if isinstance(mark, Text)] for page in made.pages]

    def raw() -> None:
        for font in (face.regular, face.bold):
            pdfmetrics.registerFont(font)
        canvas = Canvas(BytesIO(), invariant=1)
        for page in texts:
            for mark in page:
                canvas.setFont((face.bold if mark.bold else face.regular).fontName, mark.size)
                canvas.drawString(mark.x, mark.y, mark.text)
            canvas.showPage()
        canvas.save()

    def ours() -> None:
        fresh = EmbeddedTypeface()
        pdf(label_sheets(fresh, solved.rig, Used()).document, fresh)

    return calls({"ours": ours, "floor": raw}, 3)


def wide(channels: int) -> str:
    """A handset of so many three-position switches, each over a lead of its own to an input with three bands."""
    switches = "; ".join(f'switch s{n} "Switch {n}" away, middle, toward' for n in range(channels))
    dials = "; ".join(
        f"channel {n + 1} n{n} from s{n} travel 100% / 100% subtrim 0 failsafe 0%" for n in range(channels)
    )
    inputs = "; ".join(
        f'input i{n} on c{n} "In {n}" {{ a{n} -150%..-50%; b{n} -49%..49% rest; c{n} 50%..150% }}'
        for n in range(channels)
    )
    legs = "; ".join(f'rx.p{n + 1} to dev.c{n} tag "T{n}"' for n in range(channels))
    claims = "\n".join(
        f"expect hs.s{n}.{place} gives dev.{state}{n}"
        for n in range(channels)
        for place, state in (("away", "a"), ("middle", "b"), ("toward", "c"))
    )
    return f"""rig "Wide" {{ revision "A" }}
model hm "Handset" {{ role handset; {switches}; channels {channels}; pulse 1500us centre, 4us per 1%
  travel 0%..140% step 1%; subtrim -240..240 steps, 240 steps = 35%, shifts whole
  reverse before subtrim; output -150%..150% }}
model rm "Receiver" {{ role receiver; channels {channels}; port p1..p{channels} out servo channel 1..{channels} }}
model bm "Box" {{ role other; port {", ".join(f"c{n}" for n in range(channels))} in servo; {inputs} }}
unit hs is hm "Handset" {{ memory 1 "WIDE A"; {dials} }}
unit rx is rm "Receiver" {{ bound to hs }}
unit dev is bm "Box"
cable W "Loom" {{ {legs}; length 1m; jacket 3mm }}
{claims}
"""


def mistakes_seconds(folder: Path, sizes: tuple[int, ...]) -> dict[str, float]:
    """What trying every mistake costs for each number of channels, the rig solved before; and for the gorge sample."""
    from rigcard.diagnostics import Diagnostics
    from rigcard.faults.judged import Judged
    from rigcard.pipeline import check_rig
    from rigcard.solve.solved import Solved

    def judge(solved: Solved) -> None:
        found = Judged(solved)
        assert found.figures.share.all
        assert found.short.swap.proven
        assert found.questions

    works = {}
    for channels in sizes:
        path = folder / f"wide-{channels}.rig"
        path.write_text(wide(channels), encoding="utf-8")
        solved = check_rig(path, Diagnostics()).solved
        assert solved
        works[str(channels)] = partial(judge, solved)
    sample = check_rig(STOCK.parent / "gorge.rig", Diagnostics()).solved
    assert sample
    works["gorge"] = partial(judge, sample)
    return calls(works, 1)


def main() -> None:
    """Measure and print."""
    gc.set_threshold(100_000)  # as the command does; else it is the searches for cycles that are compared
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        start, small, large = check_costs(folder, (1, 40, 400))
        costs = {"parse": parse_seconds(), "labels": labels_seconds(folder)}
        mistakes = mistakes_seconds(folder, (16, 32, 64))
    each_small, each_large = (small.seconds - start.seconds) / 39, (large.seconds - start.seconds) / 399
    for groups, cost in ((1, start), (40, small), (400, large)):
        print(f"check of {groups * A_GROUP} statements: {cost.seconds:.2f} s CPU, peak {cost.memory:.0f} MiB")
    print(f"check: time a statement at {400 * A_GROUP} against {40 * A_GROUP}: {each_large / each_small:.2f}")
    for what, seconds in costs.items():
        ours, floor = seconds["ours"], seconds["floor"]
        print(f"{what}: {ours * 1000:.0f} ms CPU, floor {floor * 1000:.0f} ms, ratio {ours / floor:.2f}")
    for what, seconds in mistakes.items():
        print(f"every mistake of {what if what == 'gorge' else f'{what} channels'}: {seconds:.2f} s CPU")


if __name__ == "__main__":
    main()
