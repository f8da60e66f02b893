"""Writes a set of papers: every file whole or not at all, the old ones kept until all new ones are on the disk."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path


def write_all(folder: Path, files: dict[str, bytes]) -> None:
    """Replace the files of a folder. Raises OSError with nothing replaced where one cannot be written."""
    folder.mkdir(parents=True, exist_ok=True)
    written: list[tuple[str, Path]] = []
    try:
        for name, data in files.items():
            handle, temporary = tempfile.mkstemp(prefix=f".{name}.", dir=folder)
            written.append((temporary, folder / name))
            with os.fdopen(handle, "wb") as out:
                out.write(data)
                out.flush()
                os.fsync(out.fileno())
            os.chmod(temporary, 0o644)
        for temporary, final in written:
            os.replace(temporary, final)
    finally:
        for temporary, _ in written:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
