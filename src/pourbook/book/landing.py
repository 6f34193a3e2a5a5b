"""A long recording, worked out in a copy of the book while others go on, then put into the book at once.

What takes long (rules, densities, the fold) is done in the copy; only finished rows are written while others wait.
If others recorded meanwhile, what lands is numbered after them. Rows carry the numbers of their entries, lines and
states as multiples, so they all move up by so much and each hash is chained anew. If others touched the same items,
nothing of it holds any more: it is worked out again, the last time while they wait.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, TypeVar

from pourbook.book.coded_names import Names, PersonName
from pourbook.book.contents import LINES
from pourbook.book.journal import chaining, last_entry, parsed
from pourbook.book.kinds import COUNT
from pourbook.book.numbered import NUMBERED, made_by
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of

__all__ = ["landed"]

_TRIES = 3

_CHANGING = {"ledger": ("item", "happened", "place"), "state": ("id",), "flow": ("target", "line", "carry")}
"""Tables in which a recording changes rows of earlier entries, and their keys."""

_BEARING_ON_NOTHING_ELSE = (
    "component", "facts", "gauge", "hold", "item", "note", "packed", "paper", "pour", "recipe", "reserve", "taste",
)  # fmt: skip
"""Kinds of entry that matter only to the items they name."""

_LATER = "SELECT 1 FROM ledger WHERE item = ? AND (happened, place) > (?, ?) AND line < ? LIMIT 1"
# An entry's number stands once in its bytes: in a text it would be among quotes that are escaped.
_AROUND_NUMBERS = """
CREATE {made} around AS SELECT *, substr(bytes, 1, at - 1) AS before, substr(bytes, at + length(number)) AS after
FROM (SELECT *, instr(bytes, ',"number":' || number || ',') + 10 AS at FROM new_entry)
"""
_MOVED = """
SELECT number + ?1, kind, happened, place + ?1, gone, before || (number + ?1) || after,
    chained(before || (number + ?1) || after)
