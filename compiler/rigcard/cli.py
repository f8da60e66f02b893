"""The command line. The only module that prints, exits, or reads the clock or the environment."""

from __future__ import annotations

import argparse
import errno
import gc
import os
import re
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from io import TextIOWrapper
from typing import TYPE_CHECKING, NamedTuple, TextIO

from rigcard.arguments import UsageError, cells, in_list, parser_of_commands
from rigcard.diagnostics import Diagnostic, Diagnostics, Severity
from rigcard.reporting.as_text import as_text, printable

if TYPE_CHECKING:
    from rigcard.formatting.result import Result
    from rigcard.outputs.registry import Request
    from rigcard.pipeline import Papers

CLEAN, FAULTS, UNUSABLE, WITHOUT_DRAWING = 0, 1, 2, 3
FOREIGN = ("RL_", "SOURCE_DATE_EPOCH")  # what variables begin with that reportlab reads
MOST_SHOWN = 100  # messages of one file as text; JSON has them all


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code."""
    for name in [name for name in os.environ if name.startswith(FOREIGN)]:
        del os.environ[name]  # libraries read them: the papers must have the same bytes for everybody
    gc.set_threshold(100_000)  # a run is short and makes few reference cycles
    for name in ("stdout", "stderr"):  # the caller may have closed them
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115 - never closed
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # an old console encodes few characters; show the rest as `?`
            stream.reconfigure(errors="replace")
    code = CLEAN
    try:
        code = _run(arguments)
        sys.stdout.flush()
    except BrokenPipeError:  # the reader of the output has gone, so nobody would see a message
        _discard(sys.stdout)
    except OSError as fault:
        if fault.errno not in (errno.ENOSPC, errno.EIO, errno.EBADF):
            raise
        _discard(sys.stdout)
        return _usage(f"the output cannot be written: {fault.strerror}", "free the disk, or send it elsewhere")
    except KeyboardInterrupt:
        _tell("rigcard: stopped; papers not yet replaced are as they were")
        return 130
    return code


def _run(arguments: Sequence[str] | None) -> int:
    try:
        options = parser_of_commands().parse_args(arguments)
    except SystemExit as done:  # --help or --version, which argparse has printed
        return int(done.code or 0)
    except UsageError as wrong:
        return _usage(wrong.cause, wrong.hint)
    for folder in getattr(options, "stock", ()):
        if not os.path.isdir(folder):
            return _usage(f"--stock {folder} is no folder", "name a folder that is there, or leave --stock out")
    commands: dict[str, Callable[[argparse.Namespace], int]] = {
        "build": _build,
        "check": _check,
        "show": _show,
        "compare": _compare,
        "faults": _faults,
        "new": _new,
        "format": _format,
        "explain": _explain,
        "language_server": _language_server,
    }
    return commands[options.command](options)


def _say(text: str) -> None:
    print(printable(text))


def _tell(text: str) -> None:
    try:
        print(text, file=sys.stderr, flush=True)
    except OSError:
        _discard(sys.stderr)


def _discard(stream: TextIO) -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


# ---- commands ------------------------------------------------------------------------------------------------


def _build(options: argparse.Namespace) -> int:
    from rigcard.batch import in_order
    from rigcard.documents.base.paper import ONE_SIDED
    from rigcard.outputs.registry import KINDS, Request

    if options.jobs < 0:
        return _usage(f"--jobs {options.jobs} is no number of rigs", "write it as --jobs 2")
    named = in_list(options.label)
    if "" in named:
        return _usage("--label lacks the name of a label", "write it as --label S02-A, or --label S02-A,S02-B")
    if len(options.files) > 1 and (options.start > 1 or options.skip):
        return _usage(
            f"--{'start' if options.start > 1 else 'skip'} with {len(options.files)} rigs: "
            "each would use the same cells of one sheet",
            "build them one after the other: each build says which cell is the next",
        )
    only = tuple(options.only or (["labels"] if named else KINDS))
    unknown = [kind for kind in only if kind not in KINDS]
    if unknown:
        return _usage(f"there is no kind of paper named {unknown[0]}", f"use one of {', '.join(KINDS)}")
    skip = cells(options.skip)
    if skip is None:
        return _usage(f"--skip {options.skip} is no list of cells", "write it as --skip 4,9-11")
    since = _earlier(options.changed_since)
    if since is None:
        return UNUSABLE
    from unicodedata import normalize

    flip = ONE_SIDED if options.one_sided else options.flip
    request = Request(only, options.role, options.start, skip, since, flip, named)
    folders = [os.path.join(options.output, _stem(name)) for name in options.files]
    alike = [normalize("NFC", folder).casefold() for folder in folders]  # to some file systems
    doubled = [name for name, folder in zip(options.files, alike, strict=True) if alike.count(folder) > 1]
    if doubled:
        return _usage(
            f"{doubled[0]} and {doubled[1]} would write to the same folder"
            + (
                ""
                if folders.count(folders[options.files.index(doubled[0])]) > 1
                else ", where capitals do not count"
            ),
            "give each a folder of its own with -o",
        )
    reporter = _Reporter(options.message_format, len(options.files), options.strict, options.quiet)
    rules: list[str] = []
    jobs = min(options.jobs or os.cpu_count() or 1, len(options.files))
    work = partial(_build_one, options, request, _cache())
    results = in_order(work, list(zip(options.files, folders, strict=True)), jobs)
    for name, folder in zip(options.files, folders, strict=True):
        reporter.begin(name)
        done = next(results) or _killed(name)
        if done.rule is not None:
            rules.append(done.rule)
        reporter.end(done.diagnostics, done.said, folder, done.notes)
    if options.depfile and len(rules) == len(folders):
        from rigcard.writer import depfile_written

        reporter.end(depfile_written(options.depfile, "".join(rules)), "", None)
    return reporter.close()


class _Built(NamedTuple):
    """What became of one rig; `rule` is its part of the depfile, None where no papers were written."""

    diagnostics: Diagnostics
    said: str
    rule: str | None
    notes: tuple[Diagnostic, ...] = ()


def _build_one(
    options: argparse.Namespace, request: Request, cache: str | None, place: tuple[str, str]
) -> _Built:
    """Build one rig and write its papers; `place` is its file and its folder. Another process may do this."""
    from rigcard.outputs.earlier import TO_KNOW
    from rigcard.pipeline import build_rig
    from rigcard.writer import papers_written

    name, folder = place
    diagnostics = Diagnostics()
    papers = build_rig(name, diagnostics, cache, request, options.stock)
    if papers is None or diagnostics.refuses(options.strict):
        return _Built(diagnostics, "", None)
    rule = _rule(options, folder, papers, diagnostics)
    if rule is None or not papers_written(folder, papers.files, papers.stale, diagnostics):
        return _Built(diagnostics, "", None)
    remark = f"\n{papers.remark}" if papers.remark else ""
    notes = tuple(
        Diagnostic(TO_KNOW, None, text, "rigcard explain RC553", where=folder)
        for text in papers.remark.split("\n")
        if text
    )
    return _Built(diagnostics, f"{printable(folder)}: {', '.join(papers.files)}{remark}", rule, notes)


def _killed(name: str) -> _Built:
    """For a rig whose process ended without a result, as the system does when memory runs out."""
    from rigcard.writer import UNWRITABLE

    diagnostics = Diagnostics()
    cause = "the process that built it was stopped from outside; what was there is as it was"
    diagnostics.report(UNWRITABLE, None, cause, "build it alone, with `--jobs 1`", where=name)
    return _Built(diagnostics, "", None)


def _rule(options: argparse.Namespace, folder: str, papers: Papers, diagnostics: Diagnostics) -> str | None:
    """Return the depfile's rule for a rig: "" if none is wanted, None, with a report, if there can be none."""
    from rigcard.depfile import rule
    from rigcard.writer import UNWRITABLE

    if not options.depfile:
        return ""
    targets = [os.path.join(folder, name) for name in papers.files]
    written = {os.path.realpath(name) for name in targets}
    since = [options.changed_since] if options.changed_since else []
    used = {".rig", *written, *map(os.path.realpath, (*papers.sources, *since))}
    if {os.path.realpath(options.depfile), options.depfile[-4:]} & used:
        diagnostics.report(
            UNWRITABLE,
            None,
            "the depfile would replace a rig file, or what this build reads or writes; nothing is written",
            "name it papers.d",
            where=options.depfile,
        )
        return None
    # leave out an earlier rig.json that this build replaces: a paper cannot depend on itself
    read = [*papers.sources, *(name for name in since if os.path.realpath(name) not in written)]
    try:
        return rule(targets, read)
    except ValueError as fault:
        diagnostics.report(
            UNWRITABLE,
            None,
            f"the depfile cannot be written: make and ninja do not read the name `{fault}` alike",
            "rename it with letters, digits, `-` and `_`",
            where=options.depfile,
        )
        return None


