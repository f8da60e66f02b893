"""Which files a rig may use, and how many; what is too large is refused with its place, and soon."""

from __future__ import annotations

import json
import os
import resource
from pathlib import Path

import pytest

from command import CLEAN, FAULTS, UNUSABLE, rigcard
from rigcard.cli import MOST_SHOWN
from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.pipeline import check_rig
from rigcard.source import Source
from rigcard.starter import STARTER
from rigcard.syntax import tree
from rigcard.syntax.load import DEEPEST, MOST_FILES
from rigcard.syntax.parser import parse, readable
from rigcard.syntax.recover import MOST_FAULTS

MODEL = 'model box-1 "Box" { role other }\n'
RIG = 'rig "Test" { revision "A" }\n'


def checked(path: Path, *stock: Path) -> list[Diagnostic]:
    """What a check says."""
    diagnostics = Diagnostics()
    check_rig(path, diagnostics, stock=[str(folder) for folder in stock])
    return diagnostics.sorted()


def codes(path: Path, *stock: Path) -> list[str]:
    """The codes of what a check says."""
    return [found.code.id for found in checked(path, *stock)]


# ---- where a used file may lie -----------------------------------------------------------------------------------


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """`job/my.rig`, `job/sub/b.rig`, `house/a.rig` (which uses `more/c.rig` below it) and `other/d.rig`."""
    for name, text in {
        "job/my.rig": RIG,
        "job/sub/b.rig": MODEL,
        "house/a.rig": f'{MODEL}use "more/c.rig"\n',
        "house/more/c.rig": MODEL.replace("box-1", "box-2"),
        "other/d.rig": MODEL,
    }.items():
        (tmp_path / name).parent.mkdir(exist_ok=True, parents=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("used", "said"),
    [
        ("sub/b.rig", []),
        ("./sub/../sub/b.rig", []),
        ("../job/sub/b.rig", []),
        ("../house/a.rig", ["RC114"]),
        ("sub/../../house/a.rig", ["RC114"]),
        ("{}/house/a.rig", ["RC114"]),
        ("{}/job/sub/b.rig", []),
        ("out.rig", ["RC114"]),
        ("way/a.rig", ["RC114"]),
        ("in.rig", []),
        ("loop.rig", ["RC109"]),
        ("pipe", ["RC109"]),
        (".", ["RC109"]),
        ("", ["RC109"]),
        ("..", ["RC114"]),
        ("../nowhere.rig", ["RC114"]),
        ("nowhere.rig", ["RC109"]),
        ("a.rig", ["RC109"]),
    ],
)
def test_a_used_file_lies_in_the_folder_of_the_rig(used: str, said: list[str], place: Path) -> None:
    """Below the folder, with every link followed: else RC114 at the words, whether the file is there or not."""
    job = place / "job"
    (job / "out.rig").symlink_to(place / "house" / "a.rig")
    (job / "in.rig").symlink_to(Path("sub") / "b.rig")
    (job / "way").symlink_to(place / "house")
    (job / "loop.rig").symlink_to("loop.rig")
    os.mkfifo(job / "pipe")
    (job / "my.rig").write_text(f'{RIG}use "{used.format(place)}"\n', encoding="utf-8")
    found = checked(job / "my.rig")

    assert [one.code.id for one in found] == said
    assert all(one.span and one.span.source.position(one.span.start) == (2, 5) for one in found)
    assert all("--stock DIR" in one.hint for one in found if one.code.id == "RC114")
    assert not any("/../" in one.message for one in found)


@pytest.mark.parametrize(
    ("used", "stock", "said"),
    [
        ("a.rig", ["house"], []),  # looked for in the stock folder, and uses more/c.rig of it
        ("../house/a.rig", ["house"], []),
        ("more/c.rig", ["other", "house"], []),
        ("d.rig", ["house", "other"], []),
        ("sub/b.rig", ["house"], []),
        ("d.rig", ["house"], ["RC109"]),
        ("../other/d.rig", ["house"], ["RC114"]),
        ("a.rig", ["gone"], ["RC109"]),
        ("a.rig", ["house/a.rig"], ["RC109"]),
    ],
)
def test_a_stock_folder_is_named(used: str, stock: list[str], said: list[str], place: Path) -> None:
    """`--stock` allows a folder, and is where a file is looked for that does not lie beside the one that uses it."""
    (place / "job" / "my.rig").write_text(f'{RIG}use "{used}"\n', encoding="utf-8")
    assert codes(place / "job" / "my.rig", *(place / folder for folder in stock)) == said


