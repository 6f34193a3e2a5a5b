"""What was typed, as the journal keeps it: in the person's own writing, yet readable without the house's settings.

A bare number is kept with the house's unit; so is whatever would otherwise read differently.

>>> from pourbook.quantities import read_amount, read_strength
>>> kept_amount(read_amount("198,5 L", decimal_mark=",")), kept_amount(read_amount("23", "ml"))
('198,5 L', '23 ml')
>>> kept_amount(read_amount("53 gal", "imp gal")), kept_strength(read_strength("63,50", decimal_mark=","))
('53 imp gal', '63,50 % vol')
>>> amount_again("198,5 L").value, strength_again("63,50 % vol").value
(Decimal('198.5'), Decimal('63.50'))
"""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any, TypeVar

from pourbook.errors import PourbookError
from pourbook.numerals import read_decimal
from pourbook.quantities import Amount, Strength, in_bottles, read_amount, read_strength, read_temperature

__all__ = [
    "amount_again", "celsius_again", "kept_amount", "kept_strength", "number_again", "poured_again", "strength_again",
]  # fmt: skip

_REMEMBERED = 1 << 12
_NUMBER = re.compile(r"[+]?[0-9.,]+")
_SCALE_WORDS = {"vol20": "% vol", "vol60f": "% vol 60F", "proof60f": "proof"}
_Read = TypeVar("_Read", Amount, Strength)


@lru_cache(_REMEMBERED)
def kept_amount(amount: Amount) -> str:
    """An amount as typed."""
    return _kept(amount, amount.unit, amount_again)


@lru_cache(_REMEMBERED)
def kept_strength(strength: Strength) -> str:
    """A strength as typed, always with its scale."""
    return _kept(strength, _SCALE_WORDS[strength.scale], strength_again)


def amount_again(text: str, unit: str | None = None) -> Amount:
    """An amount of the journal, whatever its decimal mark; `unit` is that of a bare number."""
    return read_amount(text, unit, _mark(text), allow_zero=True)


def poured_again(line: Mapping[str, Any]) -> Amount | None:
    """The amount that was typed of a line of a pour, or the bottles counted; None where neither was."""
    bottles = line.get("facts", {}).get("bottles")
    if bottles is not None:
        return in_bottles(int(bottles))
    return amount_again(line["typed"]["amount"]) if "amount" in line.get("typed", {}) else None


def strength_again(text: str) -> Strength:
    """A strength of the journal, whatever its decimal mark."""
    return read_strength(text, decimal_mark=_mark(text))


def number_again(text: str) -> Decimal:
    """A number of the journal, whatever its decimal mark."""
    return read_decimal(text, _mark(text))


def celsius_again(typed: Mapping[str, str]) -> float:
    """The temperature among what was typed; 20 where there was none."""
    return float(read_temperature(typed["temperature"]).celsius) if "temperature" in typed else 20.0


def _mark(text: str) -> str:
    """Numbers have no separators, so a comma is the decimal mark."""
    return "," if "," in text else "."


def _kept(read: _Read, unit: str, again: Callable[[str], _Read]) -> str:
    """As typed if that reads the same; else the number as typed, or at least its value, with the unit."""
    typed = " ".join(read.typed.split())
    found = _NUMBER.match(typed)
    number = found[0] if found else ""
    for text in (f"{number} {unit}",) if number == typed else (typed, f"{number} {unit}"):
        try:
            if again(text)[1:] == read[1:]:
                return text
        except PourbookError:
            continue  # such as '250 ml less 40 ml'
    return f"{read.value} {unit}"