FROM around ORDER BY number
"""
_TOUCHED = """
SELECT item FROM new_ledger UNION SELECT item FROM new_fact UNION SELECT item FROM new_mention
UNION SELECT key FROM new_item UNION SELECT item FROM new_state
"""

_WORTH_A_COPY = 2_000
"""Rows from which on a copy of a book on a server is fetched; fewer are done before others notice."""

T = TypeVar("T")


def landed(store: Store, work: Callable[[], T], rows: int = _WORTH_A_COPY) -> T:
    """What `work` answers, once all that it recorded in this store is in the book; or nothing is, where it raises.

    `work` appends: it neither voids nor replaces, nor refers to another entry by its number. It may be called again.
    Inside a transaction it is simply called, and on a server where only a few rows are taken in.
    """
    is_short = not store.is_near and rows < _WORTH_A_COPY
    for _ in () if store.is_writing or is_short else range(_TRIES - 1):
        with store.copied() as copy:
            with store.working_in(copy):
                since, _ = last_entry(store)
                _watch_changes(store, since)
                with store.transaction():
                    done = work()
                _set_aside(store, since)
            # As a rule nobody recorded meanwhile; where somebody did, it is made ready to move before others wait.
            touched = _made_movable(copy) if last_entry(store)[0] != since else None
            with store.transaction():
                number, head = last_entry(store)
                names = set(store.query("SELECT reference FROM person_name"))
                if set(copy.query("SELECT reference FROM old_name")) - names:
                    continue  # somebody was withdrawn
                if number == since or not _bears_on(store, since, _touched(copy) if touched is None else touched):
                    _land(store, copy, since, number - since, head)
                    return done
    with store.transaction():
        return work()


# -- in the copy -----------------------------------------------------------------------


def _watch_changes(store: Store, since: int) -> None:
    """Gather the keys of rows of earlier entries that change from now on, and the names that are there."""
    store.execute("CREATE TABLE old_name AS SELECT reference FROM person_name")
    for table, key in _CHANGING.items():
        column, step = made_by(table)
        store.execute(f"CREATE TABLE old_{table} ({', '.join(key)}, PRIMARY KEY ({', '.join(key)})) WITHOUT ROWID")
        for event, row in (("INSERT", "new"), ("UPDATE", "new"), ("DELETE", "old")):
            values = ", ".join(f"{row}.{name}" for name in key)
            store.execute(
                f"CREATE TRIGGER {table}_{event} AFTER {event} ON {table} WHEN {row}.{column} < {(since + 1) * step}"
                f" BEGIN INSERT OR IGNORE INTO old_{table} VALUES ({values}); END"
            )


def _set_aside(store: Store, since: int) -> None:
    """Put what is to land into tables `new_…`."""
    for table in NUMBERED:
        column, step = made_by(table)
        changed = ""
        if table in _CHANGING:
            changed = f" OR ({', '.join(_CHANGING[table])}) IN (SELECT * FROM old_{table})"
        made = "VIEW" if table == "entry" else "TABLE"  # entries lie together, and are half of a book
        store.execute(
            f"CREATE {made} new_{table} AS SELECT * FROM {table} WHERE {column} >= {(since + 1) * step}{changed}"
        )
    store.execute("CREATE TABLE new_on_hand AS SELECT * FROM on_hand WHERE item IN (SELECT item FROM new_ledger)")
    store.execute(_AROUND_NUMBERS.format(made="VIEW"))


def _made_movable(copy: Store) -> set[int]:
    """Work out what entries that get other numbers are made of; the keys of all items that are concerned."""
    copy.execute("DROP VIEW around")
    copy.execute(_AROUND_NUMBERS.format(made="TABLE"))
    return _touched(copy)


def _touched(copy: Store) -> set[int]:
    return {item for (item,) in copy.query(_TOUCHED)}


# -- in the book -----------------------------------------------------------------------


def _bears_on(store: Store, since: int, touched: set[int]) -> bool:
    """Whether what others recorded after an entry matters to what is to land."""
    for kind, happened, place, text in store.query(
        "SELECT kind, happened, place, bytes FROM entry WHERE number > ?", (since,)
    ):
        entry = parsed(text)
        items = _items_of(entry["body"])
        if kind not in _BEARING_ON_NOTHING_ELSE or "replaces" in entry or touched & items:
            return True
        # A pour into the past changes whatever its liquid reached since.
        later = (happened, place * LINES, (since + 1) * LINES)
        if kind in ("pour", "gauge") and any(store.query(_LATER, (item, *later)) for item in items):
            return True
    return False


def _items_of(body: Mapping[str, Any]) -> set[int]:
    named = [body.get("item", ""), *body.get("items", ())]
    named += [line[end] for line in body.get("lines", ()) for end in ("from", "to")]
    # Identifiers begin with a capital; words for outside do not.
    return {key_of(name) for name in named if name[:1].isupper()}


def _land(store: Store, copy: Store, since: int, shift: int, head: bytes) -> None:
    """Write all that was set aside, numbered so much higher, after the entry with this hash."""
    for table, key in _CHANGING.items():
        store.delete_copied(copy, table, key, f"SELECT * FROM old_{table}")
    if copy.query("SELECT 1 FROM old_ledger UNION ALL SELECT 1 FROM old_flow LIMIT 1"):
        store.execute("DELETE FROM composition")  # kept shares that may rest on what changed
    store.delete_copied(copy, "on_hand", ("item",), "SELECT DISTINCT item FROM new_ledger")
    store.insert_copied(copy, "on_hand", "SELECT * FROM new_on_hand")
    _land_names(store, copy)
    for table in NUMBERED:
        if table == "entry" and shift:
            for one in (store, copy):
                one.define("chained", _hashing(store, head))
            store.insert_copied(copy, table, _MOVED, (shift,))
        else:
            columns = ", ".join(_shifted(copy, table, since, shift))
            store.insert_copied(copy, table, f"SELECT {columns} FROM new_{table}")
    store.execute_many(COUNT, copy.query("SELECT kind, next FROM counter"))


def _land_names(store: Store, copy: Store) -> None:
    """Names that are new, unless somebody else brought them meanwhile."""
    before = {reference for (reference,) in copy.query("SELECT reference FROM old_name")}
    own = set(store.query("SELECT name, item FROM person_name"))
    rows = copy.query(f"SELECT {', '.join(PersonName._fields)} FROM person_name")
    new = [row for row in rows if row[0] not in before and (row[2], row[3]) not in own]
    store.insert_many("person_name", PersonName._fields, new)


def _hashing(store: Store, head: bytes) -> Callable[[str], bytes]:
    next_hash, coded = chaining(head), Names(store).coded
    return lambda text: next_hash(coded(text))


def _shifted(store: Store, table: str, since: int, shift: int) -> Iterator[str]:
    """The columns of a table, as they stand in the book if the entries after one are numbered so much higher."""
    for column in store.columns(table):
        step = NUMBERED[table].get(column) if shift else None
        yield f"iif({column} >= {(since + 1) * step}, {column} + {shift * step}, {column})" if step else column
