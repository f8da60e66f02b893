"""`--message-format sarif`: valid against the published schema, and true to the file."""

from __future__ import annotations

import copy
import csv
import hashlib
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urljoin, urlsplit

import pytest
from jsonschema import Draft4Validator, Draft202012Validator

from command import FAULTS, UNUSABLE, rigcard
from rigcard.catalogue import all_codes
from rigcard.diagnostics import Diagnostic
from rigcard.reporting.as_json import as_json
from rigcard.reporting.as_sarif import as_sarif
from rigs import diagnosed
from samples import REFERENCE, ROOT

PUBLISHED = (REFERENCE / "sarif-schema-2.1.0.json").read_bytes()
SARIF = Draft4Validator(json.loads(PUBLISHED))
MESSAGES = Draft202012Validator(json.loads((ROOT / "grammar" / "messages.schema.json").read_bytes()))
FIRING = sorted(path for path in ROOT.glob("tests/cases/*/*.rig") if not path.name.endswith(".ok.rig"))
FAULTY = 'rig "Faulty" {\n  crew operator "Operator"\n}\nunit hs is nothing-1 "Handset"\n'


with (REFERENCE / "sarif.csv").open(encoding="utf-8", newline="") as file:
    FACTS = {row["id"]: row["fact"] for row in csv.DictReader(file)}


def faults(log: Any) -> list[str]:
    """What the published schema has against a log."""
    return [error.message for error in SARIF.iter_errors(log)]


def log_of(*arguments: str | Path, at: Path) -> Any:
    """The log that a command prints, which must be valid and all that is printed."""
    done = rigcard(*arguments, "--message-format", "sarif", at=at)
    assert done.err == ""
    log = json.loads(done.out)
    assert faults(log) == []
    run = log["runs"][0]
    assert run["invocations"] == [{"executionSuccessful": done.code != UNUSABLE, "exitCode": done.code}]
    return log


def results_of(log: Any) -> Any:
    return log["runs"][0]["results"]


# ---- the published facts -------------------------------------------------------------------------------------


def test_the_published_schema_is_unchanged() -> None:
    """Its checksum is the one beside its source in tests/reference/sarif.csv, and it is a valid schema."""
    assert hashlib.sha256(PUBLISHED).hexdigest() in FACTS["schema"]
    Draft4Validator.check_schema(json.loads(PUBLISHED))
    Draft202012Validator.check_schema(MESSAGES.schema)


def test_the_facts_hold_for_the_schema() -> None:
    """Facts S11 and S12: the smallest log is valid, and each of the four faults is found."""
    smallest: Any = {"version": "2.1.0", "runs": [{"tool": {"driver": {"name": "demo"}}, "results": []}]}
    assert faults(smallest) == []
    located = {"message": {"text": "x"}, "locations": [{"physicalLocation": {"region": {"startLine": 0}}}]}
    wrong = {
        "a driver without name": ("tool", {"driver": {}}),
        "a result without message": ("results", [{}]),
        "startLine 0": ("results", [located]),
    }
    for fact, (key, value) in wrong.items():
        assert fact in FACTS["S12"]
        log = copy.deepcopy(smallest)
        log["runs"][0][key] = value
        assert faults(log), fact
    assert "version 2.0" in FACTS["S12"]
    assert faults({**smallest, "version": "2.0"})


# Facts S1, S2, S4, S6 and S9: what must be there. Taking it away must be seen, or validation would prove nothing.
REQUIRED = {
    "S1": (("version",), ("runs",)),
    "S2": (("runs", 0, "tool"), ("runs", 0, "tool", "driver"), ("runs", 0, "tool", "driver", "name")),
    "S4": (("runs", 0, "results", 0, "message"), ("runs", 0, "results", 0, "message", "text")),
    "S6": (("runs", 0, "results", 0, "locations", 0, "physicalLocation", "artifactLocation"),),
    "S9": (
        ("runs", 0, "tool", "driver", "rules", 0, "id"),
        ("runs", 0, "invocations", 0, "executionSuccessful"),
    ),
}


