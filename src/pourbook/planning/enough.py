"""For how many batches a stock is enough by its litres, what a batch takes of it, and what it lacks.

Casks may be taken in part and no count of them binds, so these are linear programs; heel and what is in the vat are
left out. Whole casks can never do more, so the number of batches is a bound on theirs.

>>> from pourbook.planning.recipe import Part, Recipe, Target
>>> recipe = Recipe({"rich": Part(10.0, 9.0, 11.0), "base": Part(90.0, 89.0, 91.0)}, Target(1000.0, 46.0))
>>> stock = [Share("A", "rich", 100.0, 60.0), Share("B", "base", 5000.0, 60.0)]
>>> f"{most_batches(recipe, stock):.2f}"  # 460 l of pure alcohol are 767 l of 60 % vol, 9 % of it from A
'1.45'
>>> taken = takings(recipe, stock, 1)
>>> [(ref, round(litres, 1)) for (ref, _), litres in taken.litres.items()]
[('A', 76.7), ('B', 690.0)]
>>> {name: round(litres) for name, litres in takings(recipe, stock, 2, lacking={"rich": 60.0}).lacking_l.items()}
{'rich': 38}
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from pourbook.alcoholometry.strength import mass_fraction_from_strength
from pourbook.planning.blend import ethanol_kg, mass_kg

if TYPE_CHECKING:
    from pourbook.planning.recipe import Recipe

__all__ = ["Share", "Takings", "alcohol_needed_l", "most_batches", "takings"]

_OFF = 100.0
"""A litre of pure alcohol off the aimed part or volume, beside one taken in the wrong order."""
_LACKING = 1e4
"""A litre that is not there, where as little as can be is to lack."""
_LACKING_AS_AIMED = 10.0
"""The same where nothing is to be off."""
_SEEN_L = 1e-6
"""Below this nothing was taken."""
_SAME = 1e-10
_TURNS = 100
"""Each brings the alcohol nearer by as much as strengths differ; ten are usual."""


class Share(NamedTuple):
    """What a cask can give for a component.

    Attributes:
        ref: the cask; it may stand once for each component.
        component: for which.
        volume_l: litres at 20 °C.
        strength_vol: % vol at 20 °C.
        rank: 0 is used first, 1 last.
    """

    ref: str
    component: str
    volume_l: float
    strength_vol: float
    rank: float = 0.0


class Takings(NamedTuple):
    """What batches take: litres by cask and component; and litres that are not there, by component."""

    litres: Mapping[tuple[str, str], float]
    lacking_l: Mapping[str, float]


def alcohol_needed_l(recipe: "Recipe") -> tuple[float, float]:
    """Pure alcohol of a batch before losses, litres: the least that will do, and what is aimed at.

    A vat too small for what is aimed at limits that; for what will do, the least is infinite.
    """
    target, vat_l = recipe.target, recipe.limits.vat_l
    kept = 1.0 - sum(recipe.losses.values()) / 100.0
    aim = target.volume_l / kept
    low = aim if target.volume_low_l is None else target.volume_low_l / kept
    if vat_l is not None:
        low, aim = (low if low <= vat_l else np.inf), min(aim, vat_l)
    return low * target.strength_vol / 100.0, max(low, aim) * target.strength_vol / 100.0


def most_batches(recipe: "Recipe", shares: Sequence[Share]) -> float:
    """How many batches could be made at most of all that is there, in one go; 0.6 is not enough for one."""
    least, _ = alcohol_needed_l(recipe)
    program = _Program(recipe, shares, {})
    cost = np.zeros(program.columns)
    cost[program.alcohol] = -1.0
    found = program.solved(cost, (0.0, np.inf))
    return 0.0 if found is None else max(0.0, float(found[program.alcohol])) / least


def takings(
    recipe: "Recipe",
    shares: Sequence[Share],
    batches: int,
    lacking: Mapping[str, float] | None = None,
    *,
    as_aimed: bool = False,
) -> Takings | None:
    """What so many batches take: parts and volume as aimed as far as can be, and in the order of the ranks.

    `lacking` are strengths, % vol, of components of which more may be taken than is there: as little as the limits let,
    or all that lacks for parts and volume `as_aimed`. None where the limits let nothing be.
    """
    least, aimed = alcohol_needed_l(recipe)
    if least == np.inf:
        return None
    program = _Program(recipe, shares, lacking or {})
    cost = program.order_and_distance(_LACKING_AS_AIMED if as_aimed else _LACKING)
    found = program.solved(cost, (batches * least, batches * aimed))
    if found is None:
        return None
    given = zip(program.shares, map(float, found), strict=False)
    litres = {(one.ref, one.component): amount for one, amount in given if amount > _SEEN_L}
    more = {name: float(found[at]) for name, at in program.lacking.items() if found[at] > _SEEN_L}
    in_order = None if more else _in_order(recipe, program.shares, litres)
    return Takings(litres if in_order is None or not program.is_strong_enough(in_order) else in_order, more)


def _in_order(
    recipe: "Recipe", shares: Sequence[Share], litres: Mapping[tuple[str, str], float]
) -> dict[tuple[str, str], float] | None:
    """The same amounts of components and the same alcohol, taken strictly in the order of the ranks.

    Where parts are of the volume, a program may take a cask out of its turn, since another strength changes how much of
    the other components is needed. None where a cask is of two components, or that order has not enough.
    """
    if len({one.ref for one in shares}) < len(shares):
        return None
    by_alcohol = recipe.basis == "alcohol"
    ordered = sorted(shares, key=lambda one: one.rank)
    amounts = dict.fromkeys(recipe.components, 0.0)
    alcohol = 0.0
    for one in shares:
        of = litres.get((one.ref, one.component), 0.0)
        amounts[one.component] += of * (one.strength_vol / 100.0 if by_alcohol else 1.0)
        alcohol += of * one.strength_vol / 100.0
    times = 1.0
    for _ in range(_TURNS):
        lacks, taken, got = {name: amount * times for name, amount in amounts.items()}, {}, 0.0
        for one in ordered:
            unit = one.strength_vol / 100.0 if by_alcohol else 1.0
            take = min(one.volume_l, lacks[one.component] / unit)
            lacks[one.component] -= take * unit
            got += take * one.strength_vol / 100.0
            if take > _SEEN_L:
                taken[one.ref, one.component] = take
        if any(amount > _SEEN_L for amount in lacks.values()):
            return None
        if abs(got - alcohol) <= _SAME * alcohol:
            return taken
        times *= alcohol / got
    return None


class _Program:
    """The linear program: litres of each share and those lacking, amounts of components in the basis, alcohol.

    After the alcohol stand how far each component is above what is aimed at, and how far below.
    """

    def __init__(self, recipe: "Recipe", shares: Sequence[Share], lacking: Mapping[str, float]) -> None:
        self._recipe, self._names = recipe, list(recipe.components)
        self.shares = [one for one in shares if one.component in recipe.components]
        more = [Share("", name, np.inf, percent) for name, percent in lacking.items()]
        self._sources = [*self.shares, *more]
        count, kinds = len(self._sources), len(self._names)
        self.lacking = {one.component: len(self.shares) + at for at, one in enumerate(more)}
        self._amount = {name: count + at for at, name in enumerate(self._names)}
        self._whole, self.alcohol = count + kinds, count + kinds + 1
        self._above, self._below = self.alcohol + 1, self.alcohol + 1 + kinds
        self.columns = self._below + kinds
        self._pure = np.array([one.strength_vol / 100.0 for one in self._sources])

    def order_and_distance(self, of_lack: float) -> "np.ndarray":
        """The cost by which what is aimed at comes first, and then the order of use."""
        cost = np.zeros(self.columns)
        ranks = np.array([one.rank for one in self._sources])
        cost[: len(ranks)] = ranks * self._pure
        cost[list(self.lacking.values())] = of_lack
        per_litre = 1.0 if self._recipe.basis == "alcohol" else float(np.mean(self._pure)) if len(ranks) else 1.0
        cost[self._above :] = _OFF * per_litre
        cost[self.alcohol] = -_OFF
        return cost

    def solved(self, cost: "np.ndarray", alcohol_l: tuple[float, float]) -> "np.ndarray | None":
        """The least cost with so much pure alcohol; None where nothing will do."""
        low, high = np.zeros(self.columns), np.full(self.columns, np.inf)
        high[: len(self._sources)] = [one.volume_l for one in self._sources]
        low[self.alcohol], high[self.alcohol] = alcohol_l
        rows = [*((row, 0.0, 0.0) for row in self._equal()), *((row, -np.inf, end) for row, end in self._most())]
        places = [(number, at) for number, (row, *_) in enumerate(rows) for at in row]
        values = [value for row, *_ in rows for value in row.values()]
        numbers, columns = np.array(places).T
        matrix = csr_array((np.array(values), (numbers, columns)), shape=(len(rows), self.columns))
        ends = LinearConstraint(matrix, [least for _, least, _ in rows], [most for *_, most in rows])
        found = milp(cost, constraints=ends, bounds=Bounds(low, high))
        return found.x if found.status == 0 else None

    def _equal(self) -> list[dict[int, float]]:
        """What amounts, their whole and the alcohol are, and how far amounts are from what is aimed at."""
        by_alcohol = self._recipe.basis == "alcohol"
        amounts = {name: {self._amount[name]: -1.0} for name in self._names}
        for at, one in enumerate(self._sources):
            amounts[one.component][at] = float(self._pure[at]) if by_alcohol else 1.0
        whole = {self._whole: -1.0} | dict.fromkeys(self._amount.values(), 1.0)
        alcohol = {self.alcohol: -1.0} | dict(enumerate(map(float, self._pure)))
        aims = [
            {self._amount[name]: 1.0, self._whole: -part.part / 100.0, self._above + at: -1.0, self._below + at: 1.0}
            for at, (name, part) in enumerate(self._recipe.components.items())
        ]
        return [*amounts.values(), whole, alcohol, *aims]

    def _most(self) -> list[tuple[dict[int, float], float]]:
        """Rows that may not be above their end: bounds of parts, a cask in two components, strength before water."""
        rows: list[tuple[dict[int, float], float]] = []
        above = self._recipe.house.no_component_above
        for name, part in self._recipe.components.items():
            high = min(100.0 if one is None else one for one in (part.high, above))
            rows.append(({self._amount[name]: 1.0, self._whole: -high / 100.0}, 0.0))
            rows.append(({self._amount[name]: -1.0, self._whole: (part.low or 0.0) / 100.0}, 0.0))
        by_cask: dict[str, list[int]] = {}
        for at, one in enumerate(self.shares):
            by_cask.setdefault(one.ref, []).append(at)
        rows += [(dict.fromkeys(ats, 1.0), self.shares[ats[0]].volume_l) for ats in by_cask.values() if len(ats) > 1]
        return rows + self._strong_enough()

    def is_strong_enough(self, litres: Mapping[tuple[str, str], float]) -> bool:
        """Whether these litres of the shares keep the strength before water."""
        taken = [litres.get((one.ref, one.component), 0.0) for one in self.shares]
        return all(
            sum(row[at] * of for at, of in enumerate(taken)) <= end + _SEEN_L for row, end in self._strong_enough()
        )

    def _strong_enough(self) -> list[tuple[dict[int, float], float]]:
        """Masses and ethanol add, so that the strength of the vat is linear in the litres."""
        least = max(self._recipe.limits.least_strength_before or 0.0, self._recipe.target.strength_vol)
        if all(one.strength_vol >= least for one in self._sources):
            return []
        asked = mass_fraction_from_strength(least)

        def lacks_kg(percent: float) -> float:
            return mass_kg(1.0, percent) * asked - ethanol_kg(1.0, percent)

        return [({at: lacks_kg(one.strength_vol) for at, one in enumerate(self._sources)}, 0.0)]
