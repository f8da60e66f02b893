"""Indexes every name in a rig's files: its declaration, its uses, and which names are the same.

It is built from the statements as written, so that it exists even while a file is faulty. A name is identified
by its kind, its owner (the model of a port, the unit of a channel, "" for the whole rig) and its text.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from rigcard.server.places import holds
from rigcard.source import Span
from rigcard.syntax import tree


class Key(NamedTuple):
    """The identity of a name. `scope` is the owner: a model, `model.control`, `model.input`, a unit, or ""."""

    kind: str
    scope: str
    name: str


class Occurrence(NamedTuple):
    """A name in a file. It has several keys if it stands for all of them, like a state that two inputs have.

    `unit` is the unit meant if the name belongs to a model; "" if it may be any unit of the model.
    """

    keys: tuple[Key, ...]
    span: Span
    declares: bool
    unit: str


class Claim(NamedTuple):
    """An `expect` or `measured`: its span, and the position that it begins with."""

    span: Span
    position: Occurrence


class Index:
    """The names in all statements of a rig; the sources of its spans are named by path."""

    def __init__(self, statements: Iterable[object]) -> None:
        self.models: dict[str, tree.Model] = {}
        self.units: dict[str, tree.Unit] = {}
        self.claims: list[Claim] = []
        self._found: list[Occurrence] = []
        self._leader: dict[Key, Key] = {}
        self._declared: dict[Key, list[Occurrence]] = {}
        _Reader(self, tuple(statements)).read()
        self._places: dict[str, list[Occurrence]] = {}
        self._groups: dict[Key, list[Occurrence]] = {}
        for found in self._found:
            self._places.setdefault(found.span.source.name, []).append(found)
            self._groups.setdefault(self._lead(found.keys[0]), []).append(found)
        for places in self._places.values():
            places.sort(key=lambda found: found.span.start)

    def add(self, found: Occurrence) -> None:
        """Add an occurrence."""
        self._found.append(found)
        for key in found.keys:
            self.join(found.keys[0], key)
            if found.declares:
                self._declared.setdefault(key, []).append(found)

    def join(self, first: Key, second: Key) -> None:
        """Make two names the same: a change of one must change the other."""
        self._leader[self._lead(second)] = self._lead(first)

    def _lead(self, key: Key) -> Key:
        while (leader := self._leader.get(key, key)) != key:
            key = leader
        return key

    def at(self, path: str, offset: int) -> Occurrence | None:
        """Return the name that a cursor touches; between two names, the one that begins there."""
        places = self._places.get(path, [])
        at = bisect_right(places, offset, key=lambda found: found.span.start)
        near = places[at - 1] if at and holds(places[at - 1].span, offset) else None
        while (
            near and at and places[at - 1].span.start == near.span.start
        ):  # a row of ports declares several names at one place
            at -= 1
            near = places[at]
        return near

    def of(self, path: str) -> list[Occurrence]:
        """Return every name in a file, in order."""
        return self._places.get(path, [])

    def same(self, key: Key) -> list[Occurrence]:
        """Return every occurrence of a name and of the names joined to it."""
        return self._groups.get(self._lead(key), [])

    def declarations(self, found: Occurrence) -> list[Occurrence]:
        """Return the declarations of the name itself."""
        own = [place for key in found.keys for place in self._declared.get(key, [])]
        return own or [place for place in self.same(found.keys[0]) if place.declares]

    def known(self, kind: str, scope: str = "") -> dict[str, Occurrence]:
        """Return the declared names of a kind that belong to one owner."""
        return {
            key.name: places[0]
            for key, places in self._declared.items()
            if key.kind == kind and key.scope == scope
        }

    def model_of(self, unit: str) -> str:
        """Return the name of a unit's model; "" if there is no such unit."""
        return self.units[unit].model.text if unit in self.units else ""


