"""Checks whether the font files that a rig names for its papers can be used."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.resolve.model import Rig
from rigcard.source import StrPath
from rigcard.syntax.codes import OUTSIDE
from rigcard.syntax.load import joined, require_regular_file, within

if TYPE_CHECKING:
    from rigcard.render.typeface import EmbeddedTypeface

TYPEFACE_UNUSABLE = define(
    "RC509",
    Severity.ERROR,
    "typeface_unusable",
    """
    Reports: a file named by `typeface` that cannot be read, is no TrueType font, may not be embedded, or lacks signs that the papers need.
    Why: the compiler never prints with a sign missing, in another typeface than the file names, or against the font's licence.
    Bad: typeface "fonts/head.otf", a font with outlines of another kind
    Good: typeface "fonts/head.ttf", "fonts/head-bold.ttf"
    """,
)


def files(path: StrPath, rig: Rig, stock: Sequence[str] = ()) -> tuple[str, ...]:
    """The paths of its font files, which lie where a used file may; none where the rig names no typeface."""
    own = rig.typeface
    if own is None:
        return ()
    found = (_place(path, name, stock) for name in (own.regular, own.bold))
    return tuple(dict.fromkeys(name for name in found if name is not None))


def _place(path: StrPath, name: str, stock: Sequence[str]) -> str | None:
    """The path of a font file: beside the rig, else in a stock folder; None outside of all."""
    folders = (os.path.dirname(path), *stock)
    named = [joined(folder, os.fsdecode(name.encode())) for folder in folders]
    allowed = [file for file in named if any(within(file, folder) for folder in folders)]
    there = [file for file in allowed if os.path.lexists(file)]
    return next(iter(there), named[0] if named[0] in allowed else None)


def check(path: StrPath, rig: Rig, diagnostics: Diagnostics, stock: Sequence[str] = ()) -> None:
    """Report a font file that may not be used or cannot be opened; what is in it is seen when papers are made."""
    own = rig.typeface
    if own and any(_place(path, name, stock) is None for name in (own.regular, own.bold)):
        diagnostics.report(
            OUTSIDE,
            own.span,
            "the typeface lies outside the folder of the rig file",
            "copy it there, or name its folder with `--stock DIR`",
        )
    for file in files(path, rig, stock):
        try:
            require_regular_file(file)
            with open(file, "rb"):
                continue
        except (OSError, ValueError) as fault:
            _unusable(rig, f"cannot be read: {getattr(fault, 'strerror', None) or fault}", diagnostics)
            return


def load(
    path: StrPath, rig: Rig, diagnostics: Diagnostics, stock: Sequence[str] = ()
) -> EmbeddedTypeface | None:
    """The typeface of the papers: the rig's own, or the one that comes with the compiler; None if it cannot be used."""
    from rigcard.render.font_file import UnusableFontError  # it imports what draws
    from rigcard.render.typeface import EmbeddedTypeface

    named = files(path, rig, stock)
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
