"""The last gauge of an item that still speaks of what it holds, with its uncertainty.

A pour out of an item leaves its strength; a pour into it makes another liquid, of which the gauge
before it says nothing. A lot is what its batch was when it was bottled.

>>> strength_in_words("strength 46,20 ± 0,06 % vol; volume at 20 °C 200,00 ± 0,58 l").shown()
'46.200 ± 0.060'
"""

import re
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.bottles import drawn_from
from pourbook.book.items import ledger
from pourbook.book.logged import entry_of
from pourbook.codes.identifiers import key_of, kind_of

if TYPE_CHECKING:
    from pourbook.book.store import Store
    from pourbook.uncertainty.propagation import Uncertain

__all__ = ["LastGauge", "last_gauge", "strength_in_words"]

_STRENGTH = re.compile(r"strength ([\d.,]+) ± ([\d.,]+) % vol")


class LastGauge(NamedTuple):
    """A gauge of a strength.

    Attributes:
        entry: number of its entry.
        happened_us: when.
        uncertainty: its figures with their ±, in the words of the record; empty where none was known.
    """

    entry: int
    happened_us: int
    uncertainty: str


def last_gauge(store: "Store", identifier: str, at_us: int | None = None) -> LastGauge | None:
    """The last gauge of the strength of what an item holds, or held at a moment.

    Args:
        store: of the book.
        identifier: of the item; for a lot, the gauge of the batch that it was bottled from.
        at_us: as of that moment; None is now.
    """
    if kind_of(identifier) == "lot":
        origin = drawn_from(store, identifier)
        return None if origin is None else last_gauge(store, *origin)
    for row in reversed(ledger(store, key_of(identifier))):
        if at_us is not None and row.happened_us > at_us:
            continue
        logged = entry_of(store, row.entry)
        body = logged.entry["body"]
        if logged.kind == "gauge" and "fraction" in body and ("density" in body or "book_fraction" not in body):
            return LastGauge(row.entry, row.happened_us, str(body.get("sure", "")))
        if any(line["to"] == identifier for line in body.get("lines", ())):
            return None
    return None


def strength_in_words(words: str) -> "Uncertain | None":
    """The strength in the words of a gauge, with its standard uncertainty; None where they have none."""
    from pourbook.uncertainty.propagation import Uncertain

    found = _STRENGTH.search(words)
    if found is None:
        return None
    value, standard = (float(text.replace(",", ".")) for text in found.groups())
    return Uncertain(value, {"gauge": standard})
