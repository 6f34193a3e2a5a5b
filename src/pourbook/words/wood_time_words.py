"""A time in wood as papers and screens state it: completed years, then days; never rounded up.

>>> age_text(Age(8, 1)), age_text(Age(1, 41)), age_text(None)
('8 years 1 day', '1 year 41 days', 'unknown')
"""

from typing import TYPE_CHECKING

from pourbook.lineage.ages import Age, age_of
from pourbook.numerals import counted
from pourbook.words.paper_figures import UNKNOWN

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from pourbook.queries.traces.blend import Blend

__all__ = ["age_text", "age_words"]


def age_text(age: Age | None) -> str:
    """A wood age in words."""
    return UNKNOWN if age is None else f"{counted(age.years, 'year')} {counted(age.days, 'day')}"


def age_words(zone: "ZoneInfo", *blends: "Blend") -> str:
    """Completed years and days of the youngest spirit of several; empty where no age is known."""
    from pourbook.queries.traces.blend import youngest_in  # a trace does without it

    found = youngest_in(*blends)
    return "" if found is None else age_text(age_of(found, zone))
