"""What casks should hold today, against figures worked by hand."""

import pytest

from pourbook import Book, Draft, Gauge, Item, Move, Pour
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.gauging.evaporation import YEAR_US
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.casks.expected_content import expected_contents

CASK = "C000001H"


def house(*later):
    """A cask of 200 l at 63.5 % vol, then what happened to it, by years; the book is asked in its third year."""
    book = Book.create(":memory:", house="Quillmere", clock=lambda: 3 * YEAR_US)
    filled = Pour("fill", (Move("origin", CASK, read_amount("200 l"), read_strength("63.5")),))
    book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(CASK, {}), filled)))
    for years, entry in later:
        book.record(Draft(entry, round(years * YEAR_US), "M. Aldane", confirmed=True))
    return book


def gauged(amount, strength=None):
    return Gauge(CASK, read_amount(amount), strength and read_strength(strength))


def test_two_gauges_give_a_rate():
    """2 % a year and 0.3 % vol a year, by hand: 0.98 x 192.08 = 188.24 l, 62.6 % vol."""
    liquid, by = expected_contents(house((2, gauged("192.08 l", "62.9"))), [CASK])[CASK]
    assert by == "evaporation"
    assert volume_ml(liquid) == pytest.approx(188_238, abs=3)
    assert strength_20c(liquid) == pytest.approx(62.6, abs=0.001)


def test_what_was_drawn_since_is_not_expected_any_more():
    """A twentieth is drawn after the last gauge: a twentieth less is expected."""
    drawn = Pour("draw", (Move(CASK, "loss", read_amount("9.6 l"), facts={"disposition": "sampling"}),))
    liquid, _ = expected_contents(house((2, gauged("192.08 l", "62.9")), (2.5, drawn)), [CASK])[CASK]
    assert volume_ml(liquid) == pytest.approx(188_238 * (192.08 - 9.6) / 192.08, rel=1e-5)


def test_without_a_rate_it_is_the_book_that_says():
    """One measured amount, or a cask that seems to grow, by which it would hold more than can be poured."""
    for book in (house(), house((2, gauged("203 l", "63.5")))):
        assert expected_contents(book, [CASK])[CASK] == (book.show(CASK).holding.liquid, "book")


def test_the_strength_stays_where_only_the_amount_was_measured():
    """A line of strength needs two strengths."""
    liquid, by = expected_contents(house((2, gauged("192.08 l"))), [CASK])[CASK]
    assert (by, round(volume_ml(liquid) / 1000, 2)) == ("evaporation", 188.24)
    assert strength_20c(liquid) == pytest.approx(63.5, abs=0.001)


def test_what_is_empty_stays_empty():
    liquid, by = expected_contents(
        house((2, gauged("192 l", "62.9")), (2.5, Gauge(CASK, 0, None, facts={"disposition": "leak"}))), [CASK]
    )[CASK]
    assert (liquid.mass_mg, by) == (0, "book")
