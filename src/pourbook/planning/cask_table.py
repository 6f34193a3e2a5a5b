"""Casks to choose from, from the rows of a table, or every fault in it with its row and what to do.

>>> from pourbook.numerals import read_decimal
>>> rows = [(2, {"ref": "1", "component": "rich", "volume_l_20c": "180.5", "strength_20c": "61.2"})]
>>> casks_of("casks.csv", CASK_COLUMNS, rows, read_decimal)
(Cask(ref='1', component='rich', volume_l=180.5, strength_vol=61.2, wood_days=None, cost_per_lpa=None, hold='', ...
"""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal

from pourbook.errors import Fault, FaultsFound, Malformed, PourbookError
from pourbook.numerals import counted
from pourbook.planning.casks import Cask

__all__ = ["CASK_COLUMNS", "casks_of"]

CASK_COLUMNS = ("ref", "component", "volume_l_20c", "strength_20c")
"""What every table of casks has; `wood_days`, `cost_per_lpa`, `place` and `hold` are read where they are there."""

_MOST_L, _MOST_DAYS, _MOST_COST = 1e6, 1e6, 1e9


def casks_of(
    file: str, headings: Sequence[str], rows: Sequence[tuple[int, Mapping[str, str]]], number: Callable[[str], Decimal]
) -> tuple[Cask, ...]:
    """The casks of a table; `number` reads a cell; blank days in wood and costs are unknown.

    Raises:
        Malformed: a column is missing.
        FaultsFound: every row that cannot be.
    """
    if missing := [name for name in CASK_COLUMNS if name not in headings]:
        named = ", ".join(CASK_COLUMNS)
        raise Malformed(f"'{file}' has no column {', '.join(missing)}", f"its first row is to name: {named}", file=file)
    reading = _Reading(file, number)
    casks = tuple(reading.cask(at, row) for at, row in rows)
    if reading.faults:
        count = counted(len(reading.faults), "fault")
        raise FaultsFound(f"{count} found in '{file}': nothing was planned", tuple(reading.faults))
    return casks


class _Reading:
    """Reads the rows of one table and gathers every fault."""

    def __init__(self, file: str, number: Callable[[str], Decimal]) -> None:
        self._file, self._typed = file, number
        self._rows: dict[str, int] = {}
        self.faults: list[Fault] = []

    def cask(self, at: int, row: Mapping[str, str]) -> Cask:
        """The cask of a row, as far as it can be read."""
        ref = self._text(at, row, "ref")
        if self._rows.setdefault(ref, at) != at and ref:
            self._fault(at, "ref", ref, f"stands in row {self._rows[ref]}, too", "give each cask a name of its own")
        days = self._number(at, row, "wood_days", _MOST_DAYS)
        return Cask(
            ref,
            self._text(at, row, "component"),
            self._number(at, row, "volume_l_20c", _MOST_L, needed=True) or 0.0,
            self._number(at, row, "strength_20c", 100.0, needed=True, above=True) or 0.0,
            None if days is None else int(days),
            self._number(at, row, "cost_per_lpa", _MOST_COST),
            row.get("hold", ""),
            row.get("place", ""),
        )

    def _text(self, at: int, row: Mapping[str, str], column: str) -> str:
        if not (found := row.get(column, "")):
            self._fault(at, column, "", "is blank", "write it")
        return found

    def _number(
        self, at: int, row: Mapping[str, str], column: str, most: float, *, needed: bool = False, above: bool = False
    ) -> float | None:
        """The number in a cell; None where it is blank, or cannot be."""
        text = row.get(column, "")
        if not text:
            if needed:
                self._fault(at, column, "", "is blank", "write a number")
            return None
        try:
            found = float(self._typed(text))
        except PourbookError as refusal:
            self._fault(at, column, text, refusal.message, refusal.remedy)
            return None
        if not 0.0 <= found <= most or (above and not found):
            least = "above 0, up to" if above else "from 0 to"
            self._fault(at, column, text, "is out of range", f"give a number {least} {most:g}")
            return None
        return found

    def _fault(self, at: int, column: str, cell: str, problem: str, remedy: str) -> None:
        self.faults.append(Fault(self._file, at, column, cell, problem, remedy))
