"""The folder for what is kept between runs: only files that nobody else can have written count, and none can do harm."""

from __future__ import annotations

import os
import pickle
import re
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from command import CLEAN, Run, contents, rigcard
from rigcard.syntax import cache_folder, grammar_cache
from samples import ROOT

NAME = "statements-" + "0" * 64
RIG = ROOT / "samples" / "first.rig"
GOOD = Run(CLEAN, f"{RIG}: no errors\n", "")
ANOTHER_USER = 65534
AS_ROOT = pytest.mark.skipif(os.geteuid() != 0, reason="only root gives a file to another user")


class Payload:
    """What runs a command where somebody unpickles it."""

    def __init__(self, mark: Path) -> None:
        self.mark = mark

    def __reduce__(self) -> tuple[Callable[[str], int], tuple[str]]:
        return os.system, (f"touch '{self.mark}'",)


def check(at: Path, **env: str) -> Run:
    """A whole run of `check`, which asks the cache for the grammar and for stock."""
    return rigcard("check", RIG, at=at, env=env, patience=20)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A cache as a run of `check` leaves it, under `tmp_path` as XDG_CACHE_HOME."""
    assert check(tmp_path, XDG_CACHE_HOME=str(tmp_path)) == GOOD
    return tmp_path / "rigcard"


def sound(folder: Path, names: set[str]) -> bool:
    """Whether a cache has files of these names alone, and each can be read."""
    return set(contents(folder)) == names and all(cache_folder.read(str(folder), name) for name in names)


# ---- what is kept ----------------------------------------------------------------------------------------------


def test_a_run_leaves_files_that_only_the_user_can_read(folder: Path) -> None:
    names = [path.name.partition("-")[0] for path in folder.iterdir()]

    assert names.count("grammar") == 1
    assert names.count("statements") >= 3
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {0o600}


def test_the_next_run_writes_nothing(folder: Path) -> None:
    before = {path: path.stat().st_ino for path in folder.iterdir()}
    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD

    assert {path: path.stat().st_ino for path in folder.iterdir()} == before


def test_data_come_back_as_they_were_written(tmp_path: Path) -> None:
    place = str(tmp_path / "a" / "b")
    assert cache_folder.read(place, NAME) is None
    for data in (b"", b"\x00\xff\n", b"x" * (cache_folder.LARGEST - 64)):
        cache_folder.write(place, NAME, data)
        assert cache_folder.read(place, NAME) == data


def test_what_is_too_large_is_not_kept(tmp_path: Path) -> None:
    cache_folder.write(str(tmp_path / "a"), NAME, b"x" * (cache_folder.LARGEST - 63))

    assert not (tmp_path / "a").exists()


# ---- what does not count -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "damage",
    [
        lambda _: b"",
        lambda whole: whole[:-7],
        lambda whole: whole[: len(whole) // 2],
        lambda whole: whole[7:],
        lambda whole: whole + b" ",
        lambda whole: whole[:80] + b"7" + whole[81:],
        lambda whole: b"[" * 200_000,
        lambda whole: whole[:64] + b"[" * 200_000,
        lambda whole: b"\x80\x05]q\x00.",
        lambda whole: whole + b"\x00" * cache_folder.LARGEST,
    ],
    ids=["empty", "cut", "half", "beheaded", "longer", "changed", "deep", "deep below", "pickle", "huge"],
)
def test_broken_files_are_passed_over_and_written_anew(folder: Path, damage: Callable[[bytes], bytes]) -> None:
    names = set(contents(folder))
    for path in folder.iterdir():
        path.write_bytes(damage(path.read_bytes()))
        assert cache_folder.read(str(folder), path.name) is None

    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD
    assert sound(folder, names)


def test_a_file_under_the_name_of_another_does_not_count(folder: Path) -> None:
    """Statements of one text are never those of another, even where somebody renames the files."""
    first, second, *_ = (path for path in sorted(folder.iterdir()) if path.name.startswith("statements"))
    whole = contents(folder)
    first.write_bytes(second.read_bytes())

    assert cache_folder.read(str(folder), first.name) is None
    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD
    assert contents(folder) == whole


@pytest.mark.parametrize("behind", [False, True], ids=["bare", "with the digest"])
def test_a_payload_does_not_run(folder: Path, behind: bool) -> None:
    """A pickle in the place of every file, and of those that earlier versions read, is data that no run executes."""
    mark = folder.parent / "ran"
    payload = pickle.dumps(Payload(mark))
    for path in folder.iterdir():
        if behind:
            cache_folder.write(str(folder), path.name, payload)
        else:
            path.write_bytes(payload)
    for name in ("grammar-0.1.0-py3.11", "grammar-0.1.0-py3.12", "grammar-0.1.0-py3.13"):
        (folder / name).write_bytes(payload)

    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD
    assert not mark.exists()
    pickle.loads(payload)
    assert mark.exists(), "the payload would have run where it is unpickled"


def test_nothing_in_the_package_reads_a_pickle() -> None:
    """No module imports what turns data into code, and lark's own cache is not asked for."""
    reads = re.compile(r"^\s*(?:import|from)\s.*\b(?:pickle|_pickle|marshal|shelve|copyreg)\b", re.M)
    assert reads.search("x\n    from pickle import loads"), "it finds one where there is one"
    for path in (ROOT / "compiler").rglob("*.py"):
        assert not reads.search(path.read_text(encoding="utf-8")), path
    assert "cache" not in grammar_cache.OPTIONS


