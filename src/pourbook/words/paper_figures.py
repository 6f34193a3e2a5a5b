r"""Figures as they stand on paper: fixed digits, in groups of three, a word where one is not known.

Rounding is half up (`pourbook.numerals.shown`). Whatever is summed on a paper is summed exactly
first and rounded last, so a sum may differ from the sum of its printed parts in the last digit.

>>> fixed(Decimal("1234567.125"), 2)
'1\xa0234\xa0567.13'
>>> Notation(",").fixed(-0.5, 1), Notation().fixed(None, 1)
('−0,5', 'unknown')
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from pourbook.errors import OutOfRange
from pourbook.numerals import as_decimal, shown
from pourbook.words.figure_words import UNKNOWN

__all__ = ["UNKNOWN", "Figure", "Notation", "digits_needed", "exact", "fixed"]

Figure = float | Decimal | Fraction
"""A number to print (an `int` is one too). A float is taken as it prints."""

_MG_PER_KG = 1_000_000
_MINUS = "−"
_THIN_SPACE = "\u00a0"
"""A fifth of an em in Source Sans 3, which is a thin space; that face's own U+2009 is half as wide."""


def exact(value: Figure) -> Fraction:
    """The value as a fraction, without loss.

    Raises:
        OutOfRange: a number that is infinite, or that is none.
    """
    if not math.isfinite(value):
        raise OutOfRange(f"the figure '{value}' is not a number", "leave it out, so that it prints as unknown")
    return value if isinstance(value, Fraction) else Fraction(as_decimal(value))


def fixed(value: Figure, digits: int, mark: str = ".") -> str:
    """The value with a fixed number of digits behind the mark, 0 or more; refused as by `exact`."""
    whole, _, rest = shown(exact(value), digits).partition(".")
    grouped = f"{int(whole):,}".replace(",", _THIN_SPACE).lstrip("-")
    sign = _MINUS if whole.startswith("-") else ""
    return f"{sign}{grouped}{mark}{rest}" if digits else f"{sign}{grouped}"


def digits_needed(values: Iterable[Figure], most: int) -> int:
    """How many digits behind the mark show every value exactly; `most` where some value needs more.

    >>> digits_needed([12.5, Decimal("0.25")], most=4), digits_needed([Fraction(1, 3)], most=4)
    (2, 4)
    """
    numbers = [exact(value) for value in values]
    shown_by = (n for n in range(most) if all((number * 10**n).denominator == 1 for number in numbers))
    return next(shown_by, most)


@dataclass(frozen=True, slots=True)
class Notation:
    """How a house writes its numbers.

    Attributes:
        mark: the decimal mark, '.' or ','.
    """

    mark: str = "."

    def __post_init__(self) -> None:
        if self.mark not in (".", ","):
            raise OutOfRange(f"'{self.mark}' is not a decimal mark", "use '.' or ','")

    def fixed(self, value: Figure | None, digits: int) -> str:
        """The value with fixed digits."""
        return UNKNOWN if value is None else fixed(value, digits, self.mark)

    def kg(self, mass_mg: int | None, digits: int = 3) -> str:
        """A mass in milligrams as kilograms."""
        return self.fixed(None if mass_mg is None else Fraction(mass_mg, _MG_PER_KG), digits)

    def percent(self, share: Figure | None, digits: int) -> str:
        """A part of one as per cent."""
        return self.fixed(None if share is None else exact(share) * 100, digits)

    def with_unit(self, value: Figure | None, digits: int, unit: str) -> str:
        r"""The value and its unit; only a word when it is not known.

        >>> Notation(",").with_unit(4600, 1, "mL"), Notation().with_unit(None, 1, "mL")
        ('4\xa0600,0 mL', 'unknown')
        """
        return UNKNOWN if value is None else f"{self.fixed(value, digits)} {unit}".rstrip()
