"""A blend as its maker asks about it: what it costs, and how long its youngest spirit lay in wood.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> from pourbook.queries.traces.wood_times import age_of
>>> book = Book.create(":memory:", house="Quillmere")
>>> batch = book.next_id("batch")
>>> facts = {"cost": "4.20", "wood_days": 400}
>>> filled = Move("origin", batch, read_amount("200 l"), read_strength("50"), facts=facts)
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(batch, {}), Pour("fill", (filled,)))))
>>> blend = blend_of(book, batch)
>>> f"{blend.told.cost_per_litre:.2f}", age_of(youngest_in(blend), book.zone)
('2.10', Age(years=1, days=35))
"""

from collections.abc import Mapping
from functools import reduce
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.items import ItemView, held, ledger, view
from pourbook.book.lineages import upstream
from pourbook.codes.identifiers import key_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.traces.wood_times import WoodTime, least, wood_of, youngest
from pourbook.queries.trials.poured import Summary, summary

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["Blend", "blend_of", "wood_in", "youngest_in"]


class Blend(NamedTuple):
    """An item and what stands behind it.

    Attributes:
        view: the item and what it holds.
        trace: back, by pure alcohol.
        told: its cost and what is pending.
        wood: line of every origin of spirit to its time in wood; None is unknown.
    """

    view: ItemView
    trace: "Trace"
    told: Summary
    wood: Mapping[int, WoodTime | None]


def blend_of(book: "BookCore", item: str, at_us: int | None = None) -> Blend:
    """What stands behind an item, now or at a moment.

    Raises:
        PourbookError: there is no such item, or nothing was ever poured into it.
    """
    trace = trace_back(book, item, at_us=at_us)
    told = summary(trace, volume_ml(trace.held))
    return Blend(view(book.store, trace.item.id, at_us), trace, told, wood_in(book, trace, at_us))


def wood_in(book: "BookCore", trace: "Trace", at_us: int | None = None) -> Mapping[int, WoodTime | None]:
    """Times in wood of what was traced back, by the line of each origin; that of an empty item ended with it."""
    key = key_of(trace.item.id)
    holding = held(book.store, key, at_us)
    moment = book.clock() if at_us is None else at_us
    if not holding.mass_mg:
        moment = min(moment, ledger(book.store, key)[-1].happened_us)
    return wood_of(trace, upstream(book.store, holding.state, moment).lineage, holding.state, moment)


def youngest_in(*blends: Blend) -> WoodTime | None:
    """The time in wood of the youngest spirit of several; None where that of any is unknown, or there is none."""
    times = [youngest(blend.wood) for blend in blends if blend.trace.held.ethanol_mg]
    return reduce(least, times) if times else None
