"""A book in a schema of PostgreSQL, or of an engine that speaks its protocol.

Who writes takes its turn first: the first statement of a writing transaction moves the one row of `book`, so that
transactions that write come one after the other, and one that waited in vain begins again before anything was done.
Everything below is SERIALIZABLE all the same; whatever the engine finds wrong later is raised as `Again`. Who reads
sees one state (REPEATABLE READ, read only) and waits for nobody.

The row keeps marks of the latest turns. If the answer to a COMMIT is lost, they tell whether it was done.
"""

import os
import random
import secrets
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from itertools import islice
from typing import Any, Literal, NoReturn, TypeVar

import psycopg
from psycopg.pq import TransactionStatus

from pourbook.book.addresses import Address, read_address
from pourbook.book.postgres_connection import PATIENCE_S, connected
from pourbook.book.postgres_errors import SpokenOf, is_conflict
from pourbook.book.postgres_sql import plain_insert, spoken
from pourbook.book.postgres_tables import check, defined, is_there, make, to_define, unmake
from pourbook.book.store import MOVING, VERSION, Row, Store, check_version
from pourbook.errors import StoreError

__all__ = ["PostgresStore"]

_T = TypeVar("_T")

_PORTION = 2_000
"""Rows fetched at once of a long answer."""

_MANY = 20
"""From so many rows on they are copied in rather than inserted."""

_MARK, _MARKS = 16, 64
"""Letters of the mark of a turn, and how many turns are remembered."""

_MY_TURN = (
    f"UPDATE book SET turn = turn + 1, turns = substr($1 || turns, 1, {_MARK * _MARKS}) WHERE number = 1"
    " RETURNING turn, version"
)
_WAS_KEPT = "SELECT turn, strpos(turns, $1) FROM book WHERE number = 1 FOR UPDATE"
_TURN = "SELECT turn, version FROM book WHERE number = 1"
_COLUMNS = (
    "SELECT column_name FROM information_schema.columns WHERE table_schema = $1 AND table_name = $2"
    " ORDER BY ordinal_position"
)

_WRITING = "BEGIN ISOLATION LEVEL SERIALIZABLE"
_READING = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
_INNER = ("SAVEPOINT inner_one", "RELEASE SAVEPOINT inner_one", "ROLLBACK TO SAVEPOINT inner_one")

_Noted = tuple[str, list[Sequence[Any]]]


