"""`rigcard show`: every path through a name with all values on the way, as a table and as JSON."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from command import CLEAN, FAULTS, UNUSABLE, rigcard
from rigs import MIXED, rig_text
from samples import GORGE, SAMPLES

RECIPE = "channel 1 record from two travel 0% / 70% subtrim -240 reversed failsafe hold"
HEAD = [
    "CONTROL",
    "CHANNEL",
    "LEVEL",
    "PULSE",
    "CODE",
    "PIN",
    "CABLE",
    "INPUT",
    "HEARD",
    "STATE",
    "MARGIN",
    "DOES",
]


def records(path: Path, *names: str, at: Path) -> list[dict[str, Any]]:
    """What `show --json` writes of a name."""
    run = rigcard("show", path, *names, "--json", at=at)
    assert run.code == CLEAN, run.said
    found: list[dict[str, Any]] = json.loads(run.out)
    return found


def papers(path: Path, at: Path) -> dict[str, Any]:
    """The rig.json of a rig."""
    run = rigcard("build", path, "--only", "data", "-o", "papers", at=at)
    assert run.code == CLEAN, run.said
    data: dict[str, Any] = json.loads((at / "papers" / path.stem / "rig.json").read_text(encoding="utf-8"))
    return data


def written(folder: Path, **parts: str) -> Path:
    """A rig file of these parts."""
    path = folder / "my.rig"
    path.write_text(rig_text(**parts), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("name", "field", "value", "count"),
    [
        ("front-toggle", "control", "front-toggle", 4),
        ("hs.front-toggle", "control", "front-toggle", 4),
        ("record", "channel_name", "record", 2),
        ("p5", "pin", "rx.p5", 2),
        ("rx.p5", "pin", "rx.p5", 2),
        ("S01.R", "cable", "S01.R", 2),
        ("bridge.trigger", "input", "bridge.trigger", 2),
        ("trigger", "input", "bridge.trigger", 2),
        ("standby", "state", "standby", 1),
        ("run", "does", ["cam.run"], 1),
        ("cam.run", "does", ["cam.run"], 1),
        ("hs.front-toggle.away", "position", "away", 1),
        ("hs.right-across.right", "position", "right", 1),
        ("hs.right-across.centre", "position", "centre", 1),
        ("head.pan.right", "state", "right", 1),
        ("head.parked", "state", "parked", 1),
        ("head.mode.parked", "state", "parked", 1),
        ("cam.iris.open", "does", ["cam.iris"], 1),
    ],
)
def test_paths_through_a_name(tmp_path: Path, name: str, field: str, value: object, count: int) -> None:
    """A control, channel, pin, lead, input, state, command and what an `expect` names each lead to their paths."""
    found = records(GORGE, name, at=tmp_path)

    assert [record[field] for record in found] == [value] * count


@pytest.mark.parametrize("name", ["S01", "S02", "rx", "bridge", "head", "cam", "hs", "rx.bus"])
def test_paths_through_a_cable_or_a_unit(tmp_path: Path, name: str) -> None:
    """As many paths as rig.json has readings over that cable, pin or unit; a unit that obeys counts too."""
    data = papers(GORGE, tmp_path)
    pins = {leg["id"]: leg["a"] for cable in data["cables"] for leg in cable["legs"]}
    expected = []
    for channel in data["channels"]:
        for row in channel["positions"]:
            for reading in row["readings"] or [None]:
                through = {channel["handset"]}
                if reading:
                    pin = pins[reading["cable"]]
                    through |= {reading["unit"], reading["cable"].partition(".")[0], pin, pin.partition(".")[0]}
                    through |= {command["unit"] for command in reading["commands"]}
                if name in through:
                    expected.append((channel["name"], row["control"], row["position"]))
    found = records(GORGE, name, at=tmp_path)

    assert expected
    assert sorted((path["channel_name"], path["control"], path["position"]) for path in found) == sorted(
        expected
    )


def test_the_table_has_every_value_of_a_path(tmp_path: Path) -> None:
    """One line a position, a heading, and what is dialled above it: record at -35 and -105 %; common practice, no source."""
    run = rigcard("show", written(tmp_path, channels=RECIPE), "two", at=tmp_path)
    lines = run.out.splitlines()

    assert run.code == CLEAN
    assert lines[0].startswith("dial channel 1 record: travel 0 / 70 %, sub-trim −240 (−35 %), reversed")
    assert lines[1].split() == HEAD
    assert len(lines) == 4
    assert [re.split(r"  +", line) for line in lines[2:]] == [
        ["two away", "1 record", "−35 %", "1360 µs", "rx.p1", "W1", "dev.trigger", "−35 %", "standby", "35 %"],
        ["two toward", "1 record", "−105 %", "1080 µs", "rx.p1", "W1", "dev.trigger", "−105 %", "run", "35 %"],
    ]


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_json_of_show_has_the_numbers_of_the_papers(tmp_path: Path, sample: Path) -> None:
    """Each record of `show HANDSET --json` is a reading of rig.json with the same numbers, and none is left out."""
    data = papers(sample, tmp_path)
    same_numbers(data, sample, tmp_path)


def same_numbers(data: dict[str, Any], path: Path, at: Path) -> None:
    """Hold the records of every handset against rig.json, which rounds to six places."""
    pins = {leg["id"]: {leg["a"], leg["b"]} for cable in data["cables"] for leg in cable["legs"]}
    for handset in sorted({channel["handset"] for channel in data["channels"]}):
        found = records(path, handset, at=at)
        expected = [
            (channel, row, reading)
            for channel in data["channels"]
            if channel["handset"] == handset
            for row in channel["positions"]
            for reading in row["readings"] or [None]
        ]
        assert len(found) == len(expected)
        for record, (channel, row, reading) in zip(found, expected, strict=True):
            assert (record["channel"], record["channel_name"]) == (channel["number"], channel["name"])
            assert (record["control"], record["position"]) == (row["control"], row["position"])
            assert record["level_percent"] == pytest.approx(row["level_percent"], abs=1e-6)
            assert record["pulse_us"] == pytest.approx(row["pulse_us"], abs=1e-6)
            assert record["clipped"] == row["clipped"]
            assert record["code"] == next((one["code"] for one in row["readings"]), None)
            if reading is None:
                assert "input" not in record
                continue
            assert record["input"] == f"{reading['unit']}.{reading['input']}"
            assert record["cable"] == reading["cable"]
            assert record["pin"] in pins[reading["cable"]]
            assert record["heard_percent"] == pytest.approx(reading["heard_percent"], abs=1e-6)
            assert record["state"] == reading["state"]
            assert record["margin_percent"] == pytest.approx(reading["margin_percent"], abs=1e-6)
            assert record["does"] == [f"{done['unit']}.{done['command']}" for done in reading["commands"]]


def test_json_of_show_with_another_listener(tmp_path: Path) -> None:
    """The same where the listener hears other levels than are sent: a 1520 us, 5.12 us set into 1500 us, 4 us."""
    path = written(
        tmp_path,
        **{
            **MIXED,
            "pulse": "1520us centre, 5.12us per 1%",
            "listener": "pulse 1500us centre, 4us per 1%",
            "channels": "channel 2 keys from b travel 50% / 50% failsafe -3.90625%",
        },
    )
    same_numbers(papers(path, tmp_path), path, tmp_path)
    assert [record["heard_percent"] for record in records(path, "keys", at=tmp_path)] == [-59, 5, 69]


def test_margin_of_show_and_of_the_papers_with_trims(tmp_path: Path) -> None:
    """One throw of a trim lever is treated alike in both: one name, `margin_percent`, has one meaning."""
    path = written(tmp_path, channels=RECIPE, handset="trims 10%")
    same_numbers(papers(path, tmp_path), path, tmp_path)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_without_a_name_the_smallest_margin_comes_first(tmp_path: Path, sample: Path) -> None:
    """Every path: those that end in a band in order of their margins, then all others, sweeps among them."""
    found = records(sample, at=tmp_path)
    margins = [record.get("margin_percent") for record in found]
    readings = [
        reading
        for channel in papers(sample, tmp_path)["channels"]
        for row in channel["positions"]
        for reading in row["readings"] or [{"margin_percent": None}]
    ]
    banded = [reading["margin_percent"] for reading in readings if reading["margin_percent"] is not None]

    assert len(found) == len(readings) > len(banded) > 1
    assert margins[: len(banded)] == sorted(margins[: len(banded)])
    assert set(margins[len(banded) :]) == {None}


def test_every_claim_of_a_sample_leads_to_its_paths(tmp_path: Path) -> None:
    """Both sides of each `expect`, typed as they stand in the file; one path joins them."""
    claims = re.findall(r"^expect (\S+)\s+gives (\S+)", GORGE.read_text("utf-8"), re.MULTILINE)
    for left, right in claims:
        here, there = records(GORGE, left, at=tmp_path), records(GORGE, right, at=tmp_path)
        assert any(path in there for path in here), (left, right)
    assert len(claims) > 5


@pytest.mark.parametrize(
    ("name", "near"), [("recrod", "record"), ("rx.p55", "rx.p5"), ("front-togle", "front-toggle")]
)
def test_an_unknown_name_is_told_with_near_ones(tmp_path: Path, name: str, near: str) -> None:
    """A slip of the finger: exit 2, nothing on standard output, the name that was meant."""
    for options in ((), ("--json",)):
        run = rigcard("show", GORGE, name, *options, at=tmp_path)

        assert (run.code, run.out) == (UNUSABLE, "")
        assert f"`{name}`" in run.err
        assert "did you mean" in run.err
        assert f"`{near}`" in run.err


def test_a_name_like_no_other_is_told(tmp_path: Path) -> None:
    """No near name: exit 2 and what may be named."""
    run = rigcard("show", GORGE, "zzzz", at=tmp_path)

    assert (run.code, run.out) == (UNUSABLE, "")
    assert "name a control, channel, pin, cable, input or command" in run.err


def test_a_claim_that_fails_does_not_hide_the_paths(tmp_path: Path) -> None:
    """What one looks for then is the value: the same paths as without the claim, then the error, exit 1."""
    right = written(tmp_path, channels=RECIPE)
    paths = {
        options: rigcard("show", right, *options, at=tmp_path).out for options in (("record",), ("--json",))
    }
    wrong = written(tmp_path, channels=RECIPE, more="expect hs.two.away gives dev.run")
    for options, shown in paths.items():
        run = rigcard("show", wrong, *options, at=tmp_path)

        assert (run.code, run.out) == (FAULTS, shown)
        assert shown and "RC411" in run.err
    unknown = rigcard("show", wrong, "hs.tow.away", at=tmp_path)
    assert unknown.code == UNUSABLE
    assert "`hs.two.away`" in unknown.err and "RC411" in unknown.err


def test_an_error_before_the_values_shows_no_paths(tmp_path: Path) -> None:
    """Without values there is nothing to show: exit 1, nothing on standard output."""
    run = rigcard("show", written(tmp_path, channels=RECIPE.replace("from two", "from tow")), at=tmp_path)

    assert (run.code, run.out) == (FAULTS, "")
    assert "RC201" in run.err


@pytest.mark.parametrize("name", ["S04", "bridge.camera", "cam.control"])
def test_paths_over_the_lead_that_carries_the_commands(tmp_path: Path, name: str) -> None:
    """What dies with the lead between bridge and camera: every path that gives the camera a command, no other."""
    found = records(GORGE, name, at=tmp_path)

    assert found == records(GORGE, "cam", at=tmp_path)


@pytest.mark.parametrize("name", ["P01", "cam-pack", "lens"])
def test_what_carries_no_level_is_not_called_unknown(tmp_path: Path, name: str) -> None:
    """A power lead, a pack, a lens are names of the rig: no other name is proposed in their place."""
    run = rigcard("show", GORGE, name, at=tmp_path)

    assert f"`{name}`" in run.said
    assert "did you mean" not in run.err
    assert "name a control" not in run.err
