"""Entries as they stand in the journal, by number, by item, by recipe.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     entry_of(book.store, 1).kind
'house'
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from pourbook.book.holding import LINES
from pourbook.book.items import chunks, ledger
from pourbook.book.journal import parsed
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, readable
from pourbook.errors import Unknown

__all__ = [
    "LOGGED",
    "Logged",
    "concerning",
    "counting",
    "entries_of",
    "entry_of",
    "hash_of",
    "imports",
    "journal",
    "last_number",
    "line_of",
    "logged",
    "logged_of",
    "number_of",
    "of_kind",
    "recipe",
    "recipe_before",
    "written_entries",
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
        place: among the entries of one moment; a replacement has that of what it replaced.
    """

    number: int
    kind: str
    happened_us: int
    gone: int
    entry: dict[str, Any]
    hash: str
    place: int = 0


LOGGED = "SELECT number, kind, happened, gone, bytes, hash, place FROM entry"
"""Asks for what `logged` takes."""


def logged(row: Sequence[Any]) -> Logged:
    """An entry from its row."""
    number, kind, happened, gone, entry_bytes, entry_hash, place = row
    return Logged(number, kind, happened, gone, parsed(entry_bytes), entry_hash.hex(), place)


def line_of(body: Mapping[str, Any], line: int) -> Mapping[str, Any]:
    """The line of that number in the body of its entry; a gauge is one line itself."""
    found: Mapping[str, Any] = body["lines"][line % LINES] if "lines" in body else body
    return found


def entry_of(store: Store, number: int) -> Logged:
    """One entry; `Unknown` where the journal has no such number."""
    rows = store.query(f"{LOGGED} WHERE number = ?", (number,))
    if not rows:
        raise Unknown(f"the journal has no entry {number}", "find its number: pourbook journal")
    return logged(rows[0])


def entries_of(store: Store, numbers: Iterable[int]) -> dict[int, dict[str, Any]]:
    """Entries by their numbers, all that was written, each read once."""
    return {
        number: parsed(text)
        for marks, chunk in chunks(sorted(set(numbers)))
        for number, text in store.query(f"SELECT number, bytes FROM entry WHERE number IN ({marks})", chunk)
    }


def journal(store: Store, first: int = 1, last: int = 1 << 62) -> Iterator[Logged]:
    """The entries from one number to another, in the order they were recorded."""
    return map(logged, store.stream(f"{LOGGED} WHERE number BETWEEN ? AND ? ORDER BY number", (first, last)))


def written_entries(store: Store) -> Iterator[tuple[int, str]]:
    """Number and text of every entry, in the order they were recorded."""
    return store.stream("SELECT number, bytes FROM entry ORDER BY number")


def last_number(store: Store) -> int:
    """Number of the last entry; 0 for an empty journal."""
    return int(store.query("SELECT coalesce(max(number), 0) FROM entry")[0][0])


def hash_of(store: Store, number: int) -> str:
    """The hash of an entry as hexadecimal text; empty beyond the end of the journal."""
    rows = store.query("SELECT hash FROM entry WHERE number = ?", (number,))
    return rows[0][0].hex() if rows else ""


def number_of(store: Store, entry_hash: str) -> int:
    """The entry that has this hash, or 0."""
    rows = store.query("SELECT number FROM entry WHERE hash = ?", (bytes.fromhex(entry_hash),))
    return rows[0][0] if rows else 0


def of_kind(store: Store, kind: str, item: str = "") -> Iterator[Logged]:
    """The entries of a kind that count, in the order they were recorded; of an item where one is named."""
    of_item = " AND number IN (SELECT entry FROM mention WHERE item = ?)" if item else ""
    about = (kind, key_of(item)) if item else (kind,)
    return map(logged, store.query(f"{LOGGED} WHERE kind = ? AND gone = 0{of_item} ORDER BY number", about))


def counting(store: Store, until_us: int | None = None) -> Iterator[Logged]:
    """Pours and gauges that count, in the order they apply; until a moment, if one is given. Memory stays flat."""
    question = f"{LOGGED} WHERE gone = 0 AND kind IN ('pour', 'gauge') AND happened <= ? ORDER BY happened, place"
    return map(logged, store.stream(question, (1 << 62 if until_us is None else until_us,)))


def imports(store: Store) -> Iterator[Logged]:
    """The imports, in the order they were recorded."""
    return map(logged, store.query(f"{LOGGED} WHERE kind = 'imported' ORDER BY number"))


def logged_of(store: Store, numbers: Collection[int]) -> Iterator[Logged]:
    """The entries of these numbers, with what became of them."""
    for marks, chunk in chunks(sorted(numbers)):
        yield from map(logged, store.query(f"{LOGGED} WHERE number IN ({marks})", chunk))


def concerning(store: Store, keys: Iterable[int]) -> list[Logged]:
    """Every entry that concerns any of the items: pours, gauges, facts, holds, notes, papers; also those corrected."""
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
        Unknown: nothing goes by that name.
    """
    question = "SELECT entry FROM recipe WHERE name IN (?, ?) ORDER BY name = ? DESC"
    rows = store.query(question, (name, readable(name), name))
    if not rows:
        known = ", ".join(row[0] for row in store.query("SELECT name FROM recipe ORDER BY name LIMIT 8"))
        raise Unknown(f"no recipe is called '{name}'", f"recipes are: {known}" if known else "write one first")
    return entry_of(store, rows[0][0])


def recipe_before(store: Store, name: str, number: int) -> Logged | None:
    """The recipe of that name as it stood before an entry; None where it was written later."""
    question = "SELECT number FROM entry WHERE kind = 'recipe' AND number < ? ORDER BY number DESC"
    earlier = (entry_of(store, found) for (found,) in store.query(question, (number,)))
    return next((entry for entry in earlier if entry.entry["body"]["name"] == name), None)
