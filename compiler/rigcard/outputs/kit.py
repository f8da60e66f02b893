"""kit.pdf and kit.csv: the kit list and the lid sheets."""

from rigcard.diagnostics import Diagnostics
from rigcard.documents.kit.kit_list import kit_csv
from rigcard.outputs.registry import Job, output
from rigcard.render.pdf import pdf


@output("kit")
def kit(job: Job, diagnostics: Diagnostics) -> dict[str, bytes]:
    """Make the list on paper, and as a table in UTF-8 with a byte order mark, which spreadsheets look for."""
    return {
        "kit.pdf": pdf(job.kit, job.face),
        "kit.csv": kit_csv(job.solved).encode("utf-8-sig"),
    }
