"""A book in a file of SQLite.

SQLite runs in WAL mode with full durability, and every writing transaction begins IMMEDIATE: one that
reads first and upgrades later fails at once when another writer came between, busy timeout or not.
"""

import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from typing import Any

from pourbook.book.explaining import Explained
from pourbook.book.sqlite_connection import (
    APPLICATION_ID,
    PATIENCE_MS,
    check_book,
    check_format,
    check_readable,
    connect,
    make_tables,
    set_up,
    unchanging,
)  # fmt: skip
from pourbook.book.store import MOVING, VERSION, Row, Store, check_version
from pourbook.errors import PourbookError, StoreError

__all__ = ["SqliteStore"]

_PAGES = 2_000
"""Copied at once."""

_OUTER = ("BEGIN IMMEDIATE", "COMMIT", "ROLLBACK")
_INNER = ("SAVEPOINT inner_one", "RELEASE inner_one", "ROLLBACK TO inner_one", "RELEASE inner_one")


class SqliteStore(Store):
    """A book in one SQLite file (or in memory)."""

    def __init__(self, connection: sqlite3.Connection, path: str) -> None:
        self.connection = connection
        self.path = path
        self._takes_half = False

    @property
    def files(self) -> tuple[str, ...]:
        """The file, that of its accounts, and the companions of both, there or not; none in memory."""
        if self.path == ":memory:":
            return ()
        path = os.path.realpath(self.path)  # beside which SQLite puts them
        return tuple(f"{one}{end}" for one in (path, self.beside) for end in ("", "-wal", "-shm", "-journal"))

    @property
    def beside(self) -> str:
        """The file beside it that holds accounts and work in hand; empty in memory."""
        return "" if self.path == ":memory:" else f"{os.path.realpath(self.path)}-station"

    # -- opening -----------------------------------------------------------------------

    @classmethod
    def create(cls, path: "os.PathLike[str] | str") -> "SqliteStore":
        """A new, empty book; `StoreError` where the file already exists or the folder cannot be written."""
        name = str(path)
        if name != ":memory:":
            if os.path.exists(name):
                cls._refuse_half(name)
                raise StoreError(f"'{name}' already exists", "choose another name, or open it with --book")
            folder = os.path.dirname(os.path.abspath(name))
            if not os.path.isdir(folder):
                raise StoreError(f"the folder '{folder}' does not exist", "create it first")
            from pourbook.one_file import check_target  # with pathlib, which most starts do without

            check_target(name)
        with Explained(name):
            connection = connect(name)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            set_up(connection)
        make_tables(connection)
        return cls(connection, name)

    @classmethod
    def scratch(cls, *, indexed: bool = True) -> "SqliteStore":
        """An empty temporary book: on the disk where it outgrows memory, and gone when closed."""
        connection = connect("")
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("PRAGMA cache_size = -65536")
        make_tables(connection)
        store = cls(connection, "a scratch book")
        for kind, name in () if indexed else store.defined():
            if kind == "index":
                store.execute(f"DROP INDEX {name}")
        return store

    @classmethod
    def open_for_moving(cls, path: "os.PathLike[str] | str") -> "SqliteStore":
        """The book at that path, or what was moved of it so far; where nothing is, an empty one that is marked so."""
        name = str(path)
        if not os.path.exists(name):
            from pathlib import Path

            from pourbook.one_file import placing

            with placing(Path(name)) as beside:
                empty = cls.create(beside)
                empty.mark_version(MOVING)
                empty.close()
        return cls.open(name, takes_half=True)

    @classmethod
    def _refuse_half(cls, name: str) -> None:
        """Refuse what a move that stopped left there: it cannot be opened, and only the move goes on."""
        try:
            with open(name, "rb") as file:
                if file.read(16) != b"SQLite format 3\0":  # the address of a book, say
                    return
            there = cls.open(name, takes_half=True)
        except (OSError, PourbookError):
            return
        version = there.version
        there.close()
        if version == MOVING:
            check_version(version, name)

    @classmethod
    def open(cls, path: "os.PathLike[str] | str", *, takes_half: bool = False) -> "SqliteStore":
        """The book at that path; one that is not all there yet only with `takes_half`.

        Raises:
            StoreError: it does not exist, or cannot be read.
            Damaged: the file is not a book, or a broken one.
            NewerBook: a later version wrote it.
        """
        name = str(path)
        if not os.path.isfile(name):
            raise StoreError(f"no book found at '{name}'", "create one: pourbook create PATH --house NAME")
        # If neither the book nor its folder can be written, nobody writes, and no lock is needed.
        folder = os.path.dirname(os.path.abspath(name))
        read_only = not os.access(name, os.W_OK) and not os.access(folder, os.W_OK)
        with Explained(name):
            connection = connect(unchanging(name) if read_only else name)
        try:
            check_book(connection, name, takes_half=takes_half)
            if read_only:
                check_readable(name)
            else:
                with Explained(name):
                    set_up(connection)
        except BaseException:
            connection.close()
            raise
        store = cls(connection, name)
        store._takes_half = takes_half
        return store

    # -- the interface -----------------------------------------------------------------

    def query(self, sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
        """All rows of a question."""
        with Explained(self.path):
            return self.connection.execute(sql, parameters).fetchall()

    def stream(self, sql: str, parameters: Sequence[Any] = ()) -> Iterator[Row]:
        """The rows of a question one by one, memory flat."""
        with Explained(self.path):
            # Not "yield from": after one that stopped half-way it would still ask the book, which may be closed.
            for row in self.connection.execute(sql, parameters):  # noqa: UP028
                yield row

    def execute(self, sql: str, parameters: Sequence[Any] | Mapping[str, Any] = ()) -> None:
        """One statement that changes something."""
        with Explained(self.path, records=True):
            self.connection.execute(sql, parameters)

    def execute_many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """The same statement for many rows."""
        with Explained(self.path, records=True):
            self.connection.executemany(sql, rows)

    def insert_many(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """Many new rows, the fastest way there is."""
        marks = ",".join("?" * len(columns))
        self.execute_many(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", rows)

    def note(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """As `execute_many`, for what can be worked out again: at once, or silently not at all.

        In a snapshot it is written only if nobody has written since the snapshot began.
        """
        try:
            self.connection.execute("PRAGMA busy_timeout = 0")
            check_format(self.connection, self.path, takes_half=self._takes_half)
            self.connection.executemany(sql, rows)
        except (sqlite3.OperationalError, StoreError):
            pass  # others write or have upgraded the book, or the disk is full or read-only: nothing is lost
        finally:
            self.connection.execute(f"PRAGMA busy_timeout = {PATIENCE_MS}")

    def insert_copied(self, copy: Store, table: str, question: str, parameters: Sequence[Any] = ()) -> None:  # noqa: ARG002
        """New rows: what the copy that is attached answers."""
        self.execute(f"INSERT INTO {table} {question}", parameters)

    def delete_copied(self, copy: Store, table: str, key: Sequence[str], question: str) -> None:  # noqa: ARG002
        """Drop the rows with the keys that the copy that is attached answers."""
        self.execute(f"DELETE FROM {table} WHERE ({', '.join(key)}) IN ({question})")

    def define(self, name: str, function: Callable[[Any], Any]) -> None:
        """A function of one value, for statements to come."""
        self.connection.create_function(name, 1, function)

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """A writing transaction: all of it or nothing; one inside another can be undone alone."""
        is_inner = self.connection.in_transaction
        begin, keep, *undo = _INNER if is_inner else _OUTER
        with Explained(self.path, records=True):
            self.connection.execute(begin)
        try:
            if not is_inner:  # a later version may have upgraded the book since it was opened
                check_format(self.connection, self.path, takes_half=self._takes_half)
            yield
            with Explained(self.path, records=True):
                self.connection.execute(keep)
        except BaseException:
            # The first error is the one to tell: a failing rollback must not hide it.
            if self.connection.in_transaction:
                try:
                    for statement in undo:
                        self.connection.execute(statement)
                except sqlite3.Error:
                    self.connection.close()
            raise

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Questions asked inside are answered from one state of the book, whatever others write."""
        if self.connection.in_transaction:
            yield
            return
        with Explained(self.path):
            self.connection.execute("BEGIN")
        try:
            yield
        finally:
            # Keep what was noted; a damaged file or a full disk cannot be committed, and need not be.
            if self.connection.in_transaction:
                try:
                    self.connection.execute("COMMIT")
                except sqlite3.Error:
                    if self.connection.in_transaction:
                        self.connection.execute("ROLLBACK")

    def copy_into(self, path: str, told: Callable[[int, int], None]) -> None:
        """Copy the book as it is now into a new file; `told` is told how many pages are left, and of how many.

        Others go on writing: what is read meanwhile is one state of the book.
        """
        with self.snapshot(), Explained(self.path, records=True):
            self.connection.execute("SELECT count(*) FROM sqlite_master").fetchone()  # it begins with what is read
            target = connect(path)
            try:
                self.connection.backup(target, pages=_PAGES, progress=lambda _, left, whole: told(left, whole))
            finally:
                target.close()

    @contextmanager
    def copied(self) -> Iterator["SqliteStore"]:
        """A private copy of the book as it is now, gone at the end; nobody waits for what is done in it.

        The book itself can read its tables as `copy.TABLE`. Not inside a transaction.
        """
        import shutil  # seldom needed
        from tempfile import mkdtemp

        # Beside the book: where there is room for the one there should be room for the other.
        folder = os.path.dirname(os.path.abspath(self.path))
        is_beside = bool(self.files) and os.access(folder, os.W_OK)
        own = mkdtemp(prefix=".pourbook-", dir=folder if is_beside else None)
        try:
            path = os.path.join(own, "copy.pourbook")
            copy = SqliteStore(connect(path), path)
            try:
                with Explained(self.path):
                    self.connection.backup(copy.connection)
                    for pragma in ("journal_mode = MEMORY", "synchronous = OFF", "cache_size = -65536"):
                        copy.connection.execute(f"PRAGMA {pragma}")
                    self.connection.execute("ATTACH ? AS copy", (path,))
                # Open files need no name, and one that has none is gone even if this process is killed.
                shutil.rmtree(own, ignore_errors=True)
                try:
                    yield copy
                finally:
                    self.execute("DETACH copy")
            finally:
                copy.close()
        finally:
            shutil.rmtree(own, ignore_errors=True)

    @contextmanager
    def working_in(self, copy: Store) -> Iterator[None]:
        """Whatever is asked or written inside is asked of, or written into, the copy."""
        if not isinstance(copy, SqliteStore):
            raise TypeError("a copy is of the same engine")
        own, self.connection = self.connection, copy.connection
        try:
            yield
        finally:
            self.connection = own

    @property
    def is_writing(self) -> bool:
        """Whether a transaction is open."""
        return self.connection.in_transaction

    def settle(self) -> None:
        """Empty the log into the book, so that the next pours do not carry it along; nobody waits for it."""
        if self.connection.in_transaction:
            return
        with Explained(self.path):
            self.connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
            # To begin the log anew needs the writer's place: only if it is free, and nobody reads what is old.
            self.connection.execute("PRAGMA busy_timeout = 0")
            try:
                self.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            finally:
                self.connection.execute(f"PRAGMA busy_timeout = {PATIENCE_MS}")

    @property
    def engine(self) -> str:
        """Name and version of what keeps it."""
        return f"SQLite {sqlite3.sqlite_version}"

    @property
    def version(self) -> int:
        """Revision of its tables, or `MOVING`."""
        return int(self.query("PRAGMA user_version")[0][0])

    def overwrite_deleted(self) -> None:
        """Zeros take the place of what is deleted from now on."""
        self.execute("PRAGMA secure_delete = ON")

    def mark_version(self, version: int = VERSION) -> None:
        """State that the tables are those of this revision, or that not all of the book is there (`MOVING`)."""
        self.execute(f"PRAGMA user_version = {version}")

    def columns(self, table: str) -> list[str]:
        """The columns of a table, in their order; none where there is no such table."""
        return [column for _, column, *_ in self.query(f"PRAGMA table_info({table})")]

    def defined(self) -> dict[tuple[str, str], str]:
        """The statement that makes each; not that of the steps that made the tables."""
        question = "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY rowid"
        own = ("sqlite_", "_sqlite_migrations")
        return {(kind, name): sql for kind, name, sql in self.query(question) if not name.startswith(own)}

    def to_define(self) -> dict[tuple[str, str], str]:
        """As `defined`: what a book should have."""
        with closing(SqliteStore.create(":memory:")) as whole:
            return whole.defined()

    def undefine(self, kind: str, name: str) -> None:
        """Drop a table, index, view or trigger, if it is there."""
        quoted = name.replace('"', '""')
        self.execute(f'DROP {kind.upper()} IF EXISTS "{quoted}"')

    def reindex(self, table: str) -> None:
        """Make the indexes of a table anew."""
        self.execute(f"REINDEX {table}")

    @property
    def elsewhere(self) -> str:
        """Where another process finds it."""
        ((_, _, file),) = self.query("SELECT * FROM pragma_database_list WHERE name = 'main'")
        return file if os.path.isfile(file) else ""

    def problems(self) -> list[str]:
        """What the database itself finds wrong with its files."""
        said = [str(row[0]) for row in self.query("PRAGMA integrity_check(20)")]
        return [] if said == ["ok"] else said

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    def remove(self) -> None:
        """Close it and take away what `create` made, so that its name is free again."""
        self.close()
        if self.path != ":memory:":
            os.unlink(self.path)
