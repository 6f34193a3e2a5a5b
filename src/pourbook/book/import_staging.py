"""Checked rows of a history in a temporary database of their own, until all of them are known to be sound.

Rows are put aside as they are read, with names turned into numbers, and come back in the order in which they
happened. The database is private, lies in a temporary file when it outgrows memory, and is gone when closed.
"""

import pickle
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple

from pourbook.errors import PourbookError
from pourbook.texts import lookup_form

__all__ = ["StagedItem", "StagedNote", "StagedPour", "Staging"]

_TABLES = """
CREATE TABLE item (number INTEGER PRIMARY KEY, ref TEXT, kind TEXT, made INTEGER, spirit TEXT, facts TEXT, id TEXT);
CREATE INDEX item_ref ON item (ref);
CREATE TABLE first (item INTEGER PRIMARY KEY, happened INTEGER);
CREATE TABLE pour (number INTEGER PRIMARY KEY, happened INTEGER, dated INTEGER, source INTEGER, target INTEGER,
    terms INTEGER, reason TEXT);
CREATE TABLE note (source TEXT, number INTEGER, happened INTEGER, item INTEGER, terms INTEGER);
CREATE TABLE terms (number INTEGER PRIMARY KEY, bytes BLOB);
"""
_FIRST_POURS = """
INSERT INTO first SELECT item, min(happened) FROM
    (SELECT source AS item, happened FROM pour UNION ALL SELECT target, happened FROM pour) GROUP BY item
"""
_ITEMS = """
SELECT item.number, id, coalesce(made, first.happened), facts
FROM item LEFT JOIN first ON first.item = item.number WHERE item.number > 0 ORDER BY item.number
"""
_POURS = """
SELECT pour.number, happened, source.id, target.id, target.spirit, terms, reason
FROM pour CROSS JOIN item AS source ON source.number = pour.source
CROSS JOIN item AS target ON target.number = pour.target
ORDER BY happened, pour.number
"""
_NOTES = """
SELECT source, note.number, happened, id, terms FROM note CROSS JOIN item ON item.number = note.item ORDER BY note.rowid
"""
_LATER_INFLOWS = """
SELECT inflow.number FROM pour CROSS JOIN pour AS inflow ON inflow.target = pour.source
WHERE pour.number = ?1 AND (inflow.happened, inflow.number) > (pour.happened, pour.number)
    AND (inflow.happened = pour.happened OR (pour.dated AND inflow.happened < pour.happened + ?2))
ORDER BY inflow.number LIMIT 20
"""
_BATCH = 5_000
_AT_HAND = 10_000
"""So many terms, some ten megabytes, stay in memory; more go into the database."""


class StagedItem(NamedTuple):
    """A row of the items table.

    Attributes:
        number: its row.
        id: the identifier it got.
        happened_us: when it was made, or first poured from or into; None when unknown.
        facts: JSON.
    """

    number: int
    id: str
    happened_us: int | None
    facts: str


class StagedPour(NamedTuple):
    """A row of the pours table.

    Attributes:
        number: its row.
        happened_us: when.
        source: identifier, or word for outside.
        target: identifier, or word for outside.
        target_spirit: what spirit the target holds, by its facts.
        terms: number of what else its cells hold.
        reason: why; may be empty.
    """

    number: int
    happened_us: int
    source: str
    target: str
    target_spirit: str
    terms: int
    reason: str


class StagedNote(NamedTuple):
    """A row of the table of notes or of tastings.

    Attributes:
        source: the table.
        number: its row.
        happened_us: when.
        item: identifier.
        terms: number of what else its cells hold.
    """

    source: str
    number: int
    happened_us: int
    item: str
    terms: int


