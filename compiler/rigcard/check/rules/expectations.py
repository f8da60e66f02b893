"""Rules on what the file claims, before anything is computed."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Expectation
from rigcard.resolve.targets import targets_at


@rule("RC314", Severity.ERROR)
def expectations_contradict(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two claims that ask the same positions of the controls for two states of one input.
    Why: an input is in one state at a time, so one of the claims is wrong, and no dial can fulfil both.
    Bad: expect hs.front-toggle.away gives head.live, and expect hs.front-toggle.away gives head.locked
    Good: expect hs.front-toggle.toward gives head.locked
    """
    earlier: dict[object, list[tuple[Expectation, dict[Feed, set[object]]]]] = {}
    for claim in facts.rig.expectations:
        asked = _asked(facts, claim)
        places = frozenset((control, position.name) for control, position in claim.places().items())
        places |= {(".".join(place), position.name) for place, position in claim.elsewhere}
        alike = earlier.setdefault((claim.handset, places, claim.unit), [])
        for first, before in alike:
            if len(asked) == 1 and asked.keys() == before.keys():
                feed = next(iter(asked))
                if asked[feed].isdisjoint(before[feed]):
                    yield _contradiction(claim, first, feed)
        alike.append((claim, asked))


@rule("RC308", Severity.WARNING)
def claim_moves_left_control(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a claim about a control that nobody may touch, by a `leave` line; one message a control.
    Why: the operator's card crosses it out, and the function test moves it.
    Bad: leave right-slider, and expect hs.right-slider.away gives zoom.wide
    Good: expect hs.right-slider.away gives zoom.wide, without the `leave` line
    """
    told: set[tuple[str, str]] = set()
    for claim in facts.rig.expectations:
        place = claim.handset, claim.control
        if claim.control in facts.rig.units[claim.handset].leave and place not in told:
            told.add(place)
            yield Finding(
                claim.given_span,
                f"`leave` says that nobody may touch `{'.'.join(place)}`, and this claim moves it",
                f"take `{claim.control}` off the `leave` line of `{claim.handset}`, or remove the claim",
            )


def _asked(facts: Facts, claim: Expectation) -> dict[Feed, set[object]]:
    """Each input that can fulfil a claim, with its bands or ends that do; either end of a sweep is left out."""
    found: dict[Feed, set[object]] = {}
    for feed in facts.links.feeds:
        if feed.handset == claim.handset:
            for target in targets_at(facts.rig, facts.links, feed, claim):
                found.setdefault(feed, set()).add(target.band.name if target.band else target.end)
    return {feed: ends for feed, ends in found.items() if "" not in ends}


def _contradiction(claim: Expectation, first: Expectation, feed: Feed) -> Finding:
    place = f"{claim.handset}.{claim.control}.{claim.position.name}"
    return Finding(
        claim.given_span,
        f"`{place}` cannot give `{_state(first)}` and `{_state(claim)}`: both are states of `{feed.input.name}` of "
        f"`{feed.unit}`",
        "correct the position of one of the two, or remove the wrong claim",
        (Related(first.given_span, "the first claim"),),
        (feed.unit, claim.handset),
    )


def _state(claim: Expectation) -> str:
    return ".".join((claim.unit, *claim.wanted))
