"""Where the tables keep numbers of entries: what follows when a journal lost its end, or when entries get others.

A line is numbered by its entry, times `LINES`, and a state by the line that opened it, times two.

>>> made_by("ledger"), made_by("mention")
(('line', 4096), ('entry', 1))
"""

from collections.abc import Mapping

from pourbook.book.contents import LINES

__all__ = ["NUMBERED", "made_by"]

_STATES = LINES * 2

NUMBERED: Mapping[str, Mapping[str, int]] = {
    "entry": {"number": 1, "place": 1, "gone": 1},
    "item": {"entry": 1},
    "fact": {"place": 1},
    "ledger": {"line": LINES, "place": LINES, "state": _STATES},
    "state": {"id": _STATES, "sealed_place": _STATES},
    "flow": {"line": LINES, "target": _STATES, "source": _STATES},
    "mention": {"entry": 1},
    "reserved": {"entry": 1},
    "recipe": {"entry": 1},
    "blending": {"entry": 1},
    "component": {"entry": 1},
    "pending": {"entry": 1},
    "unit": {"entry": 1},
    "tasting": {"entry": 1, "place": 1},
    "tasted_word": {"entry": 1},
    "session": {"entry": 1, "revealed": 1},
}
"""Table to its columns that hold the number of an entry, times so much; the first is of the entry that made the row."""


def made_by(table: str) -> tuple[str, int]:
    """The column that tells which entry made a row, and how many times its number it holds."""
    return next(iter(NUMBERED[table].items()))
