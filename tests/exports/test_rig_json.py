"""`rig.json`: valid against its schema, which says the same as the page and refuses all else; and true to the rig."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from page import FENCED, table
from rigcard.diagnostics import Diagnostics
from rigcard.exports.rig_json import SCHEMA
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig
from rigcard.resolve import words
from rigs import AUTO, KEYS, MIXED, rig_text
from samples import ROOT, SAMPLES, STOCK

SILENT = sorted((ROOT / "tests" / "cases").glob("*/*.ok.rig"))
BLOCKS = [fenced for fenced in FENCED if fenced.info == "rig"]


RULES: dict[str, Any] = json.loads((ROOT / "grammar" / "rig.schema.json").read_text(encoding="utf-8"))


VALIDATOR = Draft202012Validator(RULES)
PAGE = {name: (kinds, meaning) for name, kinds, meaning in table("key", "value", "meaning")}
ALIKE = {name: found[1] for name, (_, meaning) in PAGE.items() if (found := re.fullmatch(r"as (\S+)", meaning))}
BY_NAME = {
    "crew",
    *(f"units[].{key}" for key in ("ports", "controls", "menus", "settings", "reset")),
}  # objects whose keys are names from the file
KINDS = {
    "string": "text",
    "boolean": "true or false",
    "integer": "whole number",
    "number": "number",
    "null": "null",
    "object": "object",
    "array": "list",
}
UNITS = {
    "percent": "per cent",
    "us": "microseconds",
    "ms": "milliseconds",
    "mm": "millimetres",
    "kg": "kilograms",
    "steps": "steps of sub-trim",
    "degrees": "degrees",
    "second": "degrees a second",
}
# A rig that has something in every list of rig.json: two controls on a channel, an input that learns, a measurement.
CONDITIONS = ROOT / "tests" / "cases" / "solve" / "conditions_of_every_kind.ok.rig"
FULL = rig_text(
    **{
        **MIXED,
        "inputs": KEYS.replace("a-plus", "learns neutral\n    a-plus") + '\n  input go on one "Go" critical { off -150%..0% rest; on 0.01%..150%; without pulses gives off }',
        "channels": f"{MIXED['channels']}\n  channel 1 go from c travel 50% / 60% failsafe none",
        "cables": f"{MIXED['cables']}\ncable W1 \"Lead\" {{ rx.p1 to dev.one; length 2m; jacket 3mm; route 1m slack 10% loops 1 x 100mm }}",
        "listener": 'shows "lamp lit" when on',
        "more": 'unit hs-s is set "Spare" spare for hs { memory 2 "SPARE" }\nlink "Picture" from rx to dev band "5.8 GHz" channel "3"\nexpect hs.c.toward gives dev.on\nmeasured hs.a.toward on keys is 1907us\nopen "Which lens?"',
    }
)  # fmt: skip


def built(path: Path) -> Any:
    """The `rig.json` of a file."""
    diagnostics = Diagnostics()
    stock = (*STOCK, str(CONDITIONS.parents[1]))
    papers = build_rig(path, diagnostics, request=Request(only=("data",)), stock=stock)
    assert papers, list(diagnostics)
    return json.loads(papers.files["rig.json"])


def built_text(text: str, folder: Path) -> Any:
    """The `rig.json` of a text, beside the stock files of the samples."""
    if not (folder / "stock").exists():
        shutil.copytree(ROOT / "samples" / "stock", folder / "stock")
    (folder / "own.rig").write_text(text, encoding="utf-8")
    return built(folder / "own.rig")


def faults(data: Any) -> list[str]:
    """What the schema has against a value."""
    return [f"{list(error.absolute_path)}: {error.message}" for error in VALIDATOR.iter_errors(data)]


# ---- valid ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", [*SAMPLES, *SILENT], ids=lambda path: path.name)
def test_rig_json_is_valid(path: Path) -> None:
    """Of each sample and of each case that reports nothing."""
    assert faults(built(path)) == []


@pytest.mark.parametrize("fenced", BLOCKS, ids=lambda fenced: fenced.line)
def test_rig_json_of_the_page_is_valid(fenced: Any, tmp_path: Path) -> None:
    """Of each complete rig of the reference page."""
    assert faults(built_text(fenced.text, tmp_path)) == []


def test_the_schema_is_one() -> None:
    """It is a schema of draft 2020-12, named without an address of the web, of the form that is written."""
    Draft202012Validator.check_schema(RULES)
    assert RULES["$schema"] == Draft202012Validator.META_SCHEMA["$id"]
    assert RULES["$id"] == f"urn:rigcard:rig:{SCHEMA}"
    assert RULES["properties"]["schema"]["const"] == SCHEMA


# ---- the schema and the page ---------------------------------------------------------------------------------


def described(rules: dict[str, Any], path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every key of the schema as the page writes it, `channels[].positions[].level_percent`, with its rules."""
    if "$ref" in rules:
        rules = RULES["$defs"][rules["$ref"].removeprefix("#/$defs/")]
    for name, inner in rules.get("properties", {}).items():
        below = f"{path}.{name}" if path else name
        yield below, inner
        if below not in ALIKE:
            yield from described(inner, below)
    if "items" in rules:
        yield from described(rules["items"], f"{path}[]")


