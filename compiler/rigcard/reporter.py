"""What the command prints: messages of each file, closing summaries, errors of usage; and the exit code they make."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import TextIO

from rigcard.diagnostics import Diagnostic, Diagnostics, Severity
from rigcard.reporting.as_text import as_text, printable

CLEAN, FAULTS, UNUSABLE, WITHOUT_DRAWING = 0, 1, 2, 3
MOST_SHOWN = 100  # messages of one file as text; JSON has them all


def print_line(text: str) -> None:
    """Print a line."""
    print(printable(text))


def tell(text: str) -> None:
    """Print to the stream of errors, if anybody still reads it."""
    try:
        print(text, file=sys.stderr, flush=True)
    except OSError:
        discard(sys.stderr)


def discard(stream: TextIO) -> None:
    """Send what is still to come on a stream nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


class Reporter:
    """Prints the diagnostics of each file and keeps the exit code."""

    def __init__(self, message_format: str, count: int, strict: bool = False, quiet: bool = False) -> None:
        self.format = message_format
        self.count = count
        self.strict = strict
        self.quiet = quiet
        self.sums_up = True  # whether a line about all files ends the run
        self.refused = 0  # number of files with errors
        self.number = 0
        self.code = CLEAN
        self.found: list[Diagnostic] = []
        self.colour = sys.stderr.isatty() and not os.environ.get("NO_COLOR")

    def begin(self, name: str) -> None:
        """Print the progress of a long batch."""
        self.number += 1
        if self.count > 1 and sys.stderr.isatty():
            print(
                f"\r\x1b[K[{self.number}/{self.count}] {printable(name)}", end="", file=sys.stderr, flush=True
            )

    def end(
        self, diagnostics: Diagnostics, success: str, folder: str | None, notes: Sequence[Diagnostic] = ()
    ) -> None:
        """Print the diagnostics and the result of a file; `notes` say the same as the result, for programs."""
        if self.count > 1 and sys.stderr.isatty():
            print("\r\x1b[K", end="", file=sys.stderr)
        found = diagnostics.sorted()
        self.found += [*found, *(notes if self.format != "text" else ())]
        errors = [one for one in found if self.strict or one.code.severity is Severity.ERROR]
        self.refused += bool(errors)
        outside = {one.code.outside for one in found if one.span is None}
        if "file" in outside:
            self.code = UNUSABLE
        elif errors and self.code != UNUSABLE:
            self.code = FAULTS
        elif "program" in outside and self.code == CLEAN:
            self.code = WITHOUT_DRAWING
        if self.format != "text":
            remarks = success.partition("\n")[2]
            if remarks and not errors and not self.quiet:
                tell(remarks)  # standard output holds the messages alone
            return
        shown = found if len(found) <= MOST_SHOWN else (errors or found)[:MOST_SHOWN]
        some = f", {len(shown)} shown" if len(shown) < len(found) else ""
        for diagnostic in shown:
            tell(as_text(diagnostic, self.colour))
        if errors:
            kept = (
                f"; no papers written, those in {printable(folder)} are as they were"
                if folder and os.path.exists(folder)
                else ""
            )
            tell(f"{_count(len(errors), 'error')}{some}{kept}")
        elif success and not self.quiet:
            warnings = f" ({_count(len(found), 'warning')}{some})" if found else ""
            for line in f"{success}{warnings}".split("\n"):
                print_line(line)

    def close(self) -> int:
        """Print the closing summary and return the exit code."""
        if self.format == "json":
            from rigcard.reporting.as_json import as_json

            said = as_json(self.found)
        elif self.format == "sarif":
            from rigcard.reporting.as_sarif import as_sarif

            said = as_sarif(self.found, self.code, self.code != UNUSABLE)
        else:
            if self.count > 1 and self.sums_up and not self.quiet:
                faulty = f"{self.refused} with errors" if self.refused else "none with errors"
                print_line(f"{_count(self.number, 'file')}: {faulty}, {_count(len(self.found), 'message')}")
            return self.code
        with suppress(BrokenPipeError):
            print(said)
        return self.code


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def usage(cause: str, hint: str) -> int:
    """Report wrong usage; return the exit code."""
    tell(f"rigcard: {printable(cause)}\n  do: {printable(hint)}")
    return UNUSABLE
