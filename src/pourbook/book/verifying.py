"""Trust nothing: the chain of hashes, and every projection against the journal.

The journal is read once in the order of recording (hashes, numbers, well-formed bytes), then folded again
into an empty book, and every row of the two is compared.
"""

from collections.abc import Iterator
from itertools import islice
from typing import Any, NamedTuple

from pourbook.book.compositions import differing
from pourbook.book.journal import GENESIS, canonical, chain, parsed
from pourbook.book.kinds import remains, statements
from pourbook.book.refold import Refold
from pourbook.book.store import Store
from pourbook.errors import Damaged, Fault, PourbookError, StoreError
from pourbook.times import moment_of

__all__ = ["PROJECTIONS", "Verified", "check_chain", "file_fault", "rebuild", "repair", "standing", "verify"]

PROJECTIONS = {
    "item": "key",
    "fact": "item, name, happened, place",
    "ledger": "item, happened, place",
    "state": "id",
    "flow": "target, line, carry",
    "mention": "item, entry",
    "counter": "kind",
    "reserved": "key",
    "setting": "name",
    "recipe": "name",
    "pending": "entry",
    "unit": "sscc",
}
"""Every projection with the columns it is ordered by."""

_LAST_KNOWN = {
    "entry": "max(gone)",
    "item": "max(entry)",
    "fact": "max(place)",
    "ledger": f"max(line) / {LINES}",
    "state": f"max(id) / {LINES * 2}",
    "flow": f"max(line) / {LINES}",
    "mention": "max(entry)",
    "reserved": "max(entry)",
    "recipe": "max(entry)",
    "pending": "max(entry)",
    "unit": "max(entry)",
}
"""How each table says which is the last entry that it knows of."""

_MOST_FAULTS = 20
_REBUILD = "rebuild the tables from the journal: pourbook repair"


class Verified(NamedTuple):
    """The number of entries, the head (hash of the last, as hexadecimal text), and the first faults found."""

    entries: int
    head: str
    faults: tuple[Fault, ...]


def verify(store: Store) -> Verified:
    """Check chain, projections, and the file itself."""
    entries, head, faults = check_chain(store)
    if not faults:
        faults = (*_lost_end(store, entries), *_compare(store), *_compositions(store), *_file_faults(store))
    return Verified(entries, head.hex(), faults)


def file_fault(problem: str) -> Fault:
    """A file that cannot be read as a book, as verification reports it."""
    return Fault("file", 0, "", "", problem, "restore a back-up: pourbook restore BACKUP PATH")


def _fault(number: int, problem: str) -> Fault:
    return Fault(
        "journal", number, "", "", problem, "restore a back-up whose head agrees with one written down elsewhere"
    )


def check_chain(store: Store) -> tuple[int, bytes, tuple[Fault, ...]]:
    """Numbers without gaps, hashes that follow, columns that agree with the bytes."""
    head, last = GENESIS, 0
    rows = store.stream("SELECT number, kind, happened, bytes, hash FROM entry ORDER BY number")
    try:
        for number, kind, happened, bytes_, hash_ in rows:
            if number != last + 1:
                return last, head, (_fault(last + 1, f"entry {last + 1} is missing"),)
            last = number
            following = chain(head, bytes_.encode())
            if following != hash_:
                problem = f"entry {number} is not what was recorded: its hash differs"
            else:
                problem = _entry_problem(number, kind, happened, bytes_)
            if problem:
                return last, head, (_fault(number, problem),)
            head = following
    except StoreError as error:
        return last, head, (_fault(last + 1, f"entry {last + 1} cannot be read: {error.message}"),)
    return last, head, ()


def _lost_end(store: Store, entries: int) -> tuple[Fault, ...]:
    """A fault where a table knows of an entry beyond the last: the hashes before it cannot tell."""
    known = max(_last_known(store, table, question) for table, question in _LAST_KNOWN.items())
    if known <= entries:
        return ()
    problem = f"the journal ends with entry {entries}, but the tables know of entry {known}: the last ones are lost"
    return (_fault(entries + 1, problem),)


