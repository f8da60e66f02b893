"""Small repairs of a faulty statement, tried on the parser: only one with which the whole statement reads is told."""

import re
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from rigcard.diagnostics import Edit
from rigcard.reporting.suggest import one_of
from rigcard.source import Span
from rigcard.syntax import facts
from rigcard.syntax.cutting import bare, pieces, uses
from rigcard.syntax.hints import quoted
from rigcard.syntax.place import Place, words_in

MOST_OFFERED = 3  # words of which one may be meant
MOST_REMOVED = 5  # words at the end of a statement
MOST_PARTS = 4  # words of which a name may be made
MOST_MOVED = 4  # words of an option in the wrong place
MOST_LEFT_OUT = 2  # words that stand too many, one after the other
_ENDS = {"{": "LBRACE", "}": "RBRACE"}  # the sign after a statement, and what the parser calls it
_SIGN = re.compile(r"[^\w\s\"{};#]+")
_PLAIN = re.compile(r"[A-Za-z][A-Za-z]*|[^\w\s\"]+")  # no number and no words in quotes, which nobody loses
_PART = re.compile(r"[A-Za-z][\w-]*|\d+")


class Repair(NamedTuple):
    """What to write from `start` to `end` of a text, the remedy in words, and whether it is the only one."""

    start: int
    end: int
    text: str
    hint: str
    only: bool = True

    def edits(self, place: Place) -> tuple[Edit, ...]:
        """Its edit of the source, where no other is possible."""
        span = Span(place.source, place.base + self.start, place.base + self.end)
        return (Edit(span, self.text),) if self.only else ()


