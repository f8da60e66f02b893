"""Statements of stock kept between runs: the same as read anew, and never those of another text or language."""

import os
import pickle
import re
from pathlib import Path

import pytest

from rigcard.diagnostics import Diagnostics
from rigcard.syntax import load, parser, statement_cache
from rigcard.syntax.load import Program

STOCK = 'model handset-9 "Handset" {\n  wrong here\n}\n'
GOOD = 'signal line-9 "Line" carries 9 channels\nhazard mains # a note\n'
MAIN = 'use "stock.rig"\nrig "R" {\n}\n'


def read(folder: Path, cache: Path, name: str = "main.rig") -> tuple[Program | None, list[str]]:
    """The program of a rig, and what was said."""
    diagnostics = Diagnostics()
    found = load.load(folder / name, diagnostics, str(cache / "grammar"))
    return found, [diagnostic.message for diagnostic in diagnostics]


def kept_files(cache: Path) -> list[Path]:
    """What is kept, without the grammar."""
    return sorted(path for path in cache.iterdir() if path.name != "grammar")


def written(statement: object) -> str:
    """A statement with all its parts, but not the identity of its source."""
    return re.sub(r" object at 0x[0-9a-f]+", "", repr(statement))


@pytest.fixture
def rig(tmp_path: Path) -> tuple[Path, Path]:
    """The folder of a rig that uses one file, and one for what is kept."""
    for name in ("rig", "cache"):
        (tmp_path / name).mkdir()
    (tmp_path / "rig" / "stock.rig").write_text(GOOD, encoding="utf-8")
    (tmp_path / "rig" / "main.rig").write_text(MAIN, encoding="utf-8")
    parser.load.cache_clear()
    return tmp_path / "rig", tmp_path / "cache"


def test_stock_is_kept_and_recalled_as_it_was_read(
    rig: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    first, _ = read(*rig)
    (one,) = kept_files(rig[1])
    parsed: list[str] = []
    plain = load.parse
    monkeypatch.setattr(load, "parse", lambda source, *rest: parsed.append(source.name) or plain(source, *rest))
    again, said = read(*rig)

    assert first is not None and again is not None and said == []
    assert [os.path.basename(name) for name in parsed] == ["main.rig"], "only what may change is parsed"
    assert [written(statement) for statement in again.statements] == [
        written(statement) for statement in first.statements
    ]
    assert [
        (span.source.name, span.source.text, span.start, span.end)
        for span in (statement.name.span for statement in again.statements[2:4])  # type: ignore[attr-defined]
    ] == [(str(rig[0] / "stock.rig"), GOOD, start, end) for start, end in ((7, 13), (47, 52))]
    assert kept_files(rig[1]) == [one]


def test_messages_name_the_file_as_this_run_does(
    rig: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    read(*rig)
    monkeypatch.chdir(rig[0])
    found, _ = read(Path(), rig[1])

    assert found is not None and found.sources == ("main.rig", "stock.rig")


def test_changed_stock_is_read_anew(rig: tuple[Path, Path]) -> None:
    read(*rig)
    (rig[0] / "stock.rig").write_text(GOOD + "night 3h\n", encoding="utf-8")
    _, said = read(*rig)
    assert said, "a statement that is out of place there"
    (rig[0] / "stock.rig").write_text(STOCK, encoding="utf-8")
    found, said = read(*rig)
    assert found is None and said
    (rig[0] / "stock.rig").write_text(GOOD, encoding="utf-8")
    found, said = read(*rig)
    assert found is not None and said == []


@pytest.mark.parametrize(
    "junk",
    [b"", b"\x80", b"no pickle", pickle.dumps(3), pickle.dumps((("", ""), b"")), b"cos\nno_such\n."],
    ids=["empty", "cut", "text", "number", "of another", "unknown"],
)
def test_what_is_broken_is_passed_over_and_replaced(rig: tuple[Path, Path], junk: bytes) -> None:
    first, _ = read(*rig)
    (one,) = kept_files(rig[1])
    whole = one.read_bytes()
    for bad in (junk, whole[:-7]):
        one.write_bytes(bad)
        found, said = read(*rig)
        assert found is not None and first is not None and said == []
        assert len(found.statements) == len(first.statements)
        assert one.read_bytes() == whole


def test_another_text_or_language_does_not_count(
    rig: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    found, _ = read(*rig)
    assert found is not None
    cache, path = str(rig[1] / "grammar"), os.path.realpath(rig[0] / "stock.rig")
    source = found.statements[2].name.span.source  # type: ignore[attr-defined]

    assert statement_cache.load(cache, path, source) is not None
    assert statement_cache.load(cache, path, load.Source(source.name, source.text + "\n")) is None
    language = parser.load(cache)
    monkeypatch.setattr(parser, "load", lambda _: language._replace(digest="another grammar"))
    assert statement_cache.load(cache, path, source) is None


def test_nothing_kept_where_nothing_can_be(rig: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk is told of where papers are written; to keep statements is a matter of speed alone."""
    read(*rig)
    for old in kept_files(rig[1]):
        old.unlink()

    def full(_old: str, _new: str) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    found, said = read(*rig)

    assert found is not None and said == [] and kept_files(rig[1]) == []


def test_an_editor_keeps_nothing(rig: tuple[Path, Path]) -> None:
    """What it reads may not be saved, and changes with every key."""
    diagnostics = Diagnostics()
    reader = load.from_disk
    load.load(rig[0] / "main.rig", diagnostics, str(rig[1] / "grammar"), (), lambda name: reader(name))

    assert kept_files(rig[1]) == []
