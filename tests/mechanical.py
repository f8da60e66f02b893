"""A small rig of things that weigh, leads and cases, in which a test changes what it speaks of."""

from __future__ import annotations

from cardlines import group_words, squeezed
from rigcard.documents.base.model import Page, Text
from rigcard.documents.cards.card_set import card_pack
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved

FACE = EmbeddedTypeface()


def said(page: Page) -> str:
    """The text of a page, without spaces."""
    return squeezed("".join(mark.text for mark in page.marks if isinstance(mark, Text)))


def on_cards(solved: Solved, title: str) -> str:
    """The text of the cards of a title, without spaces."""
    (found,) = (found for found in card_pack(FACE, solved) if found.group.title == title)
    return squeezed(group_words(found))


HANGING_RIG = """\
rig "Build" {{ revision "A" }}
signal line "Serial" carries 16 channels {line}
signal dc "Power" carries power
{top}
model set "Handset" {{ role handset; stick across "Across" left to right springs; channels 8
  pulse 1500us centre, 4us per 1%; travel 0%..140% step 1%; subtrim -80..80 steps, 80 steps = 12%, shifts whole
  reverse before subtrim; mix before travel; output -150%..150%; mass 1kg }}
model rec "Receiver" {{ role receiver; channels 8; port bus out line; mass 20g }}
model hung "Head" {{ role head; port remote in line; port dc, dc-2 in dc {by}; mass 4.5kg; carries {carries}
  input pan on remote "Pan" {{ sweeps left to right }} }}
model pack "Pack" {{ role pack; port out, out-2 out dc {by}; mass 0.8kg }}
{models}
unit hs is set "Handset" {{ memory 1 "B"; channel 1 pan from across failsafe 0% {hs} }}
unit rx is rec "Receiver" {{ bound to hs }}
unit head is hung "Head" {{ input pan from pan {head} }}
unit pk is pack "Pack" {{ {pk} }}
cable W1 "Lead" {{ rx.bus to head.remote; length 500mm; jacket 3mm; moving {w1} }}
cable P1 "Power" {{ pk.out to head.dc; jacket 6mm; moving {p1} }}
{units}
"""
USUAL_PARTS = {
    "line": "", "top": "", "by": "", "carries": "7kg", "models": "", "hs": "", "head": "", "pk": "note \"Full.\"",
    "w1": "", "p1": "; length 1m", "units": "",
}  # fmt: skip


def text_of(**parts: str) -> str:
    """The rig with the parts that a test changes."""
    assert parts.keys() <= USUAL_PARTS.keys()
    return HANGING_RIG.format(**{**USUAL_PARTS, **parts})


KINDS = 'connector a "A"\nconnector b "B" mates c\nconnector c "C"\nconnector d "D"'
CASE = 'case "Case 1" empty 7.2kg up to 23kg'


def boxed(limit: str, stand: str) -> str:
    """A case of 7.2 kg with head 4.5, pack 0.8, leads 0.2 and a stand."""
    return text_of(
        top=CASE.replace("23kg", limit),
        carries="99kg",
        models=f'model stand "Stand" {{ role other; mass {stand} }}',
        head='; case "Case 1"',
        pk='case "Case 1"',
        w1='; mass 0.1kg; case "Case 1"',
        p1='; length 1m; mass 0.1kg; case "Case 1"',
        units='unit st is stand "Stand" { mounted on head; case "Case 1" }',
    )


TWO = 'cable P2 "Second" {{ pk.out-2 to head.dc-2; length 1m; jacket 6mm; moving {0} }}'
