"""A typeface of the rig's own: read, measured, embedded; what cannot be used is said."""

from __future__ import annotations

import os
import resource
import shutil
import struct
from collections.abc import Callable, Mapping
from pathlib import Path

import font_source_sans_pro
import pikepdf
import pytest
from fontTools import subset
from fontTools.ttLib import TTFont
from reportlab.pdfbase.ttfonts import TTFontFace

from command import CLEAN, FAULTS, rigcard
from rigcard.diagnostics import Diagnostics
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig
from rigcard.render.slashed_zero import slash_zero

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


# ---- fonts of a stranger -------------------------------------------------------------------------------------------

LIMITS = {resource.RLIMIT_AS: 1 << 30, resource.RLIMIT_CPU: 20}  # bytes, seconds of the processor
USUAL = FONTS / "SourceSansPro-Regular.ttf"


def tables(changed: Mapping[str, bytes]) -> bytes:
    """A font file with some of its tables replaced."""
    font = TTFont(USUAL)
    parts = {tag: font.reader[tag] for tag in font.reader.keys()}  # noqa: SIM118 - it is no dictionary
    parts |= changed
    head, body = b"", b""
    for tag, data in parts.items():
        head += struct.pack(">4sLLL", tag.encode(), 0, 12 + 16 * len(parts) + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    return struct.pack(">LHHHH", 0x00010000, len(parts), 0, 0, 0) + head + body


def cmap(form: bytes) -> bytes:
    """A table of characters with one part, for Unicode."""
    return struct.pack(">HHHHL", 0, 1, 3, 1, 12) + form


def usual_table(tag: str) -> bytes:
    """A table of the usual font."""
    return TTFont(USUAL).reader[tag]


def with_kind(kind: int) -> dict[str, bytes]:
    """The table of metrics with the permissions `fsType`."""
    table = usual_table("OS/2")
    return {"OS/2": table[:8] + struct.pack(">H", kind) + table[10:]}


def zero_for_ever() -> bytes:
    """A GSUB table of thousands of features `zero`, each with thousands of lookups of thousands of parts."""
    many = 0x7000
    feature = struct.pack(">HH", 0, many) + struct.pack(">H", 0) * many
    features = struct.pack(">H", many) + struct.pack(">4sH", b"zero", 2 + 6 * 0x2000) * many
    at = 2 + 6 * 0x2000
    features = features[:at] + feature + features[at + len(feature) :]
    lookup = struct.pack(">HHH", 1, 0, many) + struct.pack(">H", 6) * many
    lookups = struct.pack(">HH", 1, 4) + lookup
    return struct.pack(">LHHH", 0x00010000, 0, 10, 0) + lookups + features


CRAFTED: dict[str, tuple[Callable[[], dict[str, bytes]], str]] = {
    "characters in groups": (
        lambda: {
            "cmap": cmap(
                struct.pack(">HHLLL", 12, 0, 16 + 12 * 30_000, 0, 30_000)
                + struct.pack(">LLL", 0, 0xFFFFFFF, 1) * 30_000
            )
        },
        "maps more characters than there are",
    ),
    "characters in segments": (
        lambda: {
            "cmap": cmap(
                struct.pack(">HHHHHHH", 4, 0xFFFF, 0, 2 * 30_000, 0, 0, 0)
                + b"\xff\xff" * 30_000
                + b"\0\0"
                + b"\0\0" * 30_000
                + b"\0\1" * 30_000
                + b"\0\0" * 30_000
            )
        },
        "maps more characters than there are",
    ),
    "a number of groups": (
        lambda: {"cmap": cmap(struct.pack(">HHLLL", 12, 0, 16, 0, 0xFFFFFFFF))},
        "maps more characters than there are",
    ),
    "names": (
        lambda: {
            "name": struct.pack(">HHH", 0, 0xFFFF, 6) + struct.pack(">HHHHHH", 3, 1, 9, 9, 0xFFFF, 0) * 0xFFFF
        },
        "has more than 4096 names",
    ),
    "outlines over each other": (
        lambda: {"loca": usual_table("loca")[:-8] + b"\xff\xff\xff\xf0" + b"\0\0\0\0"},
        "has outlines that overlap or lie outside their table",
    ),
    "outlines beyond the end": (
        lambda: {"loca": usual_table("loca")[:-4] + b"\xff\xff\xff\xf0"},
        "has outlines that overlap or lie outside their table",
    ),
    "zeroed outlines": (lambda: {"glyf": b"\0" * len(usual_table("glyf"))}, "lacks 105 signs"),
    "outlines made of parts without end": (
        lambda: {
            "glyf": b"\xff\xff\0\0\0\0\0\0\0\0\0\x20\0\1" * (len(usual_table("glyf")) // 14)
            + b"\0" * (len(usual_table("glyf")) % 14)
        },
        "",
    ),
    "a table that is cut off": (lambda: {"cmap": usual_table("cmap")[:7]}, ""),
    "not to be embedded": (
        lambda: with_kind(0x0002),
        "does not allow to be embedded in a document (fsType 0x0002)",
    ),
    "only to be embedded whole": (
        lambda: with_kind(0x0104),
        "does not allow a part of it to be embedded (fsType 0x0104)",
    ),
    "only pictures of it": (
        lambda: with_kind(0x0200),
        "does not allow a part of it to be embedded (fsType 0x0200)",
    ),
}


@pytest.mark.parametrize("kind", CRAFTED)
def test_a_font_that_was_made_to_harm(kind: str, tmp_path: Path) -> None:
    """Refused with the cause, at the name, soon and in little memory."""
    make, cause = CRAFTED[kind]
    (tmp_path / "font.ttf").write_bytes(tables(make()))
    (tmp_path / "case.rig").write_text(TEXT.format(names='"font.ttf"'), encoding="utf-8")
    run = rigcard("build", "case.rig", at=tmp_path, limits=LIMITS)

    assert run.code == FAULTS
    assert run.err.startswith("case.rig:1:37: error[RC509]: the typeface ")
    assert cause in run.err


def test_a_zero_that_is_looked_for_without_end(tmp_path: Path) -> None:
    """The font is used with its plain zero: within the limits."""
    (tmp_path / "font.ttf").write_bytes(tables({"GSUB": zero_for_ever()}))
    (tmp_path / "case.rig").write_text(TEXT.format(names='"font.ttf"'), encoding="utf-8")

    assert rigcard("build", "case.rig", at=tmp_path, limits=LIMITS).code == CLEAN
    face = TTFontFace(str(tmp_path / "font.ttf"))
    plain = face.charToGlyph[ord("0")]
    assert not slash_zero(face)
    assert face.charToGlyph[ord("0")] == plain


@pytest.mark.parametrize("kind", [0x0000, 0x0004, 0x0008, 0x000C, 0x0006])
def test_a_font_that_may_be_embedded(kind: int, tmp_path: Path) -> None:
    """Installable, for preview and print, editable; where several are set, the least strict counts (OpenType, OS/2)."""
    (tmp_path / "font.ttf").write_bytes(tables(with_kind(kind)))
    assert built(tmp_path, '"font.ttf"')[1] == []


def test_a_very_large_file(tmp_path: Path) -> None:
    """A file of 1.5 GB of nothing is refused before it fills the memory."""
    with (tmp_path / "font.ttf").open("wb") as file:
        file.truncate(1_500_000_000)
    (tmp_path / "case.rig").write_text(TEXT.format(names='"font.ttf"'), encoding="utf-8")
    run = rigcard("build", "case.rig", at=tmp_path, limits=LIMITS)

    assert run.code == FAULTS
    assert "error[RC509]: the typeface is larger than 32 MB" in run.err


@pytest.mark.parametrize("command", ["check", "build"])
def test_a_typeface_lies_where_a_used_file_may(command: str, tmp_path: Path) -> None:
    """In the folder of the rig or of stock, links followed; else RC114 at the name, and it is not opened."""
    for folder in ("job", "house", "other"):
        (tmp_path / folder).mkdir()
    shutil.copy(USUAL, tmp_path / "house" / "font.ttf")
    shutil.copy(USUAL, tmp_path / "other" / "far.ttf")
    (tmp_path / "job" / "link.ttf").symlink_to("../other/far.ttf")
    for name, stock, code in (
        ("font.ttf", "../house", CLEAN),
        ("../house/font.ttf", "../house", CLEAN),
        ("../house/font.ttf", ".", FAULTS),
        ("link.ttf", "../house", FAULTS),
        (str(tmp_path / "other" / "far.ttf"), "../house", FAULTS),
        ("/dev/zero", "../house", FAULTS),
    ):
        (tmp_path / "job" / "case.rig").write_text(TEXT.format(names=f'"{name}"'), encoding="utf-8")
        run = rigcard(command, "case.rig", "--stock", stock, at=tmp_path / "job")
        assert run.code == code, (name, stock, run.said)
        assert ("case.rig:1:37: error[RC114]: the typeface lies outside" in run.err) == (code == FAULTS)
