"""A trial or batch being poured beside its plan: what is still to go, what is too much, what a source cannot give.

A warning and no more: what happened is recorded, whatever was planned.

>>> target = Target("V000001R", planned_ml=60.0, poured_ml=72.0)
>>> target.over_ml, target.to_go_ml
(12.0, 0.0)
>>> Target("V000001R", planned_ml=60.0, poured_ml=59.7).to_go_ml  # as near as a measuring cylinder is read
0.0

A cask that runs dry changes what the others give: in proportion, or to the same total.

>>> from pourbook.alcoholometry.volumes import liquid_of_volume
>>> full, dry = liquid_of_volume(200_000, 60.0), Liquid(0, 0)
>>> first = Target("C000001H", 100_000, 90_000, planned=liquid_of_volume(100_000, 60.0), held=dry)
>>> second = Target("C000002F", 50_000, 0, planned=liquid_of_volume(50_000, 60.0), held=full)
>>> there = liquid_of_volume(90_000, 60.0)
>>> [(rest.keeps, round(rest.to_go_ml["C000002F"])) for rest in rests((first, second), there)]
[('proportions', 45000), ('total', 60000)]
"""

from collections.abc import Callable, Mapping, Sequence
from math import inf
from typing import Literal, NamedTuple

from pourbook.alcoholometry.mixing import mix, water_to_reach
from pourbook.alcoholometry.volumes import pure_alcohol_ml, strength_20c, volume_ml
from pourbook.bench.bounds import Bounds, Stands, stands
from pourbook.bench.trials import WATER, liquid_of_volume
from pourbook.liquid import EMPTY, Liquid

__all__ = ["LEAST_ML", "Keeps", "PartToCome", "Rest", "Target", "as_planned", "parts_to_come", "rests", "to_take"]

Keeps = Literal["plan", "proportions", "total", "strength"]
"""What the rest of a pouring keeps: all that was planned, or what of it can still be."""

_TOLERANCE = 0.01
LEAST_ML = 0.2
"""What a measuring cylinder or a pipette of that size is read to: common practice, no source."""

_HALVINGS = 60


class Target(NamedTuple):
    """A component of a trial or batch beside its plan, volumes at 20 °C.

    Attributes:
        component: identifier, or a word for what comes from outside.
        planned_ml: by the recipe; 0 where it has none of it.
        poured_ml: so far.
        bounds_ml: between what its part stays in its bounds; None where it has none.
        whole_ml: what the bounds are of: the whole as planned, or as poured where that is more, without computed water.
        needed_ml: of water that is computed: what the strength takes in all, by what was really poured and what is
            still to go; None for anything else.
        planned: the liquid planned.
        held: what the source holds now; None for what does not end: water, or a glass that is drawn again.
    """

    component: str
    planned_ml: float
    poured_ml: float
    bounds_ml: tuple[float, float] | None = None
    whole_ml: float = 0.0
    needed_ml: float | None = None
    planned: Liquid = EMPTY
    held: Liquid | None = None

    @property
    def wanted_ml(self) -> float:
        """What it takes in all: as planned, or as the strength needs."""
        return self.planned_ml if self.needed_ml is None else self.needed_ml

    @property
    def over_ml(self) -> float:
        """More than that; 0 within tolerance."""
        return self._beyond(self.poured_ml - self.wanted_ml)

    @property
    def to_go_ml(self) -> float:
        """Still to be poured; 0 within tolerance."""
        return self._beyond(self.wanted_ml - self.poured_ml)

    @property
    def short_ml(self) -> float:
        """What the source cannot give of that; 0 within tolerance."""
        return self._beyond(self.wanted_ml - self.poured_ml - self.held_ml)

    @property
    def held_ml(self) -> float:
        """What the source can still give."""
        return inf if self.held is None else volume_ml(self.held)

    def of_it(self, ml: float) -> Liquid:
        """A volume of what the source holds, or held."""
        return liquid_of_volume(ml, self.held if self.held and self.held.mass_mg else self.planned)

    @property
    def stands(self) -> Stands | None:
        """Where its part is of its bounds; None where it has none.

        >>> Target("V000001R", 25.0, 31.0, (20.0, 30.0), 100.0).stands
        'above'
        """
        if self.bounds_ml is None:
            return None
        return stands(*(ml / self.whole_ml for ml in (self.poured_ml, *self.bounds_ml)))

    @property
    def more_ml(self) -> tuple[float, float]:
        """How much more brings its part into its bounds, and how much it can take before it leaves them."""
        low_ml, high_ml = self.bounds_ml or (0.0, 0.0)
        return max(low_ml - self.poured_ml, 0.0), max(high_ml - self.poured_ml, 0.0)

    @property
    def least_whole_ml(self) -> float:
        """The smallest whole in which its part is not above its bounds."""
        return self.whole_ml * self.poured_ml / self.bounds_ml[1] if self.bounds_ml else 0.0

    def _beyond(self, difference_ml: float) -> float:
        return difference_ml if difference_ml > max(LEAST_ML, _TOLERANCE * self.planned_ml) else 0.0


