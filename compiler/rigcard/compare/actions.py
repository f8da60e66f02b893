"""What there is to do from one revision to the next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigcard.compare.comparison import Action, Effect
from rigcard.compare.effects import changes
from rigcard.compare.facts import Cable, Facts, Unit

BALANCED = "head"  # the role of a device that is balanced with what it carries
LAID = ("needed", "moving", "airborne", "rides")  # of a cable: it goes another way
KEPT = ("title", "mass", "case", "mark", "spares")  # of a cable: the same lead does
MADE = tuple(field for field in Cable._fields if field not in (*LAID, *KEPT))  # another lead is needed


def is_swapped(was: Unit, now: Unit) -> bool:
    """Whether another piece stands there: another model, or another number where both are stated."""
    numbers = ((was.asset, now.asset), (was.serial, now.serial))
    return was.model != now.model or any(before and after and before != after for before, after in numbers)


def swapped_units(old: Facts, new: Facts) -> list[str]:
    """Return the units in whose place another piece stands."""
    return [name for name, now in new.units.items() if name in old.units and is_swapped(old.units[name], now)]


def actions_of(old: Facts, new: Facts, effects: Sequence[Effect]) -> tuple[Action, ...]:
    """Return what to do, in the order of the work: pieces, leads, mounting, menus, dials, then tests and labels."""
    swapped = swapped_units(old, new)
    work = [
        *_pieces(old, new, swapped),
        *_leads(old, new, swapped),
        *_mounting(old, new, swapped),
        *_balance(old, new, swapped),
        *_menus(old, new, swapped),
        *_binding(old, new, swapped),
        *_dials(old, new, swapped),
        *_stands(old, new),
    ]
    return (*work, *_tests(old, new, effects, work), *_labels(old, new), *_packing(old, new))


def _pieces(old: Facts, new: Facts, swapped: list[str]) -> list[Action]:
    found = [Action("swap", (name,), old.units[name], new.units[name]) for name in swapped]
    for more, before, after in (("", old.units, new.units), (" spare", old.spares, new.spares)):
        found += [
            Action(f"bring{more}", (name,), None, unit) for name, unit in after.items() if name not in before
        ]
        found += [
            Action(f"take out{more}", (name,), unit, None) for name, unit in before.items() if name not in after
        ]
    found += [
        Action("swap spare", (name,), was, now)
        for name, now in new.spares.items()
        if (was := old.spares.get(name)) and is_swapped(was, now)
    ]
    found += [
        Action("software", (name,), was.software, now.software)
        for name, now in new.units.items()
        if (was := old.units.get(name)) and name not in swapped and was.software != now.software
    ]
    return found


def _leads(old: Facts, new: Facts, swapped: list[str]) -> list[Action]:
    found = []
    for name, was, now in changes(old.cables, new.cables):
        if was and now and _differ(was, now, MADE):
            found.append(Action("lead", (name,), was, now))
        elif was and now and _differ(was, now, LAID):
            found.append(Action("lay", (name,), was, now))
    for leg, here, there in changes(old.legs, new.legs):
        kind = "plug" if there else "unplug"
        found.append(Action(kind, (leg,), here, there))
    for name in swapped:
        ends = tuple(
            leg
            for leg, now in new.legs.items()
            if old.legs.get(leg) == now and name in (_unit_of(now.first), _unit_of(now.second))
        )
        if ends:
            found.append(Action("plug again", (name, *ends), None, None))
    return found


def _unit_of(end: str) -> str:
    return end.partition(".")[0]


def _differ(was: Cable, now: Cable, fields: Iterable[str]) -> bool:
    return any(getattr(was, field) != getattr(now, field) for field in fields)


def _mounting(old: Facts, new: Facts, swapped: list[str]) -> list[Action]:
    found = []
    for name, now in new.units.items():
        was = old.units.get(name)
        moved = name in swapped or now.mounted_on in swapped  # it comes off with what it stands on
        before = (was.mounted_on, was.underslung) if was and not moved else None
        after = (now.mounted_on, now.underslung)
        if before != after and (before or any(part not in ("", None) for part in after)):
            found.append(Action("mount", (name,), before, after))
    return found


def _balance(old: Facts, new: Facts, swapped: list[str]) -> list[Action]:
    """Return the carriers to balance: heads, and what bears them, whose load is another one now."""
    touched = set(swapped)
    touched |= {name for name, was, now in changes(old.units, new.units) if _moved(was, now)}
    starts = {(side, name) for name in touched for side in (0, 1)}
    for _, was, now in changes(old.cables, new.cables):
        if was is None or now is None or (was.mass, was.rides) != (now.mass, now.rides):
            starts |= {(side, cable.rides) for side, cable in ((0, was), (1, now)) if cable and cable.rides}
    carriers: set[str] = set()
    for side, name in starts:
        carriers |= _bearing((old, new)[side], name, name in touched)
    return [Action("balance", (name,), None, None) for name in new.units if name in carriers]


def _moved(was: Unit | None, now: Unit | None) -> bool:
    if was is None or now is None:
        return True
    return (was.mass, was.mounted_on, was.underslung) != (now.mass, now.mounted_on, now.underslung)


def _bearing(facts: Facts, name: str, itself: bool) -> set[str]:
    """Return the heads below a unit and what bears everything; the unit itself counts if it is a head."""
    found: set[str] = set()
    seen: list[str] = []
    while name in facts.units and name not in seen:
        seen.append(name)
        unit = facts.units[name]
        if unit.role == BALANCED and (name in facts.loads or not itself):
            found.add(name)
        name = unit.mounted_on
    if len(seen) > 1 or not itself:
        found.update(seen[-1:])
    return found & facts.loads.keys()


def _menus(old: Facts, new: Facts, swapped: list[str]) -> list[Action]:
    """Return what to set: menus, keys assigned to functions, and inputs that a menu assigns to channels."""
    found = []
    for key, now in new.settings.items():
        was = old.settings.get(key) if key[0] not in swapped else None
        if was != now:
            found.append(Action("assign" if key in new.assigned else "set", key, was, now))
    found += [
        Action("unset", key, was, None)
        for key, was in old.settings.items()
        if key not in new.settings and key[0] in new.units and key[0] not in swapped
    ]
    for at, source in new.sources.items():
        before = old.sources.get(at) if at[0] not in swapped else None
        if before != source:
            found.append(Action("follow", at, before, source))
    found += [
        Action("unfollow", at, source, None)
        for at, source in old.sources.items()
        if at not in new.sources and at[0] in new.units and at[0] not in swapped
    ]
    return found


def _binding(old: Facts, new: Facts, swapped: list[str]) -> list[Action]:
    found = []
    for name, now in {**new.units, **new.spares}.items():
        was = old.units.get(name) or old.spares.get(name)
        if not now.bound_to:
            continue
        fresh = was is None or is_swapped(was, now) or now.bound_to in swapped
        if fresh or (was and was.bound_to != now.bound_to):
            found.append(
                Action("bind", (name, now.bound_to), None if fresh else was and was.bound_to, now.bound_to)
            )
    return found


def _dials(old: Facts, new: Facts, swapped: list[str]) -> list[Action]:
    """Return what to dial: all of a handset that is another one now, or that works from another memory."""
    found = []
    blank = set(swapped)
    for name, now in new.units.items():
        was = old.units.get(name) if name not in swapped else None
        if now.memory and (was is None or was.memory is None or was.memory[0] != now.memory[0]):
            found.append(Action("memory", (name,), was.memory if was else None, now.memory))
            blank.add(name)
        elif now.memory and was and was.memory != now.memory:
            found.append(Action("name", (name,), was.memory, now.memory))
    for key, dial in new.dials.items():
        before = old.dials.get(key) if key[0] not in blank else None
        if before != dial:
            found.append(Action("dial", key, before, dial))
    found += [
        Action("clear", key, dial, None)
        for key, dial in old.dials.items()
        if key not in new.dials and key[0] in new.units and key[0] not in blank
    ]
    return found


def _stands(old: Facts, new: Facts) -> list[Action]:
    return [Action("stand", key, was, now) for key, was, now in changes(old.stands, new.stands)]


# ---- tests -------------------------------------------------------------------------------------------------------


def _tests(old: Facts, new: Facts, effects: Sequence[Effect], work: Sequence[Action]) -> list[Action]:
    """Return the functions to test again: those that do something else, and those that need a part that changed."""
    touched = _touched(new, work)
    acting = {
        effect.about[:2]
        for effect in effects
        if effect.kind in ("done", "turned", "combined", "losses", "margins", "turns", "levels")
    }
    again = [
        function
        for function, needs in new.needs.items()
        if function in acting or needs & touched or needs != old.needs.get(function) or _fed(needs, touched)
    ]
    return [Action("test", tuple(".".join(function) for function in again), None, None)] if again else []


def _fed(needs: frozenset[tuple[str, ...]], touched: set[tuple[str, ...]]) -> bool:
    """Whether a lead that changed is among several that together bring power."""
    legs = {part[1] for part in touched if part[0] == "lead"}
    return any(part[0] in ("plus", "feed") and legs & set(part[1:]) for part in needs)


def _touched(new: Facts, work: Sequence[Action]) -> set[tuple[str, ...]]:
    """Return the parts that the work touches, as functions name those that they need."""
    found: set[tuple[str, ...]] = set()
    for action in work:
        about = action.about
        if (
            action.kind in ("swap", "bring", "software", "mount")
            or action.kind == "bind"
            or action.kind == "memory"
        ):
            found.add(("unit", about[0]))
        elif action.kind in ("lead", "lay"):
            found |= {("lead", leg) for leg in new.legs if leg.split(".")[0] == about[0]}
        elif action.kind == "plug":
            found.add(("lead", about[0]))
        elif action.kind in ("set", "assign", "unset"):
            found.add(("setting", *about))
        elif action.kind in ("dial", "clear"):
            found.add(("channel", *about))
    return found


# ---- labels and cases --------------------------------------------------------------------------------------------


def _labels(old: Facts, new: Facts) -> list[Action]:
    made = tuple(name for name, code in new.labels.items() if old.labels.get(name) != code and _sticks(name))
    off = tuple(name for name in old.labels if name not in new.labels and _sticks(name))
    found = [Action("label", made, None, None)] if made else []
    return [*found, *([Action("unlabel", off, None, None)] if off else [])]


def _sticks(name: str) -> bool:
    """Whether a label goes on a thing; blank and spare ones lie in a bag."""
    return not (name.startswith("blank ") or name.endswith(" spare"))


def _packing(old: Facts, new: Facts) -> list[Action]:
    was = {name: thing.case for name, thing in _things(old).items()}
    now = {name: thing.case for name, thing in _things(new).items()}
    found = [
        Action("pack", (name,), before, after)
        for name, before, after in changes(was, now)
        if before is None or after is None or before != after
    ]
    for name, run in new.runs.items():
        earlier = old.runs.get(name)
        counts = [(one.day, one.spares) if one else (None, 0) for one in (earlier, run)]
        if counts[0] != counts[1]:
            found.append(Action("packs", (name,), counts[0], counts[1]))
    for name, cable in new.cables.items():
        before_cable = old.cables.get(name)
        if before_cable and before_cable.spares != cable.spares:
            found.append(Action("spare leads", (name,), before_cable.spares, cable.spares))
    return found


def _things(facts: Facts) -> dict[str, Unit | Cable]:
    return {**facts.units, **facts.spares, **facts.cables}
