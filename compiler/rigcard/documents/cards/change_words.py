"""What a comparison found, in sentences: for the change card, and in English for the screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import NamedTuple

from rigcard.compare.comparison import CHANGED, NEW, VALID, WITHDRAWN, Action, Comparison, Effect, Person
from rigcard.compare.facts import (
    Cable,
    Dial,
    Done,
    Facts,
    Lead,
    Leg,
    Loss,
    Margin,
    Rail,
    Run,
    Source,
    Turn,
    Unit,
    Weight,
)
from rigcard.compare.port import Missed, Port, PortedChannel
from rigcard.documents.base.language import listed, say, say_count
from rigcard.documents.base.phrases import place, sentence
from rigcard.documents.cards.cautions import LINES
from rigcard.resolve.model import Position
from rigcard.solve.power.wording import clock
from rigcard.words import decimal, kilograms, microseconds, millimetres, percent, signed_percent, steps, volts


class Line(NamedTuple):
    """One thing to know or to do: the word that leads it, and the sentence."""

    word: str
    text: str


# ---- what things are called --------------------------------------------------------------------------------------


class Titles:
    """The titles of things, as the new revision has them; of what is gone, as the old one had them."""

    def __init__(self, old: Facts, new: Facts) -> None:
        self.old, self.new = old, new
        self.titles = {**old.titles, **new.titles}
        self.units = {**old.spares, **old.units, **new.spares, **new.units}
        self.dials = {**old.dials, **new.dials}
        self.cables = {**old.cables, **new.cables}
        self.several = sum(unit.role == "handset" for unit in new.units.values()) > 1

    def unit(self, name: str) -> str:
        """Return the title of a unit."""
        return self.units[name].title if name in self.units else name

    def alone(self) -> Titles:
        """Return the same for a sentence that names the handset already."""
        same = Titles(self.old, self.new)
        same.several = False
        return same

    def control(self, handset: str, name: str) -> str:
        """Return the title of a control, after its handset if there are several."""
        title = self.titles.get(("control", handset, name), name)
        return f"{self.unit(handset)}: {title}" if self.several else title

    def at(self, handset: str, control: str, position: str, others: Sequence[str] = ()) -> str:
        """Return where controls stand: `Left flip switch AWAY`."""
        places = [(control, position), *(tuple(other.rsplit(".", 1)) for other in others)]
        return listed([self._stands(handset, name, where) for name, where in places])

    def _stands(self, handset: str, control: str, position: str) -> str:
        return say(
            "{control} {position}",
            control=self.control(handset, control),
            position=place(Position(position, Fraction(0))),
        )

    def input(self, unit: str, name: str) -> str:
        """Return the title of an input."""
        return self.titles.get(("input", unit, name), name)

    def port(self, end: str) -> str:
        """Return a port: the title of its unit, and what stands at it."""
        unit, _, port = end.partition(".")
        return f"{self.unit(unit)}, {self.titles.get(('port', unit, port), port)}"

    def channel(self, handset: str, name: str) -> str:
        """Return a channel with its number."""
        known = self.dials.get((handset, name))
        number = known.number if known else ""
        if self.several:
            return say(
                "{handset}, channel {number} {name}", handset=self.unit(handset), number=number, name=name
            )
        return say("channel {number} {name}", number=number, name=name)

    def menu(self, unit: str, setting: str) -> str:
        """Return where a setting stands in the menu."""
        return f"{self.unit(unit)}, {self.titles.get(('menu', unit, setting), setting)}"

    def cable(self, name: str) -> str:
        """Return a cable with its title."""
        return f"{name} {self.cables[name].title}" if name in self.cables else name


# ---- the issue ---------------------------------------------------------------------------------------------------


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


# ---- effects -----------------------------------------------------------------------------------------------------


def effect_lines(found: Comparison) -> list[Line]:
    """Return what the rig does else."""
    titles = Titles(found.old, found.new)
    return [_EFFECTS[effect.kind](found, titles, effect) for effect in found.effects]


def _done_words(done: Done | None) -> str:
    """Return what an input gives at a position."""
    if done is None:
        return say("nothing")
    if not done.state:
        return say("a level outside every band")
    words = ", ".join(done.does) or done.state
    return say("{what}, held still", what=words) if done.held_by else words


def _done(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, control, position, *others = effect.about
    at, title = titles.at(handset, control, position, others), titles.input(unit, name)
    if effect.kind == "turned":
        return Line(
            say("DIRECTION"),
            say(
                "{at}: {input} goes {now}, went {was}.",
                at=at,
                input=title,
                now=_done_words(effect.now),
                was=_done_words(effect.was),
            ),
        )
    return Line(say("FUNCTION"), _gives(at, title, effect))


def _gives(at: str, title: str, effect: Effect) -> str:
    return say(
        "{at}: {input} gives {now}, gave {was}.",
        at=at,
        input=title,
        now=_done_words(effect.now),
        was=_done_words(effect.was),
    )


def _combined(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, first, *others = effect.about
    control, position = first.rsplit(".", 1)
    at = titles.at(handset, control, position, others)
    return Line(say("TOGETHER"), _gives(at, titles.input(unit, name), effect))


def _loss_words(loss: Loss | None) -> str:
    """Return what an input does on radio loss."""
    if loss is None:
        return say("nothing")
    ends = {
        "hold": say("holds its last order"),
        "unknown": say("not set"),
        "silence": say("gets no pulses"),
        "preset": say("goes to {level}", level=signed_percent(loss.level)) if loss.level is not None else "",
    }
    parts = [ends.get(loss.kind, loss.kind)]
    if loss.state:
        parts.append(", ".join(loss.does) or loss.state)
    if loss.delay is not None:
        parts.append(say("after {time} ms", time=decimal(loss.delay)))
    if loss.unasked:
        parts.append(say("up to {turn} deg before that", turn=decimal(loss.unasked)))
    return ", ".join(parts)


def _losses(found: Comparison, titles: Titles, effect: Effect) -> Line:
    return Line(
        say("RADIO LOSS"),
        say(
            "{input}: {now}; before: {was}.",
            input=titles.input(*effect.about),
            now=_loss_words(effect.now),
            was=_loss_words(effect.was),
        ),
    )


def _starts(found: Comparison, titles: Titles, effect: Effect) -> Line:
    harms = {
        "critical": say("moves what must be at rest"),
        "command": say("sends a command"),
        "other": say("leaves a function off its rest"),
        None: say("does no harm"),
    }
    return Line(
        say("POWER-UP"),
        say(
            "Wrong start, {at}: {now}; before: {was}.",
            at=titles.at(*effect.about),
            now=harms.get(effect.now, effect.now),
            was=harms.get(effect.was, effect.was),
        ),
    )


def _margins(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, control, position, *others = effect.about
    was, now = effect.was, effect.now
    assert isinstance(was, Margin) and isinstance(now, Margin)
    moved = now.percent - was.percent
    pulses = now.pulse - was.pulse if now.pulse is not None and was.pulse is not None else None
    by = percent(abs(moved)) if pulses is None else microseconds(abs(pulses))
    parts = {
        "input": titles.input(unit, name),
        "state": found.new.done[effect.about].state,
        "at": titles.at(handset, control, position, others),
        "now": percent(now.percent),
        "was": percent(was.percent),
        "by": by,
    }
    if moved < 0:
        return Line(
            say("MARGIN"),
            say("{input} {state} ({at}) is {by} nearer to its edge: margin {now}, was {was}.", **parts),
        )
    return Line(
        say("MARGIN"),
        say("{input} {state} ({at}) is {by} farther from its edge: margin {now}, was {was}.", **parts),
    )


def _turn_words(turn: Turn) -> str:
    if turn.speed is not None:
        return f"{decimal(turn.speed, 2)} deg/s"
    return f"{decimal(turn.degrees or Fraction(0), 2)} deg"


def _turns(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, control, position, *others = effect.about
    return Line(
        say("SPEED") if effect.now.speed is not None else say("ANGLE"),
        say(
            "{at}: {input} turns {now}, turned {was}.",
            at=titles.at(handset, control, position, others),
            input=titles.input(unit, name),
            now=_turn_words(effect.now),
            was=_turn_words(effect.was),
        ),
    )


def _levels(found: Comparison, titles: Titles, effect: Effect) -> Line:
    unit, name, handset, control, position, *others = effect.about
    return Line(
        say("LEVEL"),
        say(
            "{at}: {input} hears {now}, heard {was}.",
            at=titles.at(handset, control, position, others),
            input=titles.input(unit, name),
            now=signed_percent(effect.now),
            was=signed_percent(effect.was),
        ),
    )


def _rail_words(rail: Rail | None) -> str:
    if rail is None:
        return say("no power")
    if rail.full == rail.empty:
        return volts(rail.full)
    return say("{full} full, {empty} near empty", full=volts(rail.full), empty=volts(rail.empty))


def _rails(found: Comparison, titles: Titles, effect: Effect) -> Line:
    now = effect.now
    parts = {
        "port": titles.port(".".join(effect.about)),
        "now": _rail_words(now),
        "was": _rail_words(effect.was),
    }
    if now is not None and now.low is not None and now.high is not None:
        return Line(
            say("VOLTS"),
            say(
                "{port}: {now}; before: {was}. It takes {low} to {high}.",
                low=volts(now.low),
                high=volts(now.high),
                **parts,
            ),
        )
    return Line(say("VOLTS"), say("{port}: {now}; before: {was}.", **parts))


def _leads(found: Comparison, titles: Titles, effect: Effect) -> Line:
    now, was = effect.now, effect.was
    assert isinstance(now, Lead) and isinstance(was, Lead)
    parts = {"lead": effect.about[0], "now": f"{decimal(now.amps, 2)} A", "was": f"{decimal(was.amps, 2)} A"}
    if now.rated is None:
        return Line(say("CURRENT"), say("{lead} carries up to {now}, before {was}.", **parts))
    rated = f"{decimal(now.rated, 2)} A"
    return Line(
        say("CURRENT"),
        say("{lead} carries up to {now}, before {was}; it is rated {rated}.", rated=rated, **parts),
    )


def _run_words(run: Run | None, other: Run | None) -> str:
    """Return what of a pack differs from the other revision, or all of it without one."""
    if run is None:
        return say("not there")
    parts = []
    if other is None or run.watt_hours != other.watt_hours:
        parts.append(f"{decimal(run.watt_hours, 2)} Wh")
    if run.hours is not None and (other is None or run.hours != other.hours):
        parts.append(clock(run.hours))
    if run.cold is not None and (other is None or run.cold != other.cold):
        parts.append(say("{time} in the cold", time=clock(run.cold)))
    if run.day is not None and (other is None or (run.day, run.spares) != (other.day, other.spares)):
        parts.append(say("packs: {day} for the day, {spares} to spare", day=run.day, spares=run.spares))
    if other is None or run.air != other.air:
        parts.append(run.air)
    return ", ".join(parts) or say("nothing")


def _runs(found: Comparison, titles: Titles, effect: Effect) -> Line:
    return Line(
        say("RUN TIME"),
        say(
            "{pack}: {now}; before: {was}.",
            pack=titles.unit(effect.about[0]),
            now=_run_words(effect.now, effect.was),
            was=_run_words(effect.was, effect.now),
        ),
    )


def _mass(weight: Weight | None) -> str:
    return kilograms(weight.mass) if weight else say("nothing")


def _loads(found: Comparison, titles: Titles, effect: Effect) -> Line:
    parts = {"unit": titles.unit(effect.about[0]), "now": _mass(effect.now), "was": _mass(effect.was)}
    now = effect.now
    if now is None or now.limit is None:
        return Line(say("MASS"), say("{unit} carries {now}, carried {was}.", **parts))
    left, limit = kilograms(now.limit - now.mass), kilograms(now.limit)
    return Line(
        say("MASS"),
        say("{unit} carries {now}, carried {was}; {left} left of {limit}.", left=left, limit=limit, **parts),
    )


def _handed(found: Comparison, titles: Titles, effect: Effect) -> Line:
    return Line(
        say("MASS"),
        say(
            "{unit} with all it carries: {now}, was {was}.",
            unit=titles.unit(effect.about[0]),
            now=_mass(effect.now),
            was=_mass(effect.was),
        ),
    )


def _cases(found: Comparison, titles: Titles, effect: Effect) -> Line:
    parts = {"case": effect.about[0], "now": _mass(effect.now), "was": _mass(effect.was)}
    limit = effect.now.limit if effect.now else None
    if limit is None:
        return Line(say("CASE"), say("{case}: {now}, was {was}.", **parts))
    return Line(say("CASE"), say("{case}: {now}, was {was}; at most {limit}.", limit=kilograms(limit), **parts))


def _hazards(found: Comparison, titles: Titles, effect: Effect) -> Line:
    known = LINES.get(effect.about[0])
    text = known.text if known else effect.about[0]
    if effect.now:
        return Line(say("CAUTION"), say("New: {text}", text=text))
    return Line(say("CAUTION"), say("No longer stated: {text}", text=text))


def _steps(found: Comparison, titles: Titles, effect: Effect) -> Line:
    text = effect.about[1]
    return Line(
        say("STEP"), say("New: {text}", text=text) if effect.now else say("No longer: {text}", text=text)
    )


def _radio(found: Comparison, titles: Titles, effect: Effect) -> Line:
    shown = [
        ", ".join(part for part in side if part) or say("not stated") if side else say("not there")
        for side in (effect.now, effect.was)
    ]
    return Line(
        say("RADIO"), say("{link}: {now}; before: {was}.", link=effect.about[0], now=shown[0], was=shown[1])
    )


def _claims(found: Comparison, titles: Titles, effect: Effect) -> Line:
    given, gives, *others = effect.about
    handset, control, position = given.split(".")
    unit, _, state = gives.partition(".")
    parts = {"at": titles.at(handset, control, position, others), "gives": f"{titles.unit(unit)} {state}"}
    if effect.now:
        return Line(say("PROOF"), say("Expected and proven now: {at} gives {gives}.", **parts))
    return Line(say("PROOF"), say("No longer expected, so not proven: {at} gives {gives}.", **parts))


def _questions(found: Comparison, titles: Titles, effect: Effect) -> Line:
    text = effect.about[0]
    if effect.now:
        return Line(say("OPEN"), say("New question: {text}", text=text))
    return Line(say("OPEN"), say("Answered: {text}", text=text))


_EFFECTS: dict[str, Callable[[Comparison, Titles, Effect], Line]] = {
    "done": _done,
    "turned": _done,
    "combined": _combined,
    "losses": _losses,
    "starts": _starts,
    "margins": _margins,
    "turns": _turns,
    "levels": _levels,
    "rails": _rails,
    "leads": _leads,
    "runs": _runs,
    "loads": _loads,
    "handed": _handed,
    "cases": _cases,
    "hazards": _hazards,
    "steps": _steps,
    "radio": _radio,
    "claims": _claims,
    "questions": _questions,
}


# ---- actions -----------------------------------------------------------------------------------------------------


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
        shown = listed([titles.input(*name.split(".")) for name in about])
        return Line(say("TEST"), say("{functions}.", functions=shown))
    if kind == "label":
        return Line(say("LABEL"), say("New labels on {names}.", names=_labelled(titles, about)))
    if kind == "unlabel":
        return Line(say("LABEL"), say("Take these off: {names}.", names=_labelled(titles, about)))
    return Line(say("PACK"), _pack(titles, action))


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


# ---- dials -------------------------------------------------------------------------------------------------------


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


# ---- another handset ---------------------------------------------------------------------------------------------


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


# ---- people ------------------------------------------------------------------------------------------------------


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


# ---- papers ------------------------------------------------------------------------------------------------------


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
