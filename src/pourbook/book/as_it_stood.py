"""The book as it stood after one of its entries: a second book, folded from the entries up to there.

Unlike `as_known`, it shows all of the book, not only the time before a moment; it costs as much as a verification.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> items = Item(cask, {"ref": "Row 3/12"}), Item(book.next_id("vial"), {})
>>> _ = book.record(*(Draft(item, 0, "M. Aldane") for item in items))
>>> with as_it_stood(book.store, 2) as earlier:
...     earlier.query("SELECT count(*) FROM item")
[(1,)]
"""

from collections.abc import Iterator
from contextlib import contextmanager

from pourbook.book.store import Store
from pourbook.book.verifying import rebuild, standing

__all__ = ["as_it_stood"]


@contextmanager
def as_it_stood(store: Store, number: int) -> Iterator[Store]:
    """A scratch book of the entries up to that one, with their hashes; gone at the end.

    Raises:
        PourbookError: the journal cannot be folded.
    """
    earlier = Store.scratch()
    try:
        with earlier.transaction():
            earlier.execute_many(
                "INSERT INTO entry (number, kind, happened, place, gone, bytes, hash) VALUES (?,?,?,?,0,?,?)",
                store.stream(
                    "SELECT number, kind, happened, number, bytes, hash FROM entry WHERE number <= ? ORDER BY number",
                    (number,),
                ),
            )
            for corrected, (gone, place) in standing(earlier).items():
                earlier.execute("UPDATE entry SET gone = ?, place = ? WHERE number = ?", (gone, place, corrected))
            rebuild(earlier)
        yield earlier
    finally:
        earlier.close()
