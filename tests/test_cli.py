"""The `rigcard` command on an ordinary day, as people meet it: a real process, its files, its exit code."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from command import BROKEN, CLEAN, FAULTS, FAULTY, PAPERS, UNUSABLE, Rigcard, contents, rigcard
from rigcard import cli
from rigcard.catalogue import all_codes
from rigcard.starter import STARTER
from samples import FIRST, GORGE

# ---- help, version, usage ------------------------------------------------------------------------------------


def test_help_teaches(rigcard: Rigcard) -> None:
    """`--help` names the way from nothing to papers and what each exit code means."""
    run = rigcard("--help")

    assert run.code == 0
    for command in ("new", "check", "build", "explain"):
        assert re.search(rf"^  rigcard {command} \S", run.out, re.M), command
    assert re.search(r"exit codes: 0 .*; 1 .*; 2 ", run.out)


def test_version(rigcard: Rigcard, root: Path) -> None:
    """`--version` prints the version of pyproject.toml."""
    said = re.search(r'^version = "(.*)"$', (root / "pyproject.toml").read_text(encoding="utf-8"), re.M)

    assert said
    assert rigcard("--version").out == f"rigcard {said[1]}\n"


@pytest.mark.parametrize("arguments", [(), ("prnit",), ("build",), ("check", "--no-such")])
def test_wrong_usage_exits_2(rigcard: Rigcard, arguments: tuple[str, ...]) -> None:
    """No command, an unknown one, or one without its file: exit 2 and words on standard error only."""
    run = rigcard(*arguments)

    assert run.code == 2
    assert run.out == ""
    assert run.err.startswith("rigcard: ") and "  do: " in run.err


# ---- new, check, build ---------------------------------------------------------------------------------------


def test_new_writes_a_rig_that_builds_without_a_diagnostic(rigcard: Rigcard, tmp_path: Path) -> None:
    """The starter file is accepted by `check` and `build`, with nothing said on standard error."""
    assert rigcard("new", "my.rig").code == 0
    for command in ("check", "build"):
        run = rigcard(command, "my.rig")
        assert (run.code, run.err) == (0, ""), command
        assert "warning" not in run.out
    assert contents(tmp_path / "out" / "my").keys() >= PAPERS


def test_new_refuses_to_overwrite(rigcard: Rigcard, tmp_path: Path) -> None:
    """A file that is there stays as it is; exit 2."""
    (tmp_path / "my.rig").write_text("mine", encoding="utf-8")
    run = rigcard("new", "my.rig")

    assert run.code == 2
    assert "my.rig" in run.err
    assert contents(tmp_path) == {"my.rig": b"mine"}


def test_check_exits_0_1_or_2(rigcard: Rigcard, tmp_path: Path) -> None:
    """0 for a rig without errors, 1 for one with, 2 for one that cannot be read; 2 wins in a batch."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")

    assert rigcard("check", FIRST).code == 0
    assert rigcard("check", "faulty.rig").code == 1
    assert rigcard("check", "missing.rig").code == 2
    assert rigcard("check", FIRST, "faulty.rig").code == 1
    assert rigcard("check", "missing.rig", "faulty.rig").code == 2
    assert set(contents(tmp_path)) == {"faulty.rig"}


def test_build_writes_every_paper(rigcard: Rigcard, tmp_path: Path) -> None:
    """A sample gives each paper, in the form that its name says, and says their names."""
    run = rigcard("build", GORGE)
    found = contents(tmp_path / "out" / "gorge")

    assert (run.code, run.err) == (0, "")
    assert set(found) == PAPERS | {"wiring-power.gv", "wiring-power.svg"}
    assert all(name in run.out for name in found)
    for name, data in found.items():
        begins = {".pdf": b"%PDF-", ".svg": b"<", ".gv": b"digraph", ".json": b"{", ".csv": b"\xef\xbb\xbf"}
        assert data.startswith(begins[Path(name).suffix]), name
        assert (tmp_path / "out" / "gorge" / name).stat().st_mode & 0o777 == 0o644


