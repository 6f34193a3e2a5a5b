"""The one writer of what goes out: CSV, JSON, and files that are whole or not there.

>>> import sys
>>> write_csv(sys.stdout, Table(("a", "b"), [{"a": "=1", "b": -5}, {"a": {"x": 1}}]))
a,b
'=1,-5
"{""x"":1}",
2
"""

import csv
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple, TextIO

from pourbook.errors import OutOfRange
from pourbook.exchange.tables.table_files import guarded
from pourbook.one_file import placing
from pourbook.texts import in_json

__all__ = ["Row", "Table", "as_json", "text_file", "write_csv", "write_rows_as_json", "write_workbook"]

Row = dict[str, Any]
"""A row of a table: column to value."""


class Table(NamedTuple):
    """Column names in order, and rows that are made as they are read, once; what a row lacks is blank."""

    columns: Sequence[str]
    rows: Iterable[Row]


def write_csv(file: TextIO, table: Table) -> int:
    """Write a table as CSV into a file opened with `newline=""`, cells `guarded`; how many rows it has."""
    writer = csv.writer(file, lineterminator="\n")
    careful = csv.writer(file, lineterminator="\n", quoting=csv.QUOTE_ALL)  # the other leaves a carriage return bare
    writer.writerow(table.columns)
    cells = ([_cell(row.get(column, "")) for column in table.columns] for row in table.rows)
    return sum(1 for row in cells if (careful if "\r" in "".join(map(str, row)) else writer).writerow(row))


def _cell(value: object) -> object:
    value = _plain(value)
    return guarded(value) if isinstance(value, str) else value


def _plain(value: object) -> object:
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return value


def write_rows_as_json(file: TextIO, table: Table) -> int:
    """Write a table as a JSON list, one object a line; how many rows it has."""
    count = 0
    file.write("[")
    for count, row in enumerate(table.rows, 1):
        file.write(",\n" if count > 1 else "\n")
        file.write(in_json(json.dumps({column: row.get(column) for column in table.columns}, ensure_ascii=False)))
    file.write("\n]\n")
    return count


_MOST_ROWS = 1_048_576
"""Of a sheet of a workbook."""


def write_workbook(path: Path, table: Table) -> int:
    """Write a table as an XLSX workbook of one sheet; texts stay texts, whatever they begin with; how many rows it has.

    Raises:
        OutOfRange: more rows than a sheet has.
    """
    from openpyxl import Workbook  # only where a workbook is asked for
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    workbook = Workbook(write_only=True)
    sheet = workbook.create_sheet("pourbook")
    sheet.freeze_panes = "A2"

    def cell(value: object) -> object:
        value = _plain(value)
        if not isinstance(value, str):
            return value
        made = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("\N{REPLACEMENT CHARACTER}", value))
        made.data_type = "s"
        return made

    sheet.append([cell(column) for column in table.columns])
    count = 0
    for count, row in enumerate(table.rows, 1):
        if count >= _MOST_ROWS:
            raise OutOfRange(f"more than {_MOST_ROWS - 1} rows for one sheet", "write it as CSV")
        sheet.append([cell(row.get(column, "")) for column in table.columns])
    workbook.save(path)
    return count


def as_json(document: Mapping[str, Any]) -> str:
    """The text of a document."""
    return in_json(json.dumps(document, ensure_ascii=False, indent=1)) + "\n"


@contextmanager
def text_file(path: Path | str, *, force: bool | None = None, never: Iterable[Path | str] = ()) -> Iterator[TextIO]:
    """A file of text, written whole or not at all, as `placing` does.

    Raises:
        StoreError: it already exists, must stay, or cannot be written.
    """
    with (
        placing(Path(path), force=force, never=never) as beside,
        beside.open("w", encoding="utf-8", newline="") as file,
    ):
        yield file
