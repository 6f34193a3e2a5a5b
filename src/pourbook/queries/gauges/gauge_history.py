"""What was read of an item over time, beside the band in which its evaporation lets it be: the figures of a plot.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> from pourbook.times import DAY_US
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 1095 * DAY_US)
>>> fill = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("63.5")),))
>>> gauged = Gauge("C000001H", read_amount("192 l"), read_strength("62.9"))
>>> entries = (Item("C000001H", {}), 0), (fill, 0), (gauged, 730 * DAY_US)
>>> _ = book.record(*(Draft(entry, when, "M. Aldane") for entry, when in entries))
>>> found = gauge_history(book, "C000001H")
>>> [(one.entry, round(one.volume_ml / 1000), round(one.strength_vol, 1)) for one in found.gauges]
[(3, 200, 63.5), (4, 192, 62.9)]
>>> last = found.band[-1]
>>> f"{last.volume_ml.low / 1000:.0f} to {last.volume_ml.high / 1000:.0f} l on the last day"
'185 to 192 l on the last day'
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.book.contents import EVER
from pourbook.book.fillings import fillings
from pourbook.book.items import ItemView, ledger, view
from pourbook.book.journal import entries_of, line_of
from pourbook.codes.identifiers import key_of
from pourbook.errors import OutOfRange, Refused
from pourbook.gauging.evaporation import Evaporation, Expected, evaporation, expected
from pourbook.queries.gauges.last_gauge import strength_was_read

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.fillings import Filling
    from pourbook.book.items import LedgerRow

__all__ = ["GaugeHistory", "GaugeRead", "gauge_history"]

_STEPS = 24
_TWICE = 2
"""A figure is told ± twice its standard uncertainty (k = 2), as everywhere."""


class GaugeRead(NamedTuple):
    """What was measured of an item at a moment; at 20 °C.

    Attributes:
        entry: its number.
        happened_us: when.
        who: who read it.
        volume_ml: volume; None where only the strength was read.
        strength_vol: % vol; None where only the amount was measured.
        volume_within_ml: ± of the volume (k = 2); None where nobody knows.
        strength_within_vol: ± of the strength (k = 2); None likewise.
        instruments: what it was read with, by name.
        is_fill: whether it is what was filled in, and no gauge.
    """

    entry: int
    happened_us: int
    who: str
    volume_ml: float | None
    strength_vol: float | None
    volume_within_ml: float | None = None
    strength_within_vol: float | None = None
    instruments: tuple[str, ...] = ()
    is_fill: bool = False


class GaugeHistory(NamedTuple):
    """The gauges of an item (its view), in order of time, and the `band` of what its present filling should hold.

    The band runs from the first gauge of that filling until the day asked for; empty where its gauges give no rate.
    """

    view: ItemView
    gauges: tuple[GaugeRead, ...]
    band: tuple[Expected, ...]


def gauge_history(book: "BookCore", text: str, on_us: int | None = None) -> GaugeHistory:
    """What was read of an item, and what is to be expected of it until a day; by default, today.

    Raises:
        PourbookError: no such item.
    """
    store = book.store
    with store.snapshot():
        item = book.find(text)
        key, day_us = key_of(item), book.clock() if on_us is None else on_us
        rows = ledger(store, key)
        entries = entries_of(store, (row.entry for row in rows))
        present = fillings(store, [key], EVER)[key][-1:] if item[0] == "C" else []
        filled = {one.entry for filling in present for one in filling.readings}
        gauges = tuple(_read(rows, entries, item, filled))
        return GaugeHistory(view(store, item), gauges, tuple(_band(present[0], day_us)) if present else ())


def _read(
    rows: "list[LedgerRow]", entries: Mapping[int, dict[str, Any]], item: str, filled: set[int]
) -> Iterator[GaugeRead]:
    for row in rows:
        entry = entries[row.entry]
        line, when = line_of(entry["body"], row.line), (row.entry, row.happened_us, entry["who"])
        if entry["kind"] == "gauge":
            yield _gauge(row, line, when)
        elif row.entry in filled and line.get("to") == item:
            yield GaugeRead(*when, row.volume_ml_20c, row.strength_20c, is_fill=True)


def _gauge(row: "LedgerRow", body: Mapping[str, Any], when: tuple[int, int, str]) -> GaugeRead:
    liquid, sure = row.holding.liquid, body.get("uncertainty", {})
    within = {name: _TWICE * float(one["standard"]) for name, one in sure.items()}
    by_litre = within.get("volume_l_20c")
    return GaugeRead(
        *when,
        volume_ml(liquid) if "mass" in body else None,
        strength_20c(liquid) if strength_was_read(body) else None,
        None if by_litre is None else by_litre * 1000,
        within.get("strength_20c"),
        tuple(one.get("name", "") for one in body.get("instruments", ())),
    )


def _band(filling: "Filling", until_us: int) -> Iterator[Expected]:
    """What the filling should have held, and should hold, at moments from its first gauge on."""
    try:
        found: Evaporation = evaporation(filling.readings)
    except Refused:
        return
    first_us = filling.readings[0].happened_us
    last_us = max(until_us, filling.readings[-1].happened_us) if filling.is_open else filling.readings[-1].happened_us
    moments = {first_us + (last_us - first_us) * step // _STEPS for step in range(_STEPS + 1)}
    drawn = [moment for moment, _ in filling.draws if first_us < moment <= last_us]
    moments |= {*drawn, *(moment - 1 for moment in drawn)}  # what a draw takes is gone at once
    for moment_us in sorted(moments):
        try:
            yield expected(found, moment_us, filling.kept(moment_us))
        except OutOfRange:
            return
