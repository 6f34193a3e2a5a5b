"""Volume, strength and pure alcohol of a body of liquid, and a liquid from what was measured.

A `Liquid` is whole milligrams. Its volume is that of its ethanol and water by OIML R 22, plus 0.62 mL for each
gram of extract. *Mass fraction* is ethanol per ethanol and water, E / (M - X); strengths are true, of the liquid
as a whole, and extract in g/L is per litre of it at the reference temperature.

>>> from pourbook.alcoholometry.strength import mass_fraction_from_strength
>>> vial = liquid_of(94_804_515, mass_fraction_from_strength(40.0))
>>> f"{volume_ml(vial):.3f} ml, {strength_20c(vial):.3f} % vol, {pure_alcohol_ml(vial):.3f} ml pure alcohol"
'100000.000 ml, 40.000 % vol, 40000.000 ml pure alcohol'
"""

from fractions import Fraction
from math import floor
from typing import NamedTuple

from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3, SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.strength import mass_fraction_from_strength
from pourbook.errors import OutOfRange
from pourbook.liquid import Liquid

__all__ = [
    "EXTRACT_ML_PER_G",
    "Composition",
    "buoyancy",
    "composition",
    "density_mg_m3",
    "displayed_mg",
    "liquid_of",
    "liquid_of_volume",
    "lpa_l",
    "mass_fraction_beside_extract",
    "mass_mg_in_air",
    "mass_mg_of_volume",
    "proof_60f",
    "pure_alcohol_ml",
    "strength_20c",
    "volume_ml",
]

EXTRACT_ML_PER_G = 0.62
"""Volume that dissolved solids take up, mL/g, whatever the strength. Sucrose in water at 20 °C takes 0.616 at 5 % by
mass and 0.622 at 40 % (Handbook of Chemistry and Physics, read in a program that names it), so densities of sweet water
are good to 0.5 kg/m3 up to 360 g/L and 1.8 up to 530 g/L. In spirit two rules bear it out: OIV-MA-AS2-03B at wine
strengths, and 27 CFR 30.32(b), 0.4 proof for 1 g/L between 100 and 80 proof, where it gives 0.37 to 0.46. Much sugar
in strong spirit was not checked against any table.
"""


class Composition(NamedTuple):
    """What a liquid is made of: ethanol per ethanol and water, E / (M - X), and extract per total mass, X / M."""

    mass_fraction: float
    extract_per_mass: float = 0.0


# -- what a liquid is ------------------------------------------------------------------


def volume_ml(liquid: Liquid, temperature_c: float = 20.0, extract_ml_per_g: float = EXTRACT_ML_PER_G) -> float:
    """Volume at a temperature, mL; the volume of the extract is taken as constant."""
    mass, ethanol, extract = liquid
    spirit = mass - extract
    volume = spirit / density_kg_m3(ethanol / spirit, temperature_c) if spirit else 0.0
    return volume + extract * extract_ml_per_g / 1000.0 if extract else volume


def strength_20c(liquid: Liquid) -> float | None:
    """True strength of the whole, % vol at 20 °C; None when empty."""
    return _strength(liquid, 20.0)


def proof_60f(liquid: Liquid) -> float | None:
    """True US proof of the whole, twice its % vol at 60 °F; None when empty."""
    percent = _strength(liquid, SIXTY_F_C)
    return None if percent is None else 2.0 * percent


def _strength(liquid: Liquid, reference_c: float) -> float | None:
    if not liquid.mass_mg:
        return None
    return 100.0 * pure_alcohol_ml(liquid, reference_c) / volume_ml(liquid, reference_c)


def pure_alcohol_ml(liquid: Liquid, reference_c: float = 20.0) -> float:
    """Pure alcohol as a volume at the reference temperature, mL: at 20 °C, E / 789.2391 kg/m3."""
    if reference_c == 20.0:
        return liquid.ethanol_mg / ETHANOL_20C_KG_M3
    return liquid.ethanol_mg / density_kg_m3(1.0, reference_c)


def lpa_l(ethanol_mg: int) -> Fraction:
    """Litres of pure alcohol at 20 °C, exact, for sums that must come out even.

    >>> f"{float(lpa_l(789_239_100)):.3f}"
    '1000.000'
    """
    return Fraction(ethanol_mg) / Fraction(ETHANOL_20C_KG_M3) / 1000


def density_mg_m3(mass_fraction: float) -> int:
    """Density at 20 °C in whole mg/m3, as records keep it: fine enough for a tank of 100,000 L.

    >>> density_mg_m3(0.0)
    998201230
    """
    return _half_up(density_kg_m3(mass_fraction) * 1_000_000.0)


# -- a liquid from what was measured ---------------------------------------------------


def liquid_of(mass_mg: Fraction | int, mass_fraction: float | Fraction, extract_mg: int = 0) -> Liquid:
    """A liquid of a total mass, whose ethanol is a fraction of all that is not extract, rounded half up."""
    if not 0 <= mass_fraction <= 1:
        raise OutOfRange(f"mass fraction {float(mass_fraction):g} is outside 0 to 1", "check the strength")
    mass = _half_up(mass_mg)
    if not 0 <= extract_mg <= mass:
        raise OutOfRange(f"{extract_mg} mg of extract in {mass} mg of liquid", "check mass and extract")
    return Liquid(mass, _half_up(Fraction(mass_fraction) * (mass - extract_mg)), extract_mg)


