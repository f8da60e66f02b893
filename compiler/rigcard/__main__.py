"""The `rigcard` command, which is the same as `python -m rigcard`."""

import gc
import os
import sys


def _leave_working_folder() -> None:
    """`python -m` looks for modules in the working folder first: what lies there is somebody's, and is not run."""
    try:
        here = os.getcwd()
    except OSError:  # it is gone
        here = ""
    if sys.path and not sys.flags.safe_path and sys.path[0] in ("", here):
        del sys.path[0]


def start() -> None:
    """Run the command and end the process."""
    try:
        _leave_working_folder()
        from rigcard.cli import main  # an interrupt during the import must not cause a traceback either

        code = main()
    except KeyboardInterrupt:
        code = 130
    gc.freeze()  # the process ends: the collector need not search it for cycles again
    sys.exit(code)


if __name__ == "__main__":
    start()
