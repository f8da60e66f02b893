"""Facts about the language, read from the grammar: how a statement begins, and where it may stand.

The messages, the resolver, the formatter and the editor support get these facts here, so nobody has to keep a
list of words by hand.
"""

import re
from collections.abc import Collection, Iterator
from functools import cache

from lark.grammar import NonTerminal, Rule, Symbol, Terminal
from lark.lexer import PatternStr

from rigcard.syntax import parser
from rigcard.syntax.vocabulary import QUANTITIES, UNITS

_ONE_OF = re.compile(r"\(\?:([a-z|-]+)\)\(\?!")  # how the grammar writes a choice of fixed words
CONTAINERS = {  # the places where statements stand, as messages name them
    "file": "the file itself, outside every block",
    "rig": "the block of the rig",
    "signal": "a signal",
    "model": "the block of a model",
    "input": "the block of an input of a model",
    "unit": "the block of a unit",
    "channel": "a channel",
    "source": "an input of a unit",
    "cable": "the block of a cable",
    "connector": "a connector",
    "sheet": "the block of a sheet",
}


@cache
def words_of(terminal: str) -> tuple[str, ...]:
    """The fixed words that a terminal matches, in grammar order; empty for names, numbers and signs."""
    pattern = parser.loaded().lark.get_terminal(terminal).pattern
    if isinstance(pattern, PatternStr):
        return (pattern.value,) if pattern.value[0].isalpha() else ()
    choice = _ONE_OF.match(pattern.value)
    return tuple(choice[1].split("|")) if choice else ()


@cache
def keyword(rule: str) -> str:
    """The words that begin a statement, up to its first part: `job`, `bound to`; the first of a choice."""
    words: list[str] = []
    for symbol in _forms()[rule][0].expansion:
        if not isinstance(symbol, Terminal) or not (known := words_of(symbol.name)):
            break
        if not symbol.filter_out and words:
            break
        words.append(known[0])
        if not symbol.filter_out:
            break
    return " ".join(words)


@cache
def first_words(rule: str) -> tuple[str, ...]:
    """Every word that can begin a statement, without alternative spellings; empty if it begins with a name."""
    first = _forms()[rule][0].expansion[0]
    words = words_of(first.name) if isinstance(first, Terminal) else ()
    return words[:1] if isinstance(first, Terminal) and first.filter_out else words


@cache
def statements_in(container: str) -> tuple[str, ...]:
    """The rules of the statements or options that a container may hold, in the order of the grammar."""
    return tuple(dict.fromkeys(_inside(container, set())))


def words_in(container: str) -> list[str]:
    """The first words of all statements that a container may hold."""
    return list(dict.fromkeys(word for rule in statements_in(container) for word in first_words(rule)))


@cache
def options_after(word: str) -> tuple[str, ...]:
    """The first words of everything that may stand inside the statements that begin with a word."""
    rules = [rule for rule in _forms() if not rule.startswith("_") and word in first_words(rule)]
    return tuple(word for rule in rules for word in words_in(rule))


@cache
def homes() -> dict[str, tuple[str, ...]]:
    """For each first word, the containers in which it begins a statement."""
    found: dict[str, tuple[str, ...]] = {}
    for container in CONTAINERS:
        for word in words_in(container):
            found[word] = (*found.get(word, ()), container)
    return found


def keywords(expected: Collection[str]) -> list[str]:
    """The fixed words among the terminals that may come next; of several spellings one."""
    words: list[str] = []
    for terminal in parser.loaded().lark.terminals:
        if terminal.name in expected:
            known = words_of(terminal.name)
            words += (
                known[:1] if terminal.name.startswith("_") and not terminal.name.startswith("__") else known
            )
    return sorted(words)


def signs(expected: Collection[str]) -> list[str]:
    """The signs among the terminals that may come next."""
    patterns = [terminal.pattern for terminal in parser.loaded().lark.terminals if terminal.name in expected]
    values = [pattern.value for pattern in patterns if isinstance(pattern, PatternStr)]
    return [","] * ("_COMMA" in expected) + [value for value in values if not value[0].isalpha()]


@cache
def fixed_words() -> frozenset[str]:
    """Every fixed word of the language."""
    return frozenset(word for terminal in parser.loaded().lark.terminals for word in words_of(terminal.name))


def phrase(written: str, words: Collection[str]) -> str:
    """The words that begin a statement, `held by`, for the same written with hyphens; empty if none does."""
    plain = re.sub(r"[-_]", " ", written)
    found = [keyword(rule) for rule in _forms() if not rule.startswith(("_", "file")) and plain != written]
    return next((known for known in found if known == plain and known.split()[0] in words), "")


@cache
def units_of(quantity: str) -> tuple[str, ...]:
    """The units that a number of a terminal may have."""
    takes = re.compile(parser.loaded().lark.get_terminal(quantity).pattern.value).fullmatch
    return tuple(unit for unit in UNITS if takes(f"1{unit}") and unit != "mm²")


@cache
def may_be_below_zero(quantity: str) -> bool:
    """Whether a number of a terminal may have a sign."""
    takes = re.compile(parser.loaded().lark.get_terminal(quantity).pattern.value).fullmatch
    return any(takes(f"-1{unit}") for unit in ("", *UNITS))


@cache
def quantity_of(unit: str) -> str:
    """The name of the quantity that a unit measures: `a length`."""
    return next(name for quantity, (name, _) in QUANTITIES.items() if unit in units_of(quantity))


@cache
def _forms() -> dict[str, list[Rule]]:
    """The expansions of each rule; the first has the most parts, because lark puts it first."""
    forms: dict[str, list[Rule]] = {}
    for rule in parser.loaded().lark.rules:
        forms.setdefault(str(rule.origin.name), []).append(rule)
    return forms


def _inside(rule: str, seen: set[str]) -> Iterator[str]:
    """The rules that the grammar lists as items of a block, options of a line or statements of the file."""
    for form in _forms()[rule]:
        for symbol in form.expansion:
            if _is_helper(symbol) and symbol.name not in seen:
                seen.add(symbol.name)
                yield from _inside(symbol.name, seen)
            elif isinstance(symbol, NonTerminal) and rule.endswith(("_item", "_option", "_statement")):
                yield symbol.name


def _is_helper(symbol: Symbol) -> bool:
    """Whether a rule only groups others: its name begins with `_`, or lark generated it."""
    return isinstance(symbol, NonTerminal) and str(symbol.name).startswith("_")
