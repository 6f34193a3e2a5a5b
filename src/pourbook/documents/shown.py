"""The two forms of every answer: a JSON document for programs, lines for people.

>>> table_lines(("cask", " litres"), [("Q 204", "212.4"), ("Q 11", "9.0")])
('cask    litres', 'Q 204    212.4', 'Q 11       9.0')
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

__all__ = ["Shown", "table_lines"]


class Shown(NamedTuple):
    """An answer as a door shows it.

    Attributes:
        document: for programs: identifiers without hyphens, numbers not rounded, times in UTC.
        said: lines for people.
        notes: lines beside the answer: warnings, what a recording changed; the command prints them to standard error.
    """

    document: Mapping[str, Any]
    said: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def table_lines(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """Rows in columns under their heads; the column of a head that begins with a space aligns right."""
    lines = [tuple(heads), *map(tuple, rows)]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    return tuple(
        "  ".join(
            text.rjust(width) if head.startswith(" ") else text.ljust(width)
            for text, width, head in zip(line, widths, heads, strict=True)
        ).rstrip()
        for line in lines
    )
