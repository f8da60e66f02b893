"""The outline of a file: its named statements, and what they declare inside."""

from collections.abc import Iterator
from typing import NamedTuple

from rigcard.server.project import TextFile
from rigcard.source import Span
from rigcard.syntax import tree
from rigcard.syntax.cutting import pieces

Named = tree.Name | tree.Words


class Symbol(NamedTuple):
    """A name with its kind, title and span, the span of its whole statement, and the symbols inside it."""

    name: str
    kind: str
    detail: str
    span: Span
    whole: Span
    inner: tuple["Symbol", ...]


def symbols(file: TextFile) -> tuple[Symbol, ...]:
    """Return everything that a file declares, in order."""
    found = []
    for item in file.statements:
        match item:
            case tree.Rig():
                found.append(_symbol(item.title, "rig", "", _crew(item)))
            case tree.Signal() | tree.Cable() | tree.Sheet():
                found.append(_symbol(item.name, type(item).__name__.lower(), item.title.text))
            case tree.Model():
                found.append(_symbol(item.name, "model", item.title.text, _of_model(item)))
            case tree.Unit():
                found.append(_symbol(item.name, "unit", item.title.text, _of_unit(item)))
    return tuple(sorted(found, key=lambda symbol: symbol.span.start))


def _crew(rig: tree.Rig) -> Iterator[Symbol]:
    for item in rig.items:
        for role in item.roles if isinstance(item, tree.Crew) else ():
            yield _symbol(role.name, "role", role.title.text)


def _of_model(model: tree.Model) -> Iterator[Symbol]:
    for item in model.items:
        match item:
            case tree.Lever() | tree.Switch():
                yield _symbol(item.name, "control", item.title.text)
            case tree.Input():
                states = [
                    _symbol(part.name, "state", "")
                    for part in item.items
                    if isinstance(part, tree.Band | tree.BandUnknown)
                ]
                yield _symbol(item.name, "input", item.title.text, states)
            case tree.Setting():
                yield _symbol(item.name, "setting", item.title.text)
            case tree.Port(names=tree.PortList() as names):
                yield from (_symbol(name, "port", item.direction.text) for name in names.names)
            case tree.Port(names=tree.PortRange() as row):
                yield _symbol(row.first, "port", f"to {row.last.text}, {item.direction.text}")
            case tree.Command():
                yield from (_symbol(name, "command", "") for name in item.names.names)


def _of_unit(unit: tree.Unit) -> Iterator[Symbol]:
    for item in unit.items:
        if isinstance(item, tree.Channel):
            yield _symbol(item.name, "channel", f"{item.number.value}, {item.control.text}")
        elif isinstance(item, tree.Source):
            yield _symbol(item.input, "input", f"from {item.channel.text}")


def _symbol(
    name: Named, kind: str, detail: str, inner: Iterator[Symbol] | list[Symbol] | None = None
) -> Symbol:
    return Symbol(name.text or '""', kind, detail, name.span, statement_of(name.span), tuple(inner or ()))


def statement_of(span: Span) -> Span:
    """Return the statement of a name, from the start of its line, with the block that it opens."""
    text = span.source.text
    start = max(text.rfind(mark, 0, span.start) for mark in "{;\n") + 1
    start += len(text[start : span.start]) - len(text[start : span.start].lstrip())
    depth, before = 0, ""
    for at, piece in pieces(text, span.start):
        if depth == 0 and (piece in ";}" or (piece == "\n" and not before.endswith(","))):
            end = at
            break
        depth += (piece == "{") - (piece == "}")
        if piece == "}" and depth == 0:
            end = at + 1
            break
        if not (piece.isspace() or piece.startswith("#")):
            before = piece.rstrip()
    else:
        end = len(text)
    return Span(span.source, start, max(span.end, span.start + len(text[span.start : end].rstrip())))
