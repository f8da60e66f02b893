"""Explains text that the grammar does not allow, in the words of the language, never in lark's."""

import re
from collections.abc import Callable
from typing import NamedTuple

from lark import UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from rigcard.diagnostics import Diagnostic, Diagnostics, Edit
from rigcard.reporting.suggest import one_of
from rigcard.source import Source, Span
from rigcard.syntax import codes, facts, repairs, rewrites
from rigcard.syntax.characters import no_character, open_words
from rigcard.syntax.cutting import bare
from rigcard.syntax.first_words import misspelt_statement, no_statement
from rigcard.syntax.hints import (
    by_number,
    close_words,
    did_you_mean,
    may_end,
    missing_sign,
    quoted,
    wanted_instead,
    where_to_write,
)
from rigcard.syntax.number_errors import too_long, wrong_number
from rigcard.syntax.parser import Language
from rigcard.syntax.place import Place, word_at
from rigcard.syntax.vocabulary import (
    DESCRIBED,
    QUANTITIES,
)

_BEFORE_COMMENT = re.compile(r'(?:[^"#\n]|"(?:[^"\\\n]|\\.)*"?)*')
_COMMENT = re.compile(r"^[ \t]*#.*", re.MULTILINE)
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
    place = Place(language, source, base, text, at, "" if ends else word_at(text, at), expected)
    if place.before == "}" and place.told_before(diagnostics):
        return at
    found = next(one for explain in EXPLANATIONS if (one := explain(place)))
    if found.code is not codes.UNEXPECTED_TEXT or not _told(place.found, diagnostics):
        diagnostics.add(found)
    return at


def offset_of(fault: UnexpectedInput, text: str) -> int:
    """The offset in a text at which the parser stopped; the length of the text if that was its end."""
    at = fault.token.start_pos if isinstance(fault, UnexpectedToken) else fault.pos_in_stream
    return len(text) if at is None else min(int(at), len(text))


def _rewrite(place: Place) -> Diagnostic | None:
    """Parts in another order or form, where what is meant is beyond doubt: the line then reads further."""
    start = place.at - len(place.statement)
    line = place.text[start:].split("\n", 1)[0]
    for found in rewrites.rewrites(line, place.at - start):
        if place.language.after(place.text[: start + found.start] + found.text):
            span = place.span(start + found.start, found.end - found.start)
            hint = f"write {found.text if found.text[-1] in '%' else quoted(found.text)}"
            return _unexpected(span, found.cause, hint, (Edit(span, found.text),))
    return None


def _comma_carries_on(place: Place) -> Diagnostic | None:
    """A comma at the end of a line that is taken to go on in the next, where another statement begins."""
    line = place.text.rfind("\n", 0, place.at) + 1
    before = place.text[:line].rstrip()
    first = re.match(r"[ \t]*(?:([A-Za-z][\w-]*)|\})", place.text[line:])
    if not before.endswith(",") or first is None or (first[1] and first[1] not in facts.homes()):
        return None
    span = place.span(len(before) - 1, 1)
    where = "another one begins" if first[1] else "the block ends"
    cause = f"this comma carries the statement on to the next line, where {where}"
    return _unexpected(span, cause, "remove the comma", (Edit(span, ""),))


def _of_a_channel(place: Place) -> Diagnostic | None:
    """An option of a channel in the line of an input."""
    fed = re.match(r"[ \t]*input[ \t]+[\w-]+[ \t]+from[ \t]+([\w-]+)", place.statement)
    found = place.found
    if not fed or found not in facts.words_in("channel") or found in place.words:
        return None
    cause = f"`{found}` is for a channel, and this is an input"
    return _unexpected(place.here, cause, f"write it at the end of the line of channel `{fed[1]}`")


def _near_word(place: Place) -> Diagnostic | None:
    """A word that looks like one that may stand there."""
    close = close_words(place.found, place.words) if place.found[:1].isalpha() else []
    if not close:
        return None
    if "_COMMA" in place.expected and repairs.reads_with(place, f", {place.found}"):
        return _not_expected(place, f"write , before `{place.found}`")
    return _not_expected(place, *did_you_mean(close, _both_halves(place, close[0])))


