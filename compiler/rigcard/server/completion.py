"""Completes the word at the cursor: words that the grammar allows there, and declared names."""

import os
import re
from collections.abc import Callable
from typing import NamedTuple

from rigcard.resolve import colours, words
from rigcard.resolve.label_sheets import COMMON
from rigcard.resolve.model import CENTRE, SERVO
from rigcard.server.context import Context, context, terminals
from rigcard.server.index import Index
from rigcard.server.keywords import sentences
from rigcard.server.project import Project
from rigcard.syntax import facts, tree
from rigcard.syntax.load import within
from rigcard.syntax.parser import load
from rigcard.words import escaped


class Offer(NamedTuple):
    """A completion. `kind` is keyword, text, file or the kind of a name; `detail` describes it."""

    text: str
    kind: str
    detail: str


class Offers(NamedTuple):
    """All completions that may replace the characters from `start` up to the cursor."""

    start: int
    offers: tuple[Offer, ...]


class _Here(NamedTuple):
    """The cursor and the rig around it."""

    names: Index
    cursor: Context
    folder: str
    match: re.Match[str]

    @property
    def unit(self) -> str:
        words = self.cursor.header("unit")
        return words[1] if len(words) > 1 else ""

    @property
    def model(self) -> str:
        """Return the model of the block: the one declared here, or the unit's model."""
        unit, model = self.cursor.header("unit"), self.cursor.header("model")
        return unit[3] if len(unit) > 3 else model[1] if len(model) > 1 else ""

    def part(self, number: int) -> str:
        """Return a name of the statement before the cursor, by its index."""
        return self.match[number] or ""

    def model_of(self, number: int) -> str:
        """Return the model of the unit that such a name stands for."""
        return self.names.model_of(self.part(number))


def complete(project: Project, path: str, offset: int) -> Offers:
    """Return the completions at an offset of a file."""
    file = project.file(path)
    if file is None:
        return Offers(offset, ())
    text = file.source.text
    cursor = context(text, offset)
    index = project.index(project.rigs_with(path)[0])
    if cursor.in_comment:
        return Offers(offset, ())
    if cursor.in_words:
        opening = offset - len(cursor.statement) + cursor.statement.rfind('"') + 1
        return Offers(opening, _first(_WORDS, index, cursor, os.path.dirname(path)))
    language = load(project.cache)
    allowed = terminals(language, text, cursor, offset)
    offers = [
        Offer(word, "keyword", " / ".join(sentences(cursor.block, cursor.before, word)))
        for word in facts.keywords(allowed)
    ]
    if "NAME" in allowed:
        offers += _first(_NAMES, index, cursor, os.path.dirname(path))
    unique = {(offer.text, offer.kind): offer for offer in offers}
    return Offers(offset - len(cursor.partial), tuple(unique.values()))


def _first(
    table: tuple[tuple[str, re.Pattern[str], Callable[[_Here], list[Offer]]], ...],
    index: Index,
    cursor: Context,
    folder: str,
) -> tuple[Offer, ...]:
    statement = cursor.statement[: len(cursor.statement) - len(cursor.partial)]
    for block, form, offers in table:
        found = form.fullmatch(statement)
        if found and block in ("", cursor.block):
            return tuple(offers(_Here(index, cursor, folder, found)))
    return ()


def _known(index: Index, kind: str, scope: str = "") -> list[Offer]:
    found = []
    for name, place in index.known(kind, scope).items():
        source = place.span.source
        line = source.line(source.position(place.span.start)[0])
        found.append(Offer(name, kind, line.strip().rstrip("{").rstrip()))
    return found


def _units(here: _Here, role: str = "") -> list[Offer]:
    def plays(unit: str) -> bool:
        model = here.names.models.get(here.names.model_of(unit))
        roles = [item.name.text for item in model.items if isinstance(item, tree.Role)] if model else [role]
        return not role or role in roles

    return [offer for offer in _known(here.names, "unit") if plays(offer.text)]


