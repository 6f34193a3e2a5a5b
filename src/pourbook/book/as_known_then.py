"""The book as it was known when a period was closed, whatever was corrected since.

A correction in a closed period changes the tables, not the account prepared before. Inside `as_known` the
corrections recorded after the closing are undone, in a copy that is never kept, so that the tables show
the time before a moment as they did then. They are wrong for the time after it.

>>> from pourbook import Book, Close, Draft
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 100)
>>> _ = book.record(Draft(Close(), 50, "M. Aldane"))
>>> closed_by(book.store, 50), closed_by(book.store, 60)
(2, None)
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.journal import parsed
from pourbook.book.kinds import statements
from pourbook.codes.identifiers import key_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Row, Store

__all__ = ["NOW", "Corrected", "as_known", "closed_by", "corrected", "is_corrected"]

NOW = 1 << 62
"""A number after all entries."""

_COUNTED = "kind IN ('pour', 'gauge', 'item', 'facts')"


class Corrected(NamedTuple):
    """An entry that a later one voided or replaced.

    Attributes:
        entry: its number.
        kind: what kind of entry it was.
        happened_us: when it happened.
        by: number of the later one.
        how: "voided", or "replaced".
        reason: of the correction.
        who: made the correction.
    """

    entry: int
    kind: str
    happened_us: int
    by: int
    how: str
    reason: str
    who: str


def closed_by(store: "Store", moment_us: int) -> int | None:
    """The entry that closed the time before a moment; None while it is open."""
    rows = store.query(
        "SELECT min(number) FROM entry WHERE kind = 'close' AND gone = 0 AND happened >= ?", (moment_us,)
    )
    number: int | None = rows[0][0]
    return number


def corrected(store: "Store", before_us: int, after: int, until: int) -> list[Corrected]:
    """What happened before a moment and was corrected by entries after one number, up to another."""
    found = []
    for number, kind, happened, by, how, text in store.query(
        "SELECT entry.number, entry.kind, entry.happened, later.number, later.kind, later.bytes"
        " FROM entry JOIN entry AS later ON later.number = entry.gone"
        f" WHERE entry.gone > ? AND entry.gone <= ? AND entry.happened < ? AND entry.{_COUNTED}"
        " ORDER BY later.number, entry.number",
        (after, until, before_us),
    ):
        entry = parsed(text)
        way = "voided" if how == "void" else "replaced"
        found.append(Corrected(number, kind, happened, by, way, entry["reason"], entry["who"]))
    return found


def is_corrected(store: "Store", before_us: int, after: int) -> bool:
    """Whether the record of the time before a moment has changed since that entry."""
    return bool(corrected(store, before_us, after, NOW) or _later(store, before_us, after))


def _later(store: "Store", before_us: int, after: int) -> "list[Row]":
    """Entries in force of the time before a moment, recorded after that number."""
    return store.query(
        f"SELECT number, kind, place, bytes FROM entry WHERE number > ? AND gone = 0 AND happened < ? AND {_COUNTED}",
        (after, before_us),
    )


@contextmanager
def as_known(book: "BookCore", number: int, before_us: int) -> Iterator[None]:
    """Inside, the tables show the time before a moment as they did after an entry."""
    if not is_corrected(book.store, before_us, number):
        yield
        return
    with book.undone():
        _take_back(book.store, number, before_us)
        yield


def _take_back(store: "Store", number: int, before_us: int) -> None:
    later = _later(store, before_us, number)
    earlier = store.query(
        "SELECT number, kind, happened, place, bytes FROM entry"
        f" WHERE number <= ? AND gone > ? AND +happened < ? AND {_COUNTED} ORDER BY happened, place",
        (number, number, before_us),
    )
    _refold(store, [row[0] for row in later if row[1] in ("pour", "gauge")], earlier)
    for _, kind, place, text in later:
        if kind in ("item", "facts"):
            key = key_of(parsed(text)["body"]["item"])
            store.execute("DELETE FROM fact WHERE item = ? AND place = ?", (key, place))
    for first, kind, happened, place, text in earlier:
        for sql, parameters in statements(kind, parsed(text)["body"], first, happened, place):
            if sql.startswith("INSERT INTO fact "):
                store.execute(sql, parameters)


def _refold(store: "Store", later: Sequence[int], earlier: "Sequence[Row]") -> None:
    """Take lines away, and restore in order those that they replaced."""
    from pourbook.book.refold import Refold  # most accounts do without it

    fold = Refold(store)
    for number in later:
        fold.remove(number)
    for number, kind, happened, place, text in earlier:
        if kind in ("pour", "gauge"):
            fold.apply_entry(kind, parsed(text)["body"], number, happened, place)
    fold.finish()
