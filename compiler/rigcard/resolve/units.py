"""Resolves units: applies their models, types channels and mixes, and binds names of other units."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from rigcard.diagnostics import Diagnostics, Related
from rigcard.reporting.suggest import one_of
from rigcard.resolve import ceilings, codes, words
from rigcard.resolve.measures import turn
from rigcard.resolve.model import (
    UNKNOWN,
    Aim,
    Arithmetic,
    Ask,
    Channel,
    Input,
    InputSource,
    Mix,
    Model,
    Position,
    Rate,
    Shape,
    Switched,
    Travel,
    Unit,
    Value,
)
from rigcard.resolve.readings import form
from rigcard.resolve.scope import (
    Block,
    duration,
    keyword,
    lookup,
    once,
    place_of,
    plain,
    show,
    span_of,
    whole,
    word,
)
from rigcard.resolve.signals import MOST_CHANNELS
from rigcard.source import Span
from rigcard.syntax import tree
from rigcard.words import listed

MOST_MEMORIES = 999
LONGEST_SLOW = 60  # s from end to end (common practice, no source)
UNKNOWN_WORDS = {  # by `words.LEARNABLE`
    "pulse": "its pulse",
    "step": "the size of a sub-trim step",
    "shifts": "what sub-trim shifts",
    "reverse": "where reversal acts",
    "mix": "where a mix stands",
    "output": "where it cuts levels off",
}
ONLY_FOR: dict[type[object], str] = {
    tree.Held: "handset",
    tree.Memory: "handset",
    tree.Channel: "handset",
    tree.Mix: "handset",
    tree.Leave: "handset",
    tree.Bound: "receiver",
}


def is_open(model: Model) -> bool:
    """Whether a model leaves something unknown, so that no unit may have it yet."""
    return bool(model.asks or (model.bench and model.bench.left))


def unknown_left(model: Model) -> tuple[str, str]:
    """What a model leaves unknown, and the reading to take; for a message."""
    if model.bench and model.bench.left:
        what = [UNKNOWN_WORDS[name] for name in model.bench.left]
        forms = [form(one) for one in model.bench.asks]
    else:
        what = list(dict.fromkeys(_asked(ask) for ask in model.asks))
        forms = [ask.form for ask in model.asks]
    cause = f"the model `{model.name}` leaves unknown {listed(what)}"
    if not forms:
        return cause, "find out what the handset does, and state it in the model"
    more = f"; `rigcard bench` prints the card of all {len(forms)} readings" if len(forms) > 1 else ""
    place = "" if model.bench or model.asks[0].kind == "loss" else " its input in"
    return cause, f"measure, and add `{forms[0]}` to{place} the model{more}"


def report_unknown(models: Iterable[Model], diagnostics: Diagnostics) -> None:
    """Report each model that leaves something unknown; no rig can use it yet."""
    for known in models:
        if is_open(known):
            diagnostics.report(codes.UNKNOWN_IN_STOCK, known.span, *unknown_left(known))


def _asked(ask: Ask) -> str:
    """What a reading is for."""
    if ask.kind == "loss":
        return "when it gives its failsafe levels"
    return (
        f"how fast `{ask.title}` turns"
        if ask.kind == "turn"
        else f"where `{ask.state}` of `{ask.title}` begins"
    )


def unit(
    statement: tree.Unit,
    models: dict[str, Model],
    crew: dict[str, str],
    names: dict[str, tree.Unit],
    diagnostics: Diagnostics,
) -> Unit | None:
    """A unit from its statement; `names` holds all units as written, to resolve references to them."""
    model = lookup(statement.model, models, "model", diagnostics)
    if model is None:
        return None
    if is_open(model):
        cause, hint = unknown_left(model)
        diagnostics.report(
            codes.UNKNOWN_LEFT, statement.model.span, cause, hint, Related(model.span, "the model")
        )
        return None
    block = Block(_allowed(statement, model, diagnostics), statement.name, diagnostics)
    held = block.one(tree.Held)
    memory = block.one(tree.Memory)
    bound = block.one(tree.Bound)
    mount = block.one(tree.Mount)
    mounted = block.one(tree.Mounted)
    channels = _channels(block, model, diagnostics)
    return Unit(
        name=statement.name.text,
        title=statement.title.text,
        model=model,
        asset=block.text(tree.Asset),
        serial=block.text(tree.Serial),
        software=block.text(tree.Software),
        case=block.text(tree.Case),
        packs=_packs(block, model, diagnostics),
        owner=block.text(tree.Owner),
        value=_worth(block, diagnostics),
        short=block.text(tree.Short),
        held_by=held.role.text
        if held and lookup(held.role, crew, "crew role", diagnostics, _new_role(held.role.text))
        else None,
        memory=(whole(memory.number, 0, MOST_MEMORIES, "memory number", diagnostics), memory.name.text)
        if memory
        else None,
        channels=channels,
        mixes=_mixes(
            block,
            model,
            {item.name.text: channels.get(item.name.text) for item in block.all(tree.Channel)},
            diagnostics,
        ),
        bound_to=bound.handset.text if bound and lookup(bound.handset, names, "unit", diagnostics) else None,
        underslung=(word(mount.name, words.MOUNTS, "way to mount a head", diagnostics) == "underslung")
        if mount
        else None,
        mounted_on=mounted.carrier.text
        if mounted and lookup(mounted.carrier, names, "unit", diagnostics)
        else None,
        sources=_sources(block, model, models, diagnostics),
        unused=tuple(
            name.text
            for item in block.all(tree.Unused)
            for name in item.names.names
            if lookup(name, model.inputs, f"input of `{model.name}`", diagnostics)
        ),
        leave=tuple(
            name.text
            for item in block.all(tree.Leave)
            for name in item.names.names
            if lookup(name, model.controls, f"control of `{model.name}`", diagnostics)
        ),
        settings=_settings(block, model, models, diagnostics),
        notes=tuple(item.text.text for item in block.all(tree.Note)),
        swap=_swap(block),
        obeys=_obeys(block, model, diagnostics),
        spare_for=statement.spare.unit.text
        if statement.spare and lookup(statement.spare.unit, names, "unit", diagnostics)
        else None,
        span=statement.name.span,
    )


def _obeys(block: Block, model: Model, diagnostics: Diagnostics) -> tuple[str, ...] | None:
    """The commands of the model that this unit obeys; None if the file does not say."""
    stated = block.all(tree.Obeys)
    names = [
        name.text
        for item in stated
        for name in item.names.names
        if lookup(name, model.commands, f"command of `{model.name}`", diagnostics)
    ]
    return tuple(dict.fromkeys(names)) if stated else None


def _swap(block: Block) -> str:
    """The stated `swap`; by default `exact` for a unit with an asset or serial number, else `same-type`."""
    swap = block.one(tree.Swap)
    if swap:
        return swap.word.text
    return "exact" if block.text(tree.Asset) or block.text(tree.Serial) else "same-type"


def _packs(block: Block, model: Model, diagnostics: Diagnostics) -> tuple[str, ...]:
    """The numbers of the packs of a unit, each one once."""
    stated = block.one(tree.Packs)
    if stated is None:
        return ()
    if model.role not in ("pack", UNKNOWN) and model.power.capacity is None:
        diagnostics.report(
            codes.MISPLACED_STATEMENT,
            place_of(stated),
            f"`{block.owner.text}` has no packs: its model `{model.name}` states no `capacity`",
            f"take `packs` off, or write what a pack holds in model `{model.name}`, such as `capacity 98Wh`",
        )
    taken: dict[str, Span] = {}
    return tuple(
        number.text
        for number in stated.numbers
        if once(
            tree.Name(number.text, number.span),
            taken,
            "pack",
            diagnostics,
            "read the number on each pack again",
        )
    )


def _worth(block: Block, diagnostics: Diagnostics) -> int | None:
    """The value of a unit, in whole units of currency."""
    stated = block.one(tree.Value)
    if stated is None:
        return None
    return whole(stated.number, 0, 10**9 - 1, "value", diagnostics)


def _allowed(statement: tree.Unit, model: Model, diagnostics: Diagnostics) -> list[object]:
    """The statements of a unit's block; reports and leaves out those that belong to another role."""
    allowed = []
    for item in statement.items:
        role = ONLY_FOR.get(type(item), model.role)
        if role == model.role:
            allowed.append(item)
        elif model.role != UNKNOWN:
            word = keyword(type(item))
            hint = f"move it to the block of the {role}"
            if isinstance(item, tree.Bound) and model.role == "handset":
                hint = f"write `bound to {statement.name.text}` in the block of the receiver"
            diagnostics.report(
                codes.MISPLACED_STATEMENT,
                place_of(item),
                f"`{statement.name.text}` is {words.a_role(model.role)}, and `{word}` is for a {role}",
                hint,
            )
    return allowed


