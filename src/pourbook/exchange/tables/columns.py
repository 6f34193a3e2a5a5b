"""From the text of a cell to a value, in the house's way of writing; what is wrong becomes a fault.

A reader takes text and gives a value or refuses; `Cells` turns a refusal into a `Fault` and goes on, so that one
reading lists them all.

>>> from pourbook.book.settings import DEFAULTS
>>> faults, readers = Faults(), Readers(DEFAULTS, now_us=0)
>>> cells = Cells("pours.csv", 2, {"strength": "124"}, faults)
>>> cells.read("strength", readers.strength), cells.sound
(None, False)
>>> faults.check("history")
Traceback (most recent call last):
    ...
pourbook.errors.FaultsFound: 1 fault found in the history: nothing was recorded
"""

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import TypeVar

from pourbook.book.rules import AHEAD_US
from pourbook.codes.identifiers import read
from pourbook.errors import Ambiguous, Fault, FaultsFound, Malformed, OutOfRange, PourbookError
from pourbook.exchange.tables.taken import Surveyed, Table
from pourbook.house_style import HouseStyle
from pourbook.numerals import counted
from pourbook.quantities import Amount, Unit, read_amount, read_temperature, unit_named
from pourbook.times import DAY_US, is_date_only, read_span

__all__ = ["BROKEN", "Cells", "Faults", "Readers"]

BROKEN = "\0"
"""Stands for a cell without readable text; its fault is listed already."""

_MOST = 100_000
_REMEMBERED = 1 << 14
_CLOCK = re.compile(r"[T ]([01][0-9]|2[0-3]):([0-5][0-9])(?::([0-5][0-9]))?", re.IGNORECASE)
_Value = TypeVar("_Value")


class Faults:
    """What is wrong with the data of one request, in the order of the data."""

    def __init__(self) -> None:
        self._listed: list[Fault] = []
        self._more = 0
        self._of_files: set[Fault] = set()
        self.tables: dict[str, Surveyed] = {}

    def __len__(self) -> int:
        return len(self._listed) + self._more

    def add(self, fault: Fault) -> None:
        """List a fault; beyond a hundred thousand they are only counted."""
        if len(self._listed) < _MOST:
            self._listed.append(fault if fault.remedy else fault._replace(remedy="correct it"))
        else:
            self._more += 1

    def add_once(self, fault: Fault) -> None:
        """List a fault that every row of a table would have."""
        if fault not in self._of_files:
            self._of_files.add(fault)
            self.add(fault)

    def surveyed(self, found: Surveyed) -> None:
        """Keep how a table is taken, and list what is wrong or must be said of it."""
        self.tables[found.table] = found
        for fault in found.faults:
            self.add(fault)

    def check(self, what: str) -> None:
        """Raise `FaultsFound` with every fault, if there are any."""
        if self._listed:
            files = list(dict.fromkeys(fault.file for fault in self._listed))
            is_open = any(heading.is_open for table in self.tables.values() for heading in table.headings)
            more = "; --write-map FILE.csv writes down what is still to be answered" if is_open else ""
            self._listed.sort(key=lambda fault: (files.index(fault.file), fault.row))
            raise FaultsFound(
                f"{counted(len(self), 'fault')} found in the {what}: nothing was recorded",
                tuple(self._listed),
                f"correct the faults listed, then import again{more}",
                self.tables,
            )


class Cells:
    """One row; `values` is text by column without blank cells, `sound` stays true until a fault is found.

    With its `table`, a fault names the heading as it stands there, and what is wrong for want of a column is told once.
    """

    __slots__ = ("_faults", "_file", "_row", "_table", "sound", "values")

    def __init__(
        self, file: str, row: int, values: Mapping[str, str], faults: Faults, table: Table | None = None
    ) -> None:
        self._table = table
        self.values = values
        self.sound = BROKEN not in values.values()
        self._file = file
        self._row = row
        self._faults = faults

    def text(self, column: str) -> str:
        """The text of a cell; empty for a blank cell or a missing column."""
        return self.values.get(column, "")

    def needed(self, column: str) -> str:
        """The text of a required cell; a blank one is a fault."""
        text = self.values.get(column, "")
        if not text:
            self.fault(column, "is blank", f"fill in '{column}'")
        return "" if text == BROKEN else text

    def read(self, column: str, reader: Callable[[str], _Value]) -> _Value | None:
        """The value of a cell; None when it is blank or refused, which is a fault."""
        text = self.values.get(column)
        if not text or text == BROKEN:
            return None
        try:
            return reader(text)
        except PourbookError as refusal:
            self.refused(column, refusal)
            return None

    def refused(self, column: str, refusal: PourbookError) -> None:
        """List a refusal as a fault of a column."""
        self.fault(column, refusal.message, refusal.remedy)

    def fault(self, column: str, problem: str, remedy: str) -> None:
        """List a fault of a column, or with an empty name of the row."""
        self.sound = False
        value, table = self.values.get(column, ""), self._table
        if table and column and column not in table.columns:
            fault = Fault(self._file, table.row, column, "", "the column is missing", f"add a column '{column}'")
            self._faults.add_once(fault)
            return
        heading = table.headings.get(column, column) if table else column
        self._faults.add(Fault(self._file, self._row, heading, value, problem, remedy))


