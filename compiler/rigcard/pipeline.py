"""The six passes in order: parse, resolve, check, solve, documents, render. A pass runs if none before found an error."""

import functools
import os
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from rigcard.check.check import check
from rigcard.diagnostics import Diagnostics
from rigcard.records import NamedTuple
from rigcard.resolve.links import trace
from rigcard.resolve.model import Rig
from rigcard.resolve.resolve import resolve
from rigcard.solve.solve import solve
from rigcard.solve.solved import Solved
from rigcard.source import StrPath
from rigcard.syntax.load import Program, Reader, from_disk, load, require_regular_file
from rigcard.words import listed, ranges

if TYPE_CHECKING:
    from rigcard.documents.cards.frame import NumberedGroup
    from rigcard.documents.labels.frame import Label
    from rigcard.render.typeface import EmbeddedTypeface

SOMETIMES = {  # what a kind of paper does not always have: an old one must not lie beside new papers
    "wiring": ("wiring.svg", "wiring-power.gv", "wiring-power.svg", "wiring.pdf"),
    "labels": ("labels.pdf",),
}
KINDS = ("cards", "wiring", "labels", "kit", "data")


class Checked(NamedTuple):
    """A program and what became of it; `solved` is None if an error stopped it."""

    program: Program | None
    solved: Solved | None


def check_rig(
    path: StrPath,
    diagnostics: Diagnostics,
    cache: str | None = None,
    stock: Sequence[str] = (),
    reader: Reader = from_disk,
) -> Checked:
    """Everything that needs no paper: parse, resolve, check, solve.

    `stock`: folders whose files it may use; `reader` gives a file's bytes where an editor holds what is not saved.
    """
    program = load(path, diagnostics, cache, stock, reader)
    if program is None:
        return Checked(None, None)
    rig = resolve(program, diagnostics)
    if rig is not None:
        _look_for_typeface(path, rig, diagnostics)
    if rig is None or diagnostics.failed():
        return Checked(program, None)
    links = trace(rig)
    check(rig, links, diagnostics)
    if diagnostics.failed():
        return Checked(program, None)
    solved = solve(rig, links, diagnostics)
    return Checked(program, None if diagnostics.failed() else solved)


def _look_for_typeface(path: StrPath, rig: Rig, diagnostics: Diagnostics) -> None:
    """Whether the files of the rig's own typeface can be read; what is in them is seen when papers are made."""
    own = rig.typeface
    for name in (own.regular, own.bold) if own else ():
        file = _beside(path, name)
        try:
            require_regular_file(file)
            with open(file, "rb"):
                continue
        except (OSError, ValueError) as fault:
            _typeface_unusable(rig, f"cannot be read: {getattr(fault, 'strerror', None) or fault}", diagnostics)
            return


def _typeface_unusable(rig: Rig, reason: str, diagnostics: Diagnostics) -> None:
    from rigcard.documents import codes

    assert rig.typeface is not None
    hint = "name another TrueType file, or leave `typeface` out"
    diagnostics.report(codes.TYPEFACE_UNUSABLE, rig.typeface.span, f"the typeface {reason}", hint)


class Wanted(NamedTuple):
    """Which papers to make, for which role, which cells of the first label sheet are used already, and the text
    of an earlier rig.json whose papers are still in use."""

    only: tuple[str, ...] = KINDS
    role: str = ""
    start: int = 1
    skip: frozenset[int] = frozenset()
    since: str = ""


class Papers(NamedTuple):
    """The papers by file name, names of papers that this rig does not have now, what to tell of the label sheets,
    and the names of the files that were read."""

    files: dict[str, bytes]
    stale: tuple[str, ...]
    remark: str
    sources: tuple[str, ...]


def build_rig(
    path: StrPath,
    diagnostics: Diagnostics,
    cache: str | None = None,
    wanted: Wanted = Wanted(),  # noqa: B008
    stock: Sequence[str] = (),
) -> Papers | None:
    """All papers of a rig, or None if an error stopped them."""
    program, solved = check_rig(path, diagnostics, cache, stock)
    if program is None or solved is None:
        return None
    from rigcard.documents.base.quoted_text import check_words
    from rigcard.documents.cards.card_set import numbered_cards
    from rigcard.documents.labels.label_sheets import all_labels

    face = _typeface(path, solved, diagnostics)
    if face is None:
        return None
    check_words(program.statements, face, diagnostics)
    _check_role(solved, wanted, diagnostics)
    # laid out once, to be judged, printed and told of in rig.json
    labels = functools.cache(lambda: all_labels(face, solved.rig))
    pack = functools.cache(lambda: numbered_cards(face, solved))
    if "labels" in wanted.only and not diagnostics.failed():
        _check_labels(face, solved, labels(), wanted, diagnostics)
    if diagnostics.failed():
        return None
    remarks: list[str] = []
    if {"cards", "data"} & set(wanted.only):
        _check_cautions(face, solved, pack(), diagnostics)
    if diagnostics.failed():
        return None
    makers: dict[str, Callable[[], dict[str, bytes]]] = {
        "cards": lambda: _cards(face, solved, pack(), wanted, remarks),
        "wiring": lambda: _wiring(face, solved, diagnostics),
        "labels": lambda: _labels(face, solved, labels(), wanted, remarks),
        "kit": lambda: _kit(face, solved),
        "data": lambda: _data(solved, pack(), labels()),
    }
    files = {name: data for kind in KINDS if kind in wanted.only for name, data in makers[kind]().items()}
    stale = tuple(name for kind in wanted.only for name in SOMETIMES.get(kind, ()) if name not in files)
    own = solved.rig.typeface
    fonts = dict.fromkeys(_beside(path, name) for name in (own.regular, own.bold)) if own else ()
    return Papers(files, stale, "\n".join(remarks), (*program.sources, *fonts))


