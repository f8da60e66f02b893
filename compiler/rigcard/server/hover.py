"""Shows text beside the cursor: the explanation of a message, the values of a name, the meaning of a word."""

import re
from collections.abc import Callable
from typing import NamedTuple

from rigcard.catalogue import as_entry
from rigcard.exports.paths import HEAD, Path, all_paths, cells, dialled
from rigcard.reporting.as_text import printable
from rigcard.server.context import context
from rigcard.server.index import Index, Key, Occurrence
from rigcard.server.keywords import sentences
from rigcard.server.places import holds
from rigcard.server.project import Project
from rigcard.solve.solved import Solved
from rigcard.source import Span

COLUMNS = ("CONTROL", "CHANNEL", "LEVEL", "PULSE", "INPUT", "HEARD", "STATE", "MARGIN", "DOES")
MOST_ROWS = 60
_WORD = re.compile(r"[A-Za-z][\w-]*")


class Shown(NamedTuple):
    """Texts to show one above the other, and the span that they describe."""

    parts: tuple[str, ...]
    span: Span


def hover(project: Project, path: str, offset: int) -> Shown | None:
    """Return what is known about a position in a file."""
    file = project.file(path)
    if file is None:
        return None
    text = file.source.text
    word = next((found for found in _WORD.finditer(text) if found.start() <= offset <= found.end()), None)
    span = Span(file.source, *(word.span() if word else (offset, offset)))
    parts: list[str] = []
    for found in project.diagnostics().get(path, []):
        if found.span and holds(found.span, offset):
            parts.append(as_entry(found.code))
    for root in project.rigs_with(path):
        index = project.index(root)
        name = index.at(path, offset)
        if name:
            span = name.span
            parts += _name(project, root, index, name)
        elif word and word[0] in ("expect", "measured", "gives"):
            claim = next((claim for claim in index.claims if _near(claim.span, span)), None)
            parts += _values(project, root, index, claim.position) if claim else []
    cursor = context(text, offset)
    if word and not parts and not (cursor.in_comment or cursor.in_words):
        parts += sentences(cursor.block, cursor.before, word[0])
    return Shown(tuple(dict.fromkeys(printable_lines(part) for part in parts)), span) if parts else None


def printable_lines(text: str) -> str:
    """Replace control characters in lines of text."""
    return "\n".join(printable(line) for line in text.split("\n"))


def _near(claim: Span, word: Span) -> bool:
    """Whether only spaces separate a claim from one of its fixed words."""
    if claim.source.name != word.source.name:
        return False
    between = claim.source.text[min(word.end, claim.end) : max(word.start, claim.start)]
    return not between.strip()


def _name(project: Project, root: str, index: Index, name: Occurrence) -> list[str]:
    said = []
    for place in index.declarations(name)[:3]:
        source = place.span.source
        said.append(source.line(source.position(place.span.start)[0]).strip().rstrip("{").rstrip())
    return [*dict.fromkeys(said), *_values(project, root, index, name)]


def _values(project: Project, root: str, index: Index, name: Occurrence) -> list[str]:
    """Return the computed paths through a name as a table, below the dialled values."""
    wants = [want for key in name.keys if (want := _wanted(index, key, name.unit))]
    if not wants:
        return []
    if root not in project.roots():
        return []  # a file of models that no open rig uses
    solved = project.findings(root).values
    if solved is None:
        return ["Values are computed once no error but of a claim is left."]
    chosen = [path for path in all_paths(solved) if any(want(solved, path) for want in wants)]
    return [table(solved, chosen)] if chosen else []


def table(solved: Solved, paths: list[Path]) -> str:
    """Return paths as aligned columns; empty columns are left out."""
    rows = [dict(zip(HEAD, cells(solved, path), strict=True)) for path in paths[:MOST_ROWS]]
    names = [name for name in COLUMNS if any(row[name] for row in rows)]
    lines = [[*names], *([row[name] for name in names] for row in rows)]
    widths = [max(len(line[at]) for line in lines) for at in range(len(names))]
    shown = [dialled(solved, sheet) for sheet in dict.fromkeys(path.result for path in paths)]
    shown += [
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    ]
    if len(paths) > MOST_ROWS:
        shown.append(f"and {len(paths) - MOST_ROWS} more: rigcard show")
    return "\n".join(shown)


def _wanted(index: Index, key: Key, unit: str) -> Callable[[Solved, Path], bool] | None:
    """Return a test for the paths of a name; None for a kind of name that has no levels."""
    owner, _, inner = key.scope.partition(".")
    units = {name for name in index.units if index.model_of(name) == owner}
    units = units & {unit} or units

    def control(solved: Solved, path: Path) -> bool:
        return path.result.handset in units and path.row.control == key.name

    def position(solved: Solved, path: Path) -> bool:
        at = path.row.control, path.row.position.name
        return path.result.handset in units and at == (inner, key.name)

    def channel(solved: Solved, path: Path) -> bool:
        return (path.result.handset, path.result.name) == (key.scope, key.name)

    def heard(solved: Solved, path: Path) -> bool:
        return (
            path.reading is not None
            and path.reading.feed.unit in units
            and path.reading.feed.input.name == key.name
        )

    def state(solved: Solved, path: Path) -> bool:
        found = path.reading
        return (
            found is not None
            and found.feed.unit in units
            and (found.feed.input.name, found.state) == (inner, key.name)
        )

    def command(solved: Solved, path: Path) -> bool:
        return path.reading is not None and any(
            done.unit in units and done.command == key.name for done in path.reading.effects
        )

    def port(solved: Solved, path: Path) -> bool:
        return bool({f"{name}.{key.name}" for name in units} & path.names(solved))

    def cable(solved: Solved, path: Path) -> bool:
        return path.reading is not None and any(wire.cable.name == key.name for wire in path.reading.feed.route)

    return {
        "control": control,
        "position": position,
        "channel": channel,
        "input": heard,
        "state": state,
        "command": command,
        "port": port,
        "row": port,
        "cable": cable,
    }.get(key.kind)
