"""A batch is tasted beside its trial, approved or not, bottled and sent: by the command, as people do it."""

import json
import re
import shlex

import pytest
from command import Desk, here

from pourbook import Book
from pourbook.book.journal import journal
from pourbook.panels.discrimination import judged, likeness
from pourbook.queries.approvals.approval import approval

PARTS = "--part 'one=7 in 6.5..7.5:rich' --part 'two=93:base'"
SCALED = "scale-up first --total '100 l' --to 46 --use one='Row 1' --use two='Row 2'"
TASTERS = [f"Taster {number}" for number in range(1, 25)]


@pytest.fixture
def desk(tmp_path):
    """Two casks of kinds, a trial of them and a batch by it, reduced; the house wants approvals, by somebody else."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    for line in (
        f"create {desk.book} --house Quillmere --set zone=UTC --set approval=needed --set pourer_approves=no",
        "cask 'Row 1' --fill '200 l' --strength 63.5 --in-wood 0 --spirit malt --when 2012-03-01",
        "cask 'Row 2' --fill '200 l' --strength 62 --in-wood 0 --spirit rye --when 2014-10-05",
        "draw 'Row 1' '300 ml' --ref one --when 2024-01-10",
        "draw 'Row 2' '900 ml' --ref two --when 2024-01-10",
        f"trial --recipe Ash {PARTS} --total '800 ml' --to 46 --ref first --when 2024-01-11",
        "pour first one '40 ml' two '530 ml' water '190 ml' --when 2024-01-11T10:00",
        f"{SCALED} --record --ref 'Vatting 1' --when 2024-02-01",
    ):
        desk.does(line)
    return desk


def refused(desk, line):
    ran = here(*shlex.split(line), book=desk.book)
    assert ran.status
    return ran


def tasted(desk, right, session="May"):
    """A triangle test of batch and trial by 24 assessors, so many of whom pick the odd glass."""
    people = " ".join(f"--assessor '{one}'" for one in TASTERS)
    desk.does(f"draw 'Vatting 1' '900 ml' --ref '{session} glass' --when 2024-02-10")
    desk.does(
        f"session open {session} --glass first --glass '{session} glass' {people} --test triangle --amount '2 ml'"
        " --when 2024-02-11T09:00"
    )
    with Book.open(desk.book) as book:
        from pourbook.book.sessions import key_to, session_named

        flights, _ = key_to(book.store, session_named(book.store, session))
    for number, flight in enumerate(flights):
        items = [glass.item for glass in flight.glasses]
        odd = next(place for place, item in enumerate(items) if items.count(item) == 1)
        place = odd if number < right else (odd + 1) % 3
        code = flight.glasses[place].code
        desk.does(f"session ballot {session} --code {code} --rank 1 --when 2024-02-11T10:00")
    desk.does(f"session close {session} --confirm --when 2024-02-11T12:00")


def test_a_batch_that_nobody_tells_from_its_trial(desk):
    """Four of 24 right; exact p of likeness within a d' of 1 and its power, again by the statistics alone."""
    tasted(desk, 4)
    told = desk.asks("approval 'Vatting 1'")
    (test,) = (one for one in told["grounds"] if one["name"] == "test")
    shown = judged(likeness("triangle", d_prime=1.0), 24, 4)
    assert (test["about"], test["stands"], test["figures"]["right"]) == ("May", "met", "4")
    assert test["figures"]["p_alike"] == f"{shown.p_value:.4f}"
    assert test["figures"]["power"] == f"{shown.plan.power:.4f}"
    assert test["figures"]["verdict"] == "alike"
    assert "triangle: 4 of 24 right, alike (p" in desk.does("approval 'Vatting 1'").out


@pytest.mark.parametrize(("right", "stands"), [(17, "not met"), (10, "unknown")])
def test_a_batch_that_is_told_apart_and_one_that_the_test_says_nothing_of(desk, right, stands):
    tasted(desk, right)
    told = desk.asks("approval 'Vatting 1'")
    assert [one["stands"] for one in told["grounds"] if one["name"] == "test"] == [stands]
    assert desk.asks("approval 'Vatting 1' --at 2024-02-10")["grounds"][-1]["name"] != "test"


