"""Finds the bands or ends that a level must reach so that an `expect` comes true."""

from rigcard.resolve.links import Links
from rigcard.resolve.model import Expectation, Rig
from rigcard.resolve.targets import Target, targets_at
from rigcard.solve.levels import contributors


def targets(rig: Rig, links: Links, expectation: Expectation) -> list[Target]:
    """Every target that the control of an expectation can reach."""
    handset = rig.units[expectation.handset]
    found = []
    for feed in (feed for name in handset.channels for feed in links.feeds_of(handset.name, name)):
        controls = contributors(handset, handset.channels[feed.channel])
        if any(control.name == expectation.control for control in controls):
            found += targets_at(rig, links, feed, expectation)
    return found
