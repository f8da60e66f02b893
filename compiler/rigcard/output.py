"""Writes a set of papers: all of them or none, the old ones kept until the new ones are on the disk."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path

WORK = ".rigcard-"  # begins the name of the folder where papers wait until all are written


def write_all(folder: Path, files: dict[str, bytes], stale: Iterable[str] = ()) -> None:
    """Replace the files of a folder and remove those that are `stale`, of an earlier build and not of this one.

    Raises OSError with everything as it was where a file cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for left in folder.glob(f"{WORK}*"):  # of a build that was killed
        shutil.rmtree(left, ignore_errors=True)
    with tempfile.TemporaryDirectory(prefix=WORK, dir=folder) as name:
        work = Path(name)
        for number, data in enumerate(files.values()):
            with open(work / f"new-{number}", "wb") as out:
                out.write(data)
                out.flush()
                os.fsync(out.fileno())
            os.chmod(work / f"new-{number}", 0o644)
        gone = [name for name in stale if (folder / name).is_file()]
        _exchange(folder, work, list(files), gone)


def write_one(path: Path, data: bytes) -> None:
    """Replace one file. Raises OSError with the old one as it was.

    Another build may be writing beside it, so nothing else in the folder is touched.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    work = path.with_name(
        f"{WORK}{path.name}"
    )  # always this one, so that a killed build leaves no more than one
    try:
        with open(work, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.chmod(work, 0o644)
        os.replace(work, path)
    except OSError:
        with contextlib.suppress(OSError):
            work.unlink()
        raise


def write_over(path: Path, data: bytes) -> None:
    """Replace what a file holds, whole. Its mode stays; a symbolic link stays one, and what it leads to is replaced.

    Raises OSError with the file as it was where it cannot be written.
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


def _exchange(folder: Path, work: Path, names: list[str], gone: list[str]) -> None:
    """Put the new files in place; if one cannot be, put the old ones back."""
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
    """A second name for a file, or a copy where the disk knows no second names."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copy2(source, target)
