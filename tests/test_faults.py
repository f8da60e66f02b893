"""The faults of the trade (faults.py), each in a sample: the outcome is the one that is right for who made it."""

from __future__ import annotations

import pytest

from faults import ACCEPTED, ERROR, FAULTS, KNOWN_SILENT, PRINTED, SILENT, WARNING, Fault, tried


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.id)
def test_outcome(fault: Fault) -> None:
    """As it should be; of the few known not to be, just as noted, so that a change for the better is seen, too."""
    wanted, why = KNOWN_SILENT.get(fault.id, (fault.expected, fault.words))
    outcome = tried(fault)

    assert outcome.kind == wanted, (why, [found.message for found in outcome.found])


def test_table() -> None:
    """Enough faults to speak of rates, no name twice, and nothing noted that is as it should be."""
    expected = {fault.id: fault.expected for fault in FAULTS}

    assert len(expected) == len(FAULTS) >= 120
    assert set(expected.values()) == {ERROR, WARNING, ACCEPTED, PRINTED}
    assert KNOWN_SILENT.keys() <= expected.keys()
    assert all(kind != expected[name] for name, (kind, _) in KNOWN_SILENT.items())
    assert {kind for kind, _ in KNOWN_SILENT.values()} <= {ERROR, SILENT}
