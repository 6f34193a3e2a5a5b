"""From what instruments show to what a liquid is made of, and back: density meter, hydrometer, scale, dip.

A hydrometer graduated in strength shows what plain spirit of that density would have. Dissolved
solids weigh the liquid down, so what it shows is the *apparent* strength; the *true* one follows
when the extract is known. All figures are working figures.

A hydrometer for US proof, read at 72 °F (27 CFR 30.23: 190.2 from a reading of 193):

>>> from pourbook.alcoholometry.density import SIXTY_F_C
>>> found = composition_from_hydrometer(193 / 2, temperature_c=(72 - 32) / 1.8, reference_c=SIXTY_F_C)
>>> f"{2 * strength_of(found, SIXTY_F_C):.1f}"
'190.2'
>>> f"{hydrometer_reading(found, (72 - 32) / 1.8, SIXTY_F_C) * 2:.1f}"
'193.0'
"""

from fractions import Fraction

from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.strength import (
    mass_fraction_from_density,
    mass_fraction_from_strength,
    strength_from_mass_fraction,
)
from pourbook.alcoholometry.volumes import EXTRACT_ML_PER_G, Composition, composition, liquid_of
from pourbook.errors import OutOfRange
from pourbook.liquid import Liquid
from pourbook.quantities import Scale, Strength

__all__ = [
    "GLASS_PER_C",
    "REFERENCE_C",
    "apparent_strength_of",
    "composition_from_density",
    "composition_from_hydrometer",
    "composition_of",
    "composition_of_liquid",
    "density_of",
    "hydrometer_reading",
    "liquid_of_mass",
    "percent_of",
    "strength_of",
]

GLASS_PER_C = 25e-6
"""Cubic expansion of the glass of hydrometers per °C, the convention of ISO 1768:1975, clause 3."""

REFERENCE_C: dict[Scale, float] = {"vol20": 20.0, "vol60f": SIXTY_F_C, "proof60f": SIXTY_F_C}
"""Reference temperature of each scale of strength, °C."""

_TURNS = 20  # each brings the answer nearer by a factor of fifty or more; four are usual


# -- strengths, extract and what a liquid is made of -----------------------------------


def percent_of(strength: Strength) -> float:
    """A typed strength as % vol at its own reference temperature: US proof halved."""
    return float(strength.value) / (2.0 if strength.scale == "proof60f" else 1.0)


def composition_of(strength: Strength, extract_g_per_l: float = 0.0) -> Composition:
    """What a liquid of a typed true strength is made of.

    Args:
        strength: of the liquid as a whole, as a distillation shows it.
        extract_g_per_l: per litre at the reference temperature of the strength.

    Raises:
        OutOfRange: strength and extract contradict.
    """
    return composition(percent_of(strength), extract_g_per_l, REFERENCE_C[strength.scale])


def composition_of_liquid(liquid: Liquid) -> Composition:
    """What a liquid with some mass is made of."""
    spirit_mg = liquid.mass_mg - liquid.extract_mg
    return Composition(liquid.ethanol_mg / spirit_mg if spirit_mg else 0.0, liquid.extract_mg / liquid.mass_mg)


def liquid_of_mass(mass_mg: Fraction | int, made_of: Composition) -> Liquid:
    """So much of a liquid, in whole milligrams.

    >>> liquid_of_mass(1_000_000, Composition(0.4, 0.02))
    Liquid(mass_mg=1000000, ethanol_mg=392000, extract_mg=20000)
    """
    extract_mg = round(mass_mg * Fraction(made_of.extract_per_mass))
    return liquid_of(mass_mg, made_of.mass_fraction, extract_mg)


def density_of(made_of: Composition, temperature_c: float = 20.0) -> float:
    """Density in vacuum, kg/m3: that of ethanol and water by OIML R 22, with 0.62 mL for a gram of extract.

    Raises:
        OutOfRange: outside the domain of the density formula.
    """
    fraction, extract = made_of
    spirit = density_kg_m3(fraction, temperature_c)
    return 1.0 / ((1.0 - extract) / spirit + extract * EXTRACT_ML_PER_G / 1000.0) if extract else spirit


