"""Renames something in every file, and refuses wherever the new name would change what the rig means."""

import os
import re
from collections import Counter

from rigcard.diagnostics import Diagnostic
from rigcard.server.index import Occurrence
from rigcard.server.project import Edits, Project
from rigcard.syntax.parser import load
from rigcard.syntax.recover import statement_around


class RefusedError(Exception):
    """The reason why a name cannot be changed, in a sentence for the user."""


def renamable(project: Project, path: str, offset: int) -> Occurrence:
    """Return the name at an offset. Raises RefusedError if it cannot be renamed."""
    for root in project.rigs_with(path):
        index = project.index(root)
        found = index.at(path, offset)
        if found and any(key.kind == "row" for key in found.keys):
            raise RefusedError(f"`{_text(found)}` is one of a row of ports, which are numbered")
        if found and not any(place.declares for place in index.same(found.keys[0])):
            raise RefusedError(f"`{_text(found)}` is declared in no file of the rig")
        if found:
            return found
    raise RefusedError("no name stands here; words in quotes and words of the language stay as they are")


def renamed(project: Project, path: str, offset: int, new: str) -> Edits:
    """Return the edits that rename something. Raises RefusedError."""
    found = renamable(project, path, offset)
    if not _is_name(project, new):
        raise RefusedError(f"`{new}` is no name: it begins with a letter a to z, then letters, digits, - and _")
    places = project.everywhere(path, offset)
    edits: Edits = {}
    for place in places:
        edits.setdefault(place.span.source.name, []).append((place.span.start, place.span.end, new))
    if new != _text(found):
        _prove(project, edits, places, new)
    return edits


def _text(found: Occurrence) -> str:
    return found.keys[0].name


def _is_name(project: Project, text: str) -> bool:
    return bool(re.fullmatch(load(project.cache).lark.get_terminal("NAME").pattern.to_regexp(), text))


def _prove(project: Project, edits: Edits, places: list[Occurrence], new: str) -> None:
    """Refuse edits that change what a rig means.

    The new name may be taken, or it may be a word that breaks the form of a block.
    """
    keys = {key for place in places for key in place.keys}
    roots = sorted({root for path in edits for root in project.rigs_holding(path, keys, new)})
    for root in roots:
        index = project.index(root)
        for key in keys:
            if new in index.known(key.kind, key.scope):
                raise RefusedError(f"there is a {key.kind} named `{new}` already")
    tried = project.with_edits(edits)
    for root in roots:
        after = tried.findings(root).found
        _all_read(after, _text(places[0]))
        before = project.findings(root).found if after else ()
        more = Counter(found.code.id for found in after) - Counter(found.code.id for found in before)
        if fresh := [found for found in after if found.code.id in more]:
            raise RefusedError(f"`{new}` cannot be the name: {fresh[0].message}")
    first = places[0].span
    if len(tried.everywhere(first.source.name, first.start)) != len(places):
        raise RefusedError(f"`{new}` is the name of something else that would then be one with it")


def _all_read(faults: tuple[Diagnostic, ...], old: str) -> None:
    """Refuse if an unreadable statement contains the word: it may or may not be the name."""
    for found in faults:
        if found.span and found.code.id.startswith("RC1"):
            source = found.span.source
            start, end = statement_around(source.text, found.span.start)
            if re.search(rf"(?<![\w-]){re.escape(old)}(?![\w-])", source.text[start:end]):
                line = source.position(found.span.start)[0]
                name = os.path.basename(source.name)
                raise RefusedError(
                    f"`{old}` stands in line {line} of {name}, which cannot be read: mend it first"
                )