def _fixed(known: tuple[str, ...], what: str) -> Callable[[_Here], list[Offer]]:
    return lambda here: [Offer(word, "word", what) for word in known]


def _of_rig(kind: str, *more: Offer) -> Callable[[_Here], list[Offer]]:
    return lambda here: [*_known(here.names, kind), *more]


def _of_model(kind: str) -> Callable[[_Here], list[Offer]]:
    return lambda here: _known(here.names, kind, here.model)


def _positions(here: _Here, model: str, control: str) -> list[Offer]:
    known = _known(here.names, "position", f"{model}.{control}")
    found = here.names.known("control", model).get(control)
    is_switch = found and "switch" in found.span.source.text[: found.span.start].rsplit("\n", 1)[-1]
    return known if is_switch or not known else [*known, Offer(CENTRE, "position", "the middle")]


def _of_row(here: _Here, model: str) -> list[Offer]:
    return [*_known(here.names, "port", model), *_known(here.names, "row", model)]


def _channels(here: _Here) -> list[Offer]:
    """Return every channel of every handset: the lead to a unit may not be declared yet."""
    return [offer for unit in here.names.units for offer in _known(here.names, "channel", unit)]


def _targets(here: _Here) -> list[Offer]:
    """Return what a unit can be expected to show or obey."""
    model = here.model_of(1)
    inputs = _known(here.names, "input", model)
    states = [offer for known in inputs for offer in _known(here.names, "state", f"{model}.{known.text}")]
    return [*_known(here.names, "command", model), *states, *inputs]


def _ends(here: _Here) -> list[Offer]:
    own = _known(here.names, "state", f"{here.model_of(1)}.{here.part(2)}")
    senders = [model for model in here.names.models if here.part(2) in here.names.known("input", model)]
    return own or [
        offer for model in senders for offer in _known(here.names, "state", f"{model}.{here.part(2)}")
    ]


def _aimed(here: _Here) -> list[Offer]:
    return _positions(here, here.model, here.part(1))


def _choices(model: str, setting: str, index: Index) -> list[Offer]:
    for item in index.models[model].items if model in index.models else ():
        if isinstance(item, tree.Setting) and item.name.text == setting and item.choices:
            return [Offer(escaped(choice.text), "text", item.title.text) for choice in item.choices.texts]
    return []


def _files(here: _Here) -> list[Offer]:
    """Return rig files and folders that match the path written so far."""
    written = here.part(1)
    if not within(os.path.join(here.folder, written), here.folder):
        return []  # no file there may be used
    try:
        entries = sorted(os.scandir(os.path.join(here.folder, written)), key=lambda entry: entry.name)
    except (OSError, ValueError):
        return []
    return [
        Offer(escaped(f"{written}{entry.name}{'/' if entry.is_dir() else ''}"), "file", "")
        for entry in entries
        if not entry.name.startswith(".") and (entry.is_dir() or entry.name.endswith(".rig"))
    ]


_N = r"([A-Za-z][\w-]*)"
_LIST = rf"(?:{_N}\s*,\s*)*"


def _form(pattern: str) -> re.Pattern[str]:
    """Return a pattern for a statement up to the cursor; a space in it matches any white space."""
    return re.compile(pattern.replace(" ", r"\s+"))


_REELS = (
    Offer("tape 12mm", "sheet", "tape of a label printer: a page a label"),
    Offer("roll 62mm x 29mm", "sheet", "die-cut labels on a roll: a page a label"),
)

