"""What to do from one revision to the next, in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rigcard.compare.comparison import Action, Comparison
from rigcard.compare.facts import (
    Cable,
    Dial,
    Leg,
    Source,
    Unit,
)
from rigcard.documents.base.language import listed, say, say_count
from rigcard.documents.base.phrases import place, sentence
from rigcard.documents.cards.change_titles import Line, Titles
from rigcard.resolve.model import Position
from rigcard.words import decimal, microseconds, millimetres, percent, signed_percent, steps


def action_lines(found: Comparison) -> list[Line]:
    """Return what to do."""
    titles = Titles(found.old, found.new)
    return [_action(found, titles, action) for action in found.actions]


def _piece(unit: Unit) -> str:
    """Return a piece of kit: its model, and its number if it has one."""
    number = unit.asset or unit.serial
    model = unit.model_title or unit.model
    return f"{model} {number}" if number else model


def _action(found: Comparison, titles: Titles, action: Action) -> Line:
    about, was, now = action.about, action.was, action.now
    kind = action.kind
    if kind in ("swap", "swap spare"):
        text = say("{unit}: {now} in place of {was}.", unit=now.title, now=_piece(now), was=_piece(was))
        return Line(say("SWAP"), text)
    if kind == "bring":
        return Line(say("BRING"), say("{unit}: {piece}.", unit=now.title, piece=_piece(now)))
    if kind == "bring spare":
        return Line(say("BRING"), say("{unit}: {piece}, a spare.", unit=now.title, piece=_piece(now)))
    if kind in ("take out", "take out spare"):
        return Line(say("TAKE OUT"), say("{unit}: {piece}.", unit=was.title, piece=_piece(was)))
    if kind == "software":
        text = say(
            "{unit}: software {now}, was {was}.", unit=titles.unit(about[0]), now=now, was=was or say("none")
        )
        return Line(say("SOFTWARE"), text)
    if kind in ("lead", "lay"):
        return Line(say("LEAD"), _lead(titles, about[0], was, now))
    if kind in ("plug", "unplug", "plug again"):
        return Line(say("PLUG"), _plug(titles, action))
    if kind == "mount":
        return Line(say("MOUNT"), _mount(titles, about[0], now))
    if kind == "balance":
        return Line(say("BALANCE"), say("{unit}: balance it again.", unit=titles.unit(about[0])))
    if kind in ("set", "assign", "unset"):
        return Line(say("ASSIGN") if kind == "assign" else say("SET"), _set(titles, action))
    if kind in ("follow", "unfollow"):
        return Line(say("ASSIGN"), _follow(titles, action))
    if kind == "bind":
        text = say("{receiver} to {handset}.", receiver=titles.unit(about[0]), handset=titles.unit(about[1]))
        return Line(say("BIND"), text)
    if kind in ("memory", "name"):
        return Line(say("DIAL"), _memory(titles, action))
    if kind in ("dial", "clear"):
        return Line(say("DIAL"), _dial(found, titles, action))
    if kind == "stand":
        return Line(say("POWER-UP"), _stand(titles, action))
    if kind == "test":
        return Line(say("TEST"), _test(titles, action))
    if kind == "label":
        return Line(say("LABEL"), say("New labels on {names}.", names=_labelled(titles, about)))
    if kind == "unlabel":
        return Line(say("LABEL"), say("Take these off: {names}.", names=_labelled(titles, about)))
    return Line(say("PACK"), _pack(titles, action))


def _test(titles: Titles, action: Action) -> str:
    functions = listed([titles.input(*name.split(".")) for name in action.about])
    if not action.now:
        return say("{functions}.", functions=functions)
    return say_count(
        len(action.now),
        "{functions}. Line {lines} of the function test shows what the whole test would.",
        "{functions}. Lines {lines} of the function test show what the whole test would.",
        functions=functions,
        lines=listed([str(number) for number in action.now]),
    )


def _labelled(titles: Titles, names: Sequence[str]) -> str:
    """Return what bears a label: the end of a lead by its id, a device by its title."""
    return ", ".join(titles.unit(name) for name in names)


def _memory(titles: Titles, action: Action) -> str:
    number, name = action.now
    parts = {"handset": titles.unit(action.about[0]), "number": number, "name": name}
    if action.kind == "name":
        return say("{handset}: name the model memory {number} {name}.", **parts)
    return say("{handset}: all of this into model memory {number} {name}.", **parts)


def _lead(titles: Titles, name: str, was: Cable, now: Cable) -> str:
    """Return what is other about a lead: how it is made, or how it is laid."""
    parts = []
    if was.length != now.length and now.length is not None:
        before = millimetres(was.length) if was.length is not None else say("none")
        parts.append(say("{now} long, was {was}", now=millimetres(now.length), was=before))
    if was.jacket != now.jacket and now.jacket is not None:
        parts.append(say("{now} thick", now=millimetres(now.jacket)))
    if was.wire != now.wire:
        parts.append(say("wire {now}, was {was}", now=now.wire or say("none"), was=was.wire or say("none")))
    if was.plugs != now.plugs:
        parts.append(say("plugs {now}", now=" / ".join(now.plugs) or say("not stated")))
    if was.pins != now.pins:
        parts.append(say("other pins joined"))
    if was.wet != now.wet:
        parts.append(say("made for the wet") if now.wet else say("no longer made for the wet"))
    if was.moving != now.moving:
        parts.append(say("moves") if now.moving else say("no longer moves"))
    if was.airborne != now.airborne:
        parts.append(say("flies") if now.airborne else say("no longer flies"))
    if was.rides != now.rides:
        parts.append(
            say("rides on {unit}", unit=titles.unit(now.rides)) if now.rides else say("rides on nothing")
        )
    if (
        now.needed is not None
        and now.length is not None
        and (was.needed, was.length) != (now.needed, now.length)
    ):
        coil = millimetres(now.length - now.needed)
        parts.append(say("its way takes {needed}, {coil} to stow", needed=millimetres(now.needed), coil=coil))
    return say(
        "{lead}: {parts}.", lead=titles.cable(name), parts="; ".join(parts) or say("laid in another way")
    )


def _plug(titles: Titles, action: Action) -> str:
    now, was = action.now, action.was
    if action.kind == "plug again":
        name, *legs = action.about
        return say("{unit}: unplug and plug in again {legs}.", unit=titles.unit(name), legs=listed(legs))
    if action.kind == "unplug":
        return say("Take {lead} off.", lead=action.about[0])
    assert isinstance(now, Leg)
    ends = _ends(titles, now)
    if was is None:
        return say("New lead {lead}: {ends}.", lead=action.about[0], ends=ends)
    return say("{lead}: {now}; was {was}.", lead=action.about[0], now=ends, was=_ends(titles, was))


def _ends(titles: Titles, leg: Leg) -> str:
    first = titles.port(leg.first)
    return say("{first} to {second}", first=first, second=titles.port(leg.second)) if leg.second else first


def _mount(titles: Titles, name: str, now: tuple[str, bool | None]) -> str:
    carrier, under = now
    unit = titles.unit(name)
    if carrier:
        return say("{unit} on {carrier}.", unit=unit, carrier=titles.unit(carrier))
    if under is not None:
        return say("{unit} underslung.", unit=unit) if under else say("{unit} upright.", unit=unit)
    return say("{unit} on nothing.", unit=unit)


def _set(titles: Titles, action: Action) -> str:
    menu = titles.menu(*action.about)
    if action.kind == "unset":
        return say("{menu}: no longer stated, was {was}.", menu=menu, was=action.was)
    if action.was is None:
        return say("{menu}: {now}.", menu=menu, now=action.now)
    return say("{menu}: {now}, was {was}.", menu=menu, now=action.now, was=action.was)


def _follow(titles: Titles, action: Action) -> str:
    unit, name = action.about
    title = f"{titles.unit(unit)}, {titles.input(unit, name)}"
    if action.kind == "unfollow":
        return say("{input}: no channel.", input=title)
    now = _source(action.now)
    if action.was is None:
        return say("{input}: {now}.", input=title, now=now)
    return say("{input}: {now}, was {was}.", input=title, now=now, was=_source(action.was))


def _source(source: Source) -> str:
    if source.reversed:
        return say("channel {number}, reversed", number=source.channel)
    return say("channel {number}, not reversed", number=source.channel)


def _stand(titles: Titles, action: Action) -> str:
    handset, control = action.about
    if action.now is None:
        return say("{control}: may stand anywhere.", control=titles.control(handset, control))
    at = titles.at(handset, control, action.now)
    if action.was is None:
        return say("{at} before the power comes on; was: anywhere.", at=at)
    before = place(Position(action.was, Fraction(0)))
    return say("{at} before the power comes on; was: {was}.", at=at, was=before)


def _pack(titles: Titles, action: Action) -> str:
    name, was, now = action.about[0], action.was, action.now
    thing = titles.cable(name) if name in titles.cables else titles.unit(name)
    if action.kind == "packs":
        return say("{unit}: {day} for the day, {spares} to spare.", unit=thing, day=now[0] or 0, spares=now[1])
    if action.kind == "spare leads":
        return say_count(now, "{lead}: {count} spare lead.", "{lead}: {count} spare leads.", lead=thing)
    if now is None:
        return say("{thing} stays behind, was in {was}.", thing=thing, was=was or say("no case"))
    if was is None:
        return say("{thing} into {now}.", thing=thing, now=now or say("no case"))
    return say(
        "{thing} into {now}, was in {was}.", thing=thing, now=now or say("no case"), was=was or say("no case")
    )


# ---- dials ---------------------------------------------------------------------------------------------------


def _dial(found: Comparison, titles: Titles, action: Action) -> str:
    handset, channel = action.about
    named = sentence(titles.channel(handset, channel))
    if action.kind == "clear":
        return say("{channel}: no longer used.", channel=named)
    titles = titles.alone()
    was, now = action.was, action.now
    assert isinstance(now, Dial)
    if was and was.number != now.number:  # other slots of the memory: all values are dialled there
        named = say("{channel}, was channel {number}", channel=named, number=was.number)
        was = None
    values = _values(titles, handset, now)
    before = _values(titles, handset, was or _plain(now))
    parts = [
        say("{now}, was {was}", now=shown, was=earlier) if was else shown
        for shown, earlier in zip(values, before, strict=True)
        if shown != earlier
    ]
    pulses = _pulses(found, titles, action._replace(was=was))
    if not any(("channel", handset, channel) in needs for needs in found.new.needs.values()):
        return say("{channel}: {parts}. Nothing listens to it.", channel=named, parts="; ".join(parts))
    if pulses:
        return say(
            "{channel}: {parts}. Then measure {pulses}.", channel=named, parts="; ".join(parts), pulses=pulses
        )
    return say("{channel}: {parts}.", channel=named, parts="; ".join(parts))


def _plain(dial: Dial) -> Dial:
    """Return a channel as a blank memory has it, but for what every channel must be told."""
    return Dial(
        number=dial.number,
        control="",
        low=Fraction(-1),
        high=Fraction(-1),
        subtrim=dial.subtrim - 1,
        reversed=not dial.reversed,
        rate=Fraction(100),
        expo=Fraction(0),
        switched=(),
        slow=Fraction(0),
        mixes=(),
        failsafe="-",
    )


def _values(titles: Titles, handset: str, dial: Dial) -> list[str]:
    """Return everything that is dialled into a channel, in words; the same number of them for every channel."""
    failsafe = dial.failsafe
    return [
        say("from {control}", control=titles.control(handset, dial.control)),
        say("travel {low} / {high} %", low=decimal(dial.low), high=decimal(dial.high)),
        say_count(dial.subtrim, "sub-trim {steps} step", "sub-trim {steps} steps", steps=steps(dial.subtrim)),
        say("reversed") if dial.reversed else say("not reversed"),
        say("rate {rate}", rate=percent(dial.rate)),
        say("expo {expo}", expo=percent(dial.expo)),
        _switched(titles, handset, dial),
        say("slow {time} ms", time=decimal(dial.slow)),
        _mixes(titles, handset, dial),
        say("failsafe {failsafe}", failsafe=failsafe or say("not set"))
        if isinstance(failsafe, str)
        else say("failsafe {failsafe}", failsafe=signed_percent(failsafe)),
    ]


def _switched(titles: Titles, handset: str, dial: Dial) -> str:
    parts = []
    for where, rate, expo in dial.switched:
        values = [say("rate {rate}", rate=percent(rate))] if rate is not None else []
        values += [say("expo {expo}", expo=percent(expo))] if expo is not None else []
        at = titles.at(handset, *where.rsplit(".", 1))
        parts.append(say("{values} at {at}", values=", ".join(values), at=at))
    return ", ".join(parts) or say("no switched rate")


def _mixes(titles: Titles, handset: str, dial: Dial) -> str:
    parts = []
    for source, low, high, where in dial.mixes:
        if low is None or high is None:
            continue
        rates = percent(high) if low == high else f"{percent(low)} / {percent(high)}"
        named = titles.channel(handset, source)
        if where:
            at = titles.at(handset, *where.rsplit(".", 1))
            parts.append(say("mix {source} at {rates} while {at}", source=named, rates=rates, at=at))
        else:
            parts.append(say("mix {source} at {rates}", source=named, rates=rates))
    return ", ".join(parts) or say("no mix")


def _pulses(found: Comparison, titles: Titles, action: Action) -> str:
    """Return what to measure at the pin of a channel: the pulses that are others now, one control moved at a time."""
    shown = [
        say("{at}: {pulse}", at=titles.at(*at[:1], *at[2:]), pulse=microseconds(sent.pulse))
        for at, sent in found.new.sent.items()
        if at[:2] == action.about and len(at) == 4 and (action.was is None or found.old.sent.get(at) != sent)
    ]
    return ", ".join(shown)
