"""Throws inputs at the compiler: bytes, the language's own tokens, samples with faults, programs made from the grammar.

    python tests/fuzz.py --seed 1 --minutes 15      # until it fails or the time is up
    python tests/fuzz.py --file failed.rig          # one input again

Demanded of every input: no exception, an end within `PATIENCE`, every place inside its file, a remedy beside every
cause, no control character in what is printed, a result if and only if there is no error; and the papers of what
compiles are made. Of a sample with one thing as people bring it from elsewhere, each exact remedy must leave fewer
errors and every number as it is. Fonts have wrong bytes. An input that fails is saved, and the line that repeats it is printed. `test_fuzz.py` uses the same
judge and the same sources for a bounded number of inputs.
"""

from __future__ import annotations

import argparse
import re
import shutil
import signal
import sys
import tempfile
import time
import traceback
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from fractions import Fraction
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import font_source_sans_pro
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as seeded
from hypothesis import strategies as st
from hypothesis.extra.lark import from_lark
from lark import Lark
from lark.lexer import PatternStr

from rigcard.diagnostics import Diagnostic, Diagnostics, Edit, Severity
from rigcard.fixing import applied
from rigcard.outputs.registry import KINDS, Request
from rigcard.pipeline import build_rig, check_rig
from rigcard.reporting.as_json import as_json
from rigcard.reporting.as_sarif import as_sarif
from rigcard.reporting.as_text import as_text
from rigcard.resolve.resolve import only_declares
from rigcard.source import Span
from strategies import inlined

ROOT = Path(__file__).parents[1]
GRAMMAR = (ROOT / "grammar" / "rig.lark").read_text(encoding="utf-8")
FONT = Path(font_source_sans_pro.font_directory) / "SourceSansPro-Regular.ttf"
SAMPLES = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "samples").glob("*.rig"))]
INLINED = [inlined(path, set()) for path in sorted((ROOT / "samples").glob("*.rig"))]
PATIENCE = 20.0  # seconds for one input: a hundred times what a sample takes
CONTROLS = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]")

# ---- the judge -------------------------------------------------------------------------------------------------


def inside(span: Span) -> bool:
    """Whether a span lies in its file and its place counts from 1 and lies in the text."""
    lines = span.source.text.split("\n")
    line, column = span.source.position(span.start)
    return (
        0 <= span.start <= span.end <= len(span.source.text)
        and 1 <= line <= len(lines)
        and 1 <= column <= len(lines[line - 1]) + 1
    )


def holds(path: Path, written: bytes, build: tuple[str, ...] = ()) -> list[Diagnostic]:
    """Judge a file, and make the papers of the kinds `build` if it compiles. Returns its diagnostics."""
    path.write_bytes(written)
    diagnostics = Diagnostics()
    with limited(PATIENCE):
        program, solved, *_ = check_rig(path, diagnostics)
    found = diagnostics.sorted()
    judge(found)
    failed = any(diagnostic.code.severity is Severity.ERROR for diagnostic in found)
    models = program is not None and only_declares(program)  # checked by itself, with nothing to solve
    assert (solved is None) == failed or models, [diagnostic.message for diagnostic in found]
    if solved and build:
        printing = Diagnostics()
        with limited(PATIENCE):
            papers = build_rig(path, printing, request=Request(only=build))
        judge(printing.sorted())
        assert (papers is None) == printing.failed()
    return found


def judge(found: list[Diagnostic]) -> None:
    """Places lie inside, every cause has a remedy, what is printed can be printed."""
    for diagnostic in found:
        assert diagnostic.message
        assert diagnostic.hint, diagnostic.message
        assert diagnostic.span or diagnostic.where, diagnostic.message
        spans = [diagnostic.span] if diagnostic.span else []
        for span in [*spans, *(related.span for related in diagnostic.related)]:
            assert inside(span), (diagnostic.code.id, span.start, span.end, len(span.source.text))
        text = as_text(diagnostic)
        assert not CONTROLS.search(text), text
    as_json(found)
    as_sarif(found, 1, True)


def errors(found: list[Diagnostic], last: str) -> int:
    """How many errors the passes up to one report: what comes later may be read only now."""
    return sum(one.code.severity is Severity.ERROR and one.code.id[:3] <= last for one in found)


def digits(text: str) -> list[str]:
    """The digits of a text in their order, whatever their script; that of a unit is none. `.5` is no 5."""
    plain = "".join(
        str(unicodedata.digit(char)) if char.isdecimal() else char for char in text.replace("mm2", "")
    )
    return re.findall(r"(?<![.\d])\.\d|\d", plain)


