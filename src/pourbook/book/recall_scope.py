"""What is under suspicion: the scope of a recall, in plain values.

>>> from pourbook.times import moment_of
>>> suspect = Suspect("water", "Spring 4, lot 26-3", moment_of("2026-03-01T00:00:00Z"))
>>> suspect.body
{'kind': 'water', 'name': 'Spring 4, lot 26-3', 'from': '2026-03-01T00:00:00Z'}
>>> Suspect.of_body(suspect.body) == suspect
True
>>> says("hydrometer H-3 (N000001T)", "h-3"), says("hydrometer H-31", "H-3")
(True, False)
"""

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

from pourbook.times import moment_of, written

__all__ = ["DRY_GOODS", "Suspect", "says"]

DRY_GOODS = ("closure", "bottle_lot", "label", "carton", "filter")
"""What touches the liquid, by the fact of a lot that says which of it was used."""


class Suspect(NamedTuple):
    """One thing under suspicion.

    Attributes:
        kind: item, origin, water, additive, one of `DRY_GOODS`, instrument, person, place or time.
        name: identifier where the book has one; else the number of an entry, words of a fact, or NAME=VALUE;
            empty for all that was poured in a window of time.
        from_us: only what happened at this moment or later; None for no such bound.
        to_us: only what happened before this moment; None for no such bound.
    """

    kind: str
    name: str
    from_us: int | None = None
    to_us: int | None = None

    def is_within(self, happened_us: int) -> bool:
        """Whether a moment lies in the window."""
        begins = self.from_us is None or self.from_us <= happened_us
        return begins and (self.to_us is None or happened_us < self.to_us)

    @property
    def is_entry(self) -> bool:
        """Whether a liquid is named by the number of its entry."""
        return self.kind in ("origin", "water", "additive") and self.name.strip().isdecimal()

    @property
    def body(self) -> dict[str, str]:
        """As it stands in the journal."""
        window = {"from": self.from_us, "to": self.to_us}
        return {"kind": self.kind, "name": self.name} | {
            bound: written(moment) for bound, moment in window.items() if moment is not None
        }

    @classmethod
    def of_body(cls, body: Mapping[str, str]) -> "Suspect":
        """What `body` wrote."""
        bounds = (moment_of(body[bound]) if bound in body else None for bound in ("from", "to"))
        return cls(body["kind"], body["name"], *bounds)


def says(text: str, words: str) -> bool:
    """Whether a text holds these whole words: lot 3 is not lot 31."""
    return _pattern(words).search(text) is not None


@lru_cache(maxsize=64)
def _pattern(words: str) -> "re.Pattern[str]":
    spaced = r"\s+".join(map(re.escape, words.split()))
    return re.compile(rf"(?<![\w-]){spaced}(?![\w-])", re.IGNORECASE)
