"""What moved into and out of items, and what gauges found: the lines behind a balance.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.codes.identifiers import key_of
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> entries = (Item(cask, {}), fill, Gauge(cask, 990, None))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(moved.what, moved.liquid.mass_mg) for moved in movements(book.store, [key_of(cask)])]
[('in', 1000), ('gauge', -10)]
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.flows import Flow, Touched, beyond_flows, flows_of_items, touched_of
from pourbook.lineage.graph import CARRY
from pourbook.liquid import Liquid

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["Moved", "movements"]


class Moved(NamedTuple):
    """A line that changed what an item, by its key, holds, and when it happened.

    Attributes:
        what: "in" and "out" (both above zero), "lost", "gauge" (what a gauge found beyond the book,
            below zero where it was less), or "transit" (what left the source and did not arrive
            here; it belongs to neither item).
        how: the word for outside ("origin", "water", "despatch", "return" …; "unexplained" for what a
            gauge found where the book knew of nothing); empty between items.
        liquid: how much.
    """

    item: int
    line: int
    happened_us: int
    what: Literal["in", "out", "lost", "gauge", "transit"]
    how: str
    liquid: Liquid

    @property
    def entry(self) -> int:
        """Number of the entry."""
        return self.line // LINES


def movements(store: "Store", items: Sequence[int]) -> list[Moved]:
    """Every line that changed what any of the items holds, in the order they happened."""
    flows = [flow for flow in flows_of_items(store, items) if flow.how != CARRY]
    moved = [one for flow in flows for one in _moved(flow) if one.item in items]
    moved += _found(touched_of(store, items), flows)
    return sorted(moved, key=lambda one: (one.happened_us, one.line, one.item))


def _moved(flow: Flow) -> Iterator[Moved]:
    if flow.target_item is not None:
        yield Moved(flow.target_item, flow.line, flow.happened_us, "in", flow.how, flow.received)
        if flow.left != flow.received:
            yield Moved(flow.target_item, flow.line, flow.happened_us, "transit", flow.how, flow.left - flow.received)
    if flow.source_item is not None:
        what: Literal["lost", "out"] = "lost" if flow.how == "loss" else "out"
        yield Moved(flow.source_item, flow.line, flow.happened_us, what, flow.how, flow.left)


def _found(touched: Iterable[Touched], flows: Iterable[Flow]) -> Iterator[Moved]:
    """What gauges found beyond the book, implied ones too."""
    for one, _, more in beyond_flows(touched, flows):
        if any(more):
            yield Moved(one.item, one.line, one.key[0], "gauge", "", more)
