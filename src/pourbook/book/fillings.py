"""The fillings of a cask: its ledger read as measurements, draws and what ends a filling.

A filling begins when spirit is poured into the cask and ends when it is emptied, topped up, or when
more than a small draw leaves it: what the cask then holds is the book's guess until the next
gauge. Evaporation and soakage that were posted without a gauge are part of what is sought, and pass.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> entries = (Item(cask, {}), fill, Gauge(cask, 990, None))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> (filling,) = fillings(book.store, [key_of(cask)])[key_of(cask)]
>>> [(reading.entry, reading.strength_vol is None) for reading in filling.readings], filling.is_open
([(3, False), (4, True)], True)
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.book.contents import EVER, LINES
from pourbook.book.entries import SOURCES
from pourbook.book.search import ledger_lines, told
from pourbook.codes.identifiers import key_of, of_key
from pourbook.errors import Refused
from pourbook.gauging.evaporation import Evaporation, Expected, Outside, Reading, evaporation, expected, judged
from pourbook.liquid import EMPTY, Liquid
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["SMALL_DRAW", "Filling", "Outlook", "fillings", "outlook"]

SMALL_DRAW = 0.05
"""A pour out of no more than this part of the contents leaves the filling as it is."""

_FRESH_US = 30 * DAY_US
"""How long a gauge of what was filled stands for the filling: a month takes less than a dip rod shows."""

_AIR = ("evaporation", "soakage")


class Filling(NamedTuple):
    """A cask between two moments at which only a gauge could say what it holds.

    Attributes:
        readings: what was measured of it, in order of time.
        draws: moment of each small draw, with the part of the contents left from the beginning until then.
        is_open: whether it still lies there.
    """

    readings: tuple[Reading, ...]
    draws: tuple[tuple[int, float], ...]
    is_open: bool

    def kept(self, at_us: int) -> float:
        """The part of the contents that draws had left at a moment."""
        return next((kept for moment, kept in reversed(self.draws) if moment <= at_us), 1.0)


class Outlook(NamedTuple):
    """What the gauges of a filling say of it.

    Attributes:
        found: what it loses; None where its gauges are too few.
        ahead: what it should hold on the day asked for; None likewise, and where it is over.
        last: what the earlier readings predict for the last one; None where they are too few.
        outside: what of the last reading is far from that.
    """

    found: Evaporation | None
    ahead: Expected | None
    last: Expected | None
    outside: tuple[Outside, ...]


def outlook(filling: Filling, on_us: int) -> Outlook:
    """What a filling loses, what it should hold on a day, and whether its last gauge is far from the others.

    Raises:
        OutOfRange: a day more than a century away.
    """
    *earlier, latest = filling.readings
    last, outside = judged(earlier, latest) or (None, ())
    try:
        found = evaporation(filling.readings)
    except Refused:
        return Outlook(None, None, last, outside)
    ahead = expected(found, on_us, filling.kept(on_us)) if filling.is_open else None
    return Outlook(found, ahead, last, outside)


def fillings(store: "Store", casks: Sequence[int], until_us: int = EVER) -> dict[int, list[Filling]]:
    """The measured fillings of casks in order of time, by the key of the cask, up to a moment."""
    rows = _rows(store, casks, until_us)
    sources = {key_of(row.line["from"]) for of_cask in rows.values() for row in of_cask if _comes_from_item(row)}
    known = {of_key(key): _known_at(of_source) for key, of_source in _rows(store, sorted(sources), until_us).items()}
    return {key: list(_fillings(of_key(key), of_cask, known)) for key, of_cask in rows.items()}


class _Row(NamedTuple):
    """A line of the ledger, with what its entry says."""

    happened_us: int
    entry: int
    liquid: Liquid
    line: Mapping[str, Any]


def _rows(store: "Store", keys: Sequence[int], until_us: int) -> dict[int, list[_Row]]:
    found: dict[int, list[_Row]] = {key: [] for key in keys}
    for line in ledger_lines(store, keys, until_us):
        found[line.key].append(_Row(line.happened_us, line.line // LINES, line.after.liquid, told(line)))
    return found


def _comes_from_item(row: _Row) -> bool:
    return str(row.line.get("from", ""))[:1].isupper()


def _known_at(rows: Iterable[_Row]) -> list[int]:
    """When amount and strength of an item were measured, by a gauge or as it was filled from outside."""
    return [
        row.happened_us
        for row in rows
        if ("item" in row.line and "mass" in row.line and "fraction" in row.line) or row.line.get("from") == "origin"
    ]


# -- one cask ----------------------------------------------------------------------------


class _Current:
    """The filling that is being read."""

    def __init__(self, began_us: int | None = None) -> None:
        self.began_us = began_us
        self.is_measured = began_us is not None
        self.readings: list[Reading] = []
        self.draws: list[tuple[int, float]] = []
        self.kept = 1.0

    def read(self, row: _Row, volume: float | None, strength: float | None) -> None:
        self.readings.append(Reading(row.happened_us, row.entry, volume, strength, self.kept))

    def filled(self, row: _Row, *, is_measured: bool) -> None:
        """Spirit was poured in; several pours of one day fill a cask together."""
        self.is_measured = self.is_measured and is_measured
        self.readings.clear()
        if self.is_measured:
            self.read(row, volume_ml(row.liquid), strength_20c(row.liquid))

    def gauged(self, row: _Row) -> None:
        """Amount, strength, or both were measured; what was warm or unmixed is not to be relied on."""
        if "provisional" in row.line:
            return
        volume = volume_ml(row.liquid) if "mass" in row.line else None
        self.read(row, volume, strength_20c(row.liquid) if "fraction" in row.line else None)

    def drawn(self, row: _Row, before: Liquid) -> None:
        self.kept *= row.liquid.mass_mg / before.mass_mg
        self.draws.append((row.happened_us, self.kept))

    def ended(self, *, is_open: bool = False) -> list[Filling]:
        return [Filling(tuple(self.readings), tuple(self.draws), is_open)] if self.readings else []


def _fillings(cask: str, rows: Sequence[_Row], known: Mapping[str, Sequence[int]]) -> Iterator[Filling]:
    current, held = _Current(), EMPTY
    for row in rows:
        before, held = held, row.liquid
        is_in = row.line.get("to") == cask
        if is_in and not _fills(current, row, before):
            yield from current.ended()
            current = _Current(None if before.mass_mg else row.happened_us)
        if is_in and current.began_us is not None:
            current.filled(row, is_measured=_is_measured(row, known))
        elif "item" in row.line and held.mass_mg:
            current.gauged(row)
        elif not is_in and not _goes_on(current, row, before):
            yield from current.ended()
            current = _Current()
    yield from current.ended(is_open=bool(held.mass_mg))


def _fills(current: _Current, row: _Row, before: Liquid) -> bool:
    """Whether a pour in goes on filling the cask, and does not top it up."""
    return bool(before.mass_mg) and current.began_us is not None and row.happened_us - current.began_us <= DAY_US


def _is_measured(row: _Row, known: Mapping[str, Sequence[int]]) -> bool:
    source = row.line["from"]
    if source in SOURCES:
        return "pending" not in row.line
    return any(0 <= row.happened_us - moment <= _FRESH_US for moment in known.get(source, ()))


def _goes_on(current: _Current, row: _Row, before: Liquid) -> bool:
    """Whether the filling outlasts a gauge that found nothing, or a pour out; reads what that measured."""
    if "all" in row.line and "mass" in row.line and before.mass_mg:
        current.read(row, volume_ml(before.scaled(row.line["mass"])), None)
    if not row.liquid.mass_mg or not before.mass_mg:
        return False
    if row.line.get("facts", {}).get("disposition") in _AIR:
        return True
    if before.mass_mg - row.liquid.mass_mg > SMALL_DRAW * before.mass_mg:
        return False
    current.drawn(row, before)
    return True