def kinds_of(rules: dict[str, Any]) -> set[str]:
    """What kinds of value a key may have, in the words of the page."""
    if "anyOf" in rules:
        return set().union(*(kinds_of(one) for one in rules["anyOf"]))
    if "const" in rules:
        return {"true or false" if rules["const"] is True else "whole number"}
    if "enum" in rules:
        return {"text"}
    kinds = rules["type"]
    return {KINDS[kind] for kind in ([kinds] if isinstance(kinds, str) else kinds)}


def test_the_schema_says_what_the_page_says() -> None:
    """The same keys in the same order, of the same kinds, with the same meaning and the unit that the name ends in."""
    found = dict(described(RULES))

    assert list(found) == list(PAGE)
    for name, rules in found.items():
        kinds, meaning = PAGE[name]
        ending = name.split("_")[-1] if re.search(r"number", kinds) else ""
        unit = f", in {UNITS[ending]}" if ending in UNITS else ""
        assert kinds_of(rules) == set(kinds.split(", ")), name
        if name != "channels[].failsafe":  # a level or a word: its unit stands in a sentence of its own
            assert rules["description"].replace("`", "") == f"{meaning}{unit}", name


def test_a_list_like_another_has_the_same_rules() -> None:
    """Where the page says `as` another list, the schema refers to the rules of that one."""
    found = dict(described(RULES))

    assert len(ALIKE) > 2
    for name, other in ALIKE.items():
        assert found[name]["items"] == found[other]["items"]
        assert "$ref" in found[name]["items"]


def objects(rules: Any) -> Iterator[dict[str, Any]]:
    """Every part of the schema that speaks of objects."""
    if isinstance(rules, dict):
        if "properties" in rules or "object" in rules.get("type", ()):
            yield rules
        for inner in rules.values():
            yield from objects(inner)
    elif isinstance(rules, list):
        for inner in rules:
            yield from objects(inner)


def test_no_object_is_open() -> None:
    """All keys are required and no other is allowed; objects by name take words only. Roles are those of the language."""
    found = list(objects(RULES))
    assert len(found) > 15
    for rules in found:
        if "properties" in rules:
            assert rules["additionalProperties"] is False
            assert rules["required"] == list(rules["properties"])
        else:
            assert rules["additionalProperties"] == {"type": "string"}
    assert set(dict(described(RULES))["units[].role"]["enum"]) == set(words.ROLES)


# ---- what is not valid ---------------------------------------------------------------------------------------


