"""A trial as a batch: the same fractions from real casks, heel and water counted.

>>> from pourbook.liquid import Liquid
>>> cask = Liquid(180_000_000, 100_000_000)  # about 200 litres
>>> parts = BatchPart("C000001H", ("C000001H",), 0.75), BatchPart(WATER, (), 0.25)
>>> plan = scaled(parts, 100_000, {"C000001H": cask})
>>> [(pull.source, pull.volume_ml) for pull in plan.pulls]
[('C000001H', 75000.0), ('water', 25000.0)]
"""

from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from math import ceil
from typing import NamedTuple

from pourbook.alcoholometry.mixing import contraction_ml, mix, water_to_reach
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.bench.trials import WATER, liquid_of_volume
from pourbook.codes.identifiers import hyphened, named
from pourbook.errors import NotThere, Refused
from pourbook.liquid import EMPTY, Liquid

__all__ = ["BatchPart", "Pull", "ScalePlan", "apportioned", "scaled", "scaled_to", "to_pour"]

_FIRST = (0.5, 0.6)
"""Where the search begins: reduction seldom more than doubles what is poured."""

_NEAR = 1e-6
_TURNS = 12
_READ_IN_A_VAT_ML, _READ_IN_A_GLASS_ML, _A_VAT_ML = 10.0, 0.1, 5000.0
"""What is read of a cask and of a glass, and what is more than a glass: common practice, no source."""
_A_DROP_L = Decimal("0.0001")
_LEAST_ML = 0.01
"""The volume of some milligrams, to which each pull is rounded."""


class BatchPart(NamedTuple):
    """A part of the batch: the component it stands for, the casks that give it, and its fraction by volume as poured.

    The component is an identifier, or "water", which no cask gives. A component that came from several casks is
    several parts.
    """

    component: str
    casks: tuple[str, ...]
    fraction: float


class Pull(NamedTuple):
    """What to take from one source.

    Attributes:
        source: cask, batch or vial; or "water".
        component: the component of the trial it stands for; "heel" or "reduction" otherwise.
        volume_ml: at 20 °C.
        liquid: what that is.
        left_ml: what remains in the source; None for water.
    """

    source: str
    component: str
    volume_ml: float
    liquid: Liquid
    left_ml: float | None


class ScalePlan(NamedTuple):
    """A batch as planned: pulls (heel first, reduction water last), the whole, and its contraction on mixing."""

    pulls: tuple[Pull, ...]
    whole: Liquid
    contraction_ml: float


def scaled(
    parts: Sequence[BatchPart],
    total_ml: float,
    holds: Mapping[str, Liquid],
    heel: tuple[str, float] | None = None,
    to_strength: float | None = None,
) -> ScalePlan:
    """Plan a batch of `total_ml`: the sum of the volumes to pour, heel included, reduction water not.

    The casks of a part give in proportion to what each holds; `holds` covers every cask and the heel's batch. `heel` is
    that batch and the volume of it that counts towards the total. With `to_strength` (% vol), the trial's own water is
    left out.

    Raises:
        NotThere: casks hold too little (each such component is named), or the heel's batch is empty.
        Refused: the heel is more than the batch.
    """
    heel_ml = heel[1] if heel else 0.0
    if heel and not heel_ml:
        raise NotThere(f"{hyphened(heel[0])} is empty and has no heel", "leave out --heel, or gauge it")
    if heel_ml >= total_ml:
        raise Refused(f"the heel of {heel_ml / 1000:.1f} l exceeds the batch of {total_ml / 1000:.1f} l")
    poured = [part for part in parts if to_strength is None or part.component != WATER]
    whole = sum(part.fraction for part in poured)
    pulls = [_pull(heel[0], "heel", heel_ml, holds)] if heel else []
    short: list[str] = []
    for component, casks, fraction in poured:
        part_ml = fraction / whole * (total_ml - heel_ml)
        if component == WATER:
            pulls.append(Pull(WATER, WATER, part_ml, liquid_of_volume(part_ml, EMPTY), None))
        else:
            pulls += _pulls(component, part_ml, casks, holds, short)
    if short:
        raise NotThere(
            "; ".join(short),
            "name more casks for it (--use), make the batch smaller, or let the others make up for it (--make-up)",
        )
    if to_strength is not None:
        water = water_to_reach(mix([pull.liquid for pull in pulls]), to_strength)
        if water.mass_mg:
            pulls.append(Pull(WATER, "reduction", volume_ml(water), water, None))
    liquids = [pull.liquid for pull in pulls]
    return ScalePlan(_settled(pulls, holds), mix(liquids), contraction_ml(liquids))