def keeps_numbers(edits: tuple[Edit, ...]) -> bool:
    """Whether edits leave every number as it is: the same digits in all of them, or one number written as another."""
    inches = [edit for edit in edits if re.fullmatch(r"[\d./]+\s*(?:\"|in|inch(?:es)?)", edit.span.text)]
    if not all(_worth_the_same(edit.span.text, edit.text) for edit in inches):
        return False
    before = [digit for edit in edits for digit in digits(edit.span.text)]
    after = [digit for edit in edits for digit in digits(edit.text)]
    return sorted(before) == sorted(after) or all(
        not (digits(edit.span.text) or digits(edit.text)) or _worth_the_same(edit.span.text, edit.text)
        for edit in edits
    )


def _worth_the_same(old: str, new: str) -> bool:
    """Whether a fraction, inches, a point without its nought or a sign for both ways became what it is worth."""
    old = old.replace("+/-", "±").strip()
    if old.startswith("±"):
        return new == f"-{old[1:].strip()}..{old[1:].strip()}"
    written = re.fullmatch(r"(-?)(\d*\.?\d+)(?:/(\d+))?\s*(\"|in|inch(?:es)?|[a-zA-Z%]*2?)", old)
    stated = re.fullmatch(r"(-?\d+(?:\.\d+)?)([a-zA-Z%]*2?)", new)
    if written is None or stated is None:
        return False
    value = Fraction(written[2]) / int(written[3] or 1)
    if written[4] == '"' or written[4].startswith("in"):
        value *= Fraction(254, 10)
    value *= -1 if written[1] else 1
    return abs(value - Fraction(stated[1])) <= Fraction(1, 2)  # inches are rounded to whole millimetres


def mends(path: Path, written: bytes, found: list[Diagnostic]) -> int:
    """Put each exact remedy of a file into it: fewer errors, no number changed. Returns how many were tried."""
    tried = 0
    for one in found[:5]:
        if not one.edits or any(edit.span.source.name != str(path) for edit in one.edits):
            continue
        tried += 1
        last = one.code.id[:3]
        assert keeps_numbers(one.edits), (one.code.id, one.message, one.hint, one.edits[:3])
        after = holds(path, applied(written, one.edits))
        told = (one.code.id, one.message, one.hint, [each.message for each in after])
        if one.code.severity is Severity.ERROR:
            assert errors(after, last) < errors(found, last), told
        else:
            assert errors(after, last) <= errors(found, last), told
        assert one.message not in [each.message for each in after], told
    return tried


@contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Raise TimeoutError where the work inside does not end; Python looks at it between two of its steps."""

    def ring(*_: object) -> None:
        raise TimeoutError(f"no end within {seconds:g} s")

    before = signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


# ---- tokens ----------------------------------------------------------------------------------------------------

KEYWORDS = sorted(
    set(re.findall(r'"([a-z]+)"', GRAMMAR)) | {"stick", "slider", "dial", "in", "out", "before", "after"}
)
NUMBERS = ["0%", "-35%", "−70.5%", "150%", "1520us", "3.2mm", "1m", "5kg", "2s", "100ms", "2026-02-30"]
NUMBERS += ["0", "-1", "12", "9" * 400 + "%", "9" * 5000, "999999999", "0.000001mm", "1520", "5parsec", "1..2"]
EXTREMES = [
    "0.000000001",
    "1000000000000",
    "9" * 30,
    "0." + "0" * 30 + "1",
    "9" * 400,
    "-0",
    "00",
    "64",
    "65",
    "4097",
]
NAMES = [
    "hs",
    "rx",
    "head",
    "pan",
    "right-across",
    "handset-12",
    "receiver-8",
    "head-3",
    "p1",
    "bus",
    "a",
    "x-1_y",
]
SIGNS = [
    "{",
    "}",
    "\n",
    "\n",
    ";",
    ",",
    "..",
    ".",
    "=",
    "/",
    '"',
    '"Words"',
    '"stock/radio.rig"',
    "# words\n",
    "\t",
]
TOKENS = KEYWORDS + NUMBERS + NAMES + SIGNS
ODD = [
    "\x00",
    "\x1b[31m",
    "\u202e",
    "\u200b",
    "\ufeff",
    "\u2028",
    "\x85",
    "\r",
    "²",
    "µ",
    "＂",
    "\\",
    "'",
    "\u0300",
    "😀",
]
TOKEN = re.compile(
    r'"(?:[^"\\\n]|\\.)*"|#[^\n]*|[-+−]?\d+(?:\.\d+)?(?:[%a-zµ]+)?|[A-Za-z][\w-]*|\.\.|\n|[^\s\w]'
)


def any_bytes(chance: Random) -> bytes:
    """Bytes, or a piece of a sample with bytes thrown in."""
    if chance.random() < 0.3:
        return chance.randbytes(chance.randint(0, 300))
    data = bytearray(chance.choice(SAMPLES).encode())
    start = chance.randrange(len(data))
    data = data[start : start + chance.choice([40, 400, 4000])]
    for _ in range(chance.randint(1, 12)):
        at = chance.randrange(len(data) + 1)
        data[at : at + chance.randint(0, 2)] = chance.randbytes(chance.randint(0, 3))
    return bytes(data)


def soup(chance: Random) -> bytes:
    """Words, numbers and signs of the language in any order."""
    count = chance.choice([3, 20, 80, 300])
    return chance.choice([" ", "", "\n"]).join(chance.choices(TOKENS, k=count)).encode()


def faulty_sample(chance: Random) -> bytes:
    """A sample with a few lines, tokens or characters deleted, doubled, swapped, replaced or spliced in."""
    text = chance.choice(SAMPLES + INLINED)
    for _ in range(chance.choice([1, 1, 1, 2, 3, 8])):
        text = chance.choice(CHANGES)(text, chance)
    return text.encode("utf-8", "replace")


def _line(text: str, chance: Random) -> str:
    lines = text.split("\n")
    first, second = chance.randrange(len(lines)), chance.randrange(len(lines))
    match chance.choice(["delete", "double", "swap", "splice", "move"]):
        case "delete":
            del lines[first : first + chance.choice([1, 1, 2, 10])]
        case "double":
            lines.insert(second, lines[first])
        case "swap":
            lines[first], lines[second] = lines[second], lines[first]
        case "splice":
            other = chance.choice(INLINED).split("\n")
            at = chance.randrange(len(other))
            lines[first:first] = other[at : at + chance.choice([1, 3, 20])]
        case _:
            lines.insert(second, lines.pop(first))
    return "\n".join(lines)


def one_token(text: str, chance: Random) -> str:
    """One token deleted, doubled, swapped with the next, or another one in its place."""
    tokens = [found for found in TOKEN.finditer(text) if not found[0].startswith(("#", "\n"))]
    if len(tokens) < 2:
        return text
    number = chance.randrange(len(tokens) - 1)
    token, following = tokens[number], tokens[number + 1]
    start, end = token.span()
    match chance.choice(["delete", "double", "swap", "replace", "replace"]):
        case "delete":
            return text[:start] + text[end:]
        case "double":
            return f"{text[:end]} {token[0]}{text[end:]}"
        case "swap":
            between = text[end : following.start()]
            return text[:start] + following[0] + between + token[0] + text[following.end() :]
    other = chance.choice(tokens)[0] if chance.random() < 0.7 else chance.choice(TOKENS)
    return text[:start] + other + text[end:]


SLIPS = (
    "letter left out",
    "word left out",
    "word twice",
    "lines joined",
    "line broken",
    "unit left off",
    "quote left off",
)


def slip(text: str, kind: str, chance: Random) -> str:
    """A text as it is after one slip of the hand that typed it."""
    words = r'"[^"\n]*"|#[^\n]*|[\w.%−-]+|[=/,;{}]'
    places = {
        "letter left out": r"[A-Za-z]\w{2,}",
        "lines joined": r"\n(?=.)",
        "line broken": r"(?<=\S)[ \t]+(?=\S)",
        "unit left off": r"(?<=\d)(?:%|[a-zA-Z]+)(?![\w-])",
        "quote left off": r'(?<=[ \t])"|"(?=[\s;}]|$)',
    }.get(kind, words)
    comments = [found.span() for found in re.finditer(r"(?m)(?<![^\s;{}])#.*$", text)]
    found = [
        one
        for one in re.finditer(places, text, re.MULTILINE)
        if one[0][0] != "#" and not any(start <= one.start() < end for start, end in comments)
    ]
    start, end = chance.choice(found).span()
    if kind == "letter left out":
        start = chance.randrange(start, end)
        end = start + 1
    new = {"lines joined": " ", "line broken": "\n", "word twice": f"{text[start:end]} {text[start:end]}"}
    return text[:start] + new.get(kind, "") + text[end:]


ELSEWHERE: tuple[
    tuple[str, tuple[str, ...]], ...
] = (  # what is written right, and what people bring from elsewhere
    (r"(?<=\s)(\d+(?:\.\d+)?)(mm|cm|m|us|V|A|kg|g|Ah|W|h|ms|s)(?![\w/²])", (r"\1 \2", r"\1", r"\1\2\2")),
    (r"(?<=\s)(\d+)\.(\d+)(?=[a-zA-Z%])", (r"\1,\2", r".\2", r"\1·\2")),
    (r"(?<=\s)(-?\d+)%", (r"\1 %", r"\1 percent", r"\1pct", r"\1")),
    (r"(-?\d+%)\.\.(-?\d+%)", (r"\1 to \2", r"\1…\2", r"\1-\2", r"\1...\2", r"\1–\2")),
    (r"(?<= )-(\d+)", (r"–\1", r"−\1", r"‑\1")),
    (r"(?<=\s)(\d+)us\b", (r"\1usec", r"\1 us", r"\1µs", r"\1US")),
    (r"\bAWG(\d+)", (r"\1AWG", r"AWG \1", r"awg\1", r"#\1")),
    (r"(?<=\s)([\d.]+)mm2", (r"\1qmm", r"\1 mm²", r"\1sqmm")),
    (r'"(\w[^"\n]*)"', (r"“\1”", r"„\1“", r"'\1'", r'""\1""', r"«\1»", r"&quot;\1&quot;", r'"\1', r'\1"')),
    (r"\b([a-z]+)-([a-z]+)\b", (r"\1_\2", r"\1\2", r"\1 \2", r"\1‑\2", r"\1-\2s")),
    (r"(?m)^([ \t]*)([a-z]+)(?=[ \t])", (r"\1\2:", r"\1\2 =", r"\1\2s", r"\1- \2", r"\1#\2")),
    (r"(?m)^([ \t]*)([a-z])([a-z]+)(?=[ \t])", (r"\1\2\2\3", r"\1\3")),
    (r"(?m)# ", ("// ", "; ", "-- ", "% ", "REM ")),
    (r"(\w)\.(\w)", (r"\1:\2", r"\1 .\2", r"\1/\2", r"\1->\2")),
    (r" to ", (" -> ", " => ", " into ", " till ")),
    (r",", (";", " and", " /", ",,")),
    (r"\{", ("(", "[", "{{", "")),
    (r"(\d{4})-(\d\d)-(\d\d)", (r"\3.\2.\1", r"\2/\3/\1", r"\1/\2/\3")),
    (r"(\d)(?=[%a-z])", ("\uff10", "\u0663")),
)


def from_elsewhere(text: str, chance: Random) -> str:
    """A text with one thing written as in other programs, countries or languages."""
    for _ in range(20):
        pattern, forms = chance.choice(ELSEWHERE)
        found = list(re.finditer(pattern, text))
        if found:
            one = chance.choice(found)
            return text[: one.start()] + one.expand(chance.choice(forms)) + text[one.end() :]
    return text


def _like(text: str, chance: Random) -> str:
    """A number or a name with another of its kind in its place, which the grammar allows."""
    kind = re.compile(chance.choice([r"\d+(?:\.\d+)?", r"[A-Za-z][\w-]*", r'"[^"\n]*"']))
    found = list(kind.finditer(text))
    if not found:
        return text
    one = chance.choice(found)
    numbers = ["0", "1", "2", "0.001", "17", "150", "2000", "999999999", "-1", *EXTREMES]
    other = chance.choice(numbers) if one[0][0].isdigit() and chance.random() < 0.7 else chance.choice(found)[0]
    return text[: one.start()] + other + text[one.end() :]


def _character(text: str, chance: Random) -> str:
    at = chance.randrange(len(text) + 1)
    return text[:at] + chance.choice([*'{}";#,\t\\.\n', *ODD, ""]) + text[at + chance.randint(0, 1) :]


def _cut(text: str, chance: Random) -> str:
    return text[: chance.randrange(len(text) + 1)]


CHANGES: list[Callable[[str, Random], str]] = [
    _line,
    _line,
    one_token,
    one_token,
    _like,
    _like,
    _like,
    from_elsewhere,
    _character,
    _cut,
]


# ---- programs of the grammar ------------------------------------------------------------------------------------


@cache
def programs() -> st.SearchStrategy[str]:
    """Programs that the grammar allows. `%ignore`d blanks are not generated: every token brings one of its own."""
    lark = Lark(GRAMMAR, parser="lalr", lexer="contextual", start="file", maybe_placeholders=True)
    words = {name: st.sampled_from(pool) for name, pool in _pools().items()}
    for terminal in lark.terminals:
        if isinstance(terminal.pattern, PatternStr):
            words[terminal.name] = st.just(terminal.pattern.value)
        elif terminal.name not in words:  # one that is new: whatever its pattern allows
            words[terminal.name] = st.from_regex(terminal.pattern.to_regexp(), fullmatch=True)
    return from_lark(lark, start="file", explicit={name: pool.map(_apart) for name, pool in words.items()})


def _apart(token: str) -> str:
    return f"{token} "


def _pools() -> dict[str, list[str]]:
    """Words for every terminal that is a pattern; few names, so that they often meet."""
    known = sorted(set(re.findall(r"\b[a-z][a-z0-9]*(?:-[a-z0-9]+)*", INLINED[0])))
    return {
        "NAME": [*NAMES, *known],
        "STRING": ['"Words"', '"a"', '""', '"stock/radio.rig"', '"<b>\\\\N"', '"1.2"'],
        "PERCENT": ["0%", "100%", "-100%", "150%", "-150%", "0.5%", "999999999%", "−30%"],
        "PULSE": ["0us", "1us", "1520us", "4us", "999999999µs"],
        "LENGTH": ["0mm", "1mm", "20mm", "300mm", "2m", "999999999m"],
        "MASS": ["0g", "1kg", "999999999kg"],
        "DURATION": ["0s", "0.5s", "300ms", "999999999s"],
        "TURN": ["0deg", "10deg", "60deg/s", "999999999deg/s"],
        "SHIFT": ["0mm", "-0.3mm", "+0.5mm", "5mm", "-999999999m"],
        "BAUD": ["0baud", "100000baud"],
        "VOLTAGE": ["0V", "5V", "12V", "25.2V", "999999999V"],
        "CURRENT": ["0A", "80mA", "2.5A", "999999999A"],
        "POWER": ["0W", "55W", "999999999W"],
        "ENERGY": ["0Wh", "98Wh", "999999999Wh"],
        "CHARGE": ["0Ah", "6.6Ah", "2000mAh"],
        "HOURS": ["0h", "10h", "90min", "999999999h"],
        "TEMPERATURE": ["-5C", "0C", "30C", "999999999C"],
        "WIRE": ["AWG14", "AWG0", "AWG99", "1.5mm2", "1.4mm2", "0mm²"],
        "CUT": ["plus", "ground"],
        "SWAP": ["exact", "same-type", "any"],
        "SEAL": ["sealed", "unsealed"],
        "_COLOUR": ["colour"],
        "DATE": ["2026-05-14", "2026-02-30", "0000-00-00"],
        "INT": ["0", "1", "2", "3", "8", "12", "16", "172", "1811", "2047", "-1", "999999999"],
        "LEVER": ["stick", "slider", "dial"],
        "DIRECTION": ["in", "out"],
        "ORDER": ["before", "after"],
        "CABLE_PLACE": ["moving", "airborne", "wet"],
        "_CHANNELS": ["channels", "channel"],
        "_CENTRE": ["centre"],
        "_SEP": ["\n", "\n", ";", "# words\n"],
        "_COMMA": [",", ",\n"],
        "BLANK": [" "],
        "COMMENT": [" "],  # one would swallow the rest of its line
    }


# ---- fonts ---------------------------------------------------------------------------------------------------------

FONT_RIG = """rig "Fonts" { revision "A"; typeface "wrong.ttf", "wrong.ttf" }
"""


def wrong_font(chance: Random) -> bytes:
    """A font file with some bytes changed, most often in its tables of contents; or cut off, or with a part twice."""
    data = bytearray(FONT.read_bytes())
    for _ in range(chance.choice([1, 1, 4, 40])):
        reach = chance.choice(
            [12 + 16 * 20, 4096, len(data)]
        )  # the head of the file, its first tables, all of it
        at = chance.randrange(min(reach, len(data)))
        match chance.choice(["byte", "byte", "extreme", "cut", "double"]):
            case "byte":
                data[at] = chance.randrange(256)
            case "extreme":
                data[at : at + 4] = chance.choice([b"\0" * 4, b"\xff" * 4, b"\x7f\xff\xff\xff", b"\x80\0\0\0"])
            case "cut" if chance.random() < 0.2:
                del data[at:]
            case "double":
                data[at:at] = data[at : at + chance.choice([1, 4, 64])]
        if not data:
            break
    return bytes(data)


def font_round(folder: Path, chance: Random) -> list[Diagnostic]:
    """Judge a rig whose papers are to be set in a wrong font."""
    (folder / "wrong.ttf").write_bytes(wrong_font(chance))
    return holds(folder / "my.rig", FONT_RIG.encode(), ("cards",))


# ---- the endless run ----------------------------------------------------------------------------------------------

SOURCES = {"bytes": any_bytes, "soup": soup, "sample": faulty_sample}
BATCH = 30  # programs of the grammar between two rounds of the other sources


class Run:
    """Judges inputs in a folder of its own and keeps count."""

    def __init__(self, folder: Path, keep: Path, seed: int) -> None:
        shutil.copytree(ROOT / "samples" / "stock", folder / "stock")
        self.path = folder / "my.rig"
        self.keep = keep
        self.seed = seed
        self.counts: Counter[str] = Counter()
        self.failures: set[str] = set()

    def judge(
        self, source: str, written: bytes, build: tuple[str, ...] = (), mend: bool = False
    ) -> list[Diagnostic]:
        """Judge one input, and its exact remedies (`mend`); a new kind of failure is saved and told."""
        self.counts[source] += 1
        try:
            found = holds(self.path, written, build)
            if mend:
                self.counts["remedies"] += mends(self.path, written, found)
        except Exception as fault:
            last = traceback.extract_tb(fault.__traceback__)[-1]
            kind = f"{type(fault).__name__} in {Path(last.filename).name}:{last.lineno}"
            self.counts["failures"] += 1
            if kind not in self.failures:
                self.failures.add(kind)
                file = self.keep / f"failed-{self.seed}-{len(self.failures)}.rig"
                file.write_bytes(written)
                traceback.print_exception(fault)
                print(
                    f"{kind}\n  input: {written[:300]!r}\n  again: python tests/fuzz.py --file {file}",
                    flush=True,
                )
            return []
        self.counts["that compile"] += all(one.code.severity is not Severity.ERROR for one in found)
        return found

    def round(self, chance: Random) -> None:
        """One input of each source, and a batch of programs now and then."""
        for name, source in SOURCES.items():
            kinds = chance.choice([("cards", "data"), ("labels", "kit"), ("wiring",), KINDS])
            self.judge(name, source(chance), kinds if chance.random() < 0.5 else ())
        text = one_token(chance.choice(INLINED), chance)
        count = sum(one.code.severity is Severity.ERROR for one in self.judge("one token", text.encode()))
        self.counts["one token, one message at most"] += count <= 1
        self.judge("elsewhere", from_elsewhere(min(INLINED, key=len), chance).encode(), mend=True)
        if chance.random() < 1 / 4:
            (self.path.parent / "wrong.ttf").write_bytes(wrong_font(chance))
            self.judge("font", FONT_RIG.encode(), ("cards",))
        if chance.random() < 1 / BATCH:
            self.programs(chance.randrange(2**32))

    def programs(self, seed: int) -> None:
        """A batch of programs that the grammar allows."""
        checks: list[Any] = list(HealthCheck)
        bounded = settings(
            max_examples=BATCH,
            database=None,
            deadline=None,
            phases=[Phase.generate],
            suppress_health_check=checks,
        )

        @seeded(seed)
        @bounded
        @given(programs())
        def batch(text: str) -> None:
            self.judge("grammar", text.encode())

        batch()


def main() -> int:
    """Run until the time is up; exit 1 if any input failed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=0, help="begins the chain of inputs")
    parser.add_argument("--minutes", type=float, default=1.0, help="how long")
    parser.add_argument("--file", type=Path, help="judge this one file, with all its papers, and stop")
    parser.add_argument("--keep", type=Path, default=Path(), help="folder for inputs that fail (default: here)")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        run = Run(Path(name), options.keep, options.seed)
        if options.file:
            found = run.judge("file", options.file.read_bytes(), KINDS)
            print("\n".join(as_text(diagnostic) for diagnostic in found))
            return int(bool(run.failures))
        chance = Random(options.seed)
        end = time.monotonic() + options.minutes * 60
        while time.monotonic() < end:
            run.round(chance)
        print(f"seed {options.seed}: " + ", ".join(f"{count} {name}" for name, count in run.counts.items()))
    return int(bool(run.failures))


if __name__ == "__main__":
    sys.exit(main())