def _beside(path: StrPath, name: str) -> str:
    """The path of a file named in the rig file."""
    return os.path.join(os.path.dirname(path), name)


def _typeface(path: StrPath, solved: Solved, diagnostics: Diagnostics) -> "EmbeddedTypeface | None":
    """The typeface of the papers, or None if a file that the rig names cannot be used."""
    from rigcard.render.typeface import EmbeddedTypeface, UnusableFontError  # reportlab, only for papers

    own = solved.rig.typeface
    if own is None:
        return EmbeddedTypeface()
    try:
        face = EmbeddedTypeface(_beside(path, own.regular), _beside(path, own.bold))
    except UnusableFontError as fault:
        reason = str(fault)
    else:
        if not face.unfit():
            return face
        reason = f"lacks {len(face.unfit())} signs that the papers use, such as `{face.unfit()[0]}`"
    _typeface_unusable(solved.rig, reason, diagnostics)
    return None


def _cards(
    face: "EmbeddedTypeface", solved: Solved, pack: list["NumberedGroup"], wanted: Wanted, remarks: list[str]
) -> dict[str, bytes]:
    from rigcard.documents.cards.card_set import card_document, recall
    from rigcard.exports.rig_json import still_valid
    from rigcard.render.pdf import pdf

    valid = still_valid(wanted.since).cards if wanted.since else {}
    if wanted.since:
        remarks.append(recall(pack, valid))
    return {"cards.pdf": pdf(card_document(face, solved, wanted.role, valid, pack), face)}


def _wiring(face: "EmbeddedTypeface", solved: Solved, diagnostics: Diagnostics) -> dict[str, bytes]:
    from rigcard.documents import codes
    from rigcard.documents.diagram.wiring import figure, power_graph, signal_graph, wiring_document
    from rigcard.render.dot import DotFailedError, DotMissingError, dot_source, place
    from rigcard.render.pdf import pdf
    from rigcard.render.svg import svg

    files: dict[str, bytes] = {}
    graphs = [graph for graph in (signal_graph(face, solved), power_graph(face, solved)) if graph.nodes]
    files.update({f"{graph.name}.gv": dot_source(graph).encode() for graph in graphs})
    placed = []
    try:
        placed = [(graph, place(graph)) for graph in graphs]
    except DotMissingError:
        diagnostics.report(
            codes.DOT_MISSING,
            None,
            "the program `dot` is not on this machine, so the wiring diagram is left out; its table is there",
            "install Graphviz: apt-get install graphviz",
            where="dot",
        )
    except DotFailedError as fault:
        diagnostics.report(
            codes.DOT_FAILED,
            None,
            f"the program `dot` gave no layout, so the wiring diagram is left out; its table is there: {fault}",
            "install Graphviz again: apt-get install --reinstall graphviz",
            where="dot",
        )
    for graph, placement in placed:
        title = f"{solved.rig.title}: {graph.title}"
        files[f"{graph.name}.svg"] = svg(
            figure(face, solved.rig, graph, placement), title, face.family
        ).encode()
    document = wiring_document(face, solved, placed)
    if document.pages:
        files["wiring.pdf"] = pdf(document, face)
    return files


def _check_cautions(
    face: "EmbeddedTypeface", solved: Solved, pack: list["NumberedGroup"], diagnostics: Diagnostics
) -> None:
    from rigcard.documents import codes
    from rigcard.documents.cards.frame import crowded

    for found in pack:
        if crowded(face, solved.rig, found.group):
            diagnostics.report(
                codes.CAUTIONS_TOO_TALL,
                solved.rig.span,
                f"the cautions of the card `{found.group.title}` are taller than the card has room for",
                "shorten the titles of the rig and the job, or write `card a5` in the rig block",
            )


