"""What an account counts: masses in whole milligrams, volume in whole microlitres.

Masses add when liquids mix; volumes do not, so a volume belongs to one body of liquid, and what
mixing does to it is a line of the account of its own. Whole numbers everywhere: a sum does not
depend on its order, and a balance is an equality.

>>> two = quantity(Liquid(94_804_515, 31_569_564)) + quantity(Liquid(1_000_000, 0))
>>> two.mass_mg, f"{float(two.lpa_l):.3f} LPA", f"{float(two.bulk_l):.3f} L"
(95804515, '40.000 LPA', '101.002 L')
"""

from fractions import Fraction
from operator import add, sub
from typing import NamedTuple

from pourbook.alcoholometry import volumes as gauging
from pourbook.liquid import Liquid

__all__ = ["NONE", "Quantity", "quantity"]


class Quantity(NamedTuple):
    """An amount of liquid, or a difference of amounts: mass, ethanol and extract in mg, volume_ul at 20 °C in µL."""

    mass_mg: int
    ethanol_mg: int
    extract_mg: int
    volume_ul: int

    def __add__(self, other: "Quantity") -> "Quantity":  # type: ignore[override]
        return Quantity(*map(add, self, other))

    def __sub__(self, other: "Quantity") -> "Quantity":
        return Quantity(*map(sub, self, other))

    @property
    def lpa_l(self) -> Fraction:
        """Litres of pure alcohol at 20 °C."""
        return gauging.lpa_l(self.ethanol_mg)

    @property
    def bulk_l(self) -> Fraction:
        """Bulk litres at 20 °C."""
        return Fraction(self.volume_ul, 1_000_000)

    @property
    def gain(self) -> "Quantity":
        """Of a difference, the constituents that grew."""
        return Quantity(*(max(0, part) for part in self))

    @property
    def loss(self) -> "Quantity":
        """Of a difference, the constituents that dwindled, above zero."""
        return Quantity(*(max(0, -part) for part in self))


NONE = Quantity(0, 0, 0, 0)
"""Nothing."""


def quantity(liquid: Liquid) -> Quantity:
    """A body of liquid with its volume at 20 °C."""
    return Quantity(*liquid, round(gauging.volume_ml(liquid) * 1000.0))
