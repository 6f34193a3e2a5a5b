"""Dissolved solids as people type them."""

from fractions import Fraction

from pourbook.errors import Malformed, OutOfRange
from pourbook.numerals import number_and_rest

__all__ = ["read_extract"]

_G_PER_L = {
    "g/l": Fraction(1),
    "kg/m3": Fraction(1),
    "mg/ml": Fraction(1),
    "mg/l": Fraction(1, 1000),
    "g/hl": Fraction(1, 100),
    "kg/hl": Fraction(10),
    "g/100ml": Fraction(10),
    "mg/100ml": Fraction(1, 100),
}
_MOST_G_PER_L = 600  # more than any liqueur holds


def read_extract(text: str, decimal_mark: str = ".") -> float:
    """Dissolved solids as typed, in g/L: `20 g/l`, `500 mg/100 ml`, `0.5 g/100 ml`.

    Raises:
        Malformed: no number, or no known unit.
        OutOfRange: below zero, or more than a liqueur holds.

    >>> read_extract("500 mg/100 mL")
    5.0
    """
    value, rest = number_and_rest(text, decimal_mark)
    factor = _G_PER_L.get(rest.replace(" ", "").replace("³", "3"))
    if factor is None:
        raise Malformed(f"extract '{text.strip()}' lacks a known unit", f"write it in one of: {', '.join(_G_PER_L)}")
    g_per_l = float(Fraction(value) * factor)
    if not 0 <= g_per_l <= _MOST_G_PER_L:
        raise OutOfRange(f"extract '{text.strip()}' is outside 0 to {_MOST_G_PER_L} g/l", "check number and unit")
    return g_per_l
