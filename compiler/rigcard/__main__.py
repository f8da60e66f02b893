"""The `rigcard` command, which is the same as `python -m rigcard`."""

import gc
import sys


def start() -> None:
    """Run the command and end the process."""
    try:
        from rigcard.cli import main  # an interrupt during the import must not cause a traceback either

        code = main()
    except KeyboardInterrupt:
        code = 130
    gc.freeze()  # the process ends: the collector need not search it for cycles again
    sys.exit(code)


if __name__ == "__main__":
    start()
