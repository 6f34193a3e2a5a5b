"""XLSX sheets as records of text: the only part of `tables` that loads openpyxl.

A number reads as it was typed (123 is "123", 0.5 is "0.5", 40 % is "40 %"), a date as ISO text. What has no text,
such as a formula never calculated, is a fault.
"""

import warnings
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any, BinaryIO
from zipfile import BadZipFile, ZipFile
from zlib import error as ZlibError  # noqa: N812 (a class named in lower case)

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import InvalidFileException

from pourbook.errors import Fault, Malformed
from pourbook.exchange.tables.columns import BROKEN, Faults
from pourbook.exchange.tables.table_sources import MOST_COLUMNS, Source
from pourbook.input_files import in_megabytes

__all__ = ["MOST_OF_A_CELL", "MOST_PARTS", "MOST_ROWS", "MOST_UNPACKED", "sheet_names", "sheet_records"]

MOST_UNPACKED = 500_000_000
"""Bytes of all parts of a workbook; a sheet of a million rows of ten columns has some 400 MB."""
MOST_PARTS = 1_000
MOST_ROWS = 1_048_576
MOST_OF_A_CELL = 32_767
"""Rows of a sheet and characters of a cell, as spreadsheets themselves limit them."""

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
            _check_unpacked(source, file)
            workbook = load_workbook(file, read_only=True, data_only=values)
        try:
            yield workbook
        finally:
            workbook.close()


def _check_unpacked(source: Source, file: BinaryIO) -> None:
    """What the archive says of its parts; more than that cannot come out of it."""
    with ZipFile(file) as archive:
        parts = archive.infolist()
    size = sum(part.file_size for part in parts)
    if size > MOST_UNPACKED or len(parts) > MOST_PARTS:
        told, most = f"{in_megabytes(size)} in {len(parts)} parts", f"{in_megabytes(MOST_UNPACKED)} in {MOST_PARTS}"
        raise Malformed(
            f"'{source.name}' unpacks to {told}, more than the {most} that are read",
            "save the sheet as CSV",
            file=source.name,
        )
    file.seek(0)


def sheet_names(source: Source) -> list[str]:
    """Names of the sheets with cells."""
    with _workbook(source, values=True) as workbook:
        return [sheet.title for sheet in workbook.worksheets]


def sheet_records(
    source: Source, faults: Faults, decimal_mark: str, columns: Mapping[int, str], above: int
) -> Iterator[tuple[int, list[str]]]:
    """Rows of a sheet as text, without blank cells at their ends; a broken workbook is `Malformed`.

    What has no text is a fault in those of its `columns` (places with names) that are taken in, below the row `above`.
    Values and formulas are read side by side: a formula without a value would otherwise look like a blank cell.
    """
    with ExitStack() as stack:
        both = [stack.enter_context(_workbook(source, values=values)) for values in (True, False)]
        for number, pair in enumerate(_rows_of(source, both), 1):
            if not any(pair):
                _check_rows(source, number)
                continue
            _check_size(source, number, pair)
            cells = []
            for place, (cell, formula) in enumerate(zip(*pair, strict=False)):
                problem = _problem(cell, formula)
                if problem and number > above and place in columns:
                    remedy = "calculate and save the workbook, or write the value"
                    faults.add(Fault(source.name, number, columns[place], *problem, remedy))
                cells.append(BROKEN if problem else _written(cell.value, cell.number_format, decimal_mark))
            while cells and not cells[-1]:
                cells.pop()
            yield number, cells


def _rows_of(source: Source, both: list[Any]) -> Iterator[Any]:
    with _reading(source):
        sheets = [workbook[source.sheet] for workbook in both]
        for sheet in sheets:
            sheet.reset_dimensions()  # what the file says of its size may be wrong
        yield from zip(*(sheet.rows for sheet in sheets), strict=False)


def _check_rows(source: Source, number: int) -> None:
    if number > MOST_ROWS:
        raise Malformed(
            f"'{source.name}' has a cell below row {MOST_ROWS}, the last that a sheet can have",
            "delete the rows below the table",
            file=source.name,
        )


def _check_size(source: Source, number: int, pair: Any) -> None:  # noqa: ANN401
    """A row is within the rows, columns and characters that are read."""
    _check_rows(source, number)
    width = max(map(len, pair))
    if width > MOST_COLUMNS and any(cell.value is not None for row in pair for cell in row[MOST_COLUMNS:]):
        raise Malformed(
            f"'{source.name}' has a cell beyond column {get_column_letter(MOST_COLUMNS)} in row {number}",
            f"a table may have {MOST_COLUMNS} columns: delete those that are not used",
            file=source.name,
        )
    longest = max((len(cell.value) for row in pair for cell in row if isinstance(cell.value, str)), default=0)
    if longest > MOST_OF_A_CELL:
        raise Malformed(
            f"'{source.name}' has a cell of {longest} characters in row {number}, and may have {MOST_OF_A_CELL}",
            "write it shorter",
            file=source.name,
        )


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
