"""What mixing does: strength and volume of a mix, and how much to add to reach a strength.

Masses add; volumes do not: ethanol and water in about equal parts lose 3.5 % of theirs as they
meet. So everything here goes through masses.

>>> from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c
>>> cask = liquid_of_volume(200_000, 63.5)
>>> water = water_to_reach(cask, 46.0)
>>> f"{water.mass_mg / 1e6:.2f} kg of water, {strength_20c(cask + water):.3f} % vol"
'78.66 kg of water, 46.000 % vol'
>>> f"{contraction_ml([cask, water]) / 1000:.2f} l less than the volumes promise"
'2.72 l less than the volumes promise'
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence

from pourbook.alcoholometry.volumes import (
    mass_fraction_beside_extract,
    pure_alcohol_ml,
    strength_20c,
    volume_ml,
)
from pourbook.errors import OutOfRange
from pourbook.liquid import EMPTY, MOST_MG, Liquid

__all__ = ["contraction_ml", "mix", "spirit_to_reach", "water_to_reach"]

_SAME_PERCENT_VOL = 0.0005
"""Strengths closer than this are the same: half of the last digit that any label or gauge shows."""

_LEAST_PERCENT_VOL = 0.1
"""Below it nobody reduces, and the masses of water grow without end."""


def mix(parts: Iterable[Liquid]) -> Liquid:
    """All the parts together; their order does not matter.

    >>> mix([Liquid(100, 40), Liquid(50, 0, 20)])
    Liquid(mass_mg=150, ethanol_mg=40, extract_mg=20)
    """
    return sum(parts, start=EMPTY)


def contraction_ml(parts: Sequence[Liquid]) -> float:
    """Volume lost at 20 °C when the parts mix, mL; negative where a mix swells."""
    return sum(volume_ml(part) for part in parts) - volume_ml(mix(parts))


def water_to_reach(liquid: Liquid, percent_vol: float) -> Liquid:
    """The water that brings a liquid down to a strength, as a mass of pure water.

    The strength is that of the whole at 20 °C, extract included. The answer is a mass, so it
    holds at any temperature of water and spirit.

    Args:
        liquid: what is to be reduced.
        percent_vol: 0.1 or more, not above the strength of the liquid.

    Raises:
        OutOfRange: nothing there, the liquid is weaker already, or no such strength.
    """
    present = _strength_to_change(liquid, percent_vol)
    if percent_vol - present > _SAME_PERCENT_VOL:
        raise OutOfRange(
            f"{present:.3f} % vol is already weaker than {percent_vol:g} % vol",
            "add stronger spirit, not water",
        )
    if present <= percent_vol:
        return EMPTY
    reduced_ml = pure_alcohol_ml(liquid) / percent_vol * 100.0
    fraction = mass_fraction_beside_extract(percent_vol, liquid.extract_mg / reduced_ml)
    spirit_mg = liquid.ethanol_mg / fraction
    return Liquid(max(0, round(spirit_mg - (liquid.mass_mg - liquid.extract_mg))), 0)


def spirit_to_reach(liquid: Liquid, stronger: Liquid, percent_vol: float) -> Liquid:
    """How much of a stronger spirit lifts a liquid to a strength.

    The least whole number of milligrams for which the mix, as the book adds it, is there.
    It may be more than `stronger` holds: only its composition counts.

    Args:
        liquid: what is to be strengthened.
        stronger: the spirit to add.
        percent_vol: of the mix as a whole at 20 °C, 0.1 to 100.

    Raises:
        OutOfRange: nothing there, the liquid is stronger already, or the other is too weak.
    """
    present = _strength_to_change(liquid, percent_vol)
    if present - percent_vol > _SAME_PERCENT_VOL:
        raise OutOfRange(
            f"{present:.3f} % vol is already stronger than {percent_vol:g} % vol",
            "add water or weaker spirit",
        )
    if percent_vol - present < _SAME_PERCENT_VOL:
        return EMPTY

    def reached(mass_mg: int) -> bool:
        mixed = strength_20c(liquid + stronger.scaled(mass_mg))
        return mixed is not None and mixed >= percent_vol

    added = _strength_to_change(stronger, percent_vol)
    if added <= percent_vol or not reached(MOST_MG):
        raise OutOfRange(f"spirit of {added:.3f} % vol cannot lift to {percent_vol:g} % vol", "take a stronger one")
    return stronger.scaled(bisect_left(range(MOST_MG), True, key=reached))


def _strength_to_change(liquid: Liquid, percent_vol: float) -> float:
    """Strength of a liquid that is to be brought to another; refuses what has none."""
    if not _LEAST_PERCENT_VOL <= percent_vol <= 100.0:
        raise OutOfRange(
            f"{percent_vol:g} % vol is no strength to bring a liquid to",
            f"give one of {_LEAST_PERCENT_VOL:g} to 100",
        )
    present = strength_20c(liquid)
    if present is None:
        raise OutOfRange("there is no liquid to bring to a strength", "give its mass or volume")
    return present
