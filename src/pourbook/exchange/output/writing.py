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
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NamedTuple, TextIO

from pourbook.errors import StoreError
from pourbook.exchange.tables.table_files import guarded

__all__ = ["Row", "Table", "as_json", "new_file", "write_csv", "write_rows_as_json"]

Row = dict[str, Any]
"""A row of a table: column to value."""


class Table(NamedTuple):
    """A table that is made as it is read, once.

    Attributes:
        columns: their names, in order.
        rows: column to value; what a row lacks is blank.
    """

    columns: Sequence[str]
    rows: Iterable[Row]


def write_csv(file: TextIO, table: Table) -> int:
    """Write a table as CSV into a file opened with `newline=""`; how many rows it has.

    A cell that a spreadsheet would run (it begins with = + - @) gets an apostrophe in front.
    """
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(table.columns)
    count = 0
    for row in table.rows:
        writer.writerow([_cell(row.get(column, "")) for column in table.columns])
        count += 1
    return count


def _cell(value: object) -> object:
    if isinstance(value, dict | list):
        value = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return guarded(value) if isinstance(value, str) else value


def write_rows_as_json(file: TextIO, table: Table) -> int:
    """Write a table as one document, a list of objects, each on its line; how many rows it has."""
    count = 0
    file.write("[")
    for count, row in enumerate(table.rows, 1):
        file.write(",\n" if count > 1 else "\n")
        json.dump({column: row.get(column) for column in table.columns}, file, ensure_ascii=False)
    file.write("\n]\n")
    return count


def as_json(document: Mapping[str, Any]) -> str:
    """The text of a document."""
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


@contextmanager
def new_file(path: Path | str) -> Iterator[TextIO]:
    """A file that comes to be whole, when all went well, or not at all.

    Raises:
        StoreError: it exists already, or cannot be written.
    """
    if os.path.exists(path):
        raise StoreError(f"'{path}' already exists", "name another file, or remove it first")
    beside = f"{path}.part"
    try:
        with open(beside, "w", encoding="utf-8", newline="") as file:
            yield file
        os.replace(beside, path)
    except OSError as error:
        raise StoreError(f"'{path}' cannot be written: {error.strerror}", "choose another folder") from error
    finally:
        with suppress(OSError):
            os.unlink(beside)
