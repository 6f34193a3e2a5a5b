"""Suspicions and recalls at the station: figures are the book's, nothing is recorded before somebody is sure."""

import re

import pytest

from pourbook import Book
from pourbook.book.recall_scope import Suspect

CASK = "C000001H"


@pytest.fixture(scope="module")
def book(open_house):
    with Book.open(open_house.book) as book:
        yield book


@pytest.mark.parametrize(
    "suspect",
    [
        Suspect("item", CASK),
        Suspect("person", "Isla Farrow"),
        Suspect("origin", "malt spirit"),
        Suspect("place", "Warehouse 1"),
    ],
    ids=lambda one: one.kind,
)
def test_what_a_suspicion_reaches_is_what_the_book_finds(caller, book, suspect):
    """Counts, every item on hand, and a balance to the milligram."""
    page = caller.get("/affected", params={suspect.kind: suspect.name}).text
    found = book.affected((suspect,))
    assert f"<dt>items affected</dt><dd>{found.figures['items']}</dd>" in page
    on_hand = page[page.index('aria-label="On hand"') : page.index("</table>")]
    listed = re.findall(r'<th scope="row"><a class="item" href="/item/(\w+)"', on_hand)
    assert listed == [one.item.id for one in found.affected.on_hand]
    kg = f"{found.balance.on_hand.mass_mg / 1e6:.6f}"
    assert f'<td class="n">{kg}</td>' in page


def test_a_suspicion_of_nothing_is_refused_and_one_of_a_window_is_of_every_pour(caller, book):
    assert caller.get("/affected", params={"water": "no such water"}).status_code == 422
    assert caller.get("/affected", params={"item": "L-000001-X"}).status_code == 422
    page = caller.get("/affected", params={"from": "2026-06-01", "to": "2026-06-30"})
    assert (page.status_code, "every pour" in page.text) == (200, True)
    assert "What is suspect" in caller.get("/affected").text


def test_a_recall_is_looked_at_first_then_recorded_held_and_released(house_with_accounts, as_role):
    """By the blender: a mock one with everything on hold; its report; its release, with a reason."""
    blender = as_role("blender")
    asked = {"item": CASK, "kind": "mock", "reason": "yearly exercise", "hold": "yes", "within": "4"}
    with Book.open(house_with_accounts.book) as book:
        head, found = book.head(), book.affected((Suspect("item", CASK),))
        looked = blender.post("/recalls", asked)
        assert f"{len(found.affected.items)} items are affected" in looked.text
        assert f"{len(found.affected.on_hand)} would be put on hold" in looked.text
        assert book.head() == head
        recalled = blender.post("/recalls", asked | {"sure": "yes"})
        number = int(re.fullmatch(r"/recall/(\d+)", recalled.headers["location"])[1])
        held = {one.item.id for one in found.affected.on_hand}
        assert all("held" in book.show(item).facts for item in held)
        page = blender.get(f"/recall/{number}").text
        assert ("yearly exercise" in page, "4 h: met" in page) == (True, True)
        assert f'href="/recall/{number}"' in blender.get("/recalls").text
        assert blender.get(f"/recall/{number}/report.pdf").content[:5] == b"%PDF-"
        auditor = as_role("auditor")
        assert auditor.get(f"/recall/{number}").status_code == 200
        assert "Release it" not in auditor.get(f"/recall/{number}").text
        assert as_role("technician").post(f"/recall/{number}/release", {"reason": "x"}).status_code == 403
        assert blender.post(f"/recall/{number}/release", {"reason": ""}).status_code == 422
        assert blender.post(f"/recall/{number}/release", {"reason": "laboratory: clean"}).status_code == 303
        assert not any("held" in book.show(item).facts for item in held)
        assert book.verify().faults == ()


@pytest.mark.parametrize(
    "wrong",
    [{"reason": ""}, {"kind": "real"}, {"item": ""}, {"item": "nothing"}, {"threshold": "2"}, {"within": "-4"},
     {"suspected": "long ago"}],
    ids=lambda one: next(iter(one)),
)  # fmt: skip
def test_a_recall_that_makes_no_sense_is_refused(caller, book, wrong):
    head = book.head()
    asked = {"item": CASK, "kind": "mock", "reason": "exercise", "sure": "yes"} | wrong
    assert 400 <= caller.post("/recalls", asked).status_code < 500
    assert book.head() == head


def test_no_recall_of_that_number(caller):
    assert [caller.get(f"/recall/{one}").status_code for one in ("1", "99999", "x")] == [404, 404, 400]
    assert caller.get("/recall/1/report.pdf").status_code == 404
