"""The cells of one column by their forms: what they prove of each other, what must be said, how they are read.

>>> column = DateColumn((), 2026)
>>> for row, text in enumerate(("04/03/2019", "2019-05-01", "25/03/2019"), 5):
...     column.see(row, text)
>>> column.told()
'2019-03-04: 1 row; 04/03/2019: 2 rows, read day-first (row 7 proves it: 25/03/2019)'
>>> column.question("Filled"), column.converted()("04/03/2019")
(None, '2019-03-04')
"""

import re
from collections import Counter
from collections.abc import Callable
from typing import NamedTuple

from pourbook.exchange.tables.date_forms import (
    FORMS,
    ORDER,
    ORDERS,
    as_iso,
    both_orders,
    form_of,
    is_plain_date,
    proves,
)
from pourbook.exchange.tables.number_forms import NumberForm, form_of_number, in_house_form, other_mark
from pourbook.numerals import counted

__all__ = ["DateColumn", "NumberColumn", "Question", "rows_named"]

_ROWS_NAMED = 5
_MARKS = {".": "decimal-point", ",": "decimal-comma"}
_MARK_NAMES = {".": "point", ",": "comma"}


class Question(NamedTuple):
    """What must be said of a column: an example (`value`, `row`), the `problem`, and how to say it (`remedy`)."""

    row: int
    value: str
    problem: str
    remedy: str


def rows_named(rows: list[int]) -> str:
    """Some rows named.

    >>> rows_named([7]), rows_named([2, 3, 4, 5, 6, 7, 8])
    ('row 7', 'rows 2, 3, 4, 5, 6 and 2 more')
    """
    if len(rows) == 1:
        return f"row {rows[0]}"
    more = f" and {len(rows) - _ROWS_NAMED} more" if len(rows) > _ROWS_NAMED else ""
    return f"rows {', '.join(map(str, rows[:_ROWS_NAMED]))}{more}"


class DateColumn:
    """Dates of one column, each form with its rows; `readings` are what a person has said of it."""

    def __init__(self, readings: tuple[str, ...], this_year: int) -> None:
        self._readings, self._this_year = readings, this_year
        self._counts: Counter[str] = Counter()
        self._first: dict[str, tuple[int, str]] = {}
        self._open: tuple[int, str] | None = None
        self._proofs: dict[str, list[tuple[int, str]]] = {order: [] for order in ORDERS}

    def see(self, row: int, text: str) -> None:
        """Look at one cell; what has no form known here is left to whoever reads it."""
        if is_plain_date(text):
            self._counts[FORMS[0].name] += 1
            return
        form = form_of(text)
        if form is None:
            return
        self._counts[form.name] += 1
        self._first.setdefault(form.name, (row, text))
        if ORDER in form.asks:
            if proof := proves(text):
                self._proofs[proof].append((row, text))
            elif self._open is None and both_orders(text):
                self._open = row, text

    @property
    def _proven(self) -> str:
        """The order that some rows prove and none disproves."""
        proven = [order for order in ORDERS if self._proofs[order]]
        return proven[0] if len(proven) == 1 else ""

    @property
    def _is_contradictory(self) -> bool:
        return all(self._proofs.values())

    @property
    def readings(self) -> tuple[str, ...]:
        """What was said, and the order where the cells prove it."""
        order = "" if set(ORDERS) & set(self._readings) else self._proven
        return (*self._readings, *filter(None, [order]))

    def _unsaid(self) -> list[str]:
        """What is asked of the forms found and neither said nor proven."""
        asked = dict.fromkeys(one for form in FORMS if self._counts[form.name] for one in form.asks)
        needs_order = self._open is not None and not set(ORDERS) & set(self.readings)
        return [
            one
            for one in asked
            if (needs_order if one == ORDER else one not in self._readings)
            and not (one == "day-numbers" and "day-numbers-1904" in self._readings)
        ]

    def asks(self) -> str:
        """What is to be filled in beside the column."""
        written = {ORDER: f"?{'/'.join(ORDERS)}", "day-numbers": "?day-numbers/day-numbers-1904"}
        return " ".join(written.get(one, f"?{one}") for one in self._unsaid())

    def told(self) -> str:
        """The forms with their counts, and how they are read; empty where all are plain."""
        if not self._first:
            return ""
        return "; ".join(self._told(form.name) for form in FORMS if self._counts[form.name])

    def _told(self, name: str) -> str:
        said = counted(self._counts[name], "row")
        text = self._first.get(name, (0, ""))[1]
        form = form_of(text) if text else None
        if form is None or not form.asks:
            return f"{text or name}: {said}"
        if ORDER in form.asks and (proofs := self._proofs[self._proven] if self._proven else []):
            rows = [row for row, _ in proofs]
            proof = f" ({rows_named(rows)} {'proves' if len(rows) == 1 else 'prove'} it: {proofs[0][1]})"
            order = self._proven if not set(ORDERS) & set(self._readings) else self.readings[0]
            said += f", read {order}{proof}"
        elif ORDER in form.asks and set(ORDERS) & set(self._readings):
            said += f", read {next(one for one in ORDERS if one in self._readings)}"
        return f"{text}: {said}"

    def question(self, heading: str) -> Question | None:
        """What is asked, once for the column; a column that proves both orders is refused, whatever was said."""
        if self._is_contradictory:
            (day, month) = (self._proofs[order] for order in ORDERS)
            problem = (
                f"has days first in {rows_named([row for row, _ in day])} ({day[0][1]}) and months first in"
                f" {rows_named([row for row, _ in month])} ({month[0][1]}): no order reads them all"
            )
            row, text = (min(day, month, key=len))[0]
            remedy = "correct the rows that are wrong; write the year first, like 2019-03-04"
            return Question(row, text, problem, remedy)
        unsaid = self._unsaid()
        if not unsaid:
            return None
        row, text = self._open if ORDER in unsaid and self._open else self._first_asking(unsaid)
        meant = "; ".join(filter(None, (self._meaning_of(one) for one in unsaid)))
        say = " ".join({ORDER: ORDERS[0]}.get(one, one) for one in unsaid)
        instead = f" (or {ORDERS[1]})" if ORDER in unsaid else ""
        return Question(
            row, text, f"is not a time as the book writes it: {meant}. The column has {self.told()}",
            f'if so, say --dates "{heading}={say}"{instead}; or write the year first, like 2019-03-04',
        )  # fmt: skip

    def _first_asking(self, unsaid: list[str]) -> tuple[int, str]:
        asking = [form.name for form in FORMS if self._counts[form.name] and set(form.asks) & set(unsaid)]
        return self._first[asking[0]]

    def _meaning_of(self, asked: str) -> str:
        """What saying it would mean, by an example."""
        if asked == ORDER and self._open:
            days = both_orders(self._open[1])
            return f"{self._open[1]} is {days[0]} or {days[1]}" if days else ""
        text = self._first_asking([asked])[1]
        order = self._proven or ORDERS[0]
        everything = (order, "short-years", "first-of-month", "first-of-year", "day-numbers")
        day = as_iso(text, everything, self._this_year)
        other = as_iso(text, ("day-numbers-1904",), self._this_year) if asked == "day-numbers" else ""
        return f"{text} as {day}" + (f", or counted from 1904 as {other}" if other else "") if day else ""

    def converted(self) -> Callable[[str], str] | None:
        """Reads a cell with the year first; while the order is asked about, with the day first."""
        if not self._first:
            return None
        unsaid = self._unsaid()
        readings = (*self.readings, *(ORDERS[0] if one == ORDER else one for one in unsaid))
        year = self._this_year
        return lambda text: text if is_plain_date(text) else as_iso(text, readings, year) or text


