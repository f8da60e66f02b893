"""Small tools that every resolver uses: look up a name, take a statement once, check a range."""

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any, TypeVar

from rigcard.diagnostics import Diagnostics, Edit, Missing, Related
from rigcard.reporting.suggest import alike, did_you_mean, near, one_of
from rigcard.resolve import codes
from rigcard.resolve.measures import milliseconds
from rigcard.source import Span
from rigcard.syntax import facts, tree
from rigcard.syntax.cutting import uses
from rigcard.syntax.parser import rule_name

_DIGITS = re.compile(r"\d")
_WORD_ENDS = re.compile(r"[^a-z0-9]+")
OFTEN = 2  # uses of a name that somebody has changed where it is declared
MOST_SHOWN = 10  # known names that a hint lists
T = TypeVar("T")


class Block:
    """The statements of one block, grouped by class."""

    def __init__(
        self, items: Iterable[object], owner: tree.Name | tree.Words, diagnostics: Diagnostics
    ) -> None:
        self.items = tuple(items)
        self.owner = owner
        self.diagnostics = diagnostics

    def all(self, cls: type[T]) -> list[T]:
        """Every statement of a class."""
        return [item for item in self.items if isinstance(item, cls)]

    def one(self, cls: type[T]) -> T | None:
        """The statement of a class, if there is one; reports a second one."""
        found = self.all(cls)
        for again in found[1:]:
            first, second = (span_of(item) for item in (found[0], again))
            twice = f"`{keyword(cls)}` is given twice"
            if cls in _KEPT and first.text != second.text:
                twice = f"both `{first.text}` and `{second.text}` are given"
            self.diagnostics.report(
                codes.DOUBLED_STATEMENT,
                place_of(again),
                twice + (f" for `{self.owner.text}`" if self.owner.text else ""),
                "keep one of the two",
                Related(place_of(found[0]), "first given here"),
            )
        return found[0] if found else None

    def text(self, cls: type[Any]) -> str:
        """The words of a statement that consists only of words, or ""."""
        found = self.one(cls)
        return found.text.text if found else ""


def keyword(cls: type) -> str:
    """The words with which a statement of a class begins."""
    return facts.keyword(rule_name(cls.__name__))


def span_of(node: Any) -> Span:
    """The span of the first part of a statement that has one."""
    if isinstance(node, tree.Name | tree.Words | tree.Number):
        return node.span
    for part in node:
        if isinstance(part, tuple) and part:
            return span_of(part)
    raise AssertionError(f"{node} has no place")


_KEPT = (tree.Lever, tree.Reversed, tree.Seal, tree.Swap)  # the tree keeps the first word of these


def place_of(item: object) -> Span:
    """The span of a statement's first word, which the tree does not keep; if not found, `span_of`."""
    named = span_of(item)
    if isinstance(item, _KEPT):
        return named
    first = keyword(type(item)).split()[0]
    at = named.source.text.rfind(first, 0, named.start)
    if at < 0 or re.search(r"[{};\n]", named.source.text[at : named.start]):
        return named
    return Span(named.source, at, at + len(first))


def lookup(
    name: tree.Name,
    known: Mapping[str, T],
    what: str,
    diagnostics: Diagnostics,
    otherwise: str = "declare it, or `use` the file that does",
) -> T | None:
    """The object with a given name, or None if the name is unknown, which is reported only once.

    `what`: "unit", "control of `hs`" ...; `otherwise`: the remedy if no object of that kind exists.
    """
    if name.text in known:
        return known[name.text]
    message = f"there is no {what} named `{name.text}`"
    if diagnostics.first_to_miss(known, name.text, message, name.span):
        # one of a stock file that is not used looks like many others
        close = near(name.text, known, cutoff=0.75) if what == "model" else near(name.text, known)
        titled = _titled(name.text, known)
        if titled:
            message += f"; that is the title of `{titled}`"
            close = [titled]
        close = close or _alike(name, known, what)
        hint = f"did you mean {one_of(close)}?" if close else _hint(known, otherwise, what)
        diagnostics.report(
            codes.UNKNOWN_NAME,
            name.span,
            message,
            hint,
            edits=() if titled and what != "unit" else _respelt(name, close),
            missing=Missing(what, name.text),
        )
    return None


