"""The ranges of numbers that a site gives its items, so that sites which work apart never give the same one.

>>> ranges = read_ranges("200000-299999; 1 - 99 999")
>>> shown_ranges(ranges)
'1-99999, 200000-299999'
>>> has_number(ranges, 100_000), next_number(ranges, 100_000, "cask"), next_number(ranges, 300_000)
(False, 200000, None)
>>> shown_ranges(read_ranges("")), has_number(read_ranges(""), 5)
('', True)
"""

import re
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from pourbook.codes.identifiers import is_issued
from pourbook.errors import Malformed

__all__ = [
    "EVERY_NUMBER", "MOST_OF_A_SITE", "has_number", "next_number", "read_ranges", "shared", "shown_ranges", "site_code",
]  # fmt: skip

MOST_OF_A_SITE = 99_999_999_999
"""The highest number of a site: eleven digits. Those of twelve are left to a group's own items."""

EVERY_NUMBER = (range(1, 1_000_000_000_000),)
"""The ranges of a book that has none: whatever an identifier can hold."""

_SPAN = r"\s*([0-9][0-9 ]*?)\s*(?:-|–|\.\.)\s*([0-9][0-9 ]*?)\s*"
_CODE = r"[A-Z0-9]([A-Z0-9-]{0,18}[A-Z0-9])?"


@lru_cache(maxsize=16)
def read_ranges(text: str) -> tuple[range, ...]:
    """Ranges as typed, parted by commas or semicolons, in rising order; without any, every number.

    Raises:
        Malformed: it is no range, one ends before it begins or lies beyond a site's numbers, or two share a number.
    """
    if not text.strip():
        return EVERY_NUMBER
    found = []
    for part in re.split("[,;]", text):
        ends = re.fullmatch(_SPAN, part, re.ASCII)
        if ends is None:
            raise Malformed(f"'{part.strip()}' is no range of numbers", "write it like 1-99999, 200000-299999")
        first, last = (int(end.replace(" ", "")) for end in ends.groups())
        if not 0 < first <= last <= MOST_OF_A_SITE:
            raise Malformed(
                f"'{part.strip()}' cannot be a site's range of numbers",
                f"give the lower number first, from 1 to {MOST_OF_A_SITE}",
            )
        found.append(range(first, last + 1))
    ranges = tuple(sorted(found, key=lambda one: one.start))
    for before, one in pairwise(ranges):
        if one.start < before.stop:
            raise Malformed(f"'{text}' names {one.start} twice", "give ranges that share no number")
    return ranges


def shown_ranges(ranges: Sequence[range]) -> str:
    """Ranges as `read_ranges` reads them; empty for every number."""
    return "" if ranges == EVERY_NUMBER else ", ".join(f"{one.start}-{one.stop - 1}" for one in ranges)


def has_number(ranges: Sequence[range], number: int) -> bool:
    """Whether a number lies in one of the ranges."""
    return any(number in one for one in ranges)


def next_number(ranges: Sequence[range], number: int, kind: str = "") -> int | None:
    """The first number from this one on that may be given, to an item of a kind; None where no more are left."""
    for one in ranges:
        number = max(number, one.start)
        while number < one.stop:
            if not kind or is_issued(kind, number):
                return number
            number += 1
    return None


def shared(some: Sequence[range], others: Sequence[range]) -> tuple[range, ...]:
    """The numbers that lie in ranges of both.

    >>> shared((range(1, 100),), (range(50, 60), range(90, 200)))
    (range(50, 60), range(90, 100))
    """
    both = (range(max(one.start, other.start), min(one.stop, other.stop)) for one in some for other in others)
    return tuple(one for one in both if one)


def site_code(text: str) -> str:
    """The short name of a site, as books and papers write it: in capitals.

    >>> site_code(" quay-2 ")
    'QUAY-2'

    Raises:
        Malformed: it has other characters, or more than twenty.
    """
    code = text.strip().upper()
    if not re.fullmatch(_CODE, code, re.ASCII):
        raise Malformed(f"'{text}' cannot name a site", "use up to twenty letters, digits and hyphens: QUAY-2")
    return code
