"""Renames something in every file, and refuses wherever the new name would change what the rig means."""

import os
import re
from collections import Counter

from rigcard.diagnostics import Diagnostic
from rigcard.resolve import words
from rigcard.server.index import Occurrence
from rigcard.server.project import Edits, Project
from rigcard.syntax.cutting import statement_around
from rigcard.syntax.parser import load


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


def _is_word_of_the_language(project: Project, text: str) -> bool:
    """Whether the language has a meaning for a word somewhere, so that it may be read as something else than a name."""
    tokens = [known for known in load(project.cache).lark.terminals if known.name != "NAME"]
    fixed = [known for known in vars(words).values() if isinstance(known, tuple)]
    return any(re.fullmatch(known.pattern.to_regexp(), text) for known in tokens) or any(
        text in known for known in fixed
    )


def _prove(project: Project, edits: Edits, places: list[Occurrence], new: str) -> None:
    """Refuse edits that change what a rig means.

    The new name may be taken, or it may be a word that breaks the form of a block. A name that stands in no file of
    a rig and is no word of the language stands for nothing there but what is renamed, so one such rig is enough.
    """
    keys = {key for place in places for key in place.keys}
    roots = sorted({root for path in edits for root in project.rigs_holding(path, keys, new)})
    for root in roots:
        index = project.index(root)
        for key in keys:
            if new in index.known(key.kind, key.scope):
                raise RefusedError(f"there is a {key.kind} named `{new}` already")
    tried = project.with_edits(edits)
    doubtful = [root for root in roots if project.mentions(root, new)]
    known = _is_word_of_the_language(project, new)
    with tried.one_moment():
        for root in roots if known else doubtful or roots[:1]:
            after = tried.findings(root).found
            before = project.findings(root).found if after else ()
            more = Counter(found.code.id for found in after) - Counter(found.code.id for found in before)
            if fresh := [found for found in after if found.code.id in more]:
                raise RefusedError(f"`{new}` cannot be the name: {fresh[0].message}")
        for root in roots:
            _all_read(project.unreadable(root), _text(places[0]))
        first = places[0].span
        if (doubtful or known) and len(tried.everywhere(first.source.name, first.start)) != len(places):
            raise RefusedError(f"`{new}` is the name of something else that would then be one with it")


def _all_read(faults: list[Diagnostic], old: str) -> None:
    """Refuse if an unreadable statement contains the word: it may or may not be the name."""
    for found in faults:
        if found.span:
            source = found.span.source
            start, end = statement_around(source.text, found.span.start)
            if re.search(rf"(?<![\w-]){re.escape(old)}(?![\w-])", source.text[start:end]):
                line = source.position(found.span.start)[0]
                name = os.path.basename(source.name)
                raise RefusedError(
                    f"`{old}` stands in line {line} of {name}, which cannot be read: mend it first"
                )
