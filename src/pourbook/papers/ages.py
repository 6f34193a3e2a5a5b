"""A time in wood as papers and screens state it: completed years, then days; never rounded up.

>>> age_text(Age(8, 1)), age_text(Age(1, 41)), age_text(None)
('8 years 1 day', '1 year 41 days', 'unknown')
"""

from typing import NamedTuple

from pourbook.numerals import counted
from pourbook.papers.figures import UNKNOWN

__all__ = ["Age", "age_text"]


class Age(NamedTuple):
    """A time in wood: completed years and the days since the last anniversary."""

    years: int
    days: int


def age_text(age: Age | None) -> str:
    """A wood age in words."""
    return UNKNOWN if age is None else f"{counted(age.years, 'year')} {counted(age.days, 'day')}"
