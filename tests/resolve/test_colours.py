"""Colours of conductors, against IEC 60757 (tests/reference/conductor_colours.csv)."""

from __future__ import annotations

import csv
from io import StringIO
from itertools import product

import pytest

from mechanical import KINDS, text_of
from rigcard.documents.diagram.leads import colour_words
from rigcard.resolve import colours
from rigs import resolved
from samples import ROOT

COLOURS = list(
    csv.DictReader(StringIO((ROOT / "tests/reference/conductor_colours.csv").read_text(encoding="utf-8")))
)
LETTERS = [row for row in COLOURS if row["kind"] == "letter-code"]


@pytest.mark.parametrize("row", LETTERS, ids=lambda row: row["code"])
def test_letter_codes_are_those_of_iec_60757(row: dict[str, str]) -> None:
    """Every code of the list is taken and means its colour, in small letters too."""
    rig, diagnostics = resolved(
        text_of(top=KINDS, p1=f"; length 1m; plugs a to a; pin 1 to 1 colour {row['code'].lower()}")
    )

    assert list(diagnostics) == []
    (pin,) = rig.cables["P1"].build.pins
    assert pin.colour == row["code"]
    named = {row["colour"].split(" (")[0], row["colour"].replace("-and-", " and ")}
    assert {" and ".join(reversed(words.split(" and "))) for words in named} | named >= {
        colour_words(pin.colour)
    }


def test_no_other_letter_code_is_taken() -> None:
    """Of all 676 pairs of letters, those of the standard's list are valid and no other."""
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    valid = {
        first + second for first in alphabet for second in alphabet if not colours.fault_of(first + second)
    }

    assert valid == {row["code"] for row in LETTERS if len(row["code"]) == 2}


def test_codes_are_joined_in_the_order_of_the_table() -> None:
    """conductor_colours.csv: joined without separator in that order; green and yellow together only, as GNYE."""
    order = [row["code"] for row in LETTERS if len(row["code"]) == 2]
    for first, second in product(order, repeat=2):
        pair = {first, second}
        fault = colours.fault_of(first + second)
        if first + second == "GNYE":
            assert fault is None
        elif pair & {"GN", "YE"}:
            assert fault, first + second
            assert pair != {"GN", "YE"} or fault[1] == "write GNYE"
        else:
            assert (fault is None) == (order.index(first) < order.index(second)), first + second
            if fault and first != second:
                assert fault[1] == f"write {second}{first}"
    assert colours.fault_of("RDBU") is None  # the example of the standard
