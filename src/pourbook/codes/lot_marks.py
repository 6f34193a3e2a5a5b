"""The lot mark that the law wants on every bottle, so that a lot can be recalled.

Directive 2011/91/EU, article 4: the mark is preceded by the letter L, except where it is clearly
distinguishable from the other indications. It is the house's own text, not our identifier, though
both begin with L; without blanks, it is the lot number (10) of GS1.

>>> printed("26-118"), printed("L26-118"), printed("Batch 7")
('L26-118', 'L26-118', 'Batch 7')
>>> lot_number("26 118"), same("L26-118", "26-118")
('L26118', True)
"""

import re

from pourbook.codes.application_identifiers import named
from pourbook.errors import Malformed

__all__ = ["lot_number", "printed", "same"]

_DISTINGUISHED = re.compile(r"l|batch\b|charge\b|partia\b|partida\b|šarže\b|tétel\b", re.IGNORECASE)


def printed(mark: str) -> str:
    """The mark as it stands on the bottle: L before it, unless it speaks for itself; empty stays empty."""
    mark = mark.strip()
    return mark if not mark or _DISTINGUISHED.match(mark) else f"L{mark}"


def lot_number(mark: str) -> str:
    """The lot number that symbols carry under (10): the printed mark without blanks.

    Raises:
        Malformed: the mark is empty, or GS1 symbols cannot carry it.
    """
    number = "".join(printed(mark).split())
    rule = named("10")
    problem = rule.problem(number) if rule else ""
    if problem:
        raise Malformed(
            f"lot mark '{mark}' cannot be a GS1 lot number: {problem}",
            "give the lot a mark of at most 20 letters, digits and - / . _: pourbook set LOT lot_mark=L26-118",
        )
    return number


def same(one: str, other: str) -> bool:
    """Whether two marks are the same lot's, whatever their blanks, case and leading L."""
    return _bare(one) == _bare(other)


def _bare(mark: str) -> str:
    return "".join(mark.split()).upper().removeprefix("L")
