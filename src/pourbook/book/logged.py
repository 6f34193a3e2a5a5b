"""Entries as they stand in the journal, by number, by item, by recipe.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     entry_of(book.store, 1).kind
'house'
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pourbook.book.holding import LINES
from pourbook.book.items import ledger
from pourbook.book.journal import parsed
from pourbook.book.store import Store
from pourbook.codes.identifiers import readable
from pourbook.errors import Unknown

__all__ = [
    "Logged",
    "concerning",
    "entry_of",
    "journal",
    "line_of",
    "recipe",
]


class Logged(NamedTuple):
    """An entry of the journal.

    Attributes:
        number: of the entry.
        kind: of the entry.
        happened_us: when.
        gone: the entry that voided or replaced it; 0 while it counts.
        entry: all that was written.
        hash: of the entry, as hexadecimal text.
    """

    number: int
    kind: str
    happened_us: int
    gone: int
    entry: dict[str, Any]
    hash: str


_LOGGED = "SELECT number, kind, happened, gone, bytes, hash FROM entry"


def _logged(row: tuple[Any, ...]) -> Logged:
    number, kind, happened, gone, entry_bytes, entry_hash = row
    return Logged(number, kind, happened, gone, parsed(entry_bytes), entry_hash.hex())


def line_of(body: Mapping[str, Any], line: int) -> Mapping[str, Any]:
    """The line of that number in the body of its entry; a gauge is one line itself."""
    found: Mapping[str, Any] = body["lines"][line % LINES] if "lines" in body else body
    return found


def entry_of(store: Store, number: int) -> Logged:
    """One entry.

    Raises:
        Unknown: there is none of that number.
    """
    rows = store.query(f"{_LOGGED} WHERE number = ?", (number,))
    if not rows:
        raise Unknown(f"there is no entry {number}", "find its number with: pourbook journal")
    return _logged(rows[0])


def journal(store: Store, first: int = 1, last: int = 1 << 62) -> Iterator[Logged]:
    """The entries from one number to another, in the order they were recorded."""
    rows = store.query(f"{_LOGGED} WHERE number BETWEEN ? AND ? ORDER BY number", (first, last))
    return map(_logged, rows)


def concerning(store: Store, keys: Iterable[int]) -> list[Logged]:
    """Every entry that concerns any of the items: pours, gauges, facts, holds, notes, papers.

    Entries that no longer count are among them, and those that took their place.
    """
    numbers: set[int] = set()
    for key in keys:
        for entry, gone in store.query(
            "SELECT mention.entry, entry.gone FROM mention JOIN entry ON entry.number = mention.entry"
            " WHERE mention.item = ?",
            (key,),
        ):
            numbers.update((entry, gone or entry))
        numbers.update(row.entry for row in ledger(store, key))
    return [entry_of(store, number) for number in sorted(numbers)]


def recipe(store: Store, name: str) -> Logged:
    """The latest recipe of that name; one written with its trial bears the trial's identifier, hyphens or not.

    Raises:
        Unknown: there is none.
    """
    question = "SELECT entry FROM recipe WHERE name IN (?, ?) ORDER BY name = ? DESC"
    rows = store.query(question, (name, readable(name), name))
    if not rows:
        known = ", ".join(row[0] for row in store.query("SELECT name FROM recipe ORDER BY name LIMIT 8"))
        raise Unknown(f"there is no recipe '{name}'", f"recipes are: {known}" if known else "write one first")
    return entry_of(store, rows[0][0])
