"""Turns a function into a claim: a rule that judges computed values."""

from collections.abc import Callable
from typing import NamedTuple

from rigcard.check.registry import Check, Rule, registering
from rigcard.diagnostics import Severity
from rigcard.resolve.links import Feed
from rigcard.solve.levels import Dials
from rigcard.solve.solved import Solved


class Proof(NamedTuple):
    """The input of a claim: the solved rig, the feeds that find no rest position, and the channels whose
    controls have too many combinations of positions."""

    solved: Solved
    dials: Dials
    restless: tuple[Feed, ...]
    crowded: tuple[tuple[str, str], ...]


CLAIMS: dict[str, Rule[Proof]] = {}


def claim(code_id: str, severity: Severity) -> Callable[[Check[Proof]], Check[Proof]]:
    """Register a claim; works like `check.registry.rule`."""
    return registering(CLAIMS, code_id, severity)