def _earlier(name: str | None) -> str | None:
    """Return the text of an earlier rig.json: "" without one; None, with a report, if it cannot be used."""
    from rigcard.compare.reading import earlier, text_of

    if name is None:
        return ""
    try:
        text = text_of(name)
        earlier(text)
    except (OSError, ValueError) as fault:
        _usage(
            f"{name} is no rig.json that can be compared with: {getattr(fault, 'strerror', None) or fault}",
            "give the rig.json that an earlier build of this release wrote, or print all",
        )
        return None
    return text


def _stem(name: str) -> str:
    """Return a file's name without its extension, as a folder name that every common system accepts."""
    own = os.path.basename(os.path.normpath(name))
    text = os.fsencode(own.rpartition(".")[0] or own).decode("utf-8", "replace")
    stem = re.sub(r'[<>:"/\\|?*\x00-\x1f\x7f-\x9f\ufffd]', "-", text).rstrip(". ")
    device = re.fullmatch(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?", stem, re.IGNORECASE)
    return os.fsdecode((f"rig-{stem}" if device else stem or "rig").encode())


def _check(options: argparse.Namespace) -> int:
    from rigcard.pipeline import prepare

    files = [*options.files, *(_users(options.files, options.stock) if options.users else ())]
    reporter = _Reporter(options.message_format, len(files), options.strict, options.quiet)
    for name in files:
        reporter.begin(name)
        diagnostics = Diagnostics()
        if options.fix and name in options.files:
            _fix(name, options, diagnostics)
        prepare(name, diagnostics, _cache(), None, options.stock)
        reporter.end(diagnostics, f"{printable(name)}: no errors", None)
    return reporter.close()


def _fix(name: str, options: argparse.Namespace, diagnostics: Diagnostics) -> None:
    """Put the exact remedies into a file and say which; a file that cannot be read is left to the check."""
    from rigcard.fixing import fixed
    from rigcard.writer import written_over

    try:
        result = fixed(name, options.stock)
    except (OSError, ValueError):
        return
    if result.changes and written_over(name, result.data, diagnostics) and options.message_format == "text":
        for change in result.changes:
            new, old = change.new.strip() or "nothing", change.old.strip() or "nothing"
            _say(f"{name}:{change.line}:{change.column}: wrote {new} in place of {old}")


def _users(files: Sequence[str], stock: Sequence[str]) -> list[str]:
    """Find the rig files below this folder that use one of the given files; unreadable ones are left out."""
    from rigcard.syntax.load import load

    asked = {os.path.realpath(name) for name in files}
    found = []
    for folder, inner, names in os.walk(os.curdir):
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        for name in sorted(names):
            path = os.path.normpath(os.path.join(folder, name))
            if not name.endswith(".rig") or os.path.realpath(path) in asked:
                continue
            program = load(path, Diagnostics(), _cache(), stock)
            if program and asked & {os.path.realpath(used) for used in program.sources}:
                found.append(path)
    return found


def _show(options: argparse.Namespace) -> int:
    from rigcard.exports.paths import all_paths, as_records, as_table, by_margin, known_names, paths_of
    from rigcard.pipeline import check_rig
    from rigcard.reporting.suggest import did_you_mean

    diagnostics = Diagnostics()
    values = check_rig(options.file, diagnostics, _cache(), options.stock).values
    reporter = _Reporter("text", 1)
    if values is None:
        reporter.end(diagnostics, "", None)
        return reporter.close()
    chosen = paths_of(values, options.name) if options.name else by_margin(values, all_paths(values))
    if chosen:
        text = as_records(values, chosen) if options.json else as_table(values, chosen)
        for line in text.split("\n"):
            _say(line)
        sys.stdout.flush()
    reporter.end(diagnostics, "", None)
    if chosen:
        return reporter.close()
    if not options.name:
        return _usage("no handset of this rig has a channel", "write `channel 1 record from two` in its unit")
    known = known_names(values)
    if options.name in known:
        return _usage(
            f"no channel's level goes through `{options.name}`", "look for it in wiring.pdf or the kit list"
        )
    hint = did_you_mean(options.name, known, "name a control, channel, pin, cable, input or command")
    return _usage(f"there is nothing named `{options.name}`", hint)


def _compare(options: argparse.Namespace) -> int:
    from rigcard.outputs.change import compared

    diagnostics = Diagnostics()
    as_json = options.message_format == "json"
    said = compared(options.old, options.new, as_json, options.output, _cache(), options.stock, diagnostics)
    for line in said.split("\n") if said else ():
        _say(line)
    sys.stdout.flush()
    reporter = _Reporter("text", 1)
    reporter.end(diagnostics, "", None)
    return reporter.close()


def _faults(options: argparse.Namespace) -> int:
    from rigcard.answering import answer

    def ask(question: str) -> str:
        _tell(f"{question} [y/n, Enter if you cannot say]")
        return sys.stdin.readline() if sys.stdin else ""

    found = answer(options, _cache(), ask if options.ask else None)
    if found.cause:
        return _usage(found.cause, found.hint)
    for line in found.text.split("\n") if found.text else ():
        _say(line)
    sys.stdout.flush()
    reporter = _Reporter("text", 1)
    reporter.end(found.diagnostics, "", None)
    return reporter.close()


def _new(options: argparse.Namespace) -> int:
    from rigcard.starter import STARTER

    path = options.file
    try:
        with open(path, "x", encoding="utf-8") as out:
            out.write(STARTER)
    except FileExistsError:
        return _usage(f"{path} is there already", "give another name; nothing was changed")
    except OSError as fault:
        return _usage(f"{path} cannot be written: {fault.strerror}", "give another place")
    typed = f"'{path}'" if " " in path else path
    _say(f"{path}: written. Next: rigcard build {typed}")
    return CLEAN


def _format(options: argparse.Namespace) -> int:
    from rigcard.formatting.layout import PartLostError
    from rigcard.formatting.result import laid_out
    from rigcard.syntax.load import LARGEST, as_raw, read_alone

    if "-" in options.files and (len(options.files) > 1 or sys.stdin is None):
        return _usage(
            "standard input is closed, or there are files beside it", "give - alone, or names of files"
        )
    reporter = _Reporter("text", len(options.files))
    reporter.sums_up = False
    code = CLEAN
    for name in options.files:
        reporter.begin(name)
        diagnostics = Diagnostics()
        said = ""
        raw = (
            as_raw(sys.stdin.buffer.read(LARGEST + 1), "standard input", diagnostics)
            if name == "-"
            else read_alone(name, diagnostics)
        )
        try:
            result = raw and laid_out(raw, diagnostics, _cache())
        except PartLostError:
            return _usage(f"{name} cannot be laid out without loss; it is as it was", "lay it out by hand")
        if raw and result:
            said = _use_layout(result, raw.source.name, options, diagnostics)
            code = FAULTS if options.check and result.changed else code
        reporter.end(diagnostics, said, None)
    return max(code, reporter.close())


def _use_layout(result: Result, name: str, options: argparse.Namespace, diagnostics: Diagnostics) -> str:
    """Print, list or write the result for a file; returns the message about it."""
    from rigcard.writer import written_over

    if options.diff:
        _pass_on(result.difference(name))
        return ""
    if options.check:
        return f"{printable(name)}: would change" if result.changed else ""
    if options.files == ["-"]:
        _pass_on(result.after)
        return ""
    if not result.changed:
        return f"{printable(name)}: laid out already"
    return f"{printable(name)}: laid out" if written_over(name, result.after, diagnostics) else ""


def _pass_on(data: bytes) -> None:
    """Write a file's bytes to standard output unchanged; a terminal gets only printable text."""
    if sys.stdout.isatty():
        print("\n".join(printable(line) for line in data.decode("utf-8").split("\n")), end="")
    else:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)


