"""Random rig files: whole ones with words of any length, samples in other words, and tangles of cables.

Words are drawn as a kind, a length and a seed, so that hundreds of long ones stay within what hypothesis draws.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from pathlib import Path
from random import Random
from typing import NamedTuple

from hypothesis import strategies as st

from rigcard.documents.base.quoted_text import LONGEST, OTHERWISE
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.words import ROLES
from rigcard.syntax import tree

# ---- words -------------------------------------------------------------------------------------------------------

KINDS = ("plain", "wide", "narrow", "any", "letters", "amounts", "odd")
ODD = ("<b>", "\\N", '"', "&amp;", "=1+1", "@x", "{|}", "-1", "\\", "%s", "$x", "—", "→")


@cache
def glyphs() -> str:
    """Every printable character that the typeface has."""
    lacks = EmbeddedTypeface().lacks
    return "".join(
        char
        for char in map(chr, [*range(0x20, 0xD800), *range(0xE000, 0x10000)])
        if unicodedata.category(char) not in ("Cc", "Cn", "Cs") and not lacks(char)
    )


def made_words(kind: str, length: int, seed: int) -> str:
    """Words of a kind, `length` characters at most and never blank."""
    chance = Random(seed)
    if kind == "wide":
        text = "W" * length
    elif kind == "narrow":
        text = "".join(chance.choice("il|.") for _ in range(length))
    elif kind == "any":
        text = "".join(chance.choice(glyphs()) for _ in range(length))
    elif kind == "letters":
        text = "M " * length
    elif kind == "amounts":
        text = " ".join(f"{chance.randrange(10**6)} {chance.choice(('%', 'µs', 'mm'))}" for _ in range(length))
    elif kind == "odd":
        text = " ".join(chance.choice(ODD) for _ in range(length))
    else:
        text = " ".join("".join(chance.choices("aeinorstlmW", k=chance.randint(1, 12))) for _ in range(length))
    text = text[:length]
    return text if text.strip() else "x"


def words(limit: int, kind: str | None = None) -> st.SearchStrategy[str]:
    """Words of up to `limit` characters, often of just that many."""
    kinds = st.sampled_from(KINDS) if kind is None else st.just(kind)
    return st.builds(made_words, kinds, st.integers(1, limit) | st.just(limit), st.integers(0, 9999))


def quoted(text: str) -> str:
    """A string of the language."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


# ---- whole rigs --------------------------------------------------------------------------------------------------


class Writer:
    """Draws the parts of one rig; all words are of one kind, or each of its own."""

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw
        self.kind = draw(st.sampled_from([None, *KINDS]))
        self.longest_name = draw(st.sampled_from([0, 8, 60]))
        self.count = 0

    def says(self, owner: type | None = None) -> str:
        """Quoted words as long as a statement of a class takes."""
        limit = LONGEST.get(owner, OTHERWISE) if owner else OTHERWISE
        return quoted(self.draw(words(limit, self.kind)))

    def name(self, stem: str) -> str:
        """A name that no other thing has."""
        self.count += 1
        filler = self.draw(st.sampled_from(["", "W", "long-name-"])) * self.longest_name
        return f"{stem}{filler[: self.longest_name].rstrip('-')}{self.count}"

    def asset(self) -> str:
        """An asset statement, often none; no two units have the same number."""
        self.count += 1
        number = self.draw(words(LONGEST[tree.Asset] - 4, self.kind))
        return self.maybe(f"asset {quoted(f'{number}{self.count}')}")

    def some(self, least: int, most: int) -> int:
        """How many."""
        return self.draw(st.integers(least, most))

    def maybe(self, text: str) -> str:
        """A statement that may be left out."""
        return text if self.draw(st.booleans()) else ""


class Control(NamedTuple):
    """A control of the handset: its statement and its positions, ends first and last."""

    name: str
    text: str
    positions: tuple[str, ...]
    switch: bool


class Fed(NamedTuple):
    """A channel and the input that listens to it."""

    channel: str
    input: str
    text: str


def _control(write: Writer, index: int) -> Control:
    name, title = write.name("k"), write.says(tree.Lever)
    at = f"at {20 + index % 4 * 40}mm, {20 + index // 4 * 40}mm"
    if write.draw(st.booleans()):
        positions = tuple(write.name("p") for _ in range(write.some(2, 4)))
        return Control(name, f"switch {name} {title} {', '.join(positions)} {at}", positions, True)
    ends = (write.name("e"), write.name("e"))
    kind = write.draw(st.sampled_from(["stick", "slider", "dial"]))
    springs = "springs" if kind == "stick" else ""
    return Control(name, f"{kind} {name} {title} {ends[0]} to {ends[1]} {springs} {at}", ends, False)


