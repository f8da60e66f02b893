"""The `rigcard` command as people meet it: a real process, its files, its messages, its exit code."""

from __future__ import annotations

import errno
import json
import os
import pty
import random
import re
import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from command import Run, contents
from command import command as command_line
from command import rigcard as run_rigcard
from rigcard import cli, writer
from rigcard.catalogue import all_codes

FIRST = Path(__file__).parents[1] / "samples" / "first.rig"
GORGE = FIRST.with_name("gorge.rig")
PAPERS = {
    "cards.pdf",
    "wiring.gv",
    "wiring.svg",
    "wiring.pdf",
    "labels.pdf",
    "kit.pdf",
    "kit.csv",
    "rig.json",
}
FAULTY = 'rig "Faulty" {\n  crew operator "Operator"\n}\nunit hs is nothing-1 "Handset"\n'
# GNU Coding Standards, 4.4 "Formatting Error Messages": sourcefile:lineno:column: message
GNU = re.compile(r"^[^:\n]+:[1-9]\d*:[1-9]\d*: (error|warning)\[RC\d{3}\]: \S")
Rigcard = Callable[..., Run]


@pytest.fixture
def rigcard(tmp_path: Path) -> Rigcard:
    """The command, run in the test's own folder."""
    return partial(run_rigcard, at=tmp_path)


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


# ---- old papers ----------------------------------------------------------------------------------------------


def test_a_failing_build_keeps_the_papers(rigcard: Rigcard, tmp_path: Path) -> None:
    """The papers of the last good build stay byte for byte, and the message says so."""
    rigcard("new", "my.rig")
    rigcard("build", "my.rig")
    before = contents(tmp_path / "out" / "my")
    (tmp_path / "my.rig").write_text(FAULTY, encoding="utf-8")
    run = rigcard("build", "my.rig")

    assert run.code == 1
    assert "as they were" in run.err
    assert before.keys() >= PAPERS
    assert contents(tmp_path / "out" / "my") == before


OLD = {f"{letter}.txt": b"old " * 100 for letter in "abcd"}
NEW = dict.fromkeys(OLD, b"new " * 5000)


@pytest.mark.parametrize("at", [1, 2, 4])
@pytest.mark.parametrize("function", ["fsync", "chmod", "replace"])
def test_a_fault_while_writing_keeps_every_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, function: str, at: int
) -> None:
    """A full disk at any moment: OSError, every old file as it was, no temporary file left."""
    writer.write_all(tmp_path, OLD)
    if function == "replace":  # where the whole folder cannot be replaced at once
        monkeypatch.setattr(sys, "platform", "other")
    real: Callable[..., None] = getattr(os, function)
    calls = 0

    def fails(*arguments: object, **named: object) -> None:
        nonlocal calls
        calls += 1
        if calls == at:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(*arguments, **named)

    monkeypatch.setattr(os, function, fails)
    with pytest.raises(OSError, match="No space"):
        writer.write_all(tmp_path, NEW)
    assert contents(tmp_path) == OLD


def test_a_folder_in_the_place_of_a_paper_keeps_the_others(rigcard: Rigcard, tmp_path: Path) -> None:
    """One paper cannot be replaced: RC513, and what was there is as it was, as the message says."""
    rigcard("new", "my.rig")
    rigcard("build", "my.rig")
    folder = tmp_path / "out" / "my"
    (folder / "rig.json").unlink()
    (folder / "rig.json").mkdir()
    before = contents(folder)
    source = (tmp_path / "my.rig").read_text(encoding="utf-8")
    (tmp_path / "my.rig").write_text(source.replace('revision "', 'revision "Z'), encoding="utf-8")
    run = rigcard("build", "my.rig")

    assert run.code == 2
    assert "RC513" in run.err
    assert contents(folder) == before


WRITER = """
import sys
from pathlib import Path
from rigcard.writer import write_all
folder = Path(sys.argv[1])
print("ready", flush=True)
while True:
    for letter in (b"x", b"y"):
        write_all(folder, {name: letter * 300_000 for name in ("a.pdf", "b.pdf", "c.pdf")})
"""


