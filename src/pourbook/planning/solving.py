"""The program given to HiGHS: the best whole numbers that it finds, the bound it proves, and the amounts once more.

A large program is searched in parts: first the relaxed one, for a bound and prices; then one of the likely casks, for a
good plan soon; then one of all that could still be in a better plan, for the proof.
"""

from collections.abc import Callable
from functools import cached_property
from math import ceil, inf, isfinite
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from pourbook.planning.centring import centred, counts_casks_alone, nearest_program
from pourbook.planning.linear import Program, Row
from pourbook.planning.narrowing import Relaxed, columns_of, likely, narrowed, relaxed_at

if TYPE_CHECKING:
    import highspy
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Truths = NDArray[np.bool_]

__all__ = ["Clock", "Progress", "Solved", "solved", "solved_in_fractions"]

Progress = Callable[[float, float | None, float], bool | None]
"""Called with seconds taken, the objective of the best plan so far (None: none yet), and the bound.

True ends the search with the best so far."""

_TOLERANCE = 1e-9
"""Of rows, whose largest weight is 1, and of whole numbers."""

_POLISHED = 1e-7
"""Of rows, where the amounts alone are solved again and rounding leaves less room."""

_FEW, _SOME_NODES, _NEAR_ENOUGH = 24, 300, 0.05
"""Casks, nodes and gap of the search for what is nearest to the aims: it proves nothing; the clock does not end it."""

_RELATIVE_GAP = 1e-7
_FIRST = 120
"""Casks of the first search; each further one has four times as many."""

_ASKED_EVERY_S = 0.25
"""How often whoever waits is asked whether to go on, and told how far the search is."""

_SHARE_OF_TIME = 0.3
_LAST_SHARE_OF_TIME = 0.95
"""Of what is left, for a search that proves nothing, and for the last one, as HiGHS looks at the clock now and then."""


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

    def stop(self) -> None:
        """Time is over from now on."""
        self._seconds = 0.0


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
    if not clock.left:
        return Solved(None, 0.0)
    return _Search(program, clock, progress).solved()


def solved_in_fractions(program: Program, clock: Clock) -> Solved:
    """The best of a program whose whole numbers may be fractions; no plan is below its bound."""
    import highspy
    import numpy as np

    if program.is_impossible or not program.casks:
        return Solved(None, inf)
    solver = _in_fractions(program, clock)
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return Solved(None, inf)
    if status != highspy.HighsModelStatus.kOptimal:
        return Solved(None, 0.0)
    return Solved(np.array(solver.getSolution().col_value), solver.getInfo().objective_function_value)


def _in_fractions(program: Program, clock: Clock) -> "highspy.Highs":
    """HiGHS, as far as it came with the relaxed program."""
    import numpy as np

    solver = _solver(program._replace(integral=np.zeros_like(program.integral)))
    solver.setOptionValue("time_limit", clock.left)
    solver.run()
    return solver


def _priced(solver: "highspy.Highs", program: Program, *added: Row) -> Relaxed:
    """The bound at the prices that a solver has of a program's rows, and of one that was added last."""
    import numpy as np

    count, prices = len(program.rows), np.array(solver.getSolution().row_dual)
    if not prices.size:
        return relaxed_at(program, np.zeros(count))
    more = prices[prices.size - len(added) :]
    return relaxed_at(program._replace(rows=(*program.rows, *added)), np.concatenate((prices[:count], more)))