@pytest.mark.parametrize("fact", REQUIRED)
def test_what_is_required_is_there(tmp_path: Path, fact: str) -> None:
    """Our log has each required part; without it the log is not valid. Nor is it with an unknown one (S10)."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")
    log = log_of("check", "faulty.rig", at=tmp_path)
    for path in REQUIRED[fact]:
        less, more = copy.deepcopy(log), copy.deepcopy(log)
        inner, wider = less, more
        for step in path[:-1]:
            inner, wider = inner[step], wider[step]
        del inner[path[-1]]
        wider["unknown"] = 1
        assert faults(less), FACTS[fact]
        assert faults(more), FACTS["S10"]


# ---- one log -------------------------------------------------------------------------------------------------


def inside(region: dict[str, int], lines: list[str]) -> str:
    """The characters of a region, as a reader of the log finds them: columns count code points."""
    first, last = region["startLine"], region["endLine"]
    part = lines[first - 1 : last]
    part[-1] = part[-1][: region["endColumn"] - 1]
    part[0] = part[0][region["startColumn"] - 1 :]
    return "\n".join(part)


def plain(text: str) -> str:
    """A message as people read it: doubled braces are one (fact `braces`), an escaped bracket is a bracket."""
    return text.replace("{{", "{").replace("}}", "}").replace("\\]", "]")


@pytest.mark.parametrize("path", FIRING, ids=lambda path: path.stem)
def test_every_case_gives_a_valid_log(path: Path) -> None:
    """Both schemas accept it, and both formats say the same, of the same characters of the file."""
    found = diagnosed(path)
    messages = json.loads(as_json(found))
    log = json.loads(as_sarif(found, 1, True))

    assert list(MESSAGES.iter_errors(messages)) == []
    assert faults(log) == []
    run = log["runs"][0]
    rules = run["tool"]["driver"]["rules"]
    assert [rule["id"] for rule in rules] == sorted({entry["code"] for entry in messages})
    lines = path.read_text(encoding="utf-8").split("\n")
    for diagnostic, entry, result in zip(found, messages, run["results"], strict=True):
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"] == entry["code"]
        assert (
            result["level"] == entry["severity"] == rules[result["ruleIndex"]]["defaultConfiguration"]["level"]
        )
        assert plain(result["message"]["text"]) == f"{entry['message']}\ndo: {entry['hint']}"
        region = result["locations"][0]["physicalLocation"]["region"]
        assert [region[key] for key in ("startLine", "startColumn", "endLine", "endColumn")] == [
            entry[key] for key in ("line", "column", "end_line", "end_column")
        ]
        assert diagnostic.span
        text = diagnostic.span.source.text
        if diagnostic.span.source.name == str(path):
            assert inside(region, lines) == text[diagnostic.span.start : diagnostic.span.end]
        assert [plain(other["message"]["text"]) for other in result["relatedLocations"]] == [
            other["label"] for other in entry["related"]
        ]


def test_rules_say_what_explain_says() -> None:
    """Name, texts and level of every code, as `rigcard explain` prints them; no code is left out."""
    codes = all_codes().values()
    log = json.loads(as_sarif([Diagnostic(code, None, "x", "y", where="z") for code in codes], 1, True))
    assert faults(log) == []
    rules = log["runs"][0]["tool"]["driver"]["rules"]
    for code, rule in zip(codes, rules, strict=True):
        texts = [rule[key]["text"] for key in ("fullDescription", "help")]
        said = re.sub(r"\s+", " ", plain("\n".join(texts)))
        assert rule["id"] == code.id
        assert re.sub(r"(?<!^)(?=[A-Z])", "_", rule["name"]).lower() == code.slug
        assert said == re.sub(r"\s+", " ", code.doc).strip()
        assert plain(rule["shortDescription"]["text"]) in said
        assert rule["defaultConfiguration"] == {"level": code.severity.value}


@pytest.mark.parametrize("command", ["check", "build"])
def test_nothing_found_is_an_empty_list(tmp_path: Path, command: str) -> None:
    """Fact S3: `results` is there and empty; so are the rules."""
    sample = ROOT / "samples" / "first.rig"
    log = log_of(command, sample, at=tmp_path)

    assert results_of(log) == []
    assert log["runs"][0]["tool"]["driver"]["rules"] == []
    assert log["runs"][0]["columnKind"] == "unicodeCodePoints"  # fact S8


def test_columns_count_code_points(tmp_path: Path) -> None:
    """A character outside the basic plane is one column (U+1F3A5 is two UTF-16 units); a tab is one."""
    text = FAULTY.replace("unit", 'note "\U0001f3a5\U0001f3a5";\tunit')
    (tmp_path / "faulty.rig").write_text(text, encoding="utf-8")
    log = log_of("check", "faulty.rig", at=tmp_path)
    regions = [result["locations"][0]["physicalLocation"]["region"] for result in results_of(log)]

    assert "nothing-1" in {inside(region, text.split("\n")) for region in regions}
    assert {"startLine": 4, "startColumn": 23, "endLine": 4, "endColumn": 32} in regions


# ---- files and addresses -------------------------------------------------------------------------------------


def addresses(value: Any) -> Iterator[Any]:
    """Every artifactLocation of a log."""
    if isinstance(value, dict):
        if "artifactLocation" in value:
            yield value["artifactLocation"]
        for inner in value.values():
            yield from addresses(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from addresses(inner)


NAMES = [
    "a b.rig",
    "größe.rig",
    "a:b.rig",
    "a#b?c.rig",
    "100%.rig",
    "%41.rig",
    "a\\b.rig",
    "[a](b).rig",
    "{0}.rig",
]


@pytest.mark.parametrize("name", NAMES)
def test_addresses_are_relative_and_resolve_to_the_file(tmp_path: Path, name: str) -> None:
    """RFC 3986: the address, resolved against the folder of the run, is the file, whatever signs its name has."""
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / name).write_text(FAULTY, encoding="utf-8")
    for given in (f"in/{name}", f"./in/../in/{name}", tmp_path / "in" / name):
        (found,) = {json.dumps(at) for at in addresses(log_of("check", given, at=tmp_path))}
        address = json.loads(found)
        resolved = urljoin(f"{tmp_path.as_uri()}/", address["uri"])
        assert Path(unquote(urlsplit(resolved).path)) == tmp_path / "in" / name
        assert urlsplit(resolved).query == urlsplit(resolved).fragment == ""
        assert address["uri"].isascii()
        assert ("uriBaseId" in address) == (given != tmp_path / "in" / name)


def test_a_used_file_is_named_from_the_folder_of_the_run(tmp_path: Path) -> None:
    """A fault in a file that is used, with a place in the file that uses it."""
    shutil.copytree(ROOT / "samples", tmp_path / "rigs")
    stock = tmp_path / "rigs" / "stock" / "radio.rig"
    stock.write_text(
        stock.read_text(encoding="utf-8") + '\nmodel receiver-8 "Again" { role other }\n', encoding="utf-8"
    )
    log = log_of("check", "rigs/first.rig", at=tmp_path)

    assert {at["uri"] for at in addresses(log)} == {"rigs/stock/radio.rig"}
    assert results_of(log)[0]["relatedLocations"]


def test_a_file_that_cannot_be_read_is_a_place_without_a_region(tmp_path: Path) -> None:
    """RC109 of a file named on the command line: the file, no line; exit 2 is no successful execution."""
    log = log_of("check", "missing.rig", at=tmp_path)
    (result,) = results_of(log)

    assert result["ruleId"] == "RC109"
    assert result["locations"] == [
        {"physicalLocation": {"artifactLocation": {"uri": "missing.rig", "uriBaseId": "FOLDER"}}}
    ]
    assert log["runs"][0]["invocations"] == [{"executionSuccessful": False, "exitCode": 2}]
    assert log["runs"][0]["originalUriBaseIds"].keys() == {"FOLDER"}


def test_a_missing_program_is_no_file(tmp_path: Path) -> None:
    """Without `dot` there is a warning and no place for it."""
    done = rigcard(
        *("build", ROOT / "samples" / "first.rig", "--message-format", "sarif"),
        at=tmp_path,
        env={"PATH": str(tmp_path)},
    )
    log = json.loads(done.out)
    (result,) = results_of(log)

    assert faults(log) == []
    assert (result["ruleId"], result["level"], result["locations"]) == ("RC511", "warning", [])


def test_a_file_name_that_is_no_text(tmp_path: Path) -> None:
    """On Unix a name is bytes: its address has them, its message is valid Unicode."""
    name = tmp_path / "\udcff.rig"
    log = log_of("check", name.name, at=tmp_path)

    assert [at["uri"] for at in addresses(log)] == ["%FF.rig"]
    json.dumps(log, ensure_ascii=False).encode("utf-8")


@pytest.mark.parametrize("form", ["sarif", "json"])
def test_the_same_bytes_in_two_folders(tmp_path: Path, form: str) -> None:
    """Neither the folder nor the hash seed shows; several files come in the order of the command line."""
    said = []
    for folder, seed in (("one", "0"), ("two/deeper", "4242")):
        place = tmp_path / folder
        shutil.copytree(ROOT / "samples", place)
        for name in ("b", "a"):
            (place / f"{name}.rig").write_text(FAULTY, encoding="utf-8")
        done = rigcard(
            "check",
            "b.rig",
            "first.rig",
            "a.rig",
            "--message-format",
            form,
            at=place,
            env={"PYTHONHASHSEED": seed},
        )
        assert done.code == FAULTS
        said.append(done.out)

    assert said[0] == said[1]
    assert said[0].index('"b.rig"') < said[0].index('"a.rig"')
