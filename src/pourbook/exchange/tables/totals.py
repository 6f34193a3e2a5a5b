"""Rows of totals in a table: told from other rows, and held against the sums of the rows above them.

>>> is_of_totals(["Total", "390.5", "l"], 0), is_of_totals(["Row 1", "390.5", "l"], 0)
(True, False)
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal

from pourbook.errors import Fault, Malformed
from pourbook.exchange.tables.number_forms import in_house_form
from pourbook.exchange.tables.taken import Heard
from pourbook.numerals import number_and_rest

__all__ = ["ADDITIVE", "BEGINS_TOTALS", "Record", "Totals", "is_of_totals"]

ADDITIVE = ("quantity", "amount", "received", "lpa", "capacity_l", "tare_kg", "cost")
"""Columns whose sum means something."""

Record = tuple[int, list[str]]
"""A row as it stands in the file: its number and its cells."""

BEGINS_TOTALS = "tTsSgG: "
"""What the name of such a row may begin with, if it has one."""

_TOTALS = re.compile(r"(?:(?:(?:sub|grand) ?-?)?totals?|sums?|summe|gesamt)?:?", re.IGNORECASE)
_FIGURE_OR_UNIT = re.compile(r"[-+]?[0-9][0-9.,'’ ]*(?:[a-z%]{1,3})?|[a-z]{1,3}", re.IGNORECASE)


def is_of_totals(cells: list[str], called: int) -> bool:
    """Whether a row only sums up those above: no name, or the word for it, and otherwise figures and units."""
    if not _TOTALS.fullmatch(cells[called]):
        return False
    others = [cell for place, cell in enumerate(cells) if cell and place != called]
    return bool(others) and all(map(_FIGURE_OR_UNIT.fullmatch, others))


class Totals:
    """Adds up the columns at some places (their heading and what converts their cells); rows are called at `called`."""

    def __init__(
        self, file: str, additive: Mapping[int, tuple[str, Callable[[str], str] | None]], called: int, name: str,
        heard: Heard,
    ) -> None:  # fmt: skip
        self._file, self._additive, self._called, self._name, self._heard = file, additive, called, name, heard
        self._since = dict.fromkeys(additive, Decimal())
        self._whole = dict.fromkeys(additive, Decimal())

    def checked(
        self, totals: Mapping[int, list[str]], records: Iterable[Record]
    ) -> Iterator[tuple[int, str, Fault | None]]:
        """Each row of totals: its number, what is told of it, and the fault where it does not agree."""
        for number, raw in records:
            figures = {at: self._figure(at, raw[at].strip()) for at in self._additive if at < len(raw)}
            if number in totals:
                yield number, *self._judged(number, totals[number], figures)
                self._since = dict.fromkeys(self._additive, Decimal())
                continue
            for at, figure in figures.items():
                self._since[at] += figure or 0
                self._whole[at] += figure or 0

    def _figure(self, at: int, cell: str) -> Decimal | None:
        """The number that a cell begins with; None for none."""
        mark, converted = self._heard.mark, self._additive[at][1]
        try:
            return number_and_rest(converted(cell) if converted else in_house_form(cell, mark, mark), mark)[0]
        except Malformed:
            return None

    def _judged(self, number: int, cells: list[str], figures: Mapping[int, Decimal | None]) -> tuple[str, Fault | None]:
        called = cells[self._called]
        said = {at: figure for at, figure in figures.items() if figure is not None}
        differing = [at for at, figure in said.items() if not self._agrees(at, figure)]
        shown = ", ".join(f"{self._additive[at][0]} {cells[at]}" for at in said)
        if said and not differing:
            return f"a row of totals that agrees with the rows above it: {shown}", None
        if not called:
            problem = "has figures and no name, as a row of totals has"
            return problem, Fault(self._file, number, "", "", problem, f"delete it, or fill in '{self._name}'")
        if self._heard.confirmed or not said:
            return f"a row of totals, {'not compared' if not said else 'confirmed though it differs'}: {shown}", None
        at = differing[0]
        problem = f"says {cells[at]}, but the rows above it add up to {self._sums(at)}"
        remedy = "correct the row that is wrong or lacking; if the rows are right and the total is not, --confirm"
        return problem, Fault(self._file, number, self._additive[at][0], called, problem, remedy)

    def _agrees(self, at: int, figure: Decimal) -> bool:
        """To one in the last place: a total may be shown rounded."""
        digits = figure.as_tuple().exponent
        assert isinstance(digits, int)
        return min(abs(figure - self._since[at]), abs(figure - self._whole[at])) <= Decimal(1).scaleb(digits)

    def _sums(self, at: int) -> str:
        since, whole = (f"{sums[at]:f}".replace(".", self._heard.mark) for sums in (self._since, self._whole))
        return since if since == whole else f"{since} since the total before, {whole} in all"
