"""`--message-format json`: valid against its schema, and true to the file."""

from __future__ import annotations

import copy
import json
import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from command import CLEAN, CONTROLS, FAULTS, UNUSABLE, Rigcard, rigcard
from rigcard.reporting.as_json import as_json
from rigs import diagnosed
from samples import FIRST, GORGE, ROOT

# ---- messages ------------------------------------------------------------------------------------------------


def test_messages_as_json(rigcard: Rigcard, tmp_path: Path) -> None:
    """Standard output is one JSON array, places count from 1 and lie in the file; standard error is empty."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")
    run = rigcard("check", "--message-format", "json", "faulty.rig")
    found = json.loads(run.out)

    assert (run.code, run.err) == (1, "")
    assert (4, 12) in {(entry["line"], entry["column"]) for entry in found}
    for entry in found:
        assert entry["file"] == "faulty.rig"
        assert (1, 1) <= (entry["line"], entry["column"]) <= (entry["end_line"], entry["end_column"])
        assert entry["end_line"] <= FAULTY.count("\n") + 1
        assert entry["severity"] in ("error", "warning")
        assert entry["message"]
        assert entry["hint"]


@pytest.mark.parametrize("command", ["check", "build"])
def test_json_is_all_that_is_printed(rigcard: Rigcard, command: str) -> None:
    """Without a diagnostic the array is empty, and nothing else is printed."""
    run = rigcard(command, "--message-format", "json", FIRST, GORGE)

    assert (json.loads(run.out), run.err, run.code) == ([], "", 0)


# ---- messages ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("escape", ["\x9b31m", "\u202e"], ids=ascii)
def test_show_refuses_words_with_a_control_character(escape: str, tmp_path: Path) -> None:
    """They are refused at the character, and come out visible."""
    rigcard("new", "x.rig", at=tmp_path)
    rig = tmp_path / "x.rig"
    text = rig.read_text(encoding="utf-8")
    rig.write_text(
        re.sub(r'^( *(?:stick|switch|input|unit|model)\b.*?")', rf"\1{escape}", text, flags=re.M), "utf-8"
    )
    run = rigcard("show", "x.rig", "pan", "--json", at=tmp_path)

    assert run.code == FAULTS
    assert "error[RC107]: an unseen character (U+" in run.err
    assert not CONTROLS.search(run.said), ascii(run.said)


MESSAGES = Draft202012Validator(json.loads((ROOT / "grammar" / "messages.schema.json").read_bytes()))
FIRING = sorted(path for path in ROOT.glob("tests/cases/*/*.rig") if not path.name.endswith(".ok.rig"))
FAULTY = 'rig "Faulty" {\n  crew operator "Operator"\n}\nunit hs is nothing-1 "Handset"\n'


# ---- json ----------------------------------------------------------------------------------------------------


def test_messages_as_json_are_valid(tmp_path: Path) -> None:
    """With a place, without one, with related places, and none at all."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")
    for files, code in ((["faulty.rig", "missing.rig"], UNUSABLE), ([ROOT / "samples" / "first.rig"], CLEAN)):
        done = rigcard("check", *files, "--message-format", "json", at=tmp_path)
        assert done.code == code
        assert list(MESSAGES.iter_errors(json.loads(done.out))) == []


def test_the_schema_of_messages_refuses_what_is_none() -> None:
    """Any key taken away, of another kind or not known is found, in messages and in their related places."""
    path = next(path for path in FIRING if any(found.related for found in diagnosed(path)))
    (good, *_) = [entry for entry in json.loads(as_json(diagnosed(path))) if entry["related"]]
    for pick in (lambda entry: entry, lambda entry: entry["related"][0]):
        for key in pick(good):
            for change in ("drop", "kind", "extra"):
                bad = copy.deepcopy(good)
                inner = pick(bad)
                if change == "drop":
                    del inner[key]
                else:
                    inner[key if change == "kind" else f"{key}_2"] = None
                assert list(MESSAGES.iter_errors([bad])), (key, change)
    assert list(MESSAGES.iter_errors([good])) == []
