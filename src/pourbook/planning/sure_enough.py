"""How sure a plan is: the chance that parts, strength and volume stay within their limits, though gauges err.

What a whole cask gives is as uncertain as what it holds, what is taken from a part cask as what measures it; its
strength is as uncertain as the cask's in both. First order (JCGM 100:2008, 5.1): errors that casks share, such as
that of one hydrometer, stay shared. The chance for one limit follows from the law of its error (`uncertainty.laws`),
that for all of them together from seeded draws of the same errors (JCGM 101:2008), good to half a per cent.

A plan that an optimiser pushed to the very edge of a limit keeps it in one case of two:

>>> from pourbook.planning.recipe import Part, Target
>>> from pourbook.uncertainty.instrument_errors import instrument_errors
>>> recipe = Recipe({"rich": Part(10.0, 9.0, 11.0), "base": Part(90.0)}, Target(1000.0, 40.0))
>>> casks = [Cask("A", "rich", 110.0, 60.0), Cask("B", "base", 890.0, 60.0)]
>>> takes = [Take(one.ref, one.volume_l, whole=True) for one in casks]
>>> dip = instrument_errors("dip rod", limit_part=0.005, division=1.0)
>>> held = {one.ref: Held(dip.reading(one.volume_l, one.ref), Uncertain(60.0)) for one in casks}
>>> found = how_sure(recipe, casks, takes, held, instrument_errors("meter", limit_part=0.005))
>>> rich = found.limits[0]
>>> f"{rich.figure.shown()}: {rich.chance:.2f}, for sure {rich.tightened[0]:.2f} to {rich.tightened[1]:.2f}"
'11.000 ± 0.052 (k = 2): 0.50, for sure 9.04 to 10.96'
>>> rich.matters  # the dip rod's own error is shared and cancels; it is read to a litre
(('A', 0.985), ('B', 0.015))
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING, NamedTuple
from zlib import crc32

import numpy as np

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.strength import strength_from_mass_fraction
from pourbook.planning.blend import Take, blended, ethanol_kg, mass_kg
from pourbook.planning.casks import Cask
from pourbook.planning.recipe import Recipe
from pourbook.uncertainty.instrument_errors import InstrumentErrors
from pourbook.uncertainty.labelling import RULES, guard_band
from pourbook.uncertainty.laws import inside
from pourbook.uncertainty.propagation import Figure, Uncertain, propagated, value_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["LABEL_TOLERANCE", "LEVEL", "Held", "HowSure", "LimitChance", "Regauged", "how_sure"]

LEVEL = 0.95
"""The chance that counts as sure enough, unless another is asked for."""

LABEL_TOLERANCE = RULES["eu"].tolerance
"""How far the strength after water may be from the one aimed at, % vol, unless another is given: as a label's."""

_DRAWS = 1 << 15
_WORTH = 0.005
"""A gauge that adds less to the chance than the draws err by helps nobody."""

_FAR = 20.0
"""Standard uncertainties; with one end, the other is farther than anything."""

_CANCELLED = 1e-9
"""Of a figure: an error below it has cancelled but for the last bits."""

_ROUNDING = 1e-4
"""A percent of a part, % vol or litre by which an answer may be beside its limit."""


class Held(NamedTuple):
    """What a cask holds as far as it is known: litres and % vol at 20 °C, each with its sources of error."""

    volume_l: Uncertain
    strength_vol: Uncertain


class LimitChance(NamedTuple):
    """A figure of the plan, and the chance that it stays within its limits.

    Attributes:
        demand: the demand, without its end where it has two: components.rich, target.volume_l, limits.vat_l.
        ref: the part cask whose rest it is; else empty.
        figure: percent, % vol or litres.
        low: least that will do; minus infinity for none.
        high: most that will do; infinity for none.
        chance: that it lies between, 0 to 1.
        tightened: between which ends the plan would have to put it to be sure enough; None where it is so uncertain
            that no plan is.
        matters: whose error matters, with its part of the variance, the largest first: the ref of a cask, or the name
            of an error that several share.
    """

    demand: str
    ref: str
    figure: Uncertain
    low: float
    high: float
    chance: float
    tightened: tuple[float, float] | None
    matters: tuple[tuple[str, float], ...]


class Regauged(NamedTuple):
    """A cask, and the chance that all limits are kept once it is gauged and found to hold what the plan took for it."""

    ref: str
    together: float


class HowSure(NamedTuple):
    """How sure a plan is.

    Attributes:
        limits: each that binds, with its chance.
        together: the chance that all are kept.
        level: the chance that counts as sure enough.
        regauge: casks by how much it helps to gauge them anew, the most first; those that help by half a per cent.
        exact: what is taken as exact.
    """

    limits: tuple[LimitChance, ...]
    together: float
    level: float
    regauge: tuple[Regauged, ...]
    exact: tuple[str, ...]


class _Body(NamedTuple):
    """What goes into the vat: its mass and ethanol, kg, and its amount in the basis by component."""

    mass: Uncertain
    ethanol: Uncertain
    of: Mapping[str, Uncertain]


