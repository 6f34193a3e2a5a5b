"""Whether some of a recipe's demands can be met together: asked of the planner, cheap questions first."""

from collections.abc import Collection, Iterable, Sequence
from math import ceil

from pourbook.planning.blend import Take, blended, broken
from pourbook.planning.casks import Cask
from pourbook.planning.linear import Program
from pourbook.planning.plan import OutOfTime, Plan, plan
from pourbook.planning.program import candidates, shares_of
from pourbook.planning.recipe import LEAST_TAKEN_L, Recipe, demands
from pourbook.planning.solving import Clock, solved_in_fractions

__all__ = ["OF_WHOLE_CASKS", "MetTogether", "representative"]

_AGES = frozenset(("limits.least_age_years", "limits.least_age_days"))
OF_WHOLE_CASKS = frozenset(
    ("house.casks_of_each", "limits.most_casks", "limits.most_part_casks", "limits.least_left_l",
     "limits.least_taken_l")
)  # fmt: skip
"""Demands on how casks are opened, rather than on what is poured."""

_FEW = 40
"""Casks of each component that are tried first, beside those that the volume takes."""


class MetTogether:
    """Which demands can be met together; what was found once is remembered.

    Attributes:
        all: every demand.
        in_conflict: sets that were found not to be.
    """

    def __init__(self, recipe: Recipe, casks: Iterable[Cask], clock: Clock) -> None:
        self._recipe, self._casks, self._clock = recipe._replace(objective={}), tuple(casks), clock
        self._order = demands(recipe)
        self._programs: dict[bool, Program] = {}
        self._met: list[frozenset[str]] = []
        self._open: list[frozenset[str]] = []
        self.all = frozenset(self._order)
        self.in_conflict: list[frozenset[str]] = []

    def in_order(self, names: Collection[str]) -> tuple[str, ...]:
        """Demands as they stand in the recipe."""
        return tuple(name for name in self._order if name in names)

    @property
    def fewest_in_conflict(self) -> frozenset[str]:
        """The smallest set known to be in conflict; every demand where none smaller is known."""
        return min(self.in_conflict, key=len, default=self.all)

    def kept_beside(self, kept: frozenset[str], seconds: float | None = None) -> frozenset[str] | OutOfTime | None:
        """What a plan that keeps some demands keeps in all; None where none can.

        `seconds` is for a question that may stay open; it is not asked again with more demands.
        """
        if any(known <= kept for known in self.in_conflict):
            return None
        for known in self._met:
            if kept <= known:
                return known
        if seconds is not None and any(known <= kept for known in self._open):
            return OutOfTime(0.0, 0.0)
        found = self._by_shares(kept)
        if found is None:
            self.in_conflict.append(self._fewer_by_shares(kept))
        elif not kept <= found:
            return self._planned(kept, seconds)
        else:
            self._met.append(found)
        return found

    def _planned(self, kept: frozenset[str], seconds: float | None) -> frozenset[str] | OutOfTime | None:
        without, left = self.all - kept, self._clock.left if seconds is None else min(seconds, self._clock.left)
        few = representative(self._recipe, self._casks, without)
        found = plan(self._recipe, few, seconds=left / 4, without=without) if 2 * len(few) < len(self._casks) else None
        if not isinstance(found, Plan):
            found = plan(self._recipe, self._casks, seconds=left, without=without)
        if isinstance(found, Plan):
            self._met.append(kept | self._kept_by(found.takes))
            return self._met[-1]
        (self._open if found else self.in_conflict).append(kept)
        return found

    def _kept_by(self, takes: Sequence[Take]) -> frozenset[str]:
        blend = blended(self._recipe, self._casks, takes)
        return self.all - set(broken(self._recipe, self._casks, takes, blend, closeness=0.0))

    # -- where a fraction of a cask could be opened ----------------------------------------

    def _by_shares(self, kept: frozenset[str]) -> frozenset[str] | None:
        """What is kept by the least shares that keep demands, each share a part cask; None where no shares do."""
        program = self._program_by_shares(kept)
        found = solved_in_fractions(program._replace(cost=program.cost + 1.0), self._clock)
        if found.is_impossible:
            return None
        if found.values is None:
            return frozenset()
        takes = tuple(
            Take(cask.ref, min(share, 1.0) * cask.volume_l, whole=share >= 1.0)
            for cask, share in zip(program.casks, found.values[: len(program.casks)], strict=True)
            if share > 0.0
        )
        if any(not take.whole and take.volume_l < LEAST_TAKEN_L for take in takes):
            return frozenset()
        return (kept - OF_WHOLE_CASKS) | self._kept_by(takes)

    def _program_by_shares(self, kept: frozenset[str]) -> Program:
        of_age = bool(_AGES & kept)
        if of_age not in self._programs:
            self._programs[of_age] = shares_of(self._recipe, self._casks, without=() if of_age else _AGES)
        program = self._programs[of_age]
        return program._replace(rows=tuple(row for row in program.rows if not row.demand or row.demand in kept))

    def _fewer_by_shares(self, names: frozenset[str]) -> frozenset[str]:
        """Demands that no shares keep, without those that are needless."""
        for name in self._order:
            if (
                name in names
                and solved_in_fractions(self._program_by_shares(names - {name}), self._clock).is_impossible
            ):
                names -= {name}
        return names


# -- a few casks that stand for all --------------------------------------------------------


def representative(recipe: Recipe, casks: Iterable[Cask], without: Collection[str] = ()) -> tuple[Cask, ...]:
    """Casks of each component from the smallest to the largest, weakest to strongest, youngest to oldest.

    They hold more than the volume takes, so what all casks can do these most often can as well.
    """
    chosen: dict[str, Cask] = {}
    choice = candidates(recipe, casks, without)
    for name in recipe.components:
        mine = [cask for cask in choice if cask.component == name]
        if mine:
            taken = 2.0 * recipe.target.volume_l * len(mine) / sum(cask.volume_l for cask in mine)
            for key in (_volume_l, _strength_vol, _wood_days):
                chosen |= {cask.ref: cask for cask in _spread(sorted(mine, key=key), (_FEW + ceil(taken)) // 3)}
    return tuple(chosen.values())


def _volume_l(cask: Cask) -> float:
    return cask.volume_l


def _strength_vol(cask: Cask) -> float:
    return cask.strength_vol


def _wood_days(cask: Cask) -> int:
    return cask.wood_days or 0


def _spread(casks: Sequence[Cask], count: int) -> Sequence[Cask]:
    """So many of them, as far apart as can be, first and last among them."""
    if count >= len(casks):
        return casks
    return [casks[round(number * (len(casks) - 1) / (count - 1))] for number in range(count)]