@pytest.mark.parametrize("used", ["../job/sub/b.rig", "../other/d.rig", "/etc/hosts"])
def test_a_stock_file_stays_in_its_folder(used: str, place: Path) -> None:
    """A file of a stock folder reaches neither the folder of the rig nor another stock folder."""
    (place / "house" / "a.rig").write_text(f'use "{used}"\n', encoding="utf-8")
    (place / "job" / "my.rig").write_text(f'{RIG}use "a.rig"\n', encoding="utf-8")
    found = checked(place / "job" / "my.rig", place / "house", place / "other")

    assert [one.code.id for one in found] == ["RC114"]
    assert found[0].span is not None
    assert found[0].span.source.name == str(place / "house" / "a.rig")


def test_stock_is_an_option_of_three_commands(place: Path) -> None:
    """`build`, `check` and `show` take it, and the message names files as they are seen from the working folder."""
    (place / "job" / "my.rig").write_text(f'{STARTER}use "a.rig"\n', encoding="utf-8")
    for words in (["check", "my.rig"], ["build", "my.rig", "--only", "data"], ["show", "my.rig", "pan"]):
        run = rigcard(*words, "--stock", "../house", at=place / "job")
        assert (run.code, run.err) == (CLEAN, ""), words
    (place / "house" / "more" / "c.rig").write_text("nonsense\n", encoding="utf-8")
    run = rigcard("check", "my.rig", "--stock", "../house", at=place / "job")
    assert run.code == FAULTS
    assert run.err.startswith("../house/more/c.rig:1:1: error[RC102]")


# ---- how many ----------------------------------------------------------------------------------------------------


def test_a_chain_of_files_ends(tmp_path: Path) -> None:
    """A chain as long as may be is read; one file more is refused, once, where it is used."""
    for number in range(DEEPEST + 5):
        (tmp_path / f"{number}.rig").write_text(f'use "{number + 1}.rig"\n', encoding="utf-8")
    (tmp_path / f"{DEEPEST + 5}.rig").write_text(RIG, encoding="utf-8")
    found = checked(tmp_path / "0.rig")

    assert [one.code.id for one in found] == ["RC115"]
    assert found[0].span is not None
    assert found[0].span.source.name == str(tmp_path / f"{DEEPEST}.rig")
    assert codes(tmp_path / "5.rig") == []


def test_a_rig_of_very_many_files(tmp_path: Path) -> None:
    """As many as may be are read; one more is refused, once."""
    for number in range(MOST_FILES + 20):
        (tmp_path / f"{number}.rig").write_text("# nothing\n", encoding="utf-8")
    for more in (0, 20):
        uses = "".join(f'use "{number}.rig"\n' for number in range(MOST_FILES - 1 + more))
        (tmp_path / "my.rig").write_text(RIG + uses, encoding="utf-8")
        assert codes(tmp_path / "my.rig") == ["RC116"] * bool(more)


# ---- names of folders ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("gorge.rig", "gorge"),
        ("day.2.rig", "day.2"),
        ("my rig.rig", "my rig"),
        ("Größe.rig", "Größe"),
        ("con.rig", "rig-con"),
        ("NUL.rig", "rig-NUL"),
        ("Com1.day.rig", "rig-Com1.day"),
        ("console.rig", "console"),
        ("a. .rig", "a"),
        ("...rig", "rig"),
        ('a<b>c:d"e|f?g*h.rig', "a-b-c-d-e-f-g-h"),
        ("a\\b.rig", "a-b"),
        ("a\x1b\x9bb.rig", "a--b"),
        ("x" * 251 + ".rig", "x" * 251),
    ],
)
def test_a_folder_has_a_name_for_every_system(name: str, folder: str, tmp_path: Path) -> None:
    """Reserved names, signs and endings: learn.microsoft.com, "Naming Files, Paths, and Namespaces"."""
    (tmp_path / name).write_text(STARTER, encoding="utf-8")
    run = rigcard("build", f"./{name}", "--only", "data", at=tmp_path)

    assert (run.code, run.err) == (CLEAN, "")
    assert os.listdir(tmp_path / "out") == [folder]


@pytest.mark.parametrize(
    "names", [("A.rig", "a.rig"), ("caf\u00e9.rig", "cafe\u0301.rig"), ("a.rig", "a..rig")]
)
def test_folders_that_some_disks_do_not_tell_apart(names: tuple[str, str], tmp_path: Path) -> None:
    """Papers of one rig must not replace those of another on a disk that knows no capitals: exit 2, nothing written."""
    for name in names:
        (tmp_path / name).write_text(STARTER, encoding="utf-8")
    run = rigcard("build", *names, at=tmp_path)

    assert run.code == UNUSABLE
    assert "would write to the same folder" in run.err
    assert not (tmp_path / "out").exists()


