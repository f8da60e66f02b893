"""Files kept between runs, in a folder of the user's own, and the rule that such a folder and its files must meet.

What is kept saves time and nothing else, so wherever the rule is not met there is simply no cache. The path of the
folder is absolute. Folder and file belong to the user, nobody else may write to them, and neither is a link; the file
is a regular one, and whole. What is in it is data: whoever reads it must never run it. A system that cannot open a
file by its name in an open folder (Windows) goes without a cache.
"""

import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import partial
from hashlib import sha256

LARGEST = 4_000_000  # bytes of one file
MOST = 256  # files: the most that one rig may use, and some
OLDEST = 30 * 24 * 3600  # seconds since a file was used
_OURS = re.compile(r"(?:grammar|statements)-[0-9a-f]{64}(?:\.[0-9a-f]{16})?")
_DIGEST = 64  # characters before the data


def read(folder: str, name: str) -> bytes | None:
    """What `write` kept under a name, or None."""
    try:
        with _opened(folder) as place, open(name, "rb", opener=partial(_inside, place)) as file:
            about = os.fstat(file.fileno())
            _require_own(about, stat.S_IFREG)
            kept = file.read(LARGEST + 1) if about.st_size <= LARGEST else b""
            with suppress(OSError):
                os.utime(file.fileno())  # it was used
    except (OSError, ValueError):  # ValueError: no system has such a name
        return None
    data = kept[_DIGEST:]
    return data if kept[:_DIGEST] == _digest(name, data) else None


def write(folder: str, name: str, data: bytes) -> None:
    """Keep data under a name if that can be; files that have not been used for long make room."""
    assert _OURS.fullmatch(name)
    if len(data) > LARGEST - _DIGEST:
        return
    with suppress(OSError, ValueError), _opened(folder, make=True) as place:
        work = f"{name}.{os.urandom(8).hex()}"
        try:
            with open(work, "xb", opener=partial(_inside, place)) as file:
                file.write(_digest(name, data) + data)
                now = os.fstat(file.fileno()).st_mtime
            os.replace(work, name, src_dir_fd=place, dst_dir_fd=place)
        except BaseException:
            with suppress(OSError):
                os.unlink(work, dir_fd=place)
            raise
        _prune(place, now)


@contextmanager
def _opened(folder: str, *, make: bool = False) -> Iterator[int]:
    """The descriptor of the folder. Raises OSError if it does not meet the rule."""
    if not os.path.isabs(folder) or os.open not in os.supports_dir_fd:
        raise OSError("there can be no cache")
    if make:
        os.makedirs(folder, mode=0o700, exist_ok=True)
    place = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        _require_own(os.fstat(place), stat.S_IFDIR)
        yield place
    finally:
        os.close(place)


def _inside(place: int, name: str, flags: int) -> int:
    """Opens a file of the folder: no link is followed, and a pipe does not make the run wait."""
    return os.open(name, flags | os.O_NOFOLLOW | os.O_NONBLOCK, 0o600, dir_fd=place)


def _require_own(about: os.stat_result, kind: int) -> None:
    """Raises OSError for what is not of the kind, not the user's own, or may be written by others."""
    others = about.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
    if stat.S_IFMT(about.st_mode) != kind or about.st_uid != os.geteuid() or others:
        raise OSError("somebody else may have written it")


def _digest(name: str, data: bytes) -> bytes:
    """Tells whether data are whole, and still under their own name."""
    return sha256(name.encode() + data).hexdigest().encode()


def _prune(place: int, now: float) -> None:
    """Remove files of ours that were not used for long, and the oldest of too many."""
    names = [name for name in os.listdir(place) if _OURS.fullmatch(name)]
    used = {name: os.stat(name, dir_fd=place, follow_symlinks=False).st_mtime for name in names}
    for number, name in enumerate(sorted(names, key=lambda name: -used[name])):
        if number >= MOST or now - used[name] > OLDEST:
            os.unlink(name, dir_fd=place)
