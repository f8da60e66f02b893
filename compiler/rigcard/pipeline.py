"""The passes in order: parse, resolve, check, solve, then the outputs. An error in one pass stops the next."""

from __future__ import annotations

import os
from collections.abc import Generator, Sequence
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from rigcard import nearby, own_typeface
from rigcard.check.check import check
from rigcard.diagnostics import Diagnostics
from rigcard.resolve.codes import UNKNOWN_IN_STOCK, UNKNOWN_LEFT
from rigcard.resolve.links import trace
from rigcard.resolve.model import Model
from rigcard.resolve.resolve import only_declares, resolve, resolve_bare, resolve_models
from rigcard.resolve.units import report_unknown
from rigcard.solve.learning.settling import settled
from rigcard.solve.solve import solve
from rigcard.solve.solved import Solved
from rigcard.source import StrPath
from rigcard.syntax.load import Parser, Program, Reader, from_disk, load

if TYPE_CHECKING:
    from rigcard.outputs.registry import Job, Request

T = TypeVar("T")


class Checked(NamedTuple):
    """A program and what the passes made of it; `solved` is None if an error stopped them.

    `values` also holds the computed values if a claim about them failed. They may be shown, but never printed
    on papers. `models`: those of a file that has nothing else.
    """

    program: Program | None
    solved: Solved | None
    values: Solved | None = None
    models: tuple[Model, ...] = ()


def check_rig(
    path: StrPath,
    diagnostics: Diagnostics,
    cache: str | None = None,
    stock: Sequence[str] = (),
    reader: Reader = from_disk,
) -> Checked:
    """Run every pass that makes no papers: parse, resolve, check, solve.

    `stock`: folders whose files it may use; `reader` returns a file's bytes, which may not be saved yet.
    """
    return finished(passes(path, diagnostics, cache, stock, reader))


def finished(steps: Generator[None, None, T]) -> T:
    """Run steps to their end, and return what they make."""
    while True:
        try:
            next(steps)
        except StopIteration as done:
            made: T = done.value
            return made


def passes(
    path: StrPath,
    diagnostics: Diagnostics,
    cache: str | None = None,
    stock: Sequence[str] = (),
    reader: Reader = from_disk,
    parser: Parser | None = None,
) -> Generator[None, None, Checked]:
    """The passes of `check_rig`, with a pause between any two, in which an editor may have changed its mind.

    `reader` returns a file's bytes, which an editor may hold unsaved, and `parser` its statements.
    """
    program = load(path, diagnostics, cache, stock, reader, parser)
    if program is None:
        return Checked(None, None)
    yield
    if only_declares(program):  # a file of models, checked by itself
        models = resolve_models(program, diagnostics, settled)
        report_unknown(models, diagnostics)
        return Checked(program, None, None, tuple(models))
    rig = resolve(program, diagnostics, settled)
    if rig is not None:
        own_typeface.check(path, rig, diagnostics, stock)
    if rig is None or diagnostics.failed():
        nearby.name_files(path, diagnostics)
        return Checked(program, None)
    yield
    links = trace(rig)
    check(rig, links, diagnostics)
    if diagnostics.failed():
        return Checked(program, None)
    yield
    values = solve(rig, links, diagnostics)
    if values and rig.spare_units and not diagnostics.failed():
        from rigcard.solve.spare_trial import try_spares  # few rigs have a spare of another model

        yield
        try_spares(values, diagnostics)
    return Checked(program, None if diagnostics.failed() else values, values)


class Prepared(NamedTuple):
    """A build before anything is written: the program, and a job without errors."""

    program: Program
    job: Job


def prepare(
    path: StrPath,
    diagnostics: Diagnostics,
    cache: str | None = None,
    request: Request | None = None,
    stock: Sequence[str] = (),
) -> Prepared | None:
    """Do everything that can refuse the papers.

    Checks the rig and its words in the typeface, and lays out cards and labels. Without a `request` nothing is
    computed that only papers need.
    """
    checked = check_rig(path, diagnostics, cache, stock)
    program, solved = checked.program, checked.solved
    if program is None or solved is None:
        return None
    from rigcard.documents.base.language import speaking
    from rigcard.documents.base.quoted_text import check_words  # draws, so only for a sound rig
    from rigcard.outputs.earlier import check_earlier
    from rigcard.outputs.registry import Job, Request, outputs

    face = own_typeface.load(path, solved.rig, diagnostics, stock)
    if face is None:
        return None
    check_words(program.statements, face, diagnostics)
    job = Job(solved, face, request or Request(), dry=request is None)
    with speaking(solved.rig.language):
        for output in outputs(job.request.only):
            if not diagnostics.failed():
                output.check(job, diagnostics)
        if not diagnostics.failed():
            check_earlier(job, diagnostics)
    return None if diagnostics.failed() else Prepared(program, job)


class Papers(NamedTuple):
    """The result of a build.

    It holds the papers by file name, the papers that this rig does not have now, remarks, and the names of the
    files that were read.
    """

    files: dict[str, bytes]
    stale: tuple[str, ...]
    remark: str
    sources: tuple[str, ...]


def build_rig(
    path: StrPath,
    diagnostics: Diagnostics,
    cache: str | None = None,
    request: Request | None = None,
    stock: Sequence[str] = (),
) -> Papers | None:
    """Make the requested papers, by default all of them; None if an error stopped them."""
    from rigcard.outputs.registry import Request, outputs

    prepared = prepare(path, diagnostics, cache, request or Request(), stock)
    if prepared is None:
        return None
    from rigcard.documents.base.language import speaking
    from rigcard.outputs.earlier import recalled

    program, job = prepared
    makers = outputs(job.request.only)
    with speaking(job.solved.rig.language):
        files = {name: data for maker in makers for name, data in maker.make(job, diagnostics).items()}
    stale = tuple(name for maker in makers for name in maker.sometimes if name not in files)
    sources = (*program.sources, *own_typeface.files(path, job.solved.rig, stock))
    return Papers(files, stale, "\n".join([*recalled(job), *job.remarks]), sources)


def bench_cards(
    path: StrPath, diagnostics: Diagnostics, cache: str | None = None, stock: Sequence[str] = ()
) -> Papers | None:
    """Make the bench cards of every model of a rig or of a file of models; None if an error stops them.

    That something is unknown does not: the cards are about it.
    """
    program = load(path, diagnostics, cache, stock)
    if program is None:
        return None
    said = Diagnostics()
    if only_declares(program):
        models = resolve_models(program, said, settled)
        rig = resolve_bare(program, os.path.basename(os.fspath(path)))
    else:
        rig = resolve(program, said, settled)
        models = list(rig.models.values()) if rig else []
    for found in said:
        if found.code not in (UNKNOWN_LEFT, UNKNOWN_IN_STOCK):
            diagnostics.add(found)
    face = None if rig is None or diagnostics.failed() else own_typeface.load(path, rig, diagnostics, stock)
    if rig is None or face is None:
        return None
    from rigcard.documents.base.language import speaking
    from rigcard.documents.base.quoted_text import check_words
    from rigcard.documents.cards.bench import bench_document
    from rigcard.exports.bench_lines import bench_lines
    from rigcard.render.pdf import pdf

    check_words(program.statements, face, diagnostics)
    if diagnostics.failed():
        return None
    drawn = [model for model in models if model.asks or (model.bench and model.bench.asks)]
    files = {}
    with speaking(rig.language):
        if drawn:
            files["bench.pdf"] = pdf(bench_document(face, rig, drawn), face)
    stale = () if drawn else ("bench.pdf",)
    return Papers(files, stale, "\n".join(bench_lines(models)), tuple(program.sources))
