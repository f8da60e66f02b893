"""Writes a set of papers: all or none; the old ones stay until the new ones are on the disk.

A complete folder is made beside the old one: the new papers, and hard links to everything else in the old
folder. It replaces the old folder in one atomic step, so that a reader always finds the papers of one build,
even if this one is killed. Where that is impossible, the files are replaced one by one: if the system has no
such step, if the folder is a mount point, the working folder of a program or somebody else's, or if the disk
cannot hard-link its files.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from rigcard.diagnostics import Severity, define
from rigcard.source import StrPath

UNWRITABLE = define(
    "RC513",
    Severity.ERROR,
    "unwritable",
    """
    Reports: a file or folder for the papers, a depfile, or a rig file to be laid out, that cannot be written.
    Why: the disk is full, the folder gives no permission, or a depfile cannot hold the name.
    Bad: rigcard build gorge.rig -o /
    Good: rigcard build gorge.rig -o papers
    """,
    outside="file",
)

DEEPEST = 50  # folders in each other that are taken along
WORK = ".rigcard-"  # prefix of the folder where papers wait until all are written


def write_all(folder: StrPath, files: dict[str, bytes], stale: Iterable[str] = ()) -> None:
    """Replace the files of a folder, and remove the `stale` ones, which an earlier build made.

    Raises OSError if a file cannot be written; the folder is then unchanged.
    """
    real = Path(os.path.realpath(folder))  # follow a symbolic link to the folder itself
    real.parent.mkdir(parents=True, exist_ok=True)
    with _cleared(real):
        if _at_once(real, files, set(stale)):
            return
        real.mkdir(exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=WORK, dir=real) as name:
            work = Path(name)
            for number, data in enumerate(files.values()):
                _write(work / f"new-{number}", data)
            gone = [name for name in stale if (real / name).is_file()]
            _one_by_one(real, work, list(files), gone)


def write_one(path: StrPath, data: bytes) -> None:
    """Replace one file; write into it if it is a device or a pipe.

    Raises OSError with the old file unchanged, or if nobody reads the pipe. Another build may be writing beside it, so nothing else in the
    folder is touched.
    """
    if os.path.isdir(path):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if os.path.exists(path) and not os.path.isfile(path):  # a device or pipe must not be replaced by a file
        with open(path, "wb", opener=_with_a_reader) as out:
            out.write(data)
        return
    file = Path(os.path.realpath(path))
    file.parent.mkdir(parents=True, exist_ok=True)
    # always the same name, so that killed builds leave one file at most
    work = file.with_name(f"{WORK}{file.name}")
    try:
        _write(work, data)
        os.replace(work, file)
    except OSError:
        with contextlib.suppress(OSError):
            work.unlink()
        raise


def _with_a_reader(path: str, flags: int) -> int:
    """Open a device, or a pipe that somebody reads. Raises OSError for one that nobody reads, rather than wait."""
    handle = os.open(path, flags & ~(os.O_CREAT | os.O_TRUNC) | getattr(os, "O_NONBLOCK", 0))
    os.set_blocking(handle, True)
    return handle


def write_over(path: StrPath, data: bytes) -> None:
    """Replace the whole content of a file and keep its mode; if it is a symbolic link, replace its target.

    Raises OSError with the file unchanged if it cannot be written.
    """
    real = Path(os.path.realpath(path))
    if not real.is_file() or not os.access(real, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
    handle, name = tempfile.mkstemp(prefix=WORK, dir=real.parent)
    try:
        with open(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        shutil.copymode(real, name)
        os.replace(name, real)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise


@contextlib.contextmanager
def _cleared(folder: Path) -> Iterator[None]:
    """Remove what killed builds have left, while no other build writes beside this one."""
    with contextlib.ExitStack() as held:
        try:
            import fcntl

            parent = os.open(folder.parent, os.O_RDONLY)
            held.callback(os.close, parent)
            with contextlib.suppress(BlockingIOError):
                fcntl.flock(parent, fcntl.LOCK_EX | fcntl.LOCK_NB)
                for left in [*folder.parent.glob(f"{WORK}*"), *folder.glob(f"{WORK}*")]:
                    shutil.rmtree(left, ignore_errors=True)
            fcntl.flock(parent, fcntl.LOCK_SH)
        except (ImportError, OSError):  # no locks on this system or disk: keep the leftovers
            pass
        yield


def _write(path: Path, data: bytes) -> None:
    with open(path, "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    os.chmod(path, 0o644)


# ---- the whole folder at once ------------------------------------------------------------------------------


def _at_once(folder: Path, files: dict[str, bytes], stale: Collection[str]) -> bool:
    """Replace the folder with a complete new one; False, with everything unchanged, if that is impossible.

    Raises OSError if a paper cannot be written.
    """
    if folder.exists() and (os.path.ismount(folder) or _in_use(folder)):
        return False
    if any((folder / name).is_dir() for name in files):
        return False
    beside = folder.parent / f"{WORK}{os.urandom(6).hex()}"
    try:
        beside.mkdir()
    except OSError:
        return False
    try:
        for name, data in files.items():
            _write(beside / name, data)
        with contextlib.suppress(OSError):
            _change_places(beside, folder, {*files, *(name for name in stale if (folder / name).is_file())})
            return True
    finally:
        shutil.rmtree(beside, ignore_errors=True)  # the new folder or, after the exchange, the old one
    return False


def _change_places(beside: Path, folder: Path, papers: Collection[str]) -> None:
    """Move a complete folder into the place of another, if there is one. Raises OSError with both unchanged."""
    if not folder.exists():
        beside.rename(folder)
        return
    _second_names(folder, beside, papers)
    os.utime(beside)
    _exchange(beside, folder)
    with contextlib.suppress(OSError):
        _bring_back(beside, folder, papers)


def _in_use(folder: Path) -> bool:
    """Whether a program has the folder, or one below it, as its working folder, which it would then lose."""
    if not os.path.isdir("/proc"):
        return True  # the system does not say, so assume that it is
    places = []
    for process in filter(str.isdigit, os.listdir("/proc")):
        with contextlib.suppress(OSError):  # the process has ended, or belongs to another user
            places.append(Path(os.readlink(f"/proc/{process}/cwd")))
    return any(folder in (place, *place.parents) for place in places)


def _entries(folder: Path, papers: Collection[str]) -> list[os.DirEntry[str]]:
    """Return the entries of a folder other than the papers."""
    with os.scandir(folder) as found:
        return [entry for entry in found if entry.name not in papers and not entry.name.startswith(WORK)]


def _second_names(old: Path, new: Path, papers: Collection[str], depth: int = 0) -> None:
    """Hard-link everything but the papers into another folder. Raises OSError if that is impossible."""
    if depth > DEEPEST:
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP), str(old))
    for entry in _entries(old, papers):
        if entry.is_dir(follow_symlinks=False):
            (new / entry.name).mkdir()
            _second_names(Path(entry.path), new / entry.name, (), depth + 1)
        else:
            os.link(entry.path, new / entry.name, follow_symlinks=False)
    was, made = old.stat(), new.stat()
    if (was.st_dev, was.st_uid, was.st_gid) != (made.st_dev, made.st_uid, made.st_gid):
        raise PermissionError(f"{old} belongs to somebody else")
    shutil.copystat(old, new)


def _exchange(first: Path, second: Path) -> None:
    """Exchange two folders in one atomic step. Raises OSError if the system or the disk does not support it."""
    if sys.platform != "linux":
        raise OSError("no exchange on this system")
    import ctypes

    here, exchange = -100, 2  # AT_FDCWD, RENAME_EXCHANGE: linux/fcntl.h, linux/fs.h
    try:
        renameat2 = ctypes.CDLL(None, use_errno=True).renameat2
    except AttributeError as fault:
        raise OSError("a C library without renameat2") from fault
    if renameat2(here, os.fsencode(first), here, os.fsencode(second), exchange):
        raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()))


def _bring_back(old: Path, new: Path, papers: Collection[str]) -> None:
    """Move files that somebody saved into the old folder during the linking into the new one."""
    for entry in _entries(old, papers):
        target = new / entry.name
        if entry.is_dir(follow_symlinks=False) and target.is_dir():
            _bring_back(Path(entry.path), target, ())
        elif not os.path.lexists(target) or not os.path.samestat(
            entry.stat(follow_symlinks=False), target.lstat()
        ):
            os.replace(entry.path, target)


# ---- one by one --------------------------------------------------------------------------------------------


def _one_by_one(folder: Path, work: Path, names: list[str], gone: list[str]) -> None:
    """Put the new files in place; if one cannot be placed, put the old ones back."""
    done: list[str] = []
    try:
        for number, name in enumerate(names):
            if (folder / name).is_file():
                _keep(folder / name, work / f"old-{number}")
            done.append(name)
            os.replace(work / f"new-{number}", folder / name)
    except OSError:
        for number, name in enumerate(done):
            with contextlib.suppress(OSError):
                if (work / f"old-{number}").exists():
                    os.rename(work / f"old-{number}", folder / name)
                elif not (work / f"new-{number}").exists():
                    (folder / name).unlink()
        raise
    for name in gone:
        with contextlib.suppress(OSError):
            (folder / name).unlink()


def _keep(source: Path, target: Path) -> None:
    """Hard-link a file, or copy it if the disk has no hard links."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copy2(source, target)


def folder_name(name: str) -> str:
    """Return a file's name without its extension, as a folder name that every common system accepts."""
    own = os.path.basename(os.path.normpath(name))
    text = os.fsencode(own.rpartition(".")[0] or own).decode("utf-8", "replace")
    stem = re.sub(r'[<>:"/\\|?*\x00-\x1f\x7f-\x9f\ufffd]', "-", text).rstrip(". ")
    device = re.fullmatch(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?", stem, re.IGNORECASE)
    return os.fsdecode((f"rig-{stem}" if device else stem or "rig").encode())
