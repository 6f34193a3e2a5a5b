"""Casks that are to come, from the rows of a table: as a table of casks, and in how many years each is there.

>>> from pourbook.numerals import read_decimal
>>> rows = [(2, {"ref": "N1", "component": "base", "volume_l_20c": "200", "strength_20c": "63", "in_years": "1"})]
>>> [(one.cask.ref, one.in_years) for one in fillings_of("fillings.csv", FILLING_COLUMNS, rows, read_decimal)]
[('N1', 1.0)]
"""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from pourbook.errors import Fault, FaultsFound, Malformed, PourbookError
from pourbook.numerals import counted
from pourbook.planning.cask_table import CASK_COLUMNS, casks_of
from pourbook.planning.casks import Cask

__all__ = ["FILLING_COLUMNS", "PlannedFilling", "fillings_of"]

FILLING_COLUMNS = (*CASK_COLUMNS, "in_years")
"""What such a table has; `wood_days` are those that the spirit brings, blank for none."""


class PlannedFilling(NamedTuple):
    """A cask that is to be filled, or bought, in so many years; its `wood_days` are those that it brings."""

    cask: Cask
    in_years: float


def fillings_of(
    file: str, headings: Sequence[str], rows: Sequence[tuple[int, Mapping[str, str]]], number: Callable[[str], Decimal]
) -> tuple[PlannedFilling, ...]:
    """The casks of a table; `number` reads a cell.

    Raises:
        Malformed: a column is missing.
        FaultsFound: every row that cannot be.
    """
    casks = casks_of(file, headings, rows, number)
    if "in_years" not in headings:
        raise Malformed(f"'{file}' has no column in_years", "say in how many years each cask is there", file=file)
    found, faults = [], []
    for cask, (at, row) in zip(casks, rows, strict=True):
        years = _years(text := row.get("in_years", ""), number)
        if years is None:
            remedy = "give a number of years from 0 to 100"
            faults.append(Fault(file, at, "in_years", text, "is no number of years from now", remedy))
        else:
            found.append(PlannedFilling(cask._replace(wood_days=cask.wood_days or 0), years))
    if faults:
        raise FaultsFound(f"{counted(len(faults), 'fault')} found in '{file}': nothing was counted", tuple(faults))
    return tuple(found)


def _years(text: str, number: Callable[[str], Decimal]) -> float | None:
    try:
        years = float(number(text))
    except PourbookError:
        return None
    return years if 0.0 <= years <= 100.0 else None