def fullest(value: Any) -> Any:
    """The same with one entry in each list, the longest, so that each key is there once and little else."""
    if isinstance(value, dict):
        return {key: fullest(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return (
            [max((fullest(inner) for inner in value), key=lambda inner: len(json.dumps(inner)))]
            if value
            else []
        )
    return value


def places(value: Any, path: str = "") -> Iterator[tuple[str, Any, Any]]:
    """(path as the page writes it, the object or list, key or index) of every value below one."""
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
        below = f"{path}[]" if isinstance(value, list) else f"{path}.{key}" if path else key
        yield below, value, key
        if isinstance(inner, (dict, list)):
            yield from places(inner, ALIKE.get(below, below))


def wrong(value: Any) -> list[Any]:
    """Values of another kind than this one; what is null may be a word or a number in another place."""
    if value is None:
        return [[0], {"x": 1}]
    if isinstance(value, bool):
        return ["true", 1.5, []]
    if isinstance(value, int | float):
        return [str(value), [], True]
    if isinstance(value, str):
        return [[], {}, True]
    return [0.5, "x", True]


def refused(good: Any) -> set[str]:
    """Changes each value of a rig.json in turn; returns the keys that were tried."""
    tried = set()
    assert faults(good) == []
    assert faults({**good, "extra": 1})
    for path, holder, key in list(places(good)):
        kept = holder[key]
        if isinstance(holder, dict):
            tried.add(path)
            if path.rpartition(".")[0] not in BY_NAME:
                del holder[key]
                assert faults(good), f"without {path}"
        for other in wrong(kept):
            holder[key] = other
            assert faults(good), f"{path} = {other}"
        holder[key] = kept
        if isinstance(kept, dict):
            kept["extra"] = 1
            assert faults(good), f"{path}.extra"
            del kept["extra"]
    return tried


@pytest.mark.slow
def test_every_other_form_is_refused(tmp_path: Path) -> None:
    """Any key dropped, with a value of another kind, or added anywhere: the schema finds each, and every key is tried."""
    gorge = built(ROOT / "samples" / "gorge.rig")
    tried = refused(fullest(built_text(FULL, tmp_path))) | refused(fullest(gorge))
    tried |= refused({**fullest(gorge), "units": gorge["units"][:1]})  # the handset, which has a memory
    conditions = built(CONDITIONS)
    heads = [unit for unit in conditions["units"] if unit["role"] == "head"]
    for at, known in enumerate(heads[0]["inputs"]):  # each of them says another thing
        parts = {"units": [{**heads[0], "inputs": [known]}], "channels": conditions["channels"][at : at + 1]}
        tried |= refused({**fullest(conditions), **parts})

    assert PAGE.keys() - tried == set()


# ---- what it says --------------------------------------------------------------------------------------------


def channel(data: Any, name: str) -> Any:
    (found,) = (found for found in data["channels"] if found["name"] == name)
    return found


def test_rate_expo_and_slow(tmp_path: Path) -> None:
    """As the page's rig with a zoom wheel states them; left out, they are 100 %, 0 % and at once."""
    (block,) = (fenced.text for fenced in BLOCKS if "rate 70% slow 500ms" in fenced.text)
    zoom = channel(built_text(block, tmp_path), "zoom")
    plain = channel(built_text(FULL, tmp_path), "keys")

    assert [zoom[key] for key in ("rate_percent", "expo_percent", "slow_ms")] == [70, 30, 500]
    assert [plain[key] for key in ("rate_percent", "expo_percent", "slow_ms")] == [100, 0, 0]


def test_whether_an_answer_is_the_only_one(tmp_path: Path) -> None:
    """Not the only one with 140 x 481 x 2 settings and one wide band; the only one where all but one value is stated
    and the margin has one largest value; null where nothing was computed."""
    wide = "expect hs.a.toward gives dev.run"
    free = built_text(rig_text(channels=f"channel 1 rec from a {AUTO}", more=wide), tmp_path)
    # run -150..-70: the middle, -110 %, is the only travel with the largest margin, 40 %
    stated = "channel 1 rec from a travel 100% / 100% subtrim 0 reversed failsafe hold"
    one = stated.replace("travel 100% / 100%", "travel auto")
    narrow = built_text(
        rig_text(channels=one, more="expect hs.a.toward gives dev.run\nexpect hs.a.away gives dev.standby"),
        tmp_path,
    )
    none = built_text(rig_text(channels=stated), tmp_path)

    assert channel(free, "rec")["unique"] is False
    found = channel(narrow, "rec")
    assert (found["travel_high_percent"], found["headroom_percent"]) == (110, 40)
    assert channel(none, "rec")["unique"] is None


def code_of(level: float) -> int:
    """The code of the samples' line, 200 to 1800 over -100 to 100 %, field 0 to 2047: 8 a per cent, halves upward."""
    exact = 200 + (Fraction(str(level)) + 100) * 8
    return min(2047, max(0, int(exact + Fraction(1, 2))))


def test_an_input_hears_what_it_is_said_to_hear(tmp_path: Path) -> None:
    """Reversed at the device or flipped by the mounting: minus the level; both: the level itself (reference.md)."""
    gorge = (ROOT / "samples" / "gorge.rig").read_text(encoding="utf-8")
    lines = [line for line in gorge.splitlines() if not (line.startswith("expect") and "head.pan" in line)]
    turned = re.sub(r"(input pan +from pan) +reversed", r"\1", "\n".join(lines))
    seen = set()
    for data in (
        *map(built, SAMPLES),
        built_text(
            turned.replace("input horizon    from horizon", "input horizon from horizon reversed"), tmp_path
        ),
    ):
        roles = {unit["name"]: unit["role"] for unit in data["units"]}
        inputs = {(unit["name"], found["name"]): found for unit in data["units"] for found in unit["inputs"]}
        for sheet in data["channels"]:
            for row in sheet["positions"]:
                for reading in row["readings"]:
                    known = inputs[reading["unit"], reading["input"]]
                    turns = known["reversed"], known["flipped"]
                    assert (known["handset"], known["channel"]) == (sheet["handset"], sheet["name"])
                    assert known["cable"] == reading["cable"]
                    if roles[reading["unit"]] == "head":  # adapters read pulses by a relation of their own
                        assert reading["code"] == code_of(row["level_percent"])
                        heard = (-1) ** sum(turns) * ((reading["code"] - 200) / 8 - 100)
                        assert reading["heard_percent"] == pytest.approx(heard, abs=1e-6)
                        seen.add(turns)
    assert (True, True) in seen
    assert seen == {(False, False), (True, False), (False, True), (True, True)}


def test_combinations_of_two_switches(tmp_path: Path) -> None:
    """Nine of them, level 100 a + 50 b cut off at 125 %, by hand; the states are those of the bands in the file."""
    keys = channel(built_text(FULL, tmp_path), "keys")
    value = {"away": -1, "middle": 0, "toward": 1}
    found = {}
    for row in keys["combinations"]:
        places = {place["control"]: place["position"] for place in row["places"]}
        wanted = 100 * value[places["a"]] + 50 * value[places["b"]]
        assert row["level_percent"] == max(-125, min(125, wanted))
        assert row["clipped"] == (abs(wanted) > 125)
        (reading,) = row["readings"]
        found[places["a"], places["b"]] = reading["state"]
    assert len(found) == 9
    assert found["middle", "middle"] == "none"
    assert found["middle", "toward"] == "b-plus"
    assert found["toward", "away"] == "b-plus"  # 50 %: a key whose switch stands elsewhere
    strays = {tuple(place["position"] for place in row["places"]): row["stray"] for row in keys["combinations"]}
    assert strays["toward", "away"] == "b"
    assert strays["middle", "toward"] is None
    assert channel(built_text(FULL, tmp_path), "half")["combinations"] == []


def test_radio_loss_phase_by_phase(tmp_path: Path) -> None:
    """A level, no pulses, `hold`: what goes on, where it lands, and what the return with controls at rest gives."""
    receiver = 'model rec "Receiver" { role receiver'
    assert receiver in FULL
    data = built_text(FULL.replace(receiver, f"{receiver}; failsafe after 800ms"), tmp_path)
    (keys,) = channel(data, "keys")["radio_loss"]
    (go,) = channel(data, "go")["radio_loss"]
    held = built_text(rig_text(channels="channel 1 rec from a failsafe hold"), tmp_path)
    (rec,) = channel(held, "rec")["radio_loss"]

    def short(loss: Any) -> list[tuple[Any, ...]]:
        return [
            tuple(phase[key] for key in ("phase", "lasts_ms", "level_percent", "state"))
            for phase in loss["phases"]
        ]

    assert short(keys) == [("hold", 800, None, None), ("preset", None, 0, "none"), ("return", None, 0, "none")]
    assert short(go) == [("hold", 800, None, None), ("silence", None, None, "off"), ("return", None, 0, "off")]
    assert short(rec) == [("hold", None, None, None), ("return", None, 0, "standby")]
    assert keys["comes_to_rest"]
    assert not rec["comes_to_rest"]


def test_radio_loss_names_the_commands_that_follow() -> None:
    """In each sample the preset gives the commands that the same level gives at a position; return those at rest."""
    compared = 0
    for path in SAMPLES:
        for sheet in built(path)["channels"]:
            given = {
                (reading["unit"], reading["input"], reading["state"]): reading["commands"]
                for row in (*sheet["positions"], *sheet["combinations"])
                for reading in row["readings"]
            }
            for loss in sheet["radio_loss"]:
                for phase in loss["phases"]:
                    if phase["phase"] == "preset":
                        assert phase["level_percent"] == sheet["failsafe"]
                    known = given.get((loss["unit"], loss["input"], phase["state"]))
                    if known is not None:
                        assert phase["commands"] == known
                        compared += bool(known)
    assert compared > 1


def test_wrong_starts_and_what_is_learned(tmp_path: Path) -> None:
    """A switch left away: its channel at -100 %; an input that takes that as zero reads rest as +100 %."""
    data = built_text(FULL, tmp_path)
    (found,) = (one for one in data["wrong_starts"] if (one["control"], one["position"]) == ("a", "away"))
    (reading,) = found["readings"]

    assert (reading["input"], reading["heard_percent"], reading["state"]) == ("keys", -100, "a-minus")
    assert found["learned"] == [{"unit": "dev", "input": "keys", "rest_reads": "a-plus"}]
    assert found["harm"] == "other"
    assert {one["harm"] for one in data["wrong_starts"] if one["control"] == "a"} == {"other"}
    gorge = [one["harm"] for one in built(ROOT / "samples" / "gorge.rig")["wrong_starts"]]
    assert gorge == sorted(gorge, key=["critical", "command", "other"].index)
    assert gorge[0] == "critical"


@pytest.mark.parametrize(("measured", "agrees"), [(1900, True), (1908, True), (1909, False), (1891, False)])
def test_measurements(tmp_path: Path, measured: int, agrees: bool) -> None:
    """1500 us + 100 % x 4 us is computed, 2 % x 4 us is allowed, the edge included."""
    (found,) = built_text(FULL.replace("1907us", f"{measured}us"), tmp_path)["measurements"]

    assert (found["computed_us"], found["measured_us"], found["allowed_us"]) == (1900, measured, 8)
    assert found["agrees"] is agrees


def test_a_trim_is_taken_off_the_margin(tmp_path: Path) -> None:
    """One throw of a trim lever, declared as 10 %, leaves 10 % less; without levers the two margins are equal."""
    for trims, throw in (("trims 10%", 10), ("", 0)):
        data = built_text(rig_text(channels="channel 1 rec from across failsafe hold", handset=trims), tmp_path)
        readings = [reading for row in channel(data, "rec")["positions"] for reading in row["readings"]]
        assert readings
        for reading in readings:
            assert round(reading["margin_percent"] - reading["margin_after_trim_percent"], 6) == throw


def test_turns_of_an_axis(tmp_path: Path) -> None:
    """Full speed at the ends, and before the failsafe the angle of 800 ms at full speed: 60 deg/s x 0.8 s = 48 deg."""
    inputs = 'input pan on one "Pan" critical { sweeps left to right  rest 0%  dead-band 2%  full 60deg/s }'
    text = rig_text(channels="channel 1 pan from across failsafe 0%", inputs=inputs)
    receiver = 'model rec "Receiver" { role receiver'
    pan = channel(built_text(text.replace(receiver, f"{receiver}; failsafe after 800ms"), tmp_path), "pan")
    readings = [reading for row in pan["positions"] for reading in row["readings"]]

    assert [reading["turn_degrees_a_second"] for reading in readings] == [60, 60]
    assert [reading["turn_degrees"] for reading in readings] == [None, None]
    assert [loss["unasked_turn_degrees"] for loss in pan["radio_loss"]] == [48]
