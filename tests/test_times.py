"""Times: house time in and out, UTC in between, anniversaries instead of days divided."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Ambiguous, Malformed, OutOfRange
from pourbook.times import (
    DAY_US,
    add_years,
    completed_years,
    day_shown,
    house_zone,
    is_date_only,
    moment_of,
    now_us,
    read_time,
    shown,
    written,
)

LONDON = house_zone("Europe/London")
CHICAGO = house_zone("America/Chicago")
moments = st.integers(-DAY_US * 365 * 450, DAY_US * 365 * 450)


def utc(*parts):
    """Microseconds of a moment in UTC."""
    return int((datetime(*parts, tzinfo=UTC) - datetime(1970, 1, 1, tzinfo=UTC)) / timedelta(microseconds=1))


@pytest.mark.parametrize(
    ("text", "zone", "expected"),
    [
        ("2024-07-01 14:30", LONDON, utc(2024, 7, 1, 13, 30)),  # summer time
        ("2024-01-01 14:30", LONDON, utc(2024, 1, 1, 14, 30)),
        ("2024-07-01", LONDON, utc(2024, 6, 30, 23, 0)),
        ("2024-07-01", CHICAGO, utc(2024, 7, 1, 5, 0)),
        ("2024-07-01T14:30Z", CHICAGO, utc(2024, 7, 1, 14, 30)),
        ("2024-07-01t14:30z", CHICAGO, utc(2024, 7, 1, 14, 30)),
        ("2024-07-01 14:30+01:00", CHICAGO, utc(2024, 7, 1, 13, 30)),
        ("2024-07-01 14:30:15.25", LONDON, utc(2024, 7, 1, 13, 30, 15, 250_000)),
        (" 2024-02-29 ", LONDON, utc(2024, 2, 29)),
        ("1969-12-31 23:00", house_zone("UTC"), -3_600_000_000),
    ],
)
def test_times_are_read_in_house_time(text, zone, expected):
    """A time without an offset is house time; a date alone is its first instant."""
    assert read_time(text, zone) == expected


@pytest.mark.parametrize(
    "text",
    ["", "yesterday", "01.07.2024", "7/1/2024", "2024-13-01", "2023-02-29", "2024-07-01 25:00", "20240701",
     "2024-W27-1", "2024-07-01 14", "2024-07-01 14:30 BST", "２０２４-07-01", "2024-07-01 14:30+99:00"],
)  # fmt: skip
def test_other_text_is_no_time(text):
    """Refused with the form that is meant: what a spreadsheet made of a date is never guessed at."""
    with pytest.raises(Malformed) as refusal:
        read_time(text, LONDON)
    assert "year first" in refusal.value.remedy


@pytest.mark.parametrize("text", ["0024-07-01", "0001-01-01", "9999-12-31 23:59", "3024-07-01", "1204-07-01 12:00"])
def test_a_slip_in_the_year_is_caught(text):
    """Before the time goes anywhere: no house records what happened in the year 24."""
    for zone in (LONDON, CHICAGO, house_zone("Asia/Tokyo")):
        with pytest.raises(OutOfRange, match="lies in the year"):
            read_time(text, zone)


@pytest.mark.parametrize(
    ("text", "zone", "readings"),
    [
        # Directive 2000/84/EC, articles 2 and 3: the last Sundays in March and in October, at 01:00 GMT
        ("2024-10-27 01:30", "Europe/London", [("+01:00", (2024, 10, 27, 0, 30)), ("+00:00", (2024, 10, 27, 1, 30))]),
        ("2024-03-31 01:30", "Europe/London", [("+00:00", (2024, 3, 31, 1, 30)), ("+01:00", (2024, 3, 31, 0, 30))]),
        ("2024-10-27T02:00", "Europe/Paris", [("+02:00", (2024, 10, 27, 0, 0)), ("+01:00", (2024, 10, 27, 1, 0))]),
        # RFC 5545, 3.3.5, takes the first of these of each: 01:30-04:00 and 03:30-04:00
        (
            "2007-11-04 01:30",
            "America/New_York",
            [("-04:00", (2007, 11, 4, 5, 30)), ("-05:00", (2007, 11, 4, 6, 30))],
        ),
        (
            "2007-03-11 02:30",
            "America/New_York",
            [("-05:00", (2007, 3, 11, 7, 30)), ("-04:00", (2007, 3, 11, 6, 30))],
        ),
    ],
)
def test_an_hour_that_is_skipped_or_there_twice_is_asked_about(text, zone, readings):
    """The remedy has both readings, and each of them, typed, is the moment that it says."""
    house = house_zone(zone)
    with pytest.raises(Ambiguous, match="twice" if "-10-" in text or "-11-" in text else "not there") as asked:
        read_time(text, house)
    for offset, parts in readings:
        assert f"'{text}{offset}' ({shown(utc(*parts), house)})" in asked.value.remedy
        assert read_time(text + offset, house) == utc(*parts)


@pytest.mark.parametrize(
    ("text", "zone"),
    [("2024-10-27 00:59", LONDON), ("2024-10-27 02:00", LONDON), ("2024-03-31 00:59", LONDON),
     ("2024-03-31 02:00", LONDON), ("2024-03-10 01:59", CHICAGO), ("2024-03-10 03:00", CHICAGO)],
)  # fmt: skip
def test_the_hours_beside_it_are_read_as_ever(text, zone):
    """Directive 2000/84/EC; 15 U.S.C. 260a: the second Sunday in March, at 2 o'clock."""
    assert shown(read_time(text, zone), zone).startswith(text)


