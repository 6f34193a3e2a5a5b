"""A program in which one demand may be missed, and by as little as can be."""

from collections.abc import Iterable, Iterator
from math import inf, isfinite

from pourbook.planning.casks import Cask
from pourbook.planning.linear import Program, Row
from pourbook.planning.program import program_of
from pourbook.planning.recipe import Recipe, asked_of

__all__ = ["eased"]

_OF_PART_CASKS = ("limits.least_left_l", "limits.least_taken_l")


def eased(recipe: Recipe, casks: Iterable[Cask], demand: str, beyond: float = 0.0) -> Program:
    """The program of a recipe with one more column: by how much a demand is missed, which is the objective.

    The demand is made stricter by `beyond`, in the unit of its rows, so that more than is asked counts as well.
    """
    import numpy as np

    of_parts, stock = demand in _OF_PART_CASKS, tuple(casks)
    asked = recipe._replace(objective={})
    program = program_of(asked, stock, without=(demand,))  # which must be used is said of what is not missed alone
    column = program.cost.size
    if of_parts:
        missed = list(_of_each_part(program, demand, asked_of(recipe, demand), column))
        missed_by = [asked_of(recipe, demand)]
    else:
        rows = program_of(asked, stock).rows
        missed = [_missed(row, column, beyond) for row in rows if row.demand == demand]
        missed_by = [_most(row) for row in missed]
    return program._replace(
        cost=np.append(program.cost, 1.0),
        lower=np.append(program.lower, 0.0),
        upper=np.append(program.upper, max(missed_by, default=1.0)),
        integral=np.append(program.integral, False),
        rows=(*program.rows, *missed),
    )


def _missed(row: Row, column: int, beyond: float) -> Row:
    import numpy as np

    least = isfinite(row.low)
    return row._replace(
        columns=np.append(row.columns, column),
        weights=np.append(row.weights, 1.0 if least else -1.0),
        low=row.low + beyond if least else row.low,
        high=row.high if least else row.high - beyond,
    )


def _most(row: Row) -> float:
    """More than a row can be missed by."""
    return float(abs(row.weights).sum() + (abs(row.low) if isfinite(row.low) else abs(row.high)))


def _of_each_part(program: Program, demand: str, asked: float, column: int) -> Iterator[Row]:
    """Of each part cask, what is left, or taken, and missed is at least what is asked."""
    import numpy as np

    count = len(program.casks)
    for i, cask in enumerate(program.casks):
        left = demand == "limits.least_left_l"
        weights = (cask.volume_l - asked, -cask.volume_l, 1.0) if left else (-asked, cask.volume_l, 1.0)
        yield Row(demand, np.array([i + count, i + 2 * count, column]), np.array(weights), 0.0, inf)