class Rest(NamedTuple):
    """What is still to be poured, one way.

    Attributes:
        keeps: what of the plan it keeps.
        to_go_ml: of each component, at 20 °C.
        makes: what is there once all that is poured.
    """

    keeps: Keeps
    to_go_ml: Mapping[str, float]
    makes: Liquid


class PartToCome(NamedTuple):
    """A component of a blend that is being poured, once the rest is poured as planned.

    Attributes:
        component: what it is a part of the recipe as.
        planned: its fraction as it was planned, 0 to 1.
        to_come: its fraction as it will be.
        bounds: between which fractions it should be; None where it has none.
    """

    component: str
    planned: float
    to_come: float
    bounds: Bounds | None = None

    @property
    def stands(self) -> Stands | None:
        """Where it will be of its bounds; None where it has none."""
        return None if self.bounds is None else stands(self.to_come, float(self.bounds.low), float(self.bounds.high))


def parts_to_come(
    planned_ml: Mapping[str, float], to_come_ml: Mapping[str, float], bounds: Mapping[str, Bounds]
) -> tuple[PartToCome, ...]:
    """Every part as planned and as it will be, from volumes of both by component.

    >>> [(one.component, one.to_come) for one in parts_to_come({"ash": 60, "oak": 40}, {"ash": 60, "oak": 20}, {})]
    [('ash', 0.75), ('oak', 0.25)]
    """
    whole, coming = sum(planned_ml.values()) or 1.0, sum(to_come_ml.values()) or 1.0
    return tuple(
        PartToCome(name, planned_ml.get(name, 0.0) / whole, to_come_ml.get(name, 0.0) / coming, bounds.get(name))
        for name in dict.fromkeys((*planned_ml, *to_come_ml))
    )


def as_planned(targets: Sequence[Target], there: Liquid, percent_vol: float | None = None) -> Rest:
    """What is still to be poured as planned, as far as the sources hold it, and what that makes."""
    return _rest("plan", 1.0, _in_plan(targets, percent_vol), there, percent_vol)


def rests(targets: Sequence[Target], there: Liquid, percent_vol: float | None = None) -> tuple[Rest, ...]:
    """What is still to be poured into what is `there`: as planned, or two ways where a source is short or over.

    One keeps the proportions, the other the total, which is the sum of the volumes poured. With a target strength the
    total is the volume at that strength, and water is what is needed to reach it. A way that is none is left out: a
    source already gave more than its part, or nothing is left to make up the total. Two that are the same are one;
    where neither is left, water alone can still reach the strength.
    """
    in_plan = _in_plan(targets, percent_vol)
    if not any(one.over_ml or one.short_ml for one in in_plan):
        ways: dict[Keeps, float | None] = {"plan": 1.0}
    else:
        poured_ml = sum(one.poured_ml for one in targets)
        ways = {"proportions": _in_proportion(in_plan), "total": _to_the_total(in_plan, poured_ml, there, percent_vol)}
    found = [_rest(keeps, factor, in_plan, there, percent_vol) for keeps, factor in ways.items() if factor is not None]
    if not found and percent_vol is not None and there.mass_mg:
        found = [_rest("strength", 0.0, in_plan, there, percent_vol)]
    return tuple(found[:1] if len(found) == 2 and _same(*found) else found)


