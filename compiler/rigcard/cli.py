"""The command line: runs the commands. It and its reporter are the only modules that print or read the environment."""

from __future__ import annotations

import argparse
import errno
import gc
import os
import sys
from collections.abc import Callable, Sequence
from functools import partial
from io import TextIOWrapper
from typing import TYPE_CHECKING

from rigcard.arguments import UsageError, cells, in_list, parser_of_commands, typed
from rigcard.diagnostics import Diagnostics
from rigcard.reporter import CLEAN, FAULTS, UNUSABLE, Reporter, discard, print_line, tell, usage
from rigcard.reporting.as_text import printable

if TYPE_CHECKING:
    from rigcard.building import Built
    from rigcard.formatting.result import Result

GONE = ("the working folder is no longer there", "cd /, or to any folder that is there")
LONGEST_ANSWER = 1000  # bytes
FOREIGN = ("RL_", "SOURCE_DATE_EPOCH")  # what variables begin with that reportlab reads


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
        discard(sys.stdout)
    except OSError as fault:
        if _homeless():  # somebody removed it while `--watch` or an answer was waited for
            return usage(*GONE)
        if fault.errno not in (errno.ENOSPC, errno.EIO, errno.EBADF):
            raise
        discard(sys.stdout)
        return usage(f"the output cannot be written: {fault.strerror}", "free the disk, or send it elsewhere")
    except KeyboardInterrupt:
        tell("rigcard: stopped; papers not yet replaced are as they were")
        return 130
    return code


def _homeless() -> bool:
    """Whether the working folder has been removed: no name of a file leads anywhere then."""
    try:
        os.getcwd()
    except OSError:
        return True
    return False


def _run(arguments: Sequence[str] | None) -> int:
    try:
        return _obey(arguments)
    except SystemExit as done:  # --help or --version, which argparse has printed
        return int(done.code or 0)
    except UsageError as wrong:
        return usage(wrong.cause, wrong.hint)


def _obey(arguments: Sequence[str] | None) -> int:
    options = parser_of_commands().parse_args(arguments)
    if _homeless():
        return usage(*GONE)
    for folder in getattr(options, "stock", ()):
        if not os.path.isdir(folder):
            return usage(f"--stock {folder} is no folder", "name a folder that is there, or leave --stock out")
    commands: dict[str, Callable[[argparse.Namespace], int]] = {
        "build": _build,
        "check": _check,
        "show": _show,
        "compare": _compare,
        "bench": _bench,
        "faults": _faults,
        "new": _new,
        "format": _format,
        "explain": _explain,
        "language_server": _language_server,
    }
    return commands[options.command](options)


# ---- commands ------------------------------------------------------------------------------------------------


def _build(options: argparse.Namespace) -> int:
    from rigcard.batch import in_order
    from rigcard.building import build_one, killed, write_depfile
    from rigcard.documents.base.paper import ONE_SIDED
    from rigcard.outputs.registry import KINDS, Request
    from rigcard.writer import folder_name

    if options.jobs < 0:
        return usage(f"--jobs {options.jobs} is no number of rigs", "write it as --jobs 2")
    if options.depfile == "":
        return usage("--depfile lacks the name of a file", "write it as --depfile papers.d")
    named = in_list(options.label)
    if "" in named:
        return usage("--label lacks the name of a label", "write it as --label S02-A, or --label S02-A,S02-B")
    if len(options.files) > 1 and (options.start > 1 or options.skip):
        return usage(
            f"--{'start' if options.start > 1 else 'skip'} with {len(options.files)} rigs: "
            "each would use the same cells of one sheet",
            "build them one after the other: each build says which cell is the next",
        )
    if named and "labels" not in (options.only or ["labels"]):
        return usage("--only leaves out the labels, and --label asks for one", "leave out --only")
    only = tuple(options.only or (["labels"] if named else KINDS))
    unknown = [kind for kind in only if kind not in KINDS]
    if unknown:
        return usage(f"there is no kind of paper named {unknown[0]}", f"use one of {', '.join(KINDS)}")
    skip = cells(options.skip)
    if skip is None:
        return usage(f"--skip {options.skip} is no list of cells", "write it as --skip 4,9-11")
    since = _earlier(options.changed_since)
    if since is None:
        return UNUSABLE
    from unicodedata import normalize

    flip = ONE_SIDED if options.one_sided else options.flip
    request = Request(only, options.role, options.start, skip, since, flip, named)
    folders = [os.path.join(options.output, folder_name(name)) for name in options.files]
    alike = [normalize("NFC", folder).casefold() for folder in folders]  # to some file systems
    doubled = [name for name, folder in zip(options.files, alike, strict=True) if alike.count(folder) > 1]
    if doubled:
        return usage(
            f"{doubled[0]} and {doubled[1]} would write to the same folder"
            + (
                ""
                if folders.count(folders[options.files.index(doubled[0])]) > 1
                else ", where capitals do not count"
            ),
            "give each a folder of its own with -o",
        )
    work = partial(build_one, options, request, _cache())
    if options.watch:
        if options.message_format != "text" or options.depfile:
            return usage("--watch never ends, and prints text", "leave out --message-format and --depfile")
        return _watch(options, work, list(zip(options.files, folders, strict=True)))
    reporter = Reporter(options.message_format, len(options.files), options.strict, options.quiet)
    rules: list[str] = []
    jobs = min(options.jobs or os.cpu_count() or 1, len(options.files))
    results = in_order(work, list(zip(options.files, folders, strict=True)), jobs)
    for name, folder in zip(options.files, folders, strict=True):
        reporter.begin(name)
        done = next(results) or killed(name)
        if done.rule is not None:
            rules.append(done.rule)
        reporter.end(done.diagnostics, done.said, folder, done.notes)
    if options.depfile and len(rules) == len(folders):
        reporter.end(write_depfile(options.depfile, "".join(rules)), "", None)
    return reporter.close()