def _listening(write: Writer, control: Control, port: str, states: tuple[str, ...] = ()) -> Fed:
    """An input that reads every position of a control: a band a position of a switch, else a sweep."""
    name, title = write.name("i"), write.says()
    head = f"input {name} on {port} {title}"
    if not control.switch:
        return Fed("", name, f"{head} {{ sweeps {write.name('s')} to {write.name('s')} }}")
    count = len(control.positions)
    half = 100 / (count - 1)
    levels = [-100 + 2 * half * at for at in range(count)]
    names = states or tuple(write.name("b") for _ in range(count))
    bands = "; ".join(
        f"{state} {level - half / 2:.1f}%..{level + half / 2:.1f}%"
        for state, level in zip(names, levels, strict=True)
    )
    return Fed("", name, f"{head} {{ {bands} }}")


def _size(write: Writer) -> str:
    jacket = write.draw(
        st.sampled_from(["1.5mm", "2mm", "3mm", "4.4mm", "4.5mm", "6mm", "8mm", "12mm", "20mm"])
    )
    length = write.draw(st.sampled_from(["5mm", "300mm", "949.5mm", "25m", "123.45m"]))
    places = ["", "; moving", "; airborne"] if jacket != "0.8mm" else [""]  # no wrap holds on so thin a lead
    return f"length {length}; jacket {jacket}{write.draw(st.sampled_from(places))}"


@st.composite
def whole_rigs(draw: st.DrawFn) -> str:
    """The text of a rig that compiles: a handset of 1 to 12 channels, a head on a serial line, devices on pins,
    an adapter that commands a camera, packs; every quoted text and every name as long as may be."""
    write = Writer(draw)
    paper = draw(st.sampled_from(["a4", "letter"]))
    crew = [write.name("r") for _ in range(write.some(1, 3))]
    serial, keys, power = write.name("sig"), write.name("sig"), write.name("sig")
    controls = [_control(write, index) for index in range(write.some(1, 8))]
    bus, remote = write.name("bus"), write.name("in")
    head_feeds: list[Fed] = []
    devices: list[str] = []
    cables: list[str] = []
    channels: list[str] = []
    loose: list[str] = []
    orders: list[tuple[str, tuple[str, ...]]] = []
    for number in range(1, write.some(1, 12) + 1):
        control = draw(st.sampled_from(controls))
        channel = write.name("c")
        failsafe = draw(st.sampled_from(["hold", "none", "0%"])) if not control.switch else "hold"
        channels.append(f"channel {number} {channel} from {control.name} failsafe {failsafe}")
        where = draw(st.sampled_from(["head", "head", "device", "adapter"]))
        if where == "head":
            head_feeds.append(_listening(write, control, remote)._replace(channel=channel))
            continue
        port, model, unit = write.name("port"), write.name("m"), write.name("u")
        states = tuple(write.name("cmd") for _ in control.positions) if control.switch else ()
        fed = _listening(write, control, port, states)
        loose.append(f"rx.p{number} to {unit}.{port}")
        out = ""
        if where == "adapter":
            out = f"; port out{number} out {keys}"
            cables.append(
                f"cable {write.name('W')} {write.says()} {{ {unit}.out{number} to cam.in{number}; {_size(write)} }}"
            )
            orders.append((f"in{number}", states or (fed.input,)))
        role = "adapter" if where == "adapter" else draw(st.sampled_from(["motor", "other", "sender"]))
        devices.append(
            f"model {model} {write.says()} {{ role {role}; port {port} in servo{out}; {fed.text}; "
            f"{write.maybe('mass 0.123kg')} }}"
        )
        devices.append(
            f"unit {unit} is {model} {write.says()} "
            f"{{ {write.asset()}; {write.maybe(f'note {write.says(tree.Note)}')} }}"
        )
    if loose:
        at = write.some(0, len(loose))
        for part in (loose[:at], loose[at:]):
            if part:
                legs = "; ".join(part)
                cables.append(f"cable {write.name('W')} {write.says()} {{ {legs}; {_size(write)} }}")
    mixes = _mixes(write, controls, channels, head_feeds)
    blocks = [
        f"rig {write.says()} {{",
        write.maybe(f"job {write.says()}"),
        write.maybe(f"revision {write.says(tree.Revision)} {write.maybe('on 2026-05-14')}"),
        f"crew {', '.join(f'{role} {write.says()}' for role in crew)}",
        f"paper {paper}",
        "}",
        f"signal {serial} {write.says()} carries 16 channels counts 172 to 1811 over -100% to 100% field 0 to 2047",
        f"signal {keys} {write.says()} carries commands",
        f"signal {power} {write.says()} carries power",
        f"model hm {write.says()} {{ role handset; face 180mm x 200mm; {'; '.join(c.text for c in controls)}; "
        "channels 12; pulse 1520us centre, 4us per 1%; travel 0%..140% step 1%; "
        "subtrim -80..80 steps, 80 steps = 12%, shifts whole; reverse before subtrim; mix before travel; "
        f"output -150%..150%; {write.maybe('hazard lithium')} }}",
        f"model rm {write.says()} {{ role receiver; channels 12; port p1..p12 out servo channel 1..12; "
        f"port {bus} out {serial} }}",
        f"unit hs is hm {write.says()} {{ held by {crew[0]}; memory 12 {write.says(tree.Memory)}",
        write.asset(),
        write.maybe(f"serial {write.says(tree.Serial)}"),
        write.maybe(f"software {write.says(tree.Software)}"),
        write.maybe(f"case {write.says(tree.Case)}"),
        *channels,
        *mixes,
        *(f"note {write.says(tree.Note)}" for _ in range(write.some(0, 2))),
        "}",
        f"unit rx is rm {write.says()} {{ bound to hs; {write.asset()} }}",
        *devices,
        *cables,
    ]
    blocks += _head(write, head_feeds, remote, serial, power, bus)
    blocks += _camera(write, orders, keys)
    for statement in ("step rigging", "step power-up", "step power-down", "note", "open"):
        owner = {"note": tree.Note, "open": tree.Question}.get(statement, tree.Step)
        blocks += [f"{statement} {write.says(owner)}" for _ in range(write.some(0, 2))]
    blocks += [f"hazard {hazard}" for hazard in draw(st.sets(st.sampled_from(["overhead", "water", "public"])))]
    return "\n".join(block for block in blocks if block)


