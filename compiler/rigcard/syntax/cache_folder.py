"""Files kept between runs in a folder of the user's own, and the rule that the folder and its files must meet.

A cached file saves time and nothing else, so where the rule is not met there is simply no cache. The path of
the folder is absolute. The user owns the folder and the file, nobody else may write to them, and neither is a
link; the file is a regular file, and complete. Its content is data: a caller must never execute it. A system
that cannot open a file by its name inside an open folder (Windows) works without a cache.
"""

import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import partial
from hashlib import sha256

LARGEST = 4_000_000  # bytes of one file
MOST = 256  # files: the most that one rig may use, plus a few
OLDEST = 30 * 24 * 3600  # seconds since the last use of a file
_OURS = re.compile(r"(?:grammar|statements)-[0-9a-f]{64}(?:\.[0-9a-f]{16})?")
_DIGEST = 64  # characters that precede the data


def read(folder: str, name: str) -> bytes | None:
    """The data that `write` stored under a name, or None."""
    try:
        with _opened(folder) as place, open(name, "rb", opener=partial(_inside, place)) as file:
            about = os.fstat(file.fileno())
            _require_own(about, stat.S_IFREG)
            kept = file.read(LARGEST + 1) if about.st_size <= LARGEST else b""
            with suppress(OSError):
                os.utime(file.fileno())  # marks the file as used now
    except (OSError, ValueError):  # ValueError: a name that no system allows
        return None
    data = kept[_DIGEST:]
    return data if kept[:_DIGEST] == _digest(name, data) else None


def write(folder: str, name: str, data: bytes) -> None:
    """Stores data under a name if possible; removes files that have not been used for a long time."""
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
    """Yields the descriptor of the folder. Raises OSError if the folder does not meet the rule."""
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
    """Opens a file of the folder. Follows no link, and does not block on a pipe."""
    return os.open(name, flags | os.O_NOFOLLOW | os.O_NONBLOCK, 0o600, dir_fd=place)


def _require_own(about: os.stat_result, kind: int) -> None:
    """Raises OSError if the file is of another kind, belongs to another user, or may be written by others."""
    others = about.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
    if stat.S_IFMT(about.st_mode) != kind or about.st_uid != os.geteuid() or others:
        raise OSError("somebody else may have written it")


def _digest(name: str, data: bytes) -> bytes:
    """The digest that tells whether data are complete and still under their own name."""
    return sha256(name.encode() + data).hexdigest().encode()


def _prune(place: int, now: float) -> None:
    """Removes our files that have not been used for a long time, and the oldest ones if there are too many."""
    names = [name for name in os.listdir(place) if _OURS.fullmatch(name)]
    used = {name: os.stat(name, dir_fd=place, follow_symlinks=False).st_mtime for name in names}
    for number, name in enumerate(sorted(names, key=lambda name: -used[name])):
        if number >= MOST or now - used[name] > OLDEST:
            os.unlink(name, dir_fd=place)
