"""What takes from casks come to: worked out plainly from litres and strengths, and judged against every demand.

A fraction is the litres poured of a component, plus the heel's litres times its part, over all litres poured and the
heel; by alcohol the same with litres times strength. Masses and ethanol add (OIML R 22), and give the strength before
water; the reduced batch is pure alcohol over the target's strength.

>>> from pourbook.planning.recipe import Part, Target
>>> recipe = Recipe({"rich": Part(100.0)}, Target(300.0, 40.0))
>>> blend = blended(recipe, [Cask("1", "rich", 200.0, 63.5)], [Take("1", 200.0, whole=True)])
>>> f"{blend.strength_before:.3f} % vol, {blend.water_l:.2f} l of water, {blend.volume_l:.2f} l"
'63.500 % vol, 120.99 l of water, 317.50 l'
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import inf
from typing import NamedTuple

from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3, density_kg_m3
from pourbook.alcoholometry.strength import mass_fraction_from_strength, strength_from_mass_fraction
from pourbook.planning.casks import Cask
from pourbook.planning.recipe import LEAST_TAKEN_L, Recipe, least_days

__all__ = ["Blend", "Take", "aimed_at", "blended", "broken", "ethanol_kg", "is_most", "mass_kg", "of_basis", "reached"]

_CLOSE_L = 0.0005
_CLOSE_VOL = 0.0005
_CLOSE_FRACTION = 5e-7
_CLOSE_MEAN = 1e-5
"""How closely an answer keeps its limits: half of what is promised."""


class Take(NamedTuple):
    """An amount from a cask, named by its ref.

    Attributes:
        ref: of the cask.
        volume_l: litres at 20 °C.
        whole: whether the cask is emptied.
    """

    ref: str
    volume_l: float
    whole: bool


class Blend(NamedTuple):
    """What a plan's takes come to, heel and what is in the vat included.

    Attributes:
        fractions: of each component, 0 to 1.
        strength_before: % vol at 20 °C, before water.
        water_l: added to reach the target's strength, litres at 20 °C; below zero where the blend is too weak.
        reduced_l: litres at 20 °C after reduction, before losses.
        volume_l: after losses.
        attributes: mean of each attribute asked for, over what has notes of it; absent where nothing has.
        measures: casks, left_l, shifts, distance, and cost where it counts.
    """

    fractions: Mapping[str, float]
    strength_before: float
    water_l: float
    reduced_l: float
    volume_l: float
    attributes: Mapping[str, float]
    measures: Mapping[str, float]


class _Body(NamedTuple):
    """So many litres of a strength, the fractions of them that count as each component, and what notes say of it."""

    volume_l: float
    strength_vol: float
    of: Mapping[str, float]
    attributes: Mapping[str, float] = {}


def mass_kg(volume_l: float, strength_vol: float) -> float:
    """Mass of a volume at 20 °C, kg, by OIML R 22."""
    return volume_l * density_kg_m3(mass_fraction_from_strength(strength_vol)) / 1000.0


def ethanol_kg(volume_l: float, strength_vol: float) -> float:
    """Ethanol in a volume at 20 °C, kg."""
    return volume_l * strength_vol / 100.0 * ETHANOL_20C_KG_M3 / 1000.0


def blended(recipe: Recipe, casks: Iterable[Cask], takes: Sequence[Take]) -> Blend:
    """What takes come to, with water to the target's strength and losses.

    Raises:
        KeyError: a take is of a cask that is not there.
    """
    by_ref = {cask.ref: cask for cask in casks}
    taken = [(by_ref[take.ref], take) for take in takes]
    bodies = [_Body(take.volume_l, cask.strength_vol, {cask.component: 1.0}, cask.attributes) for cask, take in taken]
    bodies += [_Body(one.volume_l, one.strength_vol, {one.component: 1.0}, one.attributes) for one in recipe.in_vat]
    if recipe.heel:
        parts = {name: part / 100.0 for name, part in recipe.heel.parts.items()}
        bodies.append(_Body(recipe.heel.volume_l, recipe.heel.strength_vol, parts))
    mass = sum(mass_kg(body.volume_l, body.strength_vol) for body in bodies)
    ethanol = sum(ethanol_kg(body.volume_l, body.strength_vol) for body in bodies)
    target = recipe.target.strength_vol
    reduced = sum(body.volume_l * body.strength_vol for body in bodies) / target
    water_kg = ethanol / mass_fraction_from_strength(target) - mass
    return Blend(
        _fractions(recipe, bodies),
        strength_from_mass_fraction(min(1.0, ethanol / mass)) if mass else 0.0,
        water_kg / density_kg_m3(0.0) * 1000.0,
        reduced,
        reduced * (1.0 - sum(recipe.losses.values()) / 100.0),
        _attributes(recipe, bodies),
        _measures(recipe, taken) | {"distance": _distance(recipe, bodies)},
    )


def of_basis(recipe: Recipe, volume_l: float, strength_vol: float) -> float:
    """What parts are of, in a volume: the litres as poured, or those of pure alcohol."""
    return volume_l * (strength_vol / 100.0 if recipe.basis == "alcohol" else 1.0)


def aimed_at(recipe: Recipe) -> float:
    """The batch aimed at in the basis, before losses: litres as reduced, or those of pure alcohol."""
    stays = 1.0 - sum(recipe.losses.values()) / 100.0
    return of_basis(recipe, recipe.target.volume_l / stays, recipe.target.strength_vol)


def _attributes(recipe: Recipe, bodies: Sequence[_Body]) -> dict[str, float]:
    means = {}
    for name in recipe.attributes:
        noted = [
            (of_basis(recipe, body.volume_l, body.strength_vol), body.attributes[name])
            for body in bodies
            if name in body.attributes
        ]
        if whole := sum(amount for amount, _ in noted):
            means[name] = sum(amount * value for amount, value in noted) / whole
    return means


def _distance(recipe: Recipe, bodies: Sequence[_Body]) -> float:
    """For each attribute with an aim, what is poured times how far it is from it, over the batch aimed at; added up."""
    apart = [
        sum(
            of_basis(recipe, body.volume_l, body.strength_vol) * (body.attributes[name] - band.aim)
            for body in bodies
            if name in body.attributes
        )
        for name, band in recipe.attributes.items()
        if band.aim is not None
    ]
    return sum(map(abs, apart)) / aimed_at(recipe)


def _fractions(recipe: Recipe, bodies: Sequence[_Body]) -> dict[str, float]:
    amounts = [of_basis(recipe, body.volume_l, body.strength_vol) for body in bodies]
    whole = sum(amounts)
    return {
        name: sum(amount * body.of.get(name, 0.0) for amount, body in zip(amounts, bodies, strict=True)) / whole
        if whole
        else 0.0
        for name in recipe.components
    }


def _measures(recipe: Recipe, taken: Sequence[tuple[Cask, Take]]) -> dict[str, float]:
    measures = {
        "casks": float(len(taken)),
        "left_l": sum(cask.volume_l - take.volume_l for cask, take in taken if not take.whole),
        "shifts": sum(cask.shifts for cask, _ in taken),
    }
    costs = [(cask.cost_per_lpa, take.volume_l * cask.strength_vol / 100.0) for cask, take in taken]
    if "cost" in recipe.objective:
        measures["cost"] = sum(cost * litres for cost, litres in costs if cost is not None)
    return measures


# -- judged against the demands ----------------------------------------------------------


def broken(
    recipe: Recipe, casks: Iterable[Cask], takes: Sequence[Take], blend: Blend, *, closeness: float = 1.0
) -> tuple[str, ...]:
    """Names of the demands that a blend breaks by more than half of what an answer promises.

    `closeness` 0 forgives nothing: what is kept then, the planner could be asked to keep.
    """
    return tuple(
        demand
        for demand, found, low, high, close in _judged(recipe, casks, takes, blend)
        if min(found - (-inf if low is None else low), (inf if high is None else high) - found) < -closeness * close
    )


def reached(recipe: Recipe, casks: Iterable[Cask], takes: Sequence[Take], blend: Blend, demand: str) -> float | None:
    """What the limit of a demand could be for these takes to keep it just so; None where nothing of it was poured."""
    found = [value for name, value, *_ in _judged(recipe, casks, takes, blend) if name == demand]
    if not found:
        return None
    return max(found) if is_most(demand) else min(found)


def is_most(demand: str) -> bool:
    """Whether a demand says the most that will do, rather than the least."""
    key = demand.rpartition(".")[2]
    return key in ("high", "volume_high_l", "vat_l", "most_casks", "most_part_casks", "no_component_above")


def _judged(recipe: Recipe, casks: Iterable[Cask], takes: Sequence[Take], blend: Blend) -> "list[_Judged]":
    by_ref = {cask.ref: cask for cask in casks}
    return [*_of_blend(recipe, blend), *_of_casks(recipe, [(by_ref[take.ref], take) for take in takes])]


_Judged = tuple[str, float, float | None, float | None, float]
"""A demand, what was found, the least and the most, and how close will do."""


def _of_blend(recipe: Recipe, blend: Blend) -> Iterator[_Judged]:
    for name, part in recipe.components.items():
        percent = 100.0 * blend.fractions[name]
        yield f"components.{name}.low", percent, part.low, None, 100.0 * _CLOSE_FRACTION
        yield f"components.{name}.high", percent, None, part.high, 100.0 * _CLOSE_FRACTION
        yield "house.no_component_above", percent, None, recipe.house.no_component_above, 100.0 * _CLOSE_FRACTION
    for name, mean in blend.attributes.items():
        yield f"attributes.{name}.low", mean, recipe.attributes[name].low, None, _CLOSE_MEAN
        yield f"attributes.{name}.high", mean, None, recipe.attributes[name].high, _CLOSE_MEAN
    target, limits = recipe.target, recipe.limits
    yield "target.volume_low_l", blend.volume_l, target.volume_low_l, None, _CLOSE_L
    yield "target.volume_high_l", blend.volume_l, None, target.volume_high_l, _CLOSE_L
    yield "limits.vat_l", blend.reduced_l, None, limits.vat_l, _CLOSE_L
    yield "target.strength_20c", blend.strength_before, target.strength_vol, None, _CLOSE_VOL
    yield "limits.least_strength_before", blend.strength_before, limits.least_strength_before, None, _CLOSE_VOL


def _of_casks(recipe: Recipe, taken: Sequence[tuple[Cask, Take]]) -> Iterator[_Judged]:
    limits = recipe.limits
    parts = [(cask, take) for cask, take in taken if not take.whole]
    poured_part = sum(not one.whole for one in recipe.in_vat)
    yield "limits.most_casks", len(taken) + len(recipe.in_vat), None, limits.most_casks, 0.0
    yield "limits.most_part_casks", len(parts) + poured_part, None, limits.most_part_casks, 0.0
    least_taken = LEAST_TAKEN_L if limits.least_taken_l is None else limits.least_taken_l
    for cask, take in parts:
        yield "limits.least_left_l", cask.volume_l - take.volume_l, limits.least_left_l, None, _CLOSE_L
        yield "limits.least_taken_l", take.volume_l, least_taken, None, _CLOSE_L
    least = least_days(limits)
    ages = [cask.wood_days for cask, _ in taken] + [one.wood_days for one in recipe.in_vat]
    ages += [recipe.heel.wood_days] if recipe.heel and recipe.heel.volume_l else []
    asked = "limits.least_age_days" if limits.least_age_years is None else "limits.least_age_years"
    yield from ((asked, -1 if days is None else days, least, None, 0.0) for days in ages)
    components = [cask.component for cask, _ in taken] + [one.component for one in recipe.in_vat]
    for name in set(components):
        yield "house.casks_of_each", components.count(name), recipe.house.casks_of_each, None, 0.0
