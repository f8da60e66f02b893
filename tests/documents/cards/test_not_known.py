"""Cards never say what the file does not: over the samples, every case file that compiles and random rigs.

Words of the rig itself (titles, names of states, notes) may be anything: where they have the words to be judged, they
are taken out before.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Text
from rigcard.documents.cards import cautions
from rigcard.documents.cards.brief import brief
from rigcard.documents.cards.devices import device_setup
from rigcard.documents.cards.fault_finding import fault_finding
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.function_test import function_test
from rigcard.documents.cards.handset import handset_setup
from rigcard.documents.cards.moves import used_controls
from rigcard.documents.cards.operator import operator_card
from rigcard.documents.cards.power_up import power_down, power_up
from rigcard.documents.cards.radio_loss import on_loss
from rigcard.documents.cards.sticks import handles
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.model import Input, Rig, Unit
from rigcard.solve.loss import STANDBY, is_record
from rigcard.solve.solved import Solved
from rigs import MIXED, RECORD, checked, rig_text, solved_rig
from samples import ROOT, SAMPLES, STOCK
from strategies import whole_rigs

FACE = EmbeddedTypeface()
WIDE = 180.0  # mm: few lines are broken
CASES = [
    path
    for path in sorted((ROOT / "tests" / "cases").glob("*/*.rig"))
    if path.parent.name != "format" and "#! error" not in path.read_text(encoding="utf-8", errors="replace")
]
NEVER = ("levels itself", "try it", "not declared", "small levers", "stays empty", "stays put", "falls limp")


def solved(path: Path) -> Solved | None:
    """A rig as far as it compiles."""
    return check_rig(path, Diagnostics(), stock=STOCK).solved


def strings(rig: Rig) -> set[str]:
    """Every text and name that the file gives."""
    found = {rig.title, rig.job, *rig.crew.values(), *rig.notes, *(step.text for step in rig.steps)}
    for unit in rig.units.values():
        model = unit.model
        found |= {unit.name, unit.title, model.title, unit.asset, unit.serial, unit.software, *unit.notes}
        found |= {*unit.channels, *(value.text for value in unit.settings.values())}
        found |= {setting.menu for setting in model.settings.values()} | set(model.commands) | set(model.ports)
        found |= {unit.memory[1]} if unit.memory else set()
        for control in model.controls.values():
            found |= {control.title, *(position.name.upper() for position in control.positions)}
        for known in model.inputs.values():
            found |= {known.title, *known.states}
    found |= {signal.title for signal in rig.signals.values()}
    found |= {text for cable in rig.cables.values() for text in (cable.name, cable.title, cable.build.mark)}
    return found - {""}


def words(group: Group, rig: Rig, about: str = "$^") -> str:
    """What a card says, without those words of the rig that match `about`."""
    text = " ".join(
        mark.text
        for block in group.blocks
        for box in block.boxes
        for mark in box.marks
        if isinstance(mark, Text)
    )
    for own in sorted(strings(rig), key=len, reverse=True):
        if re.search(about, own.lower()):
            text = text.replace(own, "…").replace(f"{own[0].lower()}{own[1:]}", "…")
    return text


def handsets(rig: Rig) -> list[Unit]:
    """The handsets of a rig."""
    return [unit for unit in rig.units.values() if unit.role == "handset"]


def groups(found: Solved) -> Iterator[tuple[Group, Unit | None]]:
    """The cards of a rig, each with the unit that it is about."""
    yield power_up(FACE, WIDE, found), None
    yield power_down(FACE, WIDE, found), None
    yield brief(FACE, WIDE, found), None
    for unit in found.rig.units.values():
        if unit.role == "handset":
            yield operator_card(FACE, WIDE, found, unit), unit
            yield handset_setup(FACE, WIDE, found, unit), unit
        else:
            yield device_setup(FACE, WIDE, found, unit), unit
    if found.losses:
        yield Group("TEST", "Function test", tuple(function_test(FACE, WIDE, found))), None
        yield Group("FAULTS", "Fault-finding", tuple(fault_finding(FACE, WIDE, found))), None


def rests(known: Input) -> bool:
    """Whether an input states a rest."""
    return any(band.rest for band in known.bands) or bool(known.sweep and known.sweep.rest is not None)


def has_stick(unit: Unit) -> bool:
    """Whether a handset has a stick."""
    return any(control.kind == "stick" for control in unit.model.controls.values())


def claims(found: Solved) -> list[str]:
    """What the cards of a rig say and the rig does not; empty if all is well."""
    rig, wrong = found.rig, []
    known = [loss.feed.input for loss in found.losses]
    aloft = set(cautions.hazards_of(rig)) & {"overhead", "airborne", "vehicle"}
    heads = [unit for unit in rig.units.values() if unit.role == "head"]
    ends = {loss.state for loss in found.losses if is_record(loss.feed.input.states)}
    films = any(unit.role == "camera" for unit in rig.units.values()) or any(
        is_record(one.states) for one in known
    )
    for group, unit in groups(found):
        name = f"{group.mark} {group.title}"

        def says(pattern: str, group: Group = group) -> bool:
            return re.search(pattern, words(group, rig, pattern).lower()) is not None

        of = [unit] if unit and unit.role == "handset" else handsets(rig)
        wrong += [f"{name}: {text}" for text in NEVER if says(re.escape(text))]
        if says(r"\bsticks?\b") and not any(map(has_stick, of)):
            wrong.append(f"{name}: a stick")
        if says(r"(?<!sub-)\btrims?\b") and not any(
            control.trim for one in of for control in one.model.controls.values()
        ):
            wrong.append(f"{name}: trims")
        if says(r"\brest\b") and not any(map(rests, known)):
            wrong.append(f"{name}: rest")
        if says("by hand") and (aloft or all(head.mounted_on for head in heads)):
            wrong.append(f"{name}: a hand that may not reach")
        if says("the take ends") and STANDBY not in ends:
            wrong.append(f"{name}: the end of a take")
        if says(r"\b(tally|(a|the) take|recording)\b(?! (the )?power)") and not films:
            wrong.append(f"{name}: a take")
        if says("as drawn|drawn in") and unit and not unit.model.front:
            wrong.append(f"{name}: a drawing")
    wrong += [
        f"{loss.feed.input.name}: {on_loss(found, loss)}"
        for loss in found.losses
        if not rests(loss.feed.input) and re.search(r"\brest\b|\bstops\b", on_loss(found, loss))
        if "rest" not in loss.state
    ]
    return wrong


def acting(found: Solved, handset: Unit) -> set[str]:
    """The controls on which the level of a channel that is heard depends, by the statements of the handset alone."""
    heard = {feed.channel for feed in found.links.feeds if feed.handset == handset.name}
    names = {handset.channels[name].control for name in heard}
    for mix in handset.mixes:
        if mix.target in heard:
            names |= {handset.channels[mix.source].control, mix.while_control or ""}
    return names - {""}


def left_out(found: Solved) -> list[str]:
    """The controls that act and that their operator's card does not have."""
    missing = []
    for unit in handsets(found.rig):
        text = "".join(words(operator_card(FACE, WIDE, found, unit), found.rig).split())
        used = {control.name for control in used_controls(found, unit)}
        titles = {name: one.title for one in handles(unit.model, used) for name in one.names}  # a stick has one
        said = {name: titles.get(name, unit.model.controls[name].title) for name in acting(found, unit)}
        missing += [name for name, title in said.items() if "".join(title.split()) not in text]
    return missing


