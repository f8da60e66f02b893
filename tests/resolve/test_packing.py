"""Cases and their mass, leads that look alike."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from mechanical import FACE, KINDS, TWO, boxed, said, text_of
from rigcard.documents.kit.kit_list import kit_document
from rigcard.resolve.packing import look_alikes, packed
from rigs import checked, ids, resolved


def test_f30_case_mass(tmp_path: Path) -> None:
    """F30: 7.2 kg empty + 15.9 = 23.1 kg against 23.0: over by 0.1; the smallest piece that is enough is moved."""
    solved, found = checked(tmp_path, boxed("23kg", "10.4kg"))

    assert solved is not None
    (case,) = (case for case in packed(solved.rig) if case.name)
    assert case.mass == Fraction("23.1")
    assert ids(found) == ["RC373"]
    assert "over by 0.1 kg" in found[0].message
    assert found[0].hint == "move `W1`, 0.1 kg, to another case"
    assert ids(checked(tmp_path, boxed("23.1kg", "10.4kg"))[1]) == []


@pytest.mark.parametrize(("stand", "two"), [("12.3kg", False), ("12.301kg", True)])
def test_f30_two_persons_above_25_kg(tmp_path: Path, stand: str, two: bool) -> None:
    """F30: the mark above 25 kg and not at it (common practice, no source), on the list and outside the case."""
    solved, _ = checked(tmp_path, boxed("30kg", stand))
    assert solved is not None
    pages = [said(page) for page in kit_document(FACE, solved).pages]

    assert ("TWOPEOPLELIFT" in pages[-3]) == two
    assert ("TWOPEOPLELIFT" in pages[-2]) == two


@pytest.mark.parametrize(
    ("first", "second", "alike"),
    [
        ("a to a; pin 1 to 2; pin 2 to 1", "a to a; pin 2 to 1; pin 1 to 2", False),
        ("a to a; pin 1 to 2", "a to a; pin 2 to 1", False),  # one lead, seen from its other end
        ("a to a; pin 1 to 2", "a to a; pin 1 to 1", True),
        ("a to a; pin 1 to 2", "a to a", True),
        ("a to a", "a to a", False),
        ("b to c; pin 1 to 2", "c to b; pin 2 to 1", False),
        ("b to c; pin 1 to 2", "c to b; pin 1 to 2", True),
        ("b to b; pin 1 to 2", "b to c; pin 1 to 1", False),  # other plugs: they do not look alike
    ],
)
def test_what_looks_alike(first: str, second: str, alike: bool) -> None:
    """Leads are compared pin by pin, turned end for end where that is one lead."""
    rig, diagnostics = resolved(
        text_of(top=KINDS, p1=f"; length 1m; plugs {first}", units=TWO.format(f"; plugs {second}"))
    )

    assert not diagnostics.failed()
    assert bool(look_alikes(rig)) == alike
