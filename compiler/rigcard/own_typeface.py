"""Checks whether the font files that a rig names for its papers can be used."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.resolve.model import Rig
from rigcard.source import StrPath
from rigcard.syntax.load import require_regular_file

if TYPE_CHECKING:
    from rigcard.render.typeface import EmbeddedTypeface

TYPEFACE_UNUSABLE = define(
    "RC509",
    Severity.ERROR,
    "typeface_unusable",
    """
    Reports: a file named by `typeface` that cannot be read, is no TrueType font, or lacks signs that the papers need.
    Why: nothing is ever printed with a sign missing or another typeface than was asked for.
    Bad: typeface "fonts/head.otf", a font with outlines of another kind
    Good: typeface "fonts/head.ttf", "fonts/head-bold.ttf"
    """,
)


def files(path: StrPath, rig: Rig) -> tuple[str, ...]:
    """Return the paths of the rig's font files, which it gives relative to itself; none without a typeface."""
    own = rig.typeface
    if own is None:
        return ()
    return tuple(dict.fromkeys(os.path.join(os.path.dirname(path), name) for name in (own.regular, own.bold)))


def check(path: StrPath, rig: Rig, diagnostics: Diagnostics) -> None:
    """Report a font file that cannot be opened; its content is checked when papers are made."""
    for file in files(path, rig):
        try:
            require_regular_file(file)
            with open(file, "rb"):
                continue
        except (OSError, ValueError) as fault:
            _unusable(rig, f"cannot be read: {getattr(fault, 'strerror', None) or fault}", diagnostics)
            return


def load(path: StrPath, rig: Rig, diagnostics: Diagnostics) -> EmbeddedTypeface | None:
    """Return the typeface of the papers: the rig's own, or the one that comes with the compiler.

    None if it cannot be used.
    """
    from rigcard.render.typeface import EmbeddedTypeface, UnusableFontError  # it imports the drawing modules

    named = files(path, rig)
    try:
        face = EmbeddedTypeface(named[0], named[-1]) if named else EmbeddedTypeface()
    except UnusableFontError as fault:
        _unusable(rig, str(fault), diagnostics)
        return None
    if named and face.unfit():
        signs = f"{len(face.unfit())} signs that the papers use, such as `{face.unfit()[0]}`"
        _unusable(rig, f"lacks {signs}", diagnostics)
        return None
    return face


def _unusable(rig: Rig, reason: str, diagnostics: Diagnostics) -> None:
    assert rig.typeface is not None
    hint = "name another TrueType file, or leave `typeface` out"
    diagnostics.report(TYPEFACE_UNUSABLE, rig.typeface.span, f"the typeface {reason}", hint)
