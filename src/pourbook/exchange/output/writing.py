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

from pourbook.exchange.tables.table_files import guarded
from pourbook.one_file import placing
from pourbook.texts import in_json

__all__ = ["Row", "Table", "as_json", "text_file", "write_csv", "write_rows_as_json"]

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
    if isinstance(value, dict | list):
        value = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return guarded(value) if isinstance(value, str) else value


def write_rows_as_json(file: TextIO, table: Table) -> int:
    """Write a table as a JSON list, one object a line; how many rows it has."""
    count = 0
    file.write("[")
    for count, row in enumerate(table.rows, 1):
        file.write(",\n" if count > 1 else "\n")
        file.write(in_json(json.dumps({column: row.get(column) for column in table.columns}, ensure_ascii=False)))
    file.write("\n]\n")
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
