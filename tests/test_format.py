"""The layout of rig files: nothing is lost, it is settled after one run, and it looks as the cases say.

A case is `tests/cases/format/NAME.in.rig` with `NAME.out.rig`, its layout. `pytest tests/test_format.py --accept -n 0`
writes the latter; read the difference before you commit it.
"""

from __future__ import annotations

import os
import re
import shutil
import stat
import subprocess
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lark import Lark, UnexpectedInput

from command import CLEAN, FAULTS, UNUSABLE, Run, command, contents, rigcard
from rigcard.formatting import layout
from rigcard.formatting.columns import family
from rigcard.formatting.layout import PartLostError, formatted
from rigcard.formatting.pieces import VALUES, Comment, Statement, read, statements
from rigcard.source import Source
from rigcard.starter import STARTER
from rigcard.syntax import parser
from rigcard.syntax.load import LARGEST

ROOT = Path(__file__).parents[1]
CASES = ROOT / "tests" / "cases"
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


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.sampled_from(sorted(texts())), WAYS)
def test_typed_otherwise(name: str, way: Way) -> None:
    """Random blanks, tabs, blank lines, `;`, comments, CRLF and a byte order mark: all still holds."""
    text = typed(texts()[name], way)
    assert parses(text), text
    holds(text)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
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


# ---- columns and the grammar -------------------------------------------------------------------------------------


@cache
def grammar() -> Lark:
    """The grammar, each rule as written."""
    text = (ROOT / "grammar" / "rig.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr", start=["file", "unreadable"], maybe_placeholders=False)


def first_words(rule: str) -> set[str]:
    """The words that a rule of the grammar can begin with."""
    found = set()
    values = {terminal.name: terminal.pattern.value for terminal in grammar().terminals}
    for made in grammar().rules:
        if made.origin.name == rule:
            first = made.expansion[0]
            found |= {values[first.name]} if first.is_term else first_words(first.name)
    return found


def test_words_in_columns_are_words_of_the_grammar() -> None:
    """Nothing in the tables of columns is misspelt; kinds of values are terminals."""
    from rigcard.formatting.columns import _COLUMNS

    words = {terminal.pattern.value for terminal in grammar().terminals}
    names = {terminal.name for terminal in grammar().terminals}
    assert names >= VALUES
    for kind, columns in _COLUMNS.items():
        assert kind in words | {"band", "leg", "control"} or re.fullmatch(words_of("_CHANNELS"), kind), kind
        for column in columns.split():
            assert column.strip("+~?") in words | VALUES, column


def words_of(terminal: str) -> str:
    """The pattern of a terminal."""
    return next(str(found.pattern.value) for found in grammar().terminals if found.name == terminal)


def test_families() -> None:
    """Controls share columns, bands and legs begin with a name; the rest goes by its first word."""
    text = 'model m "M" { stick a "A" b to c; switch d "D" e, f; input i "I" { g 1%..2% } }\ncable c "C" { d.e to f.g }'

    def families(items: tuple[Statement | Comment, ...]) -> list[str]:
        found = []
        for item in items:
            assert isinstance(item, Statement)
            found += [family(item), *(families(item.block.items) if item.block else [])]
        return found

    assert families(statements(read(parser.load(None), text))) == [
        *("model", "control", "control", "input", "band", "cable", "leg"),
    ]


# ---- the command -------------------------------------------------------------------------------------------------

UGLY = 'rig "R" {revision "A"}\n\tuse "stock.rig" ;use "ä.rig"   # two\n\n\n\n'
NEAT = 'rig "R" { revision "A" }\nuse "stock.rig"\nuse "ä.rig"                             # two\n'
FAULTY = 'rig "R" {\n\tjob Final\n}\n'


def write(folder: Path, **files: str) -> None:
    """Write rig files by their names."""
    for name, text in files.items():
        (folder / f"{name}.rig").write_bytes(text.encode("utf-8"))


def piped(text: bytes, *arguments: str, at: Path, env: dict[str, str] | None = None) -> Run:
    """Run `rigcard format` with bytes on standard input; its standard output as it comes."""
    run = subprocess.run(
        command("format", *arguments), input=text, cwd=at, env=os.environ | (env or {}), capture_output=True,
        timeout=60, check=False,
    )  # fmt: skip
    assert b"Traceback" not in run.stderr
    return Run(run.returncode, run.stdout.decode("utf-8"), run.stderr.decode("utf-8", "replace"))


