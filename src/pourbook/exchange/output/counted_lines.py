"""The pours and gauges that count, in the order they apply, each with what it did.

The journal is folded as it is read; the tables of what items hold are not used.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> with Book.create(":memory:", house="Quillmere") as book:
...     cask = book.next_id("cask")
...     filled = Move("origin", cask, 1000, composition=Liquid(1000, 500, 0))
...     _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(Pour("fill", (filled,)), 0, "M. Aldane"))
...     [line.outcome.target.mass_mg for line in replayed(book.store)]
[1000]
"""

from collections.abc import Iterator
from typing import Any, NamedTuple

from pourbook.book.fold import NOTHING, Holding, Outcome, gauge, line_number, pour
from pourbook.book.refold import items_of
from pourbook.book.search import counting
from pourbook.book.store import Store
from pourbook.liquid import Liquid

__all__ = ["Line", "moved", "replayed"]


class Line(NamedTuple):
    """A line of the journal, applied: its entry, its place in it, its body and the outcome.

    `held` is what the source of a pour, or the item gauged, held just before; nothing outside.
    """

    entry: dict[str, Any]
    place: int
    body: dict[str, Any]
    held: Liquid
    outcome: Outcome

    @property
    def left(self) -> Liquid:
        """Of a pour: the liquid as it left its source."""
        return moved(self.outcome)[0]

    @property
    def received_mg(self) -> int:
        """Of a pour: total mass that arrived."""
        return int(self.body.get("in", self.left.mass_mg))


def moved(outcome: Outcome) -> tuple[Liquid, Liquid]:
    """The liquid of a pour as it left, and as it arrived."""
    flow = outcome.flows[-1]
    received = Liquid(flow.mass_mg, flow.ethanol_mg, flow.extract_mg)
    if flow.out_mass_mg is None:
        return received, received
    return Liquid(flow.out_mass_mg, flow.out_ethanol_mg or 0, flow.out_extract_mg or 0), received


def replayed(store: Store, until_us: int | None = None) -> Iterator[Line]:
    """Every line that counts until a moment (None: all), in the order they apply."""
    holdings: dict[int, Holding] = {}
    for logged in counting(store, until_us):
        kind, body = logged.kind, logged.entry["body"]
        for place, line in enumerate(body["lines"] if kind == "pour" else (body,)):
            ends = items_of(kind, line)
            source, target = (None if end is None else holdings.get(end, NOTHING) for end in ends)
            number = line_number(logged.number, place)
            outcome = gauge(line, number, source or NOTHING) if kind == "gauge" else pour(line, number, source, target)
            after = zip(ends, (outcome.source, outcome.target), strict=True)
            holdings |= {end: holding for end, holding in after if end is not None and holding is not None}
            yield Line(logged.entry, place, line, (source or NOTHING).liquid, outcome)
