"""Vatting spirits to a strength and a total: how much of each.

One or two parts may lack an amount: the strength of the whole fixes one, strength and total volume fix two.
Water is a part like any other.

>>> from pourbook.alcoholometry.volumes import composition, volume_ml
>>> strong, weak = composition(61.2), composition(45.0)
>>> vat = vatted([Part(strong), Part(weak)], percent_vol=50.0, total_ml=500_000)
>>> [f"{volume_ml(liquid) / 1000:.2f} l" for liquid in vat]
['153.21 l', '347.19 l']
>>> f"{strength_20c(mix(vat)):.3f} % vol, {volume_ml(mix(vat)) / 1000:.2f} l"
'50.000 % vol, 500.00 l'
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from typing import NamedTuple

from pourbook.alcoholometry.apparent import composition_of_liquid, density_of, liquid_of_mass, strength_of
from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3
from pourbook.alcoholometry.mixing import SAME_PERCENT_VOL, mix
from pourbook.alcoholometry.volumes import Composition, strength_20c
from pourbook.errors import Malformed, OutOfRange
from pourbook.liquid import EMPTY, MOST_MG, Liquid

__all__ = ["Part", "part_to_reach", "vatted"]

_HALVINGS = 200  # more than a double has bits
_TURNS = 10  # of the total at another temperature; two are usual


class Part(NamedTuple):
    """A spirit to be vatted: what it is made of, and the liquid; None where its amount is to be found."""

    made_of: Composition
    liquid: Liquid | None = None


def vatted(
    parts: Sequence[Part], percent_vol: float | None = None, total_ml: float | None = None, temperature_c: float = 20.0
) -> tuple[Liquid, ...]:
    """How much of each part makes a whole of a strength and a total, in the order of the parts.

    `percent_vol` is the true strength of the whole at 20 °C, None where every part has its amount; `total_ml`, at
    the temperature, is for two open parts only.

    Raises:
        Malformed: too much is asked, or too little is given.
        OutOfRange: these parts cannot make that strength and total.
    """
    open_parts = [part.made_of for part in parts if part.liquid is None]
    fixed = mix(part.liquid for part in parts if part.liquid is not None)
    _check_question(len(open_parts), percent_vol, total_ml)
    found: list[Liquid] = []
    if percent_vol is not None and len(open_parts) == 1:
        found = [part_to_reach(fixed, open_parts[0], percent_vol)]
    elif percent_vol is not None and total_ml is not None:
        found = list(_two_to_reach(fixed, open_parts[0], open_parts[1], percent_vol, total_ml, temperature_c))
    return tuple(found.pop(0) if part.liquid is None else part.liquid for part in parts)


def _check_question(open_parts: int, percent_vol: float | None, total_ml: float | None) -> None:
    if open_parts > 2:
        raise Malformed(f"{open_parts} parts have no amount", "give amounts for all but two of them")
    needed = (open_parts > 0, open_parts == 2)
    if (percent_vol is not None, total_ml is not None) == needed:
        return
    if open_parts == 2:
        raise Malformed("two parts have no amount", "give the strength and the total they should make")
    if open_parts == 1:
        raise Malformed("one part has no amount", "give the strength of the whole, and no total: it follows")
    raise Malformed("every part has its amount, so strength and total follow", "leave out an amount, or the target")


def part_to_reach(liquid: Liquid, made_of: Composition, percent_vol: float) -> Liquid:
    """How much of a spirit brings a liquid to a strength, up or down.

    The least whole number of milligrams for which the mix reaches or passes it.

    >>> from pourbook.alcoholometry.volumes import composition, liquid_of_volume
    >>> part_to_reach(liquid_of_volume(100_000, 40.0), composition(96.0), 43.0).mass_mg
    4403037
    """
    present = strength_20c(liquid)
    if present is None:
        raise OutOfRange("nothing to bring to strength: the amount is zero", "give the amount of a part")
    if abs(present - percent_vol) < SAME_PERCENT_VOL:
        return EMPTY
    added = strength_of(made_of)
    upwards = percent_vol > present

    def reached(mass_mg: int) -> bool:
        mixed = strength_20c(liquid + liquid_of_mass(mass_mg, made_of)) or 0.0
        return mixed >= percent_vol if upwards else mixed <= percent_vol

    between = present < percent_vol < added if upwards else added < percent_vol < present
    if not between or not reached(MOST_MG):
        raise OutOfRange(
            f"{present:.2f} % vol and {added:.2f} % vol cannot make {percent_vol:g} % vol",
            "take a target between them, or another spirit",
        )
    return liquid_of_mass(bisect_left(range(MOST_MG), True, key=reached), made_of)


# -- two open parts ----------------------------------------------------------------------


def _two_to_reach(
    fixed: Liquid, first: Composition, second: Composition, percent_vol: float, total_ml: float, temperature_c: float
) -> tuple[Liquid, Liquid]:
    """Both open parts; iterates to the total at 20 °C."""
    total_20c = total_ml
    for _ in range(_TURNS):
        found = _two_at_20c(fixed, first, second, percent_vol, total_20c)
        made_of = composition_of_liquid(mix((fixed, *found)))
        following = total_ml * density_of(made_of, temperature_c) / density_of(made_of)
        if abs(following - total_20c) <= 1e-12 * total_ml:
            break
        total_20c = following
    return found


def _two_at_20c(
    fixed: Liquid, first: Composition, second: Composition, percent_vol: float, total_ml: float
) -> tuple[Liquid, Liquid]:
    """Strength and total at 20 °C give the ethanol; on that line the volume is sought."""
    ethanol_mg = percent_vol / 100.0 * total_ml * ETHANOL_20C_KG_M3 - fixed.ethanol_mg
    per_mg = tuple(part.mass_fraction * (1.0 - part.extract_per_mass) for part in (first, second))
    if per_mg[0] < per_mg[1]:
        weaker, stronger = _two_at_20c(fixed, second, first, percent_vol, total_ml)
        return stronger, weaker
    refusal = OutOfRange(
        f"these parts cannot make {total_ml / 1000:.2f} l of {percent_vol:g} % vol",
        f"they have {strength_of(first):.2f} and {strength_of(second):.2f} % vol"
        + ("; what is given already may be too much" if fixed.mass_mg else ""),
    )
    if ethanol_mg <= 0.0 or per_mg[0] <= 0.0:
        raise refusal

    def stronger_beside(weaker_mg: float) -> float:
        return max(0.0, (ethanol_mg - weaker_mg * per_mg[1]) / per_mg[0])

    # the more of the weaker, the more water for the same ethanol, and so the more volume
    heaviest_mg = 2000.0 * total_ml
    most_mg = ethanol_mg / per_mg[1] if per_mg[1] * heaviest_mg > ethanol_mg else heaviest_mg
    weaker_mg = _where(lambda mg: _mixed_ml(fixed, (first, stronger_beside(mg)), (second, mg)), 0.0, most_mg, total_ml)
    if weaker_mg is None:
        raise refusal
    return liquid_of_mass(round(stronger_beside(weaker_mg)), first), liquid_of_mass(round(weaker_mg), second)


def _mixed_ml(fixed: Liquid, *parts: tuple[Composition, float]) -> float:
    """Volume at 20 °C of a mix whose masses need not be whole."""
    mass, ethanol, extract = map(float, fixed)
    for (fraction, extract_per_mass), mass_mg in parts:
        mass += mass_mg
        ethanol += mass_mg * fraction * (1.0 - extract_per_mass)
        extract += mass_mg * extract_per_mass
    made_of = Composition(min(1.0, max(0.0, ethanol / (mass - extract))), extract / mass)
    return mass / density_of(made_of)


def _where(rising: Callable[[float], float], low: float, high: float, wanted: float) -> float | None:
    """Where a rising function has a value, by halving; None where that is outside the ends."""
    rounding = 1e-9 * wanted
    if not rising(low) - rounding <= wanted <= rising(high) + rounding:
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if not low < middle < high:
            break
        low, high = (middle, high) if rising(middle) < wanted else (low, middle)
    return (low + high) / 2.0
