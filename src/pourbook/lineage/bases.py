"""The three bases of shares, as weights of a liquid: pure alcohol, mass, volume at 20 °C.

>>> WEIGH["alcohol"](1000, 400, 0), round(WEIGH["volume"](1_000_000, 400_000, 0))
(400, 1069)
"""

from functools import lru_cache
from typing import Literal

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.lineage.graph import Weigh
from pourbook.lineage.shares import by_alcohol, by_mass
from pourbook.liquid import Liquid

__all__ = ["WEIGH", "Basis"]

Basis = Literal["alcohol", "mass", "volume"]
"""What shares are counted by."""


@lru_cache(maxsize=65536)
def _by_volume(mass_mg: int, ethanol_mg: int, extract_mg: int) -> float:
    return volume_ml(Liquid(mass_mg, ethanol_mg, extract_mg))


WEIGH: dict[Basis, Weigh] = {"alcohol": by_alcohol, "mass": by_mass, "volume": _by_volume}
"""Basis to the weight in mg, or ml."""