def test_a_pipe_in_the_place_of_a_file_makes_nobody_wait(folder: Path) -> None:
    for path in list(folder.iterdir()):
        path.unlink()
        os.mkfifo(path, 0o600)

    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD
    assert all(path.is_file() for path in folder.iterdir()), "replaced"


def test_a_link_in_the_place_of_a_file_is_not_followed(folder: Path) -> None:
    """What it leads to is neither read nor written; the link itself is replaced."""
    whole = contents(folder)
    other = folder.parent / "other"
    other.mkdir()
    for name, data in whole.items():
        (other / name).write_bytes(data)
        (other / name).chmod(0o600)
        (folder / name).unlink()
        (folder / name).symlink_to(other / name)
        assert cache_folder.read(str(folder), name) is None
    for path in other.iterdir():
        path.write_bytes(b"mine")

    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD
    assert set(contents(other).values()) == {b"mine"}
    assert sound(folder, set(whole))
    assert not any(path.is_symlink() for path in folder.iterdir())


def test_a_folder_in_the_place_of_a_file(folder: Path) -> None:
    for path in list(folder.iterdir()):
        path.unlink()
        path.mkdir(mode=0o700)

    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD
    assert all(path.is_dir() for path in folder.iterdir()), "nothing is left beside them"


@pytest.mark.parametrize("mode", [0o620, 0o602, 0o666])
def test_a_file_that_others_may_write_does_not_count(folder: Path, mode: int) -> None:
    for path in folder.iterdir():
        path.chmod(mode)
        assert cache_folder.read(str(folder), path.name) is None

    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD
    assert {stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {0o600}, "written anew"


@pytest.mark.parametrize("mode", [0o720, 0o702, 0o777, 0o1777])
def test_a_folder_that_others_may_write_is_no_cache(folder: Path, mode: int) -> None:
    name = next(folder.iterdir()).name
    assert cache_folder.read(str(folder), name) is not None
    folder.chmod(mode)
    assert cache_folder.read(str(folder), name) is None
    for path in folder.iterdir():
        path.write_bytes(b"mine")

    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD
    assert set(contents(folder).values()) == {b"mine"}


@AS_ROOT
@pytest.mark.parametrize("whose", ["folder", "file"])
def test_what_another_user_owns_does_not_count(folder: Path, whose: str) -> None:
    name = next(folder.iterdir()).name
    assert cache_folder.read(str(folder), name) is not None
    os.chown(folder if whose == "folder" else folder / name, ANOTHER_USER, ANOTHER_USER)

    assert cache_folder.read(str(folder), name) is None
    assert check(folder, XDG_CACHE_HOME=str(folder.parent)) == GOOD


def test_a_link_in_the_place_of_the_folder_is_not_followed(folder: Path, tmp_path: Path) -> None:
    name = next(folder.iterdir()).name
    moved = folder.rename(tmp_path / "moved")
    folder.symlink_to(moved)
    for path in moved.iterdir():
        path.write_bytes(b"mine")

    assert cache_folder.read(str(folder), name) is None
    assert check(moved, XDG_CACHE_HOME=str(tmp_path)) == GOOD
    assert set(contents(moved).values()) == {b"mine"}


def test_a_link_to_nowhere_in_the_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "rigcard").symlink_to(tmp_path / "made")

    assert check(tmp_path, XDG_CACHE_HOME=str(tmp_path)) == GOOD
    assert not (tmp_path / "made").exists()


# ---- where the environment puts it -------------------------------------------------------------------------------