def _last_known(store: Store, table: str, question: str) -> int:
    try:
        ((number,),) = store.query(f"SELECT {question} FROM {table}")
    except StoreError:  # `_compare` tells of it
        return 0
    return number if type(number) is int else 0


def repair(store: Store) -> int:
    """Rebuild every projection from the journal; the number of its entries.

    Raises:
        Damaged: the journal itself does not agree with its hashes, or has lost its last entries.
    """
    entries, _, faults = check_chain(store)
    faults = faults or _lost_end(store, entries)
    if faults:
        raise Damaged(faults[0].problem, faults[0].remedy)
    with store.transaction():
        _make_missing_tables(store)
        store.execute("DELETE FROM composition")
        store.execute("UPDATE entry SET gone = 0, place = number")
        for number, (gone, place) in standing(store).items():
            store.execute("UPDATE entry SET gone = ?, place = ? WHERE number = ?", (gone, place, number))
        rebuild(store)
    return entries


def _make_missing_tables(store: Store) -> None:
    """Tables and indexes of a whole book that this one has lost; the journal itself cannot be rebuilt."""
    question = (
        "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL AND tbl_name NOT LIKE '%sqlite%' ORDER BY rowid"
    )
    there = {name for name, _ in store.query(question)}
    whole = Store.create(":memory:")
    try:
        for name, sql in whole.query(question):
            if name not in there:
                store.execute(sql)
    finally:
        whole.close()


def _entry_problem(number: int, kind: str, happened: int, bytes_: str) -> str:
    try:
        entry = parsed(bytes_)
        agrees = entry["number"] == number and entry["kind"] == kind and moment_of(entry["happened"]) == happened
        if not agrees:
            return f"entry {number}: number, kind or time in the table differ from the entry itself"
        if canonical(entry).decode() != bytes_:
            return f"entry {number} is not in canonical form"
    except (ValueError, KeyError, TypeError):
        return f"entry {number} cannot be read"
    return ""


def _file_faults(store: Store) -> Iterator[Fault]:
    try:
        problems = store.problems()
    except StoreError as error:
        problems = [error.message]
    yield from (file_fault(" ".join(problem.split())) for problem in problems)


def _compare(store: Store) -> Iterator[Fault]:
    """Rows that differ between the book and one rebuilt from its journal."""
    rebuilt = Store.scratch()
    try:
        try:
            gone = _copy_journal(store, rebuilt)
            with rebuilt.transaction():
                rebuild(rebuilt)
        except (PourbookError, KeyError, TypeError, ValueError) as error:
            yield _fault(0, f"the journal cannot be folded: {error}")
            return
        yield from _compare_gone(store, gone)
        for table, order in PROJECTIONS.items():
            question = f"SELECT * FROM {table} ORDER BY {order}"
            try:
                yield from _compare_rows(table, store.stream(question), rebuilt.stream(question))
            except StoreError as error:
                yield _table_fault(table, error)
    finally:
        rebuilt.close()


def _compositions(store: Store) -> Iterator[Fault]:
    """Kept shares that do not follow from the inflows."""
    try:
        for state in islice(differing(store), _MOST_FAULTS):
            problem = "the kept shares of this state do not follow from its pours"
            yield Fault("table composition", 0, "", str(state), problem, "drop the kept shares: pourbook repair")
    except StoreError as error:
        yield _table_fault("composition", error)


def _table_fault(table: str, error: StoreError) -> Fault:
    return Fault(f"table {table}", 0, "", "", f"cannot be read: {error.message}", _REBUILD)


