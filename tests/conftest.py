"""Options and fixtures of the whole suite."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.register_assert_rewrite("editor")  # it has fixtures, and asserts of its own
ROOT = Path(__file__).parents[1]
SAMPLES = sorted((ROOT / "samples").glob("*.rig"))
STOCK = (
    str(ROOT / "samples" / "stock"),
    str(ROOT / "tests" / "cases"),
)  # what a rig in a folder of a test may use


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--accept", action="store_true", help="rewrite what the case files expect")


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
