"""Explains text that the grammar does not allow, in the words of the language, never in lark's."""

import re
import unicodedata
from collections.abc import Sequence
from typing import NamedTuple

from lark import UnexpectedCharacters, UnexpectedInput, UnexpectedToken
from lark.lexer import PatternStr

from rigcard.diagnostics import Diagnostics, Edit
from rigcard.reporting.suggest import near, one_of
from rigcard.source import Source, Span
from rigcard.syntax import codes, facts, repairs, rewrites
from rigcard.syntax.cutting import bare
from rigcard.syntax.hints import by_number, may_end, missing_sign, put, quoted, wanted_instead
from rigcard.syntax.number_errors import reads, too_long, wrong_number
from rigcard.syntax.parser import Language
from rigcard.syntax.place import Place, word_at
from rigcard.syntax.vocabulary import (
    DESCRIBED,
    FIRST_NAMES,
    LOOKALIKES,
    NAMED,
    QUANTITIES,
    SYNONYMS,
)

_READABLE = re.compile(
    r'"(?:[^"\\\n\x00-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]|\\["\\])*'
)  # quoted words, up to a character that ends them or cannot stand in them
_BEFORE_COMMENT = re.compile(r'(?:[^"#\n]|"(?:[^"\\\n]|\\.)*"?)*')
_COMMENT = re.compile(r"^[ \t]*#.*", re.MULTILINE)
_FIRST = re.compile(r"[ \t]*([A-Za-z][\w-]*)[ \t]*$")
_PROSE = re.compile(
    r"[A-Za-z][\w'’-]*(?:,?[ \t]+[A-Za-z][\w'’-]*)+[.!?:]?[ \t]*(?:#|$)", re.MULTILINE
)  # words alone
_COMMENTED = re.compile(r"[ \t]*#(?=\w)")
_GOES_ON = re.compile(r"[-_]?[A-Za-z][\w-]*", re.ASCII)


def report_unexpected(
    language: Language, source: Source, text: str, base: int, fault: UnexpectedInput, diagnostics: Diagnostics
) -> int:
    """Report one fault in `text`, which begins at offset `base` of the source; returns its offset in `text`."""
    if isinstance(fault, UnexpectedToken):
        expected = set(fault.accepts or fault.expected)
    else:
        assert isinstance(fault, UnexpectedCharacters)
        expected = set(fault.allowed or ())
    at = offset_of(fault, text)
    after = text[at:]
    at += len(after) - len(after.lstrip(" \t\r\f"))  # the end token includes the blanks before it
    ends = at == len(text) or text[at] in "\n;}#"
    if ends:  # point at the end of the statement, not at the next line
        line = text.rfind("\n", 0, at) + 1
        said = _BEFORE_COMMENT.match(text, line, at)
        at = len(text[: said.end() if said else at].rstrip(" \t"))
    stem = re.search(r"[A-Za-z]+$", text[:at])
    if stem and (more := _GOES_ON.match(text, at)):  # a fixed word followed directly by letters
        whole = stem[0] + more[0]
        meant = facts.phrase(whole, [stem[0]]) or stem[0]
        span = Span(source, base + stem.start(), base + stem.start() + len(whole))
        hint = f"did you mean `{meant}`?"
        edits = (Edit(span, meant),)
        diagnostics.report(codes.UNEXPECTED_TEXT, span, f"`{whole}` is not expected here", hint, edits=edits)
        return at
    place = Place(source, base, text, at, "" if ends else word_at(text, at))
    if place.before == "}" and place.follows(diagnostics):
        return at
    for rule in (too_long, _rewrite, wrong_number, _character, _comma_carries_on, _first_word, _statement):
        if rule(language, place, expected, diagnostics):
            return at
    _general(language, place, expected, diagnostics)
    return at


def offset_of(fault: UnexpectedInput, text: str) -> int:
    """The offset in a text at which the parser stopped; the length of the text if that was its end."""
    at = fault.token.start_pos if isinstance(fault, UnexpectedToken) else fault.pos_in_stream
    return len(text) if at is None else min(int(at), len(text))


