"""XLSX sheets as records of text: the only part of `tables` that loads openpyxl.

A number reads as it was typed (123 is "123", 0.5 is "0.5", 40 % is "40 %"), a date as ISO text. What has no text,
such as a formula never calculated, is a fault.
"""

import warnings
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zipfile import BadZipFile
from zlib import error as ZlibError  # noqa: N812 (a class named in lower case)

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import InvalidFileException

from pourbook.errors import Fault, Malformed
from pourbook.exchange.tables.columns import BROKEN, Faults
from pourbook.exchange.tables.table_sources import Source, column_name

__all__ = ["sheet_names", "sheet_records"]

_UNREADABLE = (
    BadZipFile, ZlibError, InvalidFileException, KeyError, ValueError, TypeError, AttributeError, IndexError,
    SyntaxError, EOFError, OSError, NotImplementedError, OverflowError, RuntimeError,
)  # fmt: skip
"""What openpyxl and the libraries under it raise for a broken workbook (a SyntaxError is broken XML)."""


@contextmanager
def _reading(source: Source) -> Iterator[None]:
    """Turn what a broken workbook raises into a refusal; openpyxl's warnings concern looks only."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except _UNREADABLE as error:
        raise Malformed(
            f"'{source.name}' cannot be read as an XLSX workbook: {str(error)[:80]}",
            "open it in a spreadsheet and save it as .xlsx, or as CSV",
        ) from error


@contextmanager
def _workbook(source: Source, *, values: bool) -> Iterator[Any]:
    with source.open() as file:
        with _reading(source):
            workbook = load_workbook(file, read_only=True, data_only=values)
        try:
            yield workbook
        finally:
            workbook.close()


def sheet_names(source: Source) -> list[str]:
    """Names of the sheets with cells."""
    with _workbook(source, values=True) as workbook:
        return [sheet.title for sheet in workbook.worksheets]


def sheet_records(source: Source, faults: Faults, decimal_mark: str) -> Iterator[tuple[int, list[str]]]:
    """Rows of a sheet as text, each at least as long as the first; a broken workbook is `Malformed`.

    Values and formulas are read side by side: a formula without a value would otherwise look like a blank cell.
    """
    with ExitStack() as stack:
        both = [stack.enter_context(_workbook(source, values=values)) for values in (True, False)]
        names: list[str] = []
        for number, pair in enumerate(_rows_of(source, both), 1):
            cells = []
            for place, (cell, formula) in enumerate(zip(*pair, strict=False)):
                problem = _problem(cell, formula)
                if problem:
                    column = column_name(names[place]) if place < len(names) else get_column_letter(place + 1)
                    remedy = "calculate and save the workbook, or write the value"
                    faults.add(Fault(source.name, number, column, *problem, remedy))
                cells.append(BROKEN if problem else _written(cell.value, cell.number_format, decimal_mark))
            while len(cells) > len(names) and not cells[-1]:
                cells.pop()
            names = names or cells
            yield number, cells + [""] * (len(names) - len(cells))


def _rows_of(source: Source, both: list[Any]) -> Iterator[Any]:
    with _reading(source):
        sheets = [workbook[source.sheet] for workbook in both]
        for sheet in sheets:
            sheet.reset_dimensions()  # what the file says of its size may be wrong
    rows = zip(*(sheet.rows for sheet in sheets), strict=False)
    while True:
        with _reading(source):
            pair = next(rows, None)
        if pair is None:
            return
        yield pair


def _problem(cell: Any, formula: Any) -> tuple[str, str] | None:  # noqa: ANN401 (as openpyxl gives them)
    """What has no text at all, and why."""
    if cell.value is None and formula.data_type == "f" and cell.data_type != "str":
        return str(formula.value), "contains a formula without a value"
    return (str(cell.value), "contains an error") if cell.data_type == "e" else None


def _written(value: Any, number_format: str, mark: str) -> str:  # noqa: ANN401
    """The text that a person would have typed.

    >>> _written(0.5, "General", ","), _written(0.4, "0%", "."), _written(datetime(2024, 7, 1), "", ".")
    ('0,5', '40 %', '2024-07-01')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, int | float):
        percent = "%" in number_format
        exact = Decimal(f"{value:.15g}" if isinstance(value, float) else value) * (100 if percent else 1)
        text = f"{exact:f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return text.replace(".", mark) + (" %" if percent else "")
    if isinstance(value, datetime):
        value = (value + timedelta(seconds=0.5)).replace(microsecond=0)  # a sheet counts in days
        return value.date().isoformat() if value.time() == time() else str(value)
    return str(value).replace(BROKEN, "")