class _Search:
    """A search in parts; the objective is scaled so that its largest weight is 1."""

    def __init__(self, program: Program, clock: Clock, progress: Progress | None) -> None:
        self.scale = float(abs(program.cost).max(initial=0.0)) or 1.0
        self.program = program._replace(cost=program.cost / self.scale)
        self.clock, self.progress = clock, progress
        self.values: Floats | None = None
        self.best = inf
        self.bound = 0.0

    def solved(self) -> Solved:
        relaxed = self._relaxed()
        if relaxed is None:
            return Solved(None, inf)
        self.bound = self._lifted(relaxed.bound)
        most = _FIRST
        while self.clock.left and self.best > self.bound:
            whole, part = self._could_be_better(relaxed)
            is_all = int((whole | part).sum()) <= most
            if not is_all:
                chosen = likely(self.program, relaxed, most)
                whole, part = whole & chosen, part & chosen
            bound = self._searched(whole, part, last=is_all)
            if is_all:
                self.bound = float(max(self.bound, min(self.best, bound)))
                break
            most *= 4
        if self.values is None:
            return Solved(None, self.bound * self.scale)
        if self.program.wanted and counts_casks_alone(self.program):
            self._come_nearer(relaxed)
        return Solved(_polished(self.program, self.values), min(self.bound, self.best) * self.scale)

    def _relaxed(self) -> Relaxed | None:
        """Bound and prices; None where even the relaxed program has no solution."""
        import highspy
        import numpy as np

        solver = _in_fractions(self.program, self.clock)
        if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
            return None
        relaxed = _priced(solver, self.program)
        if row := self._fewest_casks(solver):
            solver.addRow(row.low, row.high, row.columns.size, row.columns.astype(np.int32), row.weights)
            solver.setOptionValue("time_limit", self.clock.left)
            solver.run()
            nearer = _priced(solver, self.program, row)
            return nearer if nearer.bound > relaxed.bound else relaxed
        return relaxed

    def _fewest_casks(self, solver: "highspy.Highs") -> Row | None:
        """So many casks at least, rounded up, where opening one adds to the objective: nearer to what plans have."""
        import highspy
        import numpy as np

        program, opened = self.program, 2 * len(self.program.casks)
        if self._has_equal_steps or not (program.cost[:opened] > 0.0).all():
            return None
        every = np.arange(program.cost.size, dtype=np.int32)
        solver.changeColsCost(every.size, every, (every < opened).astype(float))
        solver.setOptionValue("time_limit", self.clock.left)
        solver.run()  # from where it stands, which takes a tenth of the time
        fewest, status = solver.getInfo().objective_function_value, solver.getModelStatus()
        solver.changeColsCost(every.size, every, program.cost)
        if status != highspy.HighsModelStatus.kOptimal:
            return None
        return Row("", np.arange(opened), np.ones(opened), float(ceil(fewest - 1e-6)), inf)

    @cached_property
    def _has_equal_steps(self) -> bool:
        """Whether every cask opened adds the same to the objective, and nothing else does."""
        count = len(self.program.casks)
        return not self.program.cost[2 * count :].any() and bool((self.program.cost[: 2 * count] == 1.0).all())

    def _lifted(self, bound: float) -> float:
        """A bound, raised to the next that an objective of equal steps can have; none is below zero."""
        return max(0.0, float(ceil(bound - 1e-6)) if self._has_equal_steps else bound)

    def _could_be_better(self, relaxed: Relaxed) -> "tuple[Truths, Truths]":
        """Casks that may be emptied, and opened in part, in a plan better than the best so far."""
        room = self.best - relaxed.bound
        return relaxed.whole < room, relaxed.part < room

    def _searched(self, whole: "Truths", part: "Truths", *, last: bool) -> float:
        """Search some of the casks, and keep what is better; no plan of these casks is below what is returned."""
        import highspy
        import numpy as np

        program = narrowed(self.program, whole, part)
        if not program.casks or program.is_impossible:
            return inf
        solver = _solver(program)
        solver.setOptionValue("time_limit", self.clock.left * (_LAST_SHARE_OF_TIME if last else _SHARE_OF_TIME))
        solver.setOptionValue("objective_target", self.bound + 1e-9)
        if not self._has_equal_steps:  # then these take longer than they save
            solver.setOptionValue("presolve", "off")
            solver.setOptionValue("mip_allow_restart", False)
        columns = columns_of(self.program, whole | part)
        if self.values is not None and self._is_among(whole, part):
            start = highspy.HighsSolution()
            start.col_value = self.values[columns]
            solver.setSolution(start)
        self._tell(solver, last=last)
        solver.run()
        status, info = solver.getModelStatus(), solver.getInfo()
        if status == highspy.HighsModelStatus.kInfeasible:
            return inf
        if (
            info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
            and info.objective_function_value < self.best
        ):
            self.best = info.objective_function_value
            self.values = np.zeros(self.program.cost.size)
            self.values[columns] = solver.getSolution().col_value
        return info.mip_dual_bound if isfinite(info.mip_dual_bound) else 0.0

    def _come_nearer(self, relaxed: Relaxed) -> None:
        """Of casks that are as good, those that come nearest to what is aimed at, as far as a short search finds."""
        import highspy
        import numpy as np

        assert self.values is not None
        count = len(self.program.casks)
        there = (self.values[:count] + self.values[count : 2 * count]) > 0.5
        chosen = likely(self.program, relaxed, _FEW) | there
        program = nearest_program(self.program, self.best)
        columns = columns_of(program, chosen)
        solver = _solver(narrowed(program, chosen, chosen))
        solver.setOptionValue("time_limit", self.clock.left)
        solver.setOptionValue("mip_max_nodes", _SOME_NODES)
        solver.setOptionValue("mip_rel_gap", _NEAR_ENOUGH)
        solver.run()
        if solver.getInfo().primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
            found = np.zeros(program.cost.size)
            found[columns] = solver.getSolution().col_value
            self.values = found[: self.values.size]

    def _is_among(self, whole: "Truths", part: "Truths") -> bool:
        """Whether the best plan so far is one of some casks."""
        assert self.values is not None
        count = len(self.program.casks)
        emptied, opened = self.values[:count] > 0.5, self.values[count : 2 * count] > 0.5
        return not (emptied & ~whole).any() and not (opened & ~part).any()

    def _tell(self, solver: "highspy.Highs", *, last: bool) -> None:
        """Have a search say how far it is."""
        if self.progress is None:
            return

        def told(event: "highspy.highs.HighsCallbackEvent") -> None:
            assert self.progress
            best = min(self.best, event.data_out.mip_primal_bound)
            bound = max(self.bound, min(best, event.data_out.mip_dual_bound)) if last else self.bound
            if self.progress(self.clock.taken, best * self.scale if isfinite(best) else None, bound * self.scale):
                self.clock.stop()

        asked_s = self.clock.taken

        def asked(event: "highspy.highs.HighsCallbackEvent") -> None:
            nonlocal asked_s
            if self.clock.taken - asked_s >= _ASKED_EVERY_S:
                asked_s = self.clock.taken
                told(event)
            if not self.clock.left:
                event.interrupt()

        solver.cbMipLogging.subscribe(told)
        solver.cbMipInterrupt.subscribe(asked)


