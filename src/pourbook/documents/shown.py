"""The two forms of every answer: a JSON document for programs, lines for people."""

from collections.abc import Mapping
from typing import Any, NamedTuple

__all__ = ["Shown"]


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
