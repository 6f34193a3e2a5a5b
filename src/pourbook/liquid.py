"""A body of liquid as whole milligrams: total mass, ethanol, extract.

Masses add when liquids mix; volumes do not. So the book keeps masses, as integers, and a
mass balance is an equality. Nothing here knows a density.

>>> cask = Liquid(100_000, 40_000, 100)
>>> vial, rest = cask.split(250)
>>> vial, rest
(Liquid(mass_mg=250, ethanol_mg=100, extract_mg=0), Liquid(mass_mg=99750, ethanol_mg=39900, extract_mg=100))
>>> vial + rest == cask
True
"""

from typing import NamedTuple

from pourbook.numerals import shown

__all__ = ["EMPTY", "MOST_MG", "Liquid", "in_grams", "share"]

MOST_MG = 2**53
"""Amounts stay below this, so that a JSON number is exact everywhere (nine million tonnes)."""


def share(amount: int, part_mg: int, whole_mg: int) -> int:
    """`amount` x `part_mg` / `whole_mg`, rounded half up, in whole numbers.

    >>> share(5, 1, 2)
    3
    """
    return (2 * amount * part_mg + whole_mg) // (2 * whole_mg)


class Liquid(NamedTuple):
    """A body of liquid; 0 <= ethanol + extract <= mass.

    Attributes:
        mass_mg: all of it, in vacuum.
        ethanol_mg: pure ethanol in it.
        extract_mg: dissolved solids in it (sugar, colouring, what the wood gave).
    """

    mass_mg: int
    ethanol_mg: int
    extract_mg: int = 0

    def __add__(self, other: "Liquid") -> "Liquid":  # type: ignore[override]
        return Liquid(
            self.mass_mg + other.mass_mg, self.ethanol_mg + other.ethanol_mg, self.extract_mg + other.extract_mg
        )

    def __sub__(self, other: "Liquid") -> "Liquid":
        return Liquid(
            self.mass_mg - other.mass_mg, self.ethanol_mg - other.ethanol_mg, self.extract_mg - other.extract_mg
        )

    def split(self, mass_mg: int) -> tuple["Liquid", "Liquid"]:
        """Part of this liquid (0 to all of its mass), each constituent in proportion, and the rest.

        Extract is rounded together with ethanol, so that the water never turns negative on either side.
        """
        part = self.scaled(mass_mg)
        return part, self - part

    def scaled(self, mass_mg: int) -> "Liquid":
        """The same liquid at another total mass."""
        if mass_mg == self.mass_mg:
            return self
        mass, ethanol, extract = self
        ethanol_part = share(ethanol, mass_mg, mass)
        solutes_part = share(ethanol + extract, mass_mg, mass)
        return Liquid(mass_mg, ethanol_part, solutes_part - ethanol_part)

    @property
    def water_mg(self) -> int:
        """What is neither ethanol nor extract."""
        return self.mass_mg - self.ethanol_mg - self.extract_mg


EMPTY = Liquid(0, 0, 0)


def in_grams(mass_mg: int, mark: str = ".") -> str:
    """A mass: g below a kilogram, else kg."""
    if mass_mg < 1_000_000:
        return f"{shown(mass_mg / 1000, 2, mark)} g"
    return f"{shown(mass_mg / 1e6, 3, mark)} kg"