# ---- what is too large ---------------------------------------------------------------------------------------------

LIMITS = {
    resource.RLIMIT_AS: 1 << 30,
    resource.RLIMIT_CPU: 20,
}  # bytes, seconds of the processor: others may run too
HUGE = {
    "bands": 'model m "M" { role other; port p in servo; input i on p "I" {'
    + ";".join(f"b{number} {number}%..{number + 1}%" for number in range(20_000))
    + "} }",
    "unknown names": "\n".join(f"expect hs{number}.a.b gives rx.c" for number in range(20_000)),
    "unknown ports": 'cable c "C" {'
    + ";".join(f"hs.a{number} to rx.b{number}" for number in range(10_000))
    + "}",
    "signs for an end": " ;" * 300_000 + " x",
    "notes": 'note "x"\n' * 30_000,
    "the same name": 'model m "M" { role other }\n' * 8_000,
    "uses": 'use "a.rig"\n' * 10_000,
    "words": f'note "{"x" * 65_536}"',
    "a name": f'unit u is {"a" * 65_536} "U"',
    "braces": "{" * 10_000,
    "pairs of braces": "{" * 10_000 + "}" * 10_000,
    "cells": 'sheet s "S" { page a4; grid 9999999 x 9999999; cell 1mm x 1mm }',
    "channels of a signal": 'signal s "S" carries 999999999 channels counts 0 to 1 over 0% to 1% field 0 to 1',
}


@pytest.mark.parametrize("kind", HUGE)
def test_what_is_huge_is_judged_soon(kind: str, tmp_path: Path) -> None:
    """No search over all pairs, no flood: it ends, and what is printed can be read.

    Not a measure of speed: the limit is some twenty times what each takes.
    """
    (tmp_path / "a.rig").write_text("# nothing\n", encoding="utf-8")
    (tmp_path / "x.rig").write_text(f"{STARTER}\n{HUGE[kind]}\n", encoding="utf-8")
    run = rigcard("check", "x.rig", at=tmp_path, limits=LIMITS, patience=300)

    assert run.code in (CLEAN, FAULTS)
    assert len(run.said) < 100_000
    assert run.err.count("error[") <= MOST_SHOWN
    assert max(map(len, run.said.splitlines())) < 2_500


def test_a_flood_of_messages(tmp_path: Path) -> None:
    """The first hundred are shown, all are counted, and JSON has all."""
    text = STARTER + "".join(f'unit u{number} is none-{number} "U"\n' for number in range(250))
    (tmp_path / "x.rig").write_text(text, encoding="utf-8")
    run = rigcard("check", "x.rig", at=tmp_path)

    assert run.err.count("error[") == MOST_SHOWN
    assert run.err.endswith("\n250 errors, 100 shown\n")
    assert len(json.loads(rigcard("check", "x.rig", "--message-format", "json", at=tmp_path).out)) == 250


FLOODS = {
    "quotes that swallow a brace": 'note "a {note\n',
    "words over two lines": 'note "a\nb"\n',
    "opening braces forgotten": 'unit u is m "U"\n  memory 1 "A"\n}\n',
    "closing braces forgotten": 'model m "M" {\n  input a "A" {\n    x 1%..2%\n  input b "B" { y 1%..2% }\n}\n',
    "blocks closed too early": 'unit u is m "U" {\n  memory 1 "A"\n}\n  memory 2 "B"\n}\n',
    "words of no statement": "foo 1\n}\n",
}


@pytest.mark.parametrize("kind", FLOODS)
def test_a_flood_of_faults_in_the_syntax(kind: str) -> None:
    """The first fifty of a file are told, whichever they are; what stands after them is still known by name."""
    source = Source("x.rig", FLOODS[kind] * 200 + 'unit last is m "Last"\n')
    diagnostics = Diagnostics()

    assert parse(source, diagnostics) is None
    assert len(diagnostics) == MOST_FAULTS
    (last,) = [item for item in readable(source).statements if isinstance(item, tree.Unit)][-1:]
    assert last.name.text == "last"


def test_a_long_line_is_shown_around_its_fault(tmp_path: Path) -> None:
    """The mark stands under the fault, and of the line there is as much as can be read."""
    (tmp_path / "x.rig").write_text(
        f"{'note ' + chr(34)}{'words ' * 500}{chr(34)} wrong {'# ' * 500}\n", "utf-8"
    )
    shown = rigcard("check", "x.rig", at=tmp_path).err.splitlines()

    assert shown[1].startswith("    1 | …words")
    assert shown[1].endswith("…")
    assert shown[1][shown[2].index("^") :].startswith("wrong")
    assert len(shown[1]) < 250
