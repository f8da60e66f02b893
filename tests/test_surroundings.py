"""What surrounds a run, its environment, its working folder and the files it is pointed at, changes no byte and runs
nothing."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from command import CLEAN, UNUSABLE, contents, rigcard
from rigcard.starter import STARTER
from samples import ROOT, SAMPLES

LIMITS = {resource.RLIMIT_AS: 1 << 30, resource.RLIMIT_CPU: 20}
FOREIGN = "open({!r}, 'a').write(__name__)\npageCompression = 0\ninvariant = 0\ndocumentLang = 'xx'\n"


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The papers of the small rig, made in an empty folder."""
    folder = tmp_path_factory.mktemp("usual")
    return built(folder)


def built(folder: Path, **env: str) -> dict[str, bytes]:
    """The papers of the small rig made in a folder under an environment."""
    (folder / "my.rig").write_text(STARTER, encoding="utf-8")
    run = rigcard("build", "my.rig", at=folder, env=env)
    assert (run.code, run.err) == (CLEAN, "")
    return contents(folder / "out" / "my")


@pytest.mark.parametrize(
    "env",
    [
        {"SOURCE_DATE_EPOCH": "junk"},
        {"SOURCE_DATE_EPOCH": "1"},
        {"SOURCE_DATE_EPOCH": "-99999999999999999999"},
        {"RL_pageCompression": "junk"},
        {"RL_pageCompression": "0", "RL_useA85": "1", "RL_invariant": "0"},
        {"RL_canvas_basefontname": "nothing", "RL_defaultPageSize": "none", "RL_documentLang": "xx"},
        {"RL_TTFSearchPath": "/", "RL_ttfAsciiReadable": "1", "RL_xmlParser": "junk"},
        {"PYTHONOPTIMIZE": "1"},
        {"PYTHONOPTIMIZE": "2"},
        {"PYTHONSAFEPATH": "1"},
        {"XDG_DATA_HOME": "~nobody/\x01"},
        {"TZ": "Pacific/Kiritimati"},
    ],
    ids=lambda env: " ".join(f"{name}={value}" for name, value in env.items()),
)
def test_variables_change_no_byte(env: dict[str, str], usual: dict[str, bytes], tmp_path: Path) -> None:
    """Those that a library reads are shut out; the interpreter's own make no difference."""
    assert built(tmp_path, **env) == usual


@pytest.mark.parametrize(
    "name",
    [
        "reportlab_mods.py",
        "reportlab_settings.py",
        "lark.py",
        "graphviz.py",
        "csv.py",
        "json.py",
        "uuid.py",
        "font_source_sans_pro.py",
    ],
)
def test_no_code_of_the_working_folder_runs(name: str, usual: dict[str, bytes], tmp_path: Path) -> None:
    """A module that lies beside a rig is not imported by `python -m rigcard`."""
    (tmp_path / name).write_text(FOREIGN.format(str(tmp_path / "ran")), encoding="utf-8")

    assert built(tmp_path) == usual
    assert not (tmp_path / "ran").exists()


@pytest.mark.parametrize("name", [".reportlab_mods", ".reportlab_settings"])
def test_no_settings_of_the_home_folder_are_read(name: str, usual: dict[str, bytes], tmp_path: Path) -> None:
    """They are code, and change what a build writes."""
    (tmp_path / name).write_text(FOREIGN.format(str(tmp_path / "ran")), encoding="utf-8")

    assert built(tmp_path, HOME=str(tmp_path)) == usual
    assert not (tmp_path / "ran").exists()


def test_settings_on_the_path_are_not_read(usual: dict[str, bytes], tmp_path: Path) -> None:
    """A folder of PYTHONPATH holds what its owner wants to run, and still changes no byte."""
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    for name in ("reportlab_mods.py", "reportlab_settings.py"):
        (shelf / name).write_text(FOREIGN.format(str(tmp_path / "ran")), encoding="utf-8")
    path = os.pathsep.join(filter(None, (str(shelf), os.environ.get("PYTHONPATH"))))

    assert built(tmp_path, PYTHONPATH=path) == usual
    assert not (tmp_path / "ran").exists()


