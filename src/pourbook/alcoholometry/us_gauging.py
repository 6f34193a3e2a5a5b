"""The figures of a US gauge by formula: proof at 60 °F, gallons by weight and by volume, water by volume.

What the tables of the Gauging Manual (27 CFR Part 30, subpart E) are meant to show, computed from
OIML R 22 with balances read in air. A return uses the official tables themselves (27 CFR 30.1):
these agree with them within 0.1 proof and 0.015 % of gallons, not to the last printed digit.

>>> round(volume_factor_60f(190, (76 - 32) / 1.8), 3)  # 27 CFR 30.67: 0.991
0.991
>>> round(water_per_100_volumes(112, 100), 2)  # 27 CFR 30.66: 12.42, from figures cut to two decimals
12.43
>>> rounded_tenth(189.972)
Decimal('190.0')
"""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from pourbook.alcoholometry.apparent import composition_from_hydrometer, strength_of
from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.strength import mass_fraction_from_strength
from pourbook.alcoholometry.volumes import buoyancy
from pourbook.errors import OutOfRange
from pourbook.numerals import EXACT, as_decimal
from pourbook.quantities import UNITS

__all__ = [
    "GALLON_ML",
    "POUND_MG",
    "fahrenheit",
    "gallons_per_pound",
    "parts_of_100",
    "pounds_per_gallon",
    "rounded_tenth",
    "specific_gravity",
    "true_proof",
    "volume_factor_60f",
    "water_per_100_volumes",
]

GALLON_ML = float(UNITS["gal"].factor)
"""A US (wine) gallon, 231 cubic inches (27 CFR 30.11), mL."""

POUND_MG = float(UNITS["lb"].factor)
"""A pound, mg."""


def rounded_tenth(value: float | Decimal | Fraction) -> Decimal:
    """To the nearest tenth, a half upwards: proof by 27 CFR 30.23 and 30.31, gallons by 30.63 and 30.64."""
    return as_decimal(value).quantize(Decimal("0.1"), ROUND_HALF_UP, EXACT)


def fahrenheit(temperature_c: float) -> float:
    """°C in °F."""
    return temperature_c * 1.8 + 32.0


def true_proof(reading: float, temperature_c: float) -> float:
    """US proof from a hydrometer's reading in plain spirit at a temperature (Table 1)."""
    _check(reading)
    return 2.0 * strength_of(composition_from_hydrometer(reading / 2.0, temperature_c, SIXTY_F_C), SIXTY_F_C)


def pounds_per_gallon(proof: float) -> float:
    """What a wine gallon at 60 °F weighs in air, lb (Table 5)."""
    return _shown_in_air(_density_60f(proof)) * GALLON_ML / POUND_MG


def gallons_per_pound(proof: float) -> tuple[float, float]:
    """Wine gallons at 60 °F, and proof gallons, of a pound weighed in air (Table 4)."""
    gallons = 1.0 / pounds_per_gallon(proof)
    return gallons, gallons * proof / 100.0


def specific_gravity(proof: float, *, in_air: bool = True) -> float:
    """Density over that of water, both at 60 °F and in air, or in vacuum (Table 6)."""
    spirit, water = _density_60f(proof), _density_60f(0.0)
    return _shown_in_air(spirit) / _shown_in_air(water) if in_air else spirit / water


def parts_of_100(proof: float) -> tuple[float, float]:
    """Parts of alcohol and of water by volume in 100 of spirit, all at 60 °F (Table 6).

    They add to more than 100, as alcohol and water shrink when they meet.
    """
    water_per_mass = 1.0 - _fraction_60f(proof)
    return proof / 2.0, 100.0 * water_per_mass * _density_60f(proof) / _density_60f(0.0)


def water_per_100_volumes(proof: float, to_proof: float) -> float:
    """Volumes of water for 100 of spirit, all at 60 °F, by the rule of 27 CFR 30.66.

    Alcohol in the given over alcohol in the required strength, times the water in the required,
    less the water in the given.
    """
    if not 0.0 < to_proof <= proof:
        raise OutOfRange(f"{proof:g} proof cannot be reduced to {to_proof:g} proof", "give a lower target above zero")
    (alcohol, water), (required_alcohol, required_water) = parts_of_100(proof), parts_of_100(to_proof)
    return alcohol / required_alcohol * required_water - water


def volume_factor_60f(proof: float, temperature_c: float) -> float:
    """Volume at 60 °F per volume at a temperature (Table 7)."""
    return density_kg_m3(_fraction_60f(proof), temperature_c) / _density_60f(proof)


def _check(proof: float) -> None:
    if not 0.0 <= proof <= 200.0:
        raise OutOfRange(f"proof {proof:g} is outside 0 to 200", "read it again")


def _fraction_60f(proof: float) -> float:
    _check(proof)
    return mass_fraction_from_strength(proof / 2.0, SIXTY_F_C)


def _density_60f(proof: float) -> float:
    return density_kg_m3(_fraction_60f(proof), SIXTY_F_C)


def _shown_in_air(density: float) -> float:
    """What a cubic metre shows on a balance in air, kg."""
    return density / float(buoyancy(density))
