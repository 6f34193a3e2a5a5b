"""Where a table lies, and how its columns are named: what CSV and XLSX have in common.

>>> Source("casks.csv", b"Ref;Capacity L\\n").open().read()
b'Ref;Capacity L\\n'
"""

import io
import re
from pathlib import Path
from typing import NamedTuple

from pourbook.input_files import opened

__all__ = ["MOST_COLUMNS", "Columns", "Source", "column_name"]

MOST_COLUMNS = 256
"""Columns of a table (common practice, no source)."""


class Columns(NamedTuple):
    """The columns that a table must and may have (required, optional), and which of them are dates, and numbers."""

    required: tuple[str, ...]
    optional: tuple[str, ...]
    dates: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()

    @property
    def all(self) -> tuple[str, ...]:
        """Every column."""
        return (*self.required, *self.optional)


class Source(NamedTuple):
    """A table in a file: its name in faults, its content or where that lies, the sheet (empty for CSV)."""

    name: str
    content: Path | bytes
    sheet: str = ""

    @property
    def file(self) -> str:
        """Name of the file without the sheet."""
        return self.name.removesuffix(f" ({self.sheet})") if self.sheet else self.name

    def open(self) -> io.BytesIO | io.BufferedReader:
        """The bytes of the file.

        Raises:
            Malformed: it cannot be read, or is too large.
        """
        return io.BytesIO(self.content) if isinstance(self.content, bytes) else opened(self.content)


def column_name(text: str) -> str:
    """The name of a column, whatever its case and spaces.

    >>> column_name(" Temperature C")
    'temperature_c'
    """
    return re.sub(r"[\s_-]+", "_", text.lstrip("\ufeff").strip().casefold())
