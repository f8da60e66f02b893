"""Registers outputs, and holds what they share: the rig, the typeface, cards and labels laid out once."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from importlib import import_module
from typing import Any, NamedTuple

from rigcard.compare.compare import Side, compare
from rigcard.compare.comparison import Comparison
from rigcard.compare.people import KIT
from rigcard.compare.read_facts import facts_of
from rigcard.compare.reading import earlier
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.full_sheet import sheets_of
from rigcard.documents.base.model import Document, Sheet
from rigcard.documents.base.paper import LONG_EDGE
from rigcard.documents.cards.card_set import card_heads, card_pack
from rigcard.documents.cards.frame import Group, LaidGroup
from rigcard.documents.diagram.graph import Graph
from rigcard.documents.diagram.leads import list_document
from rigcard.documents.diagram.power import power_graph
from rigcard.documents.diagram.sheets import graph_code
from rigcard.documents.diagram.signals import signal_graph
from rigcard.documents.kit.kit_list import kit_document
from rigcard.documents.kit.lids import lid_sheets
from rigcard.documents.labels.frame import Label
from rigcard.documents.labels.label_sheets import all_labels
from rigcard.exports.rig_json import rig_data
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.power.provision import provided
from rigcard.solve.solved import Solved

KINDS = ("cards", "wiring", "labels", "kit", "data")  # in the order of making; one module each


class Request(NamedTuple):
    """What to make: which kinds, for which crew role, from which cell of the first label sheet.

    `skip`: more cells that are used; `since`: the text of an earlier rig.json whose papers are still in use.
    `flip`: the edge of the paper that the printer turns cards over at, or "" to print one side of it. `labels`:
    the labels to make again; all of them without it.
    """

    only: tuple[str, ...] = KINDS
    role: str = ""
    start: int = 1
    skip: frozenset[int] = frozenset()
    since: str = ""
    flip: str = LONG_EDGE
    labels: tuple[str, ...] = ()


class Job:
    """One build of one rig.

    `remarks` collects what the user should know about the papers besides their names. `dry`: it is only checked, so
    nothing is computed that papers alone need.
    """

    def __init__(self, solved: Solved, face: EmbeddedTypeface, request: Request, dry: bool = False) -> None:
        self.solved = solved
        self.face = face
        self.request = request
        self.dry = dry
        self.remarks: list[str] = []

    @cached_property
    def cards(self) -> list[LaidGroup]:
        """Return every card group, laid out, the issue sheet first."""
        return card_pack(self.face, self.solved)

    def cards_are_drawn(self) -> None:
        """Let go of what the sides of the cards show: in a large production it takes more memory than all the rest."""
        self.cards = [laid._replace(columns=()) for laid in self.cards]

    @cached_property
    def heads(self) -> list[Group]:
        """Return every card group except the issue sheet, as far as it says whether its cards can be made."""
        if self.dry:
            return card_heads(self.face, self.solved)
        return [found.group for found in self.cards if not found.group.full_sheet]

    @cached_property
    def labels(self) -> list[Label]:
        """Return every label."""
        return all_labels(self.face, self.solved.rig)

    @cached_property
    def data(self) -> dict[str, Any]:
        """Return the values of rig.json."""
        return rig_data(self.solved, self.cards, self.labels, self.sheets)

    @cached_property
    def comparison(self) -> Comparison | None:
        """Return what differs from the earlier build; None if there is none to compare with."""
        if not self.request.since:
            return None
        return compare(Side(earlier(self.request.since)), Side(facts_of(self.data), self.solved))

    @cached_property
    def kit(self) -> Document:
        """Return the kit list and the lid sheets."""
        return kit_document(self.face, self.solved)

    @cached_property
    def graphs(self) -> list[Graph]:
        """Return the drawings that the rig needs, not yet placed."""
        made = (signal_graph(self.face, self.solved), power_graph(self.face, self.solved))
        return [graph for graph in made if graph.cells]

    @cached_property
    def lists(self) -> Document:
        """Return the lists of channels and leads."""
        return list_document(self.face, self.solved)

    @cached_property
    def sheets(self) -> list[Sheet]:
        """Return every full sheet that is no card, with its check code."""
        rig = self.solved.rig
        lids = lid_sheets(rig, provided(rig, self.solved.power))
        return [
            *(Sheet(graph.title, graph_code(rig, graph), "wiring.pdf") for graph in self.graphs),
            *sheets_of(self.lists.pages, "wiring-list.pdf"),
            *sheets_of(self.kit.pages[:1], KIT),  # the list comes before the lids
            *(sheet._replace(file=KIT) for sheet in lids),
        ]


Check = Callable[[Job, Diagnostics], None]
Make = Callable[[Job, Diagnostics], dict[str, bytes]]


class Output(NamedTuple):
    """A kind of papers. `check` reports what would stop it; `make` returns its files by name.

    `sometimes`: files that not every rig has. One from an earlier build must not stay beside the new papers.
    """

    kind: str
    make: Make
    check: Check
    sometimes: tuple[str, ...]


OUTPUTS: dict[str, Output] = {}


def output(kind: str, *, check: Check | None = None, sometimes: tuple[str, ...] = ()) -> Callable[[Make], Make]:
    """Register a function that makes the files of a kind."""

    def register(make: Make) -> Make:
        OUTPUTS[kind] = Output(kind, make, check or (lambda job, diagnostics: None), sometimes)
        return make

    return register


def outputs(kinds: tuple[str, ...] = KINDS) -> list[Output]:
    """Return the outputs of some kinds, in the order of `KINDS`."""
    for kind in KINDS:
        import_module(f"rigcard.outputs.{kind}")
    return [OUTPUTS[kind] for kind in KINDS if kind in kinds]