class PostgresStore(Store):
    """A book in one schema of a database."""

    def __init__(self, address: Address) -> None:
        self.path = address.shown
        self._address = address
        self._inside: Literal["", "snapshot", "transaction"] = ""
        self._made_schema = self._takes_half = False
        self._noted: list[_Noted] = []  # in a snapshot, to be written after it
        self.connection = connected(self._address)

    # -- opening -----------------------------------------------------------------------

    @classmethod
    def create(cls, path: "os.PathLike[str] | str", version: int = VERSION) -> "PostgresStore":
        """A new, empty book in a database or schema without tables; a missing schema is made."""
        store = cls(read_address(str(path)))
        try:
            with SpokenOf(store.path, records=True):
                store._made_schema = make(store.connection, store._address, version)
        except BaseException:
            store.close()
            raise
        return store

    @classmethod
    def open_for_moving(cls, path: "os.PathLike[str] | str") -> "PostgresStore":
        """The book at that address, or what was moved of it so far; where nothing is, an empty one that is marked."""
        store = cls(read_address(str(path)))
        with SpokenOf(store.path):
            is_new = not is_there(store.connection, store._address)
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
                check(store.connection, store._address, takes_half=takes_half)
        except BaseException:
            store.close()
            raise
        return store

    def close(self) -> None:
        """Close the connection."""
        self.connection.close()

    def remove(self) -> None:
        """Close it and drop its tables, so that its name is free again."""
        try:
            with SpokenOf(self.path, records=True):
                unmake(self.connection, self._address, with_schema=self._made_schema)
        finally:
            self.close()

    # -- what is asked and written -------------------------------------------------------

    def query(self, sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
        """All rows of a question."""
        with SpokenOf(self.path):
            return self._again_if_cut(lambda: self._asked(spoken(sql), parameters))

    def stream(self, sql: str, parameters: Sequence[Any] = ()) -> Iterator[Row]:
        """The rows of a question one by one, memory flat."""
        with SpokenOf(self.path):
            cursor = self._again_if_cut(lambda: self._cursor(spoken(sql), parameters))
        try:
            while True:
                with SpokenOf(self.path):
                    rows = cursor.fetchmany(_PORTION)
                yield from rows
                if len(rows) < _PORTION:
                    return
        finally:
            with suppress(psycopg.Error):
                cursor.close()

    def execute(self, sql: str, parameters: Sequence[Any] | Mapping[str, Any] = ()) -> None:
        """One statement that changes something."""
        if isinstance(parameters, Mapping):
            raise TypeError("parameters have no names here")
        with SpokenOf(self.path, records=True):
            self._run(spoken(sql), parameters)

    def execute_many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """The same statement for many rows; plain inserts are copied in."""
        waiting = iter(rows)
        inserts = plain_insert(sql)
        while portion := list(islice(waiting, _PORTION)):
            with SpokenOf(self.path, records=True):
                if inserts is None or len(portion) < _MANY:
                    self.connection.cursor().executemany(spoken(sql), portion)
                else:
                    self._copy_in(*inserts, portion)

    def insert_many(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """Many new rows, the fastest way there is."""
        with SpokenOf(self.path, records=True):
            self._copy_in(table, ", ".join(columns), rows)

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
        mark = secrets.token_hex(_MARK // 2)
        with SpokenOf(self.path, records=True):
            turn = self._turn(mark)
        self._inside = "transaction"
        try:
            yield
            with SpokenOf(self.path, records=True):
                self._commit(turn, mark)
        finally:
            self._inside = ""
            self._roll_back()

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Questions asked inside are answered from one state of the book, whatever others write."""
        if self.is_writing:
            yield
            return
        with SpokenOf(self.path):
            self._again_if_cut(lambda: self._run(_READING))
        self._inside, self._noted = "snapshot", []
        turn = None
        try:
            yield
            if self._noted:
                with suppress(psycopg.Error):
                    ((turn, _),) = self._asked(_TURN)
        finally:
            self._inside = ""
            self._roll_back()
        if turn is not None:
            self._note(self._noted, turn)

    @property
    def is_writing(self) -> bool:
        """Whether a transaction is open."""
        return bool(self._inside)

    # -- what the engine knows -----------------------------------------------------------

    @property
    def has_older_tables(self) -> bool:
        """Whether an earlier revision of this program made its tables."""
        return bool(self.query(_TURN)[0][1] < VERSION)

    @property
    def is_moving(self) -> bool:
        """Whether not all of the book is there yet."""
        return bool(self.query(_TURN)[0][1] == MOVING)

    def mark_version(self, version: int = VERSION) -> None:
        """State that the tables are those of this revision, or that not all of the book is there (`MOVING`)."""
        self.execute("UPDATE book SET version = ? WHERE number = 1", (version,))

    def columns(self, table: str) -> list[str]:
        """The columns of a table, in their order; none where there is no such table."""
        return [name for (name,) in self.query(_COLUMNS, (self._address.schema, table))]

    def defined(self) -> dict[tuple[str, str], str]:
        """What makes each table, index, view or trigger, by kind and name."""
        with SpokenOf(self.path):
            return self._again_if_cut(lambda: defined(self.connection, self._address))

    def to_define(self) -> dict[tuple[str, str], str]:
        """As `defined`: what a book should have."""
        return to_define()

    @property
    def elsewhere(self) -> str:
        """Where another process finds what this one reads; empty in a transaction, which nobody else sees."""
        return "" if self._inside == "transaction" else self.path

    def problems(self) -> list[str]:
        """Nothing: an engine that serves many looks after its own files."""
        return []

    @property
    def files(self) -> tuple[str, ...]:
        """None: no file of this machine."""
        return ()

    @property
    def beside(self) -> str:
        """The address: accounts and work in hand are in tables of the same schema."""
        return self.path

    can_copy = False

    def settle(self) -> None:
        """Tell the planner how large the tables have become."""
        if not self.is_writing:
            with SpokenOf(self.path), suppress(psycopg.errors.InsufficientPrivilege):
                self._run("ANALYZE")

    # -- the connection ------------------------------------------------------------------

    def _asked(self, sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
        return self.connection.cursor(binary=True).execute(sql, tuple(parameters)).fetchall()

    def _run(self, sql: str, parameters: Sequence[Any] = ()) -> None:
        self.connection.cursor().execute(sql, tuple(parameters))

    def _cursor(self, sql: str, parameters: Sequence[Any]) -> "psycopg.ServerCursor[Row]":
        cursor = self.connection.cursor(f"s{secrets.token_hex(4)}", withhold=not self.is_writing)
        cursor.execute(sql, tuple(parameters), binary=True)
        return cursor

    def _copy_in(self, table: str, columns: str, rows: Iterable[Sequence[Any]]) -> None:
        with self.connection.cursor().copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)

    def _again_if_cut(self, act: Callable[[], _T]) -> _T:
        """What `act` answers; over a new connection where the old one turns out to be cut, but for a transaction."""
        try:
            return act()
        except psycopg.OperationalError:
            if self.is_writing or not self.connection.closed:
                raise
        self.connection = connected(self._address)
        return act()

    # -- turns ---------------------------------------------------------------------------

    def _turn(self, mark: str) -> int:
        """Begin a transaction and take a turn in it, as soon as all who were before have done."""
        until = time.monotonic() + PATIENCE_S
        for tried in range(1_000_000):
            try:
                self._again_if_cut(lambda: self._run(_WRITING))
                ((turn, version),) = self._asked(_MY_TURN, (mark,))
                check_version(version, self.path, takes_half=self._takes_half)
            except BaseException as error:
                self._roll_back()
                if not is_conflict(error):
                    raise
                self.retries += 1
                if time.monotonic() > until:
                    raise StoreError(
                        f"others go on writing to '{self.path}'", "wait for them to finish, then try again"
                    ) from error
                time.sleep(random.uniform(0, min(0.001 * 2**tried, 0.05)))  # noqa: S311 (to part two that met)
            else:
                return int(turn)
        raise AssertionError("time ends first")

    def _commit(self, turn: int, mark: str) -> None:
        try:
            ended = self.connection.cursor().execute("COMMIT").statusmessage
        except psycopg.Error as error:
            if not self.connection.closed or not self._was_kept(turn, mark, error):
                raise
        else:
            if ended != "COMMIT":  # a statement failed, and nobody said so
                raise StoreError(f"'{self.path}' refused a statement: nothing was recorded", "please report this")

    def _was_kept(self, turn: int, mark: str, error: psycopg.Error) -> bool:
        """Whether a transaction whose last answer was lost was kept. Waits until the server has ended it."""
        try:
            self.connection = connected(self._address)
            with self.connection.transaction():
                ((latest, place),) = self._asked(_WAS_KEPT, (mark,))
        except (psycopg.Error, StoreError):
            self._unknown(error)
        if place == 0 and latest >= turn + _MARKS:
            self._unknown(error)
        return bool(place)

    def _unknown(self, error: psycopg.Error) -> NoReturn:
        raise StoreError(
            f"the connection to '{self.path}' was lost in the very end: it may have been recorded",
            "look whether it was before you record it again: pourbook journal",
        ) from error

    @contextmanager
    def _inner(self) -> Iterator[None]:
        begin, keep, undo = _INNER
        with SpokenOf(self.path, records=True):
            self._run(begin)
        try:
            yield
            with SpokenOf(self.path, records=True):
                self._run(keep)
        except BaseException:
            # The first error is the one to tell: a failing rollback must not hide it.
            with suppress(psycopg.Error):
                self._run(undo)
            raise

    def _roll_back(self) -> None:
        """End a transaction; a connection that cannot do that is closed, and made anew when it is next needed."""
        try:
            if self.connection.pgconn.transaction_status != TransactionStatus.IDLE:
                self._run("ROLLBACK")
        except psycopg.Error:
            self.connection.close()

    def _note(self, noted: Iterable[tuple[str, list[Sequence[Any]]]], turn: int | None) -> None:
        """Write it in a transaction of its own, unless others write, or have written since a turn."""
        try:
            self._run(_WRITING)
            ((now, version),) = self._asked(f"{_TURN} FOR UPDATE NOWAIT")
            if version == VERSION and turn in (None, now):
                self._run(_MY_TURN, (secrets.token_hex(_MARK // 2),))  # who waits meanwhile must see it
                for sql, rows in noted:
                    self.connection.cursor().executemany(spoken(sql), rows)
                self._run("COMMIT")
        except psycopg.Error:
            pass  # others write, or the server is away or only takes questions: nothing is lost
        finally:
            self._roll_back()
