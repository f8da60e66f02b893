"""cards.pdf as it is asked for: on both sides, on one, for one role."""

from __future__ import annotations

import json
from io import BytesIO
from pathlib import Path

import pypdf
import pytest

from command import rigcard
from rigcard.diagnostics import Diagnostics
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig
from samples import GORGE, STOCK


def pages(**asked: str) -> tuple[list[str], list[dict[str, object]]]:
    """The words of each page of the cards of a sample, and what rig.json says of the cards."""
    papers = build_rig(GORGE, Diagnostics(), request=Request(**asked), stock=STOCK)
    assert papers is not None
    reader = pypdf.PdfReader(BytesIO(papers.files["cards.pdf"]))
    return [page.extract_text() for page in reader.pages], json.loads(papers.files["rig.json"])["cards"]


def test_two_sides_come_in_pairs_and_one_side_in_fewer_pages() -> None:
    """Fronts on odd pages, backs on even ones; one-sided no page is white. The issue sheet is first, its back white."""
    both, cards = pages()
    single, _ = pages(flip="")
    leaves = sum(-(-int(str(card["sides"])) // 2) for card in cards[1:])
    sides = sum(int(str(card["sides"])) for card in cards[1:])

    assert cards[0]["card"] == "ISSUE SHEET"
    assert "Issue sheet" in both[0] and not both[1].strip()
    assert len(both) == 2 * (int(str(cards[0]["sides"])) + -(-leaves // 2))
    assert all(f"sheet {number} of" in text for number, text in enumerate(both[2::2], 1))
    assert all("front" in text for text in both[2::2]) and all("back" in text for text in both[3::2])
    assert all(text.strip() for text in single)
    assert sides / 2 <= len(single) - int(str(cards[0]["sides"])) <= leaves


def test_a_role_gets_its_own_cards_without_the_issue_sheet() -> None:
    """Those of the role and of everybody."""
    mine = " ".join(pages(role="operator")[0])

    assert "HEAD OPERATOR" in mine and "EVERYBODY" in mine
    assert "TECHNICIAN" not in mine and "Issue sheet" not in mine


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (("--flip", "top"), "invalid choice: 'top'"),
        (("--one-sided", "--flip", "short"), "not allowed with argument --one-sided"),
    ],
)
def test_wrong_usage_is_told(tmp_path: Path, wrong: tuple[str, ...], told: str) -> None:
    """An edge that paper does not have; both at once."""
    done = rigcard("build", "any.rig", *wrong, at=tmp_path)

    assert done.code == 2
    assert told in done.err
