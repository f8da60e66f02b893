"""Case files: a rig file and the diagnostics it must give, written above the lines they speak of.

A case is any `tests/cases/<pass>/<name>.rig`. Above a line, `#! error[RC301] 11-15: text` expects a diagnostic of
that code on the next line that is no such comment, in columns 11 up to and including 15 (from 1), with that text.
Nothing else may be reported. Where a file has a line `#! do: text`, each remedy stands so below its cause. `RC301_name.rig` must report RC301; `RC301_name.ok.rig` must report nothing.
`pytest tests/test_cases.py --accept -n 0` rewrites the expectations; read the difference before you commit it.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rigcard.catalogue import all_codes
from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig

CASES = Path(__file__).parent / "cases"
FILES = sorted(
    path for path in CASES.glob("*/*.rig") if path.parent.name != "format"
)  # see formatting/test_layout.py
ELSEWHERE = {  # no text file brings them about: test_cli.py; RC115, RC116: syntax/test_load.py; RC505, RC506, RC545: outputs/test_labels.py;
    # RC481: solve/test_dialling.py; RC515: test_ceilings.py; RC550 to RC553: compare/test_command.py and test_recall.py
    "RC108",
    "RC110",
    "RC115",
    "RC116",
    "RC481",
    "RC505",
    "RC506",
    "RC510",
    "RC511",
    "RC512",
    "RC513",
    "RC515",
    "RC545",
    "RC550",
    "RC551",
    "RC552",
    "RC553",
}
MARK = re.compile(r"^\s*#! (?:(\w+)\[(RC\d+)\] (\d+)-(\d+)|do): (.*)$")


def diagnose(path: Path) -> list[Diagnostic]:
    """Everything reported for a file, up to and with the making of its labels."""
    diagnostics = Diagnostics()
    build_rig(path, diagnostics, request=Request(only=("labels",)), stock=(str(CASES),))
    return diagnostics.sorted()


def short(message: str, path: Path) -> str:
    """A message with paths as they are seen from the folder of the case."""
    for folder, seen in ((path.parent, ""), (CASES, "../"), (CASES.parent, "../../")):
        message = message.replace(f"{folder}/", seen)
    return message


def annotated(path: Path, found: list[Diagnostic]) -> str:
    """The case file with what was found written above its lines, and nothing else."""
    lines = list(enumerate(path.read_text(encoding="utf-8").removesuffix("\n").split("\n"), 1))
    kept = [(number, text) for number, text in lines if not MARK.match(text)]
    with_remedy = any(text.startswith("#! do: ") for _, text in lines)
    notes: dict[int, list[str]] = {}
    for diagnostic in found:
        assert diagnostic.span is not None, diagnostic
        assert diagnostic.span.source.name == str(path), f"reported in {diagnostic.span.source.name}"
        line, column = diagnostic.span.source.position(diagnostic.span.start)
        line = next(number for number, _ in kept if number >= line)  # a file's first line may be an expectation
        last = max(column, column + diagnostic.span.end - diagnostic.span.start - 1)
        severity = diagnostic.code.severity.value
        message = short(diagnostic.message, path)
        notes.setdefault(line, []).append(f"#! {severity}[{diagnostic.code.id}] {column}-{last}: {message}")
        if with_remedy:
            notes[line].append(f"#! do: {diagnostic.hint}")
    written = []
    for number, text in kept:
        written += [*notes.pop(number, []), text]
    assert not notes, f"reported on a line that is not there: {notes}"
    return "\n".join(written) + "\n"


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_case(path: Path, accept: bool) -> None:
    """The file reports what is written in it, no more and no less."""
    found = diagnose(path)
    result = annotated(path, found)
    if accept:
        path.write_text(result, encoding="utf-8")
    assert result == path.read_text(encoding="utf-8")
    code = path.name.split("_")[0]
    if path.name.endswith(".ok.rig"):
        assert found == []
    elif re.fullmatch(r"RC\d+", code):
        assert code in {diagnostic.code.id for diagnostic in found}
    else:
        assert found, "a case that reports nothing must be named NAME.ok.rig"
    for diagnostic in found:
        is_well_worded(diagnostic)


def is_well_worded(diagnostic: Diagnostic) -> None:
    """Lower-case cause without a full stop, a hint, no token names of the parser (common practice, no source)."""
    message = diagnostic.message
    assert diagnostic.hint, message
    assert not message.endswith("."), message
    assert not re.search(r"\b_?[A-Z]+_[A-Z]+\b|LBRACE|RBRACE|\$END", message + diagnostic.hint), message


def test_every_code_has_a_firing_and_a_silent_case() -> None:
    """A code without both cases is not tested."""
    firing = {path.name.split("_")[0] for path in FILES if not path.name.endswith(".ok.rig")}
    silent = {path.name.split("_")[0] for path in FILES if path.name.endswith(".ok.rig")}
    codes = set(all_codes()) - ELSEWHERE

    assert codes - firing == set()
    assert codes - silent == set()