def _polished(program: Program, values: "Floats") -> "Floats":
    """The amounts solved again with the whole numbers made whole; as they were, where that fails.

    Of amounts that are as good, those nearest to what is aimed at, by least squares in units of the tolerances.
    """
    import highspy
    import numpy as np

    values = np.where(program.integral, np.round(values), values)
    count = len(program.casks)
    whole, part = values[:count] > 0.0, values[count : 2 * count] > 0.0
    fixed = program._replace(
        lower=np.where(program.integral, values, program.lower),
        upper=np.where(program.integral, values, program.upper),
        integral=np.zeros_like(program.integral),
    )
    fixed, columns = narrowed(fixed, whole, part), columns_of(program, whole | part)
    solver = _solver(fixed)
    for tolerance in (_TOLERANCE, _POLISHED):
        solver.setOptionValue("primal_feasibility_tolerance", tolerance)
        solver.run()
        if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal:
            values[columns] = np.where(program.integral[columns], values[columns], centred(solver, fixed))
            break
    return values


# -- HiGHS ---------------------------------------------------------------------------------


def _solver(program: Program) -> "highspy.Highs":
    """HiGHS with a program in it: its rows in their order, then the ties of each cask."""
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
    columns, weights, low, high = _ties(program)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = program.cost.size, len(program.rows) + low.size
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = program.cost, program.lower, program.upper
    lp.row_lower_ = np.concatenate(([row.low for row in program.rows], low))
    lp.row_upper_ = np.concatenate(([row.high for row in program.rows], high))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0, *(row.columns.size for row in program.rows), *([2] * low.size)])
    lp.a_matrix_.index_ = np.concatenate((*(row.columns for row in program.rows), columns))
    lp.a_matrix_.value_ = np.concatenate((*(row.weights for row in program.rows), weights))
    if program.integral.any():
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[whole] for whole in program.integral.astype(int)]
    solver.passModel(lp)
    return solver


def _ties(program: Program) -> "tuple[NDArray[np.int64], Floats, Floats, Floats]":
    """Rows of two columns each, of every cask that may be a part cask: columns, weights, least and most of each row.

    Emptied or a part cask, not both; a share only of a part cask, not above the most and not below the least.
    """
    import numpy as np

    count = len(program.casks)
    i = np.flatnonzero(program.upper[count : 2 * count] > 0.0)
    whole, part, share = i, i + count, i + 2 * count
    one, zero, endless = np.ones(i.size), np.zeros(i.size), np.full(i.size, inf)
    columns = np.stack((whole, part, share, part, share, part), axis=1)
    weights = np.stack((one, one, one, -program.most[i], one, -program.least[i]), axis=1)
    low = np.stack((-endless, -endless, zero), axis=1)
    high = np.stack((one, zero, endless), axis=1)
    return columns.ravel(), weights.ravel(), low.ravel(), high.ravel()


def _silent_solver() -> "highspy.Highs":
    """HiGHS that writes nothing: while it is made it would write its name on standard output."""
    import highspy

    class Silent(highspy.Highs):
        def enableCallbacks(self) -> None:  # noqa: N802 (the name is HiGHS's)
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    return Silent()  # type: ignore[no-untyped-call]