def _compare_rows(table: str, kept: Iterator[Any], rebuilt: Iterator[Any]) -> Iterator[Fault]:
    found = 0
    while found < _MOST_FAULTS:
        one, other = next(kept, None), next(rebuilt, None)
        if one is None and other is None:
            return
        if one != other:
            found += 1
            yield Fault(f"table {table}", 0, "", str(one or other), "does not follow from the journal", _REBUILD)
            if one is None or other is None:
                return


def _copy_journal(store: Store, rebuilt: Store) -> dict[int, tuple[int, int]]:
    """The entries, with what voids and replacements make of them: (gone, place) by number."""
    gone = standing(store)
    with rebuilt.transaction():
        rebuilt.execute_many(
            "INSERT INTO entry (number, kind, happened, place, gone, bytes, hash) VALUES (?,?,?,?,?,?,?)",
            (
                (row[0], row[1], row[2], gone.get(row[0], (0, row[0]))[1], gone.get(row[0], (0, 0))[0], row[3], b"")
                for row in store.stream("SELECT number, kind, happened, bytes FROM entry ORDER BY number")
            ),
        )
    return gone


def _compare_gone(store: Store, gone: dict[int, tuple[int, int]]) -> Iterator[Fault]:
    for number, place, gone_by in store.stream(
        "SELECT number, place, gone FROM entry WHERE gone <> 0 OR place <> number ORDER BY number"
    ):
        if gone.pop(number, (0, number)) != (gone_by, place):
            yield _fault(number, f"entry {number}: what took its place does not follow from the journal")
    for number in gone:
        yield _fault(number, f"entry {number} was voided or replaced, but the table does not show it")


def standing(store: Store) -> dict[int, tuple[int, int]]:
    """Entries that no longer count or stand in another's place: number to (gone by, place)."""
    found: dict[int, tuple[int, int]] = {}
    for number, kind, bytes_ in store.stream(
        "SELECT number, kind, bytes FROM entry WHERE kind = 'void' OR bytes LIKE '%\"replaces\":%' ORDER BY number"
    ):
        entry = parsed(bytes_)
        target = entry["body"]["entry"] if kind == "void" else entry.get("replaces", 0)
        if not target:
            continue
        place = found.get(target, (0, target))[1]
        found[target] = (number, place)
        if kind != "void":
            found[number] = (0, place)
    return found


def rebuild(store: Store) -> None:
    """Rebuild every projection from this store's journal, in a transaction; its `gone` and `place` must be right."""
    for table in PROJECTIONS:
        store.execute(f"DELETE FROM {table}")
    fresh: set[int] = set()
    _rebuild_plain(store, fresh)
    fold = Refold(store, fresh)
    for number, kind, happened, place, bytes_ in store.stream(
        "SELECT number, kind, happened, place, bytes FROM entry"
        " WHERE gone = 0 AND kind IN ('pour', 'gauge') ORDER BY happened, place"
    ):
        body = parsed(bytes_)["body"]
        for sql, parameters in statements(kind, body, number, happened, place):
            store.execute(sql, parameters)
        fold.apply_entry(kind, body, number, happened, place)
    fold.finish()


def _rebuild_plain(store: Store, fresh: set[int]) -> None:
    """The projections that no fold makes; adds to the set of items without a line."""
    for number, kind, happened, place, gone, bytes_ in store.stream(
        "SELECT number, kind, happened, place, gone, bytes FROM entry"
        " WHERE gone <> 0 OR kind NOT IN ('pour', 'gauge') ORDER BY number"
    ):
        body = parsed(bytes_)["body"]
        rows = remains(kind, body, number) if gone else statements(kind, body, number, happened, place)
        for sql, parameters in rows:
            store.execute(sql, parameters)
    fresh.update(key for (key,) in store.query("SELECT key FROM item"))
    if store.query("SELECT 1 FROM entry WHERE kind = 'pour' AND gone = 0 LIMIT 1") and not fresh:
        raise Damaged("the journal has pours but no items", "restore a back-up: pourbook restore BACKUP PATH")
