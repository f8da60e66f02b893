"""The command `faults`: what the function test finds, or what explains the lines that failed, asked for one by one."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from typing import NamedTuple

from rigcard.diagnostics import Diagnostics
from rigcard.exports.faults import as_json, as_text, diagnosis_text, numbers_of, question, rest_of
from rigcard.faults.diagnosis import diagnose
from rigcard.faults.judged import Judged, judged
from rigcard.pipeline import check_rig

REST = "rest"  # every line that did not fail passed
Asked = tuple[frozenset[int], frozenset[int]]  # the lines that failed and those that passed, by index


class Answer(NamedTuple):
    """What is told; or the `cause` and remedy (`hint`) of wrong usage."""

    diagnostics: Diagnostics
    text: str = ""
    cause: str = ""
    hint: str = ""


def answer(
    options: Namespace, cache: str | None, tell: Callable[[str], None], read: Callable[[], str]
) -> Answer:
    """Answer for one rig. `tell` puts a question, `read` returns the line that is typed; "" at the end of input."""
    diagnostics = Diagnostics()
    solved = check_rig(options.file, diagnostics, cache, options.stock).solved
    if solved is None:
        return Answer(diagnostics)
    found = judged(solved)
    count = len(found.matrix.lines)
    rest = options.passed.strip() == REST
    failed, passed = numbers_of(options.failed, count), numbers_of("" if rest else options.passed, count)
    if failed is None or passed is None:
        name = "failed" if failed is None else "passed"
        text = getattr(options, name)
        cause = f"--{name} {text} is no list of lines from 1 to {count}"
        return Answer(diagnostics, cause=cause, hint=f"write it as --{name} 1,2")
    if both := sorted(failed & passed):
        cause = f"line {both[0] + 1} cannot have failed and passed"
        return Answer(diagnostics, cause=cause, hint="name it in one of the two lists")
    if rest:
        passed = rest_of(found.matrix, failed)
    if options.ask:
        failed, passed = _asked(found, (failed, passed), tell, read)
    if options.json:
        return Answer(diagnostics, as_json(found, failed, passed))
    if failed or passed or options.ask:
        return Answer(diagnostics, diagnosis_text(found, failed, passed))
    return Answer(diagnostics, as_text(found))


def _asked(found: Judged, known: Asked, tell: Callable[[str], None], read: Callable[[], str]) -> Asked:
    """Ask for one line after another until no line tells more: y, n, or nothing where nobody can say."""
    failed, passed = known
    skipped: frozenset[int] = frozenset()
    while (at := diagnose(found.matrix, failed, passed, skipped).next) is not None:
        tell(f"line {at + 1}: {question(found.matrix, at)} [y/n, Enter if you cannot say]")
        if not (typed := read()):
            break
        match typed.strip().lower()[:1]:
            case "y":
                passed |= {at}
            case "n":
                failed |= {at}
            case _:
                skipped |= {at}
    return failed, passed
