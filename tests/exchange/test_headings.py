"""A house's own headings, forms of dates and numbers: what they mean, and what must be said first."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Malformed
from pourbook.exchange.intake.cask_table import CASK_COLUMNS
from pourbook.exchange.intake.gauge_table import GAUGE_COLUMNS
from pourbook.exchange.tables.column_forms import DateColumn, NumberColumn
from pourbook.exchange.tables.date_forms import as_iso
from pourbook.exchange.tables.headings import checked_meaning, near, read_meaning, suggested
from pourbook.exchange.tables.number_forms import in_house_form, other_mark


@pytest.mark.parametrize(
    ("heading", "means"),
    [
        ("Fass Nr.", "ref"), ("Cask no.", "ref"), ("Barrel #", "ref"), ("Litres", "quantity l"),
        ("Vol. (L)", "quantity l"),
        ("Bulk litres", "quantity l"), ("kg", "quantity kg"), ("Net weight kg", "quantity kg"), ("ABV", "strength"),
        ("ABV %", "strength % vol"), ("% vol", "strength % vol"), ("Alkohol [% Vol.]", "strength % vol"),
        ("Proof", "strength"), ("Temp °C", "temperature_c"), ("Temperature (°F)", "temperature_c F"),
        ("Filled", "filled"), ("Fill date", "filled"), ("Capacity (gal)", "capacity_l gal"),
        ("Capacity L", "capacity_l"), ("Warehouse", "place"), ("Bemerkung", "note"), ("wood", "wood"),
    ],
)  # fmt: skip
def test_words_of_the_trade(heading, means):
    """Headings as houses write them (common practice, no source), units included."""
    assert str(suggested(heading, CASK_COLUMNS.all)) == means


def test_the_same_word_is_another_column_in_another_table():
    """A gauge has no filling; its cask is the item, its litres an amount."""
    taken = [str(suggested(heading, GAUGE_COLUMNS.all)) for heading in ("Cask", "Date", "Litres", "Gauged by")]
    assert taken == ["item", "happened", "amount l", "by"]


def test_what_is_no_word_of_the_trade_is_guessed_at_or_not():
    """A slip of the pen is; anything else is left to the person."""
    assert suggested("Warehuose", CASK_COLUMNS.all) is None
    assert str(near("Warehuose", CASK_COLUMNS.all)) == "place"
    assert near("Checked by cooper", CASK_COLUMNS.all) is None


@pytest.mark.parametrize(
    "said", ["", "filled day-first month-first", "quantity decimal-comma decimal-point", "ref " + "x" * 200]
)
def test_what_says_nothing_or_both(said):
    """It is refused with what to write."""
    with pytest.raises(Malformed):
        read_meaning(said)


@pytest.mark.parametrize("said", ["barrels", "quantity hour", "ref l", "strength kg"])
def test_a_meaning_that_the_table_cannot_have(said):
    """No such column, or a unit of something else."""
    with pytest.raises(Malformed):
        checked_meaning(read_meaning(said), CASK_COLUMNS.all)


# -- dates ----------------------------------------------------------------------------------

DAYS = st.dates(date(1930, 1, 1), date(2026, 11, 30))
WRITTEN = {
    "2019-03-04": (lambda day: day.isoformat(), ()),
    "2019/3/4": (lambda day: f"{day.year}/{day.month}/{day.day}", ()),
    "04/03/2019": (lambda day: f"{day:%d/%m/%Y}", ("day-first",)),
    "03/04/2019": (lambda day: f"{day:%m/%d/%Y}", ("month-first",)),
    "4.3.19": (lambda day: f"{day.day}.{day.month}.{day:%y}", ("day-first", "short-years")),
    "4 March 2019": (lambda day: f"{day.day} {day:%B} {day.year}", ()),
    "March 4, 2019": (lambda day: f"{day:%B} {day.day}, {day.year}", ()),
    "4-Mar-19": (lambda day: f"{day.day}-{day:%b}-{day:%y}", ("short-years",)),
    "day number": (lambda day: str((day - date(1899, 12, 30)).days), ("day-numbers",)),
    "day number of 1904": (lambda day: str((day - date(1904, 1, 1)).days), ("day-numbers-1904",)),
}


@given(DAYS, st.sampled_from(sorted(WRITTEN)))
def test_a_day_written_in_any_form_is_that_day(day, form):
    """Once what the form leaves open is said; and no form is read while it is not."""
    write, readings = WRITTEN[form]
    text = write(day)
    if len(text) == 4 and text.isdigit():
        return  # a day number of before 1927 looks like a year
    this_year = 2026
    if "short-years" in readings and not this_year - 100 < day.year <= this_year:
        return
    assert as_iso(text, readings, this_year) == day.isoformat()
    is_either_way = readings in (("day-first",), ("month-first",)) and day.day == day.month
    if readings and not is_either_way:
        assert as_iso(text, (), this_year) is None


@given(DAYS)
def test_a_month_or_a_year_is_its_first_day_only_when_that_is_said(day):
    """`Mar 2019` and `2019`."""
    month, year = f"{day:%b} {day.year}", str(day.year)
    assert as_iso(month, ("first-of-month",), 2026) == day.replace(day=1).isoformat()
    assert as_iso(year, ("first-of-year",), 2026) == day.replace(month=1, day=1).isoformat()
    assert as_iso(month, (), 2026) is as_iso(year, ("first-of-month",), 2026) is None


@given(st.lists(DAYS, min_size=1, max_size=20), st.booleans())
def test_a_column_is_read_in_the_order_that_it_proves(days, day_first):
    """Written in one order, it is read in that, or asked about, and never in the other."""
    column = DateColumn((), 2026)
    texts = [f"{day:%d/%m/%Y}" if day_first else f"{day:%m/%d/%Y}" for day in days]
    for row, text in enumerate(texts, 2):
        column.see(row, text)
    if column.question("Filled") is None:
        assert [column.converted()(text) for text in texts] == [day.isoformat() for day in days]
    else:
        assert all(day.day <= 12 for day in days)
        assert any(day.day != day.month for day in days)


def test_a_column_that_proves_both_orders_is_refused_whatever_is_said():
    """The rows are named, fewest first."""
    column = DateColumn(("day-first",), 2026)
    for row, text in enumerate(("25/03/2019", "26/03/2019", "03/25/2019"), 2):
        column.see(row, text)
    asked = column.question("Filled")
    assert asked[:2] == (4, "03/25/2019")
    assert "rows 2, 3 (25/03/2019)" in asked.problem
    assert "row 4 (03/25/2019)" in asked.problem


def test_two_digits_of_a_year_are_the_latest_that_is_past():
    """In 2026, '75 is 1975."""
    said = ("day-first", "short-years")
    years = [as_iso(f"1.2.{year}", said, 2026) for year in ("26", "27", "75")]
    assert years == ["2026-02-01", "1927-02-01", "1975-02-01"]


