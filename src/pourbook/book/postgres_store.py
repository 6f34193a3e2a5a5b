"""A book in a schema of PostgreSQL, or of an engine that speaks its protocol.

Who writes takes a turn first (`postgres_turns.py`): one that waited in vain begins again before anything was done.
What is written is SERIALIZABLE all the same, and whatever the engine finds wrong later says that it can be done again
(`StoreError.again`). Who reads sees one state (REPEATABLE READ, read only) and waits for nobody.
"""

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from itertools import islice
from typing import Any, TypeVar

import psycopg

from pourbook.book.addresses import Address, read_address
from pourbook.book.postgres_care import PostgresCare
from pourbook.book.postgres_connection import Line, let_go
from pourbook.book.postgres_errors import SpokenOf
from pourbook.book.postgres_sql import plain_insert, spoken
from pourbook.book.postgres_tables import check, is_there, make, unmake
from pourbook.book.postgres_turns import BOOK, end, leave, take_now, turns
from pourbook.book.store import MOVING, VERSION, Row, check_version
from pourbook.errors import StoreError

__all__ = ["PostgresStore"]

_T = TypeVar("_T")

_PORTION = 2_000
"""Rows fetched at once of a long answer."""

_MANY = 20
"""From so many rows on they are copied in rather than inserted."""

_COLUMNS = (
    "SELECT column_name FROM information_schema.columns WHERE table_schema = $1 AND table_name = $2"
    " ORDER BY ordinal_position"
)

_READING = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
_INNER = ("SAVEPOINT inner_one", "RELEASE SAVEPOINT inner_one", "ROLLBACK TO SAVEPOINT inner_one")

_Noted = tuple[str, list[Sequence[Any]]]


