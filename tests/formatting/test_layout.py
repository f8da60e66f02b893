"""The layout of rig files: nothing is lost, it is settled after one run, and it looks as the cases say.

A case is `tests/cases/format/NAME.in.rig` with `NAME.out.rig`, its layout. `pytest tests/formatting/test_layout.py --accept -n 0`
writes the latter; read the difference before you commit it.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lark import UnexpectedInput

from rigcard.formatting import layout
from rigcard.formatting.layout import PartLostError, formatted
from rigcard.source import Source
from rigcard.starter import STARTER
from rigcard.syntax import parser
from samples import CASES, ROOT

INPUTS = sorted((CASES / "format").glob("*.in.rig"))
SAMPLES = sorted((ROOT / "samples").rglob("*.rig"))
PAGES = [ROOT / "grammar" / "reference.md", ROOT / "README.md"]


# ---- texts that parse ------------------------------------------------------------------------------------------


def tree_of(text: str) -> Any:
    """The statements of a text, as nested tuples without places. Raises UnexpectedInput."""
    parsed = parser.load(None).parse(Source("", text.removeprefix("\ufeff").replace("\r\n", "\n")))
    return without_places(parsed)


def without_places(part: Any) -> Any:
    """A part of the tree without its spans."""
    if isinstance(part, tuple):
        fields = getattr(part, "_fields", range(len(part)))
        kept = [without_places(value) for name, value in zip(fields, part, strict=True) if name != "span"]
        return (type(part).__name__, *kept)
    return part


def parses(text: str) -> bool:
    """Whether a text is a rig file, or some of its statements."""
    try:
        tree_of(text)
    except UnexpectedInput:
        return False
    return True


def pages() -> dict[str, str]:
    """The blocks of the pages that are whole files or top-level statements."""
    found = {}
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        for block in re.finditer(r"^```rig\b.*\n((?:.*\n)*?)```$", text, re.M):
            found[f"{page.name}:{text.count(chr(10), 0, block.start()) + 1}"] = block[1]
    return found


@cache
def texts() -> dict[str, str]:
    """All texts of the project that parse, by name."""
    files = {*SAMPLES, *CASES.rglob("*.rig")}
    found = {}
    for path in sorted(files):
        try:
            found[str(path.relative_to(ROOT))] = path.read_bytes().decode("utf-8")
        except UnicodeDecodeError:
            continue
    found |= pages() | {"starter": STARTER}
    return {name: text for name, text in found.items() if parses(text)}


# ---- comments, found without the formatter ---------------------------------------------------------------------


PARTS = re.compile(r'"(?:[^"\\\n]|\\.)*"|#[^\n]*|\n|[^\s"#;]+|;')


def scanned(text: str) -> tuple[str, list[tuple[str, str]]]:
    """All characters but blanks, line ends and `;` outside quotes and comments; and each comment, with how many of
    these stand before it and whether any stands before it on its line."""
    written = ""
    comments: list[tuple[str, str]] = []
    own = True
    for part in PARTS.findall(text.removeprefix("\ufeff")):
        if part == "\n":
            own = True
        elif part.startswith("#"):
            comments.append((f"{len(written)} {'own' if own else 'behind'}", part.rstrip(" \t\r\f")))
        elif part != ";":
            written += part
            own = False
    return written, comments


def holds(text: str) -> str:
    """What must be true of the layout of every text; returns it."""
    result = formatted(text)
    assert formatted(result) == result, "a second run changes it again"
    assert tree_of(result) == tree_of(text)
    assert scanned(result) == scanned(text)
    assert not re.search(r"[ \t\r\f]\n|\n\n\n|\A\n|\n\n\Z|\A\ufeff", result)
    assert result == "" or result.endswith("\n")
    for line in re.sub(r'"[^"\n]*"|#[^\n]*', "", result).split("\n"):
        assert "\t" not in line
        assert line.rstrip() in ("", "}") or ";" not in line or "{" in line, line
    return result


@pytest.mark.parametrize("name", sorted(texts()))
def test_nothing_is_lost(name: str) -> None:
    """Same tree, same comments at the same words, settled after one run; for every text of the project."""
    holds(texts()[name])


def test_there_are_texts_of_every_kind() -> None:
    """The test above looks at samples, cases of each pass and pages."""
    names = sorted(texts())

    assert len(names) > 300
    for start in (
        "samples/stock",
        "tests/cases/check",
        "tests/cases/solve",
        "tests/cases/syntax",
        "reference.md",
    ):
        assert any(name.startswith(start) for name in names), start


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_samples_are_in_the_one_layout(path: Path) -> None:
    """The samples, which people copy from, and the file of `rigcard new`."""
    text = path.read_bytes().decode("utf-8")

    assert formatted(text) == text
    assert formatted(STARTER) == STARTER


@pytest.mark.parametrize("path", INPUTS, ids=lambda path: path.name.removesuffix(".in.rig"))
def test_case(path: Path, accept: bool) -> None:
    """The layout of a case is what stands beside it."""
    result = holds(path.read_bytes().decode("utf-8"))
    beside = path.with_name(path.name.replace(".in.rig", ".out.rig"))
    if accept:
        beside.write_text(result, encoding="utf-8", newline="")

    assert result == beside.read_bytes().decode("utf-8")


def test_every_result_belongs_to_a_case() -> None:
    """No file of the folder is passed over."""
    results = {path.name.replace(".out.rig", ".in.rig") for path in (CASES / "format").glob("*.out.rig")}

    assert {path.name for path in INPUTS} == results
    assert len(list((CASES / "format").iterdir())) == 2 * len(INPUTS) > 10


# ---- the same texts, typed by somebody else --------------------------------------------------------------------


class Way(NamedTuple):
    """How a text is typed: what stands for a blank, a line end, between `;`, before and behind lines."""

    blanks: tuple[str, ...]
    ends: tuple[str, ...]
    crlf: bool
    mark: bool


BLANKS = st.lists(st.sampled_from([" ", "  ", "\t", " \t ", "      ", "\f", " \r "]), min_size=1, max_size=7)
ENDS = st.lists(
    st.sampled_from(
        [
            "\n", "\n", "\n\n", "\n\n\n\n", " \n", "\t\n  ", ";\n", " ; ;\n", "; ", ";", "  # behind\n", "#behind\t\n",
            "\n  # own\n", "\n# own\n\n", "\n\n#own \"quote { } ;\n# two\n", "; # behind\n\n\n", " # é − \u00a0\n\t",
        ]
    ),
    min_size=1,
    max_size=9,
)  # fmt: skip
WAYS = st.builds(Way, BLANKS.map(tuple), ENDS.map(tuple), st.booleans(), st.booleans())


def typed(text: str, way: Way) -> str:
    """The text with other blanks, line ends and comments; what it says stays as it is."""
    result = last = ""
    blank = end = 0
    for part in re.findall(r'"(?:[^"\\\n]|\\.)*"|#[^\n]*|[ \t\r\f]+|\n|[^\s"#]+', text.replace("\r\n", "\n")):
        if part.isspace() and "\n" not in part:
            result += way.blanks[blank % len(way.blanks)]
            blank += 1
        elif part == "\n":
            here = way.ends[end % len(way.ends)]
            end += 1
            line = result.rsplit("\n", 1)[-1]
            commented = "#" in re.sub(r'"(?:[^"\\]|\\.)*"', "", line)
            if commented:  # what follows at once would be part of the comment
                here = "\n" + here.partition("\n")[2]
            elif ";" in here and last.endswith(","):  # a list that goes on
                here = "\n"
            result += here
        else:
            result += part
            last = last if part.startswith("#") else part
    result = result.replace("\n", "\r\n") if way.crlf else result
    return ("\ufeff" if way.mark else "") + result.removeprefix("\ufeff")


@pytest.mark.slow
@settings(max_examples=200, suppress_health_check=list(HealthCheck))
@given(st.sampled_from(sorted(texts())), WAYS)
def test_typed_otherwise(name: str, way: Way) -> None:
    """Random blanks, tabs, blank lines, `;`, comments, CRLF and a byte order mark: all still holds."""
    text = typed(texts()[name], way)
    assert parses(text), text
    holds(text)


@settings(max_examples=60, suppress_health_check=list(HealthCheck))
@given(st.sampled_from(sorted(texts())), BLANKS)
def test_blanks_do_not_count(name: str, blanks: list[str]) -> None:
    """Two files that differ in blanks inside lines alone have one layout."""
    text = texts()[name]

    assert formatted(typed(text, Way(tuple(blanks), ("\n",), True, True))) == formatted(text)


def test_typing_otherwise_changes_something() -> None:
    """The texts of the property above differ from their originals in the ways they are meant to."""
    text = typed('use "a"\nuse "b"\n', Way(("\t",), ("; ", "  # behind\n"), False, True))

    assert text == '\ufeffuse\t"a"; use\t"b"  # behind\n'


# ---- the check inside --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("pan", "tilt"), ("0%", "00%"), ("  # c", ""), ("  # c", "\n# c"), ("# c", "# C"), (" failsafe 0%", ""),
        ("  channel", '  note "x"\n  channel'), ("  # c\n  channel 2", "  # c\n#"), ("}", ""), ('"A"\n', '"A" '),
    ],
)  # fmt: skip
def test_a_layout_that_loses_something_is_refused(monkeypatch: pytest.MonkeyPatch, old: str, new: str) -> None:
    """A word, a comment or a line end that is lost, changed or moved is found before anything is written."""
    text = (
        'unit hs is h "H" {\n  memory 1 "A"\n  channel 1 pan from a failsafe 0%  # c\n  channel 2 b from c\n}\n'
    )
    lines = text.replace(old, new, 1).removesuffix("\n").split("\n")
    assert lines != text.removesuffix("\n").split("\n")
    monkeypatch.setattr(layout, "_with_comments", lambda _: lines)

    with pytest.raises(PartLostError):
        formatted(text)


def test_the_check_passes_a_layout_that_differs_in_blanks(monkeypatch: pytest.MonkeyPatch) -> None:
    """The check above refuses what is lost, not what looks different."""
    text = 'use "a"\nuse "b"  # c\n'
    monkeypatch.setattr(layout, "_with_comments", lambda _: ['use   "a";', "", 'use "b" # c'])

    assert formatted(text) == 'use   "a";\n\nuse "b" # c\n'


def test_what_does_not_parse_has_no_layout() -> None:
    """Such a text is refused and not guessed at."""
    for text in ('use "a', "unit x {", "}", "unit x is y", '"'):
        with pytest.raises(UnexpectedInput):
            formatted(text)


def test_a_long_file_is_quick_enough() -> None:
    """Columns over thousands of lines, many blocks too long: work grows with the file, not with its square."""
    many = [f'unit a{number} is b "{"x" * (number % 60)}" {{ note "{"a" * 80}" }}\n' for number in range(1500)]

    assert formatted("".join(many)).count("\n") > 1500
