"""The fillings of a cask: its ledger read as measurements, draws and what ends a filling.

A filling begins when spirit is poured into the cask and ends when it is emptied, topped up, or when
more than a small draw leaves it: what the cask then holds is the book's guess until it is gauged
anew. Evaporation and soakage that were posted without a gauge are part of what is sought, and pass.

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

from pourbook.alcoholometry.gauging import strength_20c, volume_ml
from pourbook.book.entries import SOURCES
from pourbook.book.holding import LINES
from pourbook.book.journal import parsed
from pourbook.book.reading import chunks
from pourbook.cellar.evaporation import Reading
from pourbook.identifiers import key_of, of_key
from pourbook.liquid import EMPTY, Liquid
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["SMALL_DRAW", "Filling", "fillings"]

SMALL_DRAW = 0.05
"""A pour out of no more than this part of the contents leaves the filling as it is."""

_FRESH_US = 30 * DAY_US
"""So long a gauge of what was filled stands for the filling: a month takes less than a dip rod tells."""

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


class _Row(NamedTuple):
    """A line of the ledger, with what its entry says."""

    happened_us: int
    entry: int
    liquid: Liquid
    line: Mapping[str, Any]


def fillings(store: "Store", casks: Sequence[int]) -> dict[int, list[Filling]]:
    """The fillings of casks, in order of time, by key; those without any measurement are left out."""
    rows = _rows(store, casks)
    sources = {key_of(source) for of_cask in rows.values() for row in of_cask for source in _filled_from(row)}
    gauged = {of_key(key): _gauged_at(of_source) for key, of_source in _rows(store, sorted(sources)).items()}
    return {key: list(_fillings(of_key(key), of_cask, gauged)) for key, of_cask in rows.items()}


def _rows(store: "Store", keys: Sequence[int]) -> dict[int, list[_Row]]:
    found: dict[int, list[_Row]] = {key: [] for key in keys}
    for marks, chunk in chunks(keys):
        for item, happened, line, mass, ethanol, extract, text in store.query(
            "SELECT ledger.item, ledger.happened, ledger.line, ledger.mass, ledger.ethanol, ledger.extract, entry.bytes"
            f" FROM ledger JOIN entry ON entry.number = ledger.line / {LINES} WHERE ledger.item IN ({marks})"
            " ORDER BY ledger.item, ledger.happened, ledger.place",
            chunk,
        ):
            body = parsed(text)["body"]
            told = body["lines"][line % LINES] if "lines" in body else body
            found[item].append(_Row(happened, line // LINES, Liquid(mass, ethanol, extract), told))
    return found


def _filled_from(row: _Row) -> list[str]:
    """The item that a line poured into the cask, if it was one."""
    source = row.line.get("from", "")
    return [source] if source[:1].isupper() and row.line["to"][:1] == "C" else []


def _gauged_at(rows: Iterable[_Row]) -> list[int]:
    return [row.happened_us for row in rows if "item" in row.line and "mass" in row.line and "fraction" in row.line]


def _fillings(cask: str, rows: Sequence[_Row], gauged: Mapping[str, Sequence[int]]) -> Iterator[Filling]:
    current = _Current()
    held = EMPTY
    for row in rows:
        before, held = held, row.liquid
        if "item" in row.line:
            ends = current.gauged(row)
        elif row.line["to"] == cask:
            ends = current.poured_in(row, before, gauged.get(row.line["from"], ()))
        else:
            ends = current.poured_out(row, before)
        if ends:
            yield from ends.filling(is_open=False)
            if ends is current:
                current = _Current()
            else:
                current = current.successor or _Current()
    yield from current.filling(is_open=bool(held.mass_mg))
