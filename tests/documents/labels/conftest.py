"""The rigs whose labels are looked at."""

from __future__ import annotations

import pytest

from labelled import GORGE_TEXT, rig_of
from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from rigcard.resolve.model import Rig
from samples import GORGE, STOCK


@pytest.fixture(scope="module")
def gorge(tmp_path_factory: pytest.TempPathFactory) -> Rig:
    """The sample with a servo loom, a moving lead and two power leads."""
    return rig_of(tmp_path_factory.mktemp("gorge"), GORGE_TEXT)


@pytest.fixture(scope="module")
def rig() -> Rig:
    """The sample's rig."""
    solved = check_rig(GORGE, Diagnostics(), stock=STOCK).solved
    assert solved is not None
    return solved.rig
