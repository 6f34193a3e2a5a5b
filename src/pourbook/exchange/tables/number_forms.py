"""Numbers as tables have them: with the other decimal mark, with thousands set apart.

A reading that would be wrong by a thousand looks as good as a right one, so it is asked about.

>>> [form_of_number(text, ".") for text in ("198", "198.5", "1.234", "1,234", "198,5", "1,234.5", "1.234,5")]
['whole', 'house', 'either', 'open', 'other', 'house', 'other']
>>> in_house_form("1.234,5 l", ".", "."), in_house_form("1,234", ".", "."), in_house_form("1,234", ",", ".")
('1234.5 l', '1234', '1.234')
"""

import re
from functools import lru_cache
from typing import Literal

__all__ = ["NumberForm", "form_of_number", "in_house_form", "other_mark"]

NumberForm = Literal["whole", "house", "either", "open", "other", ""]
"""`whole`: no mark; `house`, `other`: can only have the house's or the other mark; `either`: plain in the house's, but
thousands in the other; `open`: thousands in the house's mark, or a fraction in the other; empty: no number."""

_BEGINS = re.compile(
    r"(?P<sign>[-+−]?)(?P<digits>[0-9](?:[0-9.,'’\s]*[0-9])?)(?P<rest>[^0-9.,'’_eE].*|[eE](?![-+0-9]).*|)"
)
_APART = re.compile(r"(?<=[0-9])['’\s](?=[0-9]{3}(?![0-9]))")


def other_mark(mark: str) -> str:
    """The decimal mark that is not this one."""
    return "," if mark == "." else "."


@lru_cache(1 << 12)
def form_of_number(text: str, mark: str) -> NumberForm:
    """The form of the number that a text begins with, in a house with this decimal mark."""
    digits = _digits_of(text)
    if not digits:
        return ""
    other = other_mark(mark)
    as_house, as_other = _plain(digits, mark), _plain(digits, other)
    if mark not in digits and other not in digits:
        return "whole"
    if as_house and as_other:
        return "either" if mark in digits else "open"
    return "house" if as_house else "other" if as_other else ""


def in_house_form(text: str, read_with: str, mark: str) -> str:
    """A number without separators, in the house's decimal mark; `read_with` is the mark where both are possible.

    What is no number stays as it is.
    """
    digits = _digits_of(text)
    readings = (_plain(digits, read_with), _plain(digits, other_mark(read_with)))
    plain = readings[0] or readings[1]
    if not plain:
        return text
    match = _BEGINS.fullmatch(text)
    assert match is not None
    return f"{match['sign']}{plain.replace('.', mark)}{match['rest']}"


def _digits_of(text: str) -> str:
    """The digits with their marks; spaces and apostrophes before three digits are thousands and left out."""
    match = _BEGINS.fullmatch(text)
    return _APART.sub("", match["digits"]) if match else ""


def _plain(digits: str, mark: str) -> str:
    """The number with a point and without thousands, read with that decimal mark; empty where that is none."""
    apart = re.escape(other_mark(mark))
    if not re.fullmatch(rf"(?:[0-9]+|[1-9][0-9]{{0,2}}(?:{apart}[0-9]{{3}})+)(?:{re.escape(mark)}[0-9]+)?", digits):
        return ""
    return digits.replace(other_mark(mark), "").replace(mark, ".")