def test_a_killed_writer_leaves_whole_files(tmp_path: Path) -> None:
    """Killed at twelve random moments of writing: each file is one whole content, never a mixture or a part."""
    chance = random.Random(7)
    whole = {letter * 300_000 for letter in (b"x", b"y")}
    for _ in range(12):
        with subprocess.Popen([sys.executable, "-c", WRITER, str(tmp_path)], stdout=subprocess.PIPE) as process:
            assert process.stdout
            process.stdout.readline()
            time.sleep(chance.uniform(0.0, 0.12))
            process.kill()
        for path in tmp_path.glob("*.pdf"):
            assert path.read_bytes() in whole, path
    assert {path.name for path in tmp_path.glob("*.pdf")} == {"a.pdf", "b.pdf", "c.pdf"}


def test_a_killed_build_leaves_whole_papers(rigcard: Rigcard, tmp_path: Path) -> None:
    """Killed at eight random moments: each paper is the old or the new one, byte for byte, and none is missing."""
    rigcard("new", "my.rig")
    old_text = (tmp_path / "my.rig").read_text(encoding="utf-8")
    versions = []
    folder = tmp_path / "out" / "my"
    for text in (old_text.replace('revision "', 'revision "Z'), old_text):
        (tmp_path / "my.rig").write_text(text, encoding="utf-8")
        began = time.monotonic()
        assert rigcard("build", "my.rig").code == 0
        took = time.monotonic() - began
        versions.append(contents(folder))
    assert versions[0]["rig.json"] != versions[1]["rig.json"]
    (tmp_path / "my.rig").write_text(old_text.replace('revision "', 'revision "Z'), encoding="utf-8")
    chance = random.Random(11)
    for _ in range(8):
        with subprocess.Popen(
            command_line("build", "my.rig"),
            cwd=tmp_path,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        ) as process:
            time.sleep(chance.uniform(0.3, 1.1) * took)
            process.kill()
        found = contents(folder)
        for name in versions[0]:
            assert found[name] in (versions[0][name], versions[1][name]), name


# ---- files that are none -------------------------------------------------------------------------------------


def _nothing(path: Path) -> None:
    del path


def _utf_16(path: Path) -> None:
    path.write_text(FAULTY, encoding="utf-16")


def _binary(path: Path) -> None:
    path.write_bytes(bytes(range(256)) * 20)


def _huge(path: Path) -> None:
    path.write_bytes(b"# a comment\n" * 400_000)


UNUSABLE = {"missing": _nothing, "folder": Path.mkdir, "utf-16": _utf_16, "binary": _binary, "huge": _huge}


@pytest.mark.parametrize("command", ["check", "build"])
@pytest.mark.parametrize("make", UNUSABLE.values(), ids=UNUSABLE)
def test_an_unusable_file_gives_one_message(
    rigcard: Rigcard, tmp_path: Path, make: Callable[[Path], None], command: str
) -> None:
    """What is no rig file is named in one message with one remedy; exit 2, nothing written."""
    make(tmp_path / "my.rig")
    run = rigcard(command, "my.rig")

    assert run.code == 2
    assert run.out == ""
    assert run.err.startswith("my.rig: error[RC1")
    assert run.err.count("error[") == 1
    assert run.err.count("  do: ") == 1
    assert not (tmp_path / "out").exists()


def test_an_endless_file_is_refused(rigcard: Rigcard) -> None:
    """A device without a size is read no further than the largest rig: the process may use 1.5 GB here."""
    assert rigcard("check", "/dev/zero", limits={resource.RLIMIT_AS: 1_500_000_000}).code == 2


def test_an_unwritable_output_exits_2(rigcard: Rigcard, tmp_path: Path) -> None:
    """A file where the folder should be: RC513, exit 2, the file untouched."""
    (tmp_path / "papers").write_text("mine", encoding="utf-8")
    run = rigcard("build", "-o", "papers", FIRST)

    assert run.code == 2
    assert run.err.count("RC513") == 1
    assert contents(tmp_path) == {"papers": b"mine"}


@pytest.mark.parametrize("damage", [b"", b"garbage", b"\x80\x05]q\x00."], ids=["empty", "text", "other"])
def test_a_damaged_cache_does_no_harm(rigcard: Rigcard, tmp_path: Path, damage: bytes) -> None:
    """A cache file that is no cache is made anew, without a word."""
    environment = {"XDG_CACHE_HOME": str(tmp_path / "cache")}
    assert rigcard("check", FIRST, env=environment).code == 0
    for kept in (tmp_path / "cache" / "rigcard").iterdir():
        kept.write_bytes(damage)
    run = rigcard("check", FIRST, env=environment)

    assert (run.code, run.err) == (0, "")


