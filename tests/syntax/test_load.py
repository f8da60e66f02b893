"""Which files a rig may use, and how many."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from command import CLEAN, FAULTS, rigcard
from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.pipeline import check_rig
from rigcard.starter import STARTER
from rigcard.syntax import load as load_module
from rigcard.syntax.load import DEEPEST, MOST_FILES, read_within, within

MODEL = 'model box-1 "Box" { role other }\n'
RIG = 'rig "Test" { revision "A" }\n'


def checked(path: Path, *stock: Path) -> list[Diagnostic]:
    """What a check says."""
    diagnostics = Diagnostics()
    check_rig(path, diagnostics, stock=[str(folder) for folder in stock])
    return diagnostics.sorted()


def codes(path: Path, *stock: Path) -> list[str]:
    """The codes of what a check says."""
    return [found.code.id for found in checked(path, *stock)]


# ---- where a used file may lie -----------------------------------------------------------------------------------


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """`job/my.rig`, `job/sub/b.rig`, `house/a.rig` (which uses `more/c.rig` below it) and `other/d.rig`."""
    for name, text in {
        "job/my.rig": RIG,
        "job/sub/b.rig": MODEL,
        "house/a.rig": f'{MODEL}use "more/c.rig"\n',
        "house/more/c.rig": MODEL.replace("box-1", "box-2"),
        "other/d.rig": MODEL,
    }.items():
        (tmp_path / name).parent.mkdir(exist_ok=True, parents=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("used", "said"),
    [
        ("sub/b.rig", []),
        ("./sub/../sub/b.rig", []),
        ("../job/sub/b.rig", []),
        ("../house/a.rig", ["RC114"]),
        ("sub/../../house/a.rig", ["RC114"]),
        ("{}/house/a.rig", ["RC114"]),
        ("{}/job/sub/b.rig", []),
        ("out.rig", ["RC114"]),
        ("way/a.rig", ["RC114"]),
        ("in.rig", []),
        ("loop.rig", ["RC109"]),
        ("pipe", ["RC109"]),
        (".", ["RC109"]),
        ("", ["RC109"]),
        ("..", ["RC114"]),
        ("../nowhere.rig", ["RC114"]),
        ("nowhere.rig", ["RC109"]),
        ("a.rig", ["RC109"]),
    ],
)
def test_a_used_file_lies_in_the_folder_of_the_rig(used: str, said: list[str], place: Path) -> None:
    """Below the folder, with every link followed: else RC114 at the words, whether the file is there or not."""
    job = place / "job"
    (job / "out.rig").symlink_to(place / "house" / "a.rig")
    (job / "in.rig").symlink_to(Path("sub") / "b.rig")
    (job / "way").symlink_to(place / "house")
    (job / "loop.rig").symlink_to("loop.rig")
    os.mkfifo(job / "pipe")
    (job / "my.rig").write_text(f'{RIG}use "{used.format(place)}"\n', encoding="utf-8")
    found = checked(job / "my.rig")

    assert [one.code.id for one in found] == said
    assert all(one.span and one.span.source.position(one.span.start) == (2, 5) for one in found)
    assert all("--stock DIR" in one.hint for one in found if one.code.id == "RC114")
    assert not any("/../" in one.message for one in found)


@pytest.mark.parametrize(
    ("used", "stock", "said"),
    [
        ("a.rig", ["house"], []),  # looked for in the stock folder, and uses more/c.rig of it
        ("../house/a.rig", ["house"], []),
        ("more/c.rig", ["other", "house"], []),
        ("d.rig", ["house", "other"], []),
        ("sub/b.rig", ["house"], []),
        ("d.rig", ["house"], ["RC109"]),
        ("../other/d.rig", ["house"], ["RC114"]),
        ("a.rig", ["gone"], ["RC109"]),
        ("a.rig", ["house/a.rig"], ["RC109"]),
    ],
)
def test_a_stock_folder_is_named(used: str, stock: list[str], said: list[str], place: Path) -> None:
    """`--stock` allows a folder, and is where a file is looked for that does not lie beside the one that uses it."""
    (place / "job" / "my.rig").write_text(f'{RIG}use "{used}"\n', encoding="utf-8")
    assert codes(place / "job" / "my.rig", *(place / folder for folder in stock)) == said


@pytest.mark.parametrize("used", ["../job/sub/b.rig", "../other/d.rig", "/etc/hosts"])
def test_a_stock_file_stays_in_its_folder(used: str, place: Path) -> None:
    """A file of a stock folder reaches neither the folder of the rig nor another stock folder."""
    (place / "house" / "a.rig").write_text(f'use "{used}"\n', encoding="utf-8")
    (place / "job" / "my.rig").write_text(f'{RIG}use "a.rig"\n', encoding="utf-8")
    found = checked(place / "job" / "my.rig", place / "house", place / "other")

    assert [one.code.id for one in found] == ["RC114"]
    assert found[0].span is not None
    assert found[0].span.source.name == str(place / "house" / "a.rig")


def test_stock_is_an_option_of_three_commands(place: Path) -> None:
    """`build`, `check` and `show` take it, and the message names files as they are seen from the working folder."""
    (place / "job" / "my.rig").write_text(f'{STARTER}use "a.rig"\n', encoding="utf-8")
    for words in (["check", "my.rig"], ["build", "my.rig", "--only", "data"], ["show", "my.rig", "pan"]):
        run = rigcard(*words, "--stock", "../house", at=place / "job")
        assert (run.code, run.err) == (CLEAN, ""), words
    (place / "house" / "more" / "c.rig").write_text("nonsense\n", encoding="utf-8")
    run = rigcard("check", "my.rig", "--stock", "../house", at=place / "job")
    assert run.code == FAULTS
    assert run.err.startswith("../house/more/c.rig:1:1: error[RC102]")


# ---- how many ----------------------------------------------------------------------------------------------------


def test_a_chain_of_files_ends(tmp_path: Path) -> None:
    """A chain as long as may be is read; one file more is refused, once, where it is used."""
    for number in range(DEEPEST + 5):
        (tmp_path / f"{number}.rig").write_text(f'use "{number + 1}.rig"\n', encoding="utf-8")
    (tmp_path / f"{DEEPEST + 5}.rig").write_text(RIG, encoding="utf-8")
    found = checked(tmp_path / "0.rig")

    assert [one.code.id for one in found] == ["RC115"]
    assert found[0].span is not None
    assert found[0].span.source.name == str(tmp_path / f"{DEEPEST}.rig")
    assert codes(tmp_path / "5.rig") == []


def test_a_rig_of_very_many_files(tmp_path: Path) -> None:
    """As many as may be are read; one more is refused, once."""
    for number in range(MOST_FILES + 20):
        (tmp_path / f"{number}.rig").write_text("# nothing\n", encoding="utf-8")
    for more in (0, 20):
        uses = "".join(f'use "{number}.rig"\n' for number in range(MOST_FILES - 1 + more))
        (tmp_path / "my.rig").write_text(RIG + uses, encoding="utf-8")
        assert codes(tmp_path / "my.rig") == ["RC116"] * bool(more)


def test_what_was_opened_is_what_is_judged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A link that is turned round after the file was opened: the bytes of the file outside are not given out."""
    inside, outside = tmp_path / "inside", tmp_path / "outside"
    for folder in (inside, outside):
        folder.mkdir()
        (folder / "stock.rig").write_text(folder.name)
    link = inside / "used.rig"
    link.symlink_to(outside / "stock.rig")
    opening = os.open

    def turning(name: str, flags: int) -> int:
        handle = opening(name, flags)
        link.unlink()
        link.symlink_to(inside / "stock.rig")
        return handle

    monkeypatch.setattr(load_module.os, "open", turning)
    with pytest.raises(ValueError, match="changed while it was read"):
        read_within(str(link), lambda real: within(real, str(inside)))
    monkeypatch.setattr(load_module.os, "open", opening)
    assert read_within(str(link), lambda real: within(real, str(inside))) == b"inside"


def test_a_pipe_in_place_of_a_used_file_is_not_waited_for(tmp_path: Path) -> None:
    """It is opened without waiting for a writer, then refused; a folder is refused too."""
    os.mkfifo(tmp_path / "pipe.rig")
    with pytest.raises(ValueError, match="pipe or a device"):
        read_within(str(tmp_path / "pipe.rig"), lambda real: True)
    with pytest.raises(IsADirectoryError):
        read_within(str(tmp_path), lambda real: True)
