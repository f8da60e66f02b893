"""Ends the server when the editor that started it is gone, also where its streams stay open or a check is running."""

from __future__ import annotations

import os
import sys
from threading import Event, Thread

EVERY = 1.0  # seconds


def end_with(process: int | None) -> None:
    """End this process, with the code that the protocol has for it, once another one is no longer there.

    A number that names no process now is from another system's view (a container): it is left alone.
    """
    if process is None or sys.platform == "win32" or not _alive(process):
        return
    Thread(target=_watch, args=(process,), daemon=True).start()


def _watch(process: int) -> None:
    never = Event()
    while _alive(process):
        never.wait(EVERY)
    os._exit(1)  # nobody is there to be told


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):  # it is somebody else's
        return True
    return True