class Staging:
    """Rows put aside; close it when they are no longer needed."""

    def __init__(self) -> None:
        self._db = sqlite3.connect("", isolation_level=None)
        for pragma in ("journal_mode = OFF", "synchronous = OFF", "cache_size = -16384"):
            self._db.execute(f"PRAGMA {pragma}")
        self._db.executescript(_TABLES)
        self._db.execute("BEGIN")
        self._waiting: list[tuple[Any, ...]] = []
        self._at_hand: dict[int, object] = {}
        self._others = self._terms = 0
        self._looks_up = False

    def close(self) -> None:
        """Drop all rows."""
        self._db.close()

    # -- putting aside -----------------------------------------------------------------

    def add_item(self, row: tuple[int, str, str, int | None, str, str]) -> None:
        """Put a row of the items table aside: row, ref, kind, when it was made, spirit, facts as JSON."""
        self._waiting.append(row)
        if len(self._waiting) >= _BATCH:
            self.items_end()

    def items_end(self) -> None:
        """Write the items gathered so far."""
        self._db.executemany(
            "INSERT INTO item (number, ref, kind, made, spirit, facts) VALUES (?,?,?,?,?,?)", self._waiting
        )
        self._waiting.clear()

    def add_other(self, name: str, identifier: str, spirit: str = "") -> int:
        """The number for a name outside the items table: a word for outside, or an item of the book."""
        self._others -= 1
        self._db.execute(
            "INSERT INTO item (number, ref, spirit, id) VALUES (?,?,?,?)", (self._others, name, spirit, identifier)
        )
        return self._others

    def number_of(self, name: str) -> int:
        """The number that stands for a name; an unknown one raises `KeyError`."""
        rows = self._db.execute("SELECT number FROM item WHERE ref = ? ORDER BY number DESC LIMIT 1", (name,))
        for (number,) in rows:
            return int(number)
        raise KeyError(name)

    def alike(self, name: str) -> list[int]:
        """Rows of the items table whose ref is this name but for case and spacing."""
        if not self._looks_up:
            self._db.create_function("lookup_form", 1, lookup_form, deterministic=True)
            self._db.execute("CREATE INDEX item_lookup ON item (lookup_form(ref)) WHERE number > 0")
            self._looks_up = True
        rows = self._db.execute(
            "SELECT number FROM item WHERE lookup_form(ref) = ? AND number > 0 ORDER BY number", (lookup_form(name),)
        )
        return [number for (number,) in rows]

    def add_terms(self, terms: object) -> int:
        """Put aside what many rows may share; its number."""
        self._terms += 1
        if self._terms <= _AT_HAND:
            self._at_hand[self._terms] = terms
        else:
            self._db.execute("INSERT INTO terms VALUES (?,?)", (self._terms, pickle.dumps(terms)))
        return self._terms

    def add_pour(self, row: tuple[int, int, int, int, int, int, str]) -> None:
        """Put a row of the pours table aside: row, when, dated, source, target, terms, reason."""
        self._waiting.append(row)
        if len(self._waiting) >= _BATCH:
            self.pours_end()

    def pours_end(self) -> None:
        """Write the pours gathered so far."""
        self._db.executemany("INSERT INTO pour VALUES (?,?,?,?,?,?,?)", self._waiting)
        self._waiting.clear()

    def add_note(self, row: tuple[str, int, int, int, int]) -> None:
        """Put a row of the table of notes or of tastings aside: the table, row, when, item, terms."""
        self._db.execute("INSERT INTO note VALUES (?,?,?,?,?)", row)

    # -- questions ---------------------------------------------------------------------

    def count(self, table: str) -> int:
        """How many rows of the table `item`, `pour` or `note` were put aside."""
        (number,) = self._db.execute(f"SELECT count(*) FROM {table} WHERE number > 0").fetchone()
        return int(number)

    def count_notes(self, source: str) -> int:
        """How many rows of that table are among the notes."""
        (number,) = self._db.execute("SELECT count(*) FROM note WHERE source = ?", (source,)).fetchone()
        return int(number)

    def repeated_refs(self) -> Iterator[tuple[int, str, int]]:
        """Rows of the items table whose ref an earlier row has: row, ref, the first row of that ref."""
        return self._db.execute(
            "SELECT item.number, ref, first FROM item JOIN (SELECT ref, min(number) AS first FROM item"
            " WHERE number > 0 GROUP BY ref HAVING count(*) > 1) USING (ref) WHERE item.number > first ORDER BY 1"
        )

    def refs(self) -> Iterator[tuple[int, str]]:
        """Row and ref of every item."""
        return self._db.execute("SELECT number, ref FROM item WHERE number > 0 ORDER BY number")

    def person(self, name: str) -> str | None:
        """The identifier of the person of that ref in the items table."""
        found = self._db.execute("SELECT id FROM item WHERE ref = ? AND kind = 'person' AND number > 0", (name,))
        return next((identifier for (identifier,) in found), None)

    def items(self) -> Iterator[StagedItem]:
        """Rows of the items table in their order."""
        self._db.execute("DELETE FROM first")
        self._db.execute(_FIRST_POURS)
        return map(StagedItem._make, self._db.execute(_ITEMS))

    def identify(self, next_id: Callable[[str], str]) -> None:
        """Give every row of the items table the next identifier of its kind."""
        refused: list[PourbookError] = []

        def identified(kind: str) -> str:
            try:
                return next_id(kind)
            except PourbookError as refusal:  # of which SQLite would only say that a function failed
                refused.append(refusal)
                raise

        self._db.create_function("next_id", 1, identified)
        try:
            self._db.execute("UPDATE item SET id = next_id(kind) WHERE number > 0")
        except sqlite3.OperationalError:
            if refused:
                raise refused[0] from None
            raise

    def pours(self) -> Iterator[StagedPour]:
        """Rows of the pours table in the order they happened; equal times in their own order."""
        return map(StagedPour._make, self._db.execute(_POURS))

    def notes(self) -> Iterator[StagedNote]:
        """Rows of notes, then of tastings, in their order."""
        return map(StagedNote._make, self._db.execute(_NOTES))

    def terms(self, number: int) -> Any:  # noqa: ANN401
        """What was put aside under that number."""
        if number in self._at_hand:
            return self._at_hand[number]
        (content,) = self._db.execute("SELECT bytes FROM terms WHERE number = ?", (number,)).fetchone()
        return pickle.loads(content)  # noqa: S301 (nobody else can write to this database)

    def names(self, pour: int) -> tuple[str, str]:
        """Names of the ends of a row of pours, as written in the tables."""
        found = self._db.execute(
            "SELECT source.ref, target.ref FROM pour JOIN item AS source ON source.number = pour.source"
            " JOIN item AS target ON target.number = pour.target WHERE pour.number = ?",
            (pour,),
        )
        source, target = found.fetchone()
        return source, target

    def later_inflows(self, pour: int, within_us: int) -> list[int]:
        """Rows that fill the source of a pour after it, in an uncertain order.

        They have the same time or, where only a day was written, lie within so much of it. Ask when
        `pours` has been read to its end.
        """
        self._db.execute("CREATE INDEX IF NOT EXISTS pour_target ON pour (target, happened)")
        return [number for (number,) in self._db.execute(_LATER_INFLOWS, (pour, within_us))]

    def last_touch(self, identifiers: Iterable[str], until_us: int) -> int | None:
        """The last row until then that poured from or into one of these items."""
        found = [
            row
            for identifier in identifiers
            for row in self._db.execute(
                "SELECT happened, pour.number FROM pour JOIN item ON item.number IN (source, target)"
                " WHERE id = ? AND happened <= ? ORDER BY happened DESC, pour.number DESC LIMIT 1",
                (identifier, until_us),
            )
        ]
        return int(max(found)[1]) if found else None
