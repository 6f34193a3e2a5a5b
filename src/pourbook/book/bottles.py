"""What the journal says of an item's own filling: bottles of a lot, the source of a vial.

>>> Bottles(left=300, one=Liquid(656_000, 239_000)).left
300
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pourbook.book.items import LedgerRow, ledger
from pourbook.book.journal import entry_of, line_of
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.liquid import EMPTY, Liquid, share

__all__ = ["BottleCount", "Bottles", "bottle_count", "bottles", "drawn_from"]


class Bottles(NamedTuple):
    """The bottles left in a lot, and what one holds."""

    left: int
    one: Liquid


class BottleCount(NamedTuple):
    """Bottles of a lot: filled, despatched (with those returned), returned, and lost (broken, tasted, emptied …)."""

    filled: int
    despatched: int
    returned: int
    lost: int

    @property
    def left(self) -> int:
        """Those in the house."""
        return self.filled - self.with_customers - self.lost

    @property
    def with_customers(self) -> int:
        """Those that were sent and did not come back."""
        return self.despatched - self.returned


def bottle_count(
    store: Store, lot: str, until_us: int | None = None, *, before: int = 1 << 62, without: int = 0,
    more: Iterable[Mapping[str, Any]] = (),
) -> BottleCount | None:  # fmt: skip
    """What filled a lot and what became of it, up to and including a moment; None where none were counted.

    Only entries numbered below `before` count, and not the one `without`, which is to be replaced; `more` are lines of
    pours that the store does not have yet.
    """
    lines = [
        line
        for row, line in _lines(store, lot)
        if (until_us is None or row.happened_us <= until_us) and row.entry < before and row.entry != without
    ]
    filled = despatched = returned = lost = 0
    for line in (*lines, *more):
        count = int(line.get("facts", {}).get("bottles", 0))
        if line.get("from") == "return" and line["to"] == lot:
            returned += count
        elif line.get("to") == lot:
            filled += count
        elif line.get("from") == lot and line["to"] == "despatch":
            despatched += count
        elif line.get("from") == lot:
            lost += count
    return BottleCount(filled, despatched, returned, lost) if filled else None


def bottles(store: Store, lot: str) -> Bottles:
    """The bottles of a lot, by what filled it and what left it; `Refused` where it was not bottled by count."""
    left, one = 0, EMPTY
    for row, line in _lines(store, lot):
        count = int(line.get("facts", {}).get("bottles", 0))
        left += count if line.get("to") == lot else -count
        if row.holding.mass_mg and left > 0:
            one = row.holding.liquid.scaled(share(row.holding.mass_mg, 1, left))
    if not one.mass_mg:
        raise Refused(f"{hyphened(lot)} was not bottled by count", "move it by amount: pourbook pour")
    return Bottles(left, one)


def _lines(store: Store, item: str) -> Iterator[tuple[LedgerRow, Mapping[str, Any]]]:
    """The history of an item, each row with the line behind it."""
    for row in ledger(store, key_of(item)):
        yield row, line_of(entry_of(store, row.entry).entry["body"], row.line)


def drawn_from(store: Store, vial: str) -> tuple[str, int] | None:
    """What a vial was first filled from and when, in microseconds; None where that was not one item."""
    for row, line in _lines(store, vial):
        source = line.get("from", "gauge")
        return (source, row.happened_us) if source[0].isupper() else None
    return None
