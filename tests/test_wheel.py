"""The package that people install holds the language and every module."""

from __future__ import annotations

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from rigcard.resolve.words import LANGUAGES


def test_the_wheel_is_whole(root: Path, tmp_path: Path) -> None:
    """Built from a copy, the wheel has the grammar byte for byte, every module, and nothing of tests or samples."""
    setuptools = pytest.importorskip("setuptools")
    if tuple(int(part) for part in setuptools.__version__.split(".")[:2]) < (70, 1):
        pytest.importorskip("wheel", reason="setuptools before 70.1 needs the package wheel to build one")
    copy = tmp_path / "copy"
    copy.mkdir()
    for name in ("compiler", "grammar"):
        shutil.copytree(
            root / name, copy / name, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info", "build")
        )
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(root / name, copy / name)
    before = sorted(path.name for path in root.iterdir())
    built = subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "--no-index", "-q", "-w", tmp_path, copy],
        capture_output=True,
        text=True,
        check=False,
    )  # fmt: skip
    assert built.returncode == 0, built.stderr
    (wheel,) = tmp_path.glob("rigcard-*.whl")
    with zipfile.ZipFile(wheel) as inside:
        names = {name for name in inside.namelist() if ".dist-info/" not in name}
        assert inside.read("rigcard/grammar/rig.lark") == (root / "grammar" / "rig.lark").read_bytes()

    modules = {
        str(path.relative_to(root / "compiler")) for path in (root / "compiler" / "rigcard").rglob("*.py")
    }
    assert len(modules) > 50
    assert modules - names == set()
    schemas = ("rig.schema.json", "rig.tmLanguage.json", "messages.schema.json")
    grammar = ("rig.lark", "reference.md", *schemas, "__init__.py")
    languages = {f"rigcard/languages/{language}.toml" for language in LANGUAGES if language != "en"}
    assert names - modules == {f"rigcard/grammar/{name}" for name in grammar} | languages
    assert sorted(path.name for path in root.iterdir()) == before