def _could_have_ended(place: Place) -> Diagnostic | None:
    """What stands after a statement that could have ended."""
    found = place.found
    if not found or not place.expected & {"_SEP", "RBRACE"}:
        return None
    joins = found in ("and", "&", "then", ",") and repairs.reads_alone(place, len(found))
    if found == "," and not place.rest[1:].strip(" \t}"):
        return _not_expected(place, "remove `,`", (Edit(place.here, ""),))
    if joins and found != ",":
        return _not_expected(place, f"write a new line or ; in place of `{found}`")
    repair = repairs.first_word_again(place) if found == "," else None
    sign = found in (":", "=", "-", "->", "=>") and place.before[-1:] != '"'
    if repair is None and (sign or (found == "," and not joins)):
        repair = repairs.repaired(place)
    if repair:
        return _not_expected(place, repair.hint, repair.edits(place))
    if hint := may_end(place):
        return _not_expected(place, hint)
    return _not_expected(place, *_after_its_end(place))


def _value(place: Place) -> Diagnostic | None:
    """What stands in place of a name, words in quotes or a number."""
    found, at = place.found, place.at
    wants = [
        QUANTITIES[name][0] + f" such as {QUANTITIES[name][1]}" for name in QUANTITIES if name in place.expected
    ]
    wants += [DESCRIBED[name] for name in ("NAME", "STRING", "DATE") if name in place.expected]
    if not wants:
        return None
    wants += [f"`{word}`" for word in place.words]
    if commented := _COMMENTED.match(place.text, at):
        cause = f"{_cause(place)}, because # begins a comment"
        return _unexpected(place.span(commented.end() - 1, 1), cause, "remove #")
    cause, hint, length, loose = wanted_instead(place, wants, _where(place))
    edits: tuple[Edit, ...] = ()
    words = place.text[at : at + length]
    if hint == f'write "{words}"' and (several := repairs.each_in_quotes(place, words)):
        hint, loose = f"write {several}", False
    if found.startswith('"') and "NAME" in place.expected and (name := _name_for(place)):
        cause, hint, loose = cause + name.more, name.hint, False
        edits = (Edit(place.here, name.text),) if name.text else ()
    if loose and found and (repair := repairs.repaired(place, value=True)):
        length, hint, edits = len(found), repair.hint, repair.edits(place)
    return _unexpected(place.span(at, length), cause, hint, edits)


def _taken_for_a_name(place: Place) -> Diagnostic | None:
    """A fixed word that the parser took for the name which is missing before it."""
    before = place.before
    if place.words != [before]:
        return None
    span = place.span(place.text.rfind(before, 0, place.at), len(before))
    return _unexpected(span, f"a name is missing before `{before}`", f"write a name before `{before}`")


def _fixed_word(place: Place) -> Diagnostic | None:
    """What stands in place of a fixed word."""
    found, before, words = place.found, place.before, place.words
    if not words:
        return None
    edits: tuple[Edit, ...] = ()
    hint = where_to_write(one_of(words), found)
    if before == "channel" and found.isdigit():
        hint = by_number(place)
    elif found and before != "reverse" and (repair := repairs.repaired(place)):
        hint, edits = repair.hint, repair.edits(place)
    elif words == ["x"] and not found:
        hint = f"write two sizes, such as `{before} x {before}`"
    elif not found and (value := _value_after(place)):
        hint = value
    elif before == "reverse":
        hint = "write `reversed`, or `reverse auto`"
    elif late := re.match(rf"{re.escape(found)}[ \t]+((?:{'|'.join(words)})\b[ \t]*\S*)", place.rest):
        hint = f"a name is one word: write `{before}-{found}`"
        if found in facts.fixed_words():
            hint = f"write `{late[1]}` before `{found}`"
    elif found in (".", "/") and (more := re.match(r"[./]([\w-]+)", place.rest)):
        hint = f"a name has letters, digits, - and _ only: write `{before}-{more[1]}`"
        if place.statement.lstrip().startswith("measured"):
            hint = "write the name of the channel alone"
    return _not_expected(place, hint, edits)


