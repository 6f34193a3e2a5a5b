"""The report of a recall on paper: its figures, its order, room to sign, and no trace shown as nothing."""

from dataclasses import replace

from pourbook.book.contents import Holding
from pourbook.book.items import ItemView
from pourbook.codes.identifiers import hyphened, kind_of, write
from pourbook.liquid import Liquid
from pourbook.papers.page import Imprint
from pourbook.papers.recall_report import RecallReport, recall_report
from pourbook.queries.recalls.affected import NO_SHARES, Affected, AffectedItem, Shares
from pourbook.queries.recalls.recall_balance import Balance
from pourbook.queries.recalls.recalls import Finding, Times
from pourbook.queries.recalls.suspects import Beginning
from pourbook.times import house_zone

VIALS = [write("vial", number) for number in range(60)]
TRIALS = [write("trial", number) for number in range(50)]


def item(identifier, facts, mass_mg, now):
    view = ItemView(identifier, kind_of(identifier), facts, Holding(mass_mg, mass_mg // 2, 0, 1, 0))
    return AffectedItem(view, False, Shares(1.0, 1.0, 1.0), now)


ITEMS = (
    *(item(one, {"place": "bench"}, 240_000 if n else 2, Shares(2e-7, 0.5, 1.0)) for n, one in enumerate(VIALS)),
    *(item(one, {"ref": "Trial Żółć"}, 0, NO_SHARES) for one in TRIALS),
)
FOUND = Affected((), Beginning({}, frozenset(), frozenset(), {}), 0.0, ITEMS, (), {})
CAME, STAYED = Liquid(1_234_567_891, 600_000_001), Liquid(1_234_567_892, 600_000_001)
VALUES = RecallReport(
    Imprint("Quillmere", "2026-07-08 10:32 BST", 127, "9f3c" * 16, ","),
    127, False, "cork taint", "P-000001-A Isla Farrow", ("cask C-000012-X (Q 206)",), "",
    Times(None, 0, 41_000_000, 42_000_000), "5b21" * 16,
    frozenset(VIALS), Finding(FOUND, {}, Balance(from_outside=CAME, on_hand=STAYED)), house_zone("UTC"),
)  # fmt: skip


def test_a_long_report_says_all_of_it_in_order(read, well_set):
    """Every item on its page, the balance to the milligram in one piece, the signatures whole on the last page."""
    paper = read(recall_report(VALUES))
    well_set(paper, 30)
    text = paper.text
    assert all(hyphened(one) in text for one in VIALS)
    assert "Actual recall. Reason: cork taint" in text
    (balance,) = [page.text for page in paper.pages if "received from outside" in page.text]
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
    short = replace(VALUES, found=VALUES.found._replace(affected=FOUND._replace(items=ITEMS[:2])))
    assert recall_report(short, "Letter") == recall_report(short, "Letter")
