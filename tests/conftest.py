"""Options and fixtures of the whole suite."""

from __future__ import annotations

import gc
import shutil
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from command import Rigcard, forks
from command import rigcard as run_rigcard
from samples import ROOT

pytest.register_assert_rewrite("editor", "papers", "prints")  # they have fixtures, and asserts of their own

# The gate tries the same examples on every machine, however slow; `--hypothesis-profile search` looks for new ones.
slow = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("search", slow)
settings.register_profile("gate", slow, derandomize=True)
settings.load_profile("gate")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--accept", action="store_true", help="rewrite what the case files expect")


def pytest_collection_finish() -> None:
    """What was imported stays to the end: do not search it for cycles again and again (a tenth of the time)."""
    gc.freeze()
    gc.set_threshold(20_000, 10, 10)


@pytest.fixture(scope="session")
def accept(request: pytest.FixtureRequest) -> bool:
    """Whether case files are to be rewritten."""
    return bool(request.config.getoption("--accept"))


@pytest.fixture(scope="session")
def root() -> Path:
    """The top of the project."""
    return ROOT


@pytest.fixture(scope="session", autouse=True)
def _environment(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """A cache folder for this run, so that the user's own is left alone, and nothing that would hide a fault."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        for name in ("NO_COLOR", "PYTHONUNBUFFERED", "PYTHONIOENCODING"):
            patch.delenv(name, raising=False)
        yield
        if forks.cache_info().currsize:
            forks().end()


@pytest.fixture
def rigcard(tmp_path: Path) -> Rigcard:
    """The command, run in the test's own folder."""
    return partial(run_rigcard, at=tmp_path)


@pytest.fixture
def place(tmp_path: Path, root: Path) -> Path:
    """A folder with the samples and their stock files."""
    shutil.copytree(root / "samples", tmp_path, dirs_exist_ok=True)
    return tmp_path