def _watch(
    options: argparse.Namespace, work: Callable[[tuple[str, str]], Built], places: list[tuple[str, str]]
) -> int:
    """Build, then build again what a change touches, until somebody interrupts; the code is that of the last builds."""
    from rigcard.watching import changed, files_for, news, state_of, waker

    wake = waker()
    codes, read = {}, {name: files_for(name, options.stock) for name, _ in places}
    changes: set[str] = set()
    try:
        while True:
            before = state_of(sorted(set().union(*read.values())))
            for name, folder in places:
                if changes and not changes & read[name]:
                    continue
                done = work((name, folder))
                reporter = Reporter("text", 1, options.strict, options.quiet)
                said = f"{name}: {news(changes, done.new, done.papers)}" if changes else done.said
                reporter.end(done.diagnostics, said, folder)
                codes[name] = reporter.close()
                read[name] = {*files_for(name, options.stock), *done.read}
            sys.stdout.flush()
            missed = set().union(*read.values()) - before.keys()  # used for the first time
            changes = changed({**before, **state_of(missed)}, wake)
    except KeyboardInterrupt:
        return max(codes.values(), default=CLEAN)


def _earlier(name: str | None) -> str | None:
    """Return the text of an earlier rig.json: "" without one; None, with a report, if it cannot be used."""
    from rigcard.compare.reading import earlier, text_of

    if name is None:
        return ""
    try:
        text = text_of(name)
        earlier(text)
    except (OSError, ValueError) as fault:
        usage(
            f"{name} is no rig.json that can be compared with: {getattr(fault, 'strerror', None) or fault}",
            "give the rig.json that an earlier build of this release wrote, or print all",
        )
        return None
    return text


def _check(options: argparse.Namespace) -> int:
    from rigcard.pipeline import prepare
    from rigcard.syntax.load import users_of

    files = [*options.files, *(users_of(options.files, _cache(), options.stock) if options.users else ())]
    reporter = Reporter(options.message_format, len(files), options.strict, options.quiet)
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
    from rigcard.building import write_rig
    from rigcard.fixing import fixed

    try:
        result = fixed(name, options.stock)
    except (OSError, ValueError):
        return
    if result.changes and write_rig(name, result.data, diagnostics) and options.message_format == "text":
        for change in result.changes:
            new, old = change.new.strip() or "nothing", change.old.strip() or "nothing"
            print_line(f"{name}:{change.line}:{change.column}: wrote {new} in place of {old}")


def _show(options: argparse.Namespace) -> int:
    from rigcard.exports.paths import all_paths, as_records, as_table, by_margin, known_names, paths_of
    from rigcard.pipeline import check_rig
    from rigcard.reporting.suggest import did_you_mean

    diagnostics = Diagnostics()
    checked = check_rig(options.file, diagnostics, _cache(), options.stock)
    values = checked.values
    reporter = Reporter("text", 1)
    if checked.models and not diagnostics.failed():
        from rigcard.exports.gallery import as_gallery

        if options.name or options.json:
            return usage(
                f"{options.file} has models alone, and no paths", f"rigcard show {typed(options.file)}"
            )
        for line in as_gallery(checked.models, options.file).split("\n"):
            print_line(line)
    if values is None:
        reporter.end(diagnostics, "", None)
        return reporter.close()
    chosen = paths_of(values, options.name) if options.name else by_margin(values, all_paths(values))
    if chosen:
        text = as_records(values, chosen) if options.json else as_table(values, chosen)
        for line in text.split("\n"):
            print_line(line)
        sys.stdout.flush()
    reporter.end(diagnostics, "", None)
    if chosen:
        return reporter.close()
    if not options.name:
        return usage("no handset of this rig has a channel", "write `channel 1 record from two` in its unit")
    known = known_names(values)
    if options.name in known:
        return usage(
            f"no channel's level goes through `{options.name}`", "look for it in wiring.pdf or the kit list"
        )
    hint = did_you_mean(options.name, known, "name a control, channel, pin, cable, input or command")
    return usage(f"there is nothing named `{options.name}`", hint)


