"""What an editor shows of the word under the pointer."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from command import CLEAN, rigcard
from editor import SAMPLE_FILES, WHOLE, Editor, at, kinds_of_words
from rigcard.syntax.facts import words_of
from rigcard.syntax.parser import load

pytest_plugins = ("editor",)

# ---- hover -----------------------------------------------------------------------------------------------------


def shown_rows(hover: str) -> list[dict[str, str]]:
    """The table in a hover: values by the head of their column."""
    lines = hover.split("\n")
    head = next(line for line in lines if line.startswith("CONTROL"))
    columns = [(found.start(), found.group()) for found in re.finditer(r"\S+", head)]
    rows = []
    for line in lines[lines.index(head) + 1 :]:
        ends = [start for start, _ in columns[1:]] + [len(line) + 1]
        rows.append({name: line[start:end].strip() for (start, name), end in zip(columns, ends, strict=True)})
    return rows


def number(text: str) -> float:
    """The number that a cell begins with."""
    found = re.match(r"[-+−]?[\d.]+", text.replace("\u202f", "").replace("\u00a0", ""))
    assert found, text
    return float(found[0].replace("−", "-"))


@pytest.mark.parametrize("mark", ["channel 5 record", "from left-flip", "hs.left-flip"])
def test_hover_shows_what_show_computes(editor: Editor, job: Path, mark: str) -> None:
    """Level, pulse, level heard, state and margin at each position are those of `rigcard show --json`."""
    path = job / "gorge.rig"
    text = editor.open(path)
    shown = shown_rows(editor.hover(path, at(text, mark, len(mark) - 2)))
    run = rigcard("show", path, "record", "--json", at=job)
    told = json.loads(run.out)

    assert run.code == CLEAN
    assert len(shown) == len(told) == 2
    for mine, theirs in zip(shown, told, strict=True):
        assert mine["CONTROL"] == f"{theirs['control']} {theirs['position']}"
        assert number(mine["LEVEL"]) == pytest.approx(theirs["level_percent"], abs=0.06)
        assert number(mine["PULSE"]) == pytest.approx(theirs["pulse_us"], abs=0.6)
        assert number(mine["HEARD"]) == pytest.approx(theirs["heard_percent"], abs=0.06)
        assert mine["STATE"] == theirs["state"]
        assert number(mine["MARGIN"]) == pytest.approx(theirs["margin_percent"], abs=0.06)


def test_hover_on_a_position_an_input_and_a_claim(editor: Editor, job: Path) -> None:
    """Each shows its own rows: one of the position and of the claim, all of the input."""
    path = job / "gorge.rig"
    text = editor.open(path)
    claim = "expect hs.left-flip.toward"

    one = shown_rows(editor.hover(path, at(text, claim, len(claim) - 1)))
    same = shown_rows(editor.hover(path, at(text, claim, 2)))
    mode = shown_rows(editor.hover(path, at(text, "input mode", 7)))

    assert one == same and [row["STATE"] for row in one] == ["run"]
    assert [row["STATE"] for row in mode] == ["parked", "steady", "steer"]
    assert 'model camera-c "Cinema camera"' in editor.hover(path, at(text, "is camera-c", 4))


def test_hover_has_the_values_where_a_claim_fails(editor: Editor, job: Path) -> None:
    """The wrong level is what the person looks for: the same rows as in the right file, beside the error."""
    path = job / "gorge.rig"
    right = path.read_text()
    claim = "expect hs.top-rocker.away gives head.parked"
    assert claim in right
    wrong = right.replace(claim, claim.replace("head.parked", "head.steady"))
    editor.open(path, right)
    rows = shown_rows(editor.hover(path, at(right, "1 mode", 4)))
    editor.change(path, wrong)

    assert [row["STATE"] for row in rows] == ["parked", "steady", "steer"]
    editor.codes(path, ["RC411"])
    assert shown_rows(editor.hover(path, at(wrong, "1 mode", 4))) == rows


def test_hover_explains_messages_and_words(editor: Editor, job: Path) -> None:
    """On a fault the text of `explain`; on a word of the language a sentence of the reference."""
    path = job / "gorge.rig"
    text = path.read_text().replace("from top-rocker", "from top-rockr")
    editor.open(path, text)
    run = rigcard("explain", "RC201", at=job)

    assert run.out.strip() in editor.hover(path, at(text, "top-rockr", 3))
    assert "Values are computed once no error but of a claim is left." in editor.hover(
        path, at(text, "3 tools", 4)
    )
    assert "the unit that carries it" in editor.hover(path, at(text, "mounted on", 2))
    assert "how far each side goes" in editor.hover(path, at(text, "travel auto", 2))
    assert editor.hover(path, at(text, "outside diameter", 3)) == ""


# ---- at every word of the samples ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLE_FILES)
def test_every_word_of_the_samples_says_something(editor: Editor, job: Path, name: str) -> None:
    """A word of the language is explained by a line of the reference that has it or begins its statement; a name by
    the line that declares it. Only the `to` of a leg is left alone."""
    path = job / name
    text = editor.open(path)
    language = load()
    for start, word, terminal in kinds_of_words(language, path):
        line = text[text.rfind("\n", 0, start) + 1 : text.index("\n", start)]
        said = editor.hover(path, at(text, text[:start][-30:] + word, len(text[:start][-30:]) + 1))
        if word == "to" and not said:
            assert "." in line.split(" to ")[0]
            continue
        if terminal in ("EXPECT", "GIVES", "MEASURED"):
            assert "CONTROL" in said
            continue
        assert said, (word, line)
        if terminal != "NAME" and not words_of(terminal):
            statement = re.split(r"[{};]", text[:start].rpartition("\n")[2])[-1].split()[:1] or [word]
            assert re.search(rf"`(?:{statement[0]}\b|[^`]*\b{word}\b)", said), (word, line, said)


@pytest.mark.parametrize(
    ("mark", "inside", "said", "unsaid"),
    [
        ("mounted on head", 9, "the unit that carries it", "ports"),
        ('"C" on 2026', 5, "the letter of this frozen state", "ports"),
        ("up to 23kg", 1, "a case that kit is packed in", "longest lead"),
        ("hazard overhead", 2, "a danger of the whole rig", "(#"),
        ("failsafe hold", 10, "number, name and control", ""),
        ("mount underslung", 8, "`upright` or `underslung`", "whose direction"),
    ],
)
def test_a_word_is_explained_where_it_stands(
    editor: Editor, job: Path, mark: str, inside: int, said: str, unsaid: str
) -> None:
    """The same word means another thing in another statement; links of the reference are shown as words."""
    path = job / "gorge.rig"
    shown = editor.hover(path, at(editor.open(path), mark, inside))

    assert said in shown
    assert not unsaid or unsaid not in shown


def test_a_name_of_a_stock_file_alone_has_no_values(editor: Editor, job: Path) -> None:
    """No open rig uses it: there is nothing to compute, and no fault is to blame for that."""
    stock = job / "stock" / "radio.rig"
    text = editor.open(stock)

    assert (
        editor.hover(stock, at(text, "front-toggle", 2))
        == 'switch front-toggle "Front toggle" away, toward at 120mm, 190mm'
    )


def test_values_through_every_kind_of_name(editor: Editor, job: Path) -> None:
    """A state, a command, a port and a row of ports have the rows of the paths through them; the rest is counted."""
    gorge = job / "gorge.rig"
    text = editor.open(gorge)
    heads, camera, radio = (job / "stock" / f"{name}.rig" for name in ("heads", "camera", "radio"))

    state = editor.hover(heads, at(heads.read_text(), "steady -", 2))
    assert "mode" in state and "steady" in state and "steer" not in state.split("CONTROL")[1]
    command = editor.hover(camera, at(camera.read_text(), "command standby, run", 9))
    assert len([line for line in command.split("\n") if line.startswith("left-flip away")]) == 1
    pin = editor.hover(gorge, at(text, "rx.p5", 4))
    assert "record" in pin and "tools" not in pin
    bus = editor.hover(gorge, at(text, "rx.bus", 4))
    assert bus.count("\n") <= 100
    cable = editor.hover(gorge, at(text, "cable S01", 7))
    assert {"record", "iris", "tools"} <= set(re.findall(r"\w+", cable))
    use = editor.hover(radio, at(radio.read_text(), "port bus", 6))
    assert "record" in use or "pan" in use


def test_more_values_than_can_be_read(editor: Editor, whole: Path) -> None:
    """Twelve switches of six positions on one line: sixty rows, the count of the others, and what shows all."""
    places = ", ".join(f"at-{number}" for number in range(6))
    text = WHOLE
    for number in range(4, 16):
        text = text.replace("  dial spare-dial", f'  switch s{number} "S" {places}\n  dial spare-dial')
        text = text.replace("  leave", f"  channel {number} c{number} from s{number} failsafe hold\n  leave")
        text = text.replace("  input gear", f'  input i{number} on entry "I" {{ sweeps a to b }}\n  input gear')
        text = text.replace("; set dialect", f"; input i{number} from c{number}; set dialect")
    editor.open(whole, text.replace("channels 8", "channels 16"))
    text = text.replace("channels 8", "channels 16")
    shown = editor.hover(whole, at(text, "rx.trunk", 4)).split("\n")

    rows = shown[next(n for n, line in enumerate(shown) if line.startswith("CONTROL")) + 1 :]
    assert len(rows) == 61
    more = re.fullmatch(r"and (\d+) more: rigcard show", rows[-1])
    assert more and int(more[1]) >= 12