def _check_role(solved: Solved, wanted: Wanted, diagnostics: Diagnostics) -> None:
    from rigcard.documents import codes
    from rigcard.documents.cards.frame import TECHNICIAN
    from rigcard.reporting.suggest import did_you_mean, one_of

    known = [*solved.rig.crew, TECHNICIAN]
    if wanted.role and wanted.role not in known:
        diagnostics.report(
            codes.NO_ROLE,
            solved.rig.span,
            f"the rig has no crew role named `{wanted.role}`",
            did_you_mean(wanted.role, known, f"known: {one_of(known)}"),
        )


def _check_labels(
    face: "EmbeddedTypeface", solved: Solved, made: list["Label"], wanted: Wanted, diagnostics: Diagnostics
) -> None:
    from rigcard.documents import codes
    from rigcard.documents.labels.label_sheets import largest, sheet_that_holds, too_large

    sheet = solved.rig.sheet
    numbers = {wanted.start, *wanted.skip}
    if (sheet is None and numbers != {1}) or (sheet and not 1 <= min(numbers) <= max(numbers) <= sheet.cells):
        has = f"sheet {sheet.name} has {sheet.cells} cells" if sheet else "the rig names no sheet of labels"
        diagnostics.report(
            codes.NO_CELL,
            solved.rig.span,
            f"{has}, and cell {max(numbers)} is asked for",
            "count the cells in reading order, from 1"
            if sheet
            else "write `labels on a4-3x8-70x37`, or the name of a `sheet`, in the rig block",
        )
    large = too_large(face, solved.rig, made)
    if large:
        width, height = largest(solved.rig)
        where = f"the cells of sheet {sheet.name}" if sheet else f"a sheet of {solved.rig.paper} film"
        shown = listed([f"{label.name} ({label.width:g} x {label.height:.1f} mm)" for label in large[:4]])
        more = f" and {len(large) - 4} more" if len(large) > 4 else ""
        other = sheet_that_holds(face, solved.rig) if sheet else ""
        film = (
            f"leave `labels on` out: film that is cut by hand; no common {sheet.page} sheet holds them"
            if sheet
            else ""
        )
        larger = f"write `labels on {other}`: its cells hold all labels" if other else film
        diagnostics.report(
            codes.LABEL_TOO_LARGE,
            solved.rig.span,
            f"{shown}{more} {'do' if len(large) > 1 else 'does'} not fit {where}, {width:g} x {height:g} mm",
            larger if sheet else "measure the jacket again",
        )
    bare = {label.name for label in made if not label.whole}
    for cable in solved.rig.cables.values():
        if bare & {f"{leg.id}-{letter}" for leg in cable.legs for letter in "AB"}:
            diagnostics.report(
                codes.ID_ALONE,
                cable.span,
                f"a label of `{cable.name}` has room for its id alone, not for where the plug goes",
                "shorten the titles of its units" + (", or use a sheet with wider cells" if sheet else ""),
            )


def _labels(
    face: "EmbeddedTypeface", solved: Solved, made: list["Label"], wanted: Wanted, remarks: list[str]
) -> dict[str, bytes]:
    from rigcard.documents.labels.label_sheets import SHEDDING, Used, label_sheets
    from rigcard.exports.rig_json import still_valid
    from rigcard.render.pdf import pdf

    valid = still_valid(wanted.since).labels if wanted.since else {}
    used = Used(wanted.start, wanted.skip, valid)
    outcome = label_sheets(face, solved.rig, used, made)
    sheet = solved.rig.sheet
    if sheet and outcome.next_cell:
        row, column = divmod(outcome.next_cell - 1, sheet.columns)
        place = f"row {row + 1}, column {column + 1}"
        cells = [f"sheet {number}: {ranges(cells)}" for number, cells in enumerate(outcome.cells, 1)]
        remarks.append(
            f"labels: cells used: {'; '.join(cells) or 'none'}; "
            f"next free cell {outcome.next_cell} ({place}), {outcome.cells_left} left on the last sheet"
        )
        if used.part_used:
            remarks.append(f"labels: {SHEDDING}")
    return {"labels.pdf": pdf(outcome.document, face)} if outcome.document.pages else {}


def _kit(face: "EmbeddedTypeface", solved: Solved) -> dict[str, bytes]:
    from rigcard.documents.kit.kit_list import kit_csv, kit_document
    from rigcard.render.pdf import pdf

    text = kit_csv(solved)
    return {"kit.pdf": pdf(kit_document(face, solved), face), "kit.csv": text.encode("utf-8-sig")}


def _data(solved: Solved, pack: list["NumberedGroup"], labels: list["Label"]) -> dict[str, bytes]:
    from rigcard.exports.rig_json import rig_json

    return {"rig.json": rig_json(solved, pack, labels).encode()}
