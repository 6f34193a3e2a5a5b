"""Bounds, further limits and blends already tried, from the rows of tables; exact, with every fault listed.

Bounds are fractions, or parts of a whole of 100 where one of them is above 1.

>>> rows = [(2, {"component": "ash", "lower": "60", "upper": "85"}), (3, {"component": "heather", "upper": "15"})]
>>> region_of("bounds.csv", ("component", "lower", "upper"), rows, Fraction).bounds[0]
(Fraction(3, 5), Fraction(17, 20))
"""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from pourbook.errors import Fault, FaultsFound, Malformed, PourbookError
from pourbook.mixtures.regions import Blend, Limit, Region
from pourbook.numerals import counted

__all__ = ["BOUNDS_COLUMNS", "blends_of", "limits_of", "region_of"]

BOUNDS_COLUMNS = ("component", "lower", "upper")

Rows = Sequence[tuple[int, Mapping[str, str]]]
Number = Callable[[str], Decimal | Fraction]


def region_of(
    file: str, headings: Sequence[str], rows: Rows, number: Number, whole: Fraction | None = None
) -> Region:  # fmt: skip
    """The region of a table with the columns `BOUNDS_COLUMNS`; a blank bound binds nothing.

    `number` reads a cell; `whole` is what the parts are of, if it is neither 1 nor 100.

    Raises:
        Malformed: a column is missing.
        FaultsFound: every row that cannot be.
    """
    _check_columns(file, [heading.casefold() for heading in headings], BOUNDS_COLUMNS)
    rows = [(at, {heading.casefold(): cell for heading, cell in row.items()}) for at, row in rows]
    table = _Numbers(file, number)
    typed = [(at, table.name(at, row), table.cell(at, row, "lower"), table.cell(at, row, "upper")) for at, row in rows]
    most = max((bound for *_, low, high in typed for bound in (low, high) if bound is not None), default=Fraction(1))
    of = whole or Fraction(1 if most <= 1 else 100)
    for at, name, low, high in typed:
        if high is not None and high < (low or 0):
            table.fault(at, "upper", f"{float(high):g}", f"is below the lower bound of {name}", "exchange them")
        elif max(low or Fraction(0), high or Fraction(0)) > of:
            table.fault(
                at, "upper", "", f"{name} is more than the whole of {float(of):g}", "say what they are parts of"
            )
    if not typed:
        table.fault(1, "", "", "has no components", "write a row for each")
    table.done()
    bounds = tuple(((low or Fraction(0)) / of, (of if high is None else high) / of) for *_, low, high in typed)
    return Region(tuple(name for _, name, *_ in typed), bounds)


def limits_of(
    file: str, headings: Sequence[str], rows: Rows, number: Number, components: Sequence[str]
) -> tuple[Limit, ...]:
    """Further limits, each a row: `lower` and `upper` of the sum of the components' fractions, each times its cell.

    A component without a cell counts nothing; the column `limit` names it.

    Raises as `region_of`.
    """
    _check_columns(file, headings, (*components, "lower", "upper"))
    table, found = _Numbers(file, number), []
    for at, row in rows:
        weights = tuple(table.cell(at, row, name) or Fraction(0) for name in components)
        low, high = (table.cell(at, row, name, least=None) for name in ("lower", "upper"))
        if low is None and high is None:
            table.fault(at, "lower", "", "has neither a lower nor an upper end", "write one of them")
        found.append(Limit(row.get("limit") or f"the sum of row {at}", weights, low, high))
    table.done()
    return tuple(found)


def blends_of(
    file: str, headings: Sequence[str], rows: Rows, number: Number, components: Sequence[str]
) -> tuple[Blend, ...]:
    """Blends that were tried, a row each: a column of fractions or parts for each component; others are passed over.

    Raises as `region_of`.
    """
    _check_columns(file, headings, components)
    table, found = _Numbers(file, number), []
    for at, row in rows:
        parts = [table.cell(at, row, name) or Fraction(0) for name in components]
        if not sum(parts):
            table.fault(at, "", "", "has no part of any component", "write what the glass was made of")
        found.append((parts, sum(parts)))
    table.done()
    return tuple(tuple(part / whole for part in parts) for parts, whole in found)


def _check_columns(file: str, headings: Sequence[str], needed: Sequence[str]) -> None:
    if missing := [name for name in needed if name not in headings]:
        raise Malformed(
            f"'{file}' has no column {', '.join(missing)}", f"its first row is to name: {', '.join(needed)}", file=file
        )


class _Numbers:
    """Reads the cells of a table and gathers every fault."""

    def __init__(self, file: str, number: Number) -> None:
        self._file, self._number = file, number
        self._faults: list[Fault] = []

    def name(self, at: int, row: Mapping[str, str]) -> str:
        """The name of a component."""
        if not row.get("component"):
            self.fault(at, "component", "", "is blank", "name the component")
        return row.get("component", "")

    def cell(
        self, at: int, row: Mapping[str, str], column: str, least: Fraction | None = Fraction(0)
    ) -> Fraction | None:
        """The number in a cell; None where it is blank."""
        text = row.get(column, "")
        if not text:
            return None
        try:
            found = Fraction(self._number(text))
        except PourbookError as refusal:
            self.fault(at, column, text, refusal.message, refusal.remedy)
            return None
        if least is not None and found < least:
            self.fault(at, column, text, "is below zero", "write parts or fractions")
        return found

    def fault(self, at: int, column: str, cell: str, problem: str, remedy: str) -> None:
        """List one."""
        self._faults.append(Fault(self._file, at, column, cell, problem, remedy))

    def done(self) -> None:
        """Raise all faults there are."""
        if self._faults:
            count = counted(len(self._faults), "fault")
            raise FaultsFound(f"{count} found in '{self._file}': nothing was computed", tuple(self._faults))
