"""What a comparison found besides effects and work, in sentences: issue, another handset, people, papers."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from rigcard.compare.comparison import CHANGED, NEW, VALID, WITHDRAWN, Comparison, Effect, Person
from rigcard.compare.port import Missed, Port, PortedChannel
from rigcard.documents.base.language import say, say_count
from rigcard.documents.base.phrases import sentence
from rigcard.documents.cards.change_titles import Line, Titles
from rigcard.words import decimal, microseconds, percent, signed_percent, steps

# ---- the issue -----------------------------------------------------------------------------------------------


def issue_lines(found: Comparison) -> list[Line]:
    """Return what differs in title, job, revision, date and crew."""
    return [Line(_issue_word(effect.kind), _issue(effect)) for effect in found.issue]


def _issue_word(kind: str) -> str:
    words = {
        "title": say("TITLE"),
        "job": say("JOB"),
        "revision": say("REVISION"),
        "date": say("DATE"),
        "crew": say("CREW"),
    }
    return words[kind]


def _issue(effect: Effect) -> str:
    if effect.kind == "crew" and effect.was is None:
        return say("{title} joins.", title=effect.now)
    if effect.kind == "crew" and effect.now is None:
        return say("{title} is no longer there.", title=effect.was)
    return say("{now}, was {was}.", now=effect.now or say("none"), was=effect.was or say("none"))


# ---- another handset -----------------------------------------------------------------------------------------


def port_lines(found: Comparison) -> list[Line]:
    """Return the values that give the same pulses from another handset, and what it cannot reach."""
    titles = Titles(found.old, found.new)
    return [
        line for port in found.ports for channel in port.channels for line in _ported(titles, port, channel)
    ]


def _ported(titles: Titles, port: Port, channel: PortedChannel) -> list[Line]:
    named = sentence(titles.channel(port.handset, channel.channel))
    titles = titles.alone()
    lines = []
    if channel.dial is None:
        lines.append(Line(say("LOST"), say("{channel}: this handset has nothing for it.", channel=named)))
    elif channel.same:
        lines.append(
            Line(
                say("SAME"),
                say("{channel}: the values of the file give what the old handset gave.", channel=named),
            )
        )
    else:
        dial = channel.dial
        values = [
            say("travel {low} / {high} %", low=decimal(dial.travel.low), high=decimal(dial.travel.high)),
            say_count(
                dial.subtrim, "sub-trim {steps} step", "sub-trim {steps} steps", steps=steps(dial.subtrim)
            ),
            say("reversed") if dial.reversed else say("not reversed"),
        ]
        text = say("{channel}, as the old handset: {values}.", channel=named, values=", ".join(values))
        lines.append(Line(say("SAME"), text))
    return [*lines, *(_missed(titles, port, missed) for missed in channel.missed)]


def _missed(titles: Titles, port: Port, missed: Missed) -> Line:
    shown: Callable[[Fraction], str] = signed_percent if missed.as_level else microseconds
    parts = {"at": titles.at(port.handset, missed.control, missed.position), "wanted": shown(missed.wanted)}
    if missed.nearest is None:
        return Line(say("LOST"), say("{at}, {wanted}: the handset has no such position.", **parts))
    off = abs(missed.nearest - missed.wanted)
    return Line(
        say("LOST"),
        say(
            "{at}: {wanted} cannot be reached; the nearest is {nearest}, {off} off.",
            nearest=shown(missed.nearest),
            off=percent(off) if missed.as_level else microseconds(off),
            **parts,
        ),
    )


# ---- people --------------------------------------------------------------------------------------------------


def person_lines(found: Comparison) -> list[Line]:
    """Return who must be told, and of what."""
    return [Line(_who(found, person), _told(person)) for person in found.people]


def _who(found: Comparison, person: Person) -> str:
    others = {
        "technician": say("Technician"),
        "rigger": say("Responsible rigger"),
        "pilot": say("Pilot"),
        "coordinator": say("Frequency coordinator"),
        "packer": say("Whoever packs"),
    }
    crew = {**found.old.crew, **found.new.crew}
    return crew.get(person.who) or others.get(person.who, person.who)


def _told(person: Person) -> str:
    reasons = {
        "joins": say("is new: hand over a full set"),
        "card": say("has a card that changes"),
        "does": say("holds a control that does something else"),
        "loss": say("radio loss does something else"),
        "start": say("must leave a control elsewhere before power-up"),
        "hazard": say("there is a caution that changes"),
        "out": say("is no longer there: collect the whole set"),
        "work": say("has work to do"),
        "mass": say("needs the new mass"),
        "radio": say("needs the new radio links"),
        "pack": say("has things to pack or label"),
        "list": say("has a list or drawing that changes"),
    }
    return f"{sentence('; '.join(reasons[reason] for reason in person.reasons))}."


# ---- papers --------------------------------------------------------------------------------------------------


def paper_lines(found: Comparison) -> list[Line]:
    """Return what became of the papers: what to print, what to collect, what stays."""
    words = {CHANGED: say("CHANGED"), NEW: say("NEW"), WITHDRAWN: say("WITHDRAWN"), VALID: say("VALID")}
    kinds = {"card": say("Cards"), "sheet": say("Lists and drawings"), "label": say("Labels")}
    titles = Titles(found.old, found.new)
    lines = []
    for state, word in words.items():
        for kind, title in kinds.items():
            names = [paper.name for paper in found.papers_in(state, kind)]
            names = [titles.unit(name) for name in names] if kind == "label" else names
            if names and (state, kind) == (VALID, "label"):  # nobody takes them in hand again
                lines.append(Line(word, say_count(len(names), "{count} label.", "{count} labels.")))
            elif names:
                lines.append(Line(word, say("{kind}: {names}.", kind=title, names=", ".join(names))))
    more = [paper for paper in found.papers if paper.more]
    if more:
        named = ", ".join(paper.name for paper in more)
        many = max(paper.more for paper in more)
        text = say_count(many, "{count} more copy of {names}.", "{count} more copies of {names}.", names=named)
        lines.append(Line(say("COPIES"), text))
    return lines
