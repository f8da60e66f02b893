"""`python -m rigcard` is the same as the `rigcard` command."""

import sys

from rigcard.cli import main

if __name__ == "__main__":
    sys.exit(main())
