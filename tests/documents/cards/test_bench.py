"""The bench card: what it asks for, that it holds every reading, and the command that writes it."""

from __future__ import annotations

from pathlib import Path

import pytest

from command import rigcard
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.language import speaking
from rigcard.documents.base.model import Text
from rigcard.documents.base.paper import CARD_SIZES
from rigcard.documents.cards.bench import bench_card
from rigcard.documents.cards.frame import MARGIN
from rigcard.pipeline import bench_cards
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.readings import form
from rigcard.resolve.resolve import resolve_models
from rigcard.solve.learning.settling import settled
from rigcard.syntax.load import load

MODEL = """model handset-m "Measured handset" {
  role     handset
  switch   top-rocker   "Top rocker"   away, middle, toward
  switch   front-toggle "Front toggle" away, toward
  channels 8
  pulse    unknown
  travel   0%..125% step 5%
  subtrim  -80..80 steps, 80 steps = unknown, shifts unknown
  reverse  unknown
  mix      unknown
  output   unknown
READINGS}
"""
RIG = """rig "Loft" { revision "B"; language de }
use "mine.rig"
unit hs is handset-m "Handset" { memory 1 "LOFT B"; channel 1 pan from top-rocker failsafe 0% }
"""


def words_of(path: Path) -> tuple[list[str], list[str]]:
    """The texts of the bench card of a file of one model, and the readings that it should ask for."""
    diagnostics = Diagnostics()
    program = load(path, diagnostics)
    assert program is not None
    (model,) = resolve_models(program, diagnostics, settled)
    assert model.bench is not None
    face = EmbeddedTypeface()
    inner = next(iter(CARD_SIZES.values()))[0] - 2 * MARGIN
    group = bench_card(face, inner, model)
    texts = [
        mark.text
        for block in group.blocks
        for box in block.boxes
        for mark in box.marks
        if isinstance(mark, Text)
    ]
    right = max(
        mark.x + mark.width
        for block in group.blocks
        for box in block.boxes
        for mark in box.marks
        if isinstance(mark, Text) and not mark.angle
    )
    assert right <= inner + 0.01
    return texts, [form(one, "____us") for one in model.bench.asks]


def test_the_card_asks_for_every_reading(tmp_path: Path) -> None:
    """Each reading is there to dial and as a line to type; what is to be dialled stands in the table."""
    path = tmp_path / "mine.rig"
    path.write_text(MODEL.replace("READINGS", ""))
    texts, asked = words_of(path)
    whole = " ".join(texts)

    assert len(asked) == 6
    for line in asked:
        assert line in whole
    for wanted in ("85 / 30", "125 / 125", "REVERSED", "AWAY", "MIDDLE", "TOWARD", "50 %", "100 %", "−80"):
        assert wanted in texts, wanted


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_card_speaks_the_language_of_the_rig(tmp_path: Path, language: str) -> None:
    """The fixed words are in the language of the context; titles of controls stay."""
    path = tmp_path / "mine.rig"
    path.write_text(MODEL.replace("READINGS", ""))
    with speaking(language):
        texts, _ = words_of(path)

    assert ("EINTIPPEN" in texts) == (language == "de")
    assert "Top rocker" in " ".join(texts)


def test_a_rig_that_is_refused_still_gets_its_bench_card(tmp_path: Path) -> None:
    """`check` refuses a rig with an unknown handset, `bench` prints the card; a settled one gets its lines."""
    (tmp_path / "mine.rig").write_text(MODEL.replace("READINGS", ""))
    rig = tmp_path / "loft.rig"
    rig.write_text(RIG)
    refused = rigcard("check", str(rig), at=tmp_path)
    done = rigcard("bench", str(rig), "-o", str(tmp_path / "out"), at=tmp_path)

    assert (refused.code, done.code) == (1, 0)
    assert "RC240" in refused.err
    assert (tmp_path / "out" / "loft" / "bench.pdf").read_bytes().startswith(b"%PDF")
    assert "reading at top-rocker.away is ...us" in done.out


def test_settled_lines_are_said_and_an_old_card_goes(tmp_path: Path) -> None:
    """With all readings typed back the lines that state the handset are said, and no card is left."""
    path = tmp_path / "mine.rig"
    out = tmp_path / "out"
    path.write_text(MODEL.replace("READINGS", ""))
    rigcard("bench", str(path), "-o", str(out), at=tmp_path)
    readings = """  reading at top-rocker.away is 1010us
  reading subtrim 80 reversed at top-rocker.middle is 1450us
  reading travel 85% / 30% at top-rocker.toward mix 50% of front-toggle.toward is 1910us
  reading travel 85% / 30% subtrim 80 reversed at top-rocker.toward is 1300us
  reading travel 125% / 125% subtrim 80 at top-rocker.toward mix 100% of front-toggle.toward is 2210us
  reading travel 125% / 125% subtrim -80 at top-rocker.away mix 100% of front-toggle.away is 810us
"""
    path.write_text(MODEL.replace("READINGS", readings))
    done = rigcard("bench", str(path), "-o", str(out), at=tmp_path)

    assert done.code == 0
    for line in (
        "pulse 1510us centre, 5us per 1%",
        "subtrim -80..80 steps, 80 steps = 12%, shifts whole",
        "reverse after subtrim",
        "mix after travel",
        "output -140%..140%",
    ):
        assert f"  {line}\n" in done.out
    assert not (out / "mine" / "bench.pdf").exists()


def test_the_lines_that_are_said_state_the_same_handset(tmp_path: Path) -> None:
    """A model with the said lines in place of the unknown ones agrees with the readings: nothing is reported."""
    path = tmp_path / "mine.rig"
    path.write_text(
        MODEL.replace("READINGS", "  reading subtrim 80 reversed at top-rocker.middle is 1450us\n")
        .replace("pulse    unknown", "pulse 1510us centre, 5us per 1%")
        .replace("80 steps = unknown, shifts unknown", "80 steps = 12%, shifts whole")
        .replace("reverse  unknown", "reverse after subtrim")
        .replace("mix      unknown", "mix after travel")
        .replace("output   unknown", "output -140%..140%")
    )
    diagnostics = Diagnostics()
    papers = bench_cards(path, diagnostics)

    assert papers is not None
    assert (papers.files, list(diagnostics)) == ({}, [])