def _rewrite(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> bool:
    """Parts in another order or form, where what is meant is beyond doubt: the line then reads further."""
    start = place.at - len(place.statement)
    line = place.text[start:].split("\n", 1)[0]
    for found in rewrites.rewrites(line, place.at - start):
        if reads(language, place.text[: start + found.start] + found.text):
            span = place.span(start + found.start, found.end - found.start)
            hint = f"write {found.text if found.text[-1] in '%' else quoted(found.text)}"
            edits = (Edit(span, found.text),)
            diagnostics.report(codes.UNEXPECTED_TEXT, span, found.cause, hint, edits=edits)
            return True
    return False


def _comma_carries_on(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> bool:
    """A comma at the end of a line that is taken to go on in the next, where another statement begins."""
    line = place.text.rfind("\n", 0, place.at) + 1
    before = place.text[:line].rstrip()
    first = re.match(r"[ \t]*(?:([A-Za-z][\w-]*)|\})", place.text[line:])
    if not before.endswith(",") or first is None or (first[1] and first[1] not in facts.homes()):
        return False
    span = place.span(len(before) - 1, 1)
    diagnostics.report(
        codes.UNEXPECTED_TEXT,
        span,
        "this comma carries the statement on to the next line, where another one begins"
        if first[1]
        else "this comma carries the statement on to the next line, where the block ends",
        "remove the comma",
        edits=(Edit(span, ""),),
    )
    return True


def _character(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> bool:
    """Report characters without a meaning, and quoted words that cannot be read."""
    found, at = place.found, place.at
    words = _READABLE.match(place.text, at)
    end = words.end() if words else at
    if words and place.text[end : end + 1] in ("", "\n"):
        hint = 'write " where the words end'
        diagnostics.report(
            codes.UNCLOSED_WORDS, place.span(at, end - at), "these words have no closing quote", hint
        )
    elif words and place.text[end] != '"' and "STRING" in expected:
        char = place.text[end]
        drive = re.match(r'"[A-Za-z]:[\\/].*?([\w .-]+[\\/])?([\w .-]+)"', place.source.text[place.base + at :])
        instead = "remove it" if char != "\t" else "write a space instead"
        if char == "\\":
            instead = "write / in a path, and two backslashes where one is meant"
            if drive:
                path = f"{drive[1] or ''}{drive[2]}".replace("\\", "/")
                instead = f'write the path from the folder of this file, with /, such as "{path}"'
        cause = f"{described(char)} cannot stand in words as it is"
        diagnostics.report(codes.UNREADABLE_CHARACTER, place.span(end, 1), cause, instead)
    elif place.text[at : at + 2] in ("//", "/*"):
        hint = "begin a comment with #"
        cause = f"`{place.text[at : at + 2]}` begins no comment here"
        diagnostics.report(codes.UNREADABLE_CHARACTER, place.span(at, 2), cause, hint)
    elif found in LOOKALIKES:
        cause = f"{described(found)} has no meaning here"
        meant = LOOKALIKES[found]
        if meant == "-" and ".." in _symbols(language, expected):
            meant = ".."
        if meant == '"':
            cause = f"{described(found)} is no quote of the language; words stand in straight double quotes"
        new = {"a plain space": " ", "`to`": "to"}.get(meant, meant)
        edits = (Edit(place.here, new),) if len(new) <= 2 and new != '"' else ()  # one quote is never alone
        diagnostics.report(codes.UNREADABLE_CHARACTER, place.here, cause, f"write {meant} instead", edits=edits)
    elif found[:1].isalpha() and not found.isascii():
        bad = next(n for n, char in enumerate(found) if not char.isascii())
        cause = f"{described(found[bad])} cannot stand in a name"
        hint = "write names with a to z, 0 to 9, - and _; words in quotes may have any letter"
        diagnostics.report(codes.UNREADABLE_CHARACTER, place.span(at + bad, 1), cause, hint)
    elif len(found) == 1 and (not found.isascii() or not found.isprintable()):
        diagnostics.report(
            codes.UNREADABLE_CHARACTER, place.here, f"{described(found)} has no meaning here", "remove it"
        )
    else:
        return False
    return True


def described(char: str) -> str:
    """Name a character, also one that nobody sees."""
    code = f"U+{ord(char):04X}"
    if char.isprintable() and not char.isspace():
        return f"the character {char} ({code})"
    return f"an unseen character ({code}, {unicodedata.name(char, 'control character').lower()})"


def _first_word(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> bool:
    """Report a misspelt statement that the parser took for the name of a leg or a band."""
    start = max(place.text.rfind(mark, 0, place.at) for mark in "{\n;") + 1
    first = _FIRST.match(place.text[start : place.at])
    after = expected - {"UNKNOWN"}  # a band may have it in place of its edges
    if first is None or after not in ({"DOT"}, {"PERCENT"}) or place.found in (".", ":"):
        return False
    container, other = FIRST_NAMES[next(iter(after))]
    more = f", or {other}"
    if "{" not in bare(place.text[:start], start):  # the parser took the first letters for a word of the file
        container, more = "file", ""
    known = facts.words_in(container)
    close = _close(first[1], known)
    alone = not place.found and "DOT" in expected
    if first[1] in known:
        return False
    if word := repairs.before_block(language, place):
        span = place.span(start + first.start(1), len(first[1]))
        cause = f"`{word}` belongs to the line that opens this block"
        diagnostics.report(codes.UNKNOWN_STATEMENT, span, cause, f"write `{word}` before its {{")
        return True
    moved = "DOT" in expected and facts.homes().get(first[1])
    if not (close or moved or alone or (place.found and repairs.begun(language, place, known))):
        return False
    span = place.span(start + first.start(1), len(first[1]))
    _report_first(language, place, span, known, more, diagnostics)
    return True


def _report_first(
    language: Language, place: Place, span: Span, words: Sequence[str], more: str, diagnostics: Diagnostics
) -> None:
    """Report a word that does not begin any statement of its block."""
    found = span.text
    close, homes = _close(found, words), facts.homes().get(found, ())
    hint = f"begin it with {one_of(list(words))}{more}"
    if _PROSE.match(span.source.text, span.start):
        hint = f"write # before it if it is a comment; a statement begins with {one_of(list(words))}{more}"
    edits: tuple[Edit, ...] = ()
    line = span.source.text[: span.start].rpartition("\n")[2]
    fed = re.search(r"\binput[ \t]+[\w-]+[ \t]+from[ \t]+([\w-]+)[^;{}]*$", line)
    if homes[:1] == ("channel",):
        hint = f"write it at the end of the line of {f'channel `{fed[1]}`' if fed else 'its channel'}"
    elif homes:
        hint = f"move it to {' or '.join(facts.CONTAINERS[home] for home in homes)}"
    elif (repair := repairs.begun(language, place, words, close)) and (
        not close or repair.text.endswith(f" {found}")
    ):
        hint, edits = repair.hint, _edits_of(repair, place)
    elif close:
        hint = f"did you mean {one_of(close)}?"
        edits = (Edit(span, close[0]),) if len(close) == 1 else ()
    diagnostics.report(codes.UNKNOWN_STATEMENT, span, f"`{found}` begins no statement here", hint, edits=edits)


def _close(found: str, words: Sequence[str]) -> list[str]:
    """The nearest word with the same first letter, or the word with the same meaning."""
    if same := [word for word in SYNONYMS.get(found.lower(), ()) if word in words]:
        return same
    if phrase := facts.phrase(found.lower(), words):
        return [phrase]
    if mixed := [word for word in words if sorted(word) == sorted(found.lower())]:
        return mixed[:1]
    stem = f"{found.lower().removesuffix('s')}-"  # the first half of a hyphenated word
    if halves := [word for word in words if len(stem) > 3 and word.startswith(stem)]:
        return halves[:1]
    if len(begun := [word for word in words if len(found) > 1 and word.startswith(found.lower())]) == 1:
        return begun
    return [word for word in near(found.lower(), words, 1) if word[0] == found[0].lower()]


def _statement(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> bool:
    """Report a first word that does not begin any statement of this block."""
    words = facts.keywords(expected)
    if not (place.begins and words and place.found[:1].isalnum()):
        return False
    if place.found[0].isdigit():
        return _numbered(language, place, words, diagnostics)
    after = place.text[place.at + len(place.found) :]
    form = next((hint for form, hint in NAMED.items() if form.match(after)), "")
    named = after.lstrip(" \t").startswith(".") and place.found not in words
    if named and (repair := repairs.begun(language, place, words)):
        form = repair.hint
    if form and not facts.homes().get(place.found) and (named or not _close(place.found, words)):
        diagnostics.report(
            codes.UNKNOWN_STATEMENT, place.here, f"`{place.found}` begins no statement here", form
        )
    else:
        _report_first(language, place, place.here, words, "", diagnostics)
    return True


def _numbered(language: Language, place: Place, words: list[str], diagnostics: Diagnostics) -> bool:
    """Report a statement that lacks its first word, and begins with a number."""
    repair = repairs.begun(language, place, words)
    if repair is None:
        return False
    cause = f"{place.found} begins no statement here"
    edits = _edits_of(repair, place)
    diagnostics.report(codes.UNKNOWN_STATEMENT, place.here, cause, repair.hint, edits=edits)
    return True


def _general(language: Language, place: Place, expected: set[str], diagnostics: Diagnostics) -> None:
    found, before = place.found, place.before
    words = facts.keywords(expected)
    where = f"after {quoted(before)}" if before else "here"
    close = _close(found, words) if found[:1].isalpha() else []
    fed = re.match(r"[ \t]*input[ \t]+[\w-]+[ \t]+from[ \t]+([\w-]+)", place.statement)
    if fed and found in facts.words_in("channel") and found not in words:
        cause = f"`{found}` is for a channel, and this is an input"
        hint = f"write it at the end of the line of channel `{fed[1]}`"
        diagnostics.report(codes.UNEXPECTED_TEXT, place.here, cause, hint)
        return
    if _told(found, diagnostics):
        return
    wants = [QUANTITIES[name][0] + f" such as {QUANTITIES[name][1]}" for name in QUANTITIES if name in expected]
    wants += [DESCRIBED[name] for name in ("NAME", "STRING", "DATE") if name in expected]
    cause = f"{quoted(found)} is not expected {where}" if found else f"the statement stops {where}"
    at, length = place.at, len(found)
    edits: tuple[Edit, ...] = ()
    comma = close and "_COMMA" in expected and repairs.reads_with(language, place, f", {found}")
    if comma:
        hint = f"write , before `{found}`"
    elif close:
        hint = f"did you mean {one_of(close)}?"
        edits = (Edit(_both_halves(place, close[0]), close[0]),) if len(close) == 1 else ()
    elif found and ("_SEP" in expected or "RBRACE" in expected):
        sign = found in (":", "=", "-", "->", "=>") and before[-1:] != '"'
        sign = sign or (found == "," and not repairs.reads_alone(language, place, len(found)))
        repair = repairs.again(language, place) if found == "," else None
        repair = repair or (repairs.repaired(language, place) if sign else None)
        hint = repair.hint if repair else may_end(place, expected, words)
        edits = _edits_of(repair, place) if repair else ()
        if found in ("and", "&", "then") and repairs.reads_alone(language, place, len(found)):
            hint = f"write a new line or ; in place of `{found}`"
        elif found == "," and not place.rest[1:].strip(" \t}"):
            hint, edits = "remove `,`", (Edit(place.here, ""),)
        elif not hint:
            hint, edits = _after_its_end(language, place, words)
    elif wants:
        wants += [f"`{word}`" for word in words]
        if commented := _COMMENTED.match(place.text, place.at):
            cause = f"the statement stops {where}, because # begins a comment"
            diagnostics.report(codes.UNEXPECTED_TEXT, place.span(commented.end() - 1, 1), cause, "remove #")
            return
        cause, hint, length, loose = wanted_instead(place, expected, wants, where)
        if hint == f'write "{place.text[at : at + length]}"' and (
            several := repairs.listed(language, place, place.text[at : at + length])
        ):
            hint, loose = f"write {several}", False
        if found.startswith('"') and "NAME" in expected and (name := _name_for(language, place)):
            cause, hint, loose = cause + name.more, name.hint, False
            edits = (Edit(place.here, name.text),) if name.text else ()
        if loose and found and (repair := repairs.repaired(language, place, value=True)):
            length, hint, edits = len(found), repair.hint, _edits_of(repair, place)
    elif words == [before]:  # the parser took it for the missing name
        at, length = place.text.rfind(before, 0, at), len(before)
        cause, hint = f"a name is missing before `{before}`", f"write a name before `{before}`"
    elif words and before == "channel" and found.isdigit():
        hint = by_number(place)
    elif words and found and before != "reverse" and (repair := repairs.repaired(language, place)):
        hint, edits = repair.hint, _edits_of(repair, place)
    elif words:
        hint = put(one_of(words), found)
        if words == ["x"] and not found:
            hint = f"write two sizes, such as `{before} x {before}`"
        elif not found and (value := _value_after(language, place, words)):
            hint = value
        elif before == "reverse":
            hint = "write `reversed`, or `reverse auto`"
        elif late := re.match(rf"{re.escape(found)}[ \t]+((?:{'|'.join(words)})\b[ \t]*\S*)", place.rest):
            hint = f"a name is one word: write `{before}-{found}`"
            if found in facts.keywords({terminal.name for terminal in language.lark.terminals}):
                hint = f"write `{late[1]}` before `{found}`"
        elif found in (".", "/") and (more := re.match(r"[./]([\w-]+)", place.rest)):
            hint = f"a name has letters, digits, - and _ only: write `{before}-{more[1]}`"
            if place.statement.lstrip().startswith("measured"):
                hint = "write the name of the channel alone"
    else:
        wanted = " or ".join(_symbols(language, expected))
        cause, hint = f"{wanted} is missing {where}", missing_sign(place, wanted)
    diagnostics.report(codes.UNEXPECTED_TEXT, place.span(at, length), cause, hint, edits=edits)


def _value_after(language: Language, place: Place, words: list[str]) -> str:
    """The remedy for the only word that may go on a statement, where only a number may follow it; otherwise empty."""
    if len(words) != 1:
        return ""
    start = place.at - len(place.statement)
    head = bare(place.text[:start], start) + place.statement
    follows = language.follows(f"{head} {words[0]} ")
    if len(follows) != 1 or (name := next(iter(follows))) not in QUANTITIES:
        return ""
    kind, example = QUANTITIES[name]
    return f"write `{words[0]}` and {kind} there, such as `{words[0]} {example}`"


class _Name(NamedTuple):
    """The name to write for words in quotes, what is said of these, and the remedy; no name: a person has to find it."""

    text: str
    more: str
    hint: str


def _name_for(language: Language, place: Place) -> _Name | None:
    """What to write where words in quotes stand in place of a name; None where that is the words without quotes."""
    titled = re.findall(
        rf"([A-Za-z][\w-]*)(?:[ \t]+(?:is|on)[ \t]+[\w-]+)?[ \t]+{re.escape(place.found)}",
        _COMMENT.sub("", place.source.text),
    )
    names = {name for name in titled if name not in facts.homes() and name != place.before}
    if len(names) == 1:
        name = names.pop()
        return _Name(name, f", which is the title of `{name}`", f"write {name}")
    plain = place.found[1:-1]
    if swap := repairs.exchanged(language, place):
        return _Name("", "", swap.hint)
    if repair := repairs.named(language, place):
        return _Name("", "", f"write a name before it, as in `{repair} {place.found}`")
    if re.fullmatch(r"[\w.%-]+", plain):
        return None
    return _Name("", "", f"write its name, which stands before {place.found} where that is declared")


def _after_its_end(language: Language, place: Place, words: list[str]) -> tuple[str, tuple[Edit, ...]]:
    """The remedy, and its edits, for what follows a statement that could have ended."""
    more = f"; here may follow {one_of(words)}" if words and len(words) < 12 and place.before else ""
    ended = f"end the statement before it with ; or a new line{more}"
    if place.before and repairs.reads_alone(language, place):
        return ended, ()
    if repair := repairs.repaired(language, place):
        return repair.hint, _edits_of(repair, place)
    if place.found in facts.homes():
        return ended, ()
    if rest := repairs.rest(language, place):
        return f"remove {quoted(rest)}{more}", ()
    if place.found[:1].isalnum():
        return ended, ()
    if place.found in "{}":
        return f"remove {quoted(place.found)}", ()
    return f"remove {quoted(place.found)}, or begin a comment with #", ()


def _edits_of(repair: repairs.Repair, place: Place) -> tuple[Edit, ...]:
    """The edit of a repair, where no other is possible."""
    span = Span(place.source, place.base + repair.start, place.base + repair.end)
    return (Edit(span, repair.text),) if repair.only else ()


def _both_halves(place: Place, word: str) -> Span:
    """The word that is not expected, with the next one where the two are one word."""
    more = re.match(rf"{re.escape(place.found)}[ \t]+([\w-]+)", place.rest)
    whole = more is not None and f"{place.found}{more[1]}" == word.replace("-", "")
    return place.span(place.at, more.end()) if more and whole else place.here


def _told(found: str, diagnostics: Diagnostics) -> bool:
    """Whether a name that begins with a digit has been told of already."""
    name = re.match(r"\d+[A-Za-z][\w-]*", found)
    return name is not None and diagnostics.has_message_with(f"`{name[0]}`")


def _symbols(language: Language, expected: set[str]) -> list[str]:
    """The signs among the expected terminals."""
    values = [
        terminal.pattern.value
        for terminal in language.lark.terminals
        if terminal.name in expected and isinstance(terminal.pattern, PatternStr)
    ]
    return [","] * ("_COMMA" in expected) + [value for value in values if not value[0].isalpha()]
