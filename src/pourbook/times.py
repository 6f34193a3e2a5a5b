"""Times: UTC in the book, the house's zone on the screen.

A moment is a whole number of microseconds since 1970 UTC; the journal writes it as text.
A time typed without an offset is house time; a date alone is that day's first instant. A time that the clocks of
the house skip, or show twice, is asked about: an offset says which moment is meant.

>>> zone = house_zone("Europe/London")
>>> moment = read_time("2024-07-01 14:30", zone)
>>> written(moment)
'2024-07-01T13:30:00Z'
>>> shown(moment, zone)
'2024-07-01 14:30 BST'
>>> moment_of("2024-07-01T13:30:00Z") == moment
True
"""

import re
from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import lru_cache
from typing import NamedTuple

from pourbook.errors import Ambiguous, Malformed, OutOfRange

__all__ = [
    "DAY_US",
    "Span",
    "add_years",
    "completed_years",
    "day_shown",
    "end_of",
    "house_zone",
    "is_date_only",
    "minute",
    "moment_of",
    "now_us",
    "read_span",
    "read_time",
    "shown",
    "with_offset",
    "written",
]

DAY_US = 86_400_000_000
"""Microseconds in a day of 24 hours."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_YEARS = range(1500, 3000)
_SPAN = (
    r"(?:([0-9]{1,3}) *[yY](?:ears?|rs?)?)?[ ,]*(?:([0-9]{1,3}) *[mM](?:onths?|os?)?)?[ ,]*"
    r"(?:([0-9]{1,6}) *[dD](?:ays?)?)?"
)
_DATE = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_TIME = rf"{_DATE}([Tt ][0-9]{{2}}:[0-9]{{2}}(:[0-9]{{2}}(\.[0-9]{{1,6}})?)?([Zz]|[+-][0-9]{{2}}:?[0-9]{{2}})?)?"


def house_zone(name: str) -> tzinfo:
    """The time zone of that IANA name; else `Malformed`."""
    if name == "UTC":
        return UTC
    from zoneinfo import ZoneInfo  # a house in UTC does without it

    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise Malformed(
            f"'{name}' is not a time zone known here", "write it like 'Europe/London' or 'America/Chicago'"
        ) from error


def is_date_only(text: str) -> bool:
    """Whether the text names a day without a time of day."""
    return re.fullmatch(_DATE, text.strip()) is not None


def read_time(text: str, zone: tzinfo) -> int:
    """The moment that a person wrote, in microseconds.

    Raises:
        Malformed: it is not an ISO 8601 date or time.
        Ambiguous: the clocks of the house skip it, or show it twice; the message has both readings.
        OutOfRange: an unlikely year, such as 0024 for 2024.

    >>> read_time("2024-10-27 01:30", house_zone("Europe/London"))
    Traceback (most recent call last):
        ...
    pourbook.errors.Ambiguous: '2024-10-27 01:30' is there twice: the clocks go back over it
    """
    text = text.strip()
    if re.fullmatch(_TIME, text):
        try:
            moment = datetime.fromisoformat(text.upper())
        except ValueError:
            moment = None
        if moment is not None and moment.year not in _YEARS:
            raise OutOfRange(f"'{text}' lies in the year {moment.year}", "check the four digits of the year")
        if moment is not None:
            moment = moment if moment.tzinfo else _in_house_time(text, moment, zone)
            return (moment - _EPOCH) // _MICROSECOND
    raise Malformed(
        f"'{text}' is not a time", "write the year first: 2024-07-01, or 2024-07-01 14:30, with +01:00 if needed"
    )


def _in_house_time(text: str, moment: datetime, zone: tzinfo) -> datetime:
    """A time without an offset; a date alone begins with the first instant that has it."""
    first, second = (moment.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    before, after = first.utcoffset(), second.utcoffset()
    if before is None or after is None or before == after or is_date_only(text):
        return first
    what = "is there twice: the clocks go back" if before > after else "is not there: the clocks go forward"
    both = " or ".join(
        f"'{text}{one.strftime('%z')[:3]}:{one.strftime('%z')[3:5]}' ({shown((one - _EPOCH) // _MICROSECOND, zone)})"
        for one in (first, second)
    )
    raise Ambiguous(f"'{text}' {what} over it", f"write {both}")


def end_of(text: str, zone: tzinfo) -> int:
    """The moment before which something ends; a day counts whole, also where it has 23 or 25 hours.

    >>> end_of("2024-03-31", house_zone("Europe/London")) - read_time("2024-03-31", house_zone("Europe/London"))
    82800000000

    Raises:
        PourbookError: as `read_time`.
    """
    moment = read_time(text, zone)
    if not is_date_only(text):
        return moment
    return read_time((date.fromisoformat(text.strip()) + timedelta(days=1)).isoformat(), zone)


def now_us() -> int:
    """The clock of this machine; called at the doors only."""
    return (datetime.now(UTC) - _EPOCH) // _MICROSECOND


@lru_cache(maxsize=256)  # entries recorded together share the time of recording
def written(moment_us: int) -> str:
    """The moment as the journal writes it: ISO 8601, UTC, without needless zeros."""
    text = (_EPOCH + timedelta(microseconds=moment_us)).isoformat()
    return text[:-6] + "Z"


def moment_of(text: str) -> int:
    """The moment that `written` wrote."""
    return (datetime.fromisoformat(text) - _EPOCH) // _MICROSECOND


def shown(moment_us: int, zone: tzinfo) -> str:
    """The moment in house time, to the minute, with the zone's abbreviation."""
    local = (_EPOCH + timedelta(microseconds=moment_us)).astimezone(zone)
    return local.strftime("%Y-%m-%d %H:%M %Z")