class PostgresStore(PostgresCare):
    """A book in one schema of a database."""

    def __init__(self, address: Address) -> None:
        self.path = address.shown
        self._address = address
        self._inside = ""
        self._begun = 0  # how many transactions there were
        self._made_schema = self._takes_half = False
        self._noted: list[_Noted] = []  # in a snapshot, to be written after it
        self._line = Line(address)

    # -- opening -----------------------------------------------------------------------

    @classmethod
    def create(cls, path: "os.PathLike[str] | str", version: int = VERSION) -> "PostgresStore":
        """A new, empty book in a database or schema without tables; a missing schema is made."""
        store = cls(read_address(str(path)))
        try:
            with SpokenOf(store.path, records=True):
                store._made_schema = make(store._line.connection, store._address, version)
        except BaseException:
            store.close()
            raise
        return store

    @classmethod
    def open_for_moving(cls, path: "os.PathLike[str] | str") -> "PostgresStore":
        """The book at that address, or what was moved of it so far; where nothing is, an empty one that is marked."""
        store = cls(read_address(str(path)))
        with SpokenOf(store.path):
            is_new = not is_there(store._line.connection, store._address)
        store.close()
        if is_new:
            cls.create(path, MOVING).close()
        return cls.open(path, takes_half=True)

    @classmethod
    def open(cls, path: "os.PathLike[str] | str", *, takes_half: bool = False) -> "PostgresStore":
        """The book at that address; one that is not all there yet only with `takes_half`. Raises as `Store.open`."""
        store = cls(read_address(str(path)))
        store._takes_half = takes_half
        try:
            with SpokenOf(store.path):
                check(store._line.connection, store._address, takes_half=takes_half)
        except BaseException:
            store.close()
            raise
        return store

    def close(self) -> None:
        """Close the connection."""
        self._line.close()

    def remove(self) -> None:
        """Close it and drop its tables, so that its name is free again."""
        try:
            with SpokenOf(self.path, records=True):
                unmake(self._line.connection, self._address, with_schema=self._made_schema)
        finally:
            self.close()

    # -- what is asked and written -------------------------------------------------------

    def query(self, sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
        """All rows of a question."""
        with SpokenOf(self.path):
            return self._anew(lambda: self._line.asked(spoken(sql), parameters))

    def stream(self, sql: str, parameters: Sequence[Any] = ()) -> Iterator[Row]:
        """The rows of a question one by one, memory flat."""
        with SpokenOf(self.path):
            cursor = self._anew(lambda: self._line.portions(spoken(sql), parameters, inside=self.is_writing))
        begun = self._begun if self.is_writing else None
        try:
            while True:
                with SpokenOf(self.path):
                    rows = cursor.fetchmany(_PORTION)
                yield from rows
                if len(rows) < _PORTION:
                    return
        finally:
            let_go(cursor, is_gone=begun not in (None, self._begun))

    def execute(self, sql: str, parameters: Sequence[Any] | Mapping[str, Any] = ()) -> None:
        """One statement that changes something."""
        if isinstance(parameters, Mapping):
            raise TypeError("parameters have no names here")
        with SpokenOf(self.path, records=True):
            self._line.run(spoken(sql), parameters)

    def execute_many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """The same statement for many rows; plain inserts are copied in."""
        waiting = iter(rows)
        inserts = plain_insert(sql)
        while portion := list(islice(waiting, _PORTION)):
            with SpokenOf(self.path, records=True):
                if inserts is None or len(portion) < _MANY:
                    self._line.run_many(spoken(sql), portion)
                else:
                    self._line.copy_in(*inserts, portion)

    def insert_many(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """Many new rows, the fastest way there is."""
        with SpokenOf(self.path, records=True):
            self._line.copy_in(table, ", ".join(columns), rows)

    def note(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """As `execute_many`, for what can be worked out again: at once, or silently not at all.

        What is noted in a snapshot is written after it, if nobody has taken a turn since it began.
        """
        match self._inside:
            case "snapshot":
                self._noted.append((sql, list(rows)))
            case "transaction":
                self.execute_many(sql, rows)
            case _:
                self._note([(sql, list(rows))], None)

    # -- transactions --------------------------------------------------------------------

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """A writing transaction: all of it or nothing; one inside another can be undone alone."""
        if self.is_writing:
            with self._inner():
                yield
            return
        try:
            with SpokenOf(self.path, records=True):
                for taken in turns(self._line):
                    turn = taken
                    self.retries += taken is None
            self._inside = "transaction"
            if turn is None:
                raise AssertionError("turns end with one")
            check_version(turn.version, self.path, takes_half=self._takes_half)
            yield
            with SpokenOf(self.path, records=True):
                if not end(self._line, turn):  # a statement failed, and whoever made it went on
                    raise StoreError(f"'{self.path}' refused a statement: nothing was recorded", "please report this")
        finally:
            self._inside, self._begun = "", self._begun + 1
            self._line.roll_back()
            leave(self._line)

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Questions asked inside are answered from one state of the book, whatever others write."""
        if self.is_writing:
            yield
            return
        with SpokenOf(self.path):
            self._anew(lambda: self._line.run(_READING))
        self._inside, self._noted = "snapshot", []
        turn = None
        try:
            yield
            if self._noted:
                with suppress(psycopg.Error):
                    ((turn, _),) = self._line.asked(BOOK)
        finally:
            self._inside, self._begun = "", self._begun + 1
            self._line.roll_back()
        if turn is not None:
            self._note(self._noted, turn)

    @property
    def is_writing(self) -> bool:
        """Whether a transaction is open."""
        return bool(self._inside)

    # -- what the engine knows -----------------------------------------------------------

    @property
    def engine(self) -> str:
        """Name and version of what keeps it."""
        return f"PostgreSQL {self._line.connection.info.parameter_status('server_version')}"

    @property
    def version(self) -> int:
        """Revision of its tables, or `MOVING`."""
        return int(self.query(BOOK)[0][1])

    def columns(self, table: str) -> list[str]:
        """The columns of a table, in their order; none where there is no such table."""
        return [name for (name,) in self.query(_COLUMNS, (self._address.schema, table))]

    @property
    def files(self) -> tuple[str, ...]:
        """None: no file of this machine."""
        return ()

    @property
    def beside(self) -> str:
        """The address: accounts and work in hand are in tables of the same schema."""
        return self.path

    def overwrite_deleted(self) -> None:
        """The server's own: what is deleted is overwritten some time after VACUUM, which is for its keeper to do."""

    def settle(self) -> None:
        """Tell the planner how large the tables have become."""
        if not self.is_writing:
            with SpokenOf(self.path), suppress(psycopg.errors.InsufficientPrivilege):
                self._line.run("ANALYZE")

    @contextmanager
    def _inner(self) -> Iterator[None]:
        begin, keep, undo = _INNER
        with SpokenOf(self.path, records=True):
            self._line.run(begin)
        try:
            yield
            with SpokenOf(self.path, records=True):
                self._line.run(keep)
        except BaseException:
            # The first error is the one to tell: a failing rollback must not hide it.
            with suppress(psycopg.Error):
                self._line.run(undo)
            raise

    def _note(self, noted: Iterable[_Noted], since: int | None) -> None:
        """Write it in a transaction of its own, unless others write, or have taken a turn since that one."""
        try:
            turn = take_now(self._line, since)  # who waits meanwhile must see that it was taken
            if turn is not None and turn.version == VERSION:
                for sql, rows in noted:
                    self._line.run_many(spoken(sql), rows)
                self._line.run("COMMIT")
        except psycopg.Error:
            pass  # others write, or the server is away or only takes questions: nothing is lost
        finally:
            self._line.roll_back()

    def _anew(self, act: Callable[[], _T]) -> _T:
        """What `act` answers; again where the line was cut, unless that was in the midst of a transaction."""
        return act() if self.is_writing else self._line.again_if_cut(act)
