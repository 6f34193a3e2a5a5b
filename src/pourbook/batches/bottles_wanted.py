"""From bottles backwards: what a batch must be at bottling strength to fill them.

>>> from pourbook.quantities import read_amount
>>> wanted = BottlesWanted((Filled(400, read_amount("700 ml")),), Decimal(4))
>>> f"{float(wanted.filled_ml)} + {float(wanted.lost_ml)} = {float(wanted.needed_ml)}"
'280000.0 + 11200.0 = 291200.0'
"""

from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from pourbook.errors import Malformed, OutOfRange
from pourbook.quantities import Amount

__all__ = ["BottlesWanted", "Filled"]


class Filled(NamedTuple):
    """Bottles of one size, which is their nominal content at 20 °C."""

    bottles: int
    size: Amount


class BottlesWanted(NamedTuple):
    """Bottles to be filled from one batch, and what is lost on the way to them.

    Attributes:
        sizes: bottles of each size.
        losses: in per cent of what is filled, or a volume at 20 °C; None for none.
    """

    sizes: tuple[Filled, ...]
    losses: Decimal | Amount | None = None

    def checked(self) -> "BottlesWanted":
        """Itself.

        Raises:
            Malformed: no bottles, a size that is no volume, or losses of a mass.
            OutOfRange: losses of 100 % or more of what is filled.
        """
        if not self.sizes or any(one.bottles < 1 or one.size.dimension != "volume" for one in self.sizes):
            raise Malformed("bottles need a number and a size", "write them like 400 x 700 ml")
        if isinstance(self.losses, Amount):
            if self.losses.dimension != "volume":
                raise Malformed(f"losses of '{self.losses.typed}' are not a volume", "write them like 20 l, or 4 %")
        elif self.losses is not None and not 0 <= self.losses < 100:
            raise OutOfRange(
                f"losses must be 0 to less than 100 %, not {self.losses} %",
                "if a volume is meant, write it: --losses '20 l'",
            )
        return self

    @property
    def filled_ml(self) -> Fraction:
        """What the bottles hold."""
        return sum((one.bottles * one.size.volume_ml for one in self.sizes), Fraction(0))

    @property
    def lost_ml(self) -> Fraction:
        """What is lost while bottling."""
        if isinstance(self.losses, Amount):
            return self.losses.volume_ml
        return self.filled_ml * Fraction(self.losses or 0) / 100

    @property
    def needed_ml(self) -> Fraction:
        """What the batch must be at bottling strength, at 20 °C."""
        return self.filled_ml + self.lost_ml