def _new_role(name: str) -> str:
    return f'add `crew {name} "..."` to the rig block'


def _channels(block: Block, model: Model, diagnostics: Diagnostics) -> dict[str, Channel]:
    channels: dict[str, Channel] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Channel):
        control = lookup(item.control, model.controls, f"control of `{model.name}`", diagnostics)
        if once(item.name, taken, "channel", diagnostics) and control and model.arithmetic:
            number = whole(item.number, 1, MOST_CHANNELS, "channel number", diagnostics)
            options = Block(item.options, item.name, diagnostics)
            aims = options.one(tree.Aims)
            travel, subtrim, turned = _dialled(options, model.arithmetic, diagnostics)
            channels[item.name.text] = Channel(
                number=number,
                name=item.name.text,
                control=control.name,
                travel=travel,
                subtrim=subtrim,
                reversed=turned,
                failsafe=_failsafe(options, model.arithmetic, diagnostics),
                shape=_shape(options, model, diagnostics),
                aims=tuple(
                    Aim(position, _aimed(aim.level, model.arithmetic), aim.position.span)
                    for aim in (aims.aims if aims else ())
                    if (
                        position := lookup(
                            aim.position,
                            {known.name: known for known in control.positions},
                            f"position of `{control.name}`",
                            diagnostics,
                        )
                    )
                ),
                span=item.name.span,
            )
    return channels


