"""Which casks can be in a better plan: prices of the demands, and programs of fewer casks.

The relaxed program, whole numbers left out, gives a price for every row. At these prices casks no longer depend on
each other, so it is plain what emptying or opening one adds to the bound at least (the Lagrangian of the rows). A cask
that adds more than the best plan found is above the bound is in no better plan, and is left out of the search; that is
proof, whatever the prices.
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.planning.linear import Program, Row

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["Relaxed", "columns_of", "likely", "narrowed", "relaxed_at"]

_OF_EACH = 12
"""Casks of each component that a first search has at least."""


class Relaxed(NamedTuple):
    """What prices of the rows prove.

    Attributes:
        bound: no plan is below it.
        whole: what emptying each cask adds to it at least.
        part: what taking a part of each cask adds at least.
    """

    bound: float
    whole: "Floats"
    part: "Floats"


def relaxed_at(program: Program, prices: "Floats") -> Relaxed:
    """The bound at prices of the rows, in their order, and what each cask adds to it."""
    import numpy as np

    count = len(program.casks)
    bound, reduced = 0.0, program.cost.copy()
    for row, price in zip(program.rows, prices, strict=True):
        limit = row.low if price > 0.0 else row.high
        if price and np.isfinite(limit):
            bound += price * limit
            reduced[row.columns] -= price * row.weights
    whole, opened, share = reduced[:count], reduced[count : 2 * count], reduced[2 * count : 3 * count]
    part = opened + np.minimum(share * program.least, share * program.most)
    whole, part = _where_may(program, 0, whole), _where_may(program, 1, part)
    closed = np.where(program.lower[:count] + program.lower[count : 2 * count] > 0.0, np.inf, 0.0)
    best = np.minimum(closed, np.minimum(whole, part))
    extra = reduced[3 * count :]
    ends = np.minimum(extra * program.lower[3 * count :], extra * program.upper[3 * count :])
    return Relaxed(float(bound + best.sum() + ends.sum()), whole - best, part - best)


def _where_may(program: Program, kind: int, cost: "Floats") -> "Floats":
    import numpy as np

    count = len(program.casks)
    return np.where(program.upper[kind * count : (kind + 1) * count] > 0.5, cost, np.inf)


def likely(program: Program, relaxed: Relaxed, most: int) -> "NDArray[np.bool_]":
    """So many casks that add least, and some of every component."""
    import numpy as np

    adds = np.minimum(relaxed.whole, relaxed.part)
    order = np.argsort(adds, kind="stable")
    chosen = np.zeros(len(program.casks), dtype=bool)
    chosen[order[:most]] = True
    seen: dict[str, int] = {}
    for i in order:
        name = program.casks[i].component
        seen[name] = seen.get(name, 0) + 1
        chosen[i] |= seen[name] <= _OF_EACH
    return chosen


def narrowed(program: Program, whole: "NDArray[np.bool_]", part: "NDArray[np.bool_]") -> Program:
    """The program of the casks that may still be emptied or opened in part."""
    import numpy as np

    count = len(program.casks)
    stays, columns = np.flatnonzero(whole | part), columns_of(program, whole | part)
    places = np.full(program.cost.size, -1)
    places[columns] = np.arange(columns.size)
    allowed = np.concatenate((whole, part, part, np.ones(program.cost.size - 3 * count, dtype=bool)))
    return Program(
        tuple(program.casks[i] for i in stays),
        program.cost[columns],
        program.lower[columns],
        np.where(allowed, program.upper, 0.0)[columns],
        program.integral[columns],
        program.least[stays],
        program.most[stays],
        tuple(_row(row, places) for row in program.rows),
        tuple(_row(row, places) for row in program.wanted),
    )


def columns_of(program: Program, casks: "NDArray[np.bool_]") -> "NDArray[np.int64]":
    """Numbers of the columns that a program of some of the casks has, in its order."""
    import numpy as np

    count, stays = len(program.casks), np.flatnonzero(casks)
    return np.concatenate((stays, stays + count, stays + 2 * count, np.arange(3 * count, program.cost.size)))


def _row(row: Row, places: "NDArray[np.int64]") -> Row:
    there = places[row.columns] >= 0
    return row._replace(columns=places[row.columns[there]], weights=row.weights[there])
