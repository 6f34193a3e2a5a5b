"""The pours and gauges that count, in the order they apply, each with what it did.

The journal is folded anew as it is read; nothing is taken from the tables of what items hold.

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
from pourbook.book.journal import parsed
from pourbook.book.refold import items_of
from pourbook.book.store import Store
from pourbook.liquid import Liquid

__all__ = ["Line", "replayed"]


class Line(NamedTuple):
    """A line of the journal, applied.

    Attributes:
        kind: pour or gauge.
        happened_us: when.
        entry: all that was written.
        place: of the line in its entry.
        body: of the line.
        held_mg: total mass in the source (of a pour) or the item (of a gauge) just before; 0 outside.
        outcome: what it did.
    """

    kind: str
    happened_us: int
    entry: dict[str, Any]
    place: int
    body: dict[str, Any]
    held_mg: int
    outcome: Outcome

    @property
    def left(self) -> Liquid:
        """Of a pour: the liquid as it left its source."""
        if self.body["from"] == "return":
            return Liquid(self.body["mass"], self.body["ethanol"], self.body.get("extract", 0))
        *_, flow = self.outcome.flows
        if flow.out_mass_mg is None:
            return Liquid(flow.mass_mg, flow.ethanol_mg, flow.extract_mg)
        return Liquid(flow.out_mass_mg, flow.out_ethanol_mg or 0, flow.out_extract_mg or 0)

    @property
    def received_mg(self) -> int:
        """Of a pour: total mass that arrived."""
        received: int = self.body.get("in", self.left.mass_mg)
        return received


def replayed(store: Store, until_us: int | None = None) -> Iterator[Line]:
    """Every line that counts, in the order they apply; until a moment, if one is given."""
    holdings: dict[int, Holding] = {}
    rows = store.stream(
        "SELECT number, kind, happened, bytes FROM entry WHERE gone = 0 AND kind IN ('pour', 'gauge')"
        " AND happened <= ? ORDER BY happened, place",
        (1 << 62 if until_us is None else until_us,),
    )
    for number, kind, happened_us, bytes_ in rows:
        entry = parsed(bytes_)
        body = entry["body"]
        for place, line in enumerate(body["lines"] if kind == "pour" else (body,)):
            source, target = items_of(kind, line)
            held = NOTHING if source is None else holdings.get(source, NOTHING)
            outcome = _applied(kind, line, line_number(number, place), source, target, holdings)
            if source is not None and outcome.source is not None:
                holdings[source] = outcome.source
            if target is not None and outcome.target is not None:
                holdings[target] = outcome.target
            yield Line(kind, happened_us, entry, place, line, held.mass_mg, outcome)


def _applied(
    kind: str,
    line: dict[str, Any],
    number: int,
    source: int | None,
    target: int | None,
    holdings: dict[int, Holding],
) -> Outcome:
    held = None if source is None else holdings.get(source, NOTHING)
    if kind == "gauge":
        assert held is not None
        return gauge(line, number, held)
    return pour(line, number, held, None if target is None else holdings.get(target, NOTHING))
