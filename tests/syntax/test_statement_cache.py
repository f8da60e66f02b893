"""Statements of stock kept between runs: the same as read anew, and never those of another text or language."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from rigcard.diagnostics import Diagnostics
from rigcard.source import Source, Span
from rigcard.syntax import cache_folder, load, parser, statement_cache
from rigcard.syntax.load import Program
from samples import ROOT, SAMPLES

STOCK = 'model handset-9 "Handset" {\n  wrong here\n}\n'
GOOD = 'signal line-9 "Line" carries 9 channels\nhazard mains # a note\n'
MAIN = 'use "stock.rig"\nrig "R" {\n}\n'
TEXTS = [*SAMPLES, *sorted((ROOT / "samples" / "stock").iterdir()), *sorted((ROOT / "tests").rglob("*.rig"))]


def read(folder: Path, cache: Path, name: str = "main.rig") -> tuple[Program | None, list[str]]:
    """The program of a rig, and what was said."""
    diagnostics = Diagnostics()
    found = load.load(folder / name, diagnostics, str(cache))
    return found, [diagnostic.message for diagnostic in diagnostics]


def kept_files(cache: Path) -> list[Path]:
    """What is kept, without the grammar."""
    return sorted(path for path in cache.iterdir() if not path.name.startswith("grammar"))


def difference(one: object, other: object) -> str:
    """Where two statements differ in a class or a value, "" if nowhere; equal tuples of two classes count as equal to
    Python."""
    if (
        isinstance(one, tuple)
        and isinstance(other, tuple)
        and type(one) is type(other)
        and len(one) == len(other)
    ):
        return next((found for pair in zip(one, other, strict=True) if (found := difference(*pair))), "")
    return "" if type(one) is type(other) and one == other else f"{one!r} is not {other!r}"


@pytest.fixture
def rig(tmp_path: Path) -> tuple[Path, Path]:
    """The folder of a rig that uses one file, and one for what is kept."""
    for name in ("rig", "cache"):
        (tmp_path / name).mkdir(mode=0o700)
    (tmp_path / "rig" / "stock.rig").write_text(GOOD, encoding="utf-8")
    (tmp_path / "rig" / "main.rig").write_text(MAIN, encoding="utf-8")
    parser.load.cache_clear()
    return tmp_path / "rig", tmp_path / "cache"


def test_what_is_recalled_is_what_was_parsed(tmp_path: Path) -> None:
    """Every statement of every sample, stock and case file: each class, name, number, word and place."""
    cache = str(tmp_path / "cache")
    seen = 0
    for path in TEXTS:
        source = Source(str(path), path.read_text(encoding="utf-8", errors="replace"))
        statements = parser.readable(source, cache)
        statement_cache.store(cache, source, statements)
        found = statement_cache.load(cache, source)

        assert found is not None, path
        assert difference(found, statements) == "", path
        seen += len(found.statements)

    assert len(TEXTS) > 300
    assert seen > 3000, "the comparison has something to compare"


def test_the_comparison_sees_what_differs() -> None:
    """A name and words of one text in one place are equal as tuples, and no equal statements."""
    span = Span(Source("a", "b"), 0, 1)
    name, words = parser.tree.Name("b", span), parser.tree.Words("b", span)

    assert name == words  # type: ignore[comparison-overlap]  # what Python says of them
    assert difference((name,), (words,))
    assert difference((name,), (name, name))
    assert difference((name,), (name,)) == ""


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
    assert [
        (span.source.name, span.source.text, span.start, span.end)
        for span in (statement.name.span for statement in again.statements[2:4])  # type: ignore[attr-defined]
    ] == [(str(rig[0] / "stock.rig"), GOOD, start, end) for start, end in ((7, 13), (47, 52))]
    assert kept_files(rig[1]) == [one]


def test_equal_texts_are_kept_once(rig: tuple[Path, Path]) -> None:
    """What is kept belongs to a text, wherever a file with it stands."""
    read(*rig)
    kept = kept_files(rig[1])
    (rig[0] / "other.rig").write_text(MAIN.replace("stock", "copy"), encoding="utf-8")
    (rig[0] / "copy.rig").write_text(GOOD, encoding="utf-8")
    found, said = read(*rig, "other.rig")

    assert found is not None and said == []
    assert kept_files(rig[1]) == kept
    assert found.statements[2].name.span.source.name == str(rig[0] / "copy.rig")  # type: ignore[attr-defined]


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


def test_another_text_or_language_does_not_count(
    rig: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    found, _ = read(*rig)
    assert found is not None
    cache = str(rig[1])
    source = found.statements[2].name.span.source  # type: ignore[attr-defined]

    assert statement_cache.load(cache, source) is not None
    assert statement_cache.load(cache, Source(source.name, source.text + "\n")) is None
    language = parser.load(cache)
    monkeypatch.setattr(parser, "load", lambda _: language._replace(digest="another grammar"))
    assert statement_cache.load(cache, source) is None


@pytest.mark.parametrize(
    "name", ["parser", "tree", "vocabulary", "grammar_cache", "statement_cache", "rig.lark"]
)
def test_a_change_of_what_reads_makes_another_language(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """One more comment in the grammar or in a module that statements are read by, and nothing kept counts any more."""
    plain = parser.get_data

    def edited(package: str, file: str) -> bytes:
        data = plain(package, file)
        assert data is not None
        return data + (b"\n// more\n" if file == "rig.lark" else b"\n# more\n") * file.startswith(name)

    before = parser.load.__wrapped__().digest
    monkeypatch.setattr(parser, "get_data", edited)

    assert parser.load.__wrapped__().digest != before


@pytest.mark.parametrize(
    "kept",
    [
        "",
        "null",
        "3",
        '"File"',
        "[]",
        "{}",
        '["File"]',
        '["File",["tuple"],["tuple"]]',
        '["NoSuch",1]',
        '["__class__"]',
        '["Span",0,5]',
        '[["File"],1]',
        '["File",["Fraction",1,0]]',
        '["File",["Fraction","1e9999999","1"]]',
        '["File",["Fraction",1]]',
        '["File",' + "9" * 5000 + "]",
        "[" * 100_000,
        '["tuple",' * 50_000 + '["tuple"]' + "]" * 50_000,
    ],
    ids=lambda text: text[:24],
)
def test_what_is_no_statement_is_passed_over_and_replaced(rig: tuple[Path, Path], kept: str) -> None:
    """Even under a right digest, which a broken file does not have."""
    read(*rig)
    (one,) = kept_files(rig[1])
    whole = one.read_bytes()
    cache_folder.write(str(rig[1]), one.name, kept.encode())
    assert one.read_bytes() != whole
    found, said = read(*rig)

    assert found is not None and said == []
    assert len(found.statements) == 4
    assert one.read_bytes() == whole


def test_an_editor_keeps_nothing(rig: tuple[Path, Path]) -> None:
    """What it reads may not be saved, and changes with every key."""
    diagnostics = Diagnostics()
    reader = load.from_disk
    load.load(rig[0] / "main.rig", diagnostics, str(rig[1]), (), lambda name: reader(name))

    assert kept_files(rig[1]) == []


def test_kept_tables_make_the_same_parser(tmp_path: Path) -> None:
    """The grammar from its tables in the cache: every state, rule and terminal as lark makes them from the grammar."""
    cache = str(tmp_path / "cache")
    made, kept = (parser.load.__wrapped__(cache).lark for _ in range(2))
    assert hasattr(made, "grammar") and not hasattr(kept, "grammar"), "the second is from the cache"
    tables = [json.loads(json.dumps(lark.memo_serialize([])[0]["parser"])) for lark in (made, kept)]

    assert len(tables[0]["parser"]["states"]) > 300
    assert tables[0] == tables[1]
    assert {term.name: term.pattern.to_regexp() for term in made.terminals} == {
        term.name: term.pattern.to_regexp() for term in kept.terminals
    }
    assert vars(made.options)["options"].keys() == vars(kept.options)["options"].keys()
    assert made.options.start == kept.options.start