def filled(found: Solved) -> list[str]:
    """The ports with a lead that a card wants empty."""
    taken = {
        (end.unit, end.port)
        for cable in found.rig.cables.values()
        for leg in cable.legs
        for end in (leg.first, leg.second)
        if end
    }
    wrong = []
    for unit in found.rig.units.values():
        if unit.role == "handset":
            continue
        text = words(device_setup(FACE, WIDE, found, unit), found.rig)
        empty = re.findall(r"Leave port (\S+) empty\.", text)
        for listed in re.findall(r"Leave empty: ([^.]*)\.", text):
            empty += listed.split(", ")
        wrong += [f"{unit.name}.{port}" for port in empty if (unit.name, port) in taken]
    return wrong


@pytest.mark.parametrize("path", [*SAMPLES, *CASES], ids=lambda path: path.stem)
def test_no_card_says_more_than_its_rig(path: Path) -> None:
    """Sticks, trims, rest, hands, takes, drawings and ports only where the rig has them."""
    found = solved(path)
    if found is None:
        pytest.skip("a file of models")

    assert claims(found) == []
    assert filled(found) == []
    assert left_out(found) == []


@settings(max_examples=30, suppress_health_check=list(HealthCheck))
@given(text=whole_rigs())
def test_no_card_of_a_random_rig_says_more_than_the_rig(tmp_path: Path, text: str) -> None:
    """The same of rigs with controls, failsafes, mixes, heads and cameras drawn at random."""
    found, reported = checked(tmp_path, text)
    assert found is not None, reported

    assert claims(found) == []
    assert filled(found) == []


