"""The wiring: drawings (wiring.pdf, each also as SVG and as DOT source) and lists (wiring-list.pdf)."""

from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.documents.diagram.sheets import drawing_document, figure
from rigcard.outputs.registry import Job, output
from rigcard.render.dot import DotFailedError, DotMissingError, DotTooSlowError, dot_source, place
from rigcard.render.pdf import pdf
from rigcard.render.svg import svg

DOT_MISSING = define(
    "RC511",
    Severity.WARNING,
    "dot_missing",
    """
    Reports: a machine without the program `dot` of Graphviz, which places the wiring diagram.
    Why: everything but the diagram is written; the diagram cannot be.
    Bad: rigcard build gorge.rig, without Graphviz
    Good: apt-get install graphviz, then the same again
    """,
    outside="program",
)
DOT_FAILED = define(
    "RC512",
    Severity.WARNING,
    "dot_failed",
    """
    Reports: the program `dot` is there, but gave no usable answer, or none in the time that it has.
    Why: everything but the diagram is written; the diagram cannot be.
    Bad: a broken or very old Graphviz, or a machine with too much to do
    Good: Graphviz 2.40 or newer, installed again, or the same command later
    """,
    outside="program",
)


@output(
    "wiring", sometimes=("wiring.svg", "wiring-power.gv", "wiring-power.svg", "wiring.pdf", "wiring-list.pdf")
)
def wiring(job: Job, diagnostics: Diagnostics) -> dict[str, bytes]:
    """Make the drawings that the rig needs. Without `dot`, only the lists are made."""
    face, solved = job.face, job.solved
    files: dict[str, bytes] = {}
    sources = [dot_source(graph) for graph in job.graphs]
    files.update({f"{graph.name}.gv": text.encode() for graph, text in zip(job.graphs, sources, strict=True)})
    placed = []
    try:
        for graph, text in zip(job.graphs, sources, strict=True):
            placed.append((graph, place(graph, text)))
    except DotMissingError:
        diagnostics.report(
            DOT_MISSING,
            None,
            "the program `dot` is not on this machine, so the wiring diagram is left out; its lists are there",
            "install Graphviz: apt-get install graphviz",
            where="dot",
        )
    except DotFailedError as fault:
        again = "install Graphviz again: apt-get install --reinstall graphviz"
        if isinstance(fault, DotTooSlowError):
            source = f"{job.graphs[len(placed)].name}.gv"
            again = f"build when the machine has less to do, or beside the papers let it finish: dot -Tpdf -O {source}"
        placed = []
        diagnostics.report(
            DOT_FAILED,
            None,
            f"the program `dot` gave no layout, so the wiring diagram is left out; its lists are there: {fault}",
            again,
            where="dot",
        )
    for graph, placement in placed:
        title = f"{solved.rig.title}: {graph.title}"
        files[f"{graph.name}.svg"] = svg(
            figure(face, solved.rig, graph, placement), title, face.family
        ).encode()
    for document in (drawing_document(face, solved.rig, placed), job.lists):
        if document.pages:
            files[f"{document.name}.pdf"] = pdf(document, face)
    return files
