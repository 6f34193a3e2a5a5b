"""The two forms of every answer: a JSON document for programs, lines for people."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

__all__ = ["Shown", "table"]


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


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """Rows under their heads, as lines; a head that begins with a space aligns right.

    >>> table(("item", " ml"), [("V-000001-R", "12.5"), ("V-000002-P", "9.0")])
    ('item          ml', 'V-000001-R  12.5', 'V-000002-P   9.0')
    """
    lines = (tuple(heads), *map(tuple, rows))
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    aligned = [str.rjust if head.startswith(" ") else str.ljust for head in heads]
    return tuple(
        "  ".join(align(text, width) for align, text, width in zip(aligned, line, widths, strict=True)).rstrip()
        for line in lines
    )