def test_files_are_laid_out_in_place(tmp_path: Path) -> None:
    """A file is replaced whole, one that is in order is not touched, nothing is left beside them."""
    write(tmp_path, ugly=UGLY, neat=NEAT)
    os.utime(tmp_path / "neat.rig", (1, 1))

    run = rigcard("format", "ugly.rig", "neat.rig", at=tmp_path)

    assert (run.code, run.err) == (CLEAN, "")
    assert run.out == "ugly.rig: laid out\nneat.rig: laid out already\n"
    assert contents(tmp_path) == {"ugly.rig": NEAT.encode(), "neat.rig": NEAT.encode()}
    assert (tmp_path / "neat.rig").stat().st_mtime == 1


def test_crlf_and_mark_alone_are_changes(tmp_path: Path) -> None:
    """A file in order but for its line ends or its byte order mark is not in the one layout."""
    (tmp_path / "a.rig").write_bytes(NEAT.replace("\n", "\r\n").encode())
    (tmp_path / "b.rig").write_bytes(b"\xef\xbb\xbf" + NEAT.encode())

    assert rigcard("format", "--check", "a.rig", "b.rig", at=tmp_path).code == FAULTS
    assert rigcard("format", "a.rig", "b.rig", at=tmp_path).code == CLEAN
    assert set(contents(tmp_path).values()) == {NEAT.encode()}


def test_check_names_files_and_writes_nothing(tmp_path: Path) -> None:
    """Exit 1 and each name where something would change; 0 and silence where nothing would."""
    write(tmp_path, ugly=UGLY, neat=NEAT, other=UGLY)
    before = contents(tmp_path)

    run = rigcard("format", "--check", "ugly.rig", "neat.rig", "other.rig", at=tmp_path)
    clean = rigcard("format", "--check", "neat.rig", at=tmp_path)

    assert (run.code, run.out, run.err) == (FAULTS, "ugly.rig: would change\nother.rig: would change\n", "")
    assert clean == Run(CLEAN, "", "")
    assert contents(tmp_path) == before


@pytest.mark.skipif(shutil.which("git") is None, reason="git applies the difference")
@pytest.mark.parametrize(
    "text", [UGLY, UGLY.rstrip("\n"), UGLY.replace("\n", "\r\n"), f"\ufeff{UGLY}", NEAT[:-1]]
)
def test_diff_can_be_applied(tmp_path: Path, text: str) -> None:
    """What --diff shows is a difference that git (2.39) applies to give what the command would have written."""
    write(tmp_path, my=text)

    run = rigcard("format", "--diff", "my.rig", at=tmp_path)

    assert (run.code, run.err) == (CLEAN, "")
    assert contents(tmp_path) == {"my.rig": text.encode("utf-8")}
    assert rigcard("format", "--diff", "--check", "my.rig", at=tmp_path) == Run(FAULTS, run.out, "")
    (tmp_path / "change").write_bytes(run.out.encode("utf-8"))
    git = ["git", "apply", "-p0", "--whitespace=nowarn", "change"]
    done = subprocess.run(git, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "my.rig").read_bytes() == NEAT.encode("utf-8")


def test_diff_of_what_is_in_order_is_empty(tmp_path: Path) -> None:
    """Nothing to show, and no error."""
    write(tmp_path, neat=NEAT)

    assert rigcard("format", "--diff", "--check", "neat.rig", at=tmp_path) == Run(CLEAN, "", "")


def test_a_file_that_does_not_parse_stays_as_it_was(tmp_path: Path) -> None:
    """Its faults are shown, the others are laid out all the same."""
    write(tmp_path, faulty=FAULTY, ugly=UGLY)

    run = rigcard("format", "faulty.rig", "ugly.rig", at=tmp_path)

    assert run.code == FAULTS
    assert "faulty.rig:2:6: error[RC101]" in run.err
    assert contents(tmp_path) == {"faulty.rig": FAULTY.encode(), "ugly.rig": NEAT.encode()}


def test_only_the_named_file_is_read(tmp_path: Path) -> None:
    """The files that it uses need not be there, nor need it be a whole rig."""
    write(tmp_path, part='use "nowhere.rig"; hazard  water')

    assert rigcard("format", "part.rig", at=tmp_path).code == CLEAN
    assert (tmp_path / "part.rig").read_text() == 'use "nowhere.rig"\nhazard water\n'


