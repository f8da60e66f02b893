"""The reference page is true: every block compiles, every rule and word of the grammar is shown, no table is stale.

The first words after the fence of a block say what it is:

- `rig`: a complete file that gives no message at all;
- `rig-part HOST`: lines that give no message where they belong; HOST is a key of `BLOCKS`, `top`, `input`, `sheet`
  or `model ROLE`. A line of the host that the part states itself gives way to it;
- `rig-wrong CODE` or `rig-wrong CODE HOST`: a file, or lines, that give this code and no other.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from lark import Lark, Token, Tree
from lark.lexer import PatternStr

from page import FENCED, PAGE, Fenced, table
from rigcard.catalogue import all_codes, as_page
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.quoted_text import LONGEST, OTHERWISE
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig
from rigcard.resolve import asked, inputs, label_sheets, models, readings, signals, units, words
from rigcard.resolve.mechanics import Route
from rigcard.resolve.model import Arithmetic, Band, Counts, Pulse, Rate, Travel
from rigcard.resolve.scope import keyword
from rigcard.solve import joint, levels
from rigcard.solve import solved as solved_rig
from rigcard.solve.arithmetic import Dial, Part, channel_level, count_of
from rigcard.syntax import load
from samples import ROOT

# ---- hosts ---------------------------------------------------------------------------------------------------


USES = "".join(f'use "stock/{name}.rig"\n' for name in ("radio", "heads", "camera", "packs"))
BLOCKS = {  # a rig in which each block can take other lines
    "rig": ('rig "Host"', ['revision "C"', 'crew operator "Head operator"']),
    "unit handset": (
        'unit hs is handset-12 "Handset"',
        [
            'memory 1 "PAGE"',
            'asset "HS-014"',
            "held by operator",
            "channel 1 mode from top-rocker travel 90% / 90% failsafe -90%",
            "channel 2 zoom from left-slider failsafe hold",
            "channel 3 tools from front-toggle travel 60% / 60% failsafe -60%",
            "channel 4 tilt from right-along failsafe 0%",
            "channel 5 record from left-flip travel 65% / 50% subtrim -10 reversed failsafe hold",
            "channel 6 iris from left-along failsafe hold",
            "channel 7 pan from right-across failsafe 0%",
            "channel 8 horizon from right-dial failsafe hold",
            "channel 9 pace from left-dial failsafe hold",
            "channel 10 tool-pick from right-rocker failsafe 0%",
            "mix tool-pick into tools at 40%",
            "mix zoom into pace at 0% / -35%",
        ],
    ),
    "unit receiver": ('unit rx is receiver-8 "Receiver"', ["bound to hs", "mounted on head"]),
    "unit head": (
        'unit head is head-3 "Head"',
        [
            "input mode from mode",
            "input pan from pan",
            "input tilt from tilt",
            "input horizon from horizon",
            "input pan-speed from pace",
            "input tilt-speed from pace",
            'set line-type "16-channel serial"',
        ],
    ),
    "unit adapter": ('unit bridge is bridge-3 "Bridge"', ["mounted on head"]),
    "unit camera": (
        'unit cam is camera-c "Camera"',
        ["mounted on head", 'set socket "Orders"'] + [f'set soft-{key} "Job {key}"' for key in range(1, 6)],
    ),
    "unit lens": ('unit lens is zoom-4 "Lens"', ["mounted on cam"]),
    "unit pack": ('unit pack is pack-300 "Pack"', ["mounted on head"]),
    "cable": (
        'cable S01 "Bridge loom"',
        [
            "rx.p5 to bridge.j3",
            "rx.p6 to bridge.j1",
            "rx.p3 to bridge.j2",
            "length 300mm",
            "jacket 5mm",
            "wire AWG26",
            "mass 20g",
            "rides head",
        ],
    ),
}
JOINED = """
cable S02 "Receiver to head" { rx.bus to head.remote; length 600mm; jacket 5mm; wire AWG26; mass 30g; rides head }
cable S03 "Bridge to camera" { bridge.camera to cam.control; length 400mm; jacket 5mm; mass 40g; rides head }
cable P01 "Head" { pack.out-1 to head.power; length 800mm; jacket 8mm; wire 2.5mm2; rated 30A; mass 150g; rides head }
unit cam-pack is pack-98 "Camera pack" { mounted on head }
cable P02 "Camera" { cam-pack.out-1 to cam.power; length 300mm; jacket 6mm; wire 1mm2; rated 15A; mass 80g; rides cam }
harmless hs.front-toggle.toward with hs.right-rocker.away
harmless hs.front-toggle.toward with hs.right-rocker.toward
"""
SMALL = """
unit hs is {handset} "Handset" {{ memory 1 "PAGE"; channel 1 pan from right-across failsafe 0% }}
unit rx is {receiver} "Receiver" {{ bound to hs }}
unit head is head-2 "Head" {{ input pan from pan; unused tilt, lock; set line-type "16-channel serial" }}
cable S1 "Lead" {{ rx.bus to head.remote; length 1m; jacket 5mm; moving }}
"""
STOCK = {"handset": "handset-12", "receiver": "receiver-8"}  # the roles that every rig has
SHEET = ["page a4", "grid 2 x 4", "cell 99.1mm x 67.7mm"]
MODELS = {  # what a model of a role has where the part does not say it
    "handset": [
        'stick right-across "Right stick, across" left to right springs',
        "channels 12",
        "pulse 1500us centre, 5us per 1%",
        "travel 0%..125% step 5%",
        "subtrim -80..80 steps, 80 steps = 12%, shifts whole",
        "reverse before subtrim",
        "mix after travel",
        "output -140%..140%",
    ],
    "receiver": ["channels 12", "port bus out serial-16"],
}
PORTS = ["port remote in serial-16", "port one in servo"]  # of another role, where the part has none
TWO_WORDS = {"channel", "input", "set", "port", "stick", "unit", "cable"}


def key(statement: str, also: Iterable[str] = ()) -> str:
    """The words by which a statement is known, so that a part can replace one of its host; all legs are one."""
    found = re.match(r"\s*([\w-]+)(\.)?(?:[ \t]+([\w-]+))?", statement)
    if found is None:
        return ""
    first, dot, second = found.groups()
    if dot:
        return "leg"
    return f"{first} {second}" if first in {*TWO_WORDS, *also} else first


def block(head: str, lines: Iterable[str], part: str = "", also: Iterable[str] = ()) -> str:
    """A block, still open, with the lines that a part does not state itself."""
    stated = {key(statement, also) for statement in re.split(r"[\n;]", part)}
    return f"{head} {{\n" + "".join(f"  {line}\n" for line in lines if key(line, also) not in stated)


def rig_without(left_out: Iterable[str], **changed: list[str]) -> str:
    """The host rig without some of its statements, by their key; `changed` are lines of blocks by name."""
    blocks = [
        block(head, changed.get(name, lines)) + "}\n"
        for name, (head, lines) in BLOCKS.items()
        if key(head) not in left_out
    ]
    cables = [f"{line}\n" for line in JOINED.strip().splitlines() if key(line) not in left_out]
    return USES + "".join(blocks + cables)


def rig_of(role: str, inputs: Iterable[str]) -> str:
    """A small rig with one unit of the model `own`, which has these inputs."""
    handset, receiver = ("own" if role == known else stock for known, stock in STOCK.items())
    body = 'model body "Body" { role camera; mass 1kg }\nunit body is body "Body" { mounted on head }\n'
    device = (body if role == "lens" else "") + (
        f'unit dev is own "Device" {{ mounted on {"body" if role == "lens" else "head"}; '
        f"{'; '.join(f'unused {name}' for name in inputs)} }}\n"
    )
    return SMALL.format(handset=handset, receiver=receiver) + ("" if role in STOCK else device)


class Hosted(NamedTuple):
    """A part in its host: the whole text, and where in it the part begins."""

    text: str
    start: int


def hosted(host: str, part: str) -> Hosted:
    """A complete file around a part."""
    before, after = "", ""
    kind, _, role = host.partition(" ")
    if kind == "model":
        lines = [
            f"role {role}",
            "mass 100g",
            *MODELS.get(role, [] if re.search(r"^port\b", part, re.M) else PORTS),
        ]
        before = f'rig "Host" {{ revision "A" }}\n{USES}' + block('model own "Own"', lines, part)
        after = "}\n" + rig_of(role, re.findall(r"(?:^|[;\n])\s*input\s+([\w-]+)", part))
    elif kind == "input":
        before = f'rig "Host" {{ revision "A" }}\n{USES}model own "Own" {{ role motor; mass 100g; {PORTS[1]}\ninput own "Own" {{\n'
        after = "} }\n" + rig_of("motor", ["own"])
    elif kind == "sheet":
        before = rig_without((), rig=[*BLOCKS["rig"][1], "labels on own"]) + block(
            'sheet own "Own"', SHEET, part
        )
        after = "}\n"
    elif kind == "top":
        before = rig_without({key(line) for line in part.splitlines()})
    elif host:
        head, lines = BLOCKS[host]
        before = rig_without({key(head)}) + block(head, lines, part, {"mix"})
        after = "}\n"
    return Hosted(before + part + after, len(before))


def compiled(text: str, folder: Path) -> list[tuple[str, str]]:
    """Code and message of everything reported, up to and with the making of the labels."""
    if not (folder / "stock").exists():
        shutil.copytree(ROOT / "samples" / "stock", folder / "stock")
    path = folder / "page.rig"
    path.write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    build_rig(path, diagnostics, request=Request(only=("labels",)))
    return [(found.code.id, found.message) for found in diagnostics.sorted()]


def split(fenced: Fenced) -> tuple[str, str, str]:
    """Kind, code and host of a block; a block of another form fails."""
    kind, _, more = fenced.info.partition(" ")
    code = ""
    if kind == "rig-wrong":
        code, _, more = more.partition(" ")
    known = {*BLOCKS, "top", "input", "sheet", *(f"model {role}" for role in words.ROLES)}
    if kind not in ("rig", "rig-part", "rig-wrong") or (kind == "rig" and more):
        pytest.fail(f"reference.md line {fenced.line}: the block is marked `{fenced.info}`")
    if (more and more not in known) or (kind == "rig-part" and not more):
        pytest.fail(f"reference.md line {fenced.line}: `{more}` is no host; known: {sorted(known)}")
    return kind, code, more


# ---- blocks --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("fenced", FENCED, ids=lambda fenced: f"{fenced.line} {fenced.info}")
def test_every_block_gives_what_its_fence_says(fenced: Fenced, tmp_path: Path) -> None:
    """A file or part is silent; a wrong one gives its code, at least once, and no other."""
    _, code, host = split(fenced)
    found = compiled(hosted(host, fenced.text).text, tmp_path)

    assert {code for code, _ in found} == ({code} if code else set()), found


def test_no_block_is_missed() -> None:
    """Each fence of the page belongs to one of the blocks above: none is left open or indented."""
    assert len(FENCED) > 40
    assert PAGE.count("```") == 2 * len(FENCED)


@pytest.mark.parametrize("host", ["top", "input", "sheet", *BLOCKS, *(f"model {role}" for role in words.ROLES)])
def test_a_host_is_silent_and_not_deaf(host: str, tmp_path: Path) -> None:
    """A host gives no message of its own, and a fault in it is reported."""
    part = "ready -30%..30%\n" if host == "input" else ""

    assert compiled(hosted(host, part).text, tmp_path) == []
    assert [code[:3] for code, _ in compiled(hosted(host, part + "@\n").text, tmp_path)] == ["RC1"]


# ---- the grammar is shown whole ------------------------------------------------------------------------------


@cache
def grammar() -> Lark:
    """The grammar of rig files as lark reads it, keeping keywords in the tree."""
    return Lark(
        (ROOT / "grammar" / "rig.lark").read_text(encoding="utf-8"),
        parser="lalr",
        lexer="contextual",
        start="file",
        maybe_placeholders=True,
        keep_all_tokens=True,
        propagate_positions=True,
    )


class Shown(NamedTuple):
    """What the correct blocks use: rules, words and signs, and by rule and place of a part whether it was there."""

    rules: set[str]
    texts: set[str]
    parts: dict[tuple[str, int], set[bool]]


@cache
def shown() -> Shown:
    """Everything of the grammar that the blocks of the page themselves use, not their hosts."""
    found = Shown(set(), set(), {})
    for fenced in FENCED:
        kind, code, host = split(fenced)
        if kind == "rig-wrong" and code not in (
            "RC509",
            "RC220",
        ):  # well written: a file that is not there, a question
            continue
        text, start = hosted(host, fenced.text)
        _collect(grammar().parse(text), start, start + len(fenced.text), found)
    return found


def _collect(tree: Tree[Token], start: int, end: int, found: Shown) -> None:
    inside = start <= (-1 if tree.meta.empty else tree.meta.start_pos) < end
    if inside or tree.data == "file":
        found.rules.add(str(tree.data))
    for place, child in enumerate(tree.children):
        if inside:
            found.parts.setdefault((str(tree.data), place), set()).add(child is not None)
        if isinstance(child, Tree):
            _collect(child, start, end, found)
        elif isinstance(child, Token) and start <= (child.start_pos or 0) < end:
            found.texts.add(str(child))


def test_every_rule_of_the_grammar_is_shown() -> None:
    """A statement that is in the grammar and in no block of the page is not documented."""
    rules = {str(rule.origin.name) for rule in grammar().rules}

    assert {rule for rule in rules if not rule.startswith("_")} - shown().rules == set()


def test_every_word_of_the_grammar_is_shown() -> None:
    """Each keyword, each of several spellings, each sign and each unit of a number stands in a block."""
    wanted: set[str] = set()
    for terminal in grammar().terminals:
        if isinstance(terminal.pattern, PatternStr):
            wanted.add(terminal.pattern.value)
        elif terminal.pattern.value.startswith("(?:"):  # (?:stick|slider|dial)(?![-\w])
            wanted |= set(re.findall(r"\w[\w-]*", terminal.pattern.value.split(")")[0][3:]))
    units_of = {
        re.sub(r"^[\d.]+", "", text) for text in shown().texts if re.fullmatch(r"\d+(\.\d+)?[a-zµμ]+", text)
    }

    assert {"stick", "slider", "dial", "center"} <= wanted
    assert {word for word in wanted if not re.fullmatch(r"\W*\\.*", word)} - shown().texts == set()
    assert {"us", "µs", "mm", "cm", "m", "kg", "g", "ms", "s"} <= units_of


def test_every_part_that_may_be_left_out_is_shown() -> None:
    """What stands in [] in the grammar is left out in one block and written in another."""
    optional = {place: seen for place, seen in shown().parts.items() if False in seen}

    assert len(optional) > 15
    assert [place for place, seen in optional.items() if True not in seen] == []


def code_of_page() -> str:
    """Everything that the page sets as code, in blocks and in the text."""
    return "\n".join([fenced.text for fenced in FENCED] + re.findall(r"`([^`\n]+)`", PAGE))


def test_every_fixed_word_is_shown() -> None:
    """Roles, hazards, papers and the like, and the common sheets of labels, are all named."""
    known = [*words.ROLES, *words.HAZARDS, *words.PAPERS, *words.PHASES, *words.SIGNAL_KINDS, *words.MOUNTS]
    code = set(re.findall(r"[\w-]+", code_of_page()))

    assert {*known, *words.SHAPES, *label_sheets.COMMON} - code == set()


def test_every_code_that_the_page_names_exists() -> None:
    """A message that the page speaks of is one that the compiler has."""
    named = set(re.findall(r"RC\d{3}", PAGE))

    assert named
    assert named - set(all_codes()) == set()


# ---- tables --------------------------------------------------------------------------------------------------


def number(text: str) -> Fraction:
    """A number as the page writes it: `−35 %`, `1320.8 us`, `5.12`."""
    return Fraction(re.sub(r"[^\d./-]", "", text.replace("−", "-")))


def pulse(text: str) -> Pulse:
    """A pulse as a model states it."""
    centre, per = re.findall(r"([\d.]+)us", text)
    return Pulse(Fraction(centre), Fraction(per))


def handset(**changed: Any) -> Arithmetic:
    """The invented handset of the worked numbers: 80 steps of sub-trim are 12 %."""
    usual = Arithmetic(
        Pulse(Fraction(1500), Fraction(5)),
        Fraction(0), Fraction(125), Fraction(5),
        -80, 80, Fraction(12, 80), "whole", "before-subtrim", "after-travel",
        Fraction(-140), Fraction(140),
    )  # fmt: skip
    return usual._replace(**changed)


def test_the_worked_levels_are_computed() -> None:
    """Every row of the levels comes out as written, with the order that it names."""
    orders = set()
    for shifts, reverse, turned, travel, trim, away, toward in table(
        "sub-trim shifts", "reverse", "reversed", "travel", "sub-trim", "away (−1)", "toward (+1)"
    ):
        arithmetic = handset(shifts=shifts, reverse=reverse.replace(" ", "-"))
        low, high = (number(side) for side in travel.split("/"))
        dial = Dial(Travel(low, high), int(number(trim)), turned == "yes")
        orders.add((shifts, reverse))

        assert channel_level(arithmetic, dial, Fraction(-1)).percent == number(away)
        assert channel_level(arithmetic, dial, Fraction(1)).percent == number(toward)

    assert {shifts for shifts, _ in orders} == {"whole", "centre"}
    assert {reverse for _, reverse in orders} == {"before travel", "before subtrim", "after subtrim"}


def test_the_worked_lengths_of_leads_are_computed() -> None:
    """What a way needs is way x (1 + slack) + loops, and the rest is coil: arithmetic."""
    for way, slack, loops, needs, length, coil in table("way", "slack", "loops", "needs", "length", "coil"):
        count, loop = loops.split(" x ")
        route = Route(number(way) * 1000, number(slack), int(count), number(loop))

        assert route.needed == number(needs) * 1000
        assert number(length) - number(needs) == number(coil)


def test_the_worked_mixes_are_computed() -> None:
    """A mix of 40 % from a source with travel 80 %: 40 % or 32 %."""
    for mix, travel, rate, level in table("mix", "travel of the source", "rate", "level"):
        own, source = Travel(Fraction(100), Fraction(100)), Travel(number(travel), number(travel))
        part = Part(Fraction(1), source, Rate(number(rate), number(rate)))
        found = channel_level(handset(mix=mix.replace(" ", "-")), Dial(own, 0, False), Fraction(0), [part])

        assert found.percent == number(level)


def test_the_worked_pulses_are_computed() -> None:
    """Level to pulse with four declared relations, and level to level between two of them."""
    for stated, level, width in table("pulse of the handset", "level", "pulse"):
        assert pulse(stated).width(number(level)) == number(width)
    for sender, level, width, listener, heard in table(
        "pulse of the handset", "level sent", "pulse sent", "pulse of the listener", "level heard"
    ):
        assert pulse(sender).width(number(level)) == number(width)
        assert pulse(listener).level(number(width)) == number(heard)


def test_the_worked_counts_are_computed() -> None:
    """Level to code on a serial line; outside the field it stays at the end of the field."""
    for stated, level, code in table("counts", "level", "code"):
        low, high, *field = (int(part) for part in re.findall(r"(?<![\d-])\d+(?!\d*%)", stated))
        ends = field or [low, high]
        counts = Counts(low, high, Fraction(-100), Fraction(100), ends[0], ends[1])

        assert count_of(counts, number(level)) == number(code)


def test_the_worked_margins_are_computed(tmp_path: Path) -> None:
    """Margin in per cent, and in us at 5 us per 1 %."""
    for stated, level, percent, width in table("band", "level", "margin", "in us at 5 us per 1 %"):
        low, high = re.findall(r"-?\d+(?=%)", stated)
        band = Band("", Fraction(low), Fraction(high), False, None)  # type: ignore[arg-type]

        assert band.margin(number(level)) == number(percent)
        assert number(percent) * 5 == number(width)


def test_the_lengths_of_words_are_those_of_the_compiler() -> None:
    """Each statement with a length of its own is in the table, and the length of all others."""
    special = {"Lever": ("stick", "slider", "dial"), "Question": ("open",)}
    wanted = {
        word: most for cls, most in LONGEST.items() for word in special.get(cls.__name__, (keyword(cls),))
    }
    found = {
        word: int(most)
        for named, most in table("words of", "most characters")
        for word in (named.split(", ") if named != "anything else" else ["anything else"])
    }

    assert found == {**wanted, "anything else": OTHERWISE}


def test_the_other_limits_are_those_of_the_compiler() -> None:
    """Counts and sizes in the table of limits."""
    percent = next(terminal.pattern.value for terminal in grammar().terminals if terminal.name == "PERCENT")
    before, after = (int(most) for most in re.findall(r"\{1,(\d+)\}", percent))
    wanted = {
        "channels of a handset, a receiver or a signal; ports in a row": signals.MOST_CHANNELS,
        "number of a memory": units.MOST_MEMORIES,
        "columns, and rows, of a sheet of labels": label_sheets.MOST,
        "readings of one handset": readings.MOST_READINGS,
        "millimetres along or across a label of a tape or roll": label_sheets.LONGEST,
        "combinations of positions on one channel, and in all channels that several controls feed": joint.MOST_COMBINATIONS,
        "bytes of all files of a rig together": load.LARGEST,
        "per cent between a measured and a computed pulse": int(levels.TOLERANCE),
        "seconds of slow": units.LONGEST_SLOW,
        "seconds of failsafe after": asked.LONGEST_LOSS,
        "seconds of reads after": inputs.LONGEST_DWELL,
        "seconds of ready after": models.LONGEST_START,
        "per cent between the rest of a sweep and its level": int(solved_rig.STILL),
        "digits of a number before the point": before,
        "digits of a number after the point": after,
    }

    assert {what: int(most.replace(" ", "")) for what, most in table("what", "most or largest")} == wanted


def test_the_common_sheets_are_those_of_the_compiler() -> None:
    """The sheets of labels that need no `sheet` statement, with their grid and cell."""
    found = {name: (grid, cell) for name, _, grid, cell in table("name", "page", "grid", "cell")}
    wanted = {
        sheet.name: (
            f"{sheet.columns} x {sheet.rows}",
            f"{float(sheet.cell[0]):g}mm x {float(sheet.cell[1]):g}mm",
        )
        for sheet in label_sheets.COMMON.values()
    }

    assert found == wanted


def test_the_margins_of_label_printers_are_those_of_the_compiler() -> None:
    """What a printer of tape or die-cut labels cannot reach, if the file does not state it."""
    usual = {
        "tape up to 18 mm": label_sheets.usual_tape(18).margin,
        "wider tape": label_sheets.usual_tape(19).margin,
        "die-cut roll": label_sheets._ROLL_MARGIN,
    }
    shown = {name: tuple(f"{float(edge):g} mm" for edge in edges) for name, edges in usual.items()}

    assert {name: tuple(edges) for name, *edges in table("printer", "left and right", "top and foot")} == shown


# ---- messages ------------------------------------------------------------------------------------------------


def test_the_page_of_messages_is_the_generated_one() -> None:
    """`grammar/codes.md` is made from the rules; whoever changes a rule makes it again."""
    path = ROOT / "grammar" / "codes.md"
    written = path.read_text(encoding="utf-8") if path.exists() else ""

    assert written == as_page(), "grammar/codes.md is out of date; make it again: python -m rigcard.catalogue"
