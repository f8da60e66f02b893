"""cards.pdf: the set-up cards on sheets."""

from rigcard.compare.comparison import VALID
from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.documents.cards.card_set import card_document
from rigcard.documents.cards.change import change_card
from rigcard.documents.cards.frame import TECHNICIAN, crowded, headed, inner_width, lay
from rigcard.outputs.registry import Job, output
from rigcard.render.pdf import pdf
from rigcard.reporting.suggest import did_you_mean, one_of

NO_ROLE = define(
    "RC506",
    Severity.ERROR,
    "no_such_role",
    """
    Reports: `--role` with a role that the rig's crew does not have.
    Why: an empty set of cards would be printed for somebody.
    Bad: rigcard build gorge.rig --role operater
    Good: rigcard build gorge.rig --role operator
    """,
)
CAUTIONS_TOO_TALL = define(
    "RC510",
    Severity.ERROR,
    "cautions_too_tall",
    """
    Reports: a card whose pinned cautions are taller than the card has room for.
    Why: a caution is never dropped, cut or set smaller.
    Bad: a title of three lines on a card with seven hazards
    Good: a shorter title, or `card a5`
    """,
)


HEAD_TOO_LARGE = define(
    "RC515",
    Severity.ERROR,
    "head_too_large",
    """
    Reports: a card whose head and foot, with its title, revision, job and the name of the rig, take half of it or more.
    Why: the compiler never overprints, cuts off or shrinks words, so they have to be shorter.
    Bad: a title of sixty wide dashes, or a revision of four of them
    Good: revision "A"
    """,
)


def check(job: Job, diagnostics: Diagnostics) -> None:
    """Report a role that the crew does not have, and cautions that do not fit their card."""
    rig = job.solved.rig
    known = [*rig.crew, TECHNICIAN]
    if job.request.role and job.request.role not in known:
        diagnostics.report(
            NO_ROLE,
            rig.span,
            f"the rig has no crew role named `{job.request.role}`",
            did_you_mean(job.request.role, known, f"known: {one_of(known)}"),
        )
    for group in job.heads:
        if crowded(job.face, rig, group):
            diagnostics.report(
                CAUTIONS_TOO_TALL,
                rig.span,
                f"the cautions of the card `{group.title}` are taller than the card has room for",
                "shorten the titles of the rig and the job, or write `card a5` in the rig block",
            )
        elif not headed(job.face, rig, group):
            diagnostics.report(
                HEAD_TOO_LARGE,
                rig.span,
                f"title, revision, job and name of the rig leave no room on the card `{group.title}`",
                "shorten the longest of them; they are set in letters of at least 8 points and never cut",
            )
            return  # it is the same with every other card of that title


@output("cards", check=check, sometimes=("cards.pdf",))
def cards(job: Job, diagnostics: Diagnostics) -> dict[str, bytes]:
    """Make the cards of the whole crew or of one role; after an earlier build, only those that changed."""
    request, found, pack, rig = job.request, job.comparison, job.cards, job.solved.rig
    valid: dict[str, str] = {}
    if found:
        cards = [paper for paper in found.papers if paper.kind == "card"]
        if request.role:
            cards = [paper for paper in cards if paper.role in ("", request.role)]
        if all(paper.state == VALID and not paper.more for paper in cards):
            return {}
        valid = {
            paper.name: found.new.cards[paper.name].code
            for paper in cards
            if paper.state == VALID and not paper.more
        }
        marks = [laid.group.mark for laid in pack]
        pack = [lay(job.face, rig, change_card(job.face, inner_width(rig), found, marks)), *pack]
    document = card_document(job.face, job.solved, request.role, valid, pack, request.flip)
    files = {"cards.pdf": pdf(document, job.face)}
    job.cards_are_drawn()
    return files
