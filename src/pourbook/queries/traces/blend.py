"""A blend as its maker asks about it: what it costs, and how long its youngest spirit lay in wood.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> from pourbook.lineage.ages import age_of
>>> book = Book.create(":memory:", house="Quillmere")
>>> batch = book.next_id("batch")
>>> facts = {"cost": "4.20", "wood_days": 400}
>>> filled = Move("origin", batch, read_amount("200 l"), read_strength("50"), facts=facts)
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(batch, {}), Pour("fill", (filled,)))))
>>> blend = blend_of(book, batch)
>>> f"{blend.told.cost_per_litre:.2f}", age_of(youngest_in(blend), book.zone)
('2.10', Age(years=1, days=35))
"""

from functools import reduce
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.items import ItemView, view
from pourbook.lineage.ages import WoodTime, least
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.poured import Summary, summary

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["Blend", "blend_of", "youngest_in"]


class Blend(NamedTuple):
    """The view of an item, its trace back by pure alcohol, and what is told of it: cost and pending."""

    view: ItemView
    trace: "Trace"
    told: Summary


def blend_of(book: "BookCore", item: str, at_us: int | None = None) -> Blend:
    """What stands behind an item, now or at a moment.

    Raises:
        PourbookError: no such item, or nothing was ever poured into it.
    """
    trace = trace_back(book, item, at_us=at_us)
    told = summary(trace, volume_ml(trace.held))
    return Blend(view(book.store, trace.item.id, at_us), trace, told)


def youngest_in(*blends: Blend) -> WoodTime | None:
    """The time in wood of the youngest spirit of several blends; None where any is unknown, or none holds spirit."""
    times = [blend.trace.age.youngest for blend in blends if blend.trace.held.ethanol_mg]
    return reduce(least, times) if times else None