def test_every_command_without_docstrings(tmp_path: Path) -> None:
    """`python -OO` drops docstrings, and the explanations of the codes are such."""
    (tmp_path / "my.rig").write_text(STARTER, encoding="utf-8")
    for words in (
        ["explain", "RC304"],
        ["explain", "RC461"],
        ["check", "my.rig"],
        ["show", "my.rig"],
        ["format", "--check", "my.rig"],
        ["build", "--help"],
    ):
        plain = rigcard(*words, at=tmp_path)
        assert rigcard(*words, at=tmp_path, env={"PYTHONOPTIMIZE": "2"}) == plain
        assert plain.code == CLEAN
    run = subprocess.run(
        [sys.executable, "-OO", "-m", "rigcard", "language-server"],
        cwd=tmp_path,
        input=b"",
        capture_output=True,
        timeout=60,
        check=False,
    )
    assert run.stderr == b""


# ---- what is no file, and what is no folder ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "cause"),
    [
        (["check", "pipe"], "pipe cannot be read: it is no file but a pipe or a device"),
        (["check", "way"], "way cannot be read: it is no file but a pipe or a device"),
        (["build", "pipe"], "pipe cannot be read: it is no file but a pipe or a device"),
        (["show", "pipe"], "pipe cannot be read: it is no file but a pipe or a device"),
        (["format", "pipe"], "pipe cannot be read: it is no file but a pipe or a device"),
        (["format", "/dev/zero"], "larger than 4 MB"),
        (["check", "/dev/zero"], "larger than 4 MB"),
        (["check", "/dev/null/x"], "cannot be read: Not a directory"),
        (["build", "my.rig", "--changed-since", "/dev/zero"], "it is no file but a pipe or a device"),
        (["build", "my.rig", "--changed-since", "pipe"], "it is no file but a pipe or a device"),
        (["build", "my.rig", "--changed-since", "huge.json"], "it is larger than 20 MB"),
        (["build", "my.rig", "--changed-since", "many.json"], "it holds more than 2 million values"),
        (["compare", "many.json", "my.rig"], "it holds more than 2 million values"),
        (["compare", "huge.json", "my.rig"], "it is larger than 20 MB"),
        (["check", "my"], "my cannot be read: No such file or directory\n  do: did you mean `my.rig`?"),
        (["check", "MY.rig"], "MY.rig cannot be read: No such file or directory\n  do: did you mean `my.rig`?"),
        (["check", "."], ". cannot be read: Is a directory\n  do: name a rig file that lies in it"),
        (["build", "my.rig", "--changed-since", "."], "Is a directory"),
        (["build", "my.rig", "--changed-since", "my.rig"], "is no rig.json that can be compared with"),
        (["check", "my.rig", "--stock", "nowhere"], "--stock nowhere is no folder"),
        (["build", "my.rig", "--stock", "my.rig"], "--stock my.rig is no folder"),
        (["show", "my.rig", "--stock", "pipe"], "--stock pipe is no folder"),
        (["check", "my.rig", "--stock", ""], "--stock  is no folder"),
    ],
    ids=lambda words: " ".join(words) if isinstance(words, list) else "",
)
def test_what_is_no_file_or_no_folder(words: list[str], cause: str, tmp_path: Path) -> None:
    """Each ends at once with exit 2, the cause, one thing to do, and no papers."""
    for name in ("my.rig", "ny.rig"):
        (tmp_path / name).write_text(STARTER, encoding="utf-8")
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "way").symlink_to("pipe")
    with (tmp_path / "huge.json").open("wb") as file:
        file.truncate(3_000_000_000)
    (tmp_path / "many.json").write_text(f"[{'[],' * 4_000_000}[]]", encoding="utf-8")
    run = rigcard(*words, at=tmp_path, limits=LIMITS, patience=30)

    assert run.code == UNUSABLE
    assert cause in run.err
    assert run.err.count("  do: ") == 1
    assert not (tmp_path / "out").exists()


