"""Casks by their history, a leaking cask racked, and stock taken, by pages."""

import re
from datetime import date

from pourbook import Book


def said(answer):
    """The words of the live region in what a task answered."""
    found = re.search(r'<div id="heard"[^>]*data-outcome="(\w+)"[^>]*>(.*?)</div>', answer.text, re.DOTALL)
    return found[1], found[2].strip()


def line(caller, path, text):
    """A line sent by the page itself."""
    return said(caller.post(path, {"scan": text}, headers={"HX-Request": "true"}))


def test_casks_are_chosen_by_history(caller):
    """As `pourbook casks` chooses them; what is asked stays in the form."""
    everything, chosen = caller.get("/casks").text, caller.get("/casks?wood=mulberry").text
    assert "Q 204" in everything
    assert "Q 204" in chosen
    assert "Q 106" in everything
    assert "Q 106" not in chosen
    assert 'value="mulberry"' in chosen


def test_further_casks_are_on_the_next_page(caller, open_house):
    """Those after the last one shown, none twice."""
    with Book.open(open_house.book) as book:
        everyone = [one.view.id for one in book.casks(_everything())]
    after = caller.get(f"/casks?after={everyone[2]}").text
    assert [one for one in everyone if f"/item/{one}" in after] == everyone[3:]


def _everything():
    from pourbook.queries.casks.choosing import Wanted

    return Wanted()


def test_a_passport_tells_what_each_fill_gave(caller, open_house):
    """The figures of the query, as the house writes them."""
    with Book.open(open_house.book) as book:
        cask = book.find("Q 204")
        found = book.provenance("Q 204")
    page = caller.get(f"/item/{cask}/passport").text
    for fill in found.fills:
        for gave in fill.gave:
            assert f"/item/{gave.item.id}" in page


def test_a_stocktake_by_scan(caller, open_house):
    """A place, what lies there, again, something unknown, undone; then it is ended."""
    with Book.open(open_house.book) as book:
        cask = book.find("Q 204")
    opened = caller.post("/stocktakes", {"name": f"Stock of {date(2027, 5, 1)}"})
    address = opened.headers["location"]
    assert "data-task" in caller.get(address).text
    with Book.open(open_house.book) as book:
        place = book.show(cask).facts.get("place", "")
    assert line(caller, f"{address}/scan", f"at {place or 'Row 1'}")[0] == "good"
    first, again = line(caller, f"{address}/scan", cask), line(caller, f"{address}/scan", cask)
    assert first != again
    assert line(caller, f"{address}/scan", "C999999X")[0] == "bad"
    assert line(caller, f"{address}/scan", "undo")[0] == "good"
    assert line(caller, f"{address}/scan", cask)[0] == "good"
    assert caller.post(f"{address}/end").status_code == 303
    assert "data-task" not in caller.get(address).text


def test_a_leaking_cask_is_racked_by_scan(caller, open_house):
    """Three scans; what the book asks about waits for a yes, and what is in hand stays over a reload."""
    with Book.open(open_house.book) as book:
        leaking, sound = book.find("Q 205"), book.find("Q 206")
        before = book.show(leaking).holding.mass_mg
    assert before
    line(caller, "/rack", leaking)
    line(caller, "/rack", sound)
    assert f"/item/{leaking}" in caller.get("/rack").text
    outcome, words = line(caller, "/rack", "all")
    if outcome == "bad":
        assert "not empty" in words
        outcome, _ = line(caller, "/rack", "confirm")
    assert outcome == "good"
    with Book.open(open_house.book) as book:
        assert book.show(leaking).holding.mass_mg == 0
        assert book.verify().faults == ()


def test_what_lies_in_the_way(caller):
    """Asked by name."""
    assert "Q 204" in caller.get("/reach?casks=Q%20204").text
