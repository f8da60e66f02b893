"""A typeface of the rig's own: read, measured, embedded; what cannot be used is said."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import font_source_sans_pro
import pikepdf
import pytest
from fontTools import subset

from rigcard.diagnostics import Diagnostics
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig

FONTS = Path(font_source_sans_pro.font_directory)
TEXT = 'rig "Case" {{ revision "A"; typeface {names} }}\n'


def built(folder: Path, names: str, *fonts: str) -> tuple[dict[str, bytes], list[str]]:
    """The papers of a small rig with this typeface, and what was reported."""
    for font in fonts:
        shutil.copy(FONTS / font, folder)
    path = folder / "case.rig"
    path.write_text(TEXT.format(names=names), encoding="utf-8")
    diagnostics = Diagnostics()
    papers = build_rig(path, diagnostics, request=Request(only=("cards",)))
    return papers.files if papers else {}, [f"{found.code.id} {found.message}" for found in diagnostics]


def test_own_files_are_embedded(tmp_path: Path) -> None:
    """The PDF, read by pikepdf, has subsets of the two files that the rig names."""
    files, said = built(
        tmp_path,
        '"SourceSansPro-Light.ttf", "SourceSansPro-Black.ttf"',
        "SourceSansPro-Light.ttf",
        "SourceSansPro-Black.ttf",
    )
    assert said == []
    (tmp_path / "cards.pdf").write_bytes(files["cards.pdf"])
    with pikepdf.open(tmp_path / "cards.pdf") as read:
        names = {str(font.BaseFont) for page in read.pages for font in page.Resources.Font.values()}
    assert {name.split("+")[1] for name in names} == {"SourceSansPro-Light", "SourceSansPro-Black"}


def test_one_file_serves_for_both_weights(tmp_path: Path) -> None:
    """Without a second file the first is heavy text too."""
    files, said = built(tmp_path, '"SourceSansPro-Light.ttf"', "SourceSansPro-Light.ttf")
    assert (list(files), said) == (["cards.pdf"], [])


@pytest.mark.parametrize(
    ("names", "fonts", "cause"),
    [
        ('"none.ttf"', (), "cannot be read: No such file"),
        ('"SourceSansPro-Light.otf"', ("SourceSansPro-Light.otf",), "is no TrueType font that can be embedded"),
        ('"case.rig"', (), "is no TrueType font that can be embedded"),
        ('"."', (), "cannot be read: Is a directory"),
    ],
)
def test_a_file_that_cannot_be_used(tmp_path: Path, names: str, fonts: tuple[str, ...], cause: str) -> None:
    """One message at the name, and no papers."""
    files, said = built(tmp_path, names, *fonts)

    assert files == {}
    assert len(said) == 1
    assert said[0].startswith(f"RC509 the typeface {cause}")


def test_a_check_looks_for_the_file(tmp_path: Path) -> None:
    """That a file is not there is told without making a paper."""
    built(tmp_path, '"none.ttf"')
    diagnostics = Diagnostics()

    assert check_rig(tmp_path / "case.rig", diagnostics).solved is None
    assert [found.code.id for found in diagnostics] == ["RC509"]


def test_a_pipe_is_not_read(tmp_path: Path) -> None:
    """It may never end."""
    os.mkfifo(tmp_path / "pipe.ttf")
    files, said = built(tmp_path, '"pipe.ttf"')

    assert (files, said) == ({}, ["RC509 the typeface cannot be read: it is no file but a pipe or a device"])


def test_a_font_without_the_signs_of_the_papers(tmp_path: Path) -> None:
    """A font cut down to a few letters by fontTools' subsetter lacks the arrow and the minus sign: refused."""
    font = subset.load_font(str(FONTS / "SourceSansPro-Regular.ttf"), subset.Options())
    cutter = subset.Subsetter(subset.Options())
    cutter.populate(text="ABC abc 0123456789")
    cutter.subset(font)
    font.save(tmp_path / "few.ttf")
    font.close()
    files, said = built(tmp_path, '"few.ttf"')

    assert files == {}
    assert "RC509 the typeface lacks" in said[0]
