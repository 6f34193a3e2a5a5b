"""Why a figure of an item is what it is: the entries behind its volume and strength, its age, its cost.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 400 * 86_400_000_000)
>>> cask, vial = Item("C000001H", {}), Item("V000001R", {})
>>> facts = {"wood_days": 0, "cost": "12"}
>>> fill = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("60"), facts=facts),))
>>> drawn = Pour("draw", (Move("C000001H", "V000001R", read_amount("200 ml")),))
>>> gauge = Gauge("C000001H", read_amount("198 l"), None)
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (cask, vial, fill, gauge, drawn)))
>>> behind = contents_behind(book, "C000001H")
>>> [(step.entry, step.what, round(step.after_ml)) for step in behind.steps], behind.earlier
([(5, 'gauge', 198000), (6, 'draw', 197800)], 1)
>>> [(one.origin.entry, one.wood.wood_us // 86_400_000_000) for one in ages_behind(book, "C000001H")]
[(4, 400)]
>>> [(str(one.per_lpa), f"{one.cost:.2f}") for one in costs_behind(book.trace_back("C000001H"))]
[('12', '1424.16')]
"""

from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ItemView, ledger, view
from pourbook.book.journal import entries_of
from pourbook.book.lineages import upstream, what_is_traced
from pourbook.codes.identifiers import key_of
from pourbook.numerals import read_decimal
from pourbook.queries.gauges.last_gauge import LastGauge, last_gauge
from pourbook.queries.traces.trace import trace_back, wood_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.book.core import BookCore
    from pourbook.book.items import LedgerRow
    from pourbook.lineage.ages import WoodTime
    from pourbook.queries.traces.trace_answer import OriginShare, Trace

__all__ = [
    "AgeBehind", "ContentsBehind", "ContentsStep", "CostBehind", "ages_behind", "contents_behind", "costs_behind",
]  # fmt: skip

_MOST_STEPS = 200


class ContentsStep(NamedTuple):
    """What an entry made of the contents of an item.

    Attributes:
        entry: its number.
        happened_us: when.
        who: recorded it.
        what: the verb of a pour, else "gauge".
        before_ml, after_ml: volume at 20 °C.
        before_strength, after_strength: % vol at 20 °C; None where it was empty.
    """

    entry: int
    happened_us: int
    who: str
    what: str
    before_ml: float
    after_ml: float
    before_strength: float | None
    after_strength: float | None


class ContentsBehind(NamedTuple):
    """The entries behind what an item holds, the oldest first.

    Attributes:
        item: as it is at the moment asked about.
        steps: from the last gauge of its amount on; from the first line that touched it, where it was never gauged.
        earlier: how many lines before them no longer matter, or, beyond 200, are not listed.
        gauge: the last that speaks of its strength, with its uncertainty; None where none does.
    """

    item: ItemView
    steps: tuple[ContentsStep, ...]
    earlier: int
    gauge: LastGauge | None


class AgeBehind(NamedTuple):
    """An origin of spirit and its time in wood; None where nobody knows it, and then no age may be stated."""

    origin: "OriginShare"
    wood: "WoodTime | None"


class CostBehind(NamedTuple):
    """An origin of spirit, its cost `per_lpa` (a litre of its pure alcohol), and the `cost` of what is in the item."""

    origin: "OriginShare"
    per_lpa: Decimal | None
    cost: float | None


def contents_behind(book: "BookCore", text: str, at_us: int | None = None) -> ContentsBehind:
    """The entries behind the volume and the strength of an item, now or at a moment.

    Raises:
        PourbookError: no such item.
    """
    store = book.store
    with store.snapshot():
        identifier = book.find(text)
        rows = [row for row in ledger(store, key_of(identifier)) if at_us is None or row.happened_us <= at_us]
        entries = entries_of(store, {row.entry for row in rows})
        gauged = [place for place, row in enumerate(rows) if entries[row.entry]["kind"] == "gauge"]
        first = max(gauged[-1] if gauged else 0, len(rows) - _MOST_STEPS)
        steps = tuple(_step(rows, place, entries[rows[place].entry]) for place in range(first, len(rows)))
        return ContentsBehind(view(store, identifier, at_us), steps, first, last_gauge(store, identifier, at_us))


def _step(rows: "Sequence[LedgerRow]", place: int, entry: dict[str, object]) -> ContentsStep:
    after = rows[place]
    before = rows[place - 1] if place else None
    body = entry["body"]
    assert isinstance(body, dict)
    return ContentsStep(
        after.entry, after.happened_us, str(entry["who"]), str(body.get("verb", entry["kind"])),
        before.volume_ml_20c if before else 0.0, after.volume_ml_20c,
        before.strength_20c if before else None, after.strength_20c,
    )  # fmt: skip


def ages_behind(book: "BookCore", text: str, at_us: int | None = None) -> tuple[AgeBehind, ...]:
    """Time in wood of every spirit in an item, that of unknown age first, then the youngest.

    Raises:
        PourbookError: no such item, or nothing was ever poured into it.
    """
    store = book.store
    with store.snapshot():
        trace = trace_back(book, text, at_us=at_us)
        holding, as_of_us = what_is_traced(store, key_of(trace.item.id), at_us, book.clock())
        times = wood_of(trace, upstream(store, holding.state, as_of_us).lineage, holding.state, as_of_us)
    spirits = [AgeBehind(one, times.get(one.line)) for one in trace.origins if one.ethanol_mg > 0]
    return tuple(sorted(spirits, key=lambda one: -1 if one.wood is None else one.wood.wood_us))


def costs_behind(trace: "Trace") -> tuple[CostBehind, ...]:
    """What each spirit in what was traced back cost: litres of its pure alcohol in it, times the cost of one."""
    return tuple(_cost(one) for one in trace.origins if one.ethanol_mg > 0)


def _cost(origin: "OriginShare") -> CostBehind:
    text = origin.facts.get("cost")
    if text is None:
        return CostBehind(origin, None, None)
    per_lpa = read_decimal(str(text).replace(",", "."))
    return CostBehind(origin, per_lpa, float(per_lpa) * origin.pure_alcohol_ml / 1000.0)
