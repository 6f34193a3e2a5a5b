"""What a cask should hold on a day: by its evaporation where its gauges give a rate, else by the book.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> from pourbook.times import DAY_US
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 1095 * DAY_US)
>>> fills = [Move("origin", one, read_amount("200 l"), read_strength("63.5")) for one in ("C000001H", "C000002F")]
>>> entries = *(Item(one.target, {}) for one in fills), Pour("fill", tuple(fills))
>>> gauged = Gauge("C000001H", read_amount("192 l"), read_strength("62.9"))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries), Draft(gauged, 730 * DAY_US, "M. Aldane"))
>>> for one in expected_contents(book, ["C000001H", "C000002F"]).values():
...     print(f"{volume_ml(one.liquid) / 1000:.1f} l by the {one.by}")
188.1 l by the evaporation
200.0 l by the book
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.alcoholometry.volumes import liquid_of_volume, volume_ml
from pourbook.bench.trials import liquid_of_volume as volume_of
from pourbook.book.fillings import fillings, outlook
from pourbook.book.items import held
from pourbook.codes.identifiers import key_of, kind_of
from pourbook.liquid import Liquid

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.gauging.evaporation import Expected

__all__ = ["ExpectedContent", "expected_contents"]


class ExpectedContent(NamedTuple):
    """What an item should hold: the liquid, and by what it is expected."""

    liquid: Liquid
    by: Literal["evaporation", "book"]


def expected_contents(book: "BookCore", items: Iterable[str], on_us: int | None = None) -> dict[str, ExpectedContent]:
    """What items should hold on a day, by default now, by identifier.

    Never more than the book has, since that could not be poured.
    """
    items, day_us = tuple(items), book.clock() if on_us is None else on_us
    casks = [key_of(item) for item in items if kind_of(item) == "cask"]
    latest = {key: found[-1] for key, found in fillings(book.store, casks, day_us).items() if found}
    ahead = {key: outlook(one, day_us).ahead for key, one in latest.items()}
    return {item: _expected(held(book.store, key_of(item), on_us).liquid, ahead.get(key_of(item))) for item in items}


def _expected(by_book: Liquid, ahead: "Expected | None") -> ExpectedContent:
    if ahead is None or not by_book.mass_mg or ahead.volume_ml.expected >= volume_ml(by_book):
        return ExpectedContent(by_book, "book")
    ml = ahead.volume_ml.expected
    if ahead.strength_vol is None or by_book.extract_mg:
        return ExpectedContent(volume_of(ml, by_book), "evaporation")  # the air's part of the strength is not known
    return ExpectedContent(liquid_of_volume(ml, ahead.strength_vol.expected), "evaporation")
