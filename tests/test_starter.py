"""`rigcard new --model`, and the gallery that `rigcard show` makes of a file of models."""

from __future__ import annotations

from pathlib import Path

import pytest

from command import CLEAN, UNUSABLE, rigcard
from rigcard.diagnostics import Diagnostics
from rigcard.exports.gallery import as_gallery
from rigcard.formatting.layout import formatted
from rigcard.model_starts import STARTS, model_start
from rigcard.pipeline import check_rig
from rigcard.resolve.words import ROLES


def test_there_is_a_start_for_every_role() -> None:
    """No role of the language is left out, and the file has no other."""
    assert tuple(STARTS) == ROLES


@pytest.mark.parametrize("role", ROLES)
def test_a_start_checks_clean_by_itself(tmp_path: Path, role: str) -> None:
    """No message at all, one model of that role, every line in its place already, and comments to go by."""
    path = tmp_path / "my.rig"
    path.write_text(model_start(role), encoding="utf-8")
    diagnostics = Diagnostics()
    (model,) = check_rig(path, diagnostics).models

    assert not diagnostics.sorted()
    assert model.role == role
    assert formatted(model_start(role)) == model_start(role)
    assert model_start(role).count("#") >= 3


def test_the_command_writes_it_once(tmp_path: Path) -> None:
    """It says what to do next; a file that is there stays; a role that is misspelt is guessed."""
    path = tmp_path / "my.rig"
    done = rigcard("new", "--model", "camera", path, at=tmp_path)
    assert (done.code, done.out) == (CLEAN, f"{path}: written. Next: rigcard check {path}\n")
    assert path.read_text(encoding="utf-8") == model_start("camera")

    again = rigcard("new", "--model", "lens", path, at=tmp_path)
    assert again.code == UNUSABLE
    assert "is there already" in again.err
    assert path.read_text(encoding="utf-8") == model_start("camera")

    wrong = rigcard("new", "--model", "camra", tmp_path / "other.rig", at=tmp_path)
    assert wrong.code == UNUSABLE
    assert wrong.err.endswith("do: did you mean `camera`?\n")
    assert not (tmp_path / "other.rig").exists()


MODELS = """\
use "more.rig"
model full "Full receiver" {
  role receiver; channels 8; port p1..p4 out servo channel 1..4; port bus out line; takes 4V..9V on p1, bus
  draws 80mA; failsafe after 1s; mass 20g
}
model bare "Bare receiver" { role receiver; channels 8; port p1..p2 out servo channel 1..2; takes 4V..9V on p1, p2 }
model tower "Mast" { role mast }
"""
MORE = """\
signal line "Line" carries 16 channels
model elsewhere "In another file" { role other }
"""


def test_a_gallery_has_one_line_a_model_and_what_is_not_stated(tmp_path: Path) -> None:
    """Those of the file itself, in its order; rows of ports in one; what is missing by name, and nothing that is there."""
    path = tmp_path / "models.rig"
    path.write_text(MODELS, encoding="utf-8")
    (tmp_path / "more.rig").write_text(MORE, encoding="utf-8")
    checked = check_rig(path, Diagnostics())
    head, *lines = as_gallery(checked.models, str(path)).split("\n")

    assert head.split("  ")[0] == "MODEL"
    assert [line.split()[0] for line in lines] == ["full", "bare", "tower"]
    assert "p1..p4 out servo, bus out line" in lines[0]
    assert lines[0].endswith(" -")
    assert lines[1].endswith("mass, draws, failsafe after")
    assert lines[2].endswith("mass, carries")


def test_show_prints_the_gallery(root: Path) -> None:
    """Every model of a stock file that is shipped; a name has no path there."""
    file = root / "samples" / "stock" / "camera.rig"
    done = rigcard("show", file, at=root)
    assert done.code == CLEAN
    assert done.out.count("\n") == 1 + file.read_text(encoding="utf-8").count("\nmodel ")

    named = rigcard("show", file, "iris", at=root)
    assert named.code == UNUSABLE
    assert named.err.endswith(f"do: rigcard show {file}\n")
