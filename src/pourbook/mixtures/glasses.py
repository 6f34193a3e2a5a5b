"""Glasses as they were tasted: what each was made of and what was found in it, from the rows of a table.

Fractions or parts are the same: every row is divided by its sum, so that a glass of thirds written to ten decimals is
one of thirds.

>>> asked = Asked("pear")
>>> rows = [(2, {"ash": "70", "birch": "30", "pear": "3"}), (3, {"ash": "35", "birch": "15", "pear": "4"})]
>>> found = glasses_of("flight.csv", ("ash", "birch", "pear"), rows, asked, float)
>>> found.components, found.blends.tolist(), found.response.tolist()
(('ash', 'birch'), [[0.7, 0.3], [0.7, 0.3]], [3.0, 4.0])
"""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourbook.errors import Ambiguous, Fault, FaultsFound, Malformed, OutOfRange, PourbookError
from pourbook.numerals import counted

__all__ = [
    "MOST_ASSESSORS", "MOST_GLASSES", "Asked", "Blend", "Glasses", "blend_of", "glasses_of", "measured", "same_blends",
]  # fmt: skip

MOST_GLASSES, MOST_ASSESSORS = 5_000, 500
"""Of what one model is fitted to: beyond them it would take minutes."""

_SAME_FRACTION = 6
"""Decimals of a fraction to which two glasses are the same blend: a tenth of a microlitre in 100 mL."""
_SAME_SUM = 0.005
"""Within what part sums of rows are taken as the same: fractions are often rounded."""

_BY_A_PROGRAM = re.compile(r"-?[0-9](?:\.[0-9]+)?e[-+][0-9]{2}")
"""A number as a program writes it that is very small or large: 1e-05."""

Blend = NDArray[np.float64]
"""Fractions of each component, which add to one."""

Rows = Sequence[tuple[int, Mapping[str, str]]]


class Glasses(NamedTuple):
    """Glasses tasted, one to a row.

    Attributes:
        components: their names.
        blends: fraction of each component (a column) in each glass (a row); every row adds to one.
        response: what was found: an intensity, a liking, a score, in the scale it was given in.
        assessors: who tasted each (or on which day: whatever moves all glasses together); empty where nobody said.
        left_out: columns of the table that are words and no component.
    """

    components: tuple[str, ...]
    blends: NDArray[np.float64]
    response: NDArray[np.float64]
    assessors: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()


class Asked(NamedTuple):
    """Which columns are what: the `response`, the `assessor` (empty: none), `components` (none named: the others)."""

    response: str
    assessor: str = ""
    components: tuple[str, ...] = ()


def _check_size(glasses: int, assessors: int) -> None:
    if glasses > MOST_GLASSES or assessors > MOST_ASSESSORS:
        raise OutOfRange(
            f"{glasses} glasses by {assessors} assessors are more than a model is fitted to"
            f" ({MOST_GLASSES} by {MOST_ASSESSORS})",
            "give the means of glasses of the same blend",
        )


def measured(
    components: Sequence[str], parts: Sequence[Sequence[float]], response: Sequence[float], assessors: Sequence[str]
) -> Glasses:
    """Glasses from numbers: parts of each component (a column) in each glass (a row).

    Raises:
        OutOfRange: there are more than a model is fitted to.
    """
    _check_size(len(response), len(set(assessors)))
    blends = np.array(parts, dtype=float)
    blends /= blends.sum(axis=1, keepdims=True)
    return Glasses(tuple(components), blends, np.array(response, dtype=float), tuple(assessors))


def blend_of(components: Sequence[str], parts: Mapping[str, float]) -> Blend:
    """A blend from parts; a component that is not named has none.

    Raises:
        Malformed: a name is no component, or nothing is in it.
    """
    if unknown := [name for name in parts if name not in components]:
        raise Malformed(f"'{unknown[0]}' is no component here", f"components are: {', '.join(components)}")
    found = np.array([parts.get(name, 0.0) for name in components])
    if not (found >= 0).all() or not found.sum() > 0:
        typed = ", ".join(f"{name}={part:g}" for name, part in parts.items())
        raise Malformed(f"{typed} is no blend", "give parts above zero")
    return np.asarray(found / found.sum())


def same_blends(blends: NDArray[np.float64]) -> NDArray[np.intp]:
    """A number for each glass, the same for glasses of the same blend, in no particular order."""
    return np.unique(np.round(blends, _SAME_FRACTION) + 0.0, axis=0, return_inverse=True)[1].reshape(-1)


