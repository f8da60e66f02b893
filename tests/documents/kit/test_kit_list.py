"""The kit list, read back by other programs."""

from __future__ import annotations

import csv
import re
from decimal import ROUND_HALF_UP, Decimal
from io import StringIO
from pathlib import Path

import pytest

from cardlines import squeezed
from mechanical import FACE, KINDS, TWO, on_cards, said, text_of
from papers import ODD, SamplePapers, odd_rig
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Text
from rigcard.documents.kit.kit_list import HEADER, kit_csv, kit_document
from rigcard.documents.labels.asset_codes import asset_code
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved
from rigs import checked, ids
from samples import SAMPLES

pytest_plugins = ("papers",)

# ---- cases and the kit list --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_kit_list_of_a_sample(path: Path) -> None:
    """Substitution in three words, no value that nobody stated, blanks to fill in, packs and handsets carried by hand."""
    solved = check_rig(path, Diagnostics()).solved
    assert solved is not None
    rows = list(csv.DictReader(StringIO(kit_csv(solved), newline="")))

    assert {row["substitution"] for row in rows} <= {"EXACT", "SAME TYPE", "ANY"}
    assert {row["value"] for row in rows} == {""}
    assert {row[name] for row in rows for name in ("out", "back", "wrap", "fault")} == {""}
    for row in rows:
        unit = solved.rig.units.get(row["id"])
        if unit and (unit.asset or unit.serial) and unit.role != "pack":
            assert row["substitution"] == "EXACT"
    text = "".join(said(page) for page in kit_document(FACE, solved).pages)
    assert not re.search("value|price|worth", text, re.IGNORECASE), "papers travel with the cases"
    shown = {
        mark.text for page in kit_document(FACE, solved).pages for mark in page.marks if isinstance(mark, Text)
    }
    assert not shown & {name for name in solved.rig.units if name.islower()}, (
        "names of the file are for the file"
    )
    travels = text.partition("Travelswithaperson")[2]  # the list may go on overleaf, below its title again
    for unit in solved.rig.units.values():
        if unit.role in ("handset", "pack"):
            assert squeezed(unit.title) in travels
    cases = [row["case"] for row in rows]
    order = list(dict.fromkeys(cases))
    assert cases == sorted(cases, key=order.index), "a case is opened once"
    assert "" not in order[:-1], "what is in no case comes last"


CROSSED = "; plugs a to a; pin 1 to 2; pin 2 to 1"


def test_look_alikes_are_on_the_list_and_the_card(tmp_path: Path) -> None:
    """Same plugs, other wiring: named as a group on the kit list and on the card of special leads, with the marks."""
    text = text_of(
        top=KINDS, by="by a", p1=f'; length 1m{CROSSED}; mark "three rings"', units=TWO.format("; plugs a to a")
    )
    solved, found = checked(tmp_path, text)
    assert solved is not None and ids(found) == []
    kit = "".join(said(page) for page in kit_document(FACE, solved).pages)

    assert squeezed("P1 (mark: three rings); not P2 (no mark): same plugs, other wiring.") in kit
    card = on_cards(solved, "Packs, chargers and more")
    assert squeezed("Special leads") in card
    assert squeezed("P1 (mark: three rings)") in card and squeezed("P2 (no mark)") in card
    assert squeezed("P1: Power (mark: three rings)") in card


# ---- lists -------------------------------------------------------------------------------------------------------


def kit_rows(solved: Solved) -> list[dict[str, str]]:
    """The kit list as the csv module reads it."""
    return list(csv.DictReader(StringIO(kit_csv(solved), newline="")))


