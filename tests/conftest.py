"""Options and fixtures of the whole suite."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SAMPLES = sorted((ROOT / "samples").glob("*.rig"))


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
