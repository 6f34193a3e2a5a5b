"""Density of ethanol-water mixtures from mass fraction and temperature, by OIML R 22.

The general formula is a polynomial in the mass fraction p whose coefficients are polynomials in (t - 20).
At one temperature it collapses to twelve numbers, which are kept.

The table on pages 20 to 27 of R 22 (1975) is printed with two decimals:

>>> for percent, t, printed in [(10, 0, "984.75"), (80, 10, "851.93"), (40, 20, "935.15"),
...                             (50, 30, "905.71"), (70, 30, "859.02"), (90, 40, "800.21")]:
...     assert f"{density_kg_m3(percent / 100, t):.2f}" == printed
"""

from functools import lru_cache
from itertools import zip_longest
from typing import TYPE_CHECKING

from pourbook.alcoholometry.coefficients import A, B, C
from pourbook.errors import OutOfRange

if TYPE_CHECKING:
    from collections.abc import Sequence


__all__ = ["COLDEST_C", "ETHANOL_20C_KG_M3", "SIXTY_F_C", "WARMEST_C", "density_kg_m3", "polynomial_at"]

COLDEST_C = -20.0
"""Lower end of the domain of R 22, °C."""

WARMEST_C = 40.0
"""Upper end of the domain of R 22, °C."""

SIXTY_F_C = 140 / 9
"""60 °F in °C, the reference temperature of US proof (27 CFR 30.11)."""

_BY_POWER_OF_P = ((A[0], *B), *((a, *(c for c in cs if c is not None)) for a, *cs in zip_longest(A[1:], *C)))
"""For each power of p, its polynomial in (t - 20): (A_1, B_1 .. B_6), (A_2, C_1,1 .. C_5,1), …"""

_AT_20C = A[::-1]
ETHANOL_20C_KG_M3 = sum(A)
"""Density of pure ethanol at 20 °C, 789.2391 kg/m3: the basis of every litre of pure alcohol."""


def density_kg_m3(mass_fraction: float, temperature_c: float = 20.0) -> float:
    """Density in vacuum of a mixture of ethanol and water: OIML R 22 (1975), general formula, never extrapolated.

    >>> f"{density_kg_m3(0.332996):.3f}"  # 40 % vol
    '948.045'
    """
    if not 0.0 <= mass_fraction <= 1.0:
        raise OutOfRange(
            f"mass fraction {mass_fraction} is outside 0 to 1",
            "give mass of ethanol per mass of ethanol and water, for example 0.333",
        )
    density = 0.0
    for coefficient in _AT_20C if temperature_c == 20.0 else polynomial_at(temperature_c):
        density = density * mass_fraction + coefficient
    return density


@lru_cache(maxsize=1024)
def polynomial_at(temperature_c: float) -> tuple[float, ...]:
    """The formula at one temperature: coefficients of p^11, p^10 … p^0, kg/m3."""
    if not COLDEST_C <= temperature_c <= WARMEST_C:
        raise OutOfRange(
            f"temperature {temperature_c} °C is outside -20 to 40 °C, the domain of OIML R 22",
            "bring the liquid into that range and measure again",
        )
    return tuple(_nested(row, temperature_c - 20.0) for row in reversed(_BY_POWER_OF_P))


def _nested(coefficients: "Sequence[float]", x: float) -> float:
    """A polynomial, lowest power first, in Horner's scheme."""
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total