def _mixes(write: Writer, controls: list[Control], channels: list[str], feeds: list[Fed]) -> list[str]:
    """At most one mix into a channel that an input sweeps with."""
    names = [line.split()[2] for line in channels]
    swept = [fed.channel for fed in feeds if "sweeps" in fed.text]
    switches = [control for control in controls if control.switch]
    if not swept or len(names) < 2 or not write.draw(st.booleans()):
        return []
    target = write.draw(st.sampled_from(swept))
    source = write.draw(st.sampled_from([name for name in names if name != target]))
    during = ""
    if switches and write.draw(st.booleans()):
        switch = write.draw(st.sampled_from(switches))
        during = f"while {switch.name} {write.draw(st.sampled_from(switch.positions))}"
    return [f"mix {source} into {target} at 20% / 30% {during}"]


def _head(write: Writer, feeds: list[Fed], remote: str, serial: str, power: str, bus: str) -> list[str]:
    if not feeds:
        return []
    setting, choice = write.name("set"), write.says()
    plug = write.name("pow")
    inputs = "; ".join(fed.text for fed in feeds)
    sources = "; ".join(
        f"input {fed.input} from {fed.channel} {write.draw(st.sampled_from(['', 'reversed']))}" for fed in feeds
    )
    mount = write.draw(st.sampled_from(["mount upright", "mount underslung"]))
    return [
        f"model headm {write.says()} {{ role head; port {remote} in {serial}; port {plug} in {power}; {inputs}; "
        f"setting {setting} {write.says()} choices {choice}; hazard moving-parts; mass 4.5kg }}",
        f"unit head is headm {write.says()} {{ {mount}; {sources}; set {setting} {choice}; "
        f"{write.maybe(f'note {write.says(tree.Note)}')} }}",
        f"model packm {write.says()} {{ role pack; port dc out {power}; hazard lithium; mass 0.8kg }}",
        f"unit pack is packm {write.says()} {{ {write.maybe(f'case {write.says(tree.Case)}')} }}",
        f"cable {write.name('W')} {write.says()} {{ rx.{bus} to head.{remote}; {_size(write)} }}",
        f"cable {write.name('P')} {write.says()} {{ pack.dc to head.{plug}; {_size(write)} }}",
    ]


