"""From what a density meter or a hydrometer shows to what a liquid is made of.

A hydrometer graduated in strength shows the strength of plain spirit of that density. Dissolved
solids weigh the liquid down, so it shows the *apparent* strength; the *true* one follows from the extract.

A hydrometer for US proof, read at 72 °F (27 CFR 30.23: 190.2 from a reading of 193):

>>> from pourbook.alcoholometry.density import SIXTY_F_C
>>> found = composition_from_hydrometer(193 / 2, temperature_c=(72 - 32) / 1.8, reference_c=SIXTY_F_C)
>>> f"{2 * strength_of(found, SIXTY_F_C):.1f}"
'190.2'
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
    """What a liquid of a typed true strength is made of; extract per litre at its reference temperature."""
    return composition(percent_of(strength), extract_g_per_l, REFERENCE_C[strength.scale])


def composition_of_liquid(liquid: Liquid) -> Composition:
    """The composition of a liquid that is not empty."""
    spirit_mg = liquid.mass_mg - liquid.extract_mg
    return Composition(liquid.ethanol_mg / spirit_mg if spirit_mg else 0.0, liquid.extract_mg / liquid.mass_mg)


def liquid_of_mass(mass_mg: Fraction | int, made_of: Composition) -> Liquid:
    """A mass of liquid, in whole milligrams.

    >>> liquid_of_mass(1_000_000, Composition(0.4, 0.02))
    Liquid(mass_mg=1000000, ethanol_mg=392000, extract_mg=20000)
    """
    extract_mg = round(mass_mg * Fraction(made_of.extract_per_mass))
    return liquid_of(mass_mg, made_of.mass_fraction, extract_mg)


def density_of(made_of: Composition, temperature_c: float = 20.0) -> float:
    """Density in vacuum, kg/m3: that of ethanol and water by OIML R 22, with 0.62 mL for a gram of extract."""
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


def apparent_strength_of(made_of: Composition, reference_c: float = 20.0) -> float | None:
    """What a hydrometer shows at its own reference temperature, % vol; None where the liquid is heavier than water."""
    density = density_of(made_of, reference_c)
    if density > density_kg_m3(0.0, reference_c):
        return None
    return strength_from_mass_fraction(mass_fraction_from_density(density, reference_c), reference_c)


# -- instruments -----------------------------------------------------------------------


def composition_from_density(
    density_kg_m3: float, temperature_c: float = 20.0, extract_g_per_l: float = 0.0, reference_c: float = 20.0
) -> Composition:
    """What a liquid of a measured density in vacuum is made of.

    The extract is known per litre at the reference temperature. Its mass depends on the answer, so it is
    found by iteration.
    """
    extract = extract_g_per_l / density_kg_m3
    for _ in range(_TURNS):
        spirit_ml_per_mg = 1.0 / density_kg_m3 - extract * EXTRACT_ML_PER_G / 1000.0
        if not (spirit_ml_per_mg > 0.0 and extract < 1.0):
            raise OutOfRange(
                f"{extract_g_per_l:g} g/L of extract is impossible at a density of {density_kg_m3:.3f} kg/m3",
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
    """What a liquid is made of, from a hydrometer's reading (half of a US proof); the glass is corrected.

    The extract is per litre at the reference temperature, the one the hydrometer is graduated for.
    Source: ISO 1768:1975, clause 3, 25 millionths per °C; 27 CFR 30.23 for 60 °F.
    """
    indicated = density_kg_m3(mass_fraction_from_strength(percent_vol, reference_c), reference_c)
    density = indicated * (1.0 - GLASS_PER_C * (temperature_c - reference_c))
    return composition_from_density(density, temperature_c, extract_g_per_l, reference_c)
