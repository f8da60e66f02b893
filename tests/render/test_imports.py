"""What a build loads: a library's module by itself may be used, its whole package costs every build more than it."""

import subprocess
import sys
from pathlib import Path

import pytest
from reportlab.graphics.barcode import qrencoder

from rigcard.render import pdf
from samples import ROOT

BUILD = """
import sys
from rigcard.cli import main
code = main(sys.argv[1:])
print(*sorted(sys.modules), sep="\\n")
raise SystemExit(code)
"""
HEAVY = ("reportlab.platypus", "reportlab.graphics", "urllib.request", "xml.sax", "email")


def test_a_build_loads_no_package_for_one_module(tmp_path: Path) -> None:
    command = [sys.executable, "-c", BUILD, "build", str(ROOT / "samples" / "gorge.rig"), "-o", str(tmp_path)]
    run = subprocess.run(command, capture_output=True, text=True, check=True)
    loaded = run.stdout.splitlines()

    assert {"reportlab.pdfgen.canvas", "graphviz"} <= set(loaded), "the papers were drawn"
    assert [name for name in loaded if name in HEAVY] == []


@pytest.mark.parametrize(("version", "text"), [(1, "HS-014-G"), (2, "RX 7/é"), (3, "0123456789" * 3)])
def test_codes_are_those_of_the_whole_package(version: int, text: str) -> None:
    """The module that is loaded by itself makes the squares that it makes inside of its package."""
    squares = []
    for encoder in (qrencoder, pdf._encoder()):
        code = encoder.QRCode(version, encoder.QRErrorCorrectLevel.M)
        code.addData(text)
        code.make()
        squares.append(code.modules)

    assert squares[0] == squares[1]
    assert len(squares[0]) == 17 + 4 * version
