"""Exact remedies: each is put into every case file that has it, and `check --fix` writes them."""

from __future__ import annotations

import json
import os
import re
import shutil
import unicodedata
from pathlib import Path

import pytest

from command import CLEAN, FAULTS, UNUSABLE, rigcard
from rigcard.diagnostics import Diagnostic, Diagnostics, Edit, Severity
from rigcard.fixing import applied, fixed
from rigcard.pipeline import check_rig
from rigcard.source import Source, Span

CASES = Path(__file__).parent / "cases"
WRONG = sorted(
    path for path in CASES.glob("*/*.rig") if path.parent.name != "format" and not path.name.endswith(".ok.rig")
)
OTHER_DIGITS = {  # what is written and what it is worth: a half, a length in inches (25.4 mm), twice the same limit
    ("1/2m", "0.5m"),
    (".5m", "0.5m"),
    ('20"', "508mm"),
    ("20in", "508mm"),
    ("±66%", "-66%..66%"),
    ("±150%", "-150%..150%"),
    ("+/-150%", "-150%..150%"),
}


AS_MANY = {"name_missed_at_two_places.rig"}  # its line has a second fault, which is read only after the first


def diagnosed(path: Path) -> list[Diagnostic]:
    """What `check` says of a file."""
    diagnostics = Diagnostics()
    check_rig(path, diagnostics, stock=(str(path.parent.parent),))
    return diagnostics.sorted()


def errors(found: list[Diagnostic], last: str) -> int:
    """How many errors the passes up to one report: what comes later may be read only now."""
    return sum(one.code.severity is Severity.ERROR and one.code.id[:3] <= last for one in found)


def digits(text: str) -> list[str]:
    """The digits of a text in their order, whatever their script; that of a unit is none."""
    return [str(unicodedata.digit(char)) for char in text.replace("mm2", "") if char.isdecimal()]


def keeps_numbers(edits: tuple[Edit, ...]) -> bool:
    """Whether edits leave the digits as they are, in all of them together."""
    if any((edit.span.text, edit.text) in OTHER_DIGITS for edit in edits):
        return True
    before = [digit for edit in edits for digit in digits(edit.span.text)]
    after = [digit for edit in edits for digit in digits(edit.text)]
    return sorted(before) == sorted(after)


def test_every_remedy_leaves_fewer_errors_and_the_numbers(tmp_path: Path) -> None:
    """One error less at least, among those of its pass and the ones before; no number changes."""
    tried = 0
    for path in WRONG:
        here = tmp_path / path.parent.name / path.name
        here.parent.mkdir(exist_ok=True)
        for shared in CASES.glob("*.rig"):
            shutil.copy(shared, tmp_path)
        data = path.read_bytes()
        here.write_bytes(data)
        before = diagnosed(here)
        for found in before:
            if not found.edits:
                continue
            tried += 1
            assert keeps_numbers(found.edits), (path.name, found.hint, found.edits)
            here.write_bytes(applied(data, found.edits))
            after = diagnosed(here)
            last = found.code.id[:3]
            less = path.name not in AS_MANY
            assert errors(after, last) <= errors(before, last) - less, (path.name, found.hint, after)
            assert found.message not in [one.message for one in after], (path.name, found.hint)
            here.write_bytes(data)

    assert tried > 120, tried


