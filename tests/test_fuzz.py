"""Whatever stands in a file, the compiler answers with diagnostics and never with an exception."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from rigcard.diagnostics import Severity, Sink
from rigcard.pipeline import check_rig
from rigcard.reporting.as_json import as_json
from rigcard.reporting.as_sarif import as_sarif
from rigcard.reporting.as_text import as_text
from rigcard.source import Span

ROOT = Path(__file__).parents[1]
SAMPLES = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "samples").glob("*.rig"))]
STOCK = sorted((ROOT / "samples" / "stock").glob("*.rig"))
BOUNDED = settings(
    max_examples=100,
    deadline=None,
    phases=[
        Phase.explicit,
        Phase.generate,
    ],  # a failing text is short enough to read; making it shorter takes minutes
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the stock of the samples."""
    place = tmp_path_factory.mktemp("fuzz")
    shutil.copytree(ROOT / "samples" / "stock", place / "stock")
    return place


def inside(span: Span) -> bool:
    """Whether a span lies in its file and its place counts from 1 and lies in the text."""
    lines = span.source.text.split("\n")
    line, column = span.source.position(span.start)
    return (
        0 <= span.start <= span.end <= len(span.source.text)
        and 1 <= line <= len(lines)
        and 1 <= column <= len(lines[line - 1]) + 1
    )


def holds(path: Path, written: bytes) -> None:
    """The file is judged: places lie inside, every cause has a remedy, a result comes if and only if no error."""
    path.write_bytes(written)
    sink = Sink()
    solved = check_rig(path, sink).solved
    found = sink.sorted()
    for diagnostic in found:
        assert diagnostic.message
        assert diagnostic.hint, diagnostic.message
        assert diagnostic.span or diagnostic.where, diagnostic.message
        spans = [diagnostic.span] if diagnostic.span else []
        for span in [*spans, *(related.span for related in diagnostic.related)]:
            assert inside(span), (diagnostic.code.id, span.start, span.end, len(span.source.text))
        text = as_text(diagnostic)
        assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", text), text
    as_json(found)
    as_sarif(found, 1, True)
    failed = any(diagnostic.code.severity is Severity.ERROR for diagnostic in found)
    assert (solved is None) == failed, [diagnostic.message for diagnostic in found]


# ---- bytes and characters --------------------------------------------------------------------------------------


@BOUNDED
@given(st.one_of(st.binary(max_size=400), st.text(max_size=200).map(lambda text: text.encode("utf-8"))))
@example(b"")
@example(b"\xef\xbb\xbf")
@example(b"\n")
@example(b'"')
@example(b"{" * 2000)
@example(b"}" * 2000)
@example(b'note "x"' + b";" * 2000)
@example(b"\r")
@example(b'use "my.rig"')
@example(b'use "."')
@example(b'use ""')
@example(b'use "stock"')
@example(b'use "' + b"a" * 5000 + b'"')
@example(b'use "/dev/null"')
def test_any_bytes(folder: Path, written: bytes) -> None:
    """Bytes and characters of every kind, most of which are no rig at all."""
    holds(folder / "my.rig", written)


# ---- token soup ------------------------------------------------------------------------------------------------