def _bench(options: argparse.Namespace) -> int:
    from rigcard.building import write_papers
    from rigcard.pipeline import bench_cards
    from rigcard.writer import folder_name

    diagnostics = Diagnostics()
    folder, said = os.path.join(options.output, folder_name(options.file)), ""
    papers = bench_cards(options.file, diagnostics, _cache(), options.stock)
    kept = papers and not papers.files and not os.path.isdir(folder)  # no card to write, and none to take away
    if papers and (kept or write_papers(folder, papers, diagnostics)):
        said = "".join(f"{printable(folder)}: {name}\n" for name in papers.files) + papers.remark
    reporter = Reporter("text", 1)
    reporter.end(diagnostics, said, None)
    return reporter.close()


def _faults(options: argparse.Namespace) -> int:
    from rigcard.answering import answer

    found = answer(options, _cache(), tell, _typed_line)
    if found.cause:
        return usage(found.cause, found.hint)
    for line in found.text.splitlines():
        print_line(line)
    reporter = Reporter("text", 1)
    reporter.end(found.diagnostics, "", None)
    return reporter.close()


def _typed_line() -> str:
    """Return a line that was typed, or the first part of what is no line; "" at the end of the input."""
    if sys.stdin is None:
        return ""
    return sys.stdin.buffer.readline(LONGEST_ANSWER).decode(errors="replace")


def _compare(options: argparse.Namespace) -> int:
    from rigcard.outputs.change import compared

    if options.output == "":
        return usage("-o lacks the name of the change card", "write it as -o change.pdf")
    diagnostics = Diagnostics()
    as_json = options.message_format == "json"
    said = compared(options.old, options.new, as_json, options.output, _cache(), options.stock, diagnostics)
    for line in said.split("\n") if said else ():
        print_line(line)
    sys.stdout.flush()
    reporter = Reporter("text", 1)
    reporter.end(diagnostics, "", None)
    return reporter.close()


def _new(options: argparse.Namespace) -> int:
    from rigcard.starter import write_start

    print_line(write_start(options.file, options.model))
    return CLEAN


def _format(options: argparse.Namespace) -> int:
    from rigcard.formatting.layout import PartLostError
    from rigcard.formatting.result import laid_out
    from rigcard.syntax.load import LARGEST, as_raw, read_alone

    if "-" in options.files and (len(options.files) > 1 or sys.stdin is None):
        return usage(
            "standard input is closed, or there are files beside it", "give - alone, or names of files"
        )
    reporter = Reporter("text", len(options.files))
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
            return usage(f"{name} cannot be laid out without loss; it is as it was", "lay it out by hand")
        if raw and result:
            said = _use_layout(result, raw.source.name, options, diagnostics)
            code = FAULTS if options.check and result.changed else code
        reporter.end(diagnostics, said, None)
    return max(code, reporter.close())


def _use_layout(result: Result, name: str, options: argparse.Namespace, diagnostics: Diagnostics) -> str:
    """Print, list or write the result for a file; returns the message about it."""
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
    from rigcard.building import write_rig

    return f"{printable(name)}: laid out" if write_rig(name, result.after, diagnostics) else ""


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
        return usage(f"there is no message with the code {options.code}", hint)
    print(as_entry(code))
    return CLEAN


def _language_server(options: argparse.Namespace) -> int:
    from importlib.util import find_spec

    if find_spec("pygls") is None:
        return usage("help for editors needs the package pygls", "pip install 'pygls>=2.1,<3'")
    if sys.stdin is None:
        return usage("standard input is closed, so no editor can be heard", "let the editor start it")
    import logging
    import signal

    from rigcard.server.language_server import serve

    signal.signal(signal.SIGINT, signal.SIG_DFL)  # a thread waits for the editor: only this ends it at once

    logging.getLogger("pygls").addHandler(logging.NullHandler())  # the editor shows what the user must know
    logging.getLogger("pygls").propagate = False
    with open(os.dup(sys.stdout.fileno()), "wb") as out:  # it is closed when the editor disconnects
        return serve(_cache(), sys.stdin.buffer, out)


def _cache() -> str:
    """Return the folder for caches between runs; `syntax.cache_folder` judges whether it may be used."""
    return os.path.join(os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache"), "rigcard")