# ---- dot -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("script", "code"),
    [(None, "RC511"), ("exit 1", "RC512"), ("echo garbage", "RC512"), ("echo '{\"objects\": 3}'", "RC512")],
)
def test_without_a_working_dot_all_but_the_drawing_is_written(
    rigcard: Rigcard, tmp_path: Path, script: str | None, code: str
) -> None:
    """No `dot`, or one that fails or answers nonsense: one message with the remedy, the other papers, exit 3."""
    (tmp_path / "bin").mkdir()
    if script:
        (tmp_path / "bin" / "dot").write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
        (tmp_path / "bin" / "dot").chmod(0o755)
    run = rigcard("build", GORGE, env={"PATH": str(tmp_path / "bin")})

    assert run.code == cli.WITHOUT_DRAWING
    assert run.err.count("[RC") == 1
    assert f"[{code}]" in run.err
    assert "apt-get install" in run.err
    assert "graphviz" in run.err
    assert set(contents(tmp_path / "out" / "gorge")) >= PAPERS - {"wiring.svg"}
    assert not list((tmp_path / "out" / "gorge").glob("*.svg"))


def test_no_old_drawing_stays_beside_new_papers(rigcard: Rigcard, tmp_path: Path) -> None:
    """Without `dot`, the drawing of an earlier revision must not lie beside the papers of this one."""
    rigcard("new", "my.rig")
    rigcard("build", "my.rig")
    (tmp_path / "bin").mkdir()
    source = (tmp_path / "my.rig").read_text(encoding="utf-8")
    (tmp_path / "my.rig").write_text(source.replace('revision "', 'revision "Z'), encoding="utf-8")
    run = rigcard("build", "my.rig", env={"PATH": str(tmp_path / "bin")})

    assert run.code == cli.WITHOUT_DRAWING
    assert not (tmp_path / "out" / "my" / "wiring.svg").exists() or "wiring.svg" in run.err


# ---- terminal ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("no_color", "coloured"), [(None, True), ("", True), ("1", False), ("0", False)])
def test_colour_on_a_terminal(rigcard: Rigcard, tmp_path: Path, no_color: str | None, coloured: bool) -> None:
    """no-color.org: no colour where NO_COLOR is present and not empty, whatever its value."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")
    environment = {**os.environ, "TERM": "xterm"}
    if no_color is not None:
        environment["NO_COLOR"] = no_color
    ours, theirs = pty.openpty()
    try:
        run = subprocess.run(
            command_line("check", "faulty.rig"), cwd=tmp_path, env=environment, stderr=theirs, check=False
        )
        shown = os.read(ours, 65536).decode()
    finally:
        os.close(ours)
        os.close(theirs)

    assert run.returncode == 1
    assert "error[" in shown
    assert ("\x1b[" in shown) == coloured


def test_no_colour_without_a_terminal(rigcard: Rigcard, tmp_path: Path) -> None:
    """A pipe gets no escape (common practice, no source)."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")

    assert "\x1b" not in rigcard("check", "faulty.rig").err


@pytest.mark.parametrize("escape", ["\x1b[31m", "\x1b]0;title\x07", "\x9b31m", "\u202e"])
def test_a_rig_cannot_write_to_the_terminal(rigcard: Rigcard, tmp_path: Path, escape: str) -> None:
    """Control sequences (ECMA-48, 7 and 8 bits) and a text-direction override in a rig are never sent raw."""
    for number, text in enumerate(
        (
            f'rig "A {escape} rig"\n',
            f"unit hs is nothing-{escape}1\n",
            f'use "no-{escape}such.rig"\n',
            f"# {escape}\nrig {escape}\n",
        )
    ):
        (tmp_path / f"{number}.rig").write_text(text, encoding="utf-8")
        run = rigcard("check", f"{number}.rig")
        assert run.code != 0
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]", run.out + run.err), text


