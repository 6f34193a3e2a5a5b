"""How many more batches a stock can give, year by year: what ages into reach, what the air takes, what runs out first.

Batches are made at the beginning of each year, the first now, from casks in reach then: those whose age lies in the
window of a component. Air takes the same part of every cask's contents each year; its strength moves along a line. What
a batch takes is a question of litres (`enough`), or of whole casks where a planner is given.

>>> from pourbook.planning.recipe import Part, Recipe, Target
>>> recipe = Recipe({"rich": Part(10.0, 9.0, 11.0), "base": Part(90.0, 89.0, 91.0)}, Target(1000.0, 46.0))
>>> stock = [
...     StockCask("A", 100.0, 60.0, 0.02, 0.0, {"rich": (0.0, inf)}),
...     StockCask("B", 5000.0, 60.0, 0.02, 0.0, {"base": (0.0, inf)}),
...     StockCask("C", 100.0, 60.0, 0.02, 0.0, {"rich": (2.0, inf)}),
... ]
>>> ahead = look_ahead(recipe, stock, 4)
>>> [(year.made, round(year.components["rich"].reach_l, 1)) for year in ahead.years]
[(1, 100.0), (0, 22.9), (1, 118.4), (0, 40.9)]
>>> ahead.runs_out, {name: round(litres) for name, litres in ahead.short_now_l.items()}
((1, ('rich',)), {'rich': 116})
"""

from collections.abc import Callable, Mapping, Sequence
from math import floor, inf
from typing import Literal, NamedTuple

from pourbook.planning.enough import Share, Takings, alcohol_needed_l, most_batches, takings
from pourbook.planning.recipe import Recipe

__all__ = ["Ahead", "AheadYear", "ComponentYear", "Order", "Planner", "StockCask", "look_ahead"]

Order = Literal["oldest", "leaving"]
"""Which casks of a component are used first: the oldest, or those that leave its window first."""

_SEEN = 1e-9
"""A smaller part of a cask is nothing."""


class StockCask(NamedTuple):
    """A cask and how it will go on.

    Attributes:
        ref: by which it is told from all others.
        volume_l: what it gives, litres at 20 °C: now, or when it comes.
        strength_vol: % vol at 20 °C, likewise.
        loss: the part of its contents that a year takes.
        strength_change: by how much a year moves the strength, % vol.
        windows: between which years from now it is of each component, both included; of some, none, or several.
        wood_days: days in wood now, below zero where it comes later; None is unknown.
        comes: years from now until it is there.
    """

    ref: str
    volume_l: float
    strength_vol: float
    loss: float
    strength_change: float
    windows: Mapping[str, tuple[float, float]]
    wood_days: int | None = None
    comes: float = 0.0

    def full_l(self, year: float) -> float:
        """What it gives in a year from now if nothing is taken, litres; nothing before it comes."""
        return self.volume_l * (1.0 - self.loss) ** (year - self.comes) if year >= self.comes else 0.0

    def strength(self, year: float) -> float:
        """Its strength in a year from now, % vol."""
        return min(100.0, max(0.0, self.strength_vol + self.strength_change * max(0.0, year - self.comes)))

    def of(self, year: float) -> list[str]:
        """The components that it is of in a year from now."""
        return [name for name, (first, last) in self.windows.items() if first <= year <= last]


class ComponentYear(NamedTuple):
    """A component at the beginning of a year; litres at 20 °C. A cask of two components counts in both.

    Attributes:
        casks: how many hold something and are in reach.
        reach_l: what they give.
        reach_lpa: pure alcohol in it.
        in_l: of it, what came into reach since the year before, by age or as a new filling.
        out_l: what has left the window since the year before.
        air_l: what the air took since then from what had been in reach.
        batches: for how many batches it is enough at its aimed part; infinite for a part of nothing.
        taken_l: what this year's batches take.
        lacking_l: what this year's batches lack of it.
    """

    casks: int
    reach_l: float
    reach_lpa: float
    in_l: float
    out_l: float
    air_l: float
    batches: float
    taken_l: float
    lacking_l: float


class AheadYear(NamedTuple):
    """A year, counted from now; litres at 20 °C of all casks, each once, whether in reach or not.

    Attributes:
        year: years from now.
        possible: for how many batches it is enough, all made at once: no more than so many by any choice of casks.
        made: how many are made.
        components: each as it stands before they are.
        came_l: what came since the year before.
        air_l: what the air took since then.
        taken_l: what the batches take.
        left_l: what is left.
        takes: litres by cask and component.
    """

    year: int
    possible: float
    made: int
    components: Mapping[str, ComponentYear]
    came_l: float
    air_l: float
    taken_l: float
    left_l: float
    takes: Mapping[tuple[str, str], float]


