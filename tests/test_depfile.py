"""`build --depfile`: make and ninja, the real ones, read from it what was read for which papers."""

from __future__ import annotations

import os
import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

import font_source_sans_pro
import ninja
import pytest

from command import CLEAN, FAULTS, UNUSABLE, contents, revised, rigcard
from rigcard import writer
from rigcard.depfile import rule

ROOT = Path(__file__).parents[1]
NINJA = str(Path(ninja.BIN_DIR) / "ninja")
MAKE = shutil.which("make")  # read by it too where it is there; ninja always is
FLEET = re.search(r"^```ninja\n(.*?)^```$", (ROOT / "README.md").read_text(encoding="utf-8"), re.M | re.S)


def run(*command: str, at: Path, env: dict[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """Run another program in a folder."""
    return subprocess.run(
        command,
        cwd=at,
        env=os.environ | {"LC_ALL": "C"} | (env or {}),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


# ---- one rule ------------------------------------------------------------------------------------------------

CHANCE = random.Random(5)
SIGNS = "ab7+,/_.-~(){}@!&'\" #$:\\é"
AWKWARD = [
    "gorge.rig",
    "a b.rig",
    " a",
    "a  b",
    "a#b",
    "#a",
    "a$b",
    "$x",
    "$$",
    "a:b.rig",
    "a\\b",
    "a\\ b",
    "a\\\\ b",
    "rigs (old)/a.rig",
    "größe.rig",
    'a&b\'s "c"',
    "./a.rig",
    "../a.rig",
]


def sayable(name: str) -> bool:
    try:
        rule((), (name,))
    except ValueError:
        return False
    return True


def drawn() -> list[str]:
    """Names of signs in any order; those that only spell a path in a roundabout way are left out."""
    names = ("".join(CHANCE.choices(SIGNS, k=CHANCE.randint(1, 8))) for _ in range(400))
    return [
        name
        for name in names
        if sayable(name) and name == os.path.normpath(name) and name[0] != "/" and not name.endswith("..")
    ]


def read_by_ninja(folder: Path, rules: list[str]) -> list[list[str]]:
    """The prerequisites that ninja takes from each rule."""
    lines = ["rule copy", "  command = cp $in $out.d && touch $out", "  depfile = $out.d", "  deps = gcc"]
    for number, text in enumerate(rules):
        (folder / f"dep-{number}").write_text(text, encoding="utf-8")
        lines.append(f"build out-{number}: copy dep-{number}")
    (folder / "build.ninja").write_text("\n".join(lines) + "\n", encoding="utf-8")
    built = run(NINJA, at=folder)
    if built.returncode:
        return [[built.stdout]]
    found = []
    for number in range(len(rules)):
        said = run(NINJA, "-t", "deps", f"out-{number}", at=folder).stdout
        found.append([line[4:] for line in said.splitlines() if line.startswith("    ")])
    return found


def read_by_make(folder: Path, text: str, target: str) -> str:
    """The target and the first prerequisite that make takes from a rule: it says which one it cannot make."""
    (folder / "dep").write_text(text, encoding="utf-8")
    said = run(str(MAKE), "-r", "-f", "dep", target, at=folder).stderr
    return said.strip()


@pytest.mark.slow
def test_names_are_read_as_they_are(tmp_path: Path) -> None:
    """Blanks, `#`, `$`, `:` and backslashes: ninja and make take each name for what it is, one of several or alone."""
    names = [*AWKWARD, *drawn()]
    assert len(names) > 60
    assert all(any(sign in name for name in names[len(AWKWARD) :]) for sign in " #$:\\")
    texts = [rule((f"out/{number}/{name}.pdf",), (name, "last")) for number, name in enumerate(names)]

    assert read_by_ninja(tmp_path, texts) == [[os.path.normpath(name), "last"] for name in names]
    for number, name in enumerate(names if MAKE else []):
        target = f"out/{number}/{name}.pdf"
        said = read_by_make(tmp_path, texts[number], target)
        short = re.sub(r"^(\./)+", "", name)
        assert said == f"make: *** No rule to make target '{short}', needed by '{target}'.  Stop."


REFUSED = [f"a{sign}b" for sign in "\n\t%=;|*?<>^`"] + [
    "a[c]b",
    "a\\#b",
    "a\\:b",
    "a\\$b",
    "a\\",
    "a:",
    "a ",
    "~root",
    "a(b)",
]


@pytest.mark.parametrize("name", REFUSED)
def test_names_that_the_two_read_differently_are_refused(tmp_path: Path, name: str) -> None:
    """ValueError names the first of them; and written like any other name, ninja or make does misread each."""
    with pytest.raises(ValueError, match=f"^{re.escape(name)}$"):
        rule(("x",), ("fine", name, "a;b"))
    written = name.replace("$", "$$").replace("#", "\\#").replace(":", "\\:").replace(" ", "\\ ")
    plain = f"out/{written}: last {written}\n"
    by_ninja = read_by_ninja(tmp_path, [plain]) == [["last", name]]
    for present in ("last", "acb"):  # the other prerequisite, and what a pattern would match
        (tmp_path / present).touch()
    missed = read_by_make(tmp_path, plain, f"out/{name}") if MAKE else ""
    (tmp_path / name).touch()
    found = read_by_make(tmp_path, plain, f"out/{name}") if MAKE else "No rule"

    assert not (by_ninja and f"target '{name}', needed by 'out/{name}'" in missed and "No rule" not in found)


# ---- a fleet of rigs -----------------------------------------------------------------------------------------

TWO = """\
use "stock/radio.rig"
use "stock/heads.rig"
unit hs   is handset-12 "Handset"  { memory 1 "SMALL A"; channel 1 pan from right-across failsafe 0% }
unit rx   is receiver-8 "Receiver" { bound to hs }
unit head is head-2     "Head"     { input pan from pan; unused tilt, lock }
cable W1 "Receiver to head" { rx.bus to head.remote; length 500mm; jacket 3mm }
"""


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """A folder with two rigs that share stock files, and the build.ninja of README for them."""
    assert FLEET
    shutil.copytree(ROOT / "samples" / "stock", tmp_path / "stock")
    for name in ("gorge", "mast"):
        (tmp_path / f"{name}.rig").write_text(f'rig "{name}" {{ revision "A" }}\n{TWO}', encoding="utf-8")
    (tmp_path / "build.ninja").write_text(FLEET[1], encoding="utf-8")
    return tmp_path


def built(folder: Path, tool: str = NINJA) -> tuple[int, set[str]]:
    """Run ninja, or make: its exit code and the folders whose rig.json is new."""
    (folder / "bin").mkdir(exist_ok=True)
    program = folder / "bin" / "rigcard"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m rigcard "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    before = stamps(folder)
    done = run(tool, at=folder, env={"PATH": f"{program.parent}:{os.environ['PATH']}"})
    after = stamps(folder)
    return done.returncode, {name for name, stamp in after.items() if before.get(name) != stamp}


def stamps(folder: Path) -> dict[str, int]:
    """When each rig's rig.json was written, in ns."""
    return {path.parent.name: path.stat().st_mtime_ns for path in folder.glob("out/*/rig.json")}


@pytest.mark.slow
def test_ninja_builds_what_a_change_asks_for(fleet: Path) -> None:
    """Both at first, then nothing; both after a change to a shared stock file, one after a change to its own file."""
    assert built(fleet) == (0, {"gorge", "mast"})
    assert built(fleet) == (0, set())
    (fleet / "stock" / "signals.rig").touch()  # read through stock/radio.rig only
    assert built(fleet) == (0, {"gorge", "mast"})
    (fleet / "stock" / "packs.rig").touch()  # used by neither
    assert built(fleet) == (0, set())
    (fleet / "mast.rig").touch()
    assert built(fleet) == (0, {"mast"})
    assert built(fleet) == (0, set())


@pytest.mark.slow
def test_ninja_keeps_the_papers_of_a_rig_with_an_error(fleet: Path) -> None:
    """The edge of that rig fails, the other is built; put right, it is built, whatever ran between."""
    assert built(fleet)[0] == 0
    before = contents(fleet / "out" / "mast")
    whole = (fleet / "mast.rig").read_text(encoding="utf-8")
    (fleet / "mast.rig").write_text(whole.replace("receiver-8", "receiver-88"), encoding="utf-8")
    (fleet / "gorge.rig").touch()
    code, new = built(fleet)

    assert code != 0
    assert new <= {"gorge"}
    assert contents(fleet / "out" / "mast") == before
    assert built(fleet)[0] != 0
    (fleet / "mast.rig").write_text(whole.replace('"A"', '"B"'), encoding="utf-8")
    assert "mast" in built(fleet)[1]
    assert contents(fleet / "out" / "mast") != before


@pytest.mark.slow
def test_ninja_takes_names_with_a_blank(fleet: Path) -> None:
    """A blank in the name of a rig, and of a stock file."""
    shutil.copy(fleet / "stock" / "heads.rig", fleet / "stock" / "our heads.rig")
    text = (fleet / "mast.rig").read_text(encoding="utf-8").replace("stock/heads", "stock/our heads")
    (fleet / "my mast.rig").write_text(text, encoding="utf-8")
    ninja_file = fleet / "build.ninja"
    ninja_file.write_text(ninja_file.read_text(encoding="utf-8").replace("mast", "my$ mast"), encoding="utf-8")

    assert built(fleet) == (0, {"gorge", "my mast"})
    assert built(fleet) == (0, set())
    (fleet / "stock" / "our heads.rig").touch()
    assert built(fleet) == (0, {"my mast"})
    (fleet / "my mast.rig").touch()
    assert built(fleet) == (0, {"my mast"})


MAKEFILE = """\
all: out/gorge/rig.json out/mast/rig.json
out/%/rig.json: %.rig ; rigcard build --depfile $@.d $<
-include out/gorge/rig.json.d out/mast/rig.json.d
"""


@pytest.mark.slow
def test_make_builds_what_a_change_asks_for(fleet: Path) -> None:
    """The same with make and a pattern rule, where make is there; the two rules at least are written."""
    if MAKE is None:
        rigcard("build", "--depfile", "x.d", "gorge.rig", "mast.rig", at=fleet)
        assert len((fleet / "x.d").read_text(encoding="utf-8").splitlines()) == 2
        return
    (fleet / "Makefile").write_text(MAKEFILE, encoding="utf-8")
    assert built(fleet, MAKE) == (0, {"gorge", "mast"})
    assert built(fleet, MAKE) == (0, set())
    (fleet / "stock" / "signals.rig").touch()
    assert built(fleet, MAKE) == (0, {"gorge", "mast"})
    (fleet / "mast.rig").touch()
    assert built(fleet, MAKE) == (0, {"mast"})


# ---- what is listed, and when --------------------------------------------------------------------------------


def rules_of(path: Path) -> dict[str, list[str]]:
    """Prerequisites by target, of a depfile whose names need no escape."""
    found: dict[str, list[str]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        targets, prerequisites = line.split(": ")
        for target in targets.split(" "):
            assert target not in found
            found[target] = prerequisites.split(" ")
    return found


def test_one_rule_a_rig_with_the_papers_that_were_written(fleet: Path) -> None:
    """Targets are the files that are there; prerequisites all files read, as they were given."""
    done = rigcard("build", "-o", "papers", "--depfile", "deps/all.d", "gorge.rig", "./mast.rig", at=fleet)
    found = rules_of(fleet / "deps" / "all.d")
    written = {f"papers/{rig}/{name}" for rig in ("gorge", "mast") for name in contents(fleet / "papers" / rig)}

    assert done.code == CLEAN
    assert found.keys() == written
    given = {"gorge": "gorge.rig", "mast": "./mast.rig"}
    for target, read in found.items():
        assert read == [
            given[target.split("/")[1]],
            "stock/radio.rig",
            "stock/signals.rig",
            "stock/connectors.rig",
            "stock/heads.rig",
        ]
    rigcard("build", "-o", "papers", "--only", "kit", "--depfile", "kit.d", str(fleet / "mast.rig"), at=fleet)
    only = rules_of(fleet / "kit.d")
    assert only.keys() == {"papers/mast/kit.pdf", "papers/mast/kit.csv"}
    assert all(read[0] == str(fleet / "mast.rig") for read in only.values())


def test_an_earlier_rig_json_is_listed_unless_the_build_replaces_it(fleet: Path) -> None:
    """Papers depend on what they were compared with; a paper that depends on itself would be a cycle for ninja."""
    rigcard("build", "mast.rig", at=fleet)
    shutil.copy(fleet / "out" / "mast" / "rig.json", fleet / "old.json")
    for since, listed in (
        ("old.json", True),
        ("out/mast/rig.json", False),
        ("./out/../out/mast/rig.json", False),
    ):
        done = rigcard("build", "--changed-since", since, "--depfile", "x.d", "mast.rig", at=fleet)
        assert done.code == CLEAN
        for read in rules_of(fleet / "x.d").values():
            assert ("old.json" in read) == listed
            assert not any(name.endswith("rig.json") for name in read)


def test_a_typeface_of_the_rig_is_listed(fleet: Path) -> None:
    """Its files lie beside the rig file and are read for every paper; one file for both weights is listed once."""
    fonts = Path(font_source_sans_pro.font_directory)
    (fleet / "rigs").mkdir()
    for name in ("Light", "Black"):
        shutil.copy(fonts / f"SourceSansPro-{name}.ttf", fleet / "rigs" / f"{name}.ttf")
    for names, listed in (
        ('"Light.ttf", "Black.ttf"', ["rigs/Light.ttf", "rigs/Black.ttf"]),
        ('"Light.ttf", "Light.ttf"', ["rigs/Light.ttf"]),
    ):
        text = f'rig "Own" {{ revision "A"; typeface {names} }}\n'
        (fleet / "rigs" / "own.rig").write_text(text, encoding="utf-8")
        done = rigcard("build", "--only", "cards", "--depfile", "x.d", "rigs/own.rig", at=fleet)
        assert done.code == CLEAN
        assert rules_of(fleet / "x.d") == {"out/own/cards.pdf": ["rigs/own.rig", *listed]}


def test_a_failing_build_keeps_the_depfile(fleet: Path) -> None:
    """One rig of two with an error: the other's papers are written, the old depfile is left as it was."""
    rigcard("build", "--depfile", "x.d", "gorge.rig", "mast.rig", at=fleet)
    before = (fleet / "x.d").read_bytes()
    (fleet / "mast.rig").write_text('rig "Broken" { paper a9 }\n', encoding="utf-8")
    for files in (("mast.rig",), ("mast.rig", "gorge.rig"), ("gorge.rig", "missing.rig")):
        assert rigcard("build", "--depfile", "x.d", *files, at=fleet).code in (FAULTS, UNUSABLE)
        assert (fleet / "x.d").read_bytes() == before
    assert rigcard("build", "--depfile", "new.d", "mast.rig", at=fleet).code == FAULTS
    assert not (fleet / "new.d").exists()


def test_without_dot_the_depfile_names_the_papers_that_there_are(fleet: Path) -> None:
    """A missing drawing is a warning: what is written is listed, the drawing is not."""
    done = rigcard("build", "--depfile", "x.d", "mast.rig", at=fleet, env={"PATH": str(fleet / "nothing")})
    found = rules_of(fleet / "x.d")

    assert "RC511" in done.err
    assert found.keys() == {f"out/mast/{name}" for name in contents(fleet / "out" / "mast")}
    assert "out/mast/wiring.svg" not in found


def test_a_name_that_cannot_be_said_is_refused_before_anything_is_written(fleet: Path) -> None:
    """RC513 names it, with one remedy; without a depfile the same rig is built."""
    (fleet / "mast.rig").rename(fleet / "a=b.rig")
    done = rigcard("build", "--depfile", "x.d", "a=b.rig", at=fleet)

    assert done.code == UNUSABLE
    assert done.err.startswith("x.d: error[RC513]: ")
    assert "`out/a=b/" in done.err
    assert not (fleet / "out").exists()
    assert not (fleet / "x.d").exists()
    assert rigcard("build", "a=b.rig", at=fleet).code == CLEAN


@pytest.mark.parametrize("place", ["taken", "taken/x.d/below", "/", "."])
def test_an_unwritable_depfile_exits_2(fleet: Path, place: str) -> None:
    """A folder or a file in its way: RC513 says that the papers are written; nothing is left beside it."""
    (fleet / "taken").mkdir()
    (fleet / "taken" / "x.d").touch()
    before = sorted(os.listdir(fleet))
    done = rigcard("build", "--only", "data", "--depfile", place, "mast.rig", at=fleet)

    assert done.code == UNUSABLE
    assert done.err.count("[RC513]") == 1
    assert done.err.count("  do: ") == 1
    assert "the papers are written" in done.err
    assert (fleet / "out" / "mast" / "rig.json").exists()
    assert sorted(os.listdir(fleet)) == sorted([*before, "out"])
    assert os.listdir(fleet / "taken") == ["x.d"]


def test_a_full_disk_keeps_the_old_depfile(fleet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """OSError while it is written: the old one is whole, and nothing is left beside it."""
    path = fleet / "x.d"
    writer.write_one(path, b"old\n")
    before = contents(fleet)

    def full(number: int) -> None:
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        writer.write_one(path, b"new\n" * 1000)
    assert contents(fleet) == before


def test_the_same_depfile_in_every_folder(fleet: Path, tmp_path: Path) -> None:
    """Relative names stay relative, so its bytes tell nothing of where it was made."""
    other = tmp_path / "another folder"
    shutil.copytree(fleet, other, ignore=shutil.ignore_patterns(other.name))
    found = []
    for place in (fleet, other):
        rigcard("build", "--only", "kit", "--depfile", "x.d", "gorge.rig", at=place)
        found.append((place / "x.d").read_bytes())
    revised(other / "gorge.rig", "Z")
    rigcard("build", "--only", "kit", "--depfile", "x.d", "gorge.rig", at=other)

    assert found[0] == found[1] == (other / "x.d").read_bytes()


@pytest.mark.parametrize("place", ["mast.rig", "gorge.rig", "out/mast/rig.json", "taken.json", "link.d"])
def test_a_depfile_never_replaces_what_a_build_reads_or_writes(fleet: Path, place: str) -> None:
    """Exit 2 with one remedy, and every file as it was: a rig file, a paper, an earlier rig.json, through a link too."""
    rigcard("build", "--only", "data", "mast.rig", at=fleet)
    shutil.copy(fleet / "out" / "mast" / "rig.json", fleet / "taken.json")
    (fleet / "link.d").symlink_to("stock/heads.rig")
    before = contents(fleet)
    done = rigcard(
        "build", "--only", "data", "--changed-since", "taken.json", "--depfile", place, "mast.rig", at=fleet
    )

    assert done.code == UNUSABLE
    assert "would replace a" in done.err and done.err.count("  do: ") == 1
    assert contents(fleet) == before


def test_a_depfile_goes_through_a_pipe_and_a_link(fleet: Path) -> None:
    """What is no file is written to, never replaced by one; a link stays one."""
    os.mkfifo(fleet / "pipe")
    reader = subprocess.Popen(["cat", str(fleet / "pipe")], stdout=subprocess.PIPE)
    (fleet / "link.d").symlink_to("true.d")
    for place in ("pipe", "link.d"):
        assert rigcard("build", "--only", "kit", "--depfile", place, "mast.rig", at=fleet).code == CLEAN
    said, _ = reader.communicate(timeout=60)

    assert (fleet / "pipe").is_fifo()
    assert (fleet / "link.d").is_symlink()
    assert said == (fleet / "true.d").read_bytes() and said.startswith(b"out/mast/kit.pdf ")
