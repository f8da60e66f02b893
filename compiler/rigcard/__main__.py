"""The `rigcard` command, and `python -m rigcard`, which is the same."""

import gc
import sys

from rigcard.cli import main


def start() -> None:
    """Run the command and end the process."""
    code = main()
    gc.freeze()  # the process ends: nothing of it needs to be searched for cycles once more
    sys.exit(code)


if __name__ == "__main__":
    start()
