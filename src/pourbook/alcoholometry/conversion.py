"""One body of liquid in every unit of the trade, and many gauges at once.

Mass is what is kept; volumes, strengths and gallons follow from what the liquid is made of. US
figures are computed: a return uses the official tables (27 CFR 30.1). All are working figures.

A tank of 81,000 lb of 190 proof, weighed in air, holds 11,921.6 wine gallons by the table of
27 CFR 30.64:

>>> from pourbook.alcoholometry.volumes import composition
>>> from pourbook.alcoholometry.us_gauging import POUND_MG
>>> tank = composition(95.0, reference_c=SIXTY_F_C)
>>> f"{converted(81_000 * POUND_MG * weighed_in_air(tank, 20.0), tank).wine_gallons_60f:.0f}"
'11922'
"""

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.apparent import density_of, strength_of
from pourbook.alcoholometry.density import (
    ETHANOL_20C_KG_M3,
    SIXTY_F_C,
    density_array,
    density_kg_m3,
    polynomial_at,
)
from pourbook.alcoholometry.us_gauging import GALLON_ML
from pourbook.alcoholometry.volumes import Composition, buoyancy
from pourbook.errors import OutOfRange

if TYPE_CHECKING:
    from numpy import float64, int64
    from numpy.typing import ArrayLike, NDArray

__all__ = ["Conversion", "converted", "gauges_array", "weighed_in_air"]

_MOST_TURNS = 30  # of Newton's method on a rising curve: from a close grid two are usual
_GRID = 2049
_AT_ONCE = 1 << 14  # gauges computed together: their intermediate values stay in the cache


class Conversion(NamedTuple):
    """One body of liquid in every unit.

    Attributes:
        mass_kg: in vacuum.
        volume_l: at the temperature of the question, L.
        volume_l_20c: at 20 °C, L.
        lpa: litres of pure alcohol, at 20 °C.
        wine_gallons_60f: US gallons at 60 °F.
        proof_gallons: US gallons at 60 °F x proof / 100.
        strength_20c: true strength of the whole, % vol at 20 °C.
        proof_60f: true US proof of the whole.
        density_kg_m3: at the temperature of the question.
    """

    mass_kg: float
    volume_l: float
    volume_l_20c: float
    lpa: float
    wine_gallons_60f: float
    proof_gallons: float
    strength_20c: float
    proof_60f: float
    density_kg_m3: float


def converted(mass_mg: float, made_of: Composition, temperature_c: float = 20.0) -> Conversion:
    """A mass of a liquid in every unit.

    Args:
        mass_mg: in vacuum; need not be whole.
        made_of: what it is made of.
        temperature_c: at which its volume and density are asked.

    Raises:
        OutOfRange: a temperature outside the domain of the density formula.
    """
    fraction, extract = made_of
    density = density_of(made_of, temperature_c)
    ethanol_mg = mass_mg * fraction * (1.0 - extract)
    gallons = mass_mg / density_of(made_of, SIXTY_F_C) / GALLON_ML
    pure_gallons = ethanol_mg / density_kg_m3(1.0, SIXTY_F_C) / GALLON_ML
    return Conversion(
        mass_kg=mass_mg / 1e6,
        volume_l=mass_mg / density / 1000.0,
        volume_l_20c=mass_mg / density_of(made_of) / 1000.0,
        lpa=ethanol_mg / ETHANOL_20C_KG_M3 / 1000.0,
        wine_gallons_60f=gallons,
        proof_gallons=2.0 * pure_gallons,
        strength_20c=strength_of(made_of),
        proof_60f=2.0 * strength_of(made_of, SIXTY_F_C),
        density_kg_m3=density,
    )


def weighed_in_air(made_of: Composition, temperature_c: float) -> float:
    """Mass in vacuum per mass that a balance shows in air, for a liquid at a temperature."""
    return float(buoyancy(density_of(made_of, temperature_c)))


# -- many gauges -----------------------------------------------------------------------


def gauges_array(
    volume_ml: "ArrayLike", percent_vol: "ArrayLike", temperature_c: "ArrayLike" = 20.0
) -> "tuple[NDArray[int64], NDArray[int64]]":
    """Mass and ethanol of many volumes of plain spirit, in whole milligrams.

    As `liquid_of_volume` for each of them, within a milligram, by the same formula.

    Args:
        volume_ml: each at its temperature, less than 2^52 mg of it.
        percent_vol: each at 20 °C, 0 to 100.
        temperature_c: of each volume, -20 to 40 °C.

    Raises:
        OutOfRange: any strength or temperature outside the domain; the first one is named.

    >>> [values.tolist() for values in gauges_array([100_000.0, 700.0], [40.0, 40.0])]
    [[94804515, 663632], [31569565, 220987]]
    """
    import numpy as np  # only for arrays: start-up stays light

    volume, percent, temperature = np.broadcast_arrays(
        *(np.asarray(values, dtype=float) for values in (volume_ml, percent_vol, temperature_c))
    )
    flat = [values.reshape(-1) for values in (volume, percent, temperature)]
    mass, ethanol = (np.empty(volume.size, dtype=np.int64) for _ in range(2))
    for start in range(0, volume.size, _AT_ONCE):
        part = slice(start, start + _AT_ONCE)
        fraction = _mass_fractions(flat[1][part])
        mass[part] = np.floor(flat[0][part] * density_array(fraction, flat[2][part]) + 0.5)
        ethanol[part] = np.floor(fraction * mass[part] + 0.5)
    return mass.reshape(volume.shape), ethanol.reshape(volume.shape)


@cache
def _grid() -> "tuple[NDArray[float64], NDArray[float64]]":
    """Strengths at 20 °C, rising from 0 to 100, and the mass fractions that they begin from."""
    import numpy as np  # only for arrays: start-up stays light

    fraction = np.linspace(0.0, 1.0, _GRID)
    return 100.0 * fraction * density_array(fraction) / ETHANOL_20C_KG_M3, fraction


def _mass_fractions(percent_vol: "NDArray[float64]") -> "NDArray[float64]":
    """Mass fraction of each strength at 20 °C: Newton's method on p rho(p), all at once."""
    import numpy as np  # only for arrays: start-up stays light

    outside = percent_vol[~((percent_vol >= 0.0) & (percent_vol <= 100.0))]
    if outside.size:
        raise OutOfRange(f"strength {outside[0]:g} % vol is outside 0 to 100", "read it again")
    at_20c = polynomial_at(20.0)
    target = percent_vol / 100.0 * ETHANOL_20C_KG_M3
    fraction = np.interp(percent_vol, *_grid())
    for _ in range(_MOST_TURNS):
        density, slope = np.zeros_like(fraction), np.zeros_like(fraction)
        for coefficient in at_20c:
            slope *= fraction
            slope += density
            density *= fraction
            density += coefficient
        step = (fraction * density - target) / (density + fraction * slope)
        fraction = np.clip(fraction - step, 0.0, 1.0)
        if np.abs(step).max(initial=0.0) <= 1e-9:
            break
    return fraction