GRAMMAR = (ROOT / "grammar" / "rig.lark").read_text(encoding="utf-8")
KEYWORDS = sorted(
    set(re.findall(r'"([a-z]+)"', GRAMMAR)) | {"stick", "slider", "dial", "in", "out", "before", "after"}
)
NUMBERS = [
    "0%",
    "-35%",
    "−70.5%",
    "150%",
    "1520us",
    "3.2mm",
    "1m",
    "5kg",
    "2s",
    "100ms",
    "2026-02-30",
    "0",
    "-1",
    "12",
]
NUMBERS += ["9" * 400 + "%", "9" * 5000, "0.0000001mm", "1520", "5parsec", "1..2"]
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
PUNCTUATION = [
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
SOUP = st.lists(st.sampled_from(KEYWORDS + NUMBERS + NAMES + PUNCTUATION), max_size=60)


@BOUNDED
@given(SOUP, st.sampled_from([" ", "", "\n"]))
def test_soup_of_the_languages_own_words(folder: Path, words: list[str], between: str) -> None:
    """Keywords, numbers, names and signs of the language in any order."""
    holds(folder / "my.rig", between.join(words).encode("utf-8"))


# ---- samples, slightly wrong -------------------------------------------------------------------------------------

VALUES = ["0", "1", "2", "8", "17", "100", "2000", "0.001"]  # longer ones have a test of their own below
CHANGES = ("delete", "double", "swap", "drop", "insert", "word", "number", "cut")


def changed(text: str, change: str, at: int, other: int, what: str) -> str:
    """A text with one small fault in it."""
    lines = text.split("\n")
    line, second, char = at % len(lines), other % len(lines), at % (len(text) + 1)
    words = list(re.finditer(r"[\w-]+|[{}\";]", text))
    word = words[at % len(words)] if words else None
    match change:
        case "delete":
            del lines[line]
        case "double":
            lines.insert(second, lines[line])
        case "swap":
            lines[line], lines[second] = lines[second], lines[line]
        case "drop":
            return text[:char] + text[char + 1 :]
        case "insert":
            return text[:char] + what + text[char:]
        case "word" if word:
            return text[: word.start()] + words[other % len(words)][0] + text[word.end() :]
        case "number":
            numbers = list(re.finditer(r"\d+", text))
            if numbers:
                number = numbers[at % len(numbers)]
                return text[: number.start()] + VALUES[other % len(VALUES)] + text[number.end() :]
        case "cut":
            return text[:char]
    return "\n".join(lines)


FAULT = st.tuples(
    st.sampled_from(CHANGES),
    st.integers(0, 20_000),
    st.integers(0, 20_000),
    st.sampled_from(["{", "}", '"', ";", "\n", "#", ",", "\t", "\\", "−", "²", "\x1b", "auto ", "0", "."]),
)


@BOUNDED
@given(st.sampled_from(SAMPLES), st.lists(FAULT, min_size=1, max_size=3))
def test_samples_with_small_faults(folder: Path, sample: str, faults: list[tuple[str, int, int, str]]) -> None:
    """A line deleted, doubled or moved, a character dropped, a brace or quote too many, a word or number changed."""
    for fault in faults:
        sample = changed(sample, *fault)
    holds(folder / "my.rig", sample.encode("utf-8"))


@BOUNDED
@given(st.sampled_from(STOCK), st.lists(FAULT, min_size=1, max_size=2))
def test_stock_with_small_faults(
    tmp_path_factory: pytest.TempPathFactory, stock: Path, faults: list[tuple[str, int, int, str]]
) -> None:
    """The same in a file that a sample uses, so that places lie in two files."""
    place = tmp_path_factory.getbasetemp() / "stock-fuzz"
    shutil.copytree(ROOT / "samples" / "stock", place / "stock", dirs_exist_ok=True)
    text = stock.read_text(encoding="utf-8")
    for fault in faults:
        text = changed(text, *fault)
    (place / "stock" / stock.name).write_text(text, encoding="utf-8")
    holds(place / "my.rig", (ROOT / "samples" / "gorge.rig").read_bytes())


LONG = (
    "9" * 5000
)  # Python turns at most 4300 digits into an integer: docs.python.org, sys.set_int_max_str_digits


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("camera.rig", "-20%..20%", f"-20%..{LONG}%"),
        ("radio.rig", "port p1..p8 ", f"port p{LONG}..p{LONG} "),
        ("radio.rig", "4us per 1%", "0us per 1%"),
        ("camera.rig", "4us per 1%", "0us per 1%"),
        ("radio.rig", "4us per 1%", "4us per 0%"),
        ("radio.rig", "240 steps = 35%", "0 steps = 35%"),
        ("radio.rig", "240 steps = 35%", "240 steps = 0%"),
        ("radio.rig", "step 1%", "step 0%"),
    ],
)
def test_numbers_that_nobody_means(tmp_path: Path, name: str, old: str, new: str) -> None:
    """A number too long to compute with, or a zero that would be divided by, is a fault of the file, not a crash."""
    shutil.copytree(ROOT / "samples" / "stock", tmp_path / "stock")
    stock = tmp_path / "stock" / name
    text = stock.read_text(encoding="utf-8")
    wrong = re.sub(re.escape(old).replace(r"\ ", r"\s+"), new, text)
    assert wrong != text, f"{name} has no {old} any more: choose another place"
    stock.write_text(wrong, encoding="utf-8")
    holds(tmp_path / "my.rig", (ROOT / "samples" / "gorge.rig").read_bytes())


SLOW = """
import sys
from pathlib import Path
from rigcard.diagnostics import Sink
from rigcard.pipeline import check_rig
sink = Sink()
check_rig(Path(sys.argv[1]), sink)
print(len(sink))
"""


def test_a_huge_range_ends(tmp_path: Path) -> None:
    """A range of a milliard of sub-trim steps is refused or searched cleverly: a process ends within 20 seconds.

    Not a measure of speed: the bound is some 100 times what a sample takes, and without a limit it is never met.
    """
    shutil.copytree(ROOT / "samples" / "stock", tmp_path / "stock")
    stock = tmp_path / "stock" / "radio.rig"
    text = stock.read_text(encoding="utf-8")
    wrong = re.sub(r"subtrim(\s+)-240\.\.240 steps", r"subtrim\1-240..1000000000 steps", text)
    assert wrong != text
    stock.write_text(wrong, encoding="utf-8")
    shutil.copy(ROOT / "samples" / "gorge.rig", tmp_path / "my.rig")
    try:
        run = subprocess.run(
            [sys.executable, "-c", SLOW, str(tmp_path / "my.rig")],
            capture_output=True,
            text=True,
            timeout=20,
            check=False,
        )
    except subprocess.TimeoutExpired:
        pytest.fail("the search does not end")
    assert run.returncode == 0, run.stderr


@pytest.mark.parametrize("text", ["", "# words", 'rig "A" {', "unit", 'note "x"\nunit hs is', '"'])
def test_a_fault_at_the_end_lies_inside(tmp_path: Path, text: str) -> None:
    """What is missing at the end of a file is reported at its end, not behind it."""
    holds(tmp_path / "my.rig", text.encode("utf-8"))
