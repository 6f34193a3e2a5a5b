"""The program given to HiGHS: the best whole numbers that it finds, the bound it proves, and the amounts once more."""

from collections.abc import Callable
from math import inf, isfinite
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from pourbook.planning.program import Program

if TYPE_CHECKING:
    import highspy
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["Clock", "Progress", "Solved", "solved"]

Progress = Callable[[float, float | None, float], None]
"""Called with seconds taken, the objective of the best plan so far (None: none yet), and the bound."""

_TOLERANCE = 1e-9
"""Of rows, whose largest weight is 1, and of whole numbers."""

_POLISHED = 1e-7
"""Of rows, where the amounts alone are solved again and rounding leaves less room."""

_RELATIVE_GAP = 1e-7


class Clock:
    """Seconds since it was made, and those left of a limit."""

    def __init__(self, seconds: float) -> None:
        self._started, self._seconds = monotonic(), seconds

    @property
    def taken(self) -> float:
        """Seconds since it was made."""
        return monotonic() - self._started

    @property
    def left(self) -> float:
        """Seconds left, none when time is over."""
        return max(0.0, self._seconds - self.taken)


class Solved(NamedTuple):
    """What a search came to.

    Attributes:
        values: of every column, in the best plan; None where none was found.
        bound: no plan is below it; infinite where no plan is possible.
    """

    values: "Floats | None"
    bound: float

    @property
    def is_impossible(self) -> bool:
        """Whether it is proved that there is no plan."""
        return self.values is None and self.bound == inf


def solved(program: Program, clock: Clock, progress: Progress | None = None) -> Solved:
    """The best plan of a program, as far as time allows."""
    if program.is_impossible or not program.casks:
        return Solved(None, inf)
    import highspy

    if not clock.left:
        return Solved(None, 0.0)
    scale = float(abs(program.cost).max()) or 1.0
    solver = _solver(program, scale)
    solver.setOptionValue("time_limit", clock.left)
    if progress:
        _tell(solver, clock, scale, progress)
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return Solved(None, inf)
    bound = max(0.0, info.mip_dual_bound * scale) if isfinite(info.mip_dual_bound) else 0.0
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Solved(None, bound)
    return Solved(_polished(program, _values(solver), scale), bound)


def _tell(solver: "highspy.Highs", clock: Clock, scale: float, progress: Progress) -> None:
    """Have the search say how far it is."""

    def told(event: "highspy.highs.HighsCallbackEvent") -> None:
        best, bound = event.data_out.mip_primal_bound, event.data_out.mip_dual_bound
        proved = max(0.0, bound * scale) if isfinite(bound) else 0.0
        progress(clock.taken, best * scale if isfinite(best) else None, proved)

    solver.cbMipLogging.subscribe(told)


def _values(solver: "highspy.Highs") -> "Floats":
    import numpy as np

    return np.array(solver.getSolution().col_value)


def _polished(program: Program, values: "Floats", scale: float) -> "Floats":
    """The amounts solved again with the whole numbers made whole; as they were, where that fails."""
    import highspy
    import numpy as np

    values = np.where(program.integral, np.round(values), values)
    fixed = program._replace(
        lower=np.where(program.integral, values, program.lower),
        upper=np.where(program.integral, values, program.upper),
        integral=np.zeros_like(program.integral),
    )
    solver = _solver(fixed, scale)
    for tolerance in (_TOLERANCE, _POLISHED):
        solver.setOptionValue("primal_feasibility_tolerance", tolerance)
        solver.run()
        if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal:
            return np.where(program.integral, values, _values(solver))
    return values


def _solver(program: Program, scale: float) -> "highspy.Highs":
    """HiGHS with a program in it."""
    import highspy
    import numpy as np

    solver = _silent_solver()
    for option, value in (
        ("primal_feasibility_tolerance", _TOLERANCE),
        ("dual_feasibility_tolerance", _TOLERANCE),
        ("mip_feasibility_tolerance", _TOLERANCE),
        ("mip_rel_gap", _RELATIVE_GAP),
        ("mip_abs_gap", 1e-10),
        ("threads", 1),
    ):
        solver.setOptionValue(option, value)
    rows = [row for row in program.rows if row.columns.size]
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = program.cost.size, len(rows)
    lp.col_cost_ = program.cost / scale
    lp.col_lower_, lp.col_upper_ = program.lower, program.upper
    lp.row_lower_ = np.array([row.low for row in rows])
    lp.row_upper_ = np.array([row.high for row in rows])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0, *(row.columns.size for row in rows)])
    lp.a_matrix_.index_ = np.concatenate([row.columns for row in rows])
    lp.a_matrix_.value_ = np.concatenate([row.weights for row in rows])
    if program.integral.any():
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[whole] for whole in program.integral.astype(int)]
    solver.passModel(lp)
    return solver


def _silent_solver() -> "highspy.Highs":
    """HiGHS that writes nothing: while it is made it would write its name on standard output."""
    import highspy

    class Silent(highspy.Highs):
        def enableCallbacks(self) -> None:  # noqa: N802 (the name is HiGHS's)
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    return Silent()  # type: ignore[no-untyped-call]