def test_a_date_alone_begins_with_its_first_instant_whatever_the_clocks_do():
    """In Havana the hour after midnight was there twice on 2024-11-03, and not at all on 2024-03-10 (IANA tzdata)."""
    havana = house_zone("America/Havana")
    assert read_time("2024-11-03", havana) == utc(2024, 11, 3, 4)
    assert read_time("2024-03-10", havana) == utc(2024, 3, 10, 5)
    assert shown(read_time("2024-03-10", havana), havana) == "2024-03-10 01:00 CDT"


@given(moments)
def test_what_is_written_is_read_again(moment):
    """To the microsecond, before and after 1970."""
    assert moment_of(written(moment)) == moment
    assert written(moment).endswith("Z")
    assert read_time(written(moment), CHICAGO) == moment


@given(moments, moments)
def test_written_seconds_sort_like_moments(one, other):
    """Of whole seconds: text of one length in the order of time."""
    one, other = one // 10**6 * 10**6, other // 10**6 * 10**6
    assert (written(one) < written(other)) == (one < other)


def test_times_are_shown_in_house_time():
    """To the minute, with the abbreviation of the zone."""
    assert shown(utc(2024, 7, 1, 13, 30), LONDON) == "2024-07-01 14:30 BST"
    assert shown(utc(2024, 1, 1, 0, 0), CHICAGO) == "2023-12-31 18:00 CST"
    assert day_shown(utc(2024, 6, 30, 23, 30), LONDON) == "2024-07-01"


def test_a_zone_that_is_none():
    """Refused with examples."""
    with pytest.raises(Malformed, match="not a time zone") as refusal:
        house_zone("Europe/Quillmere")
    assert "Europe/London" in refusal.value.remedy
    for name in ("", "../etc/passwd", "/etc/localtime", "Europe"):
        with pytest.raises(Malformed):
            house_zone(name)


def test_dates_and_times_are_told_apart():
    """A date alone keeps file order within its day."""
    assert is_date_only(" 2024-07-01 ")
    assert not is_date_only("2024-07-01 00:00")


def test_now_is_now():
    """Within a minute of the machine's other clock."""
    assert abs(now_us() - datetime.now(UTC).timestamp() * 1e6) < 60e6


days = st.dates(date(1900, 1, 1), date(2100, 1, 1))


@given(days, st.integers(0, 80))
def test_anniversaries(day, years):
    """Same month and day; the 29th of February's is the 1st of March in a common year."""
    later = add_years(day, years)
    assert later.year == day.year + years
    if (day.month, day.day) == (2, 29) and not is_leap(later.year):
        assert (later.month, later.day) == (3, 1)
    else:
        assert (later.month, later.day) == (day.month, day.day)


def is_leap(year):
    """By the calendar of 1582."""
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


@given(days, days)
def test_completed_years_counts_anniversaries(start, end):
    """As many as fit, counted one by one."""
    start, end = sorted((start, end))
    counted = 0
    while add_years(start, counted + 1) <= end:
        counted += 1
    assert completed_years(start, end) == counted