class NumberColumn:
    """Numbers of one column in a house with a decimal mark; `readings` are what a person has said of it."""

    def __init__(self, readings: tuple[str, ...], mark: str) -> None:
        self._mark, self._other = mark, other_mark(mark)
        self._said = next((one for one, reading in _MARKS.items() if reading in readings), "")
        self._found: dict[NumberForm, list[tuple[int, str]]] = {}
        self._counts: Counter[NumberForm] = Counter()
        self._differs = False
        self._plain = re.compile(rf"[0-9]+({re.escape(mark)}[0-9]+)?").fullmatch

    def see(self, row: int, text: str) -> None:
        """Look at one cell."""
        if plain := self._plain(text):
            if not plain[1]:
                return
            # Three decimals may be thousands by the other mark, except of a number that begins with 0 or is long.
            form: NumberForm = "either" if len(plain[1]) == 4 and len(text) < 8 and text[0] != "0" else "house"
            self._counts[form] += 1
            if form not in self._found:
                self._found[form] = [(row, text)]
            return
        form = form_of_number(text, self._mark)
        self._counts[form] += 1
        if self._counts[form] <= _ROWS_NAMED:
            self._found.setdefault(form, []).append((row, text))
        if form and form != "either":
            self._differs = self._differs or in_house_form(text, self._mark, self._mark) != text

    @property
    def _is_asked(self) -> bool:
        return not self._said and bool(self._counts["other"] or (self._counts["open"] and not self._counts["house"]))

    def asks(self) -> str:
        """What is to be filled in beside the column: the other mark, where cells prove it and none is in doubt."""
        if not self._is_asked:
            return ""
        if self._counts["other"] and not self._counts["open"] and not self._counts["either"]:
            return _MARKS[self._other]
        return f"?{_MARKS[self._mark]}/{_MARKS[self._other]}"

    def told(self) -> str:
        """What is not in the house's own form; empty where all is."""
        if not self._differs and not self._said:
            return ""
        parts = [
            f"{self._found[form][0][1]}: {counted(self._counts[form], 'row')}, read"
            f" {in_house_form(self._found[form][0][1], self._said or self._mark, self._mark)}"
            for form in ("house", "either", "open", "other")
            if self._counts[form]
        ]
        return "; ".join(parts)

    def question(self, heading: str) -> Question | None:
        """Asked once for the column, where cells have the other decimal mark or may have it."""
        if not self._is_asked:
            return None
        form: NumberForm = "other" if self._counts["other"] else "open"
        row, text = self._found[form][0]
        as_other, as_house = (in_house_form(text, mark, self._mark) for mark in (self._other, self._mark))
        here = _MARK_NAMES[self._mark]
        problem = f"has a {_MARK_NAMES[self._other]}, but the decimal mark here is a {here}"
        if self._counts[form] > 1:
            problem += f", in {counted(self._counts[form], 'row')}"
        if form == "open" or self._counts["open"] or self._counts["either"]:
            example = self._found.get("either", self._found.get("open", [(0, text)]))[0][1]
            both = [in_house_form(example, mark, self._mark) for mark in (self._mark, self._other)]
            problem += f"; is {example} {both[0]} or {both[1]}?"
        say = f'"{heading}={_MARKS[self._other]}"'
        other = f", or {_MARKS[self._mark]} if {as_house}" if as_house != as_other else ""
        return Question(
            row, text, problem,
            f"if it is {as_other}, say --map {say}{other}; or write it with a {here} and without thousands separators",
        )  # fmt: skip

    def converted(self) -> Callable[[str], str] | None:
        """Reads a cell in the house's form, by the mark that was said; each that can only be read one way, so."""
        if not self._differs and not self._said:
            return None
        read_with = self._said or self._mark
        return lambda text: in_house_form(text, read_with, self._mark)
