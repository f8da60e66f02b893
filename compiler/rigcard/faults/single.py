"""Every single mistake that a crew can make with a rig, each as a change of the bench.

A technician dials, plugs, goes through menus, binds, mounts and powers; an operator leaves a control in a wrong
place or knocks a trim. Only what the file states can go wrong here: a lead that it does not name, a menu item
without stated choices or a key that nobody assigned cannot. (IEEE Std 1522: the fault universe, single faults.)
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from itertools import combinations, islice
from typing import NamedTuple

from rigcard.faults.bench import Bench, Change
from rigcard.resolve.links import (
    CommandLink,
    Feed,
    Wire,
    begins_orders,
    feeds_at,
    handset_behind,
    routes_from,
)
from rigcard.resolve.model import Channel, End, Rig, Shape, Travel, Unit, Value
from rigcard.solve.arithmetic import Dial
from rigcard.solve.power_up import places_at_power_up
from rigcard.solve.sharing import Function, Part
from rigcard.solve.solved import Solved

# The kinds by how often they are met, the most frequent first (common practice, no source).
OPERATOR = ("start", "trim")
KINDS = (
    "start",
    "lead",
    "power",
    "memory",
    "plug",
    "bind",
    "menu",
    "reverse",
    "trim",
    "travel",
    "subtrim",
    "failsafe",
    "mix",
    "shape",
    "mount",
)
# What can happen at a swap of packs, and overnight or on the way: all but what is kept in a memory.
AT_A_SWAP = frozenset({"start", "lead", "power", "memory", "trim"})
OVERNIGHT = AT_A_SWAP | {"plug", "bind", "menu", "mount"}
NEAR = (
    8  # receivers of other handsets, next in the file, that one gets mixed up with (common practice, no source)
)
BLANK = Shape(Fraction(100), Fraction(0), Fraction(0))


class Fault(NamedTuple):
    """A single mistake. `person`: operator or technician. `names`: what it is about, by kind:

    start: handset, control, position; trim: handset, control, up or down; lead: leg; power: unit, off or flat;
    memory: handset; plug: unit, port, port, leg, leg or "" (exchanged, or moved to a free port); bind: receiver,
    receiver or "" (crosswise, or not bound); menu: unit, setting, choice, or unit, input, turned, or unit, input,
    input, exchanged; reverse, travel, subtrim, failsafe, mix, shape: handset, channel, and for a mix its source; mount: unit.
    `about`: the units and leads at which it is made.
    """

    kind: str
    names: tuple[str, ...]
    about: frozenset[str]
    change: Callable[[], Change]

    @property
    def person(self) -> str:
        """Who makes it and who may put it right."""
        return "operator" if self.kind in OPERATOR else "technician"


def faults_of(solved: Solved, bench: Bench) -> list[Fault]:
    """Every single mistake, the kinds as in `KINDS`, each in the order of the file."""
    wiring = _Wiring(solved, bench)
    found = [
        *_starts(solved),
        *_trims(solved),
        *_leads(solved, wiring),
        *_unpowered(solved, bench),
        *_memories(solved),
        *_plugs(solved, wiring),
        *_bindings(solved, wiring),
        *_menus(solved, bench, wiring),
        *_dialled(solved, bench),
        *_mounts(solved, bench, wiring),
    ]
    return sorted(found, key=lambda fault: KINDS.index(fault.kind))


# ---- wiring anew ----------------------------------------------------------------------------------------------


class _Wiring:
    """The leads of a rig, so that feeds and command links can be followed again where one is plugged elsewhere."""

    def __init__(self, solved: Solved, bench: Bench) -> None:
        self.rig = solved.rig
        self.bench = bench
        self.wires = {wire.leg.id: wire for wire in solved.links.wires}
        self.leaving: dict[tuple[str, str], list[Wire]] = {}
        for wire in self.wires.values():
            self.leaving.setdefault(wire.source[:2], []).append(wire)
        self.starts: dict[str, set[str]] = {}  # by leg: the first legs of the routes that go over it
        for wire in self.wires.values():
            if self._signal(self.rig, wire):
                for route in routes_from(self.rig, self.leaving, wire):
                    for part in route:
                        self.starts.setdefault(part.leg.id, set()).add(wire.leg.id)
        self.places = {leg: at for at, leg in enumerate(self.wires)}
        self.legs_at: dict[str, list[str]] = {}
        for leg, wire in self.wires.items():
            for name in dict.fromkeys((wire.source.unit, wire.sink.unit)):
                self.legs_at.setdefault(name, []).append(leg)
        self.fed_by: dict[str, list[Function]] = {}  # by leg: the functions whose channel leaves by it
        for key, own in bench.feeds.items():
            for leg in dict.fromkeys(feed.route[0].leg.id for feed in own):
                self.fed_by.setdefault(leg, []).append(key)
        self.ordered_by: dict[str, list[tuple[str, str]]] = {}  # by leg: the ports whose commands leave by it
        for port, links in bench.links.by_port.items():
            for leg in dict.fromkeys(link.route[0].leg.id for link in links):
                self.ordered_by.setdefault(leg, []).append(port)
        self.zeros = {feed._replace(zero=Fraction(0)): feed for own in bench.feeds.values() for feed in own}

    def _signal(self, rig: Rig, wire: Wire) -> bool:
        return handset_behind(rig, rig.units[wire.source.unit]) is not None or begins_orders(rig, wire.source)

    def plugged(self, changed: Mapping[str, Wire]) -> Change:
        """The change if some leads, by their leg, are plugged in this way."""
        leaving = dict(self.leaving)
        for leg, wire in changed.items():
            old = self.wires[leg]
            leaving[old.source[:2]] = [one for one in leaving[old.source[:2]] if one.leg.id != leg]
            leaving[wire.source[:2]] = [*leaving.get(wire.source[:2], []), wire]
        starts = {start for leg in changed for start in self.starts.get(leg, {leg})}
        return self._again(self.rig, starts, leaving, changed, moved=frozenset(changed))

    def bound(self, units: Mapping[str, Unit]) -> Change:
        """The change if some receivers are bound in another way, or some units have other settings."""
        rig = self.rig._replace(units={**self.rig.units, **units})
        starts = {
            start
            for name in units
            for leg in self.legs_at.get(name, ())
            for start in self.starts.get(leg, {leg})
        }
        return self._again(rig, starts, self.leaving, {}, units)

    def _again(
        self,
        rig: Rig,
        starts: set[str],
        leaving: Mapping[tuple[str, str], list[Wire]],
        changed: Mapping[str, Wire],
        units: Mapping[str, Unit] | None = None,
        moved: frozenset[str] = frozenset(),
    ) -> Change:
        firsts = {
            start: changed.get(start, self.wires[start])
            for start in sorted(starts, key=self.places.__getitem__)
        }
        for wire in changed.values():  # a lead that now stands where a signal begins
            if self._signal(rig, wire):
                firsts[wire.leg.id] = wire
        feeds: dict[Function, tuple[Feed, ...]] = {}
        orders: dict[tuple[str, str], list[CommandLink]] = {}
        for first in firsts:
            for key in self.fed_by.get(first, ()):
                own = self.bench.feeds[key]
                feeds[key] = tuple(feed for feed in own if feed.route[0].leg.id not in firsts)
            for port in self.ordered_by.get(first, ()):
                links = self.bench.links.by_port[port]
                orders[port] = [link for link in links if link.route[0].leg.id not in firsts]
        for wire in firsts.values():
            routes = list(routes_from(rig, leaving, wire))
            if handset_behind(rig, rig.units[wire.source.unit]):
                for feed in (feed for route in routes for feed in feeds_at(rig, route)):
                    key = feed.unit, feed.input.name
                    feeds[key] = (*feeds.get(key, self.bench.feeds.get(key, ())), self.zeros.get(feed, feed))
            if begins_orders(rig, wire.source):
                port = wire.source[:2]
                known = orders.get(port, self.bench.links.by_port.get(port, []))
                orders[port] = [
                    *known,
                    *(CommandLink(route, wire.source.unit, route[-1].sink.unit) for route in routes),
                ]
        feeds = {key: own for key, own in feeds.items() if own != self.bench.feeds.get(key, ())}
        orders = {port: own for port, own in orders.items() if own != self.bench.links.by_port.get(port, [])}
        return Change(units=units or {}, feeds=feeds, orders=orders, moved=moved)


# ---- operator -------------------------------------------------------------------------------------------------


def _starts(solved: Solved) -> Iterator[Fault]:
    """A control that must stand somewhere at power-up stands elsewhere."""
    for handset, name in sorted(solved.needed):
        control = solved.rig.units[handset].model.controls[name]
        right = solved.power_up_positions[handset, name]
        places = control.positions if control.is_switch else places_at_power_up(control)
        for place in places:
            if place != right and not (control.springs and not control.is_switch):
                stands = {(handset, name): place}
                yield Fault(
                    "start",
                    (handset, name, place.name),
                    frozenset({handset}),
                    lambda stands=stands: Change(standing=stands),  # type: ignore[misc]
                )


def _trims(solved: Solved) -> Iterator[Fault]:
    """One throw of a trim lever, either way."""
    for unit in solved.rig.units.values():
        used = {unit.channels[feed.channel].control for feed in solved.links.feeds_from(unit.name)}
        for control in unit.model.controls.values():
            for way, throw in (("up", control.trim), ("down", -control.trim)):
                if throw and control.name in used:
                    knocked = {(unit.name, control.name): throw}
                    yield Fault(
                        "trim",
                        (unit.name, control.name, way),
                        frozenset({unit.name}),
                        lambda knocked=knocked: Change(knocked=knocked),  # type: ignore[misc]
                    )


# ---- leads and power ------------------------------------------------------------------------------------------


def _leads(solved: Solved, wiring: _Wiring) -> Iterator[Fault]:
    """A lead that is missing, loose or broken, whatever it carries."""
    fed: dict[str, set[Part]] = {}
    for part in _parallel(wiring.bench):
        if len(part.name) == 2:  # the unit and the one lead
            fed.setdefault(part.name[1], set()).add(part)
    for cable in solved.rig.cables.values():
        for leg in cable.legs:
            if leg.second is None:
                continue
            off = {Part("lead", (leg.id,)), Part("plus", (leg.id,)), *fed.get(leg.id, ())}
            dead = frozenset(off)
            yield Fault(
                "lead",
                (leg.id,),
                frozenset({leg.id, leg.first.unit, leg.second.unit}),
                lambda dead=dead: Change(off=dead),  # type: ignore[misc]
            )


def _parallel(bench: Bench) -> set[Part]:
    return {part for needed in bench.parts.values() for part in needed if part.kind == "feed"}


def _unpowered(solved: Solved, bench: Bench) -> Iterator[Fault]:
    """A pack that is flat, a unit that is off."""
    for unit in solved.rig.units.values():
        side = unit.model.power
        pack = unit.role == "pack"
        needs = bool(side.windows or side.draws) or unit.role in (
            "handset",
            "receiver",
            "adapter",
            "camera",
            "head",
            "monitor",
            "sender",
        )
        if pack or (needs and unit.role != "charger"):
            off = frozenset({Part("unit", (unit.name,))})
            yield Fault(
                "power",
                (unit.name, "flat" if pack else "off"),
                frozenset({unit.name}),
                lambda off=off: Change(off=off),  # type: ignore[misc]
            )


def _memories(solved: Solved) -> Iterator[Fault]:
    """A handset with another memory than the planned one: what it then does nobody can say."""
    for unit in solved.rig.units.values():
        if unit.role == "handset" and unit.memory and unit.channels:
            strange = frozenset({unit.name})
            yield Fault(
                "memory",
                (unit.name,),
                strange,
                lambda strange=strange: Change(strange=strange),  # type: ignore[misc]
            )


# ---- plugs ----------------------------------------------------------------------------------------------------


def _plugs(solved: Solved, wiring: _Wiring) -> Iterator[Fault]:
    """Two like plugs exchanged at a unit, or one in the free socket beside its own."""
    rig = solved.rig
    at: dict[str, list[tuple[End, Wire]]] = {}
    taken: set[tuple[str, str]] = set()
    for cable in rig.cables.values():
        for leg in cable.legs:
            taken.update((end.unit, end.port) for end in (leg.first, leg.second) if end)
    for wire in solved.links.wires:
        for end in (wire.source, wire.sink):
            at.setdefault(end.unit, []).append((end, wire))
    for name, ends in at.items():
        unit = rig.units[name]
        for (first, one), (second, other) in combinations(ends, 2):
            if _fits(unit, first.port, second.port) and one.leg.id != other.leg.id:
                swapped = {
                    one.leg.id: _with_end(one, first, second),
                    other.leg.id: _with_end(other, second, first),
                }
                yield Fault(
                    "plug",
                    (name, first.port, second.port, one.leg.id, other.leg.id),
                    frozenset({name, one.leg.id, other.leg.id}),
                    _plugging(wiring, unit, first.port, second.port, swapped),
                )
        ports = list(unit.model.ports)
        for end, wire in ends:
            row = [port for port in ports if _fits(unit, end.port, port)]
            place = row.index(end.port)
            for beside in (place - 1, place + 1):
                if 0 <= beside < len(row) and (name, row[beside]) not in taken:
                    moved = {wire.leg.id: _with_end(wire, end, end._replace(port=row[beside]))}
                    yield Fault(
                        "plug",
                        (name, end.port, row[beside], wire.leg.id, ""),
                        frozenset({name, wire.leg.id}),
                        _plugging(wiring, unit, end.port, row[beside], moved),
                    )


def _plugging(
    wiring: _Wiring, unit: Unit, port: str, other: str, leads: Mapping[str, Wire]
) -> Callable[[], Change]:
    """The change by leads that are plugged elsewhere; none between sockets of one rail that carry power alone."""
    rails, signal = unit.model.power.rails, wiring.rig.signals[unit.model.ports[port].signal]
    if signal.kind == "power" and port in rails and rails[port] == rails.get(other):
        return Change
    return lambda: wiring.plugged(leads)


def _fits(unit: Unit, port: str, other: str) -> bool:
    """Whether the plug of one port goes into another as well."""
    first, second = unit.model.ports[port], unit.model.ports[other]
    return (first.direction, first.signal, first.connector) == (
        second.direction,
        second.signal,
        second.connector,
    )


def _with_end(wire: Wire, old: End, new: End) -> Wire:
    return wire._replace(source=new) if wire.source == old else wire._replace(sink=new)


# ---- binding, menus, mounting ---------------------------------------------------------------------------------


def _bindings(solved: Solved, wiring: _Wiring) -> Iterator[Fault]:
    """Two receivers bound crosswise, near each other in the file, and each one not bound."""
    receivers = [unit for unit in solved.rig.units.values() if handset_behind(solved.rig, unit)]
    for at, one in enumerate(receivers):
        others = (other for other in receivers[at + 1 :] if other.bound_to != one.bound_to)
        for other in islice(others, NEAR):
            crossed = {
                one.name: one._replace(bound_to=other.bound_to),
                other.name: other._replace(bound_to=one.bound_to),
            }
            yield Fault(
                "bind",
                (one.name, other.name),
                frozenset({one.name, other.name}),
                lambda crossed=crossed: wiring.bound(crossed),  # type: ignore[misc]
            )
    for unit in receivers:
        alone = {unit.name: unit._replace(bound_to=None)}
        yield Fault(
            "bind",
            (unit.name, ""),
            frozenset({unit.name}),
            lambda alone=alone: wiring.bound(alone),  # type: ignore[misc]
        )


def _menus(solved: Solved, bench: Bench, wiring: _Wiring) -> Iterator[Fault]:
    """A menu item at another stated choice or as delivered, an input turned, two inputs exchanged."""
    for unit in solved.rig.units.values():
        about = frozenset({unit.name})
        for name, value in unit.settings.items():
            known = unit.model.settings.get(name)
            others = [choice for choice in known.choices if choice != value.text] if known else []
            if known and not known.choices and known.default != value.text:
                others = [known.default]
            for choice in others:
                settings = {**unit.settings, name: Value(choice, value.span)}
                new = {unit.name: unit._replace(settings=settings)}
                yield Fault(
                    "menu",
                    (unit.name, name, choice),
                    about,
                    lambda new=new: Change(units=new),  # type: ignore[misc]
                )
        heard = [name for name in unit.sources if (unit.name, name) in bench.feeds]
        for name in heard:
            source = unit.sources[name]
            sources = {**unit.sources, name: source._replace(reversed=not source.reversed)}
            turned = {unit.name: unit._replace(sources=sources)}
            yield Fault(
                "menu",
                (unit.name, name, "", "turned"),
                about,
                lambda turned=turned: wiring.bound(turned),  # type: ignore[misc]
            )
        for one, other in combinations(heard, 2):
            first, second = unit.sources[one], unit.sources[other]
            if first.channel == second.channel:
                continue
            sources = {
                **unit.sources,
                one: first._replace(channel=second.channel),
                other: second._replace(channel=first.channel),
            }
            crossed = {unit.name: unit._replace(sources=sources)}
            yield Fault(
                "menu",
                (unit.name, one, other, "exchanged"),
                about,
                lambda crossed=crossed: wiring.bound(crossed),  # type: ignore[misc]
            )


def _mounts(solved: Solved, bench: Bench, wiring: _Wiring) -> Iterator[Fault]:
    """A head that stands where it should hang, or hangs where it should stand."""
    for unit in solved.rig.units.values():
        if unit.model.flips and unit.underslung is not None:
            over = {unit.name: unit._replace(underslung=not unit.underslung)}
            yield Fault(
                "mount",
                (unit.name,),
                frozenset({unit.name}),
                lambda over=over: wiring.bound(over),  # type: ignore[misc]
            )


# ---- dials ----------------------------------------------------------------------------------------------------


def _dialled(solved: Solved, bench: Bench) -> Iterator[Fault]:
    """Each value of a used channel left as in a blank memory, and each reversal set that should not be."""
    for unit in solved.rig.units.values():
        if unit.model.arithmetic is None:
            continue
        full = min(Fraction(100), unit.model.arithmetic.travel_high)
        blank = Travel(full, full)
        used = Counter(feed.channel for feed in solved.links.feeds_from(unit.name))
        sources = {mix.source for mix in unit.mixes if used[mix.target]}
        for channel in unit.channels.values():
            if not used[channel.name] and channel.name not in sources:
                continue
            key = unit.name, channel.name
            dial = bench.dials[key]
            dials: list[tuple[str, Dial]] = []
            if dial.travel != blank:
                dials.append(("travel", dial._replace(travel=blank)))
            if dial.subtrim:
                dials.append(("subtrim", dial._replace(subtrim=0)))
            if used[channel.name]:
                dials.append(("reverse", dial._replace(reversed=not dial.reversed)))
            for kind, value in dials:
                yield _dial_fault(kind, key, {key: value})
            if used[channel.name]:
                yield from _channel_faults(unit, channel)
        yield from _mix_faults(unit, used)


def _dial_fault(kind: str, key: tuple[str, str], dials: Mapping[tuple[str, str], Dial]) -> Fault:
    return Fault(kind, key, frozenset({key[0]}), lambda: Change(dials=dials))


def _channel_faults(unit: Unit, channel: Channel) -> Iterator[Fault]:
    """A failsafe, a rate, an expo and a slow that were forgotten."""
    if channel.failsafe not in ("hold", None):  # nobody set it: a hold (common practice, no source)
        yield _unit_fault("failsafe", unit, channel.name, channel._replace(failsafe="hold"))
    shape = channel.shape
    blanks = {
        "rate": shape._replace(rate=BLANK.rate),
        "expo": shape._replace(expo=BLANK.expo),
        "slow": shape._replace(slow=BLANK.slow),
        "switched": shape._replace(switched=()),
    }
    for what, new in blanks.items():
        if new != shape:
            yield _unit_fault("shape", unit, channel.name, channel._replace(shape=new), what)


def _unit_fault(kind: str, unit: Unit, name: str, channel: Channel, *more: str) -> Fault:
    new = {unit.name: unit._replace(channels={**unit.channels, name: channel})}
    return Fault(kind, (unit.name, name, *more), frozenset({unit.name}), lambda: Change(units=new))


def _mix_faults(unit: Unit, used: Mapping[str, int]) -> Iterator[Fault]:
    """A mix that is off, and one that is always on instead of with its switch."""
    for at, mix in enumerate(unit.mixes):
        if not used[mix.target]:
            continue
        without = unit._replace(mixes=(*unit.mixes[:at], *unit.mixes[at + 1 :]))
        yield _mix_fault(unit.name, mix.target, mix.source, "off", without)
        if mix.while_control:
            always = mix._replace(while_control=None, while_position=None)
            new = unit._replace(mixes=(*unit.mixes[:at], always, *unit.mixes[at + 1 :]))
            yield _mix_fault(unit.name, mix.target, mix.source, "always", new)


def _mix_fault(handset: str, target: str, source: str, what: str, new: Unit) -> Fault:
    return Fault(
        "mix", (handset, target, source, what), frozenset({handset}), lambda: Change(units={handset: new})
    )
