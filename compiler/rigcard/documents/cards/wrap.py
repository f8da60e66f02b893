"""What to restore before a device leaves the job: menu settings that the rig changed from their defaults."""

from __future__ import annotations

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import BODY, TICK, Cell, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.cards.frame import TECHNICIAN, Group
from rigcard.resolve.model import Rig
from rigcard.solve.solved import Solved


def changed_settings(rig: Rig) -> list[tuple[str, str, str, str]]:
    """Return device title, menu, value for the rig and value to restore, if the model states the last one."""
    return [
        (unit.title, known.menu, value.text, known.default)
        for unit in rig.units.values()
        for name, value in unit.settings.items()
        if (known := unit.model.settings[name]).default and known.default != value.text
    ]


def wrap_card(face: Typeface, inner: float, solved: Solved) -> Group:
    """Make the card; only for a rig that has changed a setting."""
    rows = [
        [Cell(title, BODY), Cell(menu, BODY), Cell(now, BODY), Cell(back, BODY, True), TICK]
        for title, menu, now, back in changed_settings(solved.rig)
    ]
    many = sum(unit.role == "handset" for unit in solved.rig.units.values()) > 1
    then = (
        say("Then clear the memory of each handset, or say whose it is.")
        if many
        else say("Then clear the memory of the handset, or say whose it is.")
    )
    rest = inner - 11.0
    widths = (rest * 0.24, rest * 0.36, rest * 0.2, rest * 0.2, 11.0)
    blocks = (
        table(face, (say("DEVICE"), say("MENU"), say("NOW"), say("BACK TO"), say("DONE")), rows, widths),
        paragraph(face, then, inner),
    )
    return Group(say("WRAP"), say("put back at wrap"), blocks, (), TECHNICIAN)