def glasses_of(
    file: str, headings: Sequence[str], rows: Rows, asked: Asked, number: Callable[[str], object]
) -> Glasses:
    """The glasses of a table: number of each row and text by heading; `number` reads a cell.

    Raises:
        Malformed: a column that was asked for is missing, or there is no component.
        OutOfRange: there are more glasses or assessors than a model is fitted to.
        Ambiguous: some columns may be no components.
        FaultsFound: every cell that cannot be; nothing was computed.
    """
    for wanted in (asked.response, asked.assessor, *asked.components):
        if wanted and wanted not in headings:
            raise Malformed(f"'{file}' has no column '{wanted}'", f"its columns are: {', '.join(headings)}")
    if asked.response in (asked.assessor, *asked.components):
        raise Malformed(f"'{asked.response}' cannot be the response and something else", "name another column")
    _check_size(len(rows), len({row.get(asked.assessor) for _, row in rows}))
    table = _Numbers(file, rows, number)
    others = [name for name in headings if name and name not in (asked.response, asked.assessor)]
    components = tuple(dict.fromkeys(asked.components)) or tuple(name for name in others if table.has_numbers(name))
    if len(components) < 2:
        raise _no_components(file, components, others, rows, number)
    if not asked.components:
        _only_components(file, components, table)
    parts = np.array([table.column(name, least=0.0) for name in components]).T
    response = np.array(table.column(asked.response))
    assessors = tuple(table.words(asked.assessor)) if asked.assessor else ()
    sums = parts.sum(axis=1)
    table.check_sums(sums)
    table.done()
    left_out = () if asked.components else tuple(name for name in others if name not in components)
    return Glasses(components, parts / sums[:, None], response, assessors, left_out)


def _no_components(
    file: str, components: Sequence[str], others: Sequence[str], rows: Rows, number: Callable[[str], object]
) -> Malformed:
    """Fewer than two; perhaps because parts are not written as numbers are."""
    told = f"'{file}' has fewer than two components"
    for name in others:
        cell = rows[0][1].get(name, "")
        if name not in components and cell[:1].isdigit():
            try:
                number(cell)
            except PourbookError as refusal:
                return Malformed(f"{told}; {name}: {refusal.message}", refusal.remedy)
    return Malformed(told, "write a column of parts for each")


def _only_components(file: str, columns: tuple[str, ...], table: "_Numbers") -> None:
    """Where only some columns, beside each other, add to one sum in every row, the others may be no components."""
    found = np.array([table.readable(name) for name in columns])
    if _is_one_sum(found):
        return
    runs = [(at, at + size) for size in range(len(columns) - 1, 1, -1) for at in range(len(columns) - size + 1)]
    if run := next((slice(*run) for run in runs if _is_one_sum(found[slice(*run)])), None):
        components, others = columns[run], [name for name in columns if name not in columns[run]]
        raise Ambiguous(
            f"in '{file}' {', '.join(components)} add to one sum in every row;"
            f" {', '.join(others)} may be no components",
            f"name those that are: --component '{','.join(components)}'",
        )


def _is_one_sum(columns: NDArray[np.float64]) -> bool:
    sums = columns.sum(axis=0)
    return bool((columns >= 0).all() and 0 < sums.max() <= sums.min() * (1 + _SAME_SUM))


class _Numbers:
    """Reads the columns of a table and gathers every fault."""

    def __init__(self, file: str, rows: Rows, number: Callable[[str], object]) -> None:
        self._file, self._rows, self._number = file, rows, number
        self._faults: list[Fault] = []

    def has_numbers(self, column: str) -> bool:
        """Whether any cell of a column is a number; if so, one that is none is a fault."""
        return not np.isnan(self.readable(column)).all()

    def readable(self, column: str) -> list[float]:
        """The numbers of a column as far as they can be read, nan where not."""
        read = (self._read(row.get(column, "")) for _, row in self._rows)
        return [float("nan") if one is None else one for one in read]

    def column(self, name: str, least: float = -np.inf) -> list[float]:
        """The numbers of a column; those that are none, or below the least, are faults."""
        return [self._cell(at, name, row.get(name, ""), least) for at, row in self._rows]

    def words(self, name: str) -> list[str]:
        """The words of a column, none of them blank."""
        for at, row in self._rows:
            if not row.get(name):
                self._fault(at, name, "", "is blank", "write who tasted, or delete the row")
        return [row.get(name, "") for _, row in self._rows]

    def check_sums(self, sums: NDArray[np.float64]) -> None:
        """A glass holds something."""
        for (at, _), whole in zip(self._rows, sums, strict=True):
            if whole <= 0:
                self._fault(at, "", "", "has no part of any component", "write what the glass was made of")

    def done(self) -> None:
        """Raise all faults there are."""
        if self._faults:
            faults = tuple(sorted(self._faults, key=lambda fault: fault.row))
            raise FaultsFound(f"{counted(len(faults), 'fault')} found in '{self._file}': nothing was computed", faults)

    def _read(self, cell: str) -> float | None:
        if _BY_A_PROGRAM.fullmatch(cell):
            return float(cell)
        try:
            return float(str(self._number(cell)))
        except (PourbookError, ValueError):
            return None

    def _cell(self, at: int, name: str, cell: str, least: float) -> float:
        found = self._read(cell)
        if found is None:
            remedy = "write a number" if least else "write a number, 0 where there is none of it"
            self._fault(at, name, cell, "is not a number" if cell else "is blank", remedy)
        elif found < least:
            self._fault(at, name, cell, "is below zero", "write parts; if it is no component, name those that are")
        else:
            return found
        return 1.0

    def _fault(self, at: int, name: str, cell: str, problem: str, remedy: str) -> None:
        self._faults.append(Fault(self._file, at, name, cell, problem, remedy))
