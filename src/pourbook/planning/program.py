"""A recipe and its casks as a mixed-integer linear program: columns, and rows named by the demand that they stand for.

For every cask there are three columns: `whole` (0 or 1: emptied), `part` (0 or 1: opened and not emptied), and `share`
(0 to 1: what is taken of it as a part cask, of all that it gives). What is taken is volume × (whole + share), which is
linear; so are masses, ethanol and pure alcohol. A limit on a ratio becomes linear once it is multiplied by its
denominator: poured - low × all ≥ 0. What is in the vat enters the rows as a constant.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from functools import partial
from math import inf
from typing import TYPE_CHECKING

from pourbook.alcoholometry.strength import mass_fraction_from_strength
from pourbook.planning.blend import Take, aimed_at, ethanol_kg, mass_kg, of_basis
from pourbook.planning.casks import Cask
from pourbook.planning.linear import Program, Row
from pourbook.planning.recipe import LEAST_TAKEN_L, Recipe, least_days

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Whole = NDArray[np.int64]

__all__ = ["candidates", "program_of", "shares_of"]

_DROP_L = 0.001
"""Least that is taken from a part cask where a recipe says none: an opened cask gives something."""


_NOISE = 1e-12
"""Of what a cask gives: what a difference that should be none may come to in doubles."""


def candidates(recipe: Recipe, casks: Iterable[Cask], without: Collection[str] = ()) -> tuple[Cask, ...]:
    """The casks that may be chosen: of the recipe's components, with something in them, not held, and old enough."""
    least = least_days(recipe.limits)
    if _AGES & set(without):
        least = None
    return tuple(
        cask
        for cask in casks
        if cask.component in recipe.components
        and not cask.hold
        and cask.volume_l > 0.0
        and (least is None or (cask.wood_days is not None and cask.wood_days >= least))
    )


_OF_WHOLE_CASKS = frozenset(("house.casks_of_each", "limits.most_part_casks"))
_AGES = frozenset(("limits.least_age_years", "limits.least_age_days"))


def program_of(
    recipe: Recipe,
    casks: Iterable[Cask],
    *,
    without: Collection[str] = (),
    kept: Sequence[Take] = (),
    unlike: Sequence[Collection[str]] = (),
) -> Program:
    """The program of a recipe; arguments as for `plan`."""
    return _Builder(recipe, candidates(recipe, casks, without), frozenset(without)).program(kept, unlike)


def shares_of(recipe: Recipe, casks: Iterable[Cask], *, without: Collection[str] = ()) -> Program:
    """The program of a recipe if a fraction of a cask counted as that fraction of one: a share of each is a column.

    Soon solved; where it has no solution the recipe has no plan. Part casks and casks of each component bind nothing.
    """
    return _Builder(recipe, candidates(recipe, casks, without), frozenset(without)).by_shares()


def _tolerance(aim: float, low: float | None, high: float | None) -> float:
    """How far what is aimed at may be missed on its nearer side; a tenth of it where nothing is said."""
    sides = (aim - (aim if low is None else low), (aim if high is None else high) - aim)
    return min((side for side in sides if side > 0.0), default=aim / 10.0) or 1.0