def test_the_way_of_a_batch_to_the_customer(desk, tmp_path):
    """Refused before it is approved, and by who poured it; approved on frozen figures; sent; corrected."""
    tasted(desk, 4)
    desk.does("bottle 'Vatting 1' --count 100 --size '700 ml' --ref 'Lot 1' --lot-mark L24-1 --when 2024-03-01")
    send = "despatch 'Lot 1' 10 --customer 'Harbour Row' --when"
    assert "is not approved, so it does not leave the house" in refused(desk, f"{send} 2024-03-02").err
    assert desk.asks("due")["approvals"][0]["approval"]["stands"] == "not approved"
    assert "wants somebody else" in refused(desk, "approve 'Vatting 1' --when 2024-03-03 --confirm").err
    boss = "--who 'Pankracy Wiżbor' --when 2024-03-03"
    said = desk.does(f"approve 'Vatting 1' {boss} --confirm").out
    assert ": approved; grounds: " in said
    with Book.open(desk.book) as book:
        entry = next(one for one in journal(book.store, 1) if one.kind == "approval")
        case = approval(book, "Vatting 1", at_us=entry.happened_us)
    frozen = [
        (one["name"], one["about"], one["stands"], one.get("figures", {})) for one in entry.entry["body"]["grounds"]
    ]
    assert frozen == [tuple(one) for one in case.grounds]
    desk.does(f"{send} 2024-03-04")
    shown = desk.does("show 'Lot 1'").out
    assert "(entry 45), as B-000001-Y that it was bottled from" in shown
    assert "approved B-000001-Y on 7 grounds" in desk.does("journal --kind approval").out
    first = next(pour for pour in desk.asks("trace 'Vatting 1' --pours")["pours"] if pour["target"] == "B000001Y")
    desk.does(f"replace {first['entry']} --amount '12 l' --reason 'read again' --confirm")
    told = desk.does("show 'Vatting 1'").out
    assert "ON OTHER FIGURES than the book has now" in told
    assert re.search(r"strength: \d+\.\d\d, now \d+\.\d\d % vol\n", told)
    (due,) = desk.asks("due")["approvals"]
    assert due["id"] == "B000001Y"
    assert any(one["name"] == "part" for one in due["approval"]["changed"])


def test_the_sheet_says_what_the_screen_says(desk, tmp_path):
    import pypdfium2

    tasted(desk, 4)
    told = desk.asks(f"approval 'Vatting 1' --claim 'age 9' -o {tmp_path}/sheet.pdf")
    pages = pypdfium2.PdfDocument(tmp_path / "sheet.pdf")
    text = re.sub(r"\s+", " ", " ".join(page.get_textpage().get_text_bounded() for page in pages))
    for one in told["grounds"]:
        assert one["stands"] in text
        assert all(
            value in text for name, value in one["figures"].items() if name in ("actual", "low", "high", "trial")
        )
    assert "check with your authority" in text.lower()
    assert "Decided by" in text
    assert told["paper"]["entry"] == desk.asks("journal-hash")["entries"]
    pages.close()


def test_a_rejected_batch_says_why(desk):
    desk.does("approve 'Vatting 1' --reject --reason 'bitter' --who 'Pankracy Wiżbor' --when 2024-03-03")
    assert "rejected by Pankracy Wiżbor on 2024-03-03 00:00 UTC" in desk.does("show 'Vatting 1'").out
    desk.does("bottle 'Vatting 1' --count 10 --size '700 ml' --ref 'Lot 1' --when 2024-03-04")
    said = refused(desk, "despatch 'Lot 1' 10 --customer 'Harbour Row' --when 2024-03-05").err
    assert "which it was bottled from) is rejected in entry" in said
    assert json.dumps(desk.asks("show 'Vatting 1'")["approval"]["stands"]) == '"rejected"'
