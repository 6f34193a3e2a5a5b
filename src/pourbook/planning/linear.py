"""A mixed-integer linear program over casks as a value: columns of each cask, and rows named by what they stand for."""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.planning.casks import Cask

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Whole = NDArray[np.int64]

__all__ = ["Program", "Row"]


class Row(NamedTuple):
    """A limit on a weighted sum of columns.

    Attributes:
        demand: that it stands for; empty for a fact.
        columns: numbers of the columns.
        weights: of each of them.
        low: the least of the sum.
        high: the most of the sum.
    """

    demand: str
    columns: "Whole"
    weights: "Floats"
    low: float
    high: float


class Program(NamedTuple):
    """A program in the columns whole, part and share of each cask, one kind after the other, and extra ones.

    What ties the columns of a cask together is no row: emptied or a part cask, not both; a share only of a part cask,
    from `least` to `most`.

    Attributes:
        casks: those that may be chosen, in the order of their columns.
        cost: of each column, in the objective.
        lower: the least of each column.
        upper: the most of each column.
        integral: whether each column is a whole number.
        least: the least share of each cask as a part cask.
        most: the most of it.
        rows: what binds.
        wanted: parts and volume aimed at, in units of their tolerances; they do not bind.
    """

    casks: tuple[Cask, ...]
    cost: "Floats"
    lower: "Floats"
    upper: "Floats"
    integral: "NDArray[np.bool_]"
    least: "Floats"
    most: "Floats"
    rows: tuple[Row, ...]
    wanted: tuple[Row, ...] = ()

    @property
    def is_impossible(self) -> bool:
        """Whether a row without columns cannot hold, whatever is taken."""
        return any(not row.columns.size and not row.low <= 0.0 <= row.high for row in self.rows)
