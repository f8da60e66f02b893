"""The rule on what must not hang on one part together."""

from collections.abc import Iterator
from itertools import combinations

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.dependence import shared
from rigcard.words import listed


@rule("RC375", Severity.ERROR)
def independent_inputs_share(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two inputs declared `independent` that depend on one control, channel, handset, receiver, cable or pack.
    Why: one fault would stop both; a brake must not fail together with the axis that it stops.
    Bad: independent winch.brake, head.pan, both on one handset
    Good: independent winch.brake, head.pan, the brake on a handset, receiver and pack of its own
    """
    for declared in facts.rig.independents:
        pairs = zip(declared.inputs, declared.spans, strict=True)
        for (first, first_span), (second, second_span) in combinations(pairs, 2):
            parts = shared(facts.rig, facts.links, first, second)
            if parts:
                names = listed([f"{kind} `{name}`" for kind, name in parts])
                yield Finding(
                    second_span,
                    f"`{'.'.join(first)}` and `{'.'.join(second)}` are to be independent, and share {names}",
                    "give one of the two its own, or remove it from `independent` if that is accepted",
                    (Related(first_span, "the other input"),),
                )