def _aimed(level: tree.Number, arithmetic: Arithmetic) -> Fraction:
    """A level in per cent, even if the file names a pulse: only the pulse is the same on another handset."""
    return arithmetic.pulse.level(level.value) if level.unit == "us" else level.value


def _dialled(
    options: Block, arithmetic: Arithmetic, diagnostics: Diagnostics
) -> tuple[Travel | None, int | None, bool | None]:
    """The stated travel, sub-trim and reversal, None for `auto`; unstated values stay as in a blank memory."""
    travel = options.one(tree.Travel)
    travel_auto = options.one(tree.TravelAuto)
    subtrim = options.one(tree.Subtrim)
    subtrim_auto = options.one(tree.SubtrimAuto)
    stated = options.one(tree.Reversed)
    reverse_auto = options.one(tree.ReverseAuto)
    for first, second in ((travel, travel_auto), (subtrim, subtrim_auto), (stated, reverse_auto)):
        if first and second:
            diagnostics.report(
                codes.STATED_AND_AUTO,
                span_of(second),
                "the value is both stated and left to the compiler",
                "keep the value or `auto`",
            )
    full = min(Fraction(100), arithmetic.travel_high)
    sides = Travel(full, full)
    if travel:
        for side in (travel.low, travel.high):
            _check_travel(side, arithmetic, diagnostics)
        sides = Travel(travel.low.value, travel.high.value)
    steps = int(subtrim.steps.value) if subtrim else 0
    if subtrim and not arithmetic.subtrim_low <= steps <= arithmetic.subtrim_high:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            subtrim.steps.span,
            f"the handset's sub-trim goes from {arithmetic.subtrim_low} to {arithmetic.subtrim_high} steps",
            "write a value in that range",
        )
    return (
        None if travel_auto else sides,
        None if subtrim_auto else steps,
        None if reverse_auto else stated is not None,
    )


