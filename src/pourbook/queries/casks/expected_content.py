"""What a cask should hold on a day: by its evaporation where its gauges give a rate, else by the usual loss.

The usual loss of a year is the median of all casks that lie there with a rate, `USUAL` where none has one; it counts
from when the contents were last measured, and leaves the strength as it is.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 1095 * DAY_US)
>>> fills = [Move("origin", one, read_amount("200 l"), read_strength("63.5")) for one in ("C000001H", "C000002F")]
>>> entries = *(Item(one.target, {}) for one in fills), Pour("fill", tuple(fills))
>>> gauged = Gauge("C000001H", read_amount("192 l"), read_strength("62.9"))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries), Draft(gauged, 730 * DAY_US, "M. Aldane"))
>>> for one in expected_contents(book, ["C000001H", "C000002F"]).values():
...     print(f"{volume_ml(one.liquid) / 1000:.1f} l by the {one.by}")
188.1 l by the evaporation
188.1 l by the usual loss
"""

from collections.abc import Iterable, Mapping
from statistics import median
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.alcoholometry.volumes import liquid_of_volume, volume_ml
from pourbook.bench.trials import liquid_of_volume as volume_of
from pourbook.book.contents import EVER
from pourbook.book.fillings import Outlook, fillings, outlook
from pourbook.book.items import held, on_hand
from pourbook.book.last_measured import last_measured
from pourbook.codes.identifiers import key_of, kind_of
from pourbook.gauging.evaporation import YEAR_US
from pourbook.liquid import Liquid
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["USUAL", "ExpectedContent", "UsualLoss", "below_book_ml", "expected_contents", "expected_with_usual"]

USUAL = 0.02
"""Part of its contents that a cask loses in a year, where no cask has a rate: common practice, no source."""


class ExpectedContent(NamedTuple):
    """What an item should hold: the liquid, and by what it is expected."""

    liquid: Liquid
    by: Literal["evaporation", "usual loss", "book"]


class UsualLoss(NamedTuple):
    """The part of its contents that a year takes `yearly` from a cask, and by the gauges of how many `casks`."""

    yearly: float
    casks: int


def expected_contents(book: "BookCore", items: Iterable[str], on_us: int | None = None) -> dict[str, ExpectedContent]:
    """What items should hold on a day, by default now, by identifier.

    Never more than the book has, since that could not be poured.
    """
    return expected_with_usual(book, items, on_us)[0]


def below_book_ml(book: "BookCore", item: str, on_us: int) -> float | None:
    """What a cask should hold at a moment, at 20 °C, where air took some since it was measured; else None."""
    found = expected_contents(book, [item], on_us)[item]
    return None if found.by == "book" else volume_ml(found.liquid)


def expected_with_usual(
    book: "BookCore", items: Iterable[str], on_us: int | None = None
) -> tuple[dict[str, ExpectedContent], UsualLoss | None]:
    """The same, with the loss that is usual in the house; None where every cask has a rate of its own."""
    items, day_us = tuple(items), book.clock() if on_us is None else on_us
    casks = [key_of(item) for item in items if kind_of(item) == "cask"]
    known = _outlooks(book, casks, day_us)
    usual = None
    if any(not one or one.ahead is None for one in known.values()):
        others = {key_of(view.id) for view in on_hand(book.store, None, "cask")} - known.keys()
        usual = _usual({**known, **_outlooks(book, others, day_us)})

    def expected(item: str) -> ExpectedContent:
        key = key_of(item)
        by_book, found = held(book.store, key, on_us).liquid, known.get(key)
        if usual is None or key not in known or (found and found.ahead):
            return _by_its_gauges(by_book, found)
        return _by_the_usual(by_book, _years(book, key, day_us), usual)

    return {item: expected(item) for item in items}, usual


def _outlooks(book: "BookCore", casks: Iterable[int], day_us: int) -> dict[int, Outlook | None]:
    """What the gauges of each cask's latest filling say; None where nothing was measured of it."""
    found = fillings(book.store, list(casks), day_us)
    return {key: outlook(of[-1], day_us) if of else None for key, of in found.items()}


def _usual(known: Mapping[int, Outlook | None]) -> UsualLoss:
    rates = [one.found.loss_volume().expected for one in known.values() if one and one.found and one.ahead]
    return UsualLoss(min(1.0, max(0.0, median(rates))) if rates else USUAL, len(rates))


def _by_its_gauges(by_book: Liquid, found: Outlook | None) -> ExpectedContent:
    ahead = found.ahead if found else None
    if ahead is None or not by_book.mass_mg or ahead.volume_ml.expected >= volume_ml(by_book):
        return ExpectedContent(by_book, "book")
    ml = ahead.volume_ml.expected
    if ahead.strength_vol is None or by_book.extract_mg:
        return ExpectedContent(volume_of(ml, by_book), "evaporation")  # the air's part of the strength is not known
    return ExpectedContent(liquid_of_volume(ml, ahead.strength_vol.expected), "evaporation")


def _by_the_usual(by_book: Liquid, years: float, usual: UsualLoss) -> ExpectedContent:
    if not by_book.mass_mg or years * YEAR_US < DAY_US:
        return ExpectedContent(by_book, "book")
    ml = volume_ml(by_book) * (1.0 - usual.yearly) ** years
    return ExpectedContent(volume_of(ml, by_book), "usual loss")


def _years(book: "BookCore", cask: int, day_us: int) -> float:
    """From when the contents of a cask were last measured until a day; 0 where they never were."""
    measured = last_measured(book.store, cask, (min(day_us + 1, EVER), 0))
    return 0.0 if measured is None else (day_us - measured.happened_us) / YEAR_US