class Ahead(NamedTuple):
    """A look ahead.

    Attributes:
        years: one after the other.
        batches: wanted in each.
        runs_out: the first year with fewer, and the components that lack then; None where all can be made. No
            component is named where it is a limit that stands in the way.
        short_now_l: litres of each component that would have to be there now beside the stock, for all wanted batches
            with their aimed parts in this order.
        whole_casks: whether a planner chose whole casks, and not litres.
    """

    years: tuple[AheadYear, ...]
    batches: int
    runs_out: tuple[int, tuple[str, ...]] | None
    short_now_l: Mapping[str, float]
    whole_casks: bool


Planner = Callable[[Sequence[Share]], Mapping[tuple[str, str], float] | None]
"""What one more batch takes, litres by cask and component, of what is left in a year; None where there is none."""


def look_ahead(
    recipe: Recipe,
    stock: Sequence[StockCask],
    years: int,
    batches: int = 1,
    order: Order = "oldest",
    planner: Planner | None = None,
) -> Ahead:
    """So many years from now with so many batches in each, as far as the stock lets."""
    course = _Course(recipe, stock, batches, order, planner)
    told = tuple(course.year(year) for year in range(years))
    short = next((year for year in told if year.made < batches), None)
    if short is None:
        return Ahead(told, batches, None, {}, planner is not None)
    lacking = tuple(name for name, one in short.components.items() if one.lacking_l)
    return Ahead(told, batches, (short.year, lacking), _short_now(recipe, stock, years, batches, order), bool(planner))


def _short_now(
    recipe: Recipe, stock: Sequence[StockCask], years: int, batches: int, order: Order
) -> Mapping[str, float]:
    """What would have to be there now beside the stock, at each component's mean loss."""
    course, short = _Course(recipe, stock, batches, order), dict.fromkeys(recipe.components, 0.0)
    for year in range(years):
        for name, litres in course.supplied(year).items():
            short[name] += litres / (1.0 - course.mean_loss(name)) ** year
    return {name: litres for name, litres in short.items() if litres}


