"""What a plan is asked for: components and their parts, target, limits, house rules, heel, losses, objective.

Volumes are litres and strengths % vol at 20 °C; parts and losses are percent. A limit that is None does not bind. Every
limit is a *demand* with a name, the dotted key under which a recipe's file has it.

>>> recipe = Recipe({"rich": Part(7.0, 6.5, None), "base": Part(93.0)}, Target(1500.0, 46.0), Limits(most_casks=12))
>>> demands(recipe)
('components.rich.low', 'target.strength_20c', 'limits.most_casks')
"""

from collections.abc import Iterator, Mapping
from typing import Any, Literal, NamedTuple

__all__ = [
    "LEAST_TAKEN_L",
    "Band",
    "Basis",
    "Heel",
    "House",
    "InVat",
    "Limits",
    "Part",
    "Recipe",
    "Target",
    "asked_of",
    "days_of_years",
    "demands",
    "least_days",
    "with_asked",
]

Basis = Literal["volume", "alcohol"]
"""What parts are of: the litres as poured, or the pure alcohol in them."""

LEAST_TAKEN_L = 1.0
"""From a part cask, where the recipe does not say, litres; and from all casks together, whatever it says."""


class Part(NamedTuple):
    """The part of a component, percent in the basis.

    Attributes:
        part: aimed at.
        low: the least that will do; None binds nothing.
        high: the most that will do; None binds nothing.
    """

    part: float
    low: float | None = None
    high: float | None = None


class Band(NamedTuple):
    """An attribute of the blend: its mean, weighted by the basis, over what has notes.

    Attributes:
        aim: what it should be; distance is from there.
        low: the least that will do.
        high: the most that will do.
    """

    aim: float | None = None
    low: float | None = None
    high: float | None = None


class Target(NamedTuple):
    """What the batch is to become.

    Attributes:
        volume_l: aimed at, after reduction and losses.
        strength_vol: reached exactly, with water.
        volume_low_l: the least that will do.
        volume_high_l: the most that will do.
    """

    volume_l: float
    strength_vol: float
    volume_low_l: float | None = None
    volume_high_l: float | None = None


class Limits(NamedTuple):
    """Limits on what is poured, and from how many casks.

    Attributes:
        least_strength_before: of the vat before water.
        least_age_years: of the youngest.
        least_age_days: of the youngest, in days instead.
        most_casks: casks opened.
        most_part_casks: casks opened and not emptied.
        least_left_l: stays in a part cask; None is nothing.
        least_taken_l: from a part cask; None is `LEAST_TAKEN_L`.
        vat_l: holds the reduced batch, heel included, before losses.
    """

    least_strength_before: float | None = None
    least_age_years: int | None = None
    least_age_days: int | None = None
    most_casks: int | None = None
    most_part_casks: int | None = None
    least_left_l: float | None = None
    least_taken_l: float | None = None
    vat_l: float | None = None


class House(NamedTuple):
    """Rules of the house: the most of one component, percent; casks at least of each that is taken from casks."""

    no_component_above: float | None = None
    casks_of_each: int | None = None


class Heel(NamedTuple):
    """What lies in the vat and all goes in.

    Attributes:
        volume_l: litres at 20 °C.
        strength_vol: % vol at 20 °C.
        parts: of the components, percent in the basis.
        wood_days: days in wood of its youngest; None is unknown.
    """

    volume_l: float
    strength_vol: float
    parts: Mapping[str, float]
    wood_days: int | None = None


class InVat(NamedTuple):
    """What one cask has given already, where a pull is under way.

    Attributes:
        component: what it counts as.
        volume_l: litres at 20 °C.
        strength_vol: % vol at 20 °C.
        wood_days: days in wood; None is unknown.
        whole: whether its cask was emptied, else it counts as a part cask.
        attributes: what notes say of it, by attribute; absent is unknown.
    """

    component: str
    volume_l: float
    strength_vol: float
    wood_days: int | None = None
    whole: bool = True
    attributes: Mapping[str, float] = {}


class Recipe(NamedTuple):
    """What a plan is asked for.

    Attributes:
        components: the part of each, by its name.
        target: volume and strength.
        limits: on casks, age, strength and vat.
        house: rules of the house.
        heel: what lies in the vat; None for nothing.
        losses: percent of the reduced batch, by name; they add.
        objective: weights by measure: casks, cost, left_l, shifts, distance. None at all asks for any plan.
        basis: what parts are of.
        attributes: bands of attributes.
        in_vat: what casks have given already.
    """

    components: Mapping[str, Part]
    target: Target
    limits: Limits = Limits()
    house: House = House()
    heel: Heel | None = None
    losses: Mapping[str, float] = {}
    objective: Mapping[str, float] = {"casks": 1.0}
    basis: Basis = "volume"
    attributes: Mapping[str, Band] = {}
    in_vat: tuple[InVat, ...] = ()


def demands(recipe: Recipe) -> tuple[str, ...]:
    """Names of all that a recipe demands, in order; facts (stock, holds, heel) are none."""
    return tuple(_demands(recipe))


def _demands(recipe: Recipe) -> Iterator[str]:
    for table, values in (("components", recipe.components), ("attributes", recipe.attributes)):
        for name, value in values.items():
            yield from (f"{table}.{name}.{end}" for end in ("low", "high") if getattr(value, end) is not None)
    target = recipe.target
    yield from (f"target.{end}" for end in ("volume_low_l", "volume_high_l") if getattr(target, end) is not None)
    yield "target.strength_20c"
    for table, limits in (("limits", recipe.limits), ("house", recipe.house)):
        yield from (f"{table}.{name}" for name, value in limits._asdict().items() if value is not None)


def asked_of(recipe: Recipe, demand: str) -> float:
    """What a demand asks.

    >>> asked_of(Recipe({"rich": Part(7.0, 6.5)}, Target(1500.0, 46.0)), "components.rich.low")
    6.5
    """
    table, *names = demand.split(".")
    if table in ("components", "attributes"):
        value: float = getattr(getattr(recipe, table)[".".join(names[:-1])], names[-1])
    else:
        value = getattr(getattr(recipe, table), _FIELDS.get(names[0], names[0]))
    return value


def with_asked(recipe: Recipe, demand: str, value: float) -> Recipe:
    """The recipe with something else asked by one demand."""
    table, *names = demand.split(".")
    changed: dict[str, Any] = {}
    if table in ("components", "attributes"):
        name, end = ".".join(names[:-1]), names[-1]
        parts = getattr(recipe, table)
        changed[table] = {**parts, name: parts[name]._replace(**{end: value})}
    else:
        changed[table] = getattr(recipe, table)._replace(**{_FIELDS.get(names[0], names[0]): value})
    return recipe._replace(**changed)


_FIELDS = {"strength_20c": "strength_vol"}
"""Keys of a file that are called otherwise here."""


def least_days(limits: Limits) -> int | None:
    """The least age asked, in days; None where none is."""
    return limits.least_age_days if limits.least_age_years is None else days_of_years(limits.least_age_years)


def days_of_years(years: int) -> int:
    """Days that so many anniversaries take at most: 365 a year, and a leap day for every four or fewer.

    >>> days_of_years(12), days_of_years(3), days_of_years(1)
    (4383, 1096, 366)
    """
    return 365 * years + -(-years // 4)
