"""Mass fraction, % vol at a reference temperature, US proof and density, each from the others.

A strength by volume is a ratio of densities and so depends on its reference temperature:
q(p, t) = 100 p rho(p, t) / rho(1, t), OIML R 22 (1975) with t = 20 °C; 27 CFR 30.11 takes the
same ratio at 60 °F, doubled, as proof. Mass fractions here are those of ethanol and water alone.

>>> f"{mass_fraction_from_strength(40.0):.6f}"
'0.332996'
>>> f"{proof_from_strength(40.0):.2f}"  # not 80
'79.86'
"""

from functools import lru_cache
from math import inf
from typing import TYPE_CHECKING

from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3, polynomial_at
from pourbook.errors import OutOfRange

if TYPE_CHECKING:
    from collections.abc import Callable

    from pourbook.quantities import Strength

__all__ = [
    "mass_fraction",
    "mass_fraction_from_density",
    "mass_fraction_from_strength",
    "proof_from_strength",
    "strength_from_mass_fraction",
    "strength_from_proof",
]

_ROUNDING_KG_M3 = 1e-9
"""What doubles lose where terms of about a million cancel; the ends of the scale are met that closely."""

_CLOSE = 1e-10
"""A Newton step below this leaves an error of about its square."""


def strength_from_mass_fraction(mass_fraction: float, reference_c: float = 20.0) -> float:
    """Alcohol by volume at a reference temperature (20 °C or `SIXTY_F_C`), % vol: q of OIML R 22 (1975)."""
    density = density_kg_m3(mass_fraction, reference_c)
    # the last bit of a nearly pure ethanol could round above 100
    return min(100.0, 100.0 * (mass_fraction * density / density_kg_m3(1.0, reference_c)))


@lru_cache(maxsize=4096)
def mass_fraction_from_strength(percent_vol: float, reference_c: float = 20.0) -> float:
    """Mass of ethanol per mass of ethanol and water, from alcohol by volume.

    Exact inverse of `strength_from_mass_fraction`: p rho(p) rises over the whole domain.
    """
    if not 0.0 <= percent_vol <= 100.0:
        remedy = "was US proof meant?" if 100.0 < percent_vol <= 200.0 else "read it again"
        raise OutOfRange(f"strength {percent_vol:g} % vol is outside 0 to 100", remedy)
    if percent_vol in (0.0, 100.0):
        return percent_vol / 100.0
    at = polynomial_at(reference_c)
    target = percent_vol / 100.0 * _with_slope(at, 1.0)[0]

    def excess(p: float) -> tuple[float, float]:
        density, slope = _with_slope(at, p)
        return p * density - target, density + p * slope

    return _root(excess, 0.79 * percent_vol / 100.0)


@lru_cache(maxsize=4096)
def mass_fraction_from_density(density_kg_m3: float, temperature_c: float = 20.0) -> float:
    """Mass of ethanol per mass of ethanol and water, from the density in vacuum, which falls as it rises."""
    at = polynomial_at(temperature_c)
    heaviest, lightest = at[-1], _with_slope(at, 1.0)[0]
    if not lightest - _ROUNDING_KG_M3 <= density_kg_m3 <= heaviest + _ROUNDING_KG_M3:
        raise OutOfRange(
            f"density {density_kg_m3:.3f} kg/m3 is outside {lightest:.3f} (ethanol) to {heaviest:.3f} (water)"
            f" at {temperature_c:g} °C",
            "check unit and temperature; spirit with sugar must be distilled before it is read",
        )

    def excess(p: float) -> tuple[float, float]:
        density, slope = _with_slope(at, p)
        return density_kg_m3 - density, -slope

    return _root(excess, (heaviest - density_kg_m3) / (heaviest - lightest))


def _with_slope(coefficients: tuple[float, ...], x: float) -> tuple[float, float]:
    """A polynomial, highest power first, and its derivative."""
    total = slope = 0.0
    for coefficient in coefficients:
        slope = slope * x + total
        total = total * x + coefficient
    return total, slope


def _root(excess: "Callable[[float], tuple[float, float]]", start: float) -> float:
    """Where a rising function of a mass fraction is zero: Newton, kept inside a bracket.

    A step that would leave the bracket, or is not half as long as the one before, halves the bracket instead,
    so the search ends; four or five steps are usual.
    """
    low, high, p, step = 0.0, 1.0, min(1.0, max(0.0, start)), 1.0
    while abs(step) > _CLOSE:
        value, slope = excess(p)
        low, high = (p, high) if value < 0.0 else (low, p)
        following = p - value / slope if slope > 0.0 else inf
        if not low <= following <= high or 2.0 * abs(following - p) > abs(step):
            following = (low + high) / 2.0
        p, step = following, following - p
    return p


def proof_from_strength(percent_vol_20c: float) -> float:
    """US proof from % vol at 20 °C: twice the % vol at 60 °F, 27 CFR 30.11."""
    return 2.0 * strength_from_mass_fraction(mass_fraction_from_strength(percent_vol_20c), SIXTY_F_C)


def strength_from_proof(proof: float) -> float:
    """Alcohol by volume at 20 °C, % vol, from US proof."""
    if not 0.0 <= proof <= 200.0:
        raise OutOfRange(f"proof {proof:g} is outside 0 to 200", "read it again")
    return strength_from_mass_fraction(mass_fraction_from_strength(proof / 2.0, SIXTY_F_C))


def mass_fraction(strength: "Strength") -> float:
    """Mass of ethanol per mass of ethanol and water, of a strength as typed.

    >>> from pourbook.quantities import read_strength
    >>> f"{mass_fraction(read_strength('80 proof')):.4f}"
    '0.3336'
    """
    value = float(strength.value)
    if strength.scale == "vol20":
        return mass_fraction_from_strength(value)
    return mass_fraction_from_strength(value / 2.0 if strength.scale == "proof60f" else value, SIXTY_F_C)