def strength_of(made_of: Composition, reference_c: float = 20.0) -> float:
    """True strength of the whole, % vol at the reference temperature."""
    fraction, extract = made_of
    if not extract:
        return strength_from_mass_fraction(fraction, reference_c)
    ethanol_per_mass = fraction * (1.0 - extract)
    return 100.0 * ethanol_per_mass * density_of(made_of, reference_c) / density_kg_m3(1.0, reference_c)


def apparent_strength_of(made_of: Composition, reference_c: float = 20.0) -> float:
    """What a hydrometer shows at its own reference temperature, % vol.

    Raises:
        OutOfRange: so much extract that the liquid is heavier than water.
    """
    density = density_of(made_of, reference_c)
    return strength_from_mass_fraction(mass_fraction_from_density(density, reference_c), reference_c)


# -- instruments -----------------------------------------------------------------------


def composition_from_density(
    density_kg_m3: float, temperature_c: float = 20.0, extract_g_per_l: float = 0.0, reference_c: float = 20.0
) -> Composition:
    """What a liquid of a measured density and a known extract is made of.

    The extract is known per litre at the reference temperature; how much that is by mass depends
    on the answer, so it is sought in turns.

    Args:
        density_kg_m3: in vacuum, at the temperature.
        temperature_c: -20 to 40 °C.
        extract_g_per_l: dissolved solids per litre at the reference temperature.
        reference_c: 20 °C, or `SIXTY_F_C`.

    Raises:
        OutOfRange: no mixture of ethanol, water and so much extract has that density.
    """
    extract = extract_g_per_l / density_kg_m3
    for _ in range(_TURNS):
        spirit_ml_per_mg = 1.0 / density_kg_m3 - extract * EXTRACT_ML_PER_G / 1000.0
        if not (spirit_ml_per_mg > 0.0 and extract < 1.0):
            raise OutOfRange(
                f"density {density_kg_m3:.3f} kg/m3 with {extract_g_per_l:g} g/L of extract cannot be",
                "check both readings",
            )
        fraction = mass_fraction_from_density((1.0 - extract) / spirit_ml_per_mg, temperature_c)
        found = Composition(fraction, extract)
        extract = extract_g_per_l / density_of(found, reference_c)
        if abs(extract - found.extract_per_mass) <= 1e-15:
            break
    return found


def composition_from_hydrometer(
    percent_vol: float, temperature_c: float, reference_c: float = 20.0, extract_g_per_l: float = 0.0
) -> Composition:
    """What a liquid is made of in which a hydrometer shows a strength; the glass is corrected.

    Source: ISO 1768:1975, clause 3, 25 millionths per °C; 27 CFR 30.23 for 60 °F.

    Args:
        percent_vol: the reading, for US proof half of it.
        temperature_c: of the liquid, -20 to 40 °C.
        reference_c: at which the instrument is graduated, 20 °C or `SIXTY_F_C`.
        extract_g_per_l: dissolved solids per litre at that temperature.

    Raises:
        OutOfRange: outside the domain of the formula, or no mixture has that density there.
    """
    indicated = density_kg_m3(mass_fraction_from_strength(percent_vol, reference_c), reference_c)
    density = indicated * (1.0 - GLASS_PER_C * (temperature_c - reference_c))
    return composition_from_density(density, temperature_c, extract_g_per_l, reference_c)


def hydrometer_reading(made_of: Composition, temperature_c: float, reference_c: float = 20.0) -> float:
    """What a hydrometer will show in a liquid at a temperature, % vol; the inverse of the above.

    Raises:
        OutOfRange: the liquid is lighter than ethanol, or heavier than water, at the reference temperature.
    """
    indicated = density_of(made_of, temperature_c) / (1.0 - GLASS_PER_C * (temperature_c - reference_c))
    return strength_from_mass_fraction(mass_fraction_from_density(indicated, reference_c), reference_c)