# The block ("" for any), the statement before the cursor, and what may follow. The first match wins.
_NAMES: tuple[tuple[str, re.Pattern[str], Callable[[_Here], list[Offer]]], ...] = (
    ("file", _form(rf"unit {_N} is "), _of_rig("model")),
    ("unit", _form(rf"channel \d+ {_N} from "), _of_model("control")),
    ("unit", _form(rf"channel \d+ {_N} from {_N} (?:.*\s)?aims (?:.*,\s*)?"), lambda here: _positions(here, here.model, here.part(2))),
    ("unit", _form(rf"input {_N} from "), _channels),
    ("unit", _form(r"input "), _of_model("input")),
    ("unit", _form(rf"unused {_LIST}"), _of_model("input")),
    ("unit", _form(r"bound to "), lambda here: _units(here, "handset")),
    ("unit", _form(r"mounted on "), _units),
    ("unit", _form(r"held by "), _of_rig("role")),
    ("unit", _form(r"set "), _of_model("setting")),
    ("unit", _form(r"mount "), _fixed(words.MOUNTS, "mount")),
    ("unit", _form(rf"mix (?:{_N} into )?"), lambda here: _known(here.names, "channel", here.unit)),
    ("unit", _form(r"(?:mix|channel) .* while "), _of_model("control")),
    ("unit", _form(rf"(?:mix|channel) .* while {_N} "), _aimed),
    ("cable", _form(rf"plugs (?:{_N} to )?"), _of_rig("connector")),
    ("cable", _form(r"rides "), _units),
    ("cable", _form(r"pin .* colou?r "), lambda here: [Offer(code, "word", colour) for code, colour in colours.CODES.items()]),
    ("cable", _form(rf"(?:{_N}\.{_N} to )?"), _units),
    ("cable", _form(rf"(?:{_N}\.{_N} to )?{_N}\."), lambda here: _of_row(here, here.model_of(3))),
    ("rig", _form(r"labels on "), _of_rig("sheet", *(Offer(name, "sheet", "a common sheet") for name in COMMON), *_REELS)),
    ("rig", _form(r"language "), _fixed(words.LANGUAGES, "language")),
    ("rig", _form(r"paper "), _fixed(words.PAPERS, "paper")),
    ("rig", _form(r"card "), _fixed(words.CARDS, "size of a card")),
    ("rig", _form(r"codes "), _fixed(words.CODES, "code")),
    ("sheet", _form(r"page "), _fixed(words.PAPERS, "paper")),
    ("file", _form(rf"(?:expect|measured) (?:{_N}\.{_N}\.{_N} gives )?"), lambda here: _units(here, "" if here.part(1) else "handset")),
    ("file", _form(rf"(?:expect|measured) {_N}\."), lambda here: _known(here.names, "control", here.model_of(1))),
    ("file", _form(rf"(?:expect|measured) {_N}\.{_N}\."), lambda here: _positions(here, here.model_of(1), here.part(2))),
    ("file", _form(rf"expect .* gives {_N}\."), _targets),
    ("file", _form(rf"expect .* gives {_N}\.{_N}\."), _ends),
    ("file", _form(rf"expect .* while (?:.*,\s*)?{_N}\."), lambda here: _known(here.names, "control", here.model_of(1))),
    ("file", _form(rf"expect .* while (?:.*,\s*)?{_N}\.{_N} "), lambda here: _positions(here, here.model_of(1), here.part(2))),
    ("file", _form(rf"expect {_N}\..* while (?:.*,\s*)?"), lambda here: _known(here.names, "control", here.model_of(1))),
    ("file", _form(rf"expect {_N}\..* while (?:.*,\s*)?{_N} "), lambda here: _positions(here, here.model_of(1), here.part(2))),
    ("file", _form(r"harmless (?:.* with (?:.*,\s*)?)?"), lambda here: _units(here, "handset")),
    ("file", _form(rf"harmless (?:.* with (?:.*,\s*)?)?{_N}\."), lambda here: _known(here.names, "control", here.model_of(1))),
    ("file", _form(rf"harmless (?:.* with (?:.*,\s*)?)?{_N}\.{_N}\."), lambda here: _positions(here, here.model_of(1), here.part(2))),
    ("file", _form(rf"measured {_N}\..* on "), lambda here: _known(here.names, "channel", here.part(1))),
    ("file", _form(r"step "), _fixed(words.PHASES, "phase")),
    ("", _form(r"hazard "), _fixed(words.HAZARDS, "hazard")),
    ("file", _form(rf"signal {_N} .* carries (?:.*,\s*)?"), _fixed(words.SIGNAL_KINDS, "kind of signal")),
    ("file", _form(rf"signal {_N} .* polarity "), _fixed(words.POLARITIES, "polarity")),
    ("file", _form(rf"connector {_N} .* mates "), _of_rig("connector")),
    ("file", _form(r"stock-lengths "), _of_rig("signal")),
    ("file", _form(r"independent (?:.*,\s*)?"), _units),
    ("file", _form(rf"independent (?:.*,\s*)?{_N}\."), lambda here: _known(here.names, "input", here.model_of(1))),
    ("model", _form(r"role "), _fixed(words.ROLES, "role")),
    ("model", _form(rf"has {_LIST}"), _fixed(words.SHAPES, "shape")),
    ("model", _form(r"port .* (?:in|out) "), _of_rig("signal", Offer(SERVO, "signal", "a pulse on a three-core lead"))),
    ("model", _form(rf"port .* (?:in|out) {_N} by "), _of_rig("connector")),
    ("model", _form(rf"(?:passes|regulates) (?:{_N} to (?:{_N}\.\.)?{_LIST})?"), lambda here: _of_row(here, here.model)),
    ("model", _form(rf"(?:supplies|takes|draws) .* on {_LIST}"), lambda here: _of_row(here, here.model)),
    ("model", _form(r"reverse (?:before|after) "), _fixed(("subtrim",), "order")),
    ("model", _form(r"mix (?:before|after) "), _fixed(("travel",), "order")),
    ("model", _form(r"subtrim .* shifts "), _fixed(("whole", "centre", "unknown"), "what sub-trim moves")),
    ("model", _form(r"reading (?:.* )?(?:at|of) "), lambda here: _known(here.names, "control", here.model)),
    ("model", _form(rf"reading (?:.* )?(?:at|of) {_N}\."), lambda here: _positions(here, here.model, here.part(1))),
    ("model", _form(r"chemistry "), _fixed(words.CHEMISTRIES, "chemistry")),
    ("model", _form(rf"offers {_LIST}"), _of_rig("offer")),
    ("model", _form(r"shows .* when "), lambda here: [*(Offer(name, "word", "when it is seen") for name in words.SHOWN_WHEN), *_known(here.names, "command", here.model)]),
    ("model", _form(rf"input {_N} on "), lambda here: _of_row(here, here.model)),
    ("model", _form(rf"underslung flips {_LIST}"), _of_model("input")),
    ("model", _form(r"command .* does "), _of_model("setting")),
    ("model", _form(r"(?:command|port|input) .* needs (?:.*,\s*)?"), lambda here: [*_known(here.names, "setting", here.model), *_known(here.names, "offer")]),
    ("input", _form(rf"{_N} .* holds {_LIST}"), _of_model("input")),
    ("input", _form(r"sweeps .* scales "), _of_model("input")),
    ("input", _form(r"reading (?:raised|lowered) to "), lambda here: _known(here.names, "state", f"{here.model}.{here.cursor.headers[-1].split()[1]}")),
    ("input", _form(r"without pulses gives "), lambda here: _known(here.names, "state", f"{here.model}.{here.cursor.headers[-1].split()[1]}")),
)  # fmt: skip

_WORDS: tuple[tuple[str, re.Pattern[str], Callable[[_Here], list[Offer]]], ...] = (
    ("file", _form(r'use "((?:[^"]*/)?)[^"/]*'), _files),
    ("unit", _form(rf'set {_N} "[^"]*'), lambda here: _choices(here.model, here.part(1), here.names)),
    ("model", _form(rf'(?:command|port|input) .* needs (?:.*,\s*)?{_N}\s*=\s*"[^"]*'), lambda here: _choices(here.model, here.part(1), here.names)),
)  # fmt: skip
