"""Resolves the power statements of models, cables and the rig."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from rigcard.diagnostics import Diagnostics
from rigcard.resolve import codes, words
from rigcard.resolve.model import UNKNOWN, Port, Signal
from rigcard.resolve.ports import port_names
from rigcard.resolve.power_side import (
    COLD,
    ROOM,
    USABLE,
    CablePower,
    Capacity,
    Day,
    Draw,
    Gauge,
    Outlet,
    PowerSide,
    Supply,
    Window,
)
from rigcard.resolve.scope import Block, keyword, lookup, ordered, show, span_of, whole, word
from rigcard.syntax import tree

MOST_CELLS = 100
MOST_BAYS = 100
MOST_SPARES = 99
HOURS_OF_A_DAY = 24
COLDEST, HOTTEST = -60, 80  # C, on a day outdoors
SECTIONS = tuple(  # mm2 of flexible copper
    map(
        Fraction,
        [
            "0.14",
            "0.25",
            "0.34",
            "0.5",
            "0.75",
            "1",
            "1.5",
            "2.5",
            "4",
            "6",
            "10",
            "16",
            "25",
            "35",
            "50",
            "70",
            "95",
            "120",
        ],
    )
)
THICKEST, THINNEST = 0, 36  # AWG
NO_POWER = PowerSide(
    supply=None,
    outlets=(),
    windows=(),
    draws=(),
    capacity=None,
    chemistry="",
    cells=0,
    fuse=None,
    bays=0,
    charges_in=None,
    rails={},
    joined=(),
    gives=frozenset(),
    takes=frozenset(),
)
POWER_STATEMENTS = (
    tree.Supplies,
    tree.Passes,
    tree.Joins,
    tree.Either,
    tree.Regulates,
    tree.Takes,
    tree.Draws,
    tree.Capacity,
    tree.Chemistry,
    tree.Cells,
    tree.Fuse,
    tree.Bays,
    tree.Charges,
)


def power_side(
    block: Block, ports: dict[str, Port], signals: dict[str, Signal], diagnostics: Diagnostics
) -> PowerSide:
    """The power side of a model, from its block."""
    if not any(isinstance(item, POWER_STATEMENTS) for item in block.items):
        return NO_POWER
    outlets = _outlets(block, ports, signals, diagnostics)
    joined = _joined(block, ports, diagnostics)
    let_out = {port for outlet in outlets for port in outlet.ports}
    supply = _supply(block, _carrying(ports, signals, "out") - let_out, ports, diagnostics)
    inside = supply.ports if supply else ()
    sockets, carriers, pins = (
        tuple(name for name in ports if name in found - let_out)
        for found in (
            _of_kind(ports, signals, "in", ("power",)),
            _carrying(ports, signals, "in"),
            _of_kind(ports, signals, "in", ("servo",)),
        )
    )
    entry = sockets or carriers or pins
    windows = tuple(_windows(block, entry, ports, diagnostics))
    draws = tuple(_draws(block, inside or entry, ports, diagnostics))
    charger, bays = block.one(tree.Charges), block.one(tree.Bays)
    chemistry, cells, fuse = block.one(tree.Chemistry), block.one(tree.Cells), block.one(tree.Fuse)
    capacity = block.one(tree.Capacity)
    gives = frozenset({*let_out, *inside})
    groups = [window.ports for window in windows] + [draw.ports for draw in draws]
    groups += [outlet.either or (outlet.source,) for outlet in outlets] + list(joined)
    takes = frozenset(port for group in groups for port in group if port not in gives)
    _both_ways(outlets, windows, gives, diagnostics)
    return PowerSide(
        supply=supply,
        outlets=outlets,
        windows=windows,
        draws=draws,
        capacity=_capacity(capacity, diagnostics) if capacity else None,
        chemistry=(
            word(chemistry.name, words.CHEMISTRIES, "chemistry of a pack", diagnostics) if chemistry else None
        )
        or "",
        cells=whole(cells.number, 1, MOST_CELLS, "count of cells", diagnostics) if cells else 0,
        fuse=amperes(fuse.current, diagnostics) if fuse else None,
        bays=whole(bays.number, 1, MOST_BAYS, "count of bays", diagnostics) if bays else 0,
        charges_in=hours(charger.time) if charger else None,
        rails=_rails([inside, *groups], outlets),
        joined=joined,
        gives=gives,
        takes=takes,
    )


def _of_kind(
    ports: dict[str, Port], signals: dict[str, Signal], direction: str, kinds: tuple[str, ...]
) -> set[str]:
    """The ports with signals of given kinds or an unknown signal, so that only the signal is reported."""
    return {
        port.name
        for port in ports.values()
        if port.direction == direction
        and (port.signal not in signals or signals[port.signal].kind in (*kinds, UNKNOWN))
    }


def _carrying(ports: dict[str, Port], signals: dict[str, Signal], direction: str) -> set[str]:
    """The ports whose signal carries power, alone or beside something else."""
    return {
        port.name
        for port in ports.values()
        if port.direction == direction
        and (port.signal not in signals or signals[port.signal].powers or not signals[port.signal].kind)
    }


def _supply(block: Block, free: set[str], ports: dict[str, Port], diagnostics: Diagnostics) -> Supply | None:
    stated = block.one(tree.Supplies)
    if stated is None or (stated.high and not ordered(stated.low, stated.high, diagnostics)):
        return None
    named = _named(stated.ports, ports, block, diagnostics) or tuple(name for name in ports if name in free)
    if not named:
        diagnostics.report(
            codes.POWER_PORT,
            stated.low.span,
            f"`{block.owner.text}` supplies power, and has no port that it leaves by",
            "add a port such as `port out-1 out pack-power`, whose signal carries power",
        )
        return None
    _above_zero(stated.low, diagnostics)
    return Supply(
        stated.low.value,
        (stated.high or stated.low).value,
        amperes(stated.limit.current, diagnostics) if stated.limit else None,
        named,
        stated.low.span,
    )


def _named(
    names: tree.NameList | None, ports: dict[str, Port], block: Block, diagnostics: Diagnostics
) -> tuple[str, ...]:
    what = f"port of `{block.owner.text}`"
    return tuple(name.text for name in names.names if lookup(name, ports, what, diagnostics)) if names else ()


def _outlets(
    block: Block, ports: dict[str, Port], signals: dict[str, Signal], diagnostics: Diagnostics
) -> tuple[Outlet, ...]:
    found: list[Outlet] = []
    taken: dict[str, str] = {}  # by port, the input that feeds it
    for item in block.items:
        if not isinstance(item, tree.Passes | tree.Joins | tree.Either | tree.Regulates):
            continue
        what = f"port of `{block.owner.text}`"
        either = _several(item, block, ports, diagnostics) if isinstance(item, tree.Either) else ()
        inputs = item.inputs.names if isinstance(item, tree.Joins | tree.Either) else (item.source,)
        source = lookup(inputs[0], ports, what, diagnostics)
        several = item.led_to if isinstance(item, tree.Joins | tree.Either) else item
        if several is None:
            if item.limit:
                diagnostics.report(
                    codes.POWER_PORT,
                    item.limit.current.span,
                    f"`up to` limits what leaves `{block.owner.text}`, and no port is named that it leaves by",
                    "name it, as in `either in-1, in-2 to out-1 up to 5A`, or take `up to` off",
                )
            if source and either:
                found.append(_outlet(item, source.name, (), either, diagnostics))
            continue
        names = [
            name for name in port_names(several.names, diagnostics) if lookup(name, ports, what, diagnostics)
        ]
        leaves = "a signal" if source and _signal_only(source, signals) else "power"
        for name in names:
            if name.text in taken or name.text in [given.text for given in inputs]:
                diagnostics.report(
                    codes.POWER_PORT,
                    name.span,
                    f"{leaves} leaves by `{name.text}` twice"
                    if name.text in taken
                    else f"{leaves} comes in and leaves by `{name.text}`",
                    _one_way(
                        item,
                        name.text,
                        taken.get(name.text),
                        source is not None and _power_only(source, signals),
                    ),
                )
                source = None
            taken.setdefault(name.text, inputs[0].text)
        if source is None or not names or (isinstance(item, tree.Passes) and _signal_only(source, signals)):
            continue
        regulated = item if isinstance(item, tree.Regulates) else None
        if regulated and not 0 < regulated.efficiency.value <= 100:
            diagnostics.report(
                codes.OUT_OF_RANGE,
                regulated.efficiency.span,
                f"{show(regulated.efficiency)} is no efficiency",
                "write a part of the power that comes out, such as `efficiency 90%`",
            )
            continue
        if regulated and not regulated.volts.value:
            _above_zero(regulated.volts, diagnostics)
            continue
        if isinstance(item, tree.Either) and not either:
            continue
        found.append(_outlet(item, source.name, tuple(name.text for name in names), either, diagnostics))
    return tuple(found)


def _one_way(item: object, port: str, other: str | None, power: bool) -> str:
    """The remedy for a port by which power leaves twice: it may belong to a plate for two packs."""
    if power and isinstance(item, tree.Passes) and other and other != item.source.text:
        return (
            f"write one line in their place, `either {other}, {item.source.text} to {port}`; or `joins` for `either`, if "
            "both feed together"
        )
    return "keep one of the two"


def _outlet(
    item: tree.Passes | tree.Joins | tree.Either | tree.Regulates,
    source: str,
    ports: tuple[str, ...],
    either: tuple[str, ...],
    diagnostics: Diagnostics,
) -> Outlet:
    regulated = item if isinstance(item, tree.Regulates) else None
    return Outlet(
        source=source,
        ports=ports,
        volts=regulated.volts.value if regulated else None,
        efficiency=regulated.efficiency.value / 100 if regulated else None,
        steps_up=bool(regulated and regulated.steps_up),
        either=either,
        limit=amperes(item.limit.current, diagnostics) if item.limit else None,
        span=span_of(item),
    )


def _joined(block: Block, ports: dict[str, Port], diagnostics: Diagnostics) -> tuple[tuple[str, ...], ...]:
    found = [_several(item, block, ports, diagnostics) for item in block.all(tree.Joins)]
    return tuple(inputs for inputs in found if inputs)


def _several(
    item: tree.Joins | tree.Either, block: Block, ports: dict[str, Port], diagnostics: Diagnostics
) -> tuple[str, ...]:
    """The inputs of a statement that needs two or more; reports a single one."""
    names = item.inputs.names
    known = dict.fromkeys(
        name.text for name in names if lookup(name, ports, f"port of `{block.owner.text}`", diagnostics)
    )
    if len(dict.fromkeys(name.text for name in names)) > 1:
        return tuple(known) if len(known) > 1 else ()
    diagnostics.report(
        codes.POWER_PORT,
        names[0].span,
        f"`{keyword(type(item))}` names one input, `{names[0].text}`",
        f"name the two or more that power comes in by, or write `passes {names[0].text} to PORT`",
    )
    return ()


def _signal_only(source: Port, signals: dict[str, Signal]) -> bool:
    """Whether the passed signal has no supply core: commands or pictures, unless it also carries power."""
    known = signals.get(source.signal)
    return known is not None and known.kind in ("commands", "picture") and not known.powers


def _power_only(source: Port, signals: dict[str, Signal]) -> bool:
    """Whether a port carries nothing but power; two signals cannot leave by one port in turn."""
    known = signals.get(source.signal)
    return known is not None and known.kind == "power"


def _windows(
    block: Block, entry: tuple[str, ...], ports: dict[str, Port], diagnostics: Diagnostics
) -> Iterable[Window]:
    for item in block.all(tree.Takes):
        named = _named(item.ports, ports, block, diagnostics) or entry
        if not named and not item.ports:
            diagnostics.report(
                codes.POWER_PORT,
                item.low.span,
                f"`{block.owner.text}` takes power, and has no port that it comes in by",
                "add a port such as `port power in pack-power`, or write `on PORT`",
            )
        elif named and ordered(item.low, item.high, diagnostics):
            yield Window(item.low.value, item.high.value, named, item.low.span)


def _draws(
    block: Block, entry: tuple[str, ...], ports: dict[str, Port], diagnostics: Diagnostics
) -> Iterable[Draw]:
    for item in block.all(tree.Draws):
        peak = item.peak.load if item.peak else item.steady
        watts = item.steady.unit == "W"
        if (peak.unit == "W") != watts:
            diagnostics.report(
                codes.OUT_OF_RANGE,
                peak.span,
                "the load is given in amperes and in watts",
                "write both in amperes if the current stays, in watts if it rises as the pack falls",
            )
        elif base(peak) < base(item.steady):
            diagnostics.report(
                codes.OUT_OF_RANGE,
                peak.span,
                f"the peak {show(peak)} is less than the {show(item.steady)} that is drawn all the time",
                "write the larger of the two after `peak`",
            )
        else:
            named = _named(item.ports, ports, block, diagnostics) or entry
            yield Draw(base(item.steady), base(peak), watts, named, item.steady.span)


def _both_ways(
    outlets: Iterable[Outlet], windows: Iterable[Window], gives: frozenset[str], diagnostics: Diagnostics
) -> None:
    let_out = {port for outlet in outlets for port in outlet.ports}
    for window in windows:
        for port in window.ports:
            if port in gives and port in let_out:
                diagnostics.report(
                    codes.POWER_PORT,
                    window.span,
                    f"power comes in and leaves by `{port}`",
                    "name the port that it comes in by, such as `takes 5V..8V on PORT`",
                )


def _rails(groups: Iterable[tuple[str, ...]], outlets: Sequence[Outlet]) -> dict[str, str]:
    """For each port, the first port of its rail. The ports of one statement or one `passes` are joined.

    The inputs of a plate, which feed one at a time, are never joined.
    """
    apart = {port for outlet in outlets for port in outlet.either}
    rails: dict[str, str] = {}

    def join(names: tuple[str, ...]) -> None:
        known = [rails[name] for name in names if name in rails]
        first = known[0] if known else names[0]
        rails.update({name: first for name, rail in rails.items() if rail in known})
        rails.update(dict.fromkeys(names, first))

    for group in groups:
        for port in group:
            if port in apart:
                join((port,))
        if together := tuple(port for port in group if port not in apart):
            join(together)
    for outlet in outlets:
        if outlet.volts is not None or outlet.either:
            if outlet.ports:
                join(outlet.ports)
        else:
            join((outlet.source, *outlet.ports))
    return rails


def _capacity(stated: tree.Capacity, diagnostics: Diagnostics) -> Capacity:
    if isinstance(stated.holds, tree.Charge):
        charge, volts = stated.holds.charge, stated.holds.volts
        _above_zero(charge, diagnostics)
        _above_zero(volts, diagnostics)
        return Capacity(base(charge) * volts.value, volts.value, charge.span)
    _above_zero(stated.holds, diagnostics)
    return Capacity(stated.holds.value, None, stated.holds.span)


def _above_zero(number: tree.Number, diagnostics: Diagnostics) -> None:
    if not number.value:
        diagnostics.report(
            codes.OUT_OF_RANGE, number.span, f"{show(number)} is not above zero", "write what the plate says"
        )


def amperes(number: tree.Number, diagnostics: Diagnostics) -> Fraction:
    """A current in A; reports one that is not above zero."""
    _above_zero(number, diagnostics)
    return base(number)


def base(number: tree.Number) -> Fraction:
    """A current in A or a charge in Ah; any other number is returned unchanged."""
    return number.value / 1000 if number.unit in ("mA", "mAh") else number.value


def hours(number: tree.Number) -> Fraction:
    """A time in hours."""
    return number.value / 60 if number.unit == "min" else number.value


# ---- cables and the rig --------------------------------------------------------------------------------------


def cable_power(block: Block, diagnostics: Diagnostics) -> CablePower:
    """The power side of a cable, from its block."""
    wire, fuse, rated = block.one(tree.Wire), block.one(tree.Fuse), block.one(tree.Rated)
    return CablePower(
        _gauge(wire.size, diagnostics) if wire else None,
        amperes(fuse.current, diagnostics) if fuse else None,
        amperes(rated.current, diagnostics) if rated else None,
        frozenset(item.word.text for item in block.all(tree.Cut)),
    )


def _gauge(size: tree.Number, diagnostics: Diagnostics) -> Gauge | None:
    if size.unit == "AWG":
        number = whole(size, THICKEST, THINNEST, "size of wire", diagnostics)
        return Gauge("AWG", Fraction(number))
    if size.value not in SECTIONS:
        known = [f"{float(section):g}mm2" for section in SECTIONS]
        diagnostics.report(
            codes.WIRE_SIZE,
            size.span,
            f"flexible copper wire of {show(size)} is no standard size",
            f"write the size on its jacket: {', '.join(known[:-1])} or {known[-1]}",
        )
        return None
    return Gauge("mm2", size.value)


def day(block: Block, diagnostics: Diagnostics) -> Day:
    """The day as the rig block states it; values that it does not state are marked as assumed."""
    temperature, stated, night = block.one(tree.Temperature), block.one(tree.Day), block.one(tree.Night)
    usable, cold, spares = block.one(tree.Usable), block.one(tree.Cold), block.one(tree.SparePacks)
    known = temperature if temperature and ordered(temperature.low, temperature.high, diagnostics) else None
    if known and not COLDEST <= known.low.value < known.high.value <= HOTTEST:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            known.low.span,
            f"no crew works from {show(known.low)} to {show(known.high)}",
            f"write temperatures from {COLDEST}C to {HOTTEST}C",
        )
        known = None
    for time in (stated.time if stated else None, night.time if night else None):
        if time and hours(time) > HOURS_OF_A_DAY:
            diagnostics.report(
                codes.DAY_TOO_LONG,
                time.span,
                f"{show(time)} is more than the {HOURS_OF_A_DAY} hours of a day, and packs are counted for it",
                "write the hours from the first call to wrap, such as `10h`"
                if stated and time is stated.time
                else "write the hours from wrap to the first call, such as `10h`",
            )
    parts = {"temperature": known, "duty": stated.duty if stated else None, "usable": usable, "cold": cold}
    return Day(
        coldest=known.low.value if known else ROOM,
        hottest=known.high.value if known else ROOM,
        hours=hours(stated.time) if stated else None,
        duty=_part(stated.duty if stated else None, Fraction(100), diagnostics),
        night=hours(night.time) if night else None,
        usable=_part(usable.percent if usable else None, USABLE, diagnostics),
        cold=_part(cold.percent if cold else None, COLD, diagnostics),
        spares=whole(spares.number, 0, MOST_SPARES, "count of spare packs", diagnostics) if spares else 1,
        assumed=frozenset(name for name, part in {**parts, "spares": spares}.items() if part is None),
    )


def _part(percent: tree.Number | None, otherwise: Fraction, diagnostics: Diagnostics) -> Fraction:
    """A fraction, 0 to 1; reports a value outside."""
    if percent is None:
        return otherwise / 100
    if not 0 < percent.value <= 100:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            percent.span,
            f"{show(percent)} is no part of a whole",
            "write more than 0%, up to 100%",
        )
        return otherwise / 100
    return percent.value / 100
