"""README is true: its tutorial is played through, its two commands are the ones that the project runs."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.M | re.S)


def test_the_tutorial_gives_what_it_says(root: Path, tmp_path: Path) -> None:
    """Each `rig` block is added to the file; each command then prints what stands under it, to the letter."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    shutil.copytree(root / "samples" / "stock", tmp_path / "stock")
    rig = tmp_path / "my.rig"
    rig.write_text("", encoding="utf-8")
    played = 0
    for kind, text in BLOCK.findall(readme):
        if kind == "rig":
            written = rig.read_text(encoding="utf-8")
            rig.write_text(f"{written}\n{text}" if written else text, encoding="utf-8")
        elif kind == "console" and text.startswith("$ rigcard "):
            command, expected = text.split("\n", 1)
            if command.startswith("$ rigcard build"):  # the claim is corrected before
                rig.write_text(
                    rig.read_text(encoding="utf-8").replace(
                        "from front-toggle  failsafe", "from front-toggle  reverse auto  failsafe"
                    ),
                    encoding="utf-8",
                )
            run = subprocess.run(
                [sys.executable, "-m", "rigcard", *command.split()[2:]],
                cwd=tmp_path,
                capture_output=True,
                text=True,
                encoding="utf-8",
                check=False,
            )
            assert run.stdout + run.stderr == expected
            played += 1

    assert played == 4


def test_ci_runs_the_readme_s_test_command(root: Path) -> None:
    """`.ci/run` takes its command from README, so the two cannot differ; there are exactly two commands."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    section = readme.split("## Two commands")[1].split("\n## ")[0]

    assert len(BLOCK.findall(section)) == 2
    assert "<!-- test command -->" in section
    assert "README.md" in (root / ".ci" / "run").read_text(encoding="utf-8")


def test_the_comparison_is_one_that_is_made(root: Path) -> None:
    """What README shows of `rigcard compare` is what the change of a sub-trim by ten steps brings."""
    (shown,) = (text for kind, text in BLOCK.findall((root / "README.md").read_text("utf-8")) if kind == "text")
    outcome = (root / "tests" / "compare" / "changes" / "subtrim.txt").read_text("utf-8")
    lines = [line.split(maxsplit=1) for line in shown.splitlines() if line.startswith("  ")]

    assert len(lines) == 3
    for word, text in lines:
        assert re.search(rf"^  {word} +{re.escape(text.removesuffix(', ...'))}", outcome, re.M)