class _Course:
    """A stock on its way through the years: of each cask, the part that was not taken."""

    def __init__(
        self, recipe: Recipe, stock: Sequence[StockCask], batches: int, order: Order, planner: Planner | None = None
    ) -> None:
        self._recipe, self._stock, self._batches, self._planner = recipe, stock, batches, planner
        self._kept = {one.ref: 1.0 for one in stock}
        self._ranks = {name: _ranks(stock, name, order) for name in recipe.components}
        self._before: list[Share] = []

    def mean_loss(self, name: str) -> float:
        """Of casks that are ever of a component, else of all."""
        of = [one.loss for one in self._stock if name in one.windows] or [one.loss for one in self._stock]
        return sum(of) / len(of) if of else 0.0

    def year(self, year: int) -> AheadYear:
        """What is there, what is made of it, and what is left."""
        shares = self._in_reach(year)
        possible = most_batches(self._recipe, shares)
        taken, made = self._made(shares, possible)
        lacking = self._supplied(shares, year).lacking_l if made < self._batches else {}
        components = {name: self._component(name, year, shares, taken, lacking) for name in self._recipe.components}
        came_l = sum(one.volume_l for one in self._stock if year - 1 < one.comes <= year) if year else 0.0
        before_l, now_l = self._held_l(year - 1), self._held_l(year)
        air_l = before_l + came_l - now_l if year else 0.0
        self._take(taken, year)
        self._before = self._in_reach(year)
        return AheadYear(
            year, possible, made, components, came_l, air_l, sum(taken.values()), self._held_l(year), taken
        )

    def supplied(self, year: int) -> Mapping[str, float]:
        """All wanted batches are made, with what lacks from elsewhere: litres of it by component."""
        found = self._supplied(self._in_reach(year), year, as_aimed=True)
        self._take(found.litres, year)
        return found.lacking_l

    def _held_l(self, year: int) -> float:
        return sum(self._kept[one.ref] * one.full_l(year) for one in self._stock)

    def _in_reach(self, year: int) -> list[Share]:
        return [
            Share(one.ref, name, kept * one.full_l(year), one.strength(year), self._ranks[name][one.ref])
            for one in self._stock
            if one.comes <= year and (kept := self._kept[one.ref]) > _SEEN
            for name in one.of(year)
            if name in self._recipe.components
        ]

    def _made(self, shares: Sequence[Share], possible: float) -> tuple[dict[tuple[str, str], float], int]:
        """What is taken, and for how many batches."""
        wanted = min(self._batches, floor(possible + _SEEN))
        if self._planner is None:
            found = takings(self._recipe, shares, wanted) if wanted else None
            return (dict(found.litres), wanted) if found else ({}, 0)
        taken: dict[tuple[str, str], float] = {}
        for made in range(wanted):
            more = self._planner(_without(shares, taken))
            if more is None:
                return taken, made
            taken |= {key: taken.get(key, 0.0) + litres for key, litres in more.items()}
        return taken, wanted

    def _supplied(self, shares: Sequence[Share], year: int, *, as_aimed: bool = False) -> Takings:
        """All wanted batches, and what lacks for them; nothing of either where that is no help."""
        recipe = self._recipe
        strong = {name: _mean_strength([one for one in shares if one.component == name]) for name in recipe.components}
        ever = _mean_strength([Share("", "", one.volume_l, one.strength(year)) for one in self._stock])
        least = max(recipe.limits.least_strength_before or 0.0, recipe.target.strength_vol)
        more = {name: percent or max(least, ever or 0.0) for name, percent in strong.items()}
        return takings(recipe, shares, self._batches, more, as_aimed=as_aimed) or Takings({}, {})

    def _component(
        self,
        name: str,
        year: int,
        shares: Sequence[Share],
        taken: Mapping[tuple[str, str], float],
        lacking: Mapping[str, float],
    ) -> ComponentYear:
        now = {one.ref: one for one in shares if one.component == name}
        before = {one.ref: one.volume_l for one in self._before if one.component == name}
        still = {one.ref: self._kept[one.ref] * one.full_l(year) for one in self._stock if one.ref in before}
        return ComponentYear(
            len(now),
            sum(one.volume_l for one in now.values()),
            sum(map(_pure_l, now.values())),
            sum(one.volume_l for ref, one in now.items() if ref not in before) if year else 0.0,
            sum(litres for ref, litres in still.items() if ref not in now),
            sum(before.values()) - sum(still.values()),
            self._batches_of(name, shares),
            sum(litres for (_, of), litres in taken.items() if of == name),
            lacking.get(name, 0.0),
        )

    def _batches_of(self, name: str, shares: Sequence[Share]) -> float:
        """For how many batches a component is enough at its aimed part."""
        parts, (_, aimed) = self._recipe.components, alcohol_needed_l(self._recipe)
        of = [one for one in shares if one.component == name]
        if not parts[name].part:
            return inf
        if self._recipe.basis == "alcohol":
            return sum(map(_pure_l, of)) / (parts[name].part / 100.0 * aimed)
        means = {at: _mean_strength([one for one in shares if one.component == at]) for at in parts}
        blend = _mean_strength([Share("", at, parts[at].part, percent) for at, percent in means.items() if percent])
        needed_l = parts[name].part / 100.0 * aimed / (blend / 100.0) if blend else inf
        return sum(one.volume_l for one in of) / needed_l

    def _take(self, taken: Mapping[tuple[str, str], float], year: int) -> None:
        full = {one.ref: one.full_l(year) for one in self._stock}
        for (ref, _), litres in taken.items():
            self._kept[ref] = max(0.0, self._kept[ref] - litres / full[ref])


def _pure_l(one: Share) -> float:
    return one.volume_l * one.strength_vol / 100.0


def _mean_strength(shares: Sequence[Share]) -> float | None:
    """Of all together by volume, contraction left out; None of nothing."""
    litres = sum(one.volume_l for one in shares)
    return sum(one.volume_l * one.strength_vol for one in shares) / litres if litres else None


def _without(shares: Sequence[Share], taken: Mapping[tuple[str, str], float]) -> list[Share]:
    """What is left of each after something was taken of its cask."""
    gone: dict[str, float] = {}
    for (ref, _), litres in taken.items():
        gone[ref] = gone.get(ref, 0.0) + litres
    left = (one._replace(volume_l=one.volume_l - gone.get(one.ref, 0.0)) for one in shares)
    return [one for one in left if one.volume_l > _SEEN]


def _ranks(stock: Sequence[StockCask], name: str, order: Order) -> dict[str, float]:
    """The order of use within a component; of one age, by the name.

    Casks that are, or will be, of another component as well are kept for that as long as there are others.
    """

    def late(one: StockCask) -> tuple[int, float, float, str]:
        leaves = one.windows[name][1] if order == "leaving" else 0.0
        return (len(one.windows), leaves, inf if one.wood_days is None else -one.wood_days, one.ref)

    of = sorted((one for one in stock if name in one.windows), key=late)
    return {one.ref: at / len(of) for at, one in enumerate(of)}