def test_kit_list_is_read_back(papers: SamplePapers) -> None:
    """Every unit and cable once, with its words; masses and lengths as numbers; totals as on the printed list."""
    rig = papers.solved.rig
    rows = kit_rows(papers.solved)

    assert set(rows[0]) == set(HEADER)
    spares = [f"{name}-S{n}" for name, cable in rig.cables.items() for n in range(1, cable.build.spares + 1)]
    uses = papers.solved.power.packs if papers.solved.power else ()
    packs = {use.unit: use.packs + use.spares - 1 for use in uses if use.packs is not None}
    packs |= {
        unit.name: max(packs.get(unit.name, 0), len(unit.packs) - 1)
        for unit in rig.units.values()
        if unit.packs
    }
    more = [f"{name}.{number + 2}" for name, count in packs.items() for number in range(count)]
    assert sorted(row["id"] for row in rows) == sorted(
        [*rig.units, *rig.spare_units, *rig.cables, *spares, *more]
    )
    by_id = {row["id"]: row for row in rows}
    mass = Decimal(0)
    for name, unit in rig.units.items():
        row = by_id[name]
        assert (row["item"], row["asset"], row["serial"], row["case"]) == (
            unit.title,
            unit.asset,
            unit.serial,
            unit.case,
        )
        assert row["scan"] == (asset_code(unit.asset) if unit.asset else ""), (
            "what a scanner reads from its label"
        )
        mass += Decimal(row["mass kg"] or 0)
    for name, cable in rig.cables.items():
        assert by_id[name]["item"] == cable.title
        mass += Decimal(by_id[name]["mass kg"] or 0) * (1 + cable.build.spares)
        assert cable.length == Decimal(by_id[name]["length mm"])
    listed = {
        f"{unit.name}.{place}": number
        for unit in rig.units.values()
        for place, number in enumerate(unit.packs, 1)
    }
    for name in more:
        assert by_id[name]["asset"] == listed.get(name, ""), "a number that nobody stated is to be written in"
        assert by_id[name]["serial"] == ""
        mass += Decimal(by_id[name]["mass kg"] or 0)
    pieces = {name: 1 + packs.get(name, 0) * (unit.role == "pack") for name, unit in rig.units.items()}
    expected = sum(((unit.model.mass or 0) * pieces[name] for name, unit in rig.units.items()), start=0)
    expected += sum((cable.build.mass or 0) * (1 + cable.build.spares) for cable in rig.cables.values())
    assert mass == expected
    text = squeezed(
        "".join(
            mark.text for page in papers.documents["kit"].pages for mark in page.marks if isinstance(mark, Text)
        )
    )
    counts = f"{len(rig.units)}units,{len(rig.cables)}cables"
    beside = f",{len(more)}extrapack{'s' * (len(more) != 1)}" if more else ""
    beside += f",{len(spares)}sparecable{'s' * (len(spares) != 1)}" if spares else ""
    beside += f",{len(rig.spare_units)}spareunit{'s' * (len(rig.spare_units) != 1)}" if rig.spare_units else ""
    mass += sum((Decimal(by_id[name]["mass kg"] or 0) for name in rig.spare_units), start=Decimal(0))
    tenth = mass.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP).normalize()  # of the exact sum
    assert f"{len(rows)}pieces:{counts}{beside};{tenth:f}kg" in text


def test_no_cell_is_a_formula(tmp_path: Path, papers: SamplePapers) -> None:
    """No cell begins with a character that a spreadsheet runs: = + - @ tab return (common practice, no source)."""
    for solved in (papers.solved, odd_rig(tmp_path)):
        for row in kit_rows(solved):
            assert not [cell for cell in row.values() if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]
    assert {row["item"] for row in kit_rows(odd_rig(tmp_path))} >= {ODD[0], f"'{ODD[3]}", f"'{ODD[4]}"}


# ---- the net against nodal analysis --------------------------------------------------------------------------------


def test_the_kit_list_sums_packs_by_class(tmp_path: Path) -> None:
    """F29 on the kit list: exactly 100 Wh is in the lower class, a tenth above is not; the airline is asked."""
    from rigcard.documents.kit.kit_list import kit_csv, kit_document

    models = "\n".join(
        f'model pack-{name} "Pack {name}" {{ role pack; port out-1 out amp; supplies 12V..16.8V; capacity {energy} }}\n'
        f'unit {name} is pack-{name} "Pack {name}"'
        for name, energy in (("a", "100Wh"), ("b", "100.1Wh"), ("c", "160Wh"), ("d", "10Ah at 22.2V"))
    )
    solved, _ = checked(
        tmp_path, f'rig "Packs" {{ revision "A" }}\nsignal amp "Power" carries power\n{models}\n'
    )
    assert solved
    document = kit_document(EmbeddedTypeface(), solved)
    words = " ".join(mark.text for page in document.pages for mark in page.marks if isinstance(mark, Text))

    assert "Packs: 1 up to 100 Wh, 100 Wh together; 2 over 100 to 160 Wh, 260.1 Wh together;" in words
    assert "1 over 160 Wh, 222 Wh together. Ask the airline." in words
    assert "100.1" in kit_csv(solved)
