"""How many more batches of a blend the casks of the book can give, year by year.

Every cask with spirit counts that is not on hold or faulty. What it is of is judged by its words today, and by the age
that it will have at the beginning of each year. The air takes from it what its gauges say, else what is usual in the
house; without a rate of its own its strength stays.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from math import inf
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.book.entries import Component
from pourbook.book.fillings import fillings, outlook
from pourbook.codes.identifiers import key_of
from pourbook.errors import Malformed, OutOfRange
from pourbook.lineage.ages import WoodTime, age_of, longer
from pourbook.planning.look_ahead import Ahead, Order, StockCask, look_ahead
from pourbook.planning.planned_fillings import PlannedFilling
from pourbook.planning.whole_casks import WholeCasks
from pourbook.queries.casks.expected_content import USUAL
from pourbook.queries.plans.asked import AskedRecipe, PlanAsked, asked_recipe
from pourbook.queries.plans.candidates import DESPITE, Candidate, CaskLeftOut, KindWanted, candidates_of
from pourbook.queries.plans.parts_wanted import words_apart
from pourbook.queries.plans.recipe_of_batch import check_poured
from pourbook.times import DAY_US, add_years, day_shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["FEW_CASKS", "MOST_YEARS", "AheadAsked", "BatchesAhead", "ahead"]

MOST_YEARS = 30
"""Farther ahead no rate of evaporation reaches: a plain limit."""

FEW_CASKS = 40
"""Up to so many, whole casks are chosen where nobody says: a plan of each batch is found in a second or so."""

_SECONDS = 10.0
_MOST_LOST = 0.9
"""More than that is no rate: a cask that lost it leaked."""
_YEAR_DAYS = 365.2425


class AheadAsked(NamedTuple):
    """What is asked of a look ahead.

    Attributes:
        years: how many, the first from now.
        batches: wanted in each.
        order: which casks are used first.
        by: litres, or whole casks; None is whole casks where there are few.
        fillings: casks that are to come.
    """

    years: int = 10
    batches: int = 1
    order: Order = "oldest"
    by: Literal["litres", "casks"] | None = None
    fillings: Sequence[PlannedFilling] = ()


class BatchesAhead(NamedTuple):
    """A look ahead from the book.

    Attributes:
        asked: the recipe, and what its parts aim at.
        ahead: year by year.
        days: the first day of each year, in house time.
        casks: how many casks of today's stock are of a component at any time.
        others: how many never are.
        left_out: casks on hold or faulty, or not wanted.
        own_rates: how many of `casks` lose what their own gauges say.
        usual: the yearly loss of the others.
        unknown_ages: how many of `casks` have spirit of unknown age.
        ran_out_of_time: whether the choice of whole casks for some batch was given up.
    """

    asked: AskedRecipe
    ahead: Ahead
    days: tuple[date, ...]
    casks: int
    others: int
    left_out: tuple[CaskLeftOut, ...]
    own_rates: int
    usual: float
    unknown_ages: int
    ran_out_of_time: bool


def ahead(book: "BookCore", blend: str, batch: PlanAsked, asked: AheadAsked) -> BatchesAhead:
    """How many batches after a recipe, a trial or a batch there will be casks for, year by year.

    Raises:
        OutOfRange: too many years, or no batch in each.
        Malformed: a planned filling is of no component of the blend.
        PourbookError: as `asked_recipe`.
    """
    if not 1 <= asked.years <= MOST_YEARS or asked.batches < 1:
        raise OutOfRange(
            f"cannot look ahead {asked.years} years with {asked.batches} batches in each",
            f"give 1 to {MOST_YEARS} years and a batch or more in each",
        )
    check_poured(book, blend)
    recipe = asked_recipe(book, blend, batch)
    stock = _Stock(book, recipe, asked.years)
    casks = [*stock.casks, *(stock.planned(one) for one in asked.fillings)]
    few = len(casks) <= FEW_CASKS if asked.by is None else asked.by == "casks"
    known = [*(one.cask for one in stock.found), *(one.cask for one in asked.fillings)]
    planner = WholeCasks(recipe.recipe, known, _SECONDS) if few else None
    found = look_ahead(recipe.recipe, casks, asked.years, asked.batches, asked.order, planner)
    ever = {one.ref for one in stock.casks}
    return BatchesAhead(
        recipe, found, stock.days, len(ever), len(stock.found) - len(ever), stock.left_out,
        len(ever & stock.rates.keys()), stock.usual,
        sum(one.age.youngest is None for one in stock.found if one.cask.ref in ever),
        planner is not None and planner.ran_out_of_time,
    )  # fmt: skip


class _Stock:
    """The casks of the book on a day, and what they will be of in the years after it."""

    def __init__(self, book: "BookCore", asked: AskedRecipe, years: int) -> None:
        self._zone, self._asked, self._years = book.zone, asked, years
        first = date.fromisoformat(day_shown(asked.on_us, book.zone))
        self.days = tuple(add_years(first, year) for year in range(years))
        self._later_us = [(day - first).days * DAY_US for day in self.days]
        # Any kind and any age, since both are judged year by year; an old gauge is projected like any other.
        choice = asked.choice._replace(
            least_years=0, most_years=None, least_days=0, despite=frozenset(DESPITE) - {"fault"}
        )
        told = candidates_of(book, [KindWanted(Component("any"))], choice, asked.on_us)
        self.found, self.left_out = told.found, told.left_out
        self.usual = min(_MOST_LOST, told.usual.yearly) if told.usual else USUAL
        self.rates = dict(self._rates(book, [one.cask.ref for one in told.found]))
        self.casks = [one for candidate in told.found if (one := self._cask(candidate)).windows]

    def _rates(self, book: "BookCore", casks: Iterable[str]) -> Iterable[tuple[str, tuple[float, float]]]:
        """The yearly loss of each cask with one, and by how much its strength moves."""
        refs = {key_of(ref): ref for ref in casks}
        for key, of in fillings(book.store, list(refs)).items():
            found = outlook(of[-1], self._asked.on_us).found if of and of[-1].is_open else None
            if found is not None:
                change, loss = found.strength_change(), min(_MOST_LOST, max(0.0, found.loss_volume().expected))
                yield refs[key], (loss, change.expected if change else 0.0)

    def _cask(self, one: Candidate) -> StockCask:
        cask = one.cask
        loss, change = self.rates.get(cask.ref, (self.usual, 0.0))
        ages = [self._age(one.age.youngest, later_us) for later_us in self._later_us]
        windows = self._windows(ages, lambda kind: not words_apart(kind, one.lay_in))
        return StockCask(cask.ref, cask.volume_l, cask.strength_vol, loss, change, windows, cask.wood_days)

    def planned(self, filling: PlannedFilling) -> StockCask:
        """A cask that is to come."""
        cask, comes = filling
        if cask.component not in self._asked.recipe.components:
            named = ", ".join(self._asked.recipe.components)
            raise Malformed(f"'{cask.component}' is no component of the blend", f"it has: {named}")
        lain = [(cask.wood_days or 0) + round((year - comes) * _YEAR_DAYS) for year in range(self._years)]
        ages = [_Age(int(days / _YEAR_DAYS), days) if year >= comes else None for year, days in enumerate(lain)]
        windows = self._windows(ages, lambda kind: kind.kind.name == cask.component, comes)
        return StockCask(cask.ref, cask.volume_l, cask.strength_vol, self.usual, 0.0, windows, lain[0], comes)

    def _age(self, youngest: WoodTime | None, later_us: int) -> "_Age | None":
        """How old spirit will be that stays in its wood."""
        if youngest is None:
            return None
        then = longer(youngest, self._asked.on_us, self._asked.on_us + later_us)
        age = age_of(then, self._zone)
        return None if age is None else _Age(age.years, then.wood_us // DAY_US)

    def _windows(
        self, ages: Sequence["_Age | None"], is_of: Callable[[KindWanted], bool], comes: float = 0.0
    ) -> dict[str, tuple[float, float]]:
        """Between which years spirit of such ages is of each component; it ages, so there is one span at most."""
        found: dict[str, tuple[float, float]] = {}
        for kind in filter(is_of, self._asked.aims.kinds):
            years = [year for year, age in enumerate(ages) if year >= comes and self._is_of_age(kind, age)]
            if years:
                found[kind.kind.name] = (years[0], inf if years[-1] == self._years - 1 else years[-1])
        return found

    def _is_of_age(self, wanted: KindWanted, age: "_Age | None") -> bool:
        kind, choice = wanted.kind, self._asked.choice
        least = max(kind.min_age or 0, choice.least_years)
        most = min(inf if one is None else one for one in (kind.max_age, choice.most_years))
        if age is None:
            return not least and most == inf and not choice.least_days
        return least <= age.years <= most and age.days >= choice.least_days


class _Age(NamedTuple):
    """Completed years in wood, and all days in it."""

    years: int
    days: int