def of_loss(folder: Path, failsafe: str, inputs: str) -> str:
    """What the one input of a device on port one does on loss."""
    found = solved_rig(folder, channels=f"channel 1 x from fader failsafe {failsafe}", inputs=inputs)
    (loss,) = found.losses
    return on_loss(found, loss)


@pytest.mark.parametrize("level", [-100, -62, -50, 0, 25, 99, 100])
@pytest.mark.parametrize(("low", "high"), [(-100, 100), (-100, 150), (0, 100)])
def test_an_input_without_rest_goes_to_a_part_of_its_way(
    tmp_path: Path, level: int, low: int, high: int
) -> None:
    """An iris without `rest` jumps at 0 %: the part of its way is arithmetic, (level - low) / (high - low)."""
    said = of_loss(
        tmp_path, f"{level}%", f'input iris on one "Iris" {{ sweeps closed to open over {low}%..{high}% }}'
    )
    part = Fraction(min(max(level, low), high) - low, high - low) * 100

    if part in (0, 100):
        assert said == f"goes to {'closed' if part == 0 else 'open'}"
    else:
        shown = re.fullmatch(r"goes to ([\d.]+) % of the way from closed to open", said)
        assert shown and float(shown[1]) == pytest.approx(float(part), abs=0.05)


@pytest.mark.parametrize(
    ("failsafe", "options", "said"),
    [
        ("0%", "rest 0%", "comes to rest"),
        ("0%", "rest 0% full 60deg/s", "stops"),
        ("2%", "rest 0% dead-band 3% full 60deg/s", "stops"),
        ("50%", "rest 0% full 60deg/s", "turns open at 30°/s"),
        ("50%", "rest 0%", "goes to 50 % of the way from rest to open"),
        ("-100%", "rest 100%", "goes to 100 % of the way from rest to closed"),
        ("hold", "rest 0% full 60deg/s", "goes on turning as it was"),
        ("hold", "rest 0%", "keeps its last command"),
        ("hold", "", "unchanged"),
        ("none", "", "no pulses: not stated: look"),
        ("none", "rest 0%; without pulses gives centre", "no pulses: comes to rest"),
        ("none", "; without pulses gives centre", "no pulses: goes to 50 % of the way from closed to open"),
        ("none", "; without pulses gives open", "no pulses: goes to open"),
    ],
)
def test_a_sweep_on_loss_in_words(tmp_path: Path, failsafe: str, options: str, said: str) -> None:
    """Rest where there is one, a stop where the axis turns at a speed, and what is not stated is not made up."""
    assert (
        of_loss(tmp_path, failsafe, f'input turn on one "Turn" {{ sweeps closed to open {options} }}') == said
    )


@pytest.mark.parametrize(
    ("failsafe", "silence", "said"),
    [
        ("hold", "", "the take goes on"),
        ("-100%", "", "the take goes on"),
        ("100%", "", "the take ends"),
        ("none", "; without pulses gives run", "the take goes on"),
        ("none", "; without pulses gives standby", "the take ends"),
        ("none", "", "the take: not stated: look"),
    ],
)
def test_a_take_on_loss(tmp_path: Path, failsafe: str, silence: str, said: str) -> None:
    """It ends where the file says that the input then hears standby; the control that made it is left alone if not."""
    channel = "channel 1 record from two travel 100% / 100% reversed"
    found = solved_rig(
        tmp_path, channels=f"{channel} failsafe {failsafe}", inputs=RECORD.replace(" }", f"{silence} }}")
    )
    card = words(brief(FACE, WIDE, found), found.rig)

    takes = {
        text for text in ("the take goes on", "the take ends", "the take: not stated: look") if text in card
    }
    assert takes == {said}
    assert ("Leave the Two where it is" in card) == (said != "the take ends")


def test_a_control_that_others_depend_on_is_not_called_unused(tmp_path: Path) -> None:
    """A switch on which a mix depends: a letter, a line that says so, and no `One at a time` with what it frees."""
    found = solved_rig(
        tmp_path,
        inputs='input pan on one "Pan" { sweeps left to right }',
        channels="channel 1 pan from across failsafe hold\n  channel 3 more from fader failsafe hold\n"
        "  mix more into pan at 50% while c toward",
    )
    card = words(operator_card(FACE, WIDE, found, found.rig.units["hs"]), found.rig)

    assert "Switch C TOWARD: Fader acts on Pan too" in card
    assert "One at a time" not in card
    assert left_out(found) == []


