"""rig.json: the solved rig for other programs."""

from rigcard.diagnostics import Diagnostics
from rigcard.exports.rig_json import rig_json
from rigcard.outputs import cards
from rigcard.outputs.registry import Job, output


@output("data", check=cards.check)
def data(job: Job, diagnostics: Diagnostics) -> dict[str, bytes]:
    """Write every computed value, and the check codes of the cards and labels."""
    return {"rig.json": rig_json(job.data)}
