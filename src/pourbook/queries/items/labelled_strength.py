"""The strength that a lot was bottled under, and whether the book still agrees with it.

A lot's label says what stood in the book when it was bottled. A correction of the past changes what the
book has, and never what is printed on the bottles; where the two differ by more than the law allows on
a label, somebody has to know.

>>> disagreement({"labelled_strength": "61.12"}, 61.62)
Disagreement(stated=61.12, by_book=61.62, tolerance=0.3)
>>> disagreement({"labelled_strength": "61.12"}, 61.29)
"""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.errors import Malformed
from pourbook.numerals import read_decimal

__all__ = ["Disagreement", "disagreement", "stated_strength"]

_ROUNDING = 0.005
"""A labelled strength is kept with two digits."""


class Disagreement(NamedTuple):
    """The strength stated on the label and that by the book, farther apart than the tolerance; all in % vol."""

    stated: float
    by_book: float
    tolerance: float


def stated_strength(known: Mapping[str, str]) -> float | None:
    """What the bottles of a lot are labelled with, % vol at 20 °C; None where its facts do not say."""
    text = known.get("labelled_strength", "")
    try:
        return float(read_decimal(text.replace(",", "."))) if text else None
    except Malformed:
        return None


def disagreement(known: Mapping[str, str], strength_20c: float | None) -> Disagreement | None:
    """Where label and book are farther apart than a label may be; `known` are the facts of the lot.

    Source: Reg. (EU) 1169/2011 Annex XII and 27 CFR 5.65(c): ± 0.3 % vol, as in `uncertainty.labelling`.
    """
    stated = stated_strength(known)
    if stated is None or strength_20c is None:
        return None
    from pourbook.uncertainty.labelling import RULES  # few lots are bottled under a strength of their own

    tolerance = RULES["eu"].tolerance
    return Disagreement(stated, strength_20c, tolerance) if abs(stated - strength_20c) > tolerance + _ROUNDING else None