class Trial:
    """A faulty statement and the blocks around it, on which repairs are tried."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self.start = place.at - len(place.statement)
        self.stop = _end(place.text, self.start, place.at)
        self.line = place.text[self.start : self.stop]
        self.at = place.at - self.start
        self.head = bare(place.text[: self.start], self.start)
        after = place.text[self.stop : self.stop + 1]
        self.ending = {_ENDS.get(after, "_SEP")} | ({"_SEP"} if after == "}" else set())
        self.words = [
            (start, word) for start, word in words_in(self.line) if start + len(word) <= len(self.line)
        ]

    def reads(self, start: int, end: int, new: str) -> bool:
        """Whether the statement reads to its end with a text in place of one of its parts."""
        return bool(self.ending & self.follows(self.line[:start] + new + self.line[end:]))

    def follows(self, statement: str) -> set[str]:
        """What may follow a statement that stands in the same blocks; nothing if it does not read."""
        return self.place.language.after(self.head + statement)

    def repair(self, start: int, end: int, new: str, hint: str, only: bool = True) -> Repair:
        """A repair of a part of the statement, as one of the whole text."""
        return Repair(self.start + start, self.start + end, new, hint, only)

    @property
    def index(self) -> int:
        """Which of the words is the one that was not expected; their number if the statement stops there."""
        return next((index for index, (start, _) in enumerate(self.words) if start >= self.at), len(self.words))


def first_word(place: Place, known: Iterable[str], close: Iterable[str] = ()) -> Repair | None:
    """The word that has to stand before a statement or in place of its first word, if that is one of few.

    None where a `close` word reads in place of the first one: it is misspelt, and nothing is left out.
    """
    trial = Trial(place)
    if len(trial.words) < 2:
        return None
    start, first = trial.words[0]
    if any(trial.reads(start, start + len(first), word) for word in close):
        return None
    words = list(known)
    sign = trial.words[1][1] if trial.words[1][1] in (":", ".", ")") else ""
    end = trial.words[1][0] + 1 if sign else start + len(first)
    fits = [word for word in words if trial.reads(start, end, f"{word} {first}")]
    if len(fits) == 1:
        hint = (
            f"write `{fits[0]} {first}` in place of `{first}{sign}`"
            if sign
            else f"write `{fits[0]}` before `{first}`"
        )
        return trial.repair(start, end, f"{fits[0]} {first}", hint)
    fits = [word for word in words if trial.reads(start, start + len(first), word)]
    if 0 < len(fits) <= MOST_OFFERED and len(trial.words) > 2 and first[0].isalpha():
        hint = f"write {one_of(fits)} in place of `{first}`"
        return trial.repair(start, start + len(first), fits[0], hint, only=len(fits) == 1)
    return None


def exchanged(place: Place) -> Repair | None:
    """Two words that stand in the wrong order, if the statement reads with them exchanged."""
    return _exchanged(Trial(place))


def name_left_out(place: Place) -> str:
    """A name for words in quotes before which one is left out; empty if the statement does not read with it."""
    trial = Trial(place)
    name = re.sub(r"[^a-z0-9]+", "-", place.found.lower()).strip("-")
    if not trial.reads(trial.at, trial.at, "name "):
        return ""
    return name if name[:1].isalpha() and name.count("-") < MOST_PARTS else "NAME"


def before_block(place: Place) -> str:
    """The only word of a statement that belongs before the { of its block; empty if it does not."""
    trial = Trial(place)
    word = trial.line.strip()
    opener = trial.head.rfind("{")
    if opener < 0 or not _PLAIN.fullmatch(word):
        return ""
    follows = place.language.after(f"{trial.head[:opener].rstrip()} {word} ")
    return word if "LBRACE" in follows else ""


def first_word_again(place: Place) -> Repair | None:
    """The first word of a statement that has to be repeated in place of a comma."""
    trial = Trial(place)
    if not trial.words or trial.line[trial.at : trial.at + 1] != ",":
        return None
    first = trial.words[0][1]
    tail = trial.line[trial.at + 1 :].split(",")[0].strip()
    if not (tail and trial.ending & trial.follows(f"{first} {tail}")):
        return None
    indent = trial.line[: trial.words[0][0]]
    hint = f"write a new line and `{first}` in place of `,`"
    return trial.repair(trial.at, trial.at + 1, f"\n{indent}{first}", hint)


def each_in_quotes(place: Place, words: str) -> str:
    """Words that stand without quotes, each in its own where the statement takes several; empty if it does not."""
    trial = Trial(place)
    parts = [part.strip() for part in words.split(",")]
    new = ", ".join(f'"{part}"' for part in parts)
    fits = len(parts) > 1 and all(parts) and trial.reads(trial.at, trial.at + len(words), new)
    return new if fits else ""


def reads_alone(place: Place, after: int = 0) -> bool:
    """Whether what stands so many characters after this place, up to the end, is a statement itself."""
    trial = Trial(place)
    return trial.at + after < len(trial.line.rstrip()) and trial.reads(0, trial.at + after, "")


def reads_with(place: Place, word: str) -> bool:
    """Whether the statement reads with another word in place of the one that is not expected."""
    trial = Trial(place)
    return trial.reads(trial.at, trial.at + len(place.found), word)


def rest_too_many(place: Place) -> str:
    """The text from here to the end of the statement, if the statement reads without it; otherwise empty."""
    trial = Trial(place)
    text = trial.line[trial.at :].rstrip()
    return (
        text
        if text
        and len(trial.words) - trial.index <= MOST_REMOVED
        and trial.reads(trial.at, len(trial.line), "")
        else ""
    )


def _end(text: str, start: int, at: int) -> int:
    """The end of the statement, before the block that it opens."""
    for begun_at, piece in pieces(text, start):
        if begun_at >= at and (piece in "{}\n;" or piece.startswith("#")):
            return begun_at
    return len(text)


def _article(trial: Trial) -> Repair | None:
    """An article, which no statement has."""
    for start, word in trial.words[max(0, trial.index - 1) : trial.index + 1]:
        if word in ("the", "a", "an") and trial.reads(start, start + len(word), ""):
            return trial.repair(start, start + len(word), "", f"remove `{word}`", only=False)
    return None


def _wrapped(trial: Trial) -> Repair | None:
    """A part in brackets of some kind."""
    start, found = trial.words[trial.index] if trial.index < len(trial.words) else (0, "")
    closing = trial.line.find({"(": ")", "[": "]", "<": ">"}.get(found, "\0"), start)
    inside = trial.line[start + 1 : closing].strip()
    if closing < 0 or not inside or not trial.reads(start, closing + 1, inside):
        return None
    return trial.repair(start, closing + 1, inside, f"write {quoted(inside)} without brackets")


def _other_words(trial: Trial) -> Repair | None:
    """Words of another language in place of a fixed one."""
    before = trial.line[: trial.at]
    for count in range(1, MOST_LEFT_OUT + 1):
        part = trial.words[trial.index : trial.index + count]
        if len(part) < count or not all(_says_nothing(trial, start, word) for start, word in part):
            return None
        start, end = part[0][0], part[-1][0] + len(part[-1][1])
        fits = [phrase for phrase in _phrases(trial, before) if trial.reads(start, end, phrase)]
        if 0 < len(fits) <= MOST_OFFERED:
            hint = f"write {one_of(fits)} in place of {quoted(trial.line[start:end])}"
            return trial.repair(start, end, fits[0], hint, only=len(fits) == 1)
    return None


def _one_word(trial: Trial) -> Repair | None:
    """A name that is written as two words, if the file has it as one, if a part of it is a number, or where a unit or
    a model is declared."""
    for index in (trial.index, trial.index + 1):
        if not 0 < index < len(trial.words):
            continue
        (start, first), (second, last) = trial.words[index - 1], trial.words[index]
        if not (first[0].isalpha() and _PART.fullmatch(last) and first not in facts.homes()):
            continue
        name = f"{first}-{last}"
        known = uses(trial.place.source)[name]
        declared = index == 2 and trial.words[0][1] in ("unit", "model")
        if (known or declared or last.isdigit()) and trial.reads(start, second + len(last), name):
            return trial.repair(start, second + len(last), name, f"a name is one word: write `{name}`")
    return None


def _forgotten(trial: Trial) -> Repair | None:
    """Fixed words that are left out, or that a sign stands for."""
    if not 0 < trial.index < len(trial.words):
        return None
    start, found = trial.words[trial.index]
    sign = _SIGN.fullmatch(found)
    end = start + len(found) if sign else start
    tail = trial.line[end:]
    closing = tail.find({"(": ")", "[": "]"}.get(found, "\0"))
    if closing >= 0:
        tail = tail[:closing] + tail[closing + 1 :]
    before = trial.line[:start].rstrip()
    fits = [
        phrase
        for phrase in _phrases(trial, before)
        if trial.ending & trial.follows(f"{before} {phrase} {tail.lstrip()}")
        and (
            not found[0].isalpha()
            or _used_elsewhere(trial, found)
            or "NAME" not in trial.follows(f"{before} {phrase} ")
        )
    ]
    if not 0 < len(fits) <= MOST_OFFERED:
        return None
    hint = f"write {one_of(fits)} {'in place of' if sign else 'before'} {quoted(found)}"
    stop = len(trial.line) if closing >= 0 else end + len(tail) - len(tail.lstrip())
    new = f" {fits[0]} " + (tail.lstrip() if closing >= 0 else "")
    return trial.repair(len(before), stop, new, hint, only=len(fits) == 1)


def _phrases(trial: Trial, before: str) -> Iterator[str]:
    """The fixed words that may follow a text, each with a second where only that may come next."""
    for word in facts.keywords(trial.follows(before)):
        yield word
        after = trial.follows(f"{before} {word} ")
        if len(after) == 1 and (more := facts.keywords(after)):
            yield f"{word} {more[0]}"


def _forgotten_title(trial: Trial) -> Repair | None:
    """Words in quotes that are left out."""
    if trial.index == len(trial.words) or "STRING" not in trial.follows(trial.line[: trial.at]):
        return None
    start, found = trial.words[trial.index]
    if not trial.reads(start, start, '"TITLE" '):
        return None
    hint = f'write words in "quotes" before {quoted(found)}'
    return trial.repair(start, start, '"TITLE" ', hint, only=False)


def _exchanged(trial: Trial) -> Repair | None:
    """Two words in the wrong order."""
    for index in (trial.index, trial.index + 1):
        if not 0 < index < len(trial.words):
            continue
        (start, first), (second, last) = trial.words[index - 1], trial.words[index]
        new = f"{last} {first}"
        if trial.reads(start, second + len(last), new):
            return trial.repair(start, second + len(last), new, f"write `{new}`")
    start, found = trial.words[trial.index] if trial.index < len(trial.words) else (0, "")
    if found not in facts.homes():
        return None
    for begin, _ in trial.words[trial.index + 1 : trial.index + 1 + MOST_MOVED]:
        option, tail = trial.line[start:begin].strip(), trial.line[begin:].strip()
        if trial.reads(start, len(trial.line), f"{tail} {option}"):
            hint = f"write `{option}` after {quoted(trial.words[-1][1])}"
            return trial.repair(start, len(trial.line), f"{tail} {option}", hint)
    return None


def _too_many(trial: Trial) -> Repair | None:
    """Words that say nothing in the language; never a number or words in quotes."""
    fixed = trial.index > 0 and trial.words[trial.index - 1][1] in facts.fixed_words()
    order = (trial.index - 1, trial.index) if fixed else (trial.index, trial.index - 1)
    for count in range(1, MOST_LEFT_OUT + 1):
        for index in order:
            part = trial.words[max(index, 0) : index + count]
            if len(part) < count or not all(_says_nothing(trial, start, word) for start, word in part):
                continue
            start, end = part[0][0], part[-1][0] + len(part[-1][1])
            if trial.reads(start, end, ""):
                text = trial.line[start:end]
                return trial.repair(start, end, "", f"remove {quoted(text)}", only=False)
    return None


def _says_nothing(trial: Trial, start: int, word: str) -> bool:
    """Whether a word can be missed: no number, no words in quotes, no name of the file, no fixed word in its place."""
    if not _PLAIN.fullmatch(word):
        return False
    if not word[0].isalpha():  # a sign that joins two words is a slip in a name
        around = trial.line[max(0, start - 1) : start] + trial.line[start + len(word) :][:1]
        return not re.fullmatch(r"\w\w", around)
    if _used_elsewhere(trial, word) and word not in facts.homes():
        return False
    return word not in facts.keywords(trial.follows(trial.line[:start]))


def _used_elsewhere(trial: Trial, word: str) -> bool:
    """Whether the file has a word at another place too: then it may be the name of something."""
    return uses(trial.place.source)[word] > 1


class Try(NamedTuple):
    """One kind of repair, with a statement that it is for, and what is said of that.

    `of_values`: also where a name, a number or words are wanted, for which no fixed word of the language is offered.
    """

    attempt: Callable[[Trial], Repair | None]
    example: str
    hint: str
    of_values: bool = True


TRIES = (  # in order: the first with which the statement reads to its end is told
    Try(_article, 'unit the rx is receiver-8 "Receiver"', "remove `the`"),
    Try(_one_word, 'unit left rx is receiver-8 "Receiver"', "a name is one word: write `left-rx`"),
    Try(_wrapped, 'unit rx is (receiver-8) "Receiver"', "write `receiver-8` without brackets"),
    Try(_forgotten, 'rig "Rig" { revision "A" (2026-01-15) }', "write `on` in place of `(`"),
    Try(
        _forgotten_title,
        'rig "Rig" { revision on 2026-01-15 }',
        'write words in "quotes" before `on`',
    ),
    Try(_exchanged, 'model box "Box" { port in two servo }', "write `two in`"),
    Try(_too_many, 'rig "Rig" { job called "Gorge" }', "remove `called`"),
    Try(
        _other_words,
        "expect hs.stick.up yields head.tilt.up",
        "write `gives` in place of `yields`",
        of_values=False,
    ),
)


def repaired(place: Place, value: bool = False) -> Repair | None:
    """The first repair near the place where the parser stopped with which the statement reads to its end.

    `value`: a name, a number or words are wanted there.
    """
    trial = Trial(place)
    tries = (one for one in TRIES if one.of_values or not value)
    return next((found for one in tries if (found := one.attempt(trial))), None)