def _check_travel(side: tree.Number, arithmetic: Arithmetic, diagnostics: Diagnostics) -> None:
    low, high, step = arithmetic.travel_low, arithmetic.travel_high, arithmetic.travel_step
    if not low <= side.value <= high:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            side.span,
            f"travel {show(side)} is beyond what the handset takes, {plain(low)}% to {plain(high)}%",
            f"write {plain(-side.value)}%: travel has no sign"
            if low <= -side.value <= high
            else "write a value in that range",
        )
    elif (side.value - low) % step:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            side.span,
            f"the handset sets travel in steps of {plain(step)}%, and {show(side)} lies between two",
            "write a value on a step",
        )


def _failsafe(options: Block, arithmetic: Arithmetic, diagnostics: Diagnostics) -> Fraction | str | None:
    stated = options.one(tree.Failsafe)
    if stated is None:
        return None
    if isinstance(stated.value, tree.Name):
        return stated.value.text
    low, high = arithmetic.output_low, arithmetic.output_high
    if not low <= stated.value.value <= high:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            stated.value.span,
            f"failsafe {show(stated.value)} is beyond what the handset puts out, {plain(low)}% to {plain(high)}%",
            "write a value in that range",
        )
    return stated.value.value


def _shape(options: Block, model: Model, diagnostics: Diagnostics) -> Shape:
    """Rate, expo and slow; reports a function that the handset does not have."""
    slow = options.one(tree.Slow)
    numbers = [("slow", slow.time)] if slow else []
    plain: dict[str, tree.Number] = {}
    switched: list[Switched] = []
    taken: dict[tuple[str, str, str], Span] = {}
    stated = [
        *((item.percent, item.expo, item.during) for item in options.all(tree.ChannelRate)),
        *((None, item.percent, item.during) for item in options.all(tree.Expo)),
    ]
    for rate, expo, condition in stated:
        during = _during(condition, model, diagnostics) if condition else None
        said = {name: number for name, number in (("rate", rate), ("expo", expo)) if number}
        for name, number in said.items():
            numbers.append((name, number))
            key = (name, *((during[0], during[1].name) if during else ("", "")))
            if key in taken and (during or not condition):
                diagnostics.report(
                    codes.DOUBLED_STATEMENT,
                    number.span,
                    f"`{name}` is given twice for `{options.owner.text}`"
                    + (" while the same control stands at the same position" if during else ""),
                    "keep one of the two, or say while which control stands where",
                    Related(taken[key], "first given here"),
                )
            taken.setdefault(key, number.span)
        if not condition:
            plain = {**said, **plain}
        elif during:
            switched.append(
                Switched(*during, *(said[name].value if name in said else None for name in ("rate", "expo")))
            )
    for name, number in numbers:
        if name not in model.has:
            diagnostics.report(
                codes.OUT_OF_RANGE,
                number.span,
                f"`{model.name}` has no {name}",
                f"take `{name}` off the channel, or write `has {name}` in the model if the handset has it",
            )
        elif name == "rate" and not 0 <= number.value <= 200:
            diagnostics.report(
                codes.OUT_OF_RANGE, number.span, f"{show(number)} is no rate", "write `rate 70%`"
            )
        elif name == "expo" and not -100 <= number.value <= 100:
            diagnostics.report(
                codes.OUT_OF_RANGE, number.span, f"{show(number)} is no expo", "write `expo 30%`"
            )
    return Shape(
        rate=plain["rate"].value if "rate" in plain else Fraction(100),
        expo=plain["expo"].value if "expo" in plain else Fraction(0),
        slow=duration(slow.time, LONGEST_SLOW, "slow of a channel", diagnostics) if slow else Fraction(0),
        switched=tuple(switched),
    )


def _during(item: tree.During, model: Model, diagnostics: Diagnostics) -> tuple[str, Position] | None:
    """The position of another control; reports an unknown name and returns None."""
    control = lookup(item.control, model.controls, f"control of `{model.name}`", diagnostics)
    known = {position.name: position for position in control.positions} if control else {}
    position = lookup(item.position, known, f"position of `{control.name}`", diagnostics) if control else None
    return (control.name, position) if control and position else None