class _Reader:
    """Reads the statements by their class."""

    def __init__(self, index: Index, statements: tuple[object, ...]) -> None:
        self.index = index
        self.statements = statements
        self.commands: dict[str, list[str]] = {}  # the models that obey each command
        self.states: dict[str, dict[str, list[str]]] = {}  # for each model, its inputs and their states
        self.speakers: list[str] = []  # models that turn what they receive into commands
        self.handsets: dict[str, list[str]] = {}  # for each unit, the handsets that it may hear

    def read(self) -> None:
        for statement in self.statements:
            if isinstance(statement, tree.Model):
                self.index.models.setdefault(statement.name.text, statement)
                self._outline(statement)
            elif isinstance(statement, tree.Unit):
                self.index.units.setdefault(statement.name.text, statement)
        self._wire()
        for statement in self.statements:
            match statement:
                case tree.Rig():
                    self._rig(statement)
                case tree.Signal():
                    self._declare("signal", "", statement.name)
                case tree.Sheet():
                    self._declare("sheet", "", statement.name)
                case tree.Connector():
                    self._connector(statement)
                case tree.StockLengths():
                    self._use("signal", "", statement.signal)
                case tree.Link():
                    for end in (statement.sender, *statement.receivers.names):
                        self._use("unit", "", end)
                case tree.Independent():
                    for place in statement.inputs:
                        self._independent(place)
                case tree.Model():
                    self._model(statement)
                case tree.Unit():
                    self._unit(statement)
                case tree.Cable():
                    self._cable(statement)
                case tree.Expect():
                    self._given(statement.given)
                    self._then(statement.then)
                    handset = statement.given.parts[0].text
                    for stands in statement.conditions.conditions if statement.conditions else ():
                        whose = stands.handset.text if stands.handset else handset
                        if stands.handset:
                            self._use("unit", "", stands.handset)
                        self._stands(self.index.model_of(whose), stands.control, stands.position, whose)
                case tree.Harmless():
                    for place in statement.places:
                        self._given(place)
                case tree.Measured():
                    self._given(statement.given)
                    self._use("channel", statement.given.parts[0].text, statement.channel)
        self._join_orders()

    def _outline(self, model: tree.Model) -> None:
        """Record what names elsewhere in the rig need from a model before it is read."""
        inputs = self.states.setdefault(model.name.text, {})
        for item in model.items:
            if isinstance(item, tree.Input):
                inputs[item.name.text] = [name.text for name in _states(item)]
            elif isinstance(item, tree.Command):
                for name in item.names.names:
                    self.commands.setdefault(name.text, []).append(model.name.text)
            elif isinstance(item, tree.Port) and item.direction.text == "out":
                self.speakers.append(model.name.text)

    def _wire(self) -> None:
        """Find which handsets a unit can hear: those of the receivers at the other ends of its leads."""
        bound = {
            unit.name.text: item.handset.text
            for unit in self.index.units.values()
            for item in unit.items
            if isinstance(item, tree.Bound)
        }
        for cable in self.statements:
            for leg in cable.items if isinstance(cable, tree.Cable) else ():
                if isinstance(leg, tree.Leg) and leg.second:
                    ends = leg.first.unit.text, leg.second.unit.text
                    for here, there in (ends, ends[::-1]):
                        if there in bound:
                            self.handsets.setdefault(here, []).append(bound[there])

    # ---- what a name is ------------------------------------------------------------------------------------

    def _declare(self, kind: str, scope: str, name: tree.Name, unit: str = "") -> None:
        self.index.add(Occurrence((Key(kind, scope, name.text),), name.span, True, unit))

    def _use(self, kind: str, scope: str, name: tree.Name, unit: str = "") -> Occurrence:
        return self._use_any([Key(kind, scope, name.text)], name, unit)

    def _use_any(self, keys: list[Key], name: tree.Name, unit: str = "") -> Occurrence:
        found = Occurrence(tuple(keys), name.span, False, unit)
        self.index.add(found)
        return found

    # ---- blocks --------------------------------------------------------------------------------------------

    def _connector(self, connector: tree.Connector) -> None:
        self._declare("connector", "", connector.name)
        for option in connector.options:
            if isinstance(option, tree.Mates):
                self._use("connector", "", option.connector)

    def _independent(self, place: tree.Place) -> None:
        unit, *inputs = place.parts
        self._use("unit", "", unit)
        for name in inputs[:1]:
            self._use("input", self.index.model_of(unit.text), name, unit.text)

    def _rig(self, rig: tree.Rig) -> None:
        for item in rig.items:
            if isinstance(item, tree.Crew):
                for role in item.roles:
                    self._declare("role", "", role.name)
            elif isinstance(item, tree.LabelsOn) and isinstance(item.sheet, tree.Name):
                self._use("sheet", "", item.sheet)

    def _model(self, model: tree.Model) -> None:
        name = model.name.text
        self._declare("model", "", model.name)
        for item in model.items:
            match item:
                case tree.Lever() | tree.Switch():
                    self._declare("control", name, item.name)
                    for position in _positions(item):
                        self._declare("position", f"{name}.{item.name.text}", position)
                case tree.Port():
                    self._ports(name, item)
                case tree.Input():
                    self._input(name, item)
                case tree.Setting():
                    self._declare("setting", name, item.name)
                case tree.Command():
                    self._command(name, item)
                case tree.Shows():
                    self._moment(name, model, item.when)
                case tree.Offers():
                    for offered in item.names.names:
                        self._declare("offer", "", offered)
                case tree.Supplies() | tree.Takes() | tree.Draws():
                    self._ports_named(name, item.ports.names if item.ports else ())
                case tree.Passes() | tree.Regulates():
                    ends = item.names.names if isinstance(item.names, tree.PortList) else tuple(item.names)
                    self._ports_named(name, (item.source, *ends))
                case tree.Joins() | tree.Either():
                    led = item.led_to.names if item.led_to else None
                    ends = led.names if isinstance(led, tree.PortList) else tuple(led or ())
                    self._ports_named(name, (*item.inputs.names, *ends))
                case tree.Flips():
                    for flipped in item.names.names:
                        self._use("input", name, flipped)
                case tree.Reading():
                    for place in (item.given, *([item.source] if item.source else [])):
                        self._use("control", name, place.parts[0])
                        for position in place.parts[1:2]:
                            self._use("position", f"{name}.{place.parts[0].text}", position)

    def _ports_named(self, model: str, names: Iterable[tree.Name]) -> None:
        for name in names:
            self._use_any(self._port_keys(model, name.text), name)

    def _ports(self, model: str, port: tree.Port) -> None:
        self._use("signal", "", port.signal)
        self._needs(model, port.needs)
        if port.connector:
            self._use("connector", "", port.connector)
        if isinstance(port.names, tree.PortList):
            for name in port.names.names:
                self._declare("port", model, name)
            return
        first, last = port.names.first, port.names.last
        for text in names_of_row(first.text, last.text):
            span = last.span if text == last.text else first.span
            self._declare("row", model, tree.Name(text, span))

    def _input(self, model: str, item: tree.Input) -> None:
        scope = f"{model}.{item.name.text}"
        self._declare("input", model, item.name)
        if item.port:
            self._use_any(self._port_keys(model, item.port.text), item.port)
        self._ports_named(model, item.sends.ports.names if item.sends else ())
        self._needs(model, item.needs)
        for name in _states(item):
            self._declare("state", scope, name)
        for part in item.items:
            if isinstance(part, tree.Silence | tree.EdgeReading):
                self._use("state", scope, part.state)
            elif isinstance(part, tree.Band | tree.BandUnknown) and part.stills:
                for held in part.stills.inputs.names:
                    self._use("input", model, held)
            elif isinstance(part, tree.Sweep):
                for option in part.options:
                    if isinstance(option, tree.Scales):
                        self._use("input", model, option.input)

    def _command(self, model: str, item: tree.Command) -> None:
        for name in item.names.names:
            self._declare("command", model, name)
        self._needs(model, item.needs)
        if item.does:
            self._use("setting", model, item.does)

    def _moment(self, name: str, model: tree.Model, when: tree.Name) -> None:
        """When a device shows something: a command that it obeys, or a state of one of its inputs."""
        commands = {
            one.text for item in model.items if isinstance(item, tree.Command) for one in item.names.names
        }
        keys = [Key("command", name, when.text)] if when.text in commands else []
        for item in model.items:
            if isinstance(item, tree.Input) and any(
                isinstance(part, tree.Band) and part.name.text == when.text for part in item.items
            ):
                keys.append(Key("state", f"{name}.{item.name.text}", when.text))
        if keys:
            self._use_any(keys, when)

    def _needs(self, model: str, needs: tree.Needs | None) -> None:
        for need in needs.needs if needs else ():
            self._use(*(("setting", model) if need.value else ("offer", "")), need.name)

    def _unit(self, unit: tree.Unit) -> None:
        name, model = unit.name.text, unit.model.text
        self._declare("unit", "", unit.name)
        self._use("model", "", unit.model)
        if unit.spare:
            self._use("unit", "", unit.spare.unit)
        for item in unit.items:
            match item:
                case tree.Held():
                    self._use("role", "", item.role)
                case tree.Bound():
                    self._use("unit", "", item.handset)
                case tree.Mounted():
                    self._use("unit", "", item.carrier)
                case tree.Channel():
                    self._channel(name, model, item)
                case tree.Mix():
                    self._use("channel", name, item.source, name)
                    self._use("channel", name, item.target, name)
                    if item.during:
                        self._stands(model, item.during.control, item.during.position, name)
                case tree.Source():
                    self._use("input", model, item.input, name)
                    self._use_any(self._channels(name, item.channel.text), item.channel)
                case tree.Unused():
                    for unused in item.names.names:
                        self._use("input", model, unused, name)
                case tree.Leave():
                    for control in item.names.names:
                        self._use("control", model, control, name)
                case tree.Set():
                    self._use("setting", model, item.setting, name)
                case tree.Obeys():
                    for obeyed in item.names.names:
                        self._use("command", model, obeyed, name)

    def _channel(self, unit: str, model: str, item: tree.Channel) -> None:
        self._declare("channel", unit, item.name, unit)
        self._use("control", model, item.control, unit)
        for option in item.options:
            for aim in option.aims if isinstance(option, tree.Aims) else ():
                self._use("position", f"{model}.{item.control.text}", aim.position, unit)
            during = option.during if isinstance(option, tree.ChannelRate | tree.Expo) else None
            if during:
                self._stands(model, during.control, during.position, unit)

    def _stands(self, model: str, control: tree.Name, position: tree.Name, unit: str) -> None:
        """Read a control that stands at a position: `while speed toward`."""
        self._use("control", model, control, unit)
        self._use("position", f"{model}.{control.text}", position, unit)

    def _channels(self, unit: str, name: str) -> list[Key]:
        """Return the channels with a name that a unit can hear; without a cable yet, those of any handset."""
        having = [
            known.name.text
            for known in self.index.units.values()
            if any(isinstance(item, tree.Channel) and item.name.text == name for item in known.items)
        ]
        near = [handset for handset in dict.fromkeys(self.handsets.get(unit, ())) if handset in having]
        return [Key("channel", handset, name) for handset in near or having or [""]]

    def _cable(self, cable: tree.Cable) -> None:
        self._declare("cable", "", cable.name)
        for item in cable.items:
            if isinstance(item, tree.Rides):
                self._use("unit", "", item.carrier)
            elif isinstance(item, tree.Ends):
                self._use("connector", "", item.first)
                self._use("connector", "", item.second)
        for leg in cable.items:
            for plug in (leg.first, leg.second) if isinstance(leg, tree.Leg) else ():
                if plug:
                    unit = plug.unit.text
                    self._use("unit", "", plug.unit)
                    model = self.index.model_of(unit)
                    self._use_any(self._port_keys(model, plug.port.text), plug.port, unit)

    def _port_keys(self, model: str, port: str) -> list[Key]:
        for item in self.index.models[model].items if model in self.index.models else ():
            row = item.names if isinstance(item, tree.Port) else None
            if isinstance(row, tree.PortRange) and port in names_of_row(row.first.text, row.last.text):
                return [Key("row", model, port)]
        return [Key("port", model, port)]

    # ---- claims --------------------------------------------------------------------------------------------

    def _given(self, place: tree.Place) -> None:
        parts = place.parts
        unit, model = parts[0].text, self.index.model_of(parts[0].text)
        self._use("unit", "", parts[0])
        last = self._use("control", model, parts[1], unit)
        if len(parts) > 2:
            last = self._use("position", f"{model}.{parts[1].text}", parts[2], unit)
        span = Span(parts[0].span.source, parts[0].span.start, parts[-1].span.end)
        self.index.claims.append(Claim(span, last))

    def _then(self, place: tree.Place) -> None:
        parts = place.parts
        unit, model = parts[0].text, self.index.model_of(parts[0].text)
        self._use("unit", "", parts[0])
        inputs: Mapping[str, list[str]] = self.states.get(model, {})
        if len(parts) == 2:
            name = parts[1].text
            keys = [Key("command", model, name)] if model in self.commands.get(name, ()) else []
            keys += [Key("state", f"{model}.{known}", name) for known in inputs if name in inputs[known]]
            self._use_any(keys or [Key("state", model, name)], parts[1], unit)
        else:
            name, end = parts[1].text, parts[2].text
            keys = [Key("command", model, name)] if model in self.commands.get(name, ()) else []
            keys += [Key("input", model, name)] if name in inputs or not keys else []
            self._use_any(keys, parts[1], unit)
            owners = (
                [model] if name in inputs else [known for known in self.speakers if name in self.states[known]]
            )
            ends = [Key("state", f"{owner}.{name}", end) for owner in dict.fromkeys(owners)]
            self._use_any(ends or [Key("state", f"{model}.{name}", end)], parts[2], unit)

    def _join_orders(self) -> None:
        """Join commands to what a model makes of a level, by name.

        The name is that of a band, or of an input that sweeps.
        """
        for speaker in dict.fromkeys(self.speakers):
            for item in self.index.models[speaker].items:
                if not isinstance(item, tree.Input):
                    continue
                bands = [
                    part.name.text for part in item.items if isinstance(part, tree.Band | tree.BandUnknown)
                ]
                said = [Key("state", f"{speaker}.{item.name.text}", band) for band in bands]
                for key in said or [Key("input", speaker, item.name.text)]:
                    for model in self.commands.get(key.name, ()):
                        self.index.join(key, Key("command", model, key.name))


def _positions(control: tree.Lever | tree.Switch) -> list[tree.Name]:
    if isinstance(control, tree.Lever):
        return [control.first, control.last]
    return [part for part in control.parts if isinstance(part, tree.Name)]


def _states(item: tree.Input) -> list[tree.Name]:
    found = []
    for part in item.items:
        if isinstance(part, tree.Band | tree.BandUnknown):
            found.append(part.name)
        elif isinstance(part, tree.Sweep):
            found += [part.first, part.last]
    return found


def names_of_row(first: str, last: str) -> list[str]:
    """Return the ports of `p1..p8`; only the two ends if they form no row."""
    stem = first.rstrip("0123456789")
    low, high = first[len(stem) :], last[len(stem) :]
    if last.startswith(stem) and low.isdigit() and high.isdigit() and 0 <= int(high) - int(low) < 1000:
        return [f"{stem}{number}" for number in range(int(low), int(high) + 1)]
    return [first, last]