def to_take(target: Target, ways: Sequence[Rest]) -> dict[Keeps, Liquid]:
    """What is to be taken of a source, each way."""
    wanted_ml = {rest.keeps: rest.to_go_ml.get(target.component, 0.0) for rest in ways}
    return {keeps: target.of_it(ml) for keeps, ml in wanted_ml.items() if ml > LEAST_ML}


def _in_plan(targets: Sequence[Target], percent_vol: float | None) -> list[Target]:
    """What the plan has, without water that is computed."""
    return [one for one in targets if one.planned_ml and not (one.component == WATER and percent_vol is not None)]


def _in_proportion(in_plan: Sequence[Target]) -> float | None:
    """The part of the plan that every source can give, and none gave more than; None where there is none."""
    least = max(one.poured_ml / one.planned_ml for one in in_plan)
    most = min((one.poured_ml + one.held_ml) / one.planned_ml for one in in_plan)
    factor = min(most, max(least, 1.0))
    return None if factor < least * (1 - _TOLERANCE) or not factor else factor


def _to_the_total(
    in_plan: Sequence[Target], poured_ml: float, there: Liquid, percent_vol: float | None
) -> float | None:
    """The part of the plan at which sources that can still give it make up the total; None where that cannot be.

    At a target strength the total is in proportion to the pure alcohol in it.
    """
    if percent_vol is None:
        missing = sum(one.planned_ml for one in in_plan) - poured_ml
        per_ml = dict.fromkeys((one.component for one in in_plan), 1.0)
    else:
        missing = sum(pure_alcohol_ml(one.planned) for one in in_plan) - pure_alcohol_ml(there)
        per_ml = {one.component: pure_alcohol_ml(one.of_it(1e6)) / 1e6 for one in in_plan}

    if missing < 0:
        return None

    def given(factor: float) -> float:
        return sum(_to_go_ml(one, factor) * per_ml[one.component] for one in in_plan)

    most = 2.0
    while given(most) < missing:
        if given(2 * most) == given(most):
            return None
        most *= 2
    return _where_it_reaches(given, missing, most)


def _where_it_reaches(given: Callable[[float], float], wanted: float, most: float) -> float:
    low, high = 0.0, most
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if given(middle) >= wanted else (middle, high)
    return high


def _to_go_ml(target: Target, factor: float) -> float:
    return min(target.held_ml, max(0.0, factor * target.planned_ml - target.poured_ml))


def _rest(keeps: Keeps, factor: float, in_plan: Sequence[Target], there: Liquid, percent_vol: float | None) -> Rest:
    to_go_ml = {one.component: _to_go_ml(one, factor) for one in in_plan}
    makes = mix((there, *(one.of_it(to_go_ml[one.component]) for one in in_plan)))
    if percent_vol is not None:
        water = water_to_reach(makes, percent_vol) if (strength_20c(makes) or 0.0) > percent_vol else EMPTY
        to_go_ml[WATER] = volume_ml(water) if water.mass_mg else 0.0
        makes += water
    return Rest(keeps, to_go_ml, makes)


def _same(first: Rest, second: Rest) -> bool:
    return all(
        abs(ml - second.to_go_ml[component]) <= max(LEAST_ML, 0.001 * ml) for component, ml in first.to_go_ml.items()
    )