def to_pour(plan: ScalePlan) -> dict[str, tuple[Decimal, tuple[str, ...]]]:
    """Litres to pour from each source, and the components it stands for; what gives twice is poured once, together.

    Rounded up to what is read in a cellar, so that there is enough; never beyond what the source holds. Water that
    reduces is what that needs.
    """
    step_ml = _READ_IN_A_VAT_ML if sum(pull.volume_ml for pull in plan.pulls) > _A_VAT_ML else _READ_IN_A_GLASS_ML
    found: dict[str, tuple[Decimal, tuple[str, ...]]] = {}
    liquids: list[Liquid] = []
    for source in dict.fromkeys(pull.source for pull in plan.pulls):
        own = [pull for pull in plan.pulls if pull.source == source]
        ml = sum(pull.volume_ml for pull in own)
        left_ml = own[0].left_ml
        rounded_ml = ceil(ml / step_ml) * step_ml
        if left_ml is not None and rounded_ml > ml + left_ml:
            rounded_ml = ml
        if own[0].component == "reduction":
            rounded_ml = volume_ml(water_to_reach(mix(liquids), strength_20c(plan.whole) or 0.0))
        liquids.append(liquid_of_volume(rounded_ml, mix(pull.liquid for pull in own)))
        litres = (
            (Decimal(rounded_ml) / 1000)
            .quantize(_A_DROP_L, ROUND_CEILING if left_ml is None else ROUND_FLOOR)
            .normalize()
        )
        found[source] = litres, tuple(dict.fromkeys(pull.component for pull in own))
    return found


def scaled_to(final_ml: float, plan_of: Callable[[float], ScalePlan], heel_ml: float = 0.0) -> ScalePlan:
    """The plan of a batch of a final volume at 20 °C, all water in it; `heel_ml` is the least of what is poured.

    The final volume rises almost in proportion to what is poured, so it is sought along the chord. What is found is
    never less: bottles that are wanted can be filled.

    Raises:
        NotThere: casks hold too little.
        Refused: the heel alone, reduced, is more.
    """
    if heel_ml >= final_ml:
        raise Refused(f"the heel of {heel_ml / 1000:.1f} l exceeds the batch of {final_ml / 1000:.1f} l")
    before_ml, total_ml = (heel_ml + (final_ml - heel_ml) * part for part in _FIRST)
    before = volume_ml(plan_of(before_ml).whole)
    for _ in range(_TURNS):
        plan = plan_of(total_ml)
        found = volume_ml(plan.whole)
        if abs(found - final_ml) < _NEAR * final_ml or found == before:
            break
        slope = (total_ml - before_ml) / (found - before)
        before_ml, before = total_ml, found
        total_ml += (final_ml - found) * slope
    while (missing_ml := final_ml - volume_ml(plan.whole)) > 0:
        total_ml += 2 * max(missing_ml, _LEAST_ML)
        plan = plan_of(total_ml)
    return plan


def _pulls(
    component: str, wanted_ml: float, casks: tuple[str, ...], holds: Mapping[str, Liquid], short: list[str]
) -> list[Pull]:
    held_ml = sum(volume_ml(holds[cask]) for cask in casks)
    if wanted_ml > held_ml:
        names = ", ".join(map(hyphened, casks))
        hold = "holds" if len(casks) == 1 else "hold"
        short.append(f"{named(component)} needs {wanted_ml / 1000:.2f} l, but {names} {hold} {held_ml / 1000:.2f} l")
        return []
    return [
        _pull(cask, component, wanted_ml * volume_ml(holds[cask]) / held_ml, holds)
        for cask in casks
        if holds[cask].mass_mg
    ]


def _settled(pulls: list[Pull], holds: Mapping[str, Liquid]) -> tuple[Pull, ...]:
    """The pulls, with what each source keeps after all of them: one cask may give for several components."""
    taken: dict[str, list[Pull]] = {}
    for pull in pulls:
        if pull.left_ml is not None:
            taken.setdefault(pull.source, []).append(pull)
    kept_ml: dict[str, float] = {}
    short = []
    for source, own in taken.items():
        held_ml, wanted_ml = volume_ml(holds[source]), sum(pull.volume_ml for pull in own)
        kept_ml[source] = max(held_ml - wanted_ml, 0.0)
        # Each pull is rounded to the milligram.
        if sum(pull.liquid.mass_mg for pull in own) > holds[source].mass_mg + len(own):
            short.append(
                f"{hyphened(source)} holds {held_ml / 1000:.2f} l of the {wanted_ml / 1000:.2f} l wanted in all"
            )
    if short:
        raise NotThere("; ".join(short), "name more casks (--use), or make the batch smaller")
    return tuple(pull._replace(left_ml=kept_ml.get(pull.source)) for pull in pulls)


def _pull(source: str, component: str, wanted_ml: float, holds: Mapping[str, Liquid]) -> Pull:
    held = holds[source]
    held_ml = volume_ml(held)
    if wanted_ml > held_ml:
        raise NotThere(
            f"{hyphened(source)} holds {held_ml / 1000:.2f} l of the {wanted_ml / 1000:.2f} l wanted",
            "take less, or gauge it",
        )
    return Pull(source, component, wanted_ml, liquid_of_volume(wanted_ml, held), held_ml - wanted_ml)


def apportioned(total_mg: int, expected_mg: Mapping[str, int]) -> dict[str, int]:
    """A vat's measured total shared out over the casks dumped into it, by expected content, in whole milligrams.

    Raises:
        Refused: the book expects nothing in any of them.

    >>> apportioned(100, {"C000001H": 2, "C000002F": 1})
    {'C000001H': 67, 'C000002F': 33}
    """
    whole = sum(expected_mg.values())
    if not whole:
        raise Refused("the casks are empty in the book", "gauge them first")
    found: dict[str, int] = {}
    given = seen = 0
    for cask, expected in expected_mg.items():
        seen += expected
        upto = (2 * total_mg * seen + whole) // (2 * whole)
        found[cask] = upto - given
        given = upto
    return found
