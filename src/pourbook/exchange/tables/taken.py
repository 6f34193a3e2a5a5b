"""How a table is taken: what is known of it before, what was found, and its rows; values alone.

>>> Heading("Filled", "filled", "?day-first/month-first", "04/03/2019: 12 rows", is_open=True).meaning
'filled'
"""

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from pourbook.errors import Fault
from pourbook.exchange.tables.headings import Meaning

__all__ = ["Heading", "Heard", "Row", "Surveyed", "Table"]

Row = tuple[int, dict[str, str]]
"""Row number, and text by column; blank cells are left out."""


class Heard(NamedTuple):
    """What is known before a table is looked through.

    Attributes:
        table: casks, gauges, items, pours.
        meanings: of headings (`column_name`), as kept in the book and as said now.
        mark: the house's decimal mark.
        this_year: the latest year that two digits stand for.
        confirmed: whether a person answers for what is asked of totals.
    """

    table: str = ""
    meanings: Mapping[str, Meaning] = {}
    mark: str = "."
    this_year: int = 2099
    confirmed: bool = False


class Heading(NamedTuple):
    """One heading as it was found: what it is taken as (a leading `?` where a person must say), and what stands below.

    Attributes:
        heading: as typed.
        meaning: the column, or `leave-out`.
        reading: unit and readings.
        found: examples, or the forms of its dates and numbers.
        is_open: whether something must be said or confirmed.
    """

    heading: str
    meaning: str
    reading: str
    found: str
    is_open: bool


class Surveyed(NamedTuple):
    """How a table is read.

    Attributes:
        table: as `Heard` has it.
        file: its name, with the sheet.
        row: number of the row of headings.
        typed: the headings.
        names: the column at each place, empty where nothing of it is taken in.
        lacking: columns that are needed and not there; a unit in the heading of an amount stands for its column.
        converted: a function for each place whose cells are not as the book reads them.
        dates: places of dates that are not all as the book writes them.
        passed_over: rows that are no rows of the table: number and why.
        sub_headings: number and text of each.
        sub_column: the column that they fill; empty if none.
        headings: what each was taken as.
        faults: what is wrong, or must be said.
    """

    table: str
    file: str
    row: int
    typed: tuple[str, ...]
    names: tuple[str, ...]
    lacking: tuple[str, ...]
    converted: Mapping[int, Callable[[str], str]]
    dates: tuple[int, ...]
    passed_over: Mapping[int, str]
    sub_headings: Mapping[int, str]
    sub_column: str
    headings: tuple[Heading, ...]
    faults: tuple[Fault, ...]


class Table(NamedTuple):
    """A table opened: its columns, its rows (read once), the cells of unusable rows missed so far, its headings.

    `headings` are as typed, where they differ from the column; `row` is theirs.
    Nothing that refers to a missed cell is a fault of its own; with `BROKEN` among them, anything may be missed.
    """

    columns: tuple[str, ...]
    rows: Iterator[Row]
    missed: set[str]
    headings: Mapping[str, str] = {}
    row: int = 1
