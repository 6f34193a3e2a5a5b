"""The strength that a lot was bottled under, and whether the book still agrees with it.

A lot's label says what stood in the book when it was bottled. A correction of the past changes what the
book has, and never what is printed on the bottles; where the two differ by more than the law allows on
a label, somebody has to know.

>>> disagreement({"labelled_strength": "61.12"}, 61.62)
'labelled with 61.12 % vol, and the book has 61.62: farther apart than the ± 0.3 % vol that a label may be'
>>> disagreement({"labelled_strength": "61.12"}, 61.29)
''
"""

from collections.abc import Mapping

from pourbook.errors import Malformed
from pourbook.numerals import read_decimal, shown
from pourbook.uncertainty.labelling import RULES

__all__ = ["disagreement", "stated_strength"]

_ROUNDING = 0.005
"""A labelled strength is kept with two digits."""


def stated_strength(known: Mapping[str, str]) -> float | None:
    """What the bottles are labelled with, % vol at 20 °C; None where that was not kept.

    Args:
        known: facts of the lot; `strength` is what books of earlier days called it.
    """
    text = known.get("labelled_strength") or known.get("strength") or ""
    try:
        return float(read_decimal(text)) if text else None
    except Malformed:
        return None


def disagreement(known: Mapping[str, str], strength_20c: float | None, mark: str = ".") -> str:
    """A sentence where label and book are farther apart than the tolerance of labels; else nothing.

    Source: Reg. (EU) 1169/2011 Annex XII and 27 CFR 5.65(c): ± 0.3 % vol, as in `uncertainty.labelling`.

    Args:
        known: facts of the lot.
        strength_20c: of its content by the book; None when none is left.
        mark: decimal mark of the house.
    """
    stated, tolerance = stated_strength(known), RULES["eu"].tolerance
    if stated is None or strength_20c is None or abs(stated - strength_20c) <= tolerance + _ROUNDING:
        return ""
    return (
        f"labelled with {shown(stated, 2, mark)} % vol, and the book has {shown(strength_20c, 2, mark)}: farther apart"
        f" than the ± {shown(tolerance, 1, mark)} % vol that a label may be"
    )
