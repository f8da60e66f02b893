"""A contextual lexer for lark, each part of it made when it is first needed.

lark's own makes a lexer for every state of the parser and compiles the words allowed there into one pattern. A rig file
passes through some hundred states and has few words in each, so that most of its time goes into patterns used once or
twice. Here each terminal has a pattern of its own, compiled once and tried in lark's order: the same tokens, sooner.
"""

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from functools import cached_property
from typing import NamedTuple

from lark import Token, UnexpectedCharacters, UnexpectedToken
from lark.common import LexerConf
from lark.lexer import Lexer, LexerState, PatternStr, TerminalDef
from lark.parsers.lalr_parser_state import ParserState

_Match = Callable[[str, int, int], re.Match[str] | None]


class _Terminal(NamedTuple):
    """A terminal as it is tried in some states; `words` are the fixed words there that it would take as well."""

    name: str
    fixed: str  # the word itself, or "" for what only a pattern can tell
    match: _Match | None
    ignored: bool
    words: Mapping[str, str]  # text to the name of its terminal


class StateLexer(Lexer):
    """Made by lark in place of its ContextualLexer. Tokens know their offset, not their line and column."""

    def __init__(
        self, conf: LexerConf, states: Mapping[int, Collection[str]], always_accept: Collection[str] = ()
    ) -> None:
        self._conf = conf
        self._accepted = states
        self._always = frozenset((*conf.ignore, *always_accept))
        self._patterns: dict[str, re.Pattern[str]] = {}
        self._by_pattern: dict[str, dict[str, str]] = {}
        self._by_state: dict[int, tuple[_Terminal, ...]] = {}
        self._by_names: dict[frozenset[str], tuple[_Terminal, ...]] = {}
        # The order of lark's BasicLexer: by priority, longest match, length of the pattern, name. Made at once, so
        # that the widths are in what lark keeps of the grammar for the next run.
        every = sorted(
            conf.terminals,
            key=lambda one: (-one.priority, -one.pattern.max_width, -len(one.pattern.value), one.name),
        )
        self._rank = {terminal.name: rank for rank, terminal in enumerate(every)}

    def lex(self, lexer_state: LexerState, parser_state: ParserState) -> Iterator[Token]:  # type: ignore[type-arg]
        """The tokens of a text, each read as the parser's state of that moment allows. Raises UnexpectedInput."""
        text, end, place = str(lexer_state.text.text), lexer_state.text.end, lexer_state.line_ctr
        while place.char_pos < end:
            state = parser_state.position
            terminals = self._by_state.get(state) or self._of_state(state)
            token, place.char_pos = _next(terminals, text, place.char_pos, end)
            if token is not None:
                lexer_state.last_token = token
                yield token
            elif place.char_pos < end:
                raise self._refused(terminals, text, place.char_pos, end, parser_state)

    def _refused(
        self,
        terminals: tuple[_Terminal, ...],
        text: str,
        at: int,
        end: int,
        state: ParserState,  # type: ignore[type-arg]
    ) -> UnexpectedToken | UnexpectedCharacters:
        """What is wrong with a text that no terminal of a state matches: a word of other states, or of none."""
        allowed = {terminal.name for terminal in terminals if not terminal.ignored}
        elsewhere, _ = _next(self._everywhere, text, at, end)
        if elsewhere is not None:
            return UnexpectedToken(elsewhere, allowed, state=state)  # type: ignore[no-untyped-call]
        return UnexpectedCharacters(text, at, 0, 0, allowed=allowed, state=state)  # type: ignore[no-untyped-call]

    def _of_state(self, state: int) -> tuple[_Terminal, ...]:
        names = frozenset(self._accepted[state]) | self._always
        if names not in self._by_names:
            self._by_names[names] = self._made(names)
        self._by_state[state] = self._by_names[names]
        return self._by_names[names]

    @cached_property
    def _everywhere(self) -> tuple[_Terminal, ...]:
        return self._made(frozenset(terminal.name for terminal in self._conf.terminals))

    def _made(self, names: frozenset[str]) -> tuple[_Terminal, ...]:
        """Terminals in the order in which lark tries them, without the words that another of them takes as well."""
        found = sorted(names & self._rank.keys(), key=self._rank.__getitem__)
        words = {
            name: {texts[word]: word for word in found if word in texts}
            for name in found
            if (texts := self._words(name))
        }
        taken = {word for of_one in words.values() for word in of_one.values()}
        return tuple(self._terminal(name, words.get(name, {})) for name in found if name not in taken)

    def _words(self, name: str) -> dict[str, str]:
        """The fixed words that a pattern matches whole, of any state: the names of their terminals to their text."""
        if name not in self._by_pattern:
            terminal = self._conf.terminals_by_name[name]
            fixed = {} if isinstance(terminal.pattern, PatternStr) else self._fixed.get(terminal.priority, {})
            takes = self._pattern(terminal).fullmatch if fixed else None
            self._by_pattern[name] = {word: text for word, text in fixed.items() if takes and takes(text)}
        return self._by_pattern[name]

    @cached_property
    def _fixed(self) -> dict[int, dict[str, str]]:
        """The text of every fixed word by the name of its terminal, apart for each priority."""
        found: dict[int, dict[str, str]] = {}
        for one in self._conf.terminals:
            if isinstance(one.pattern, PatternStr):
                found.setdefault(one.priority, {})[one.name] = one.pattern.value
        return found

    def _terminal(self, name: str, words: Mapping[str, str]) -> _Terminal:
        one = self._conf.terminals_by_name[name]
        if isinstance(one.pattern, PatternStr):
            return _Terminal(name, one.pattern.value, None, False, words)
        return _Terminal(name, "", self._pattern(one).match, name in self._conf.ignore, words)

    def _pattern(self, terminal: TerminalDef) -> re.Pattern[str]:
        if terminal.name not in self._patterns:
            self._patterns[terminal.name] = re.compile(terminal.pattern.to_regexp(), self._conf.g_regex_flags)
        return self._patterns[terminal.name]


def _next(terminals: tuple[_Terminal, ...], text: str, at: int, end: int) -> tuple[Token | None, int]:
    """The next token and where it ends; None at the end of the text, or where no terminal matches."""
    while at < end:
        for name, fixed, match, ignored, words in terminals:
            if match is None:
                if text.startswith(fixed, at, end):
                    return Token(name, fixed, at), at + len(fixed)
            elif found := match(text, at, end):
                if ignored:
                    at = found.end()
                    break
                value = found.group()
                return Token(words.get(value, name), value, at), found.end()
        else:
            return None, at
    return None, at
