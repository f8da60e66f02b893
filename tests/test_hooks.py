"""The hooks that other repositories can name are well formed and start commands that are there."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import yaml

from command import CLEAN, FAULTS, rigcard

ROOT = Path(__file__).parents[1]
HOOKS: list[dict[str, Any]] = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
# Keys of a hook (pre-commit.com, "Creating new hooks"): the first four are required.
REQUIRED = {"id", "name", "entry", "language"}
OPTIONAL = {"description", "files", "exclude", "types", "args", "pass_filenames", "require_serial"}


def chosen(hook: dict[str, Any]) -> list[str]:
    """The samples that a hook is given: paths that `files` finds and `exclude` does not (same page)."""
    paths = [path.relative_to(ROOT / "samples").as_posix() for path in sorted((ROOT / "samples").rglob("*"))]
    return [
        path
        for path in paths
        if re.search(hook["files"], path) and not re.search(hook.get("exclude", "^$"), path)
    ]


def test_hooks_are_well_formed() -> None:
    """A list of hooks, each with what is required, in text."""
    assert [hook["id"] for hook in HOOKS] == ["rigcard-format", "rigcard-check"]
    for hook in HOOKS:
        assert set(hook) >= REQUIRED
        assert set(hook) <= REQUIRED | OPTIONAL
        assert all(isinstance(value, str) for value in hook.values())
        assert hook["language"] == "python"


def test_entries_are_commands(tmp_path: Path) -> None:
    """Each starts the program that the package installs, with a command that it has; the samples pass both."""
    shutil.copytree(ROOT / "samples", tmp_path, dirs_exist_ok=True)
    scripts = (ROOT / "pyproject.toml").read_text(encoding="utf-8").split("[project.scripts]")[1]
    for hook in HOOKS:
        program, *words = hook["entry"].split()
        assert re.search(rf"^{program} = ", scripts, re.M)
        files = chosen(hook)
        assert len(files) > 2
        assert rigcard(*words, *files, at=tmp_path).code == CLEAN, hook["id"]


def test_a_change_to_stock_is_checked_with_the_rigs_that_use_it(tmp_path: Path) -> None:
    """The hook is given what changed: a file of models passes alone, and fails where it breaks a rig."""
    shutil.copytree(ROOT / "samples", tmp_path, dirs_exist_ok=True)
    layout, check = (chosen(hook) for hook in HOOKS)
    assert layout == check
    words = HOOKS[1]["entry"].split()[1:]
    heads = tmp_path / "stock" / "heads.rig"
    heads.write_text(
        heads.read_text(encoding="utf-8").replace("model head-2 ", "model head-9 "), encoding="utf-8"
    )

    assert rigcard("check", "stock/heads.rig", at=tmp_path).code == CLEAN
    run = rigcard(*words, "stock/heads.rig", at=tmp_path)
    assert run.code == FAULTS
    assert "first.rig" in run.err