def test_users_of_a_stock_file_among_pipes(tmp_path: Path) -> None:
    """The search for rigs that use a file passes by what is no file."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    os.mkfifo(tmp_path / "samples" / "pipe.rig")
    stock = next((tmp_path / "samples" / "stock").glob("*.rig"))
    run = rigcard("check", "--users", stock.relative_to(tmp_path / "samples"), at=tmp_path / "samples")

    assert run.code == CLEAN, run.said
    assert run.out.count("no errors") >= 2 <= len(SAMPLES)


def test_a_pipe_that_nobody_reads_is_no_place_to_write(tmp_path: Path) -> None:
    """Exit 2 instead of a wait without end; one with a reader, as `>(cat)` of a shell is, gets its bytes."""
    (tmp_path / "my.rig").write_text(STARTER, encoding="utf-8")
    for name in ("papers.d", "change.pdf"):
        os.mkfifo(tmp_path / name)
    lonely = rigcard("build", "my.rig", "--depfile", "papers.d", at=tmp_path, patience=30)
    assert lonely.code == UNUSABLE and "the depfile cannot be" in lonely.err
    lonely = rigcard("compare", "my.rig", "my.rig", "-o", "change.pdf", at=tmp_path, patience=30)
    assert lonely.code == UNUSABLE and "the change card cannot be written" in lonely.err

    reader = os.open(tmp_path / "papers.d", os.O_RDONLY | os.O_NONBLOCK)
    try:
        assert rigcard("build", "my.rig", "--depfile", "papers.d", at=tmp_path).code == CLEAN
        assert os.read(reader, 9).startswith(b"out/my/")
    finally:
        os.close(reader)


def test_a_pipe_is_not_mended(tmp_path: Path) -> None:
    """`check --fix` of a pipe: one without a writer is refused, and one of the shell is checked."""
    os.mkfifo(tmp_path / "pipe")
    run = rigcard("check", "--fix", "pipe", at=tmp_path, patience=30)
    assert run.code == UNUSABLE and run.err.count("RC109") == 1

    shell = ["bash", "-c", f'"{sys.executable}" -m rigcard check --fix <(echo \'rig "A" {{ revision "A" }}\')']
    piped = subprocess.run(shell, cwd=tmp_path, capture_output=True, timeout=60, check=False)
    assert piped.returncode == CLEAN, piped.stderr


GONE = "the working folder is no longer there"


@pytest.mark.parametrize(
    "words",
    [
        ["check", "my.rig"],
        ["check", "{}/my.rig"],
        ["check", "--users", "{}/my.rig"],
        ["check", "--fix", "{}/my.rig"],
        ["build", "{}/my.rig"],
        ["build", "{}/my.rig", "-o", "{}/out"],
        ["show", "{}/my.rig"],
        ["compare", "{}/my.rig", "{}/my.rig"],
        ["faults", "{}/my.rig"],
        ["bench", "{}/my.rig"],
        ["format", "{}/my.rig"],
        ["new", "{}/other.rig"],
        ["explain", "RC304"],
        ["language-server"],
    ],
    ids=" ".join,
)
def test_a_working_folder_that_is_gone(words: list[str], tmp_path: Path) -> None:
    """Somebody removed it while the terminal stood in it: exit 2 with a remedy, nothing read or written."""
    (tmp_path / "my.rig").write_text(STARTER, encoding="utf-8")
    (tmp_path / "gone").mkdir()
    typed = " ".join(f"'{word.format(tmp_path)}'" for word in words)
    run = subprocess.run(
        ["sh", "-c", f'cd gone && rmdir ../gone && exec "{sys.executable}" -m rigcard {typed}'],
        cwd=tmp_path,
        input="",
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )

    assert (run.returncode, run.stdout) == (UNUSABLE, "")
    assert run.stderr == f"rigcard: {GONE}\n  do: cd /, or to any folder that is there\n"
    assert [path.name for path in tmp_path.iterdir()] == ["my.rig"]


def test_folders_in_folders_without_end(tmp_path: Path) -> None:
    """A program that ran wild left them among the papers: they stay, the papers are new, and rigs are searched for."""
    built(tmp_path)
    (tmp_path / "my.rig").write_text(STARTER.replace("Rehearsal", "Dry run"), encoding="utf-8")
    here = os.getcwd()
    try:
        os.chdir(tmp_path / "out" / "my")
        for _ in range(1200):
            os.mkdir("a")
            os.chdir("a")
        Path("mine").touch()
    finally:
        os.chdir(here)
    before = contents(tmp_path / "out" / "my")
    try:
        assert rigcard("build", "my.rig", at=tmp_path).code == CLEAN
        assert rigcard("check", "--users", "my.rig", at=tmp_path).code == CLEAN
        assert contents(tmp_path / "out" / "my")["rig.json"] != before["rig.json"]
        found = subprocess.run(
            ["find", ".", "-name", "mine"], cwd=tmp_path / "out", capture_output=True, check=True
        )
        assert found.stdout.count(b"\n") == 1
    finally:
        subprocess.run(["rm", "-rf", tmp_path / "out"], check=True)
