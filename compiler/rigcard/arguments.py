"""The commands and options of the command line, and the errors of wrong usage."""

from __future__ import annotations

import argparse
import re
import shlex
from typing import NoReturn

from rigcard import __version__
from rigcard.reporting.suggest import near

TEACHING = """\
a first rig, from nothing to papers:
  rigcard new my.rig            write a small, commented rig file
  rigcard check my.rig          say what is wrong with it, and prove what it expects
  rigcard build my.rig          write cards.pdf, wiring.pdf, labels.pdf, kit.pdf ... to out/my/
  rigcard show my.rig pan       every path through a name, with its numbers
  rigcard format my.rig         set its lines in order and its columns under each other
  rigcard faults my.rig         which mistakes the function test finds; what explains the lines that failed
  rigcard explain RC304         say more about a message
  rigcard compare out/my/rig.json my.rig
                                say what changed since, what to do, and which cards to collect

exit codes: 0 no errors; 1 the file has errors; 2 wrong usage, or something could not be read or written;
3 everything is written but the drawings, because the program `dot` is missing or failed
"""


class UsageError(Exception):
    """Wrong usage: the cause, and one remedy."""

    def __init__(self, cause: str, hint: str) -> None:
        super().__init__(cause)
        self.cause = cause
        self.hint = hint


class _Parser(argparse.ArgumentParser):
    """Reports wrong usage in the form of every other message: the cause, and one remedy."""

    def error(self, message: str) -> NoReturn:
        """Raise UsageError, and name the most similar command or option if there is one."""
        commands, options = self._known()
        wrong = re.search(r"invalid choice: '([^']*)'", message)
        unknown = re.search(r"unrecognized arguments: (-\S+)", message)
        number = re.fullmatch(r"argument (--\w+): invalid int value: '(.*)'", message, re.DOTALL)
        if number:
            raise UsageError(f"{number[1]} {number[2]} is no whole number", f"write it as {number[1]} 2")
        close: list[str] = []
        if wrong and "COMMAND" in message:
            message, close = f"there is no command named {wrong[1]}", near(wrong[1], commands, 1)
        elif unknown:
            message, close = f"there is no option {unknown[1]}", near(unknown[1].split("=")[0], options, 1)
        hint = f"did you mean {close[0]}?" if close else f"{self.prog} --help lists what there is"
        raise UsageError(message, hint)

    def _known(self) -> tuple[list[str], list[str]]:
        """Return the commands, and the options of this parser and of its subparsers."""
        commands: dict[str, argparse.ArgumentParser] = {}
        for action in self._actions:
            if isinstance(action, argparse._SubParsersAction):
                commands.update(action.choices)
        parsers = [self, *commands.values()]
        return list(commands), [name for parser in parsers for name in parser._option_string_actions]


