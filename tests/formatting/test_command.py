"""`rigcard format`: files, standard input, differences."""

from __future__ import annotations

import os
import shutil
import stat
import subprocess
from pathlib import Path

import pytest

from command import CLEAN, FAULTS, UNUSABLE, Run, contents, rigcard
from rigcard.formatting import layout
from rigcard.syntax.load import LARGEST

UGLY = 'rig "R" {revision "A"}\n\tuse "stock.rig" ;use "ä.rig"   # two\n\n\n\n'
NEAT = 'rig "R" { revision "A" }\nuse "stock.rig"\nuse "ä.rig"                             # two\n'
FAULTY = 'rig "R" {\n\tjob Final\n}\n'


def write(folder: Path, **files: str) -> None:
    """Write rig files by their names."""
    for name, text in files.items():
        (folder / f"{name}.rig").write_bytes(text.encode("utf-8"))


def piped(text: bytes, *arguments: str, at: Path, env: dict[str, str] | None = None) -> Run:
    """Run `rigcard format` with bytes on standard input; its standard output as it comes."""
    return rigcard("format", *arguments, at=at, env=env, given=text)


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