def mass_mg_of_volume(
    volume_ml: float | Fraction,
    mass_fraction: float,
    temperature_c: float = 20.0,
    extract_per_mass: float = 0.0,
    extract_ml_per_g: float = EXTRACT_ML_PER_G,
) -> int:
    """Total mass of a volume of liquid, mg, rounded half up; the inverse of `volume_ml`.

    >>> mass_mg_of_volume(700, 0.332996)  # a bottle of 40 % vol
    663632
    """
    if not 0.0 <= extract_per_mass <= 1.0:
        raise OutOfRange(f"extract fraction {extract_per_mass:g} is outside 0 to 1", "check the extract")
    ml_per_mg = (1.0 - extract_per_mass) / density_kg_m3(mass_fraction, temperature_c)
    return _half_up(float(volume_ml) / (ml_per_mg + extract_per_mass * extract_ml_per_g / 1000.0))


def mass_mg_in_air(
    reading_mg: Fraction | int, density_kg_m3: float, air_kg_m3: float = 1.2, weights_kg_m3: float = 8000.0
) -> int:
    """Mass in vacuum of what a balance displayed in air, mg, rounded half up.

    Source: the balance of weights and buoyancies on both sides; weights of 8,000 kg/m3 in air of
    1.2 kg/m3 are the convention of OIML D 28:2004 (its definition read as others quote it).

    >>> mass_mg_in_air(1_000_000, 948.05)  # a kilogram of 40 % vol shows too little by 0.1 %
    1001117
    """
    return _half_up(reading_mg * buoyancy(density_kg_m3, air_kg_m3, weights_kg_m3))


def buoyancy(density_kg_m3: float, air_kg_m3: float = 1.2, weights_kg_m3: float = 8000.0) -> Fraction:
    """Mass in vacuum per displayed mass in air; source as for `mass_mg_in_air`.

    >>> f"{float(buoyancy(998.2)):.5f}"  # water
    '1.00105'
    """
    if not density_kg_m3 > air_kg_m3:
        raise OutOfRange(f"no liquid has a density of {density_kg_m3:g} kg/m3", "give kg/m3, such as 948.05")
    weights = 1 - Fraction(air_kg_m3) / Fraction(weights_kg_m3)
    return weights / (1 - Fraction(air_kg_m3) / Fraction(density_kg_m3))


def displayed_mg(liquid: Liquid, temperature_c: float = 20.0) -> float:
    """What a balance in air displays for a liquid, mg; source as for `mass_mg_in_air`.

    >>> f"{displayed_mg(Liquid(1_001_117, 333_000)):.0f}"
    '1000000'
    """
    if not liquid.mass_mg:
        return 0.0
    return liquid.mass_mg / float(buoyancy(liquid.mass_mg / volume_ml(liquid, temperature_c)))


def mass_fraction_beside_extract(percent_vol: float, extract_g_per_l: float = 0.0, reference_c: float = 20.0) -> float:
    """Ethanol per ethanol and water, from the true strength of a liquid that holds extract.

    >>> f"{strength_20c(liquid_of_volume(1000, 25.0, extract_g_per_l=250)):.3f}"
    '25.000'
    """
    without = 1.0 - extract_g_per_l * EXTRACT_ML_PER_G / 1000.0
    rounding = 1e-12  # without any water the quotient is 100 to the last bits only
    if not (extract_g_per_l >= 0.0 and without > 0.0 and percent_vol <= 100.0 * without * (1.0 + rounding)):
        raise OutOfRange(
            f"{extract_g_per_l:g} g/L of extract is impossible at {percent_vol:g} % vol", "check both readings"
        )
    return mass_fraction_from_strength(min(100.0, percent_vol / without), reference_c)


def composition(percent_vol: float, extract_g_per_l: float = 0.0, reference_c: float = 20.0) -> Composition:
    """What a liquid of a true strength and an extract is made of.

    >>> composition(40.0, 20.0).extract_per_mass < 0.0210
    True
    """
    fraction = mass_fraction_beside_extract(percent_vol, extract_g_per_l, reference_c)
    if not extract_g_per_l:
        return Composition(fraction)
    without = 1.0 - extract_g_per_l * EXTRACT_ML_PER_G / 1000.0
    spirit_g_per_l = without * density_kg_m3(fraction, reference_c)
    return Composition(fraction, extract_g_per_l / (extract_g_per_l + spirit_g_per_l))


def liquid_of_volume(
    volume_ml: float | Fraction, percent_vol: float, temperature_c: float = 20.0, extract_g_per_l: float = 0.0
) -> Liquid:
    """A liquid from its volume at a temperature, its true strength and its extract, both at 20 °C."""
    fraction, extract_per_mass = composition(percent_vol, extract_g_per_l)
    mass = mass_mg_of_volume(volume_ml, fraction, temperature_c, extract_per_mass)
    return liquid_of(mass, fraction, _half_up(mass * extract_per_mass))


def _half_up(value: float | Fraction) -> int:
    """Rounded by what lies above the whole number, which is exact: adding a half to a float could itself round."""
    whole = floor(value)
    return whole + (value - whole >= 0.5)