@pytest.mark.parametrize(
    ("data", "code"),
    [(None, "RC109"), (b"\xff\xfe", "RC108"), (b"\0", "RC108"), (b"#" * (LARGEST + 1), "RC110")],
)
def test_unreadable_files(tmp_path: Path, data: bytes | None, code: str) -> None:
    """A file that is not there, no text, or too large: exit 2, and it is as it was."""
    if data is not None:
        (tmp_path / "my.rig").write_bytes(data)

    run = rigcard("format", "my.rig", at=tmp_path)

    assert run.code == UNUSABLE
    assert f"error[{code}]" in run.err
    assert contents(tmp_path) == ({} if data is None else {"my.rig": data})
    if data is not None:
        assert f"error[{code}]" in piped(data, "-", at=tmp_path).err


def test_mode_and_link_stay(tmp_path: Path) -> None:
    """The file behind a symbolic link is replaced, the link is still one, the mode is what it was."""
    (tmp_path / "deep").mkdir()
    real = tmp_path / "deep" / "real.rig"
    real.write_text(UGLY, encoding="utf-8")
    real.chmod(0o640)
    (tmp_path / "my.rig").symlink_to("deep/real.rig")

    assert rigcard("format", "my.rig", at=tmp_path).code == CLEAN
    assert os.readlink(tmp_path / "my.rig") == "deep/real.rig"
    assert real.read_text(encoding="utf-8") == NEAT
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    assert [path.name for path in (tmp_path / "deep").iterdir()] == ["real.rig"]


def test_a_file_that_cannot_be_written(tmp_path: Path) -> None:
    """A limit on the size of files stands for a full disk: exit 2, the file is as it was, nothing is left."""
    import resource

    text = UGLY + "# long\n" * 3000
    write(tmp_path, my=text)

    run = rigcard(
        "format",
        "my.rig",
        at=tmp_path,
        limits={resource.RLIMIT_FSIZE: 4096},
        env={"XDG_CACHE_HOME": "/dev/null"},
    )

    assert run.code == UNUSABLE
    assert "error[RC513]" in run.err
    assert contents(tmp_path) == {"my.rig": text.encode("utf-8")}


@pytest.mark.parametrize("env", [{}, {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": ""}])
def test_standard_input(tmp_path: Path, env: dict[str, str]) -> None:
    """`-` reads one and writes the other, in UTF-8 whatever the locale; nothing is written of a faulty text."""
    assert piped(UGLY.encode(), "-", at=tmp_path, env=env) == Run(CLEAN, NEAT, "")
    assert piped(b"", "-", at=tmp_path, env=env) == Run(CLEAN, "", "")
    assert piped(NEAT.encode(), "--check", "-", at=tmp_path, env=env) == Run(CLEAN, "", "")
    assert piped(UGLY.encode(), "--check", "-", at=tmp_path) == Run(
        FAULTS, "standard input: would change\n", ""
    )
    assert piped(UGLY.encode(), "--diff", "-", at=tmp_path).out.startswith("--- standard input\n")
    faulty = piped(FAULTY.encode(), "-", at=tmp_path, env=env)
    assert (faulty.code, faulty.out) == (FAULTS, "")
    assert "standard input:2:6: error[RC101]" in faulty.err
    assert contents(tmp_path) == {}


def test_standard_input_stands_alone(tmp_path: Path) -> None:
    """Beside files, `-` is wrong usage, and nothing is done."""
    write(tmp_path, ugly=UGLY)

    run = piped(UGLY.encode(), "ugly.rig", "-", at=tmp_path)

    assert (run.code, run.out) == (UNUSABLE, "")
    assert contents(tmp_path) == {"ugly.rig": UGLY.encode()}


def test_a_loss_inside_is_told_and_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Should the layout ever lose something, the command says so in one message and leaves the file."""
    from rigcard.cli import main

    write(tmp_path, ugly=UGLY)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(layout, "_with_comments", lambda _: [])

    assert main(["format", str(tmp_path / "ugly.rig")]) == UNUSABLE
    assert (tmp_path / "ugly.rig").read_bytes() == UGLY.encode()


def test_faults_of_the_rig_are_none_of_the_layout(tmp_path: Path) -> None:
    """A file that parses and does not check is laid out; its faults are for `rigcard check`."""
    write(tmp_path, my='unit a is nowhere "A"  { }')

    assert rigcard("format", "my.rig", at=tmp_path) == Run(CLEAN, "my.rig: laid out\n", "")
    assert rigcard("check", "my.rig", at=tmp_path).code == FAULTS
