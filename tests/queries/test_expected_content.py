"""What casks should hold today, against figures worked by hand."""

import pytest

from pourbook import Book, Draft, Gauge, Item, Move, Pour
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.gauging.evaporation import YEAR_US
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.casks.expected_content import expected_contents, expected_with_usual

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


def test_a_cask_that_seems_to_grow_holds_what_the_book_has():
    """It would hold more than can be poured."""
    book = house((2, gauged("203 l", "63.5")))
    assert expected_contents(book, [CASK])[CASK] == (book.show(CASK).holding.liquid, "book")


def test_without_a_rate_it_loses_what_is_usual():
    """One measured amount three years ago: 2 % a year where no cask has a rate, by hand 200 x 0.98^3 = 188.24 l."""
    contents, usual = expected_with_usual(house(), [CASK])
    assert (contents[CASK].by, usual) == ("usual loss", (0.02, 0))
    assert volume_ml(contents[CASK].liquid) == pytest.approx(188_238, abs=3)
    assert strength_20c(contents[CASK].liquid) == pytest.approx(63.5, abs=0.001)


def test_what_is_usual_is_the_median_of_the_house():
    """Others lose 1, 3 and 10 % a year: 200 x 0.97^3 = 182.53 l, by hand."""
    book, others = house(), ("C000002F", "C000003D", "C000004B")
    for other, left in zip(others, ("99", "97", "90"), strict=True):
        filled = Pour("fill", (Move("origin", other, read_amount("100 l"), read_strength("63.5")),))
        book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(other, {}), filled)))
        gauge = Gauge(other, read_amount(f"{left} l"), read_strength("63.5"))
        book.record(Draft(gauge, YEAR_US, "M. Aldane", confirmed=True))
    contents, usual = expected_with_usual(book, [CASK])
    assert (usual.yearly, usual.casks) == (pytest.approx(0.03, abs=1e-5), 3)
    assert volume_ml(contents[CASK].liquid) == pytest.approx(182_535, abs=10)


def test_what_was_measured_today_is_what_the_book_has():
    """Nothing was lost since."""
    book = house((2.999, gauged("190 l", "63.0")))
    contents, usual = expected_with_usual(book, [CASK], round(2.9995 * YEAR_US))
    assert (contents[CASK].by, usual) == ("evaporation", None)
    book = house()
    assert expected_contents(book, [CASK], 0)[CASK] == (book.show(CASK).holding.liquid, "book")


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
