"""Forms in which dates stand in tables, and what must be said before one of them is a day.

>>> form_of("04/03/2019").asks, form_of("4.3.19").asks, form_of("Mar 2019").asks, form_of("43528").asks
(('order',), ('order', 'short-years'), ('first-of-month',), ('day-numbers',))
>>> as_iso("4.3.19", ("day-first", "short-years"), 2026), as_iso("4 March 2019", (), 2026)
('2019-03-04', '2019-03-04')
>>> as_iso("04/03/2019", (), 2026) is None
True
"""

import re
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple

__all__ = [
    "FORMS", "ORDER", "ORDERS", "DateForm", "as_iso", "both_orders", "form_of", "is_less_than_a_day", "is_plain_date",
    "proves",
]  # fmt: skip

ORDER = "order"
ORDERS = ("day-first", "month-first")


class DateForm(NamedTuple):
    """A form with its name, its shape, and what must be said of it (`asks`): `order`, or readings."""

    name: str
    shape: "re.Pattern[str]"
    asks: tuple[str, ...] = ()


_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan january januar jän jänner", "feb february februar", "mar march mär märz mrz", "apr april", "may mai",
         "jun june juni", "jul july juli", "aug august", "sep sept september", "oct october okt oktober",
         "nov november", "dec december dez dezember"), 1,
    )
    for name in names.split()
}  # fmt: skip
_CLOCK = r"(?:,?[T ](?P<clock>[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?))?"
_MONTH = r"(?P<name>[^\W\d_]{3,9})\.?"
_LONG, _SHORT = r"(?P<year>[0-9]{4})", r"'?(?P<year>[0-9]{2})"


def _form(name: str, shape: str, *asks: str) -> DateForm:
    return DateForm(name, re.compile(shape, re.IGNORECASE), asks)


FORMS = (
    _form("2019-03-04", r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:[Tt ][0-9]{2}:[0-9]{2}.*)?"),
    _form("2019/3/4", rf"{_LONG}([-/.])(?P<month>[0-9]{{1,2}})\2(?P<day>[0-9]{{1,2}}){_CLOCK}"),
    _form("04/03/2019", rf"(?P<a>[0-9]{{1,2}})([-/.] ?)(?P<b>[0-9]{{1,2}})\2{_LONG}{_CLOCK}", ORDER),
    _form("4.3.19", rf"(?P<a>[0-9]{{1,2}})([/.] ?)(?P<b>[0-9]{{1,2}})\2{_SHORT}{_CLOCK}", ORDER, "short-years"),
    _form("4 March 2019", rf"(?P<day>[0-9]{{1,2}})(?:st|nd|rd|th)?\.?[- ]{_MONTH},?[- ]{_LONG}{_CLOCK}"),
    _form("March 4, 2019", rf"{_MONTH} (?P<day>[0-9]{{1,2}})(?:st|nd|rd|th)?,? {_LONG}{_CLOCK}"),
    _form("4 Mar 19", rf"(?P<day>[0-9]{{1,2}})\.?[- ]{_MONTH}[- ]{_SHORT}{_CLOCK}", "short-years"),
    _form("Mar 2019", rf"{_MONTH},?[-/ ]{_LONG}", "first-of-month"),
    _form("Mar 19", rf"{_MONTH}[-/ ]{_SHORT}", "first-of-month", "short-years"),
    _form("03/2019", rf"(?P<month>[0-9]{{1,2}})[-/.]{_LONG}", "first-of-month"),
    _form("2019-03", rf"{_LONG}[-/](?P<month>[0-9]{{1,2}})", "first-of-month"),
    _form("2019", r"(?P<year>(?:19|20)[0-9]{2})", "first-of-year"),
    _form("43528", r"(?P<number>[1-9][0-9]{4})(?P<part>[.,][0-9]+)?", "day-numbers"),
)
"""Every form by an example of it, which is 4 March 2019 or its month or year."""

_FIRST_DAYS = {"day-numbers": date(1899, 12, 30), "day-numbers-1904": date(1904, 1, 1)}
"""Day 0 of a spreadsheet, by ECMA-376 part 1, 18.17.4.1, for days after February 1900 (read in a copy)."""

_plain = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:[Tt ][0-9]{2}:[0-9]{2}.*)?").fullmatch


def is_plain_date(text: str) -> bool:
    """Whether a date begins with year, month and day, as the book reads it."""
    return _plain(text) is not None


@lru_cache(1 << 12)
def form_of(text: str) -> DateForm | None:
    """The form of a date; None for what has no form known here."""
    for form in FORMS:
        match = form.shape.fullmatch(text)
        if match and ("name" not in match.groupdict() or match["name"].casefold() in _MONTHS):
            return form
    return None


def is_less_than_a_day(text: str) -> bool:
    """Whether a date is a month or a year alone.

    >>> is_less_than_a_day("Mar 2019"), is_less_than_a_day("4 Mar 2019")
    (True, False)
    """
    form = form_of(text)
    return form is not None and bool({"first-of-month", "first-of-year"} & set(form.asks))


def both_orders(text: str) -> tuple[str, str] | None:
    """A date of two numbers and a year, day first and month first; None where both are the same day, or one is none."""
    days = tuple(as_iso(text, (order, "short-years"), 2099) for order in ORDERS)
    return (days[0], days[1]) if days[0] and days[1] and days[0] != days[1] else None


def proves(text: str) -> str:
    """The order in which alone two numbers are a day and a month; empty where either way is possible."""
    days = [as_iso(text, (order, "short-years"), 2099) for order in ORDERS]
    return ORDERS[0] if days[0] and not days[1] else ORDERS[1] if days[1] and not days[0] else ""


def as_iso(text: str, readings: tuple[str, ...], this_year: int) -> str | None:
    """The day, or day and time, with the year first; None where it is none, or what must be said is not.

    Two digits of a year are those of the latest such year that is not beyond `this_year`.
    """
    form = form_of(text)
    if form is FORMS[0]:
        return text
    match = form.shape.fullmatch(text) if form else None
    found = match.groupdict() if match else {}
    is_one_day = "a" in found and int(found["a"]) == int(found["b"])
    if form is None or not _said(form, (*readings, ORDERS[0]) if is_one_day else readings):
        return None
    if "number" in found:
        return _of_number(text.replace(",", "."), readings)
    year = int(found["year"])
    if len(found["year"]) == 2:
        year += this_year // 100 * 100
        year -= 100 if year > this_year else 0
    day, month = found.get("day") or 1, found.get("month") or 1
    if "a" in found:
        day, month = (found["a"], found["b"]) if "day-first" in readings else (found["b"], found["a"])
    if "name" in found:
        month = _MONTHS[found["name"].casefold()]
    try:
        written = date(year, int(month), int(day)).isoformat()
    except ValueError:
        return None
    return f"{written} {found['clock']:0>5}" if found.get("clock") else written


def _said(form: DateForm, readings: tuple[str, ...]) -> bool:
    """Whether all is said that must be."""
    for one in form.asks:
        if one == ORDER and not set(ORDERS) & set(readings):
            return False
        if one == "day-numbers" and not set(_FIRST_DAYS) & set(readings):
            return False
        if one not in (ORDER, "day-numbers") and one not in readings:
            return False
    return True


def _of_number(text: str, readings: tuple[str, ...]) -> str:
    days = float(text)
    first = _FIRST_DAYS["day-numbers-1904" if "day-numbers-1904" in readings else "day-numbers"]
    moment = datetime(first.year, first.month, first.day) + timedelta(seconds=round(days * 86400))  # noqa: DTZ001
    return moment.date().isoformat() if days == int(days) else str(moment)