def _explain(options: argparse.Namespace) -> int:
    from rigcard.catalogue import all_codes, as_entry
    from rigcard.reporting.suggest import did_you_mean

    codes = all_codes()
    code = codes.get(options.code.upper())
    if code is None:
        hint = did_you_mean(options.code.upper(), codes, "grammar/codes.md lists all of them")
        return _usage(f"there is no message with the code {options.code}", hint)
    print(as_entry(code))
    return CLEAN


def _language_server(options: argparse.Namespace) -> int:
    from importlib.util import find_spec

    if find_spec("pygls") is None:
        return _usage("help for editors needs the package pygls", "pip install 'pygls>=2.1,<3'")
    import logging

    from rigcard.server.language_server import serve

    logging.getLogger("pygls").addHandler(logging.NullHandler())  # the editor shows what the user must know
    logging.getLogger("pygls").propagate = False
    with open(os.dup(sys.stdout.fileno()), "wb") as out:  # it is closed when the editor disconnects
        return serve(_cache(), sys.stdin.buffer, out)


# ---- what is printed -----------------------------------------------------------------------------------------


class _Reporter:
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
                _tell(remarks)  # standard output holds the messages alone
            return
        shown = found if len(found) <= MOST_SHOWN else (errors or found)[:MOST_SHOWN]
        some = f", {len(shown)} shown" if len(shown) < len(found) else ""
        for diagnostic in shown:
            _tell(as_text(diagnostic, self.colour))
        if errors:
            kept = (
                f"; no papers written, those in {printable(folder)} are as they were"
                if folder and os.path.exists(folder)
                else ""
            )
            _tell(f"{_count(len(errors), 'error')}{some}{kept}")
        elif success and not self.quiet:
            warnings = f" ({_count(len(found), 'warning')}{some})" if found else ""
            for line in f"{success}{warnings}".split("\n"):
                _say(line)

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
                _say(f"{_count(self.number, 'file')}: {faulty}, {_count(len(self.found), 'message')}")
            return self.code
        with suppress(BrokenPipeError):
            print(said)
        return self.code


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _usage(cause: str, hint: str) -> int:
    _tell(f"rigcard: {printable(cause)}\n  do: {printable(hint)}")
    return UNUSABLE


def _cache() -> str:
    """Return the folder for caches between runs; `syntax.cache_folder` judges whether it may be used."""
    return os.path.join(os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache"), "rigcard")
