"""Reducing spirit with water in steps, and how much of it a vat has room for.

The target is the true strength, whatever extract hides from a hydrometer. Water is a mass, so it holds at any
temperature. Matured spirit is usually reduced in several small steps with rests (common practice, no source).

>>> from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c
>>> cask = liquid_of_volume(200_000, 63.5)
>>> for step in reduced(cask, equal_steps(63.5, 46.0, 2)):
...     print(f"{step.water.mass_mg / 1e6:.2f} kg, then {strength_20c(step.after):.2f} % vol")
33.29 kg, then 54.75 % vol
45.38 kg, then 46.00 % vol
"""

from collections.abc import Iterable
from typing import NamedTuple

from pourbook.alcoholometry.mixing import water_to_reach
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.errors import OutOfRange
from pourbook.liquid import Liquid

__all__ = ["Step", "equal_steps", "fitting", "reduced"]


class Step(NamedTuple):
    """One addition: the liquid before, the water added, the liquid after."""

    before: Liquid
    water: Liquid
    after: Liquid


def equal_steps(from_percent_vol: float, to_percent_vol: float, steps: int) -> list[float]:
    """Strengths at which equal steps end, the last one the target itself.

    >>> equal_steps(60, 45, 3)
    [55.0, 50.0, 45]
    """
    if steps < 1:
        raise OutOfRange(f"{steps} steps", "take one or more")
    fall = (from_percent_vol - to_percent_vol) / steps
    return [*(from_percent_vol - fall * done for done in range(1, steps)), to_percent_vol]


def reduced(liquid: Liquid, targets: Iterable[float]) -> tuple[Step, ...]:
    """Water for each target in turn: true strengths of the whole, % vol at 20 °C, each below the one before."""
    steps = []
    for percent_vol in targets:
        water = water_to_reach(liquid, percent_vol)
        steps.append(Step(liquid, water, liquid + water))
        liquid += water
    return tuple(steps)


def fitting(liquid: Liquid, percent_vol: float, vat_ml: float, temperature_c: float = 20.0) -> Liquid:
    """As much of a liquid as may stay in a vat that must hold it once it is reduced: all of it, or what fills the vat.

    >>> from pourbook.alcoholometry.volumes import liquid_of_volume
    >>> stays = fitting(liquid_of_volume(1_000_000, 62.4), 46.0, 1_200_000)
    >>> f"{volume_ml(stays) / 1000:.1f} l"
    '884.6 l'
    """
    present_ml = volume_ml(liquid, temperature_c)
    if present_ml > vat_ml:
        raise OutOfRange(
            f"{present_ml / 1000:.1f} l does not fit a vat of {vat_ml / 1000:.1f} l", "check both; litres or gallons?"
        )
    final_ml = volume_ml(liquid + water_to_reach(liquid, percent_vol), temperature_c)
    if final_ml <= vat_ml:
        return liquid
    return liquid.split(int(liquid.mass_mg * vat_ml / final_ml))[0]