def with_offset(moment_us: int, zone: tzinfo) -> str:
    """The moment in house time as ISO 8601, to the second, with its offset.

    >>> with_offset(moment_of("2026-07-14T09:32:05Z"), house_zone("Europe/London"))
    '2026-07-14T10:32:05+01:00'
    """
    local = (_EPOCH + timedelta(microseconds=moment_us)).astimezone(zone)
    return local.isoformat(timespec="seconds")


def minute(moment_us: int, zone: tzinfo) -> str:
    """The moment in house time, to the minute; papers name the zone once."""
    return shown(moment_us, zone).rpartition(" ")[0]


def day_shown(moment_us: int, zone: tzinfo) -> str:
    """The day in house time."""
    return (_EPOCH + timedelta(microseconds=moment_us)).astimezone(zone).date().isoformat()


def add_years(day: date, years: int) -> date:
    """The anniversary; that of 29 February in a common year is 1 March."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)


def completed_years(start: date, end: date) -> int:
    """How many anniversaries of `start` have been completed on `end`.

    >>> completed_years(date(2015, 3, 1), date(2020, 2, 29))
    4
    >>> completed_years(date(2016, 2, 29), date(2019, 3, 1))
    3
    """
    years = end.year - start.year
    return years if add_years(start, years) <= end else years - 1


class Span(NamedTuple):
    """A time as a calendar counts it, in years, months and days.

    >>> str(Span(12, 3)), str(Span(days=400)), Span(1, 1).days_before(date(2024, 3, 31))
    ('12 y 3 m', '400 d', 396)
    """

    years: int = 0
    months: int = 0
    days: int = 0

    def __str__(self) -> str:
        parts = [f"{number} {unit}" for number, unit in zip(self, "ymd", strict=True) if number]
        return " ".join(parts) or "0 d"

    def days_before(self, day: date) -> int:
        """Days of it when it ends on a day; where it would begin on no day, such as 30 February, on the next."""
        months = 12 * (day.year - self.years) + day.month - 1 - self.months
        begun = date(months // 12, months % 12 + 1, 1) + timedelta(days=day.day - 1)
        if begun.month != months % 12 + 1:
            begun = begun.replace(day=1)
        return (day - begun).days + self.days


def read_span(text: str) -> Span:
    """Years, months and days as a person writes them; a bare number is days.

    >>> read_span("12 y 3 m"), read_span("3 years"), read_span("400")
    (Span(years=12, months=3, days=0), Span(years=3, months=0, days=0), Span(years=0, months=0, days=400))

    Raises:
        Malformed: none of these.
    """
    text = text.strip()
    if text.isascii() and text.isdigit() and len(text) < 7:
        return Span(days=int(text))
    found = re.fullmatch(_SPAN, text)
    if not found or not any(found.groups()):
        raise Malformed(f"'{text}' is not a time in wood", "write days, or years and months: 400, '12 y 3 m'")
    return Span(*(int(number or 0) for number in found.groups()))