def _sign(place: Place) -> Diagnostic:
    """What stands in place of a sign; nothing else is left."""
    wanted = " or ".join(facts.signs(place.expected))
    return _unexpected(place.here, f"{wanted} is missing {_where(place)}", missing_sign(place, wanted))


# in order: the first that has something to say says it
EXPLANATIONS: tuple[Callable[[Place], Diagnostic | None], ...] = (
    too_long,
    _rewrite,
    wrong_number,
    open_words,
    no_character,
    _comma_carries_on,
    misspelt_statement,
    no_statement,
    _of_a_channel,
    _near_word,
    _could_have_ended,
    _value,
    _taken_for_a_name,
    _fixed_word,
    _sign,
)


def _unexpected(span: Span, cause: str, hint: str, edits: tuple[Edit, ...] = ()) -> Diagnostic:
    return Diagnostic(codes.UNEXPECTED_TEXT, span, cause, hint, edits=edits)


def _not_expected(place: Place, hint: str, edits: tuple[Edit, ...] = ()) -> Diagnostic:
    return _unexpected(place.here, _cause(place), hint, edits)


def _where(place: Place) -> str:
    return f"after {quoted(place.before)}" if place.before else "here"


def _cause(place: Place) -> str:
    """The cause where nothing closer is known."""
    return (
        f"{quoted(place.found)} is not expected {_where(place)}"
        if place.found
        else f"the statement stops {_where(place)}"
    )


def _value_after(place: Place) -> str:
    """The remedy for the only word that may go on a statement, where only a number may follow it; otherwise empty."""
    if len(place.words) != 1:
        return ""
    (word,) = place.words
    start = place.at - len(place.statement)
    head = bare(place.text[:start], start) + place.statement
    follows = place.language.after(f"{head} {word} ")
    if len(follows) != 1 or (name := next(iter(follows))) not in QUANTITIES:
        return ""
    kind, example = QUANTITIES[name]
    return f"write `{word}` and {kind} there, such as `{word} {example}`"


class _Name(NamedTuple):
    """The name to write for words in quotes, what is said of these, and the remedy; no name: a person has to find it."""

    text: str
    more: str
    hint: str


def _name_for(place: Place) -> _Name | None:
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
    if swap := repairs.exchanged(place):
        return _Name("", "", swap.hint)
    if repair := repairs.name_left_out(place):
        return _Name("", "", f"write a name before it, as in `{repair} {place.found}`")
    if re.fullmatch(r"[\w.%-]+", plain):
        return None
    return _Name("", "", f"write its name, which stands before {place.found} where that is declared")


def _after_its_end(place: Place) -> tuple[str, tuple[Edit, ...]]:
    """The remedy, and its edits, for what follows a statement that could have ended."""
    few = 0 < len(place.words) < 12 and place.before
    more = f"; here may follow {one_of(place.words)}" if few else ""
    ended = f"end the statement before it with ; or a new line{more}"
    if place.before and repairs.reads_alone(place):
        return ended, ()
    if repair := repairs.repaired(place):
        return repair.hint, repair.edits(place)
    if place.found in facts.homes():
        return ended, ()
    if rest := repairs.rest_too_many(place):
        return f"remove {quoted(rest)}{more}", ()
    if place.found[:1].isalnum():
        return ended, ()
    if place.found in "{}":
        return f"remove {quoted(place.found)}", ()
    return f"remove {quoted(place.found)}, or begin a comment with #", ()


def _both_halves(place: Place, word: str) -> Span:
    """The word that is not expected, with the next one where the two are one word."""
    more = re.match(rf"{re.escape(place.found)}[ \t]+([\w-]+)", place.rest)
    whole = more is not None and f"{place.found}{more[1]}" == word.replace("-", "")
    return place.span(place.at, more.end()) if more and whole else place.here


def _told(found: str, diagnostics: Diagnostics) -> bool:
    """Whether a name that begins with a digit has been told of already."""
    name = re.match(r"\d+[A-Za-z][\w-]*", found)
    return name is not None and diagnostics.has_message_with(f"`{name[0]}`")
