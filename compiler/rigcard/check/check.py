"""Runs the structural rules."""

from rigcard.check.registry import RULES, Facts, load_rules, run
from rigcard.diagnostics import Diagnostics
from rigcard.resolve.links import Links
from rigcard.resolve.model import Rig


def check(rig: Rig, links: Links, diagnostics: Diagnostics) -> None:
    """Report what is wrong with the structure of a rig."""
    load_rules("rigcard.check.rules")
    run(RULES, Facts(rig, links), diagnostics)
