"""Projections made anew from a journal, by the fold that recorded it.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book, book.store.transaction():
...     rebuild(book.store)
...     standing(book.store)
{}
"""

from collections.abc import Callable
from types import TracebackType
from typing import TYPE_CHECKING, Any

from pourbook.book.chain_checked import RESTORE
from pourbook.book.journal import parsed
from pourbook.book.kinds import remains, statements
from pourbook.book.refold import Refold
from pourbook.book.store import Store
from pourbook.errors import Damaged, PourbookError, StoreError

if TYPE_CHECKING:
    from pourbook.book.backup import Progress

__all__ = ["OF_LIQUID", "PROJECTIONS", "NotFollowed", "highest", "rebuild", "standing", "unheard"]

PROJECTIONS = {
    "item": "key",
    "fact": "item, name, happened, place",
    "ledger": "item, happened, place",
    "state": "id",
    "flow": "target, line, carry",
    "on_hand": "kind, item",
    "mention": "item, entry",
    "counter": "kind",
    "reserved": "key",
    "setting": "name",
    "recipe": "name",
    "blending": "name",
    "component": "name",
    "pending": "entry",
    "unit": "sscc",
    "tasting": "entry",
    "tasted_word": "word, entry, stage",
    "session": "name",
}
"""Every projection with the columns it is ordered by."""

OF_LIQUID = ("ledger", "state", "flow", "on_hand", "pending")
"""Those that pours and gauges make."""

_PORTION = 1000


class NotFollowed(Damaged):
    """A journal that cannot be followed beyond the entry of a number, and why."""

    def __init__(self, entry: int, why: str) -> None:
        super().__init__(f"the journal cannot be followed beyond entry {entry}: {why}", RESTORE)
        self.entry, self.why = entry, why


def unheard(what: str, done: int, whole: int) -> None:
    """Nobody wants to know how far it is."""


def highest(store: Store, table: str, asked: str = "max(number)") -> int:
    """The highest number of a table; 0 where it has none, or cannot be read."""
    try:
        ((number,),) = store.query(f"SELECT {asked} FROM {table}")
    except StoreError:  # told where the tables are compared
        return 0
    return number if type(number) is int else 0


def standing(store: Store) -> dict[int, tuple[int, int]]:
    """Entries that no longer count or stand in another's place: number to (gone by, place)."""
    found: dict[int, tuple[int, int]] = {}
    with _Following() as at:
        for at.number, kind, bytes_ in store.stream(
            "SELECT number, kind, bytes FROM entry WHERE kind = 'void' OR bytes LIKE '%\"replaces\":%' ORDER BY number"
        ):
            entry = parsed(bytes_)
            target = entry["body"]["entry"] if kind == "void" else entry.get("replaces", 0)
            if not target:
                continue
            place = found.get(target, (0, target))[1]
            found[target] = (at.number, place)
            if kind != "void":
                found[at.number] = (0, place)
    return found


class _Following:
    """Around what follows the journal: whatever goes wrong is told with the number of the entry, as `Damaged`."""

    number = 0

    def __enter__(self) -> "_Following":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if not isinstance(error, Exception) or (isinstance(error, StoreError) and not isinstance(error, Damaged)):
            return
        why = "it is not made as such an entry is"
        if isinstance(error, PourbookError):
            why = "it contradicts an earlier one" if isinstance(error, Damaged) else error.message
        raise NotFollowed(self.number, why) from error


def rebuild(
    store: Store, journal: Store | None = None, *, of_liquid: bool | None = None, progress: "Progress" = unheard,
    apply: Callable[..., None] = Refold.apply_entry,
) -> None:  # fmt: skip
    """Rebuild projections in a transaction, from a journal whose `gone` and `place` must be right.

    The journal is this store's own, or another's; `of_liquid` narrows it to what pours and gauges make, or to the rest.
    `apply` applies the entry, as `Refold.apply_entry` does.
    """
    journal = journal or store
    for table in PROJECTIONS:
        if of_liquid is not False or table not in OF_LIQUID:
            store.execute(f"DELETE FROM {table}")
    with _Following() as at:
        if of_liquid is not True:
            _rebuild_plain(store, journal, at)
        if of_liquid is False:
            return
        fold, whole = Refold(store, _known_items(journal)), highest(journal, "entry")
        lines = journal.stream(
            "SELECT number, kind, happened, place, bytes FROM entry"
            " WHERE gone = 0 AND kind IN ('pour', 'gauge') ORDER BY happened, place"
        )
        for done, (at.number, kind, happened, place, bytes_) in enumerate(lines):
            if done % _PORTION == 0:
                progress("pours", done, whole)
            body = parsed(bytes_)["body"]
            for sql, parameters in statements(kind, body, at.number, happened, place):
                store.execute(sql, parameters)
            apply(fold, kind, body, at.number, happened, place)
        fold.finish()


def _known_items(store: Store) -> set[int]:
    """Items that a fold need not look for, since they have no line yet; any that are missing are looked for."""
    try:
        has_keys = "key" in store.columns("item")  # else some engines answer nothing more before the transaction ends
        return {key for (key,) in store.query("SELECT key FROM item")} if has_keys else set()
    except StoreError:  # told where the tables are compared
        return set()


def _rebuild_plain(store: Store, journal: Store, at: _Following) -> None:
    """The projections that no fold makes; the pours among their entries open consignments of a group."""
    openings: dict[str, list[tuple[Any, ...]]] = {}
    for at.number, kind, happened, place, gone, bytes_ in journal.stream(
        "SELECT number, kind, happened, place, gone, bytes FROM entry"
        " WHERE gone <> 0 OR kind NOT IN ('pour', 'gauge')"
        " OR (kind = 'pour' AND instr(bytes, '\"opens\":') > 0) ORDER BY number"
    ):
        body = parsed(bytes_)["body"]
        if gone:
            rows = remains(kind, body, at.number)
        elif kind == "pour":
            opened = (statements("item", one, at.number, happened, place) for one in body["opens"])
            rows = [row for rows_of_one in opened for row in rows_of_one]
        else:
            rows = statements(kind, body, at.number, happened, place)
        for sql, parameters in rows:
            openings.setdefault(sql, []).append(parameters)
        # Rows of items opened one after the other can wait for each other.
        if kind != "item" or at.number % _PORTION == 0:
            _write(store, openings)
    _write(store, openings)


def _write(store: Store, rows: dict[str, list[tuple[Any, ...]]]) -> None:
    for sql, parameters in rows.items():
        store.execute_many(sql, parameters)
    rows.clear()
