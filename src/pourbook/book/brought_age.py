"""Time in wood that spirit brings: told in days, or as a certificate has it, in years and months.

Years and months become days on the day the spirit comes, once: so the journal keeps `wood_days`, and beside it what
was told where that was more than a number of days.

>>> from pourbook.times import house_zone, moment_of
>>> with_wood_days({"in_wood": "12 y 3 m"}, moment_of("2024-06-01T09:00:00Z"), house_zone("UTC"))
{'in_wood': '12 y 3 m', 'wood_days': 4475}
>>> with_wood_days({"in_wood": "400"}, 0, house_zone("UTC"))
{'wood_days': 400}
"""

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

from pourbook.errors import Malformed
from pourbook.times import day_shown, read_span

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["with_wood_days"]


def with_wood_days(facts: Mapping[str, str | int], at_us: int, zone: "tzinfo") -> dict[str, str | int]:
    """The facts of what comes from outside, with its time in wood as days on the day it comes.

    Raises:
        Malformed: not a time in wood, or given twice.
    """
    told = dict(facts)
    if "in_wood" not in told:
        return told
    if "wood_days" in told:
        raise Malformed("time in wood is given twice", "give it once")
    span = read_span(str(told.pop("in_wood")))
    told |= {"in_wood": str(span)} if span.years or span.months else {}
    return told | {"wood_days": span.days_before(date.fromisoformat(day_shown(at_us, zone)))}