def _camera(write: Writer, orders: list[tuple[str, tuple[str, ...]]], keys: str) -> list[str]:
    if not orders:
        return []
    ports = "; ".join(f"port {port} in {keys}" for port, _ in orders)
    needed, chosen = write.name("set"), write.says()
    commands = ", ".join(name for _, names in orders for name in names)
    return [
        f"model camm {write.says()} {{ role camera; {ports}; setting {needed} {write.says()}; "
        f"command {commands} needs {needed} = {chosen} }}",
        f"unit cam is camm {write.says()} {{ set {needed} {chosen} }}",
    ]


# ---- samples in other words --------------------------------------------------------------------------------------

ROOT = Path(__file__).parents[1]
STRING = re.compile(r'"(?:[^"\\\n]|\\.)*"')
TOKEN = re.compile(rf"#[^\n]*|{STRING.pattern}|[A-Za-z][A-Za-z0-9]*(?:[-_][A-Za-z0-9]+)*")
DECLARED = re.compile(r"^\s*(?:unit|cable|channel +\d+|stick|slider|dial|switch) +([A-Za-z][\w-]*)", re.M)
OWNERS = {
    **{word: getattr(tree, word.title()) for word in ("revision", "tag", "memory", "case", "asset", "serial")},
    **{word: getattr(tree, word.title()) for word in ("software", "switch", "step", "note", "packs", "short")},
    **dict.fromkeys(("stick", "slider", "dial"), tree.Lever),
    "open": tree.Question,
}


def inlined(path: Path, seen: set[Path]) -> str:
    """A rig file with the files that it uses in their places, each once."""
    seen.add(path)
    lines = []
    for line in path.read_text(encoding="utf-8").splitlines():
        used = re.match(r'use "(.*?)"', line)
        other = path.parent / used[1] if used else path
        if other not in seen:
            lines.append(inlined(other, seen))
        elif not used:
            lines.append(line)
    return "\n".join(lines)


@st.composite
def reworded_samples(draw: st.DrawFn) -> str:
    """A sample with everything that samples show, its words as long or odd as may be and its names long or wide."""
    text = inlined(draw(st.sampled_from(sorted((ROOT / "samples").glob("*.rig")))), set())
    chance = Random(draw(st.integers(0, 9999)))
    kind = chance.choice([None, *KINDS])
    stretch = chance.choice([0, 10, 60])
    keywords = {*ROLES, *re.findall(r"[a-z]+", (ROOT / "grammar" / "rig.lark").read_text(encoding="utf-8"))}
    names = {}
    for number, name in enumerate(sorted(set(DECLARED.findall(text)) - keywords)):
        filler = (chance.choice(["W", "long-name-", "i"]) * 60)[:stretch].rstrip("-")
        names[name] = f"{name}{filler}{number}" if stretch else name
    limits: dict[str, int] = {}
    for found in STRING.finditer(text):
        before = re.split(r"[\n;{]", text[: found.start()])[-1].split()
        owner = next((OWNERS[word] for word in (before[-1], before[0]) if word in OWNERS), None)
        limit = LONGEST.get(owner, OTHERWISE) if owner else OTHERWISE
        limits[found[0]] = min(limit, limits.get(found[0], limit))
    said = {}
    for number, (string, limit) in enumerate(limits.items()):
        length = chance.choice([limit, chance.randint(1, limit)])
        made = made_words(kind or chance.choice(KINDS), length, chance.randrange(9999))
        said[string] = quoted(f"{made[: limit - 3]}{number}" if limit > 4 else made)  # no two the same
    return TOKEN.sub(lambda token: said.get(token[0], names.get(token[0], token[0])), text)


# ---- tangles -----------------------------------------------------------------------------------------------------


class Tangle(NamedTuple):
    """A rig whose plugs go anywhere, as text and as the plan that the text was written from.

    `channels`: handset, number, name, control; `bound`: receiver to handset; `ports`: (unit, port) to (direction,
    signal, channel of a pin or 0); `inputs`: unit, input, port; `follows`: (unit, input) to channel name;
    `commands`: unit to the names that it obeys; `legs`: two (unit, port) each.
    """

    text: str
    channels: list[tuple[str, int, str, str]]
    bound: dict[str, str]
    ports: dict[tuple[str, str], tuple[str, str, int]]
    inputs: list[tuple[str, str, str]]
    follows: dict[tuple[str, str], str]
    commands: dict[str, tuple[str, ...]]
    legs: list[tuple[tuple[str, str], tuple[str, str]]]


