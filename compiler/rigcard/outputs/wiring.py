"""The wiring: wiring.pdf, and each drawing as SVG and as DOT source."""

from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.documents.diagram.wiring import figure, wiring_document
from rigcard.outputs.registry import Job, output
from rigcard.render.dot import DotFailedError, DotMissingError, dot_source, place
from rigcard.render.pdf import pdf
from rigcard.render.svg import svg

DOT_MISSING = define(
    "RC511",
    Severity.WARNING,
    "dot_missing",
    """
    Reports: the program `dot` of Graphviz, which places the wiring diagram, is not on this machine.
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
    Reports: the program `dot` is there and gave no usable answer.
    Why: everything but the diagram is written; the diagram cannot be.
    Bad: a broken or very old Graphviz
    Good: Graphviz 2.40 or newer, installed again
    """,
    outside="program",
)


@output("wiring", sometimes=("wiring.svg", "wiring-power.gv", "wiring-power.svg", "wiring.pdf"))
def wiring(job: Job, diagnostics: Diagnostics) -> dict[str, bytes]:
    """Make the drawings that the rig needs. Without `dot`, only the list of leads is made."""
    face, solved = job.face, job.solved
    files: dict[str, bytes] = {}
    files.update({f"{graph.name}.gv": dot_source(graph).encode() for graph in job.graphs})
    placed = []
    try:
        placed = [(graph, place(graph)) for graph in job.graphs]
    except DotMissingError:
        diagnostics.report(
            DOT_MISSING,
            None,
            "the program `dot` is not on this machine, so the wiring diagram is left out; its table is there",
            "install Graphviz: apt-get install graphviz",
            where="dot",
        )
    except DotFailedError as fault:
        diagnostics.report(
            DOT_FAILED,
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
