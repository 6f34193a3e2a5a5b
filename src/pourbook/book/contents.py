"""What an item holds, as a row of the ledger says it.

>>> Holding(1000, 400, 0, state=8192, sealed=0).liquid
Liquid(mass_mg=1000, ethanol_mg=400, extract_mg=0)
"""

from typing import NamedTuple

from pourbook.liquid import Liquid

__all__ = ["EVER", "LINES", "NOTHING", "Holding"]

EVER = 1 << 62
"""A moment after all others."""

LINES = 4096
"""An entry has at most so many lines; a line's number is the entry's times this, plus its place."""


class Holding(NamedTuple):
    """What an item holds.

    Attributes:
        mass_mg: total; then the ethanol and extract in it.
        state: the lineage state it is in; 0 before anything was ever in it.
        sealed: 1 once something was poured out of that state: the next pour in opens a new one.
    """

    mass_mg: int
    ethanol_mg: int
    extract_mg: int
    state: int
    sealed: int

    @property
    def liquid(self) -> Liquid:
        """The liquid alone."""
        return Liquid(self.mass_mg, self.ethanol_mg, self.extract_mg)


NOTHING = Holding(0, 0, 0, 0, 0)
