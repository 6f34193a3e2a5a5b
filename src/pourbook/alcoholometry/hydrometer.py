"""What a hydrometer graduated in strength shows, and what it means.

Such an instrument measures density and is graduated in strength at its reference temperature
(20 °C by ISO 4801:1979; 60 °F for US proof by 27 CFR 30.23). Read at another temperature, its
glass has another volume: by ISO 1768:1975 25 millionths per °C. Dissolved solids weigh the
liquid down, so what is read is the *apparent* strength, below the true one.

The example of 27 CFR 30.61: 193 proof read at 75 °F is 189.5 true proof.

>>> fraction = mass_fraction_from_hydrometer(193 / 2, temperature_c=(75 - 32) / 1.8, reference_c=SIXTY_F_C)
>>> f"{2 * strength_from_mass_fraction(fraction, SIXTY_F_C):.1f}"
'189.5'
"""

from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.strength import (
    mass_fraction_from_density,
    mass_fraction_from_strength,
    strength_from_mass_fraction,
)
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.liquid import Liquid

__all__ = ["GLASS_PER_C", "SIXTY_F_C", "apparent_strength_20c", "mass_fraction_from_hydrometer"]

GLASS_PER_C = 25e-6
"""Cubic expansion of the glass of hydrometers per °C, the convention of ISO 1768:1975, clause 3."""


def mass_fraction_from_hydrometer(
    percent_vol: float, temperature_c: float, reference_c: float = 20.0, glass_per_c: float = GLASS_PER_C
) -> float:
    """Ethanol per ethanol and water, from a reading and the temperature of the liquid.

    True for spirit without extract; with extract it is the apparent value.

    Args:
        percent_vol: the reading, for US proof half of it.
        temperature_c: of the liquid, -20 to 40 °C.
        reference_c: at which the instrument is graduated, 20 °C or `SIXTY_F_C`.
        glass_per_c: cubic expansion of its glass.

    Raises:
        OutOfRange: outside the domain of the formula, or no mixture has that density there.
    """
    graduated = density_kg_m3(mass_fraction_from_strength(percent_vol, reference_c), reference_c)
    density = graduated * (1.0 - glass_per_c * (temperature_c - reference_c))
    return mass_fraction_from_density(density, temperature_c)


def apparent_strength_20c(liquid: Liquid) -> float | None:
    """What a hydrometer would show in the liquid at 20 °C, % vol; None when there is none of it.

    Raises:
        OutOfRange: so much extract that the liquid is heavier than water.
    """
    if not liquid.mass_mg:
        return None
    return strength_from_mass_fraction(mass_fraction_from_density(liquid.mass_mg / volume_ml(liquid)))
