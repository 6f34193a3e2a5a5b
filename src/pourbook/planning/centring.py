"""Of plans that are as good, the one nearest to what is aimed at.

Where only casks are counted, many casks and amounts are as good, and a solver ends at any of them: mostly in a
corner, with parts at their bounds, where every error of a gauge puts them outside. What is missed is measured in
tolerances: which casks, by least sum; how much of them, by least squares.
"""

from math import inf
from typing import TYPE_CHECKING

from pourbook.planning.linear import Program, Row

if TYPE_CHECKING:
    import highspy
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["centred", "counts_casks_alone", "nearest_program"]

_CLOSE = 1e-7
_ROUNDING = 1e-9
"""Of an objective: what doubles may add to it."""


def counts_casks_alone(program: Program) -> bool:
    """Whether amounts count nothing in the objective; else others are hardly as good."""
    return not program.cost[2 * len(program.casks) :].any()


def nearest_program(program: Program, best: float) -> Program:
    """The program of what is missed least, with a column for each aim, at no more than the best objective."""
    import numpy as np

    size, count = program.cost.size, len(program.wanted)
    counted = np.flatnonzero(program.cost)
    rows = [*program.rows, Row("", counted, program.cost[counted], -inf, best + _ROUNDING * max(1.0, best))]
    for number, aim in enumerate(program.wanted):
        columns = np.append(aim.columns, size + number)
        rows.append(Row("", columns, np.append(aim.weights, 1.0), aim.low, inf))
        rows.append(Row("", columns, np.append(aim.weights, -1.0), -inf, aim.high))
    return program._replace(
        cost=np.concatenate((np.zeros(size), np.ones(count))),
        lower=np.concatenate((program.lower, np.zeros(count))),
        upper=np.concatenate((program.upper, np.full(count, inf))),
        integral=np.concatenate((program.integral, np.zeros(count, dtype=bool))),
        rows=tuple(rows),
    )


def centred(solver: "highspy.Highs", program: Program) -> "Floats":
    """Amounts nearest to what is aimed at, among those as good as the ones solved; these, where that fails."""
    import highspy
    import numpy as np

    former = np.array(solver.getSolution().col_value)
    if not program.wanted or not counts_casks_alone(program):
        return former
    size, every = program.cost.size, np.arange(program.cost.size, dtype=np.int32)
    solver.changeColsCost(size, every, np.zeros(size))
    for number, aim in enumerate(program.wanted):
        solver.addCol(0.0, -inf, inf, 0, np.array([], dtype=np.int32), np.array([]))
        columns = np.append(aim.columns, size + number).astype(np.int32)
        solver.addRow(aim.low, aim.high, columns.size, columns, np.append(aim.weights, -1.0))
    solver.passHessian(_squares(size, len(program.wanted)))
    solver.run()
    found = np.array(solver.getSolution().col_value)[:size]
    is_solved = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return found if is_solved and _keeps(program, found) else former


def _keeps(program: Program, values: "Floats") -> bool:
    """Whether values keep every row as closely as amounts alone are solved; squares are solved less closely."""
    sums = ((row, float(row.weights @ values[row.columns])) for row in program.rows)
    return all(row.low - _CLOSE <= found <= row.high + _CLOSE for row, found in sums)


def _squares(before: int, count: int) -> "highspy.HighsHessian":
    """Half the sum of the squares of the last columns, behind so many others."""
    import highspy
    import numpy as np

    hessian = highspy.HighsHessian()
    hessian.dim_, hessian.format_ = before + count, highspy.HessianFormat.kTriangular
    hessian.start_ = np.concatenate((np.zeros(before), np.arange(count + 1))).astype(np.int32)
    hessian.index_ = np.arange(before, before + count, dtype=np.int32)
    hessian.value_ = np.ones(count)
    return hessian