def test_rivals_are_told_and_those_that_add_up_are_not(tmp_path: Path) -> None:
    """Two switches on one set of keys take the word from each other; two levers on one axis add up."""
    keys = solved_rig(tmp_path, **MIXED)
    axis = solved_rig(
        tmp_path,
        inputs='input pan on one "Pan" { sweeps left to right }',
        channels="channel 1 pan from across failsafe hold\n  channel 3 more from fader failsafe hold\n"
        "  mix more into pan at 20%",
    )

    assert "One at a time: Switch A and Switch B." in words(
        operator_card(FACE, WIDE, keys, keys.rig.units["hs"]), keys.rig
    )
    assert "One at a time" not in words(operator_card(FACE, WIDE, axis, axis.rig.units["hs"]), axis.rig)


def test_controls_that_are_meant_together_are_not_kept_apart(tmp_path: Path) -> None:
    """A state that only the two together reach, and a switch that alone changes nothing: nothing is taken away."""
    new_state = """input lock on one "Lock" { shut -150%..20% rest; live 20.01%..119.99%; both 120%..150% }"""
    no_change = """input lock on one "Lock" { shut -150%..20% rest; live 20.01%..150% }"""
    channels = """channel 1 lock from two failsafe -100%
  channel 3 soft from c failsafe 0%
  mix soft into lock at 0% / 30%"""
    for inputs in (new_state, no_change):
        found = solved_rig(tmp_path, inputs=inputs, channels=channels)
        assert "One at a time" not in words(operator_card(FACE, WIDE, found, found.rig.units["hs"]), found.rig)
    sample = solved(next(path for path in SAMPLES if path.stem == "mast"))
    assert sample
    card = words(operator_card(FACE, WIDE, sample, sample.rig.units["hs-a"]), sample.rig)
    assert "Lock gentle" in card and "One at a time" not in card


def test_an_unused_input_of_a_port_in_use(tmp_path: Path) -> None:
    """Its port carries the other input's channel: it cannot stay empty. One with a port to itself can."""
    found = solved_rig(
        tmp_path,
        inputs="""input pan on bus "Pan" { sweeps left to right }
  input roll on bus "Roll" { sweeps left to right }
  input zoom on two "Zoom" { sweeps out to in }""",
        channels="channel 1 pan from across failsafe hold",
        unit="input pan from pan; unused roll, zoom",
        cables='cable W1 "Lead" { rx.bus to dev.bus; length 1m; jacket 3mm }',
    )
    card = words(device_setup(FACE, WIDE, found, found.rig.units["dev"]), found.rig)

    assert "Roll: not used. Map no channel to it; port bus carries others." in card
    assert "Zoom: not used. Leave port two empty." in card


def test_nobody_holds_a_key_through_the_test(tmp_path: Path) -> None:
    """A key that springs back is pressed at its own line: it is not left pressed while others are tested."""
    text = rig_text(
        inputs="""input pan on one "Pan" critical { sweeps left to right rest 0% }
  input store on two "Store" { none -150%..-50% rest; store 50%..150% }""",
        channels="channel 1 pan from across failsafe 0%\n  channel 2 store from two failsafe -100%",
        cables='cable W1 "Lead" { rx.p1 to dev.one; rx.p2 to dev.two; length 1m; jacket 3mm }',
    )
    for springs in ("", " springs"):
        changed = text.replace('switch two "Two" away, toward', f'switch two "Two" away, toward{springs}')
        found, reported = checked(tmp_path, changed)
        assert found is not None, reported
        held = "leave the Two where it is" in words(
            Group("TEST", "", tuple(function_test(FACE, WIDE, found))), found.rig
        )
        assert held == (not springs)


def test_the_set_up_names_only_what_the_handset_has(tmp_path: Path) -> None:
    """Trims and slow are set back where the model has them; rates and expo are not spoken of where it has none."""
    recipe = "channel 1 record from two failsafe hold"
    plain, trimmed = (solved_rig(tmp_path, channels=recipe, handset=more) for more in ("", "trims 1%"))
    bare, with_trims = (
        words(handset_setup(FACE, WIDE, one, one.rig.units["hs"]), one.rig) for one in (plain, trimmed)
    )

    assert "blank memory (travel 100 %, sub-trim 0, normal, no slow)" in bare
    assert "All other mixes off, range mode off." in bare
    assert "All other mixes off, trims zero, range mode off." in with_trims
    assert "rates" not in bare + with_trims and "expo" not in bare + with_trims