@pytest.mark.parametrize("home", ["cache", "./cache", "~/.cache", "..", "."])
def test_a_relative_cache_home_is_none(tmp_path: Path, home: str) -> None:
    """The working folder may be anybody's: what lies in it is not read, and nothing is put there."""
    inner = tmp_path / "work"
    inner.mkdir()
    (inner / "cache").mkdir()
    before = sorted(tmp_path.rglob("*"))

    assert check(inner, XDG_CACHE_HOME=home) == GOOD
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("home", ["relative", "~"])
def test_a_relative_home_is_none(tmp_path: Path, home: str) -> None:
    assert check(tmp_path, XDG_CACHE_HOME="", HOME=home) == GOOD
    assert list(tmp_path.iterdir()) == []


def test_no_home_and_no_user_of_that_number(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without HOME, and where the system has no home for the user, `~` stays as it is: a relative path."""
    from rigcard import cli

    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("HOME")
    monkeypatch.delenv("XDG_CACHE_HOME")

    def unknown(_: int) -> object:
        raise KeyError("uid not found")

    monkeypatch.setattr("pwd.getpwuid", unknown)
    place = cli._cache()
    cache_folder.write(place, NAME, b"kept")

    assert place == "~/.cache/rigcard"
    assert cache_folder.read(place, NAME) is None
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("locale", [{}, {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}])
def test_a_home_whose_name_is_no_utf_8(tmp_path: Path, locale: dict[str, str]) -> None:
    """It is a folder like any other: no message, and the next run finds what the first one kept."""
    home = tmp_path / os.fsdecode(b"h\xffme\xe9")
    home.mkdir()
    for _ in range(2):
        assert check(tmp_path, XDG_CACHE_HOME="", HOME=str(home), **locale) == GOOD
        assert len(list((home / ".cache" / "rigcard").iterdir())) >= 4


def test_a_name_that_no_system_has(tmp_path: Path) -> None:
    place = f"{tmp_path}/a\0b"
    cache_folder.write(place, NAME, b"kept")

    assert cache_folder.read(place, NAME) is None


def test_a_system_that_cannot_open_files_in_an_open_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = str(tmp_path / "cache")
    monkeypatch.setattr(os, "supports_dir_fd", frozenset())
    cache_folder.write(place, NAME, b"kept")

    assert cache_folder.read(place, NAME) is None
    assert not os.path.exists(place)


# ---- writing -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_write_that_fails_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException
) -> None:
    """A full disk is told of where papers are written; what is kept is a matter of speed alone."""
    place = tmp_path / "cache"
    cache_folder.write(str(place), NAME, b"before")
    whole = contents(place)

    def fail(*_: object, **__: object) -> None:
        raise fault

    monkeypatch.setattr(os, "replace", fail)
    if isinstance(fault, KeyboardInterrupt):
        with pytest.raises(KeyboardInterrupt):
            cache_folder.write(str(place), NAME, b"after")
    else:
        cache_folder.write(str(place), NAME, b"after")

    assert contents(place) == whole
    assert cache_folder.read(str(place), NAME) == b"before"


def names(count: int) -> list[str]:
    """As many different names of files."""
    return [f"statements-{number:064x}" for number in range(count)]


def test_the_oldest_of_too_many_are_removed(tmp_path: Path) -> None:
    place = tmp_path / "cache"
    for age, name in enumerate(names(cache_folder.MOST)):
        cache_folder.write(str(place), name, b"")
        now = (place / name).stat().st_mtime
        os.utime(place / name, (now, now - 3600 + age))
    assert len(list(place.iterdir())) == cache_folder.MOST
    assert cache_folder.read(str(place), names(1)[0]) == b"", "used: now it is not the oldest any more"
    cache_folder.write(str(place), NAME.replace("0", "f"), b"")

    left = set(contents(place))
    assert len(left) == cache_folder.MOST
    assert set(names(cache_folder.MOST)) - left == {names(2)[1]}


def test_what_was_not_used_for_long_is_removed_and_nothing_but_ours(tmp_path: Path) -> None:
    """A folder of the name may hold things of the user's own."""
    place = tmp_path / "cache"
    old, young = names(2)
    cache_folder.write(str(place), old, b"")
    cache_folder.write(str(place), young, b"")
    left = f"{old}.{'ab' * 8}"  # by a run that was killed
    theirs = ["notes.txt", "grammar-0.1.0-py3.11", f"{old}.bak", f"my-{old}"]
    for name in (left, *theirs):
        (place / name).write_text("x", encoding="utf-8")
    now = (place / young).stat().st_mtime
    for path in place.iterdir():
        os.utime(path, (now, now - cache_folder.OLDEST - 60))
    os.utime(place / young, (now, now - cache_folder.OLDEST + 60))
    cache_folder.write(str(place), NAME.replace("0", "f"), b"")

    assert set(contents(place)) == {young, NAME.replace("0", "f"), *theirs}
