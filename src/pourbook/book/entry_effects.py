"""What an entry changed: what items held before it and after, and which of their facts.

>>> from pourbook import Book, Draft, Facts, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> fill = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("60")),))
>>> entries = Item("C000001H", {"place": "Row 3"}), fill, Facts("C000001H", {"place": "Row 4"})
>>> for entry in entries:
...     _ = book.record(Draft(entry, 0, "M. Aldane"))
>>> before, after = held_around(book.store, key_of("C000001H"), entry_of(book.store, 3))
>>> before.mass_mg, after.mass_mg // 10**6
(0, 181)
>>> facts_around(book.store, key_of("C000001H"), entry_of(book.store, 4))
{'place': ('Row 3', 'Row 4')}
"""

from pourbook.book.contents import LINES
from pourbook.book.journal import Logged, entry_of  # noqa: F401 (the example)
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of  # noqa: F401 (the example)
from pourbook.liquid import EMPTY, Liquid

__all__ = ["facts_around", "held_around"]

_BEFORE = (
    "SELECT mass, ethanol, extract FROM ledger WHERE item = ? AND (happened, place) < (?, ?)"
    " ORDER BY happened DESC, place DESC LIMIT 1"
)


def held_around(store: Store, key: int, entry: Logged) -> tuple[Liquid, Liquid] | None:
    """What an item held just before an entry, and just after it; None where it did not touch it, or counts no more.

    Two rows are read, whatever the item went through.
    """
    first, end = entry.place * LINES, (entry.place + 1) * LINES
    touched = store.query(
        "SELECT place FROM ledger WHERE item = ? AND happened = ? AND place >= ? AND place < ? AND line / ? = ?",
        (key, entry.happened_us, first, end, LINES, entry.number),
    )
    if not touched:
        return None
    around = (store.query(_BEFORE, (key, entry.happened_us, place)) for place in (first, end))
    before, after = (Liquid(*rows[0]) if rows else EMPTY for rows in around)
    return before, after


def facts_around(store: Store, key: int, entry: Logged) -> dict[str, tuple[str, str]]:
    """The facts of an item that an entry stated, each as it was just before and after; empty text where it had none."""
    stated = store.query(
        "SELECT name, value FROM fact WHERE item = ? AND happened = ? AND place = ? ORDER BY name",
        (key, entry.happened_us, entry.place),
    )
    return {name: (_before(store, key, name, entry), value) for name, value in stated}


def _before(store: Store, key: int, name: str, entry: Logged) -> str:
    rows = store.query(
        "SELECT value FROM fact WHERE item = ? AND name = ? AND (happened, place) < (?, ?)"
        " ORDER BY happened DESC, place DESC LIMIT 1",
        (key, name, entry.happened_us, entry.place),
    )
    return rows[0][0] if rows else ""