@pytest.mark.parametrize("escape", ["\x9b31m", "\u202e"])
def test_show_cannot_write_to_the_terminal(rigcard: Rigcard, tmp_path: Path, escape: str) -> None:
    """The titles of a rig go through the same filter in the table of `show`."""
    rigcard("new", "my.rig")
    text = re.sub(
        r'^(\s*(?:unit|input|switch|stick|model)\b.*?")', rf"\1{escape}", _starter(tmp_path), flags=re.M
    )
    (tmp_path / "my.rig").write_text(text, encoding="utf-8")
    run = rigcard("show", "my.rig")

    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]", run.out + run.err)


@pytest.mark.parametrize("command", ["check", "build", "new", "show"])
def test_a_file_name_cannot_write_to_the_terminal(rigcard: Rigcard, tmp_path: Path, command: str) -> None:
    """A name with a control sequence is printed without it, in success as in failure."""
    name = "a\x1b[2Jb.rig"
    if command != "new":
        rigcard("new", "my.rig")
        shutil.copy(tmp_path / "my.rig", tmp_path / name)
    for _ in range(2):
        run = rigcard(command, name)
        assert "\x1b" not in run.out + run.err


def _starter(folder: Path) -> str:
    return (folder / "my.rig").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "arguments", [("--help",), ("explain", "RC301"), ("check", str(FIRST)), ("show", str(GORGE))]
)
def test_a_reader_that_has_gone_is_no_fault(arguments: tuple[str, ...]) -> None:
    """`rigcard ... | true`: nothing is said on standard error."""
    reading, writing = os.pipe()
    os.close(reading)
    try:
        run = subprocess.run(
            command_line(*arguments),
            stdout=writing,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    finally:
        os.close(writing)

    assert run.stderr == ""


@pytest.mark.parametrize("command", ["check", "show", "build", "explain"])
def test_a_terminal_with_few_characters_is_no_fault(rigcard: Rigcard, tmp_path: Path, command: str) -> None:
    """Where the terminal takes ASCII only (old consoles, LC_ALL=C without coercion), nothing fails."""
    shutil.copy(GORGE, tmp_path / "größe.rig")
    shutil.copytree(GORGE.parent / "stock", tmp_path / "stock")
    run = rigcard(
        command,
        "RC301" if command == "explain" else "größe.rig",
        env={"PYTHONIOENCODING": "ascii"},
    )

    assert run.code == 0


def test_a_file_name_that_is_no_text_is_no_fault(rigcard: Rigcard, tmp_path: Path) -> None:
    """On Unix a file name is bytes: one that is not UTF-8 is checked like any other."""
    for sort in ("text", "json"):
        name = os.fsdecode(os.fsencode(tmp_path) + b"/\xff.rig")
        Path(name).write_text(FAULTY if sort == "json" else 'note "x"\n', encoding="utf-8")
        assert rigcard("check", "--message-format", sort, name).code in (0, 1)


# ---- messages ------------------------------------------------------------------------------------------------


def test_messages_as_text_follow_gnu(rigcard: Rigcard, tmp_path: Path) -> None:
    """GNU Coding Standards 4.4: `sourcefile:lineno:column: message`; editors can jump to it."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")
    heads = [line for line in rigcard("check", "faulty.rig").err.splitlines() if "[RC" in line]

    assert heads
    assert all(GNU.match(line) for line in heads), heads
    assert any(line.startswith("faulty.rig:4:12: error[") for line in heads), heads


def test_messages_as_json(rigcard: Rigcard, tmp_path: Path) -> None:
    """Standard output is one JSON array, places count from 1 and lie in the file; standard error is empty."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")
    run = rigcard("check", "--message-format", "json", "faulty.rig")
    found = json.loads(run.out)

    assert (run.code, run.err) == (1, "")
    assert (4, 12) in {(entry["line"], entry["column"]) for entry in found}
    for entry in found:
        assert entry["file"] == "faulty.rig"
        assert (1, 1) <= (entry["line"], entry["column"]) <= (entry["end_line"], entry["end_column"])
        assert entry["end_line"] <= FAULTY.count("\n") + 1
        assert entry["severity"] in ("error", "warning")
        assert entry["message"]
        assert entry["hint"]


@pytest.mark.parametrize("command", ["check", "build"])
def test_json_is_all_that_is_printed(rigcard: Rigcard, command: str) -> None:
    """Without a diagnostic the array is empty, and nothing else is printed."""
    run = rigcard(command, "--message-format", "json", FIRST, GORGE)

    assert (json.loads(run.out), run.err, run.code) == ([], "", 0)


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