@pytest.mark.parametrize("text", ["31/02/2019", "0/3/2019", "4 Blau 2019", "19-03-04", "4/3", "12345678", "spring"])
def test_what_is_no_date(text):
    """It is left as it is, for the reader of times to refuse."""
    assert as_iso(text, ("day-first", "short-years", "first-of-month", "first-of-year", "day-numbers"), 2026) is None


def test_day_60_of_a_spreadsheet_is_not_counted_wrongly():
    """43528 is 4 March 2019, 43528.5 noon of it (ECMA-376 part 1, 18.17.4; read in a copy)."""
    assert as_iso("43528", ("day-numbers",), 2026) == "2019-03-04"
    assert as_iso("43528.5", ("day-numbers",), 2026) == "2019-03-04 12:00:00"
    first = date(1904, 1, 1) + timedelta(days=43528)
    assert as_iso("43528", ("day-numbers-1904",), 2026) == first.isoformat()


# -- numbers --------------------------------------------------------------------------------


@given(
    st.decimals(0, 10**9, places=3, allow_nan=False, allow_infinity=False),
    st.sampled_from(".,"), st.sampled_from(".,"), st.sampled_from(["", "thousands", " ", "'"]), st.integers(0, 3),
)  # fmt: skip
def test_a_number_written_in_any_way_is_that_number(number, mark, house, apart, digits):
    """Read with the mark it was written with, it comes out as the house writes it."""
    separator = other_mark(mark) if apart == "thousands" else apart
    plain = f"{number:.{digits}f}"
    whole, _, fraction = plain.partition(".")
    written = f"{int(whole):,}".replace(",", separator) + (mark + fraction if fraction else "")
    assert in_house_form(written, mark, house) == plain.replace(".", house)


@given(st.lists(st.decimals(0, 99_999, places=3, allow_nan=False, allow_infinity=False), min_size=1), st.integers(0, 3))
def test_a_column_with_the_other_mark_is_asked_about_or_read_rightly(numbers, digits):
    """With thousands set apart by the house's own mark; one in doubt is never read wrong by a thousand."""
    column = NumberColumn((), ".")
    plain = [f"{number:.{digits}f}" for number in numbers]
    written = [f"{float(text):,.{digits}f}".translate(str.maketrans(".,", ",.")) for text in plain]
    for row, text in enumerate(written, 2):
        column.see(row, text)
    if column.question("Litres"):
        column = NumberColumn(("decimal-comma",), ".")
        for row, text in enumerate(written, 2):
            column.see(row, text)
    elif any("," in text for text in written):
        raise AssertionError(written)
    elif any("." in text for text in written):
        return  # 1.234 alone is plain in a house with a point
    convert = column.converted() or (lambda text: text)
    assert [float(convert(text)) for text in written] == [float(text) for text in plain]


def test_a_number_in_doubt_is_asked_about():
    """1,234 may be 1234 or 1.234; where another cell shows what the point is, it is 1234."""
    column = NumberColumn((), ".")
    column.see(2, "1,234")
    assert "is 1,234 1234 or 1.234?" in column.question("Litres").problem
    column.see(3, "198.5")
    assert column.question("Litres") is None
    assert column.converted()("1,234") == "1234"


@pytest.mark.parametrize(
    ("beside", "asks"),
    [
        ("1.234", "?decimal-point/decimal-comma"), ("999.000", "?decimal-point/decimal-comma"),
        ("0.123", "decimal-comma"), ("1234.567", "decimal-comma"), ("12.5", "decimal-comma"),
        ("012.345", "decimal-comma"), ("1,234", "?decimal-point/decimal-comma"), ("1234", "decimal-comma"),
    ],
)  # fmt: skip
def test_the_other_mark_leaves_in_doubt_what_may_be_thousands(beside, asks):
    """Beside 12,5 three digits after a mark may be either; any other number can only be read one way."""
    column = NumberColumn((), ".")
    column.see(2, "12,5")
    column.see(3, beside)
    assert column.asks() == asks
