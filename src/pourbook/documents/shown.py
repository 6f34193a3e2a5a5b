"""The two forms of every answer: a JSON document for programs, lines for people."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

__all__ = ["CAUTION", "Shown", "aligned", "table"]

CAUTION = (
    "caution: working figures by OIML R 22; the legal gauge, label and duty return follow the local authority;"
    " vapour of strong spirit ignites at room temperature"
)
"""Stands beside the figures of a calculator."""


class Shown(NamedTuple):
    """An answer as a door shows it.

    Attributes:
        document: for programs: identifiers without hyphens, numbers not rounded, times in UTC.
        said: lines for people.
        notes: lines beside the answer, such as what a recording changed; the document says the same.
        warnings: what a person must see, beside the document, too.
    """

    document: Mapping[str, Any]
    said: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def aligned(pairs: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Labels and values, the values under each other."""
    lines = list(pairs)
    width = max(len(label) for label, _ in lines)
    return tuple(f"{label.ljust(width)}  {value}" for label, value in lines)


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """Rows under their heads, as lines; a head that begins with a space aligns right.

    >>> table(("item", " ml"), [("V-000001-R", "12.5"), ("V-000002-P", "9.0")])
    ('item          ml', 'V-000001-R  12.5', 'V-000002-P   9.0')
    """
    lines = (tuple(heads), *map(tuple, rows))
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    aligns = [str.rjust if head.startswith(" ") else str.ljust for head in heads]
    return tuple(
        "  ".join(align(text, width) for align, text, width in zip(aligns, line, widths, strict=True)).rstrip()
        for line in lines
    )