def parser_of_commands() -> argparse.ArgumentParser:
    """Build the parser; `command` in its result is the name of the command."""
    parser = _Parser(
        prog="rigcard",
        description="Compiles a rig file into set-up cards, a wiring diagram, cable labels and a kit list.",
        epilog=TEACHING,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"rigcard {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    build = commands.add_parser("build", help="write the papers of rig files")
    build.add_argument("files", nargs="+", metavar="FILE", help="a rig file")
    build.add_argument(
        "-o", "--output", metavar="DIR", default="out", help="papers go to DIR/NAME/ (default: out)"
    )
    build.add_argument(
        "--only",
        metavar="KIND",
        action="append",
        help="only this kind of paper: cards, wiring, labels, kit, data; may be given again",
    )
    build.add_argument(
        "--role", metavar="ROLE", default="", help="only cards for this crew role, or technician"
    )
    sides = build.add_mutually_exclusive_group()
    sides.add_argument(
        "--flip",
        choices=("long", "short"),
        default="long",
        help="the edge of the paper that a printer of two sides turns it over at (default: long)",
    )
    sides.add_argument(
        "--one-sided", action="store_true", help="print front and back of a card next to each other"
    )
    build.add_argument(
        "--changed-since", metavar="JSON", help="only cards and labels that differ from an earlier rig.json"
    )
    build.add_argument(
        "--start", metavar="N", type=int, default=1, help="first free cell of a part-used label sheet"
    )
    build.add_argument(
        "--skip", metavar="CELLS", default="", help="cells that are used already, such as 4,9-11"
    )
    build.add_argument(
        "--label",
        metavar="ID",
        action="append",
        default=[],
        help="make only this label again, such as S02-A, or S02 for both ends; may be given again, or as a list "
        "with commas; no other paper is written",
    )
    build.add_argument(
        "--jobs", metavar="N", type=int, default=0, help="rigs built at a time (default: one a core)"
    )
    build.add_argument(
        "--depfile",
        metavar="FILE",
        help="write which files were read for which papers, for make or ninja; only if all papers are written",
    )
    build.add_argument(
        "--watch",
        action="store_true",
        help="build again after every save, until Ctrl-C; old papers stay meanwhile",
    )
    _stock(build)
    _message_format(build)
    _strictness(build)
    build.set_defaults(command="build")

    check = commands.add_parser("check", help="say what is wrong with rig files; writes nothing without --fix")
    check.add_argument("files", nargs="+", metavar="FILE", help="a rig file, or a file of models")
    check.add_argument(
        "--users", action="store_true", help="also check the rigs below this folder that use one of the files"
    )
    check.add_argument(
        "--fix",
        action="store_true",
        help="write the remedies that are beyond doubt into the files, say which, then check them",
    )
    _stock(check)
    _message_format(check)
    _strictness(check)
    check.set_defaults(command="check")

    show = commands.add_parser(
        "show", help="the paths through one name, with every value on the way; where a claim fails, too"
    )
    show.add_argument("file", metavar="FILE", help="a rig file")
    show.add_argument(
        "name",
        metavar="NAME",
        nargs="?",
        help="a control, channel, pin, cable, input, state, command or unit, or either side of an expect, such as "
        "hs.lock.away or cam.run; without it: all, smallest margin first",
    )
    _stock(show)
    show.add_argument("--json", action="store_true", help="write JSON")
    show.set_defaults(command="show")

    compare = commands.add_parser(
        "compare", help="what changed from one revision to the next: by effect, work, paper and person"
    )
    compare.add_argument("old", metavar="OLD", help="the earlier rig file, or its rig.json")
    compare.add_argument("new", metavar="NEW", help="the rig file of now, or its rig.json")
    compare.add_argument(
        "-o", "--output", metavar="PDF", help="write the change card too; NEW must be a rig file"
    )
    _stock(compare)
    compare.add_argument(
        "--message-format", choices=("text", "json"), default="text", help="how the comparison is written"
    )
    compare.set_defaults(command="compare")

    bench = commands.add_parser("bench", help="the readings that settle what models leave unknown, on a card")
    bench.add_argument("file", metavar="FILE", help="a file of models, or a rig file")
    bench.add_argument(
        "-o", "--output", metavar="DIR", default="out", help="the card goes to DIR/NAME/ (default: out)"
    )
    _stock(bench)
    bench.set_defaults(command="bench")

    faults = commands.add_parser(
        "faults", help="which single mistakes the function test finds, and what explains the lines that failed"
    )
    faults.add_argument("file", metavar="FILE", help="a rig file")
    faults.add_argument(
        "--failed", metavar="LINES", default="", help="lines of the function test that failed, such as 7,12"
    )
    faults.add_argument(
        "--passed", metavar="LINES", default="", help="lines that passed, such as 1,2; rest: all others"
    )
    faults.add_argument("--ask", action="store_true", help="ask for one line after another, until it is clear")
    _stock(faults)
    faults.add_argument("--json", action="store_true", help="write JSON")
    faults.set_defaults(command="faults")

    new = commands.add_parser("new", help="write a small, valid, commented rig file to start from")
    new.add_argument("file", metavar="FILE", help="the file to write; it must not exist")
    new.add_argument(
        "--model",
        metavar="ROLE",
        default="",
        help="a file of stock with one model instead: handset, receiver, head ...",
    )
    new.set_defaults(command="new")

    layout = commands.add_parser("format", help="lay rig files out anew: blanks and columns, never the words")
    layout.add_argument("files", nargs="+", metavar="FILE", help="a rig file; - is standard input")
    layout.add_argument("--check", action="store_true", help="write nothing; exit 1 if a file would change")
    layout.add_argument("--diff", action="store_true", help="write nothing; show what would change")
    layout.set_defaults(command="format")

    explain = commands.add_parser("explain", help="say what a message means, why, with a bad and a good line")
    explain.add_argument("code", metavar="CODE", help="such as RC304")
    explain.set_defaults(command="explain")

    server = commands.add_parser(
        "language-server", help="talk to an editor over the standard streams (Language Server Protocol)"
    )
    server.add_argument("--stdio", action="store_true", help="what it does anyway; some editors ask for it")
    server.set_defaults(command="language_server")
    return parser


def _stock(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--stock",
        metavar="DIR",
        action="append",
        default=[],
        help="a folder whose files the rig may use beside those of its own folder; may be given again",
    )


def _strictness(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--strict", action="store_true", help="take a warning for an error")
    parser.add_argument(
        "-q", "--quiet", action="store_true", help="print messages only, nothing of what went well"
    )


def _message_format(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--message-format", choices=("text", "json", "sarif"), default="text", help="how messages are written"
    )


# ---- values of options ---------------------------------------------------------------------------------------


def cells(text: str) -> frozenset[int] | None:
    """Parse `4,9-11` into a set of cells; None if it is no such list."""
    found_cells: set[int] = set()
    for part in text.split(",") if text else ():
        found = re.fullmatch(r"\s*([0-9]{1,4})(?:\s*-\s*([0-9]{1,4}))?\s*", part)
        if found is None or int(found[2] or found[1]) < int(found[1]):
            return None
        found_cells.update(range(int(found[1]), int(found[2] or found[1]) + 1))
    return frozenset(found_cells)


def in_list(texts: list[str]) -> tuple[str, ...]:
    """Return the names in lists with commas; "" for a name that is missing."""
    return tuple(name.strip() for text in texts for name in text.split(","))


def typed(path: str) -> str:
    """Return a path as it must be typed behind a command of a shell."""
    return shlex.quote(f"./{path}" if path.startswith("-") else path)