class _Builder:
    """Columns and rows of one recipe. `amounts` are by cask: what all that it gives adds to a sum."""

    def __init__(self, recipe: Recipe, casks: tuple[Cask, ...], without: frozenset[str]) -> None:
        import numpy as np

        self.np, self.recipe, self.casks, self.without = np, recipe, casks, without
        self.count = len(casks)
        self.components = tuple(dict.fromkeys(cask.component for cask in casks))
        self.volume = np.array([cask.volume_l for cask in casks], dtype=float)
        self.strength = np.array([cask.strength_vol for cask in casks], dtype=float)
        limits = recipe.limits
        self.least_left = self._unless("limits.least_left_l", limits.least_left_l, 0.0)
        asked = LEAST_TAKEN_L if limits.least_taken_l is None else limits.least_taken_l
        self.least_taken = max(_DROP_L, self._unless("limits.least_taken_l", asked, min(asked, LEAST_TAKEN_L)))
        self.amounts = self.volume * (self.strength / 100.0 if recipe.basis == "alcohol" else 1.0)
        self.aims = tuple(name for name, band in recipe.attributes.items() if band.aim is not None)
        self.can_be_part = self.volume - self.least_left >= self.least_taken
        self.free = self._free()

    def _unless(self, demand: str, asked: float | None, dropped: float) -> float:
        return dropped if asked is None or demand in self.without else asked

    # -- the whole ---------------------------------------------------------------------

    def program(self, kept: Sequence[Take], unlike: Sequence[Collection[str]]) -> Program:
        np, count = self.np, self.count
        whole_numbers = (*[True] * (2 * count), *[False] * count, *[True] * len(self.free), *[False] * len(self.aims))
        columns = len(whole_numbers)
        lower, upper = np.zeros(columns), np.ones(columns)
        upper[count : 3 * count] = np.tile(self.can_be_part, 2)
        self._keep(kept, lower, upper)
        distances = list(self._distances(columns - len(self.aims)))
        for row in distances[::2]:
            upper[row.columns[-1]] = abs(row.weights[:-1]).sum() + abs(row.high)
        rows = [row for row in self._demands() if row.demand not in self.without]
        rows += [*self._unlike(unlike), *self._facts(), *distances]
        least, most = self.least_taken / self.volume, 1.0 - self.least_left / self.volume
        integral, wanted = np.array(whole_numbers), tuple(self._wanted()) if count else ()
        cost = self._cost(columns)
        return Program(self.casks, cost, lower, upper, integral, least, most, tuple(rows), wanted)

    def by_shares(self) -> Program:
        np, count = self.np, self.count
        rows = [row for row in self._demands() if row.demand not in self.without | _OF_WHOLE_CASKS]
        zeros = np.zeros(3 * count)
        upper = np.repeat([1.0, 0.0, 0.0], count)
        fractions = np.zeros(3 * count, dtype=bool)
        return Program(
            self.casks, zeros, zeros, upper, fractions, zeros[:count], upper[:count], (*rows, *self._facts())
        )  # fmt: skip

    def _keep(self, kept: Sequence[Take], lower: "Floats", upper: "Floats") -> None:
        numbers = {cask.ref: number for number, cask in enumerate(self.casks)}
        for take in kept:
            at = numbers[take.ref]
            share = 0.0 if take.whole else take.volume_l / self.casks[at].volume_l
            for column, value in ((0, take.whole), (1, not take.whole), (2, share)):
                lower[at + column * self.count] = upper[at + column * self.count] = value

    def _cost(self, columns: int) -> "Floats":
        """Weights of the measures, of each column."""
        np, zero = self.np, self.np.zeros(self.count)
        weights, casks = self.recipe.objective, self.casks
        whole, part, share = zero.copy(), zero.copy(), zero.copy()
        opened = weights.get("casks", 0.0) + weights.get("shifts", 0.0) * np.array([cask.shifts for cask in casks])
        whole += opened
        part += opened
        if weight := weights.get("cost", 0.0):
            each = weight * np.array([(cask.cost_per_lpa or 0.0) * cask.pure_alcohol_l for cask in casks])
            whole += each
            share += each
        left = weights.get("left_l", 0.0) * self.volume
        cost: Floats = np.zeros(columns)
        cost[: 3 * self.count] = np.concatenate((whole, part + left, share - left))
        cost[columns - len(self.aims) :] = weights.get("distance", 0.0)
        return cost

    # -- rows --------------------------------------------------------------------------

    def _demands(self) -> Iterator[Row]:
        yield from self._parts()
        yield from self._bands()
        yield from self._target()
        yield from self._counts()
        yield from self._ages()

    def _taken(self, demand: str, amounts: "Floats", low: float = -inf, high: float = inf) -> Row:
        """A row on what is taken, scaled so that its largest weight is 1."""
        np = self.np
        amounts = np.where(np.abs(amounts) < _NOISE * self.volume, 0.0, amounts)
        scale = float(np.abs(amounts).max(initial=0.0)) or 1.0
        at = np.flatnonzero(amounts)
        weights = amounts[at] / scale
        columns = np.concatenate((at, at + 2 * self.count))
        return Row(demand, columns, np.concatenate((weights, weights)), low / scale, high / scale)

    def _opened(self, demand: str, at: "Whole", low: float = -inf, high: float = inf) -> Row:
        """A row on how many of some casks are opened."""
        np = self.np
        return Row(demand, np.concatenate((at, at + self.count)), np.ones(2 * at.size), low, high)

    def _in_vat(self, of: Callable[[float, float], float]) -> float:
        """What heel and earlier pours add to a sum that litres and strength add to."""
        heel = self.recipe.heel
        bodies = [(one.volume_l, one.strength_vol) for one in self.recipe.in_vat]
        return sum(of(*body) for body in (*bodies, *([(heel.volume_l, heel.strength_vol)] if heel else ())))

    def _parts(self) -> Iterator[Row]:
        """Fractions between their bounds: poured of the component - bound × all, each with what is in the vat."""
        recipe, amounts = self.recipe, self.amounts
        fixed = self._in_vat(partial(of_basis, self.recipe))
        for name, part in recipe.components.items():
            mine = self.np.array([cask.component == name for cask in self.casks], dtype=float)
            own = self._in_vat_of(name)
            for demand, bound, least in (
                (f"components.{name}.low", part.low, True),
                (f"components.{name}.high", part.high, False),
                ("house.no_component_above", recipe.house.no_component_above, False),
            ):
                if bound is not None:
                    low = bound / 100.0 * fixed - own
                    limit = {"low": low} if least else {"high": low}
                    yield self._taken(demand, amounts * (mine - bound / 100.0), **limit)

    # -- attributes --------------------------------------------------------------------

    def _apart(self, name: str, value: float) -> "tuple[Floats, float]":
        """How far each cask with notes is from a value of an attribute, times what it gives; and what is in the vat."""
        apart = [cask.attributes.get(name, value) - value for cask in self.casks]
        fixed = sum(
            of_basis(self.recipe, one.volume_l, one.strength_vol) * (one.attributes.get(name, value) - value)
            for one in self.recipe.in_vat
        )
        return self.amounts * self.np.array(apart, dtype=float), fixed

    def _bands(self) -> Iterator[Row]:
        """Means within their bands: what is above a bound must weigh as much as what is below it."""
        for name, band in self.recipe.attributes.items():
            if band.low is not None:
                apart, fixed = self._apart(name, band.low)
                yield self._taken(f"attributes.{name}.low", apart, low=-fixed)
            if band.high is not None:
                apart, fixed = self._apart(name, band.high)
                yield self._taken(f"attributes.{name}.high", apart, high=-fixed)

    def _distances(self, first: int) -> Iterator[Row]:
        """A column for each aim is not below the distance from it, on either side."""
        np, over = self.np, aimed_at(self.recipe)
        for column, name in enumerate(self.aims, first):
            apart, fixed = self._apart(name, self.recipe.attributes[name].aim or 0.0)
            at = np.flatnonzero(apart)
            for sign in (1.0, -1.0):
                weights = np.concatenate((np.tile(sign * apart[at] / over, 2), [-1.0]))
                columns = np.concatenate((at, at + 2 * self.count, [column]))
                yield Row("", columns, weights, -inf, -sign * fixed / over)

    # -- what is in the vat --------------------------------------------------------------

    def _in_vat_of(self, name: str) -> float:
        heel = self.recipe.heel
        of = partial(of_basis, self.recipe)
        own = sum(of(one.volume_l, one.strength_vol) for one in self.recipe.in_vat if one.component == name)
        return own + (of(heel.volume_l, heel.strength_vol) * heel.parts.get(name, 0.0) / 100.0 if heel else 0.0)

    def _target(self) -> Iterator[Row]:
        """Volumes after reduction are pure alcohol over strength; a strength is ethanol over mass, by OIML R 22."""
        target, limits = self.recipe.target, self.recipe.limits
        stays = 1.0 - sum(self.recipe.losses.values()) / 100.0
        reduced = self.volume * self.strength / target.strength_vol
        fixed = self._in_vat(lambda litres, strength: litres * strength / target.strength_vol)
        if target.volume_low_l is not None:
            yield self._taken("target.volume_low_l", reduced * stays, low=target.volume_low_l - fixed * stays)
        if target.volume_high_l is not None:
            yield self._taken("target.volume_high_l", reduced * stays, high=target.volume_high_l - fixed * stays)
        if limits.vat_l is not None:
            yield self._taken("limits.vat_l", reduced, high=limits.vat_l - fixed)
        yield self._no_weaker("target.strength_20c", target.strength_vol)
        if limits.least_strength_before is not None:
            yield self._no_weaker("limits.least_strength_before", limits.least_strength_before)

    def _wanted(self) -> Iterator[Row]:
        """The parts and the volume that are aimed at, each in units of the nearer of its bounds."""
        recipe, target = self.recipe, self.recipe.target
        stays = 1.0 - sum(recipe.losses.values()) / 100.0
        alcohol = self.volume * self.strength / 100.0
        by_alcohol = recipe.basis == "alcohol"
        amounts, fixed = (alcohol if by_alcohol else self.volume), self._in_vat(partial(of_basis, recipe))
        whole = target.volume_l / stays * target.strength_vol / 100.0
        whole /= 1.0 if by_alcohol else float(alcohol.sum() / self.volume.sum()) or 1.0
        for name, part in recipe.components.items():
            mine = self.np.array([cask.component == name for cask in self.casks], dtype=float)
            unit = _tolerance(part.part, part.low, part.high) / 100.0 * whole
            aim = part.part / 100.0 * fixed - self._in_vat_of(name)
            yield self._aim(f"components.{name}.part", amounts * (mine - part.part / 100.0) / unit, aim / unit)
        unit = _tolerance(target.volume_l, target.volume_low_l, target.volume_high_l)
        in_vat = self._in_vat(lambda litres, strength: litres * strength / target.strength_vol) * stays
        reduced = alcohol * 100.0 / target.strength_vol * stays
        yield self._aim("target.volume_l", reduced / unit, (target.volume_l - in_vat) / unit)

    def _aim(self, name: str, amounts: "Floats", aim: float) -> Row:
        every = self.np.arange(self.count)
        columns = self.np.concatenate((every, every + 2 * self.count))
        return Row(name, columns, self.np.concatenate((amounts, amounts)), aim, aim)

    def _no_weaker(self, demand: str, strength_vol: float) -> Row:
        least = mass_fraction_from_strength(strength_vol)

        def above(litres: float, strength: float) -> float:
            return ethanol_kg(litres, strength) - least * mass_kg(litres, strength)

        amounts = [above(cask.volume_l, cask.strength_vol) for cask in self.casks]
        return self._taken(demand, self.np.array(amounts, dtype=float), low=-self._in_vat(above))

    def _counts(self) -> Iterator[Row]:
        np, recipe = self.np, self.recipe
        everything = np.arange(self.count)
        poured = len(recipe.in_vat)
        poured_part = sum(not one.whole for one in recipe.in_vat)
        if (most := recipe.limits.most_casks) is not None:
            yield self._opened("limits.most_casks", everything, high=most - poured)
        if (most := recipe.limits.most_part_casks) is not None:
            yield Row(
                "limits.most_part_casks", everything + self.count, np.ones(self.count), -inf, float(most - poured_part)
            )
        if (each := recipe.house.casks_of_each or 0) > 1:
            yield from self._casks_of_each(each)

    def _casks_of_each(self, least: int) -> Iterator[Row]:
        """At least so many of each component; of one that may be left out, where its extra column says it is not."""
        np, demand = self.np, "house.casks_of_each"
        poured = [one.component for one in self.recipe.in_vat]
        for name in dict.fromkeys((*self.components, *poured)):
            at = np.array([i for i, cask in enumerate(self.casks) if cask.component == name], dtype=np.int64)
            opened = self._opened(demand, at)
            if name not in self.free:
                yield opened._replace(low=float(least - poured.count(name)))
                continue
            used = 3 * self.count + self.free.index(name)
            columns, weights = np.append(opened.columns, used), np.append(opened.weights, -float(least))
            yield Row(demand, columns, weights, 0.0, inf)
            for i in at:
                yield Row(demand, np.array([i, i + self.count, used]), np.array([1.0, 1.0, -1.0]), -inf, 0.0)

    def _free(self) -> tuple[str, ...]:
        """Components that may be left out, where it matters: nothing of them is poured, and no least part needs any."""
        recipe = self.recipe
        if (recipe.house.casks_of_each or 0) < 2 or "house.casks_of_each" in self.without:
            return ()
        poured = {one.component for one in recipe.in_vat}
        whole = self._in_vat(partial(of_basis, self.recipe)) + self._least_poured()
        free = []
        for name in self.components:
            low = 0.0 if f"components.{name}.low" in self.without else recipe.components[name].low or 0.0
            if name not in poured and low / 100.0 * whole <= self._in_vat_of(name) + _DROP_L:
                free.append(name)
        return tuple(free)

    def _least_poured(self) -> float:
        """At least so much is taken from casks, in the basis: what the least volume needs of pure alcohol."""
        target = self.recipe.target
        if target.volume_low_l is None or "target.volume_low_l" in self.without or not self.count:
            return 0.0
        stays = 1.0 - sum(self.recipe.losses.values()) / 100.0
        fixed = self._in_vat(lambda litres, strength: litres * strength / 100.0)
        alcohol = max(0.0, target.volume_low_l / stays * target.strength_vol / 100.0 - fixed)
        return alcohol if self.recipe.basis == "alcohol" else alcohol / (float(self.strength.max()) / 100.0)

    def _ages(self) -> Iterator[Row]:
        """Casks too young are no candidates; what is in the vat cannot be left out."""
        least = least_days(self.recipe.limits)
        if least is None:
            return
        heel = self.recipe.heel
        ages = [one.wood_days for one in self.recipe.in_vat] + ([heel.wood_days] if heel and heel.volume_l else [])
        if any(days is None or days < least for days in ages):
            by_days = self.recipe.limits.least_age_years is None
            yield self._impossible("limits.least_age_days" if by_days else "limits.least_age_years")

    def _impossible(self, demand: str) -> Row:
        np = self.np
        return Row(demand, np.array([], dtype=np.int64), np.array([]), 1.0, inf)

    def _facts(self) -> Iterator[Row]:
        """Something is taken, unless a pull is under way."""
        if not self.recipe.in_vat:
            yield self._taken("", self.volume, low=LEAST_TAKEN_L)

    def _unlike(self, unlike: Sequence[Collection[str]]) -> Iterator[Row]:
        """Casks opened or left closed, other than in an earlier plan, number three or more: more than one exchanged."""
        np = self.np
        for refs in unlike:
            signs = np.array([-1.0 if cask.ref in refs else 1.0 for cask in self.casks])
            opened = self._opened("", np.arange(self.count), low=3.0 - len(set(refs)))
            yield opened._replace(weights=np.concatenate((signs, signs)))
