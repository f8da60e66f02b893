"""Leads that are too short, plugs that do not mate, serial lines that differ."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from mechanical import KINDS, text_of
from rigcard.resolve.mechanics import Route
from rigs import checked, ids, only

# ---- lengths -------------------------------------------------------------------------------------------------------


SHELF = "stock-lengths dc 0.5m, 1m, 2m, 3m, 5m, 7.5m, 10m"
WAY = "; route 4.2m slack 10% loops 2 x 300mm"


def test_f31_cable_pick(tmp_path: Path) -> None:
    """F31: 4.2 m x 1.10 + 2 x 0.3 = 5.22 m; of the shelf 7.5 m with a coil of 2.28 m; 5 m is short by 0.22 m."""
    assert Route(Fraction(4200), Fraction(10), 2, Fraction(300)).needed == 5220
    solved, found = checked(tmp_path, text_of(top=SHELF, p1=f"; length 5m{WAY}"))
    assert solved is None
    fault = only(found, "RC362")
    assert "needs 5.22 m" in fault.message and "short by 220 mm" in fault.message
    assert "7.5 m" in fault.hint and "2.28 m" in fault.hint

    solved, found = checked(tmp_path, text_of(top=SHELF, p1=f"; length 7.5m{WAY}"))
    assert solved is not None and ids(found) == []


def test_a_shelf_in_any_order_gives_the_shortest_that_will_do(tmp_path: Path) -> None:
    """The next stock length is the least of those not under the need; a lead far too long is no fault."""
    shelf = "stock-lengths dc 10m, 5.22m, 7.5m, 1m"
    _, found = checked(tmp_path, text_of(top=shelf, p1=f"; length 5.2m{WAY}"))
    assert "take the stock length 5.22 m" in only(found, "RC362").hint
    for length in ("5.22m", "50m"):
        solved, found = checked(tmp_path, text_of(top=shelf, p1=f"; length {length}{WAY}"))
        assert solved is not None and ids(found) == []


# ---- plugs, serial lines ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("plug", "socket"), list(product("abcd", repeat=2)))
def test_plugs_mate_as_declared(tmp_path: Path, plug: str, socket: str) -> None:
    """A plug goes into its own kind, and between two of which one names the other; into nothing else."""
    fits = plug == socket or {plug, socket} == {"b", "c"}
    _, found = checked(
        tmp_path, text_of(top=KINDS, by=f"by {socket}", p1=f"; length 1m; plugs {plug} to {plug}")
    )

    assert ids(found) == ([] if fits else ["RC361", "RC361"])
    for fault in found:
        assert f"`{plug}`" in fault.message and f"`{socket}`" in fault.message


SERIAL = {  # each alone makes another signal of it
    "rate": ("rate 100000baud", "rate 115200baud", "(100000 baud, 115200 baud)"),
    "polarity": ("polarity inverted", "polarity normal", "(inverted, normal)"),
    "logic": ("logic 3.3V", "logic 5V", "(3.3 V, 5 V)"),
}


@pytest.mark.parametrize("what", SERIAL)
def test_serial_lines_that_differ_are_told_apart(tmp_path: Path, what: str) -> None:
    """The message names what differs and what does not is not named; not stated on one side counts too."""
    ours, theirs, shown = SERIAL[what]
    same = " ".join(first for name, (first, _, _) in SERIAL.items() if name != what)
    for other, expected in ((theirs, shown), ("", shown.split(",")[0] + ", not stated)")):
        text = text_of(line=f"{same} {ours}", top=f'signal odd "Odd" carries 16 channels {same} {other}')
        _, found = checked(tmp_path, text.replace("port remote in line", "port remote in odd"))
        message = only(found, "RC324").message
        assert f"they differ in {what} {expected}" in message
        assert not [name for name in SERIAL if name != what and f"{name} (" in message]


def test_a_lead_at_the_limit_of_its_signal(tmp_path: Path) -> None:
    """600 mm is allowed to a lead of 600 mm, and not to one a tenth of a mm longer."""
    for length, wanted in (("600mm", []), ("600.1mm", ["RC363"])):
        text = text_of(line="up to 600mm").replace("length 500mm", f"length {length}")
        assert ids(checked(tmp_path, text)[1]) == wanted