TANGLE_MODELS = """
rig "Tangle" { job "x" }
signal bus-a "A" carries 16 channels
signal bus-b "B" carries 8 channels
signal key "K" carries commands
signal dc "D" carries power
model hm "H" { role handset; stick k1 "K1" left to right; dial k2 "K2" left to right; switch k3 "K3" away, toward
  channels 12; pulse 1500us centre, 4us per 1%; travel 0%..140% step 1%
  subtrim -80..80 steps, 80 steps = 12%, shifts whole; reverse before subtrim; mix before travel
  output -150%..150% }
model rm "R" { role receiver; channels 12; port p1..p4 out servo channel 1..4; port q1, q2 out servo
  port ba out bus-a; port bb out bus-b; port kk out key }
model box "B" { role adapter; port a, b in servo; port c in bus-a; port d in bus-b; port k in key; port o out key
  port pw in dc
  input ia on a "IA" { run -150%..0%; stop 1%..150% }
  input ib on b "IB" { sweeps left to right }
  input ic on c "IC" { sweeps left to right }
  input id on d "ID" { run -150%..0%; stop 1%..150% }
  input ie on d "IE" { sweeps left to right }
  command run, stop, ib }
"""
RECEIVER_PORTS = {
    **{f"p{number}": ("out", "servo", number) for number in range(1, 5)},
    "q1": ("out", "servo", 0),
    "q2": ("out", "servo", 0),
    "ba": ("out", "bus-a", 0),
    "bb": ("out", "bus-b", 0),
    "kk": ("out", "key", 0),
}
BOX_PORTS = {
    "a": ("in", "servo", 0),
    "b": ("in", "servo", 0),
    "c": ("in", "bus-a", 0),
    "d": ("in", "bus-b", 0),
    "k": ("in", "key", 0),
    "o": ("out", "key", 0),
    "pw": ("in", "dc", 0),
}
BOX_INPUTS = {"ia": "a", "ib": "b", "ic": "c", "id": "d", "ie": "d"}


@st.composite
def tangles(draw: st.DrawFn) -> Tangle:
    """One to three handsets, receivers and devices, with legs between any two ports."""
    handsets = [f"h{at}" for at in range(draw(st.integers(1, 3)))]
    receivers = [f"r{at}" for at in range(draw(st.integers(1, 3)))]
    boxes = [f"x{at}" for at in range(draw(st.integers(1, 4)))]
    channels = []
    lines = [TANGLE_MODELS]
    for handset in handsets:
        numbers = draw(st.sets(st.integers(1, 6), max_size=5))
        own = [
            (handset, number, f"c{number}", draw(st.sampled_from(["k1", "k2", "k3"])))
            for number in sorted(numbers)
        ]
        channels += own
        said = "; ".join(f"channel {number} {name} from {control}" for _, number, name, control in own)
        lines.append(f'unit {handset} is hm "H" {{ {said} }}')
    bound = {}
    for receiver in receivers:
        if draw(st.integers(0, 4)):
            bound[receiver] = draw(st.sampled_from(handsets))
        lines.append(
            f'unit {receiver} is rm "R" {{ {f"bound to {bound[receiver]}" if receiver in bound else ""} }}'
        )
    follows = {}
    for box in boxes:
        for name in BOX_INPUTS:
            if draw(st.booleans()):
                follows[box, name] = f"c{draw(st.integers(1, 6))}"
        said = "; ".join(
            f"input {name} from {channel}" for (unit, name), channel in follows.items() if unit == box
        )
        lines.append(f'unit {box} is box "B" {{ {said} }}')
    ports = {(unit, port): what for unit in receivers for port, what in RECEIVER_PORTS.items()}
    ports |= {(unit, port): what for unit in boxes for port, what in BOX_PORTS.items()}
    sources = [port for port, (direction, _, _) in ports.items() if direction == "out"]
    legs = []
    for _ in range(draw(st.integers(0, 14))):
        first = draw(st.sampled_from(sources if draw(st.integers(0, 5)) else list(ports)))
        fitting = [port for port, (way, kind, _) in ports.items() if way == "in" and kind == ports[first][1]]
        second = draw(st.sampled_from(fitting if fitting and draw(st.integers(0, 5)) else list(ports)))
        legs.append((first, second) if draw(st.booleans()) else (second, first))
    at = draw(st.integers(0, len(legs)))
    for name, part in (("W1", legs[:at]), ("W2", legs[at:])):
        said = "; ".join(f"{first[0]}.{first[1]} to {second[0]}.{second[1]}" for first, second in part)
        lines.append(f'cable {name} "W" {{ {said} }}')
    inputs = [(box, name, port) for box in boxes for name, port in BOX_INPUTS.items()]
    commands = dict.fromkeys(boxes, ("run", "stop", "ib"))
    return Tangle("\n".join(lines), channels, bound, ports, inputs, follows, commands, legs)