FAULTY = """use "stock.rig"
rig “Case” { revision “A” }
unit hs is handset-12 "Handset" { memory 1 "CASE A"; channel 1 pan from right-across failsafe 0 percent }
unit rx is receiver-8 "Receiver" { bound to hs }
unit head is head-2 "Head" { input pan from pan; unused mode }
cable W1 "Receiver to head" { rx.bus to head.remot; length .5m; jacket 3mm }
"""
SOUND = (
    FAULTY.replace("“", '"')
    .replace("”", '"')
    .replace("remot;", "remote;")
    .replace("0 percent", "0%")
    .replace(" .5m", " 0.5m")
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the shared models and a faulty rig."""
    shutil.copy(CASES / "stock.rig", tmp_path)
    (tmp_path / "case.rig").write_text(FAULTY, encoding="utf-8")
    return tmp_path


def test_fix_writes_and_says_what_it_wrote(folder: Path) -> None:
    """Faults of two passes in one run; a second run finds nothing to write."""
    done = rigcard("check", "--fix", "case.rig", at=folder)

    assert (done.code, done.err) == (CLEAN, "")
    assert (folder / "case.rig").read_text("utf-8") == SOUND
    assert done.out.splitlines() == [
        'case.rig:2:5: wrote "Case" in place of “Case”',
        'case.rig:2:23: wrote "A" in place of “A”',
        "case.rig:3:95: wrote 0% in place of 0 percent",
        "case.rig:6:60: wrote 0.5m in place of .5m",
        "case.rig:6:46: wrote remote in place of remot",
        "case.rig: no errors",
    ]
    again = rigcard("check", "--fix", "case.rig", at=folder)
    assert again.out == "case.rig: no errors\n"


def test_without_fix_nothing_is_written(folder: Path) -> None:
    """`check` alone leaves the file as it is."""
    assert rigcard("check", "case.rig", at=folder).code == FAULTS
    assert (folder / "case.rig").read_text("utf-8") == FAULTY


def test_line_ends_and_byte_order_mark_stay(folder: Path) -> None:
    """A file with CRLF and a mark differs from the sound one in those alone."""
    data = b"\xef\xbb\xbf" + FAULTY.replace("\n", "\r\n").encode("utf-8")
    (folder / "case.rig").write_bytes(data)
    result = fixed(str(folder / "case.rig"))

    assert result.data == b"\xef\xbb\xbf" + SOUND.replace("\n", "\r\n").encode("utf-8")


def test_what_a_person_has_to_choose_stays(folder: Path) -> None:
    """A length without a unit, a minus that may be a range sign, a name that is near to three others."""
    text = SOUND.replace("0.5m", "500")
    (folder / "case.rig").write_text(text, encoding="utf-8")
    assert rigcard("check", "--fix", "case.rig", at=folder).code == FAULTS
    assert (folder / "case.rig").read_text("utf-8") == text


def test_a_used_file_is_never_written(folder: Path) -> None:
    """Other rigs may use it: its fault is told, and the file is as it was."""
    stock = folder / "stock.rig"
    text = (
        stock.read_text("utf-8").replace("supplies 12V", "supplies 12 V", 1) + 'model x-1 "X" { mass .5kg }\n'
    )
    stock.write_text(text, encoding="utf-8")
    (folder / "case.rig").write_text(SOUND, encoding="utf-8")
    assert rigcard("check", "--fix", "case.rig", at=folder).code == FAULTS
    assert stock.read_text("utf-8") == text


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_file_that_cannot_be_written(folder: Path) -> None:
    """RC513, and the file is as it was."""
    (folder / "case.rig").chmod(0o444)
    done = rigcard("check", "--fix", "case.rig", at=folder)
    assert done.code == UNUSABLE
    assert "RC513" in done.err
    assert (folder / "case.rig").read_text("utf-8") == FAULTY


def test_edits_in_the_other_formats(folder: Path) -> None:
    """JSON and SARIF carry the same text for the same place."""
    entries = json.loads(rigcard("check", "case.rig", "--message-format", "json", at=folder).out)
    log = json.loads(rigcard("check", "case.rig", "--message-format", "sarif", at=folder).out)
    written = [(edit["line"], edit["column"], edit["text"]) for entry in entries for edit in entry["edits"]]
    replaced = [
        (
            part["deletedRegion"]["startLine"],
            part["deletedRegion"]["startColumn"],
            part["insertedContent"]["text"],
        )
        for result in log["runs"][0]["results"]
        for fix in result.get("fixes", ())
        for change in fix["artifactChanges"]
        for part in change["replacements"]
    ]
    assert (6, 60, "0.5m") in written
    assert sorted(written) == sorted(replaced)


def test_edits_at_line_ends() -> None:
    """Offsets count CRLF as one character; an edit over a line end takes both."""
    data = b"ab\r\ncd\r\nef\n"
    source = Source("x", "ab\ncd\nef\n")
    edits = [Edit(Span(source, 1, 2), "B"), Edit(Span(source, 5, 6), " "), Edit(Span(source, 7, 8), "F")]
    assert applied(data, edits) == b"aB\r\ncd eF\n"


def test_old_line_ends_are_told_once(folder: Path) -> None:
    """Lines that end with CR alone: one message, and the places of what else is wrong are right."""
    (folder / "case.rig").write_bytes(FAULTY.replace("\n", "\r").encode("utf-8"))
    found = diagnosed(folder / "case.rig")
    assert [one.code.id for one in found] == ["RC107", "RC107", "RC106", "RC106"]
    assert re.search(r"CR alone", found[0].message)
    assert [one.span.source.position(one.span.start)[0] for one in found if one.span] == [1, 2, 3, 6]
