"""The zero with a slash, in fonts of several builds."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import font_source_sans_pro
import pytest
from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.ttLib import TTFont
from reportlab.pdfbase.ttfonts import TTFontFace

from rigcard.render.slashed_zero import slash_zero

FONTS = Path(font_source_sans_pro.font_directory)


def stands_in(path: Path) -> str | None:
    """The glyph that feature `zero` of a font puts in place of its 0, as fontTools reads it."""
    font = TTFont(path)
    plain = font.getBestCmap()[ord("0")]
    found = None
    for record in font["GSUB"].table.FeatureList.FeatureRecord:
        for number in record.Feature.LookupListIndex if record.FeatureTag == "zero" else ():
            for sub in font["GSUB"].table.LookupList.Lookup[number].SubTable:
                mapping = getattr(getattr(sub, "ExtSubTable", sub), "mapping", {})
                found = found or mapping.get(plain)
    return found


@pytest.mark.parametrize("path", sorted(FONTS.glob("*.ttf")), ids=lambda path: path.stem)
def test_zero_is_slashed(path: Path) -> None:
    """In each font of the family 0 is the glyph that fontTools finds under the feature, and as wide as before."""
    face = TTFontFace(str(path))
    plain = face.charToGlyph[ord("0")]
    assert slash_zero(face)
    order = TTFont(path).getGlyphOrder()
    assert order[face.charToGlyph[ord("0")]] == stands_in(path) != order[plain]


@pytest.mark.parametrize(
    ("rules", "glyph"),
    [
        ("feature zero { sub zero by zero.0s; } zero;", "zero.0s"),
        ("feature zero { sub zero by zero.0; sub one by two; sub two by three; } zero;", "zero.0"),
        ("feature zero { sub [zero one two three four] by [one two three four five]; } zero;", "one"),
        ("lookup far useExtension { sub zero by zero.0s; } far; feature zero { lookup far; } zero;", "zero.0s"),
        ("feature zero { sub one by two; } zero;", "zero"),
        ("feature zero { sub zero one by two; } zero;", "zero"),  # no single substitution
        (
            "feature zero { sub zero by zero.sups; } zero;",
            "zero",
        ),  # of another width: columns would not line up
        ("feature onum { sub zero by zero.onum; } onum;", "zero"),
    ],
)
def test_zero_of_fonts_of_other_builds(tmp_path: Path, rules: str, glyph: str) -> None:
    """Tables that feaLib writes, in each form that the standard has, and fonts without such a zero."""
    font = TTFont(FONTS / "SourceSansPro-Regular.ttf")
    del font["GSUB"]
    addOpenTypeFeaturesFromString(font, rules)
    font.save(tmp_path / "font.ttf")
    face = TTFontFace(str(tmp_path / "font.ttf"))
    assert slash_zero(face) == (glyph != "zero")
    assert font.getGlyphOrder()[face.charToGlyph[ord("0")]] == glyph


def test_a_broken_table_leaves_zero_alone() -> None:
    """Tables cut off anywhere are no reason to refuse a font."""
    whole = TTFontFace(str(FONTS / "SourceSansPro-Regular.ttf"))
    table = whole.get_table("GSUB")
    plain = whole.charToGlyph[ord("0")]
    for end in (0, 7, 12, 40, 200, 2000):
        face = SimpleNamespace(
            charToGlyph={ord("0"): plain},
            hmetrics=whole.hmetrics,
            get_table=lambda tag, end=end: table[:end],
        )
        assert not slash_zero(face)
        assert face.charToGlyph == {ord("0"): plain}
