"""Bottling runs as the journal has them: which lots are filled together, and what was counted and measured of each.

A run is the lots whose fact `run` is the identifier of its first; while it is under way they say what they are filled
from (`filling_from`). Each size is a lot of its own, since content, count, GTIN and label go by the lot.

>>> from pourbook import Book, Draft, Item
>>> from pourbook.book.entries import Counted
>>> book = Book.create(":memory:", house="Quillmere")
>>> facts = {"run": "L000001C", "size_ml": "700", "filling_from": "B000001Y"}
>>> entries = Item("B000001Y", {}), Item("L000001C", facts), Counted("L000001C", "B000001Y", filled=120, broken=1)
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane", confirmed=True) for entry in entries))  # the vat is empty
>>> lots_of_run(book.store, "L000001C"), tally(counts(book.store, "L000001C")).stay
(['L000001C'], 119)
"""

from collections.abc import Iterable
from typing import NamedTuple

from pourbook.book.items import facts
from pourbook.book.search import mentioning
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, of_key

__all__ = ["Count", "FillsRead", "Tally", "counts", "fills", "lots_of_run", "retained", "runs_under_way", "tally"]


_UNDER_WAY = (
    "SELECT DISTINCT run.item FROM fact AS run INDEXED BY fact_run WHERE run.name = 'run' AND (SELECT value FROM fact"
    " WHERE item = run.item AND name = 'filling_from' ORDER BY happened DESC, place DESC LIMIT 1) <> ''"
    " ORDER BY run.item"
)


class Tally(NamedTuple):
    """Bottles by what was counted of them, as in `Counted`.

    All are `filled`; of them `put_back`, `broken`, `destroyed`, `sampled`, `retained`.
    """

    filled: int = 0
    put_back: int = 0
    broken: int = 0
    destroyed: int = 0
    sampled: int = 0
    retained: int = 0

    @property
    def of_the_lot(self) -> int:
        """Bottles that became the lot: all but those emptied back into the vat."""
        return self.filled - self.put_back

    @property
    def gone(self) -> int:
        """Of them, whose liquid is lost."""
        return self.broken + self.destroyed + self.sampled

    @property
    def stay(self) -> int:
        """Of them, whole bottles, whether retained or not."""
        return self.of_the_lot - self.gone


class Count(NamedTuple):
    """A count that stands: its `entry`, when (`happened_us`) and by `who`, the `vat`, the bottles (`tally`).

    `place`, `until` and `witness` are as in `Counted`.
    """

    entry: int
    happened_us: int
    who: str
    vat: str
    tally: Tally
    place: str
    until: str
    witness: str


class FillsRead(NamedTuple):
    """A measurement that stands: its `entry`, when (`happened_us`), by `who`, and `contents_ml` at 20 °C."""

    entry: int
    happened_us: int
    who: str
    contents_ml: tuple[float, ...]


def lots_of_run(store: Store, run: str) -> list[str]:
    """The lots of a run, in the order of their numbers."""
    rows = store.query("SELECT DISTINCT item FROM fact WHERE name = 'run' AND value = ? ORDER BY item", (run,))
    return [of_key(key) for (key,) in rows if facts(store, key).get("run") == run]


def runs_under_way(store: Store) -> list[str]:
    """The runs that have not ended, by the identifiers of their first lots."""
    rows = store.query(_UNDER_WAY)
    return list(dict.fromkeys(facts(store, key)["run"] for (key,) in rows))


def counts(store: Store, lot: str) -> list[Count]:
    """Whatever was counted of a lot and stands, in order of time."""
    key = key_of(lot)
    return [
        Count(
            one.number, one.happened_us, one.entry["who"], body["vat"],
            Tally(*(int(body.get(name, 0)) for name in Tally._fields)),
            body.get("place", ""), body.get("until", ""), body.get("witness", ""),
        )
        for one in mentioning(store, (key,), "counted").get(key, ())
        if (body := one.entry["body"])
    ]  # fmt: skip


def tally(counted: Iterable[Count]) -> Tally:
    """Counts together."""
    return Tally(*map(sum, zip(*(one.tally for one in counted), strict=True)))


def fills(store: Store, lot: str) -> list[FillsRead]:
    """Whatever was measured of the contents of a lot and stands, in order of time."""
    key = key_of(lot)
    return [
        FillsRead(one.number, one.happened_us, one.entry["who"], tuple(ul / 1000 for ul in body["contents_ul"]))
        for one in mentioning(store, (key,), "fills").get(key, ())
        if (body := one.entry["body"])
    ]


def retained(store: Store, lot: str, day: str) -> int:
    """Bottles of a lot that are kept back on a day (ISO)."""
    return sum(one.tally.retained for one in counts(store, lot) if not one.until or one.until >= day)