def how_sure(
    recipe: Recipe,
    casks: Iterable[Cask],
    takes: Sequence[Take],
    held: Mapping[str, Held],
    meter: InstrumentErrors,
    *,
    regauged: Mapping[str, Held] | None = None,
    strength_within: float = LABEL_TOLERANCE,
    level: float = LEVEL,
) -> HowSure:
    """How sure the takes of a plan are.

    Args:
        recipe: what limits are asked.
        casks: those that are taken from, at least.
        takes: what is taken.
        held: what is known of each cask, by ref; its values are the plan's, whatever stands there.
        meter: what measures part takes and the water, in mL.
        regauged: the same once a cask was gauged anew, by ref; only these are tried.
        strength_within: how far the strength after water may be from the target, % vol.
        level: the chance that counts as sure enough.
    """
    vat = _Vat(recipe, tuple(casks), takes, meter, strength_within)
    bodies = {take.ref: vat.body(take, held[take.ref]) for take in takes}
    own = {name: take.ref for take in takes for figure in held[take.ref] for name in figure.sources}
    several = {name for take in takes for figure in held[take.ref] for name in figure.sources if own[name] != take.ref}
    owners = {name: ref for name, ref in own.items() if name not in several}
    limits = tuple(_chance(one, owners, level) for one in vat.limits(bodies, held))
    draws = _Draws()
    together = draws.together(limits)
    tried = []
    for ref, anew in (regauged or {}).items():
        known = {**held, ref: anew}
        again = {**bodies, ref: vat.body(vat.takes[ref], anew)}
        tried.append(Regauged(ref, draws.together(vat.limits(again, known))))
    helps = [one for one in tried if one.together - together >= _WORTH]
    exact = (*(["the heel"] if recipe.heel else []), *(["what is in the vat"] if recipe.in_vat else []))
    return HowSure(limits, together, level, tuple(sorted(helps, key=lambda one: -one.together)), exact)


class _Vat:
    """What goes together by a plan, and the limits on it."""

    def __init__(
        self,
        recipe: Recipe,
        casks: Sequence[Cask],
        takes: Sequence[Take],
        meter: InstrumentErrors,
        strength_within: float,
    ) -> None:
        self._recipe, self._meter, self._within = recipe, meter, strength_within
        self._casks = {one.ref: one for one in casks}
        self.takes = {one.ref: one for one in takes}
        self._planned = blended(recipe, casks, takes)

    def body(self, take: Take, known: Held) -> _Body:
        """What a take pours: all that a cask holds, or what the meter measures of it."""
        cask = self._casks[take.ref]
        litres = replace(known.volume_l, value=take.volume_l) if take.whole else self._measured(take.volume_l, take.ref)
        return self._body(litres, replace(known.strength_vol, value=cask.strength_vol), {cask.component: 1.0})

    def limits(self, bodies: Mapping[str, _Body], held: Mapping[str, Held]) -> list[LimitChance]:
        """Every limit that binds, without its chance."""
        poured = [*bodies.values(), *self._certain()]
        return [*self._of_parts(poured), *self._of_vat(poured), *self._of_rests(held)]

    def _measured(self, litres: float, label: str) -> Uncertain:
        return self._meter.reading(1000.0 * litres, f"for {label}") * 0.001

    def _body(self, litres: Figure, percent: Figure, parts: Mapping[str, float]) -> _Body:
        amount = Uncertain(0.0) + litres
        in_basis = amount * percent if self._recipe.basis == "alcohol" else amount
        return _Body(
            _through(mass_kg, litres, percent),
            _through(ethanol_kg, litres, percent),
            {name: in_basis * part for name, part in parts.items()},
        )

    def _certain(self) -> list[_Body]:
        """What is in the vat already."""
        found = [self._body(one.volume_l, one.strength_vol, {one.component: 1.0}) for one in self._recipe.in_vat]
        if heel := self._recipe.heel:
            parts = {name: part / 100.0 for name, part in heel.parts.items()}
            found.append(self._body(heel.volume_l, heel.strength_vol, parts))
        return found

    def _of_parts(self, bodies: Sequence[_Body]) -> Iterable[LimitChance]:
        nothing, above = Uncertain(0.0), self._recipe.house.no_component_above
        names = self._recipe.components
        amounts = {name: sum((one.of.get(name, nothing) for one in bodies), nothing) for name in names}
        whole = sum(amounts.values(), nothing)
        for name, part in self._recipe.components.items():
            high = min(inf if one is None else one for one in (part.high, above))
            if part.low is not None or high < inf:
                yield _limit(f"components.{name}", amounts[name] / whole * 100.0, part.low, high)

    def _of_vat(self, bodies: Sequence[_Body]) -> Iterable[LimitChance]:
        target, limits, nothing = self._recipe.target, self._recipe.limits, Uncertain(0.0)
        mass, ethanol = sum((one.mass for one in bodies), nothing), sum((one.ethanol for one in bodies), nothing)
        if limits.least_strength_before is not None:
            before = _through(_strength, ethanol, mass)
            yield _limit("limits.least_strength_before", before, limits.least_strength_before, None)
        if self._planned.water_l > 0.0:
            mass = mass + self._measured(self._planned.water_l, "water") * (density_kg_m3(0.0) / 1000.0)
        after, reduced = _through(_strength, ethanol, mass), _through(_litres, ethanol, mass)
        within, aim = self._within, target.strength_vol
        yield _limit("target.strength_20c", after, aim - within, aim + within)
        if target.volume_low_l is not None or target.volume_high_l is not None:
            kept = 1.0 - sum(self._recipe.losses.values()) / 100.0
            yield _limit("target.volume_l", reduced * kept, target.volume_low_l, target.volume_high_l)
        if limits.vat_l is not None:
            yield _limit("limits.vat_l", reduced, None, limits.vat_l)

    def _of_rests(self, held: Mapping[str, Held]) -> Iterable[LimitChance]:
        """What stays in part casks, that there is enough in them for what is to be taken."""
        for take in self.takes.values():
            if not take.whole:
                full = replace(held[take.ref].volume_l, value=self._casks[take.ref].volume_l)
                left = full - self._measured(take.volume_l, take.ref)
                yield _limit("limits.least_left_l", left, self._recipe.limits.least_left_l or 0.0, None, take.ref)