class Readers:
    """Readers of cells by the house's settings; they remember what they read, as cells repeat."""

    def __init__(self, settings: Mapping[str, str], now_us: int) -> None:
        style = HouseStyle(settings)
        self.decimal_mark = style.mark
        self._style = style
        self._latest_us = now_us + AHEAD_US
        remembered = lru_cache(_REMEMBERED)
        self.amount = remembered(self._amount)
        self.strength = remembered(style.strength)
        # In °C where no unit is written, whatever the house's habit.
        self.temperature_c = remembered(lambda text: float(read_temperature(text, "C", style.mark).celsius))
        self.unit: Callable[[str], Unit] = remembered(unit_named)
        self.person: Callable[[str], str] = remembered(lambda text: read(text) or text)  # an identifier or the name
        self._midnight = remembered(self._midnight_if_even)

    def _amount(self, quantity: str, unit: str = "", allow_zero: bool = False) -> Amount:
        """An amount with its unit in a column of its own or after the number."""
        amount = read_amount(quantity, unit or None, self.decimal_mark, allow_zero=allow_zero)
        if unit and amount.typed[-1:].isdigit():
            amount = amount._replace(typed=f"{amount.typed} {unit}")
        if unit and unit_named(unit).name != amount.unit:
            raise Ambiguous(f"'{quantity}' and the unit '{unit}' disagree", "write the number alone")
        return amount

    def moment(self, text: str) -> int:
        """A past time, in microseconds; without an offset it is house time."""
        moment_us = self._in_a_known_day(text)
        if moment_us is None:
            moment_us = self._style.moment(text)
        if moment_us > self._latest_us:
            raise OutOfRange(f"{text} is in the future", "write when it happened")
        return moment_us

    def _in_a_known_day(self, text: str) -> int | None:
        """The moment of a time without an offset, from that of its day; None for other times.

        Histories have many rows a day, and reading a time with its zone costs more than the rest of a row.
        """
        clock = _CLOCK.fullmatch(text, 10)
        midnight_us = self._midnight(text[:10]) if clock else None
        if clock is None or midnight_us is None:
            return None
        hours, minutes, seconds = clock.groups("0")
        return midnight_us + ((int(hours) * 60 + int(minutes)) * 60 + int(seconds)) * 1_000_000

    def _midnight_if_even(self, day: str) -> int | None:
        """The first instant of a day of 24 hours; None for anything else."""
        try:
            first, last = (self._style.moment(f"{day} {clock}") for clock in ("00:00", "23:59:59"))
        except PourbookError:
            return None
        return first if last - first == DAY_US - 1_000_000 else None

    def day(self, text: str) -> str:
        """A day, as written."""
        self.moment(text)
        if not is_date_only(text):
            raise Malformed(f"'{text}' is a time; a day is needed", "write it like 2024-07-01")
        return text

    def number(self, text: str) -> str:
        """A number not below zero, written with a point."""
        number = self._style.number(text)
        if number < 0:
            raise OutOfRange(f"{text} is below zero", "write it without a sign")
        return str(number)

    def time_in_wood(self, text: str) -> str:
        """Days, or years and months, in one writing."""
        return str(read_span(text))

    def whole(self, text: str) -> int:
        """A whole number not below zero."""
        if not (text.isascii() and text.isdigit() and len(text) <= 15):
            raise Malformed(f"'{text}' is not a whole number", "write digits only")
        return int(text)
