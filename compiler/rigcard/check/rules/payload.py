"""Rules on masses: what a unit may carry, what a case may weigh."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Severity
from rigcard.reporting.suggest import did_you_mean, one_of
from rigcard.resolve.packing import Packed, packed
from rigcard.resolve.payload import loads
from rigcard.words import kilograms, listed


@rule("RC371", Severity.ERROR)
def payload_too_heavy(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit that carries more than its model allows.
    Why: an overloaded head runs hot and drifts, it falls when power goes, and its mount may give way.
    Bad: a head with `carries 7kg` under 7.25 kg of camera, lens and packs
    Good: a lighter lens, or a head that carries it
    """
    for load in loads(facts.rig):
        if load.margin is not None and load.margin < 0:
            heaviest = load.heaviest
            yield Finding(
                load.carrier.span,
                f"`{load.carrier.name}` carries {kilograms(load.mass)}, and {kilograms(load.mass + load.margin)} is the "
                f"most: over by {kilograms(-load.margin)}",
                f"take off {kilograms(-load.margin)} or use another carrier; the heaviest is `{heaviest.name}`, "
                f"{kilograms(heaviest.mass or load.mass)}",
            )


@rule("RC372", Severity.WARNING)
def payload_not_weighed(facts: Facts) -> Iterator[Finding]:
    """
    Reports: something of unknown mass on a unit whose model says what it may carry.
    Why: the sum on the card lacks the mass that nobody has weighed.
    Bad: model cage-1 "Cage" { role other } mounted on a head with `carries 9kg`
    Good: model cage-1 "Cage" { role other; mass 0.4kg }
    """
    for load in loads(facts.rig):
        if load.unknown and load.carrier.model.carries is not None:
            names = listed([f"`{name}`" for name in load.unknown])
            yield Finding(
                load.carrier.span,
                f"`{load.carrier.name}` carries {names} of unknown mass",
                f"weigh {'it' if len(load.unknown) == 1 else 'them'} and add `mass` to the model, or to the cable",
            )


@rule("RC373", Severity.WARNING)
def case_too_heavy(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a case that is heavier with its contents than its limit.
    Why: the airline refuses it, or somebody hurts their back.
    Bad: case "Case 1" empty 7.2kg up to 23kg, with 15.9 kg in it
    Good: one piece moved to another case
    """
    for case in packed(facts.rig):
        if case.limit is not None and case.mass > case.limit:
            over = case.mass - case.limit
            yield Finding(
                facts.rig.inventory.cases[case.name].span,
                f"{case.name} weighs {kilograms(case.mass)} with what is in it, and {kilograms(case.limit)} is its "
                f"limit: over by {kilograms(over)}",
                _to_move(case),
            )


def _to_move(case: Packed) -> str:
    """The lightest piece that is enough to move, or the heaviest where none is."""
    assert case.limit is not None
    weighed = sorted(
        ((piece.mass, piece.name) for piece in case.pieces if piece.mass), key=lambda found: found[0]
    )
    enough = [found for found in weighed if found[0] >= case.mass - case.limit] or weighed[-1:]
    if not enough:
        return "take a lighter case"
    return f"move `{enough[0][1]}`, {kilograms(enough[0][0])}, to another case"


@rule("RC374", Severity.WARNING, tier=2)
def undeclared_case(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a case that a unit or a cable names and that has no `case` statement, where other cases have one.
    Why: a slip in the name puts one more case on the lists, which nobody packs or weighs.
    Bad: unit rx is receiver-8 "Receiver" { case "Case 11" }, beside case "Case 1" empty 3.2kg up to 23kg
    Good: unit rx is receiver-8 "Receiver" { case "Case 1" }
    """
    rig = facts.rig
    known = list(rig.inventory.cases)
    packs = [(unit.case, unit.span) for unit in (*rig.units.values(), *rig.spare_units.values())]
    packs += [(cable.build.case, cable.span) for cable in rig.cables.values()]
    told: set[str] = set()
    for case, span in packs:
        if case and known and case not in known and case not in told:
            told.add(case)
            hint = did_you_mean(case, known, f"write {one_of(known)}, or declare the case with its empty mass")
            yield Finding(span, f'no statement declares the case "{case}"', hint)
