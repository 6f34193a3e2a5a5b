"""What mixing does: strength and volume of a mix, and how much to add to reach a strength.

Masses add; volumes do not: ethanol and water in about equal parts shrink by 3.5 % as they mix.

>>> from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c
>>> cask = liquid_of_volume(200_000, 63.5)
>>> water = water_to_reach(cask, 46.0)
>>> f"{water.mass_mg / 1e6:.2f} kg of water, {strength_20c(cask + water):.3f} % vol"
'78.66 kg of water, 46.000 % vol'
>>> f"{contraction_ml([cask, water]) / 1000:.2f} l less than the volumes promise"
'2.72 l less than the volumes promise'
"""

from collections.abc import Iterable, Sequence

from pourbook.alcoholometry.volumes import mass_fraction_beside_extract, pure_alcohol_ml, strength_20c, volume_ml
from pourbook.errors import OutOfRange
from pourbook.liquid import EMPTY, Liquid

__all__ = ["SAME_PERCENT_VOL", "contraction_ml", "mix", "water_lacking_mg", "water_to_reach"]

SAME_PERCENT_VOL = 0.0005
"""Strengths closer than this are the same: half the last digit of any label or gauge."""

_LEAST_PERCENT_VOL = 0.1
"""Nobody reduces below it, and the mass of water grows without end."""


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
    """The mass of pure water that brings a liquid down to a strength.

    The strength is that of the whole at 20 °C, extract included, 0.1 % vol or more. A mass holds at any
    temperature of water and spirit.
    """
    if not _LEAST_PERCENT_VOL <= percent_vol <= 100.0:
        raise OutOfRange(
            f"a liquid cannot be reduced to {percent_vol:g} % vol", f"give a strength of {_LEAST_PERCENT_VOL:g} to 100"
        )
    present = strength_20c(liquid)
    if present is None:
        raise OutOfRange("nothing to reduce: the amount is zero", "give its mass or volume")
    if percent_vol - present > SAME_PERCENT_VOL:
        raise OutOfRange(
            f"{present:.3f} % vol is already weaker than {percent_vol:g} % vol", "add stronger spirit, not water"
        )
    if present <= percent_vol:
        return EMPTY
    return Liquid(max(0, water_lacking_mg(liquid, percent_vol)), 0)


def water_lacking_mg(liquid: Liquid, percent_vol: float) -> int:
    """Mass of water that a liquid lacks at a strength; below zero, what it has too much of.

    >>> from pourbook.alcoholometry.volumes import liquid_of_volume
    >>> weak = liquid_of_volume(1000, 40.0)
    >>> strong = Liquid(weak.mass_mg + water_lacking_mg(weak, 43.0), weak.ethanol_mg)
    >>> strong.mass_mg < weak.mass_mg, f"{strength_20c(strong):.3f} % vol"
    (True, '43.000 % vol')
    """
    reduced_ml = pure_alcohol_ml(liquid) / percent_vol * 100.0
    fraction = mass_fraction_beside_extract(percent_vol, liquid.extract_mg / reduced_ml)
    spirit_mg = liquid.ethanol_mg / fraction
    return round(spirit_mg - (liquid.mass_mg - liquid.extract_mg))
