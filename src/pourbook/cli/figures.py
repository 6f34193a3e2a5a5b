"""Figures as calculators read and show them: by the decimal mark of the house, where a book is named.

A calculator needs no book; without one, the mark is a point. Its modules take these readers in place of
those of `numerals`, `quantities` and `alcoholometry`, so that all options of all calculators are read alike.

>>> read_amount("12.5 ml").unit, house_mark(), shown(0.125, 2)
('ml', '.', '0.13')
"""

import re
from decimal import Decimal
from fractions import Fraction
from typing import Literal

import click

from pourbook import numerals, quantities
from pourbook.alcoholometry import apparent as readings
from pourbook.errors import PourbookError
from pourbook.quantities import Amount, Scale, Strength, Temperature

__all__ = [
    "house_mark",
    "pointed",
    "read_amount",
    "read_decimal",
    "read_extract",
    "read_strength",
    "read_temperature",
    "shown",
]

_KEPT = "pourbook.decimal_mark"
_COMMA_IN_A_NUMBER = re.compile(r"(?<=\d),(?=\d)")


def house_mark() -> str:
    """The decimal mark of the book that the command was given; a point without one."""
    context = click.get_current_context(silent=True)
    if context is None:
        return "."
    root = context.find_root()
    if _KEPT not in root.meta:
        root.meta[_KEPT] = _mark_of(root.obj)
    kept: str = root.meta[_KEPT]
    return kept


def _mark_of(path: str | None) -> str:
    from pourbook.surface import Book  # a calculator without a book does without it

    if not path:
        return "."
    try:
        with Book.open(path) as book:
            return book.settings["decimal_mark"]
    except PourbookError:  # whoever needs the book is told by its own verb
        return "."


def pointed(text: str) -> str:
    """Words with numbers in them, in the house's way of writing, with points: 'limit 0,1' as 'limit 0.1'."""
    return _COMMA_IN_A_NUMBER.sub(".", text) if house_mark() == "," else text


def read_decimal(text: str) -> Decimal:
    """As `numerals.read_decimal`, by the house's mark."""
    return numerals.read_decimal(text, house_mark())


def read_amount(text: str, *, allow_zero: bool = False) -> Amount:
    """As `quantities.read_amount`, by the house's mark; a unit is needed."""
    return quantities.read_amount(text, None, house_mark(), allow_zero=allow_zero)


def read_strength(text: str, default_scale: Scale = "vol20") -> Strength:
    """As `quantities.read_strength`, by the house's mark."""
    return quantities.read_strength(text, default_scale, house_mark())


def read_temperature(text: str, default_unit: Literal["C", "F"] = "C") -> Temperature:
    """As `quantities.read_temperature`, by the house's mark."""
    return quantities.read_temperature(text, default_unit, house_mark())


def read_extract(text: str) -> float:
    """As `readings.read_extract`, by the house's mark, in g/L."""
    return readings.read_extract(text, house_mark())


def shown(value: float | Decimal | Fraction, digits: int) -> str:
    """As `numerals.shown`, by the house's mark."""
    return numerals.shown(value, digits, house_mark())
