"""A density as somebody reads it: in which unit, in vacuum or in air, and a specific gravity at which temperatures.

A bare number is kg/m³ in vacuum. Written with `air`, it is what weighing in air gives, by the convention of OIML D
28:2004 (air of 1.2 kg/m³, weights of 8,000 kg/m³; its definition read as others quote it). A specific gravity `sg` is
that of the liquid at the first temperature to water at the second: 20/20 °C unless others are written; those of
`sg 60/60` can only be °F.

>>> read_density("0.9051 g/cm3").kg_m3, round(read_density("0,9 sg").kg_m3, 3)
(905.1, 898.381)
>>> found = read_density("0.9843 sg 60/60 air")
>>> round(found.kg_m3, 2), round(found.at_c, 2)
(983.34, 15.56)
"""

import re
from typing import NamedTuple

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.errors import Malformed
from pourbook.numerals import number_and_rest

__all__ = ["DensityRead", "in_air", "read_density"]

_AIR, _WEIGHTS = 1.2, 8000.0
_SAME_C = 0.01
_WARMEST_C = 45.0  # no alcoholometry is warmer, so larger numbers are °F
_PER_KG_M3 = {"": 1.0, "kg/m3": 1.0, "kg/m³": 1.0, "g/l": 1.0, "g/cm3": 1e3, "g/cm³": 1e3, "g/ml": 1e3, "kg/l": 1e3}
_DEGREES = r"([0-9]+(?:[.][0-9]+)?)"
_GRAVITY = re.compile(rf"(?:sg|sp gr|specific gravity)(?: +{_DEGREES} */ *{_DEGREES} *(°? *[cf])?)?")
_MEDIUM = re.compile(r"(.*?) *(?:in +)?(air|vacuum)")


class DensityRead(NamedTuple):
    """A density in vacuum, and what was written of it.

    Attributes:
        kg_m3: in vacuum.
        at_c: temperature of the liquid, where a specific gravity says it, °C; else None.
        is_in_air: whether it was read in air.
        typed: as written.
    """

    kg_m3: float
    at_c: float | None
    is_in_air: bool
    typed: str

    def sample_c(self, read_c: float | None) -> float:
        """Temperature of the liquid, °C: as read, else as a specific gravity says, else 20.

        Raises:
            Malformed: the gravity is of another temperature.
        """
        if self.at_c is None or read_c is None:
            return self.at_c or (20.0 if read_c is None else read_c)
        if abs(self.at_c - read_c) > _SAME_C:
            raise Malformed(
                f"'{self.typed}' is of a liquid at {self.at_c:.4g} °C, but it had {read_c:.4g} °C",
                "write both temperatures of the gravity, such as 'sg 14/20', or the density in kg/m³",
            )
        return self.at_c


def read_density(text: str, decimal_mark: str | None = None, *, in_air: bool | None = None) -> DensityRead:
    """A density as written; where that does not say whether in air, `in_air` does, else it is in vacuum.

    Without a decimal mark of the house, a comma can only be one.

    Raises:
        Malformed: no unit of density, or in air and in vacuum at once.
    """
    value, rest = number_and_rest(text, decimal_mark or ("," if "," in text.split("/", maxsplit=1)[0] else "."))
    unit = " ".join(rest.lower().split())
    medium = _MEDIUM.fullmatch(unit)
    unit, is_in_air = (medium[1], medium[2] == "air") if medium else (unit, bool(in_air))
    if in_air is not None and is_in_air != in_air:
        raise Malformed(f"'{text}' says in {medium[2] if medium else 'vacuum'}, the option says not", "leave one out")
    if unit in _PER_KG_M3:
        shown = float(value) * _PER_KG_M3[unit]
        return DensityRead(_in_vacuum(shown) if is_in_air else shown, None, is_in_air, text)
    gravity = _GRAVITY.fullmatch(unit)
    if gravity is None:
        raise Malformed(
            f"'{text}' is not a density known here",
            "write kg/m³ without a unit, or add 'g/cm3', 'sg' (20/20 °C) or 'sg 60/60'; 'air' where it is one in air",
        )
    at_c, water_c = (_celsius(degrees, gravity[3] or "") for degrees in (gravity[1] or "20", gravity[2] or "20"))
    water = density_kg_m3(0.0, water_c)
    if is_in_air:  # a ratio of weighings: the weights cancel, the air does not
        return DensityRead(float(value) * (water - _AIR) + _AIR, at_c, True, text)
    return DensityRead(float(value) * water, at_c, False, text)


def _celsius(degrees: str, unit: str) -> float:
    found = float(degrees)
    is_fahrenheit = unit.endswith("f") or (not unit and found > _WARMEST_C)
    return (found - 32.0) / 1.8 if is_fahrenheit else found


def in_air(density_kg_m3: float) -> float:
    """What weighing in air gives for a density in vacuum.

    >>> f"{in_air(789.2391):.3f}"
    '788.157'
    """
    return (density_kg_m3 - _AIR) / (1.0 - _AIR / _WEIGHTS)


def _in_vacuum(shown_kg_m3: float) -> float:
    return shown_kg_m3 * (1.0 - _AIR / _WEIGHTS) + _AIR