def _strength(ethanol: float, mass: float) -> float:
    return strength_from_mass_fraction(min(1.0, ethanol / mass))


def _litres(ethanol: float, mass: float) -> float:
    return mass / density_kg_m3(min(1.0, ethanol / mass)) * 1000.0


def _through(function: Callable[[float, float], float], *inputs: Figure) -> Uncertain:
    """A function of two figures, with its slope against each by central differences."""
    values = [value_of(one) for one in inputs]
    terms = []
    for at, value in enumerate(values):
        step = 1e-5 * max(1.0, abs(value))
        up, down = ([*values[:at], value + sign * step, *values[at + 1 :]] for sign in (1.0, -1.0))
        terms.append(((function(*up) - function(*down)) / (2.0 * step), inputs[at]))
    return propagated(function(*values), *terms)


# -- chances -----------------------------------------------------------------------------


def _limit(demand: str, figure: Uncertain, low: float | None, high: float | None, ref: str = "") -> LimitChance:
    ends = (-inf if low is None else low, inf if high is None else high)
    sources = {name: share for name, share in figure.sources.items() if abs(share) > _CANCELLED * abs(figure.value)}
    return LimitChance(demand, ref, replace(figure, sources=sources), *ends, 0.0, None, ())


def _chance(limit: LimitChance, owners: Mapping[str, str], level: float) -> LimitChance:
    """The limit with its chance, and whose error matters."""
    figure, low, high = limit.figure, limit.low, limit.high
    spread = figure.standard
    if spread:
        chance = inside(figure, max(low, figure.value - _FAR * spread), min(high, figure.value + _FAR * spread))
    else:
        chance = float(low - _ROUNDING <= figure.value <= high + _ROUNDING)
    half = min((high - low) / 2.0, _FAR * spread) if spread else 0.0
    band = guard_band(figure, half, level) if spread else 0.0
    by_owner: dict[str, float] = {}
    for name, part in figure.budget():
        owner = owners.get(name, name)
        by_owner[owner] = by_owner.get(owner, 0.0) + part
    of_weight = sorted(by_owner.items(), key=lambda item: -item[1])
    return limit._replace(
        chance=chance,
        tightened=None if band is None else (low + band, high - band),
        matters=tuple((owner, round(part, 4)) for owner, part in of_weight if part >= _WORTH),
    )


class _Draws:
    """Draws of each source of error, by its name always the same: so two plans are compared under equal errors."""

    def __init__(self) -> None:
        self._of: dict[tuple[str, int], NDArray[np.float32]] = {}

    def together(self, limits: Sequence[LimitChance]) -> float:
        """In which part of the draws all limits are kept."""
        kept = np.ones(_DRAWS, dtype=bool)
        for one in limits:
            error = np.zeros(_DRAWS, dtype=np.float32)
            for name, share in one.figure.sources.items():
                error += np.float32(share) * self._source(name, one.figure.rectangles.get(name, 0))
            figure = one.figure.value + error
            rounding = 0.0 if one.figure.standard else _ROUNDING
            kept &= (figure >= one.low - rounding) & (figure <= one.high + rounding)
        return float(kept.mean())

    def _source(self, name: str, rectangles: int) -> "NDArray[np.float32]":
        """Draws of a standard deviation of one: the sum of so many rectangular errors, or a normal one."""
        key = (name, rectangles)
        if key not in self._of:
            chance = np.random.default_rng(crc32(name.encode()))
            if rectangles:
                sides = chance.uniform(-1.0, 1.0, (_DRAWS, min(rectangles, 12))).sum(axis=1, dtype=np.float64)
                drawn = sides * np.sqrt(3.0 / min(rectangles, 12))
            else:
                drawn = chance.standard_normal(_DRAWS)
            self._of[key] = drawn.astype(np.float32)
        return self._of[key]
