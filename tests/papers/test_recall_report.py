"""The report of a recall on paper: its figures, its order, room to sign, and no trace shown as nothing."""

from dataclasses import replace

from pourbook.papers.dossier.dossier_rows import Named
from pourbook.papers.page import Imprint
from pourbook.papers.recall_report import recall_report
from pourbook.papers.recall_values import BalanceLine, RecallItem, RecallReport

VALUES = RecallReport(
    Imprint("Quillmere", "2026-07-08 10:32 BST", 127, "9f3c" * 16, ","),
    127, False, "cork taint", "P-000001-A Isla Farrow", ("cask C-000012-X (Q 206)",), "any positive amount",
    "2026-07-08 10:31", "2026-07-08 10:32", "41.00 s", "5b21" * 16, 200, 150,
    (BalanceLine("+", "came from outside into it", 1_234_567_891, 600_000_001),), -1, 0,
    on_hand=tuple(
        RecallItem(Named(f"V-{number:06}-A"), "bench", 2e-7, 0.5, 1.0, 0.25, 0 if number else 1, "put on hold")
        for number in range(60)
    ),
    others=tuple(Named(f"T-{number:06}-A", "Trial Żółć") for number in range(50)),
)  # fmt: skip


def test_a_long_report_says_all_of_it_in_order(read, well_set):
    """Every item on its page, the balance to the milligram in one piece, the signatures whole on the last page."""
    paper = read(recall_report(VALUES))
    well_set(paper, 30)
    text = paper.text
    assert all(f"V-{number:06}-A" in text for number in range(60))
    assert "A real recall. Reason: cork taint" in text
    (balance,) = [page.text for page in paper.pages if "came from outside into it" in page.text]
    assert "234,567891" in balance
    assert "−0,000001" in balance
    last = paper.pages[-1].text
    assert all(signer in last for signer in ("Signatures", "Found by", "Checked by", "Decided by"))
    assert VALUES.imprint.head_hash in text
    assert all("Vapour of strong spirit ignites" in page.text for page in paper.pages)


def test_a_trace_is_never_shown_as_nothing(read):
    """A share of 0.00002 % is written as less than the least digit; nothing at all is zero."""
    first = read(recall_report(VALUES)).pages[0].text
    assert "<0,001" in first
    assert "50,000" in first
    assert "100,000" in first


def test_equal_values_give_equal_bytes():
    """The paper can be printed again."""
    short = replace(VALUES, on_hand=VALUES.on_hand[:2])
    assert recall_report(short, "Letter") == recall_report(short, "Letter")
