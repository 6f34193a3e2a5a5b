"""What gauges found missing on the way of an item's liquid, as far as it was that item's.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> entries = (Item(cask, {}), fill, Gauge(cask, 990, None))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(lost.item, lost.ethanol_mg) for lost in gauged_losses(book, cask)]
[('C000001H', 4.0)]
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.contents import EVER
from pourbook.book.flows import beyond_flows, flows_of_items, touched_of
from pourbook.book.lineages import parts_downstream, reached
from pourbook.codes.identifiers import key_of, of_key

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["GaugedLoss", "gauged_losses"]


class GaugedLoss(NamedTuple):
    """Pure ethanol of what is traced that a gauge of an item found missing when it happened."""

    item: str
    happened_us: int
    ethanol_mg: float


def gauged_losses(book: "BookCore", identifier: str, at_us: int | None = None) -> list[GaugedLoss]:
    """Of an item and of all that its liquid went into, now or until a moment, in order of time."""
    store, until_us = book.store, EVER if at_us is None else at_us
    with store.snapshot():
        key = key_of(identifier)
        keys = sorted(reached(store, key, until_us))
        parts = parts_downstream(store, key, "alcohol", until_us)
        found = [
            GaugedLoss(of_key(one.item), one.key[0], -more.ethanol_mg * parts[one.holding.state])
            for one, _, more in beyond_flows(touched_of(store, keys, until_us), flows_of_items(store, keys))
            if more.ethanol_mg < 0 and parts.get(one.holding.state)
        ]
    return sorted(found, key=lambda lost: lost.happened_us)
