"""The `rigcard` command, and `python -m rigcard`, which is the same."""

import gc
import sys


def start() -> None:
    """Run the command and end the process."""
    try:
        from rigcard.cli import main  # whoever stops it meanwhile wants no traceback either

        code = main()
    except KeyboardInterrupt:
        code = 130
    gc.freeze()  # the process ends: nothing of it needs to be searched for cycles once more
    sys.exit(code)


if __name__ == "__main__":
    start()
