"""The change card by itself, for `rigcard compare`."""

from __future__ import annotations

from rigcard.compare.comparison import Comparison
from rigcard.documents.base.language import speaking
from rigcard.documents.cards.card_set import card_document
from rigcard.documents.cards.change import change_card
from rigcard.documents.cards.frame import inner_width, lay
from rigcard.outputs.registry import Job
from rigcard.render.pdf import pdf


def change_pdf(job: Job, found: Comparison) -> bytes:
    """Return the change card of a comparison whose new side is the rig of a job."""
    rig = job.solved.rig
    with speaking(rig.language):
        card = lay(job.face, rig, change_card(job.face, inner_width(rig), found))
        document = card_document(job.face, job.solved, pack=[card], flip=job.request.flip)
    return pdf(document._replace(name="change"), job.face)
