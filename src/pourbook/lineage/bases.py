"""The three bases of shares, as weights of a liquid: pure alcohol, mass, volume at 20 °C before it contracts.

A share must not depend on when somebody drew a sample, so what is weighed has to be the same before and after liquids
mix. A volume is not: alcohol and water contract. So by volume the ethanol, the water and the extract of a liquid count
with the volume that each has by itself; a litre of 60 % vol weighs 1037 ml, one of water 1000.

>>> WEIGH["alcohol"](1000, 400, 0), round(WEIGH["volume"](1_000_000, 400_000, 0))
(400, 1108)
>>> parts = WEIGH["volume"](1_000_000, 400_000, 0) + WEIGH["volume"](500_000, 0, 100_000)
>>> abs(WEIGH["volume"](1_500_000, 400_000, 100_000) - parts) < 1e-9
True
"""

from typing import Literal

from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3, density_kg_m3
from pourbook.alcoholometry.volumes import EXTRACT_ML_PER_G
from pourbook.lineage.graph import Weigh
from pourbook.lineage.shares import by_alcohol, by_mass

__all__ = ["WEIGH", "Basis"]

Basis = Literal["alcohol", "mass", "volume"]
"""What shares are counted by."""

_ETHANOL_ML_PER_MG = 1.0 / ETHANOL_20C_KG_M3
_WATER_ML_PER_MG = 1.0 / density_kg_m3(0.0)
_EXTRACT_ML_PER_MG = EXTRACT_ML_PER_G / 1000.0


def _by_volume(mass_mg: int, ethanol_mg: int, extract_mg: int) -> float:
    """Volume of ethanol, water and extract, each by itself at 20 °C, mL."""
    water_mg = mass_mg - ethanol_mg - extract_mg
    return ethanol_mg * _ETHANOL_ML_PER_MG + water_mg * _WATER_ML_PER_MG + extract_mg * _EXTRACT_ML_PER_MG


WEIGH: dict[Basis, Weigh] = {"alcohol": by_alcohol, "mass": by_mass, "volume": _by_volume}
"""Basis to the weight in mg, or ml."""