def test_only_makes_only_these_papers(rigcard: Rigcard, tmp_path: Path) -> None:
    """`--only` may be given again; no other paper is written."""
    assert rigcard("build", "-o", "papers", "--only", "kit", "--only", "data", FIRST).code == 0
    assert set(contents(tmp_path / "papers" / "first")) == {"kit.pdf", "kit.csv", "rig.json"}


def test_an_unknown_kind_exits_2(rigcard: Rigcard, tmp_path: Path) -> None:
    """A kind that is none is named, with those that are; nothing is written."""
    run = rigcard("build", "--only", "poster", FIRST)

    assert run.code == 2
    assert "poster" in run.err
    assert "labels" in run.err
    assert list(tmp_path.iterdir()) == []


def test_two_files_for_one_folder_exit_2(rigcard: Rigcard, tmp_path: Path) -> None:
    """Two rigs of one name would overwrite each other's papers: neither is written."""
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        assert rigcard("new", f"{folder}/same.rig").code == 0
    run = rigcard("build", "one/same.rig", "two/same.rig")

    assert run.code == 2
    assert "same folder" in run.err
    assert not (tmp_path / "out").exists()


# ---- messages ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("code", sorted(all_codes()))
def test_explain_says_all(code: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every code is explained in four parts, in this order, none empty."""
    assert cli.main(["explain", code]) == 0
    said = capsys.readouterr().out
    assert said.startswith(f"{code} ")
    assert re.search(r"^Reports: \S(.|\n)*^Why: \S(.|\n)*^Bad: \S(.|\n)*^Good: \S", said, re.M), said


def test_explain_of_an_unknown_code(rigcard: Rigcard) -> None:
    """Exit 2 and near codes that exist; lower case is understood."""
    run = rigcard("explain", "RC3O1")

    assert run.code == 2
    assert run.out == ""
    near = set(re.findall(r"`(RC\d+)`", run.err))
    assert near
    assert near <= set(all_codes())
    assert rigcard("explain", "rc301").out.startswith("RC301 ")


# ---- the same again ------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_the_same_input_gives_the_same_bytes(rigcard: Rigcard, tmp_path: Path) -> None:
    """Hash seed, folder, time zone, locale and encoding change no byte of any paper, and no word of any message."""
    found = []
    said = []
    turkish = subprocess.run(
        ["locale", "-a"], capture_output=True, text=True, check=False
    ).stdout.split()  # where i has another capital
    plain = {"PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    for folder, seed, zone, locale, more in (
        ("one", "0", "UTC", "C", {}),
        ("two/deeper", "4242", "Pacific/Kiritimati", "C.UTF-8", {}),
        ("thr\u00e9\u00e9", "7", "Asia/Kathmandu", "tr_TR.utf8" if "tr_TR.utf8" in turkish else "C", plain),
    ):
        place = tmp_path / folder
        shutil.copytree(GORGE.parent, place)
        (place / "faulty.rig").write_text(FAULTY, encoding="utf-8")
        (place / "mast.rig").rename(place / "m\u00e2t.rig")
        environment = {"PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": locale, **more}
        assert rigcard("build", "gorge.rig", "m\u00e2t.rig", at=place, env=environment).code == 0
        said.append(rigcard("check", "faulty.rig", at=place, env=environment).err)
        found.append({**contents(place / "out" / "gorge"), "mast": contents(place / "out" / "m\u00e2t")})

    for again, words in zip(found[1:], said[1:], strict=True):
        assert words == said[0]
        assert [name for name in found[0] if found[0][name] != again[name]] == []
        assert found[0].keys() == again.keys()


def test_a_used_file_with_another_letter_in_any_locale(rigcard: Rigcard, tmp_path: Path) -> None:
    """The name of a used file is found where the locale knows ASCII only; a missing one is a fault, no traceback."""
    (tmp_path / "\u00e4.rig").write_text('rig "A" { revision "A" }\nuse "\u00f6.rig"\n', encoding="utf-8")
    environment = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    missing = rigcard("check", "\u00e4.rig", at=tmp_path, env=environment)
    assert (missing.code, "RC109" in missing.err) == (1, True)
    (tmp_path / "\u00f6.rig").write_text("# nothing\n", encoding="utf-8")
    assert rigcard("check", "\u00e4.rig", at=tmp_path, env=environment).code == 0


def test_a_faulty_rig_loads_nothing_that_draws(tmp_path: Path) -> None:
    """reportlab and graphviz are imported only where papers are judged or made: `check` of a sound rig judges them."""
    (tmp_path / "faulty.rig").write_text('rig "Faulty" {', encoding="utf-8")
    program = (
        "import sys; from rigcard.cli import main; main(sys.argv[1:]); "
        "print(sorted({'reportlab', 'graphviz'} & set(sys.modules)))"
    )
    loaded = {}
    for command, file in (("check", "faulty.rig"), ("check", str(FIRST)), ("build", str(FIRST))):
        run = subprocess.run(
            [sys.executable, "-c", program, command, file],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=True,
        )
        loaded[command, file[-9:]] = run.stdout.splitlines()[-1]

    assert loaded["check", "aulty.rig"] == "[]"
    assert loaded["check", "first.rig"] == loaded["build", "first.rig"] == "['graphviz', 'reportlab']"


# ---- the gate --------------------------------------------------------------------------------------------------


SOUND = FIRST.read_text(encoding="utf-8")


def test_check_refuses_what_build_refuses(rigcard: Rigcard, tmp_path: Path, root: Path) -> None:
    """A title too long for its place and labels too large for their cells are told without a build."""
    shutil.copytree(root / "samples" / "stock", tmp_path / "stock")
    for name, old, new, code in (
        ("long", '"Small head"', f'"{"Small head " * 20}"', "RC501"),
        ("cells", '  crew     operator "Operator"', '  crew operator "Operator"; labels on tiny', "RC504"),
        ("glyph", '"Workshop"', '"Workshop \u4e2d"', "RC502"),
    ):
        text = SOUND.replace(old, new)
        text += '\nsheet tiny "Tiny" { page a4; grid 10 x 20; cell 15mm x 10mm; margin 10mm, 10mm }\n' * (
            name == "cells"
        )
        (tmp_path / f"{name}.rig").write_text(text, encoding="utf-8")
        checked, built = (rigcard(command, f"{name}.rig") for command in ("check", "build"))
        assert (checked.code, built.code) == (1, 1), name
        assert f"[{code}]" in checked.err and f"[{code}]" in built.err, name


def test_a_warning_is_an_error_where_that_is_asked_for(rigcard: Rigcard, tmp_path: Path, root: Path) -> None:
    """An open question is a warning; `--strict` refuses the papers for it, and `-q` prints the warning alone."""
    shutil.copytree(root / "samples" / "stock", tmp_path / "stock")
    (tmp_path / "draft.rig").write_text(f'{SOUND}\nopen "Which lens?"\n', encoding="utf-8")

    run = rigcard("build", "draft.rig", "--only", "kit", "--strict")
    assert (run.code, run.out) == (1, "")
    assert "warning[RC220]" in run.err and "Which lens?" in run.err
    assert not (tmp_path / "out").exists()
    loose = rigcard("build", "draft.rig", "--only", "kit", "-q")
    assert (loose.code, loose.out) == (0, "")
    assert (tmp_path / "out" / "draft" / "kit.pdf").exists()


@pytest.mark.parametrize(
    ("arguments", "hint"),
    [
        (("chek", "first.rig"), "did you mean check?"),
        (("build", "--onyl", "kit", "first.rig"), "did you mean --only?"),
        (("check", "frist.rig"), "did you mean `first.rig`?"),
    ],
)
def test_a_near_name_is_named(rigcard: Rigcard, tmp_path: Path, arguments: tuple[str, ...], hint: str) -> None:
    """A slip in a command, an option or a file."""
    (tmp_path / "first.rig").write_text(SOUND, encoding="utf-8")
    run = rigcard(*arguments)

    assert run.code == 2
    assert hint in run.err


def test_a_file_of_models_is_checked_by_itself(rigcard: Rigcard, tmp_path: Path, root: Path) -> None:
    """Every stock file of the samples is sound alone; a fault in one is found there, and the rigs that use it are named."""
    shutil.copytree(root / "samples" / "stock", tmp_path / "stock")
    (tmp_path / "first.rig").write_text(SOUND, encoding="utf-8")
    names = sorted(path.name for path in (tmp_path / "stock").glob("*.rig"))
    sound = rigcard("check", "-q", *(f"stock/{name}" for name in names))
    assert (sound.code, sound.said) == (0, "")
    used = rigcard("check", "--users", "stock/heads.rig")
    assert used.out.splitlines()[:2] == ["stock/heads.rig: no errors", "first.rig: no errors"]

    heads = tmp_path / "stock" / "heads.rig"
    heads.write_text(
        heads.read_text(encoding="utf-8").replace("role      head", "role      haed", 1), encoding="utf-8"
    )
    faulty = rigcard("check", "stock/heads.rig")
    assert faulty.code == 1
    assert "did you mean `head`?" in faulty.err


# ---- help --------------------------------------------------------------------------------------------------------


def test_the_steps_of_help_work_when_typed(tmp_path: Path) -> None:
    """Each line under "a first rig" runs as it stands, in its order, without a diagnostic."""
    lines = [line for line in rigcard("--help", at=tmp_path).out.splitlines() if line.startswith("  rigcard ")]
    typed = [re.split(r"\s{2,}", line.strip())[0].split()[1:] for line in lines]

    assert [words[0] for words in typed] == [
        "new",
        "check",
        "build",
        "show",
        "format",
        "faults",
        "explain",
        "compare",
    ]
    for words in typed:
        run = rigcard(*words, at=tmp_path)
        assert (run.code, run.err) == (CLEAN, ""), words
    assert (tmp_path / "out" / "my" / "cards.pdf").exists()


@pytest.mark.parametrize("name", ["build", "check", "show", "format", "new", "explain", "faults", "compare"])
def test_every_argument_has_help(name: str, tmp_path: Path) -> None:
    """`rigcard COMMAND --help` says something about every argument."""
    run = rigcard(name, "--help", at=tmp_path)

    assert (run.code, run.err) == (CLEAN, "")
    rows = re.findall(r"^  (\S.*)\n?(?:^ {10,}(\S.*))?", run.out.split("\n\n", 1)[1], re.M)
    assert len(rows) > 1
    for row, below in rows:
        assert below or re.search(r"\S {2,}\S", row), row


# ---- what is written ---------------------------------------------------------------------------------------------


def test_each_kind_alone_is_the_same(place: Path) -> None:
    """A kind of paper built alone has the same bytes as among all; together the kinds are all papers."""
    rigcard("build", "first.rig", "-o", "all", at=place)
    whole = contents(place / "all" / "first")
    alone: dict[str, bytes] = {}
    for kind in ("cards", "wiring", "labels", "kit", "data"):
        assert rigcard("build", "first.rig", "-o", kind, "--only", kind, at=place).code == CLEAN
        found = contents(place / kind / "first")
        assert not alone.keys() & found.keys()
        alone |= found

    assert alone == whole


def test_an_unknown_kind_beside_a_known_one(place: Path) -> None:
    """Exit 2 and nothing written, although the other `--only` is right."""
    for kind in ("card", "Cards", "cards,kit", "", "wiring.pdf"):
        assert rigcard("build", "first.rig", "--only", "kit", "--only", kind, at=place).code == UNUSABLE
    assert not (place / "out").exists()


@pytest.mark.parametrize(
    "cells", ["x", "4-", "-4", "4-x", "9-4", "1.5", "9" * 5000, "1-999999999"], ids=lambda cells: cells[:11]
)
def test_a_list_of_cells_that_is_none(cells: str, place: Path) -> None:
    """A mistyped list of used cells is refused: read as another list, the sheet would be printed over."""
    rig = place / "first.rig"
    text = rig.read_text(encoding="utf-8")
    rig.write_text(text.replace("  crew ", "  labels on a4-3x8-70x37\n  crew "), encoding="utf-8")
    good = rigcard("build", "first.rig", "--skip=4,9-11", "--only", "labels", "-o", "good", at=place)
    assert good.code == CLEAN
    run = rigcard("build", "first.rig", f"--skip={cells}", "--only", "labels", at=place)

    assert run.code != CLEAN
    assert not (place / "out").exists()


def test_one_faulty_file_among_many(place: Path) -> None:
    """The others are still built; the exit code tells of the fault; the faulty one leaves no empty folder."""
    (place / "x.rig").write_text(BROKEN, encoding="utf-8")
    run = rigcard("build", "x.rig", "first.rig", at=place)

    assert run.code == FAULTS
    assert "cards.pdf" in contents(place / "out" / "first")
    assert not (place / "out" / "x").exists()


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


# ---- labels --------------------------------------------------------------------------------------------------


def on_sheet(folder: Path, name: str) -> str:
    """The first sample with its labels on a sheet of eight, in a folder."""
    text = FIRST.read_text(encoding="utf-8")
    shutil.copytree(FIRST.parent / "stock", folder / "stock", dirs_exist_ok=True)
    (folder / name).write_text(
        re.sub(r"(?m)^(  revision .*)$", r"\1\n  labels on a4-2x4-99x68", text, count=1), encoding="utf-8"
    )
    return name


def test_a_label_is_made_again(rigcard: Rigcard, tmp_path: Path) -> None:
    """Only this paper is written, and which cell it took and which is next is said; with JSON on standard error."""
    rig = on_sheet(tmp_path, "one.rig")
    run = rigcard("build", rig, "--label", "S1-A,hs", "--label", "rx", "--start", "3")
    assert (run.code, run.err) == (0, "")
    assert set(contents(tmp_path / "out" / "one")) == {"labels.pdf"}
    said = "labels: cells used: sheet 1: 3-5 (S1-A to rx); next free cell 6 (row 3, column 2), 3 left on the last sheet"
    assert said in run.out
    run = rigcard("build", rig, "--label", "S1-A", "--message-format", "json")
    (note,) = [one for one in json.loads(run.out) if one["severity"] == "note"]
    assert "1 (S1-A); next free cell 2" in note["message"]
    assert rigcard("build", rig, "--label", "S1-A", "--only", "kit", "--only", "labels").code == 0
    assert "kit.pdf" in contents(tmp_path / "out" / "one")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--label", "S1-C"), "RC545"),
        (("--label", ""), "write it as --label S02-A"),
        (("--label", "S1-A,,S1-B"), "write it as --label S02-A"),
        (("--label", "S1-A", "--only", "cards"), "leave out --only"),
        (("--skip", "0"), "has 8 cells, and cell 0 is asked for"),
        (("--start", "x"), "write it as --start 2"),
        (("--start", ""), "write it as --start 2"),
        (("--depfile", ""), "write it as --depfile papers.d"),
    ],
)
def test_a_wrong_label_is_refused(
    rigcard: Rigcard, tmp_path: Path, options: tuple[str, ...], told: str
) -> None:
    """A name that is missing or unknown: nothing is written."""
    run = rigcard("build", on_sheet(tmp_path, "one.rig"), *options)
    assert run.code in (1, 2) and told in run.err
    assert not (tmp_path / "out").exists()


def test_two_rigs_do_not_begin_at_one_cell(rigcard: Rigcard, tmp_path: Path) -> None:
    """Both would print on the same cells of a part-used sheet."""
    names = [on_sheet(tmp_path, name) for name in ("one.rig", "two.rig")]
    for option in (("--start", "5"), ("--skip", "2")):
        run = rigcard("build", *names, *option)
        assert run.code == 2 and "same cells" in run.err
    assert rigcard("build", *names).code == 0