def _titled(written: str, known: Mapping[str, Any]) -> str:
    """The only name whose thing has the title that is written in place of its name; empty if there is none."""
    found = []
    for name, thing in known.items():
        title = getattr(thing, "title", "")
        words = title.text if isinstance(title, tree.Words) else str(title)
        if words and _WORD_ENDS.sub("-", words.lower()) == _WORD_ENDS.sub("-", written.lower()):
            found.append(name)
    return found[0] if len(found) == 1 else ""


def _alike(name: tree.Name, known: Iterable[str], what: str) -> list[str]:
    """The names that one may have been meant for which looks like none: a part of them, or one letter off.

    Otherwise the only unit that its file declares and never uses, if the missing one is used often.
    """
    names = list(known)
    if close := alike(name.text, names):
        return close
    if what != "unit" or uses(name.span.source)[name.text] < OFTEN:
        return []
    unused = [other for other in names if uses(name.span.source)[other] == 1]
    return unused if len(unused) == 1 and len(names) > 1 else []


def word(name: tree.Name, known: tuple[str, ...], what: str, diagnostics: Diagnostics) -> str | None:
    """A fixed word of the language; reports any other word and returns None."""
    if name.text in known:
        return name.text
    alike = [
        known_word for known_word in known if known_word[0] == name.text[0].lower()
    ]  # never suggest `mains` for `rain`
    hint = did_you_mean(name.text.lower(), alike, f"write {one_of(list(known))}")
    diagnostics.report(codes.UNKNOWN_NAME, name.span, f"`{name.text}` is no {what}", hint)
    return None


def _respelt(name: tree.Name, close: list[str]) -> tuple[Edit, ...]:
    """The one near name in place of what is written; none where its digits are others: that may be another thing."""
    if len(close) != 1 or _DIGITS.findall(name.text) != _DIGITS.findall(close[0]):
        return ()
    return (Edit(name.span, close[0]),)


def _hint(known: Iterable[str], empty: str, what: str) -> str:
    """All names if there are few, or the remedy if there are none."""
    names = list(known)
    few = f"known: {one_of(names)}" if 0 < len(names) <= MOST_SHOWN and what != "model" else empty
    return few or f"known: {', '.join(f'`{known}`' for known in names)}"


def once(
    name: tree.Name,
    taken: dict[str, Span],
    what: str,
    diagnostics: Diagnostics,
    cure: str = "give one of the two another name",
) -> bool:
    """Whether a name is the first of its kind; reports a duplicate."""
    if name.text not in taken:
        taken[name.text] = name.span
        return True
    diagnostics.report(
        codes.DOUBLED_NAME,
        name.span,
        f"`{name.text}` is set twice" if what == "setting" else f"the {what} name `{name.text}` is used twice",
        cure,
        Related(taken[name.text], "first used here"),
    )
    return False


def ordered(low: tree.Number, high: tree.Number, diagnostics: Diagnostics) -> bool:
    """Whether low < high; reports a reversed range."""
    if low.value < high.value:
        return True
    diagnostics.report(
        codes.BACKWARD_RANGE,
        low.span,
        f"the range begins at {show(low)} and ends at {show(high)}",
        "write the smaller value first",
    )
    return False


def show(number: tree.Number) -> str:
    """A number as the file writes it."""
    return f"{plain(number.value)}{number.unit}"


def plain(value: Fraction) -> str:
    """A number as a short decimal."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):g}"


def duration(number: tree.Number, most: int, what: str, diagnostics: Diagnostics) -> Fraction:
    """A time in ms of at most so many seconds; a longer one is reported, for it was meant in ms."""
    time = milliseconds(number)
    if time > most * 1000:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            number.span,
            f"{show(number)} is longer than any {what}",
            f"write `{show(number).removesuffix('s')}ms`, or at most `{most}s`",
        )
    return time


def whole(number: tree.Number, least: int, most: int, what: str, diagnostics: Diagnostics) -> int:
    """A whole number within bounds; reports one outside and returns the nearest bound."""
    value = int(number.value)
    if least <= value <= most:
        return value
    diagnostics.report(
        codes.OUT_OF_RANGE,
        number.span,
        f"{value} is no possible {what}",
        f"write a number from {least} to {most}",
    )
    return max(least, min(most, value))