def _mixes(
    block: Block, model: Model, channels: Mapping[str, Channel | None], diagnostics: Diagnostics
) -> tuple[Mix, ...]:
    mixes = []
    stated = block.all(tree.Mix)
    if stated and model.arithmetic and not model.arithmetic.mix:
        diagnostics.report(
            codes.MISSING_STATEMENT,
            stated[0].source.span,
            f"`{model.name}` does not say where a mix comes in, so it counts as a handset without mixes",
            "write `mix before travel` or `mix after travel` in the model, as the handset does it, or take the mix off",
            Related(model.span, "the model"),
        )
        return ()
    for item in stated:
        source = lookup(item.source, channels, f"channel of `{block.owner.text}`", diagnostics)
        target = lookup(item.target, channels, f"channel of `{block.owner.text}`", diagnostics)
        if source and source is target:
            diagnostics.report(
                codes.OUT_OF_RANGE,
                item.target.span,
                "the channel is mixed into itself",
                "name another channel",
            )
        during = _during(item.during, model, diagnostics) if item.during else None
        rate = None
        if isinstance(item.rate, tree.Rate):
            for number in (item.rate.low, item.rate.high):
                if number and not -200 <= number.value <= 200:
                    diagnostics.report(
                        codes.OUT_OF_RANGE, number.span, f"{show(number)} is no mix rate", "write `at 50%`"
                    )
            rate = Rate(item.rate.low.value, (item.rate.high or item.rate.low).value)
        if source and target and (item.during is None or during):
            mixes.append(
                Mix(
                    source=source.name,
                    target=target.name,
                    rate=rate,
                    while_control=during[0] if during else None,
                    while_position=during[1] if during else None,
                    span=item.source.span,
                )
            )
    ceilings.mixes(block.owner.text, mixes, diagnostics)
    return tuple(mixes)


def _elsewhere(name: str, what: str, models: Mapping[str, Model]) -> str:
    """The remedy for what this model has none of: the unit of a model that has one of that name."""
    others = [model.name for model in models.values() if name in getattr(model, f"{what}s")]
    if others:
        return f"move it to the block of the unit that is {one_of(others)}"
    return f"take it off; this model has no {what}s"


def _sources(
    block: Block, model: Model, models: Mapping[str, Model], diagnostics: Diagnostics
) -> dict[str, InputSource]:
    sources: dict[str, InputSource] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Source):
        known = lookup(
            item.input,
            model.inputs,
            f"input of `{model.name}`",
            diagnostics,
            _elsewhere(item.input.text, "input", models),
        )
        if known and once(item.input, taken, "input", diagnostics, "keep one of the two"):
            sources[known.name] = _source(item, known, diagnostics)
    return sources


def _source(item: tree.Source, known: Input, diagnostics: Diagnostics) -> InputSource:
    """The channel that an input follows, and the menu settings of its sweep."""
    options = Block(item.options, item.input, diagnostics)
    dead, full, clear = options.one(tree.DeadBand), options.one(tree.Full), options.one(tree.Clear)
    given = next((option for option in (dead, full, clear) if option), None)
    if given and known.sweep is None:
        diagnostics.report(
            codes.MISPLACED_STATEMENT,
            place_of(given),
            f"`{known.name}` reads bands, and `{keyword(type(given))}` is for an input that sweeps",
            "take it off, or let the input of the model sweep",
        )
    return InputSource(
        channel=item.channel.text,
        reversed=options.one(tree.Reversed) is not None,
        dead=dead.percent.value if dead else None,
        full=turn(full.turn) if full else None,
        clear=clear.turn.value if clear else None,
        span=item.channel.span,
    )


def _settings(
    block: Block, model: Model, models: Mapping[str, Model], diagnostics: Diagnostics
) -> dict[str, Value]:
    settings: dict[str, Value] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Set):
        known = lookup(
            item.setting,
            model.settings,
            f"setting of `{model.name}`",
            diagnostics,
            _elsewhere(item.setting.text, "setting", models),
        )
        if known and once(item.setting, taken, "setting", diagnostics, "keep one of the two"):
            settings[known.name] = Value(item.value.text, item.value.span)
    return settings
