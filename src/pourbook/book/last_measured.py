"""When the contents of an item were last measured: by a gauge of the amount, or as it was filled from empty.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.codes.identifiers import key_of
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> _ = book.record(*(Draft(one, 7, "M. Aldane") for one in (Item(cask, {}), fill)))
>>> last_measured(book.store, key_of(cask), (8, 0))
Measured(happened_us=7, was_filled=True)
"""

from collections.abc import Collection
from typing import NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.store import Store

__all__ = ["Measured", "last_measured"]

_BEFORE = (
    "SELECT ledger.happened, ledger.line, ledger.mass,"
    " entry.kind = 'gauge' AND json_extract(entry.bytes, '$.body.mass') IS NOT NULL"
    f" FROM ledger JOIN entry ON entry.number = ledger.line / {LINES}"
    " WHERE ledger.item = ? AND (ledger.happened, ledger.place) < (?, ?)"
    " ORDER BY ledger.happened DESC, ledger.place DESC"
)


class Measured(NamedTuple):
    """A moment at which the contents were measured, and whether that was a filling, not a gauge."""

    happened_us: int
    was_filled: bool


def last_measured(store: Store, item: int, before: tuple[int, int], without: Collection[int] = ()) -> Measured | None:
    """The last measurement of an item (its key) before a place in the order of time; None where there is none.

    `without` are lines that no longer count. A later pour into what lies there measures nothing of it.
    """
    later_us: int | None = None
    for happened_us, line, mass_mg, is_gauge in store.query(_BEFORE, (item, *before)):
        if line in without:
            continue
        if not mass_mg:
            break
        if is_gauge:
            return Measured(happened_us, was_filled=False)
        later_us = happened_us
    return None if later_us is None else Measured(later_us, was_filled=True)
