"""A comparison as text for the screen, and as JSON. The sentences are those of the change card, in English."""

from __future__ import annotations

import json
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from rigcard.compare.comparison import CHANGED, NEW, VALID, WITHDRAWN, Comparison
from rigcard.documents.cards.action_words import action_lines
from rigcard.documents.cards.change_titles import Line
from rigcard.documents.cards.change_words import issue_lines, paper_lines, person_lines, port_lines
from rigcard.documents.cards.effect_words import effect_lines

NOTHING = "Nothing changed."
WORDS_ONLY = "Only words changed: the rig is and does what it was and did."


def as_text(found: Comparison) -> str:
    """Return what differs, under a heading for each kind; the first line says how much that is."""
    if found.nothing:
        return NOTHING
    parts = [("Issue", issue_lines(found))]
    parts += [
        ("What is different", effect_lines(found)),
        ("What to do", action_lines(found)),
        ("The same from the other handset", port_lines(found)),
        ("Papers", paper_lines(found)),
        ("Who must be told", person_lines(found)),
    ]
    lines: list[str] = [WORDS_ONLY, ""] if found.words_only else []
    for title, body in parts:
        if body:
            lines += [title, *_columns(body), ""]
    return "\n".join(lines).rstrip()


def _columns(lines: Sequence[Line]) -> list[str]:
    width = max(len(line.word) for line in lines)
    return [f"  {line.word:<{width}}  {line.text}" for line in lines]


def recall(found: Comparison) -> list[str]:
    """Return which papers of an earlier build to print anew and to collect, a line for each kind."""
    lines = []
    for kind, title in (("card", "cards"), ("sheet", "lists and drawings"), ("label", "labels")):
        parts = [
            f"{what}: {', '.join(names)}"
            for what, state in (
                ("changed, collect the old ones", CHANGED),
                ("new", NEW),
                ("withdrawn, collect", WITHDRAWN),
            )
            if (names := [paper.name for paper in found.papers_in(state, kind)])
        ]
        more = [paper for paper in found.papers_in(VALID, kind) if paper.more]
        if more:
            count = max(paper.more for paper in more)
            each = "one more copy of each" if count == 1 else f"{count} more copies of each"
            parts.append(f"still valid, {each}: {', '.join(paper.name for paper in more)}")
        lines.append(f"{title}: {'; '.join([*parts, f'still valid: {len(found.papers_in(VALID, kind))}'])}")
    stays = not found.papers_differ and not any(paper.more for paper in found.papers)
    return ["no paper differs: there is nothing to print", *lines] if stays else lines


def as_json(found: Comparison) -> str:
    """Return the same as JSON, each with its values and its sentence."""
    data = {
        "changed": not found.nothing,
        "words_only": found.words_only,
        "old": {
            "rig": found.old.title,
            "job": found.old.job,
            "revision": found.old.revision,
            "date": found.old.date,
        },
        "new": {
            "rig": found.new.title,
            "job": found.new.job,
            "revision": found.new.revision,
            "date": found.new.date,
        },
        "issue": _entries(found.issue, issue_lines(found)),
        "effects": _entries(found.effects, effect_lines(found)),
        "actions": _entries(found.actions, action_lines(found)),
        "ports": [_plain(port) for port in found.ports],
        "papers": [_plain(paper) for paper in found.papers],
        "people": [
            {**_plain(person), "text": line.text}
            for person, line in zip(found.people, person_lines(found), strict=True)
        ],
    }
    return json.dumps(data, ensure_ascii=True, indent=1)


def _entries(values: Sequence[Any], lines: Sequence[Line]) -> list[dict[str, Any]]:
    return [{**_plain(value), "text": line.text} for value, line in zip(values, lines, strict=True)]


def _plain(value: Any) -> Any:
    """Return a value as JSON has it: named tuples by the names of their fields, exact numbers as numbers."""
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else round(float(value), 6)
    if hasattr(value, "_asdict"):
        return {key: _plain(inner) for key, inner in value._asdict().items()}
    if isinstance(value, tuple | list):
        return [_plain(inner) for inner in value]
    return value
