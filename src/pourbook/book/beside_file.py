"""The small SQLite file beside a book: found, made when something is first kept in it, and closed with the book.

It holds what is no part of the journal, so that a copy of the book that is given away carries none of it. It knows its
book by the hash of the first entry, since accounts of a book that was removed must not open another of the same name.
"""

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from pourbook.book.explaining import Explained
from pourbook.errors import Damaged, NewerBook, StoreError

__all__ = ["BesideFile", "Row"]

Row = tuple[Any, ...]

_APPLICATION_ID = 0x706F7573
"""Marks a SQLite file as one that stands beside a book ("pous")."""

_VERSION = 1

_PATIENCE_MS = 5_000
"""Whoever writes here writes a row or two."""

_WORTHLESS = "remove it, and make the accounts anew: pourbook person NAME --role ROLE --pin-stdin"


class BesideFile:
    """Tables in a file of their own, or in memory.

    Attributes:
        path: the file; empty for one in memory.
        schema: statements that make the tables.
        book: what the file knows its book by.
    """

    def __init__(self, path: str, schema: Sequence[str], book: str) -> None:
        self.path, self.schema, self.book = path, schema, book
        self._connection: sqlite3.Connection | None = None

    def read(self, sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
        """All rows of a question; none where nothing was ever kept."""
        connection = self._opened(to_write=False)
        if connection is None:
            return []
        with _ExplainedBeside(self.path):
            return connection.execute(sql, parameters).fetchall()

    def write(self, sql: str, parameters: Sequence[Any] = ()) -> int:
        """One statement that changes something; how many rows it changed.

        Raises:
            StoreError: the file cannot be written.
        """
        connection = self._opened(to_write=True)
        assert connection is not None
        with _ExplainedBeside(self.path):
            return connection.execute(sql, parameters).rowcount

    def write_lightly(self, sql: str, parameters: Sequence[Any] = ()) -> int:
        """As `write`, without waiting for the disk: a program that ends loses nothing, a power cut may."""
        connection = self._opened(to_write=True)
        assert connection is not None
        if connection.in_transaction:
            return self.write(sql, parameters)
        connection.execute("PRAGMA synchronous = NORMAL")
        try:
            return self.write(sql, parameters)
        finally:
            connection.execute("PRAGMA synchronous = FULL")

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """A writing transaction: all of it or nothing; others wait for it. One inside another is a part of that."""
        connection = self._opened(to_write=True)
        assert connection is not None
        if connection.in_transaction:
            yield
            return
        self.write("BEGIN IMMEDIATE")
        try:
            yield
            self.write("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise

    def close(self) -> None:
        """Close the file, if it was opened."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    # -- opening -----------------------------------------------------------------------

    def _opened(self, *, to_write: bool) -> sqlite3.Connection | None:
        """The connection; None where there is no file yet and nothing is to be written."""
        if self._connection is not None:
            return self._connection
        if self.path and not os.path.exists(self.path):
            if not to_write:
                return None
            _make_private(self.path)
        with _ExplainedBeside(self.path):
            connection = _connect(self.path)
            try:
                is_ready = self._is_ready(connection)
                if not is_ready and to_write:
                    self._make_tables(connection)
            except BaseException:
                connection.close()
                raise
        if not is_ready and not to_write:
            connection.close()
            return None
        self._connection = connection
        return connection

    def _is_ready(self, connection: sqlite3.Connection) -> bool:
        """Whether its tables are there; False where it is empty, as another process may be about to make them.

        Raises:
            Damaged: it is another file, or that of another book.
            NewerBook: a later version wrote it.
        """
        if not connection.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone():
            return False  # asked first: whatever is there now was made together with the numbers below
        (application,), (version,) = (
            connection.execute(f"PRAGMA {one}").fetchone() for one in ("application_id", "user_version")
        )
        if application != _APPLICATION_ID:
            raise Damaged(f"'{self.path}' is not what pourbook keeps beside a book", "move it away, and try again")
        if version > _VERSION:
            raise NewerBook(
                f"'{self.path}' was written by a later version of pourbook", "update it: pip install --upgrade pourbook"
            )
        if connection.execute("SELECT hash FROM book").fetchone() != (self.book,):
            raise Damaged(f"'{self.path}' holds the accounts of another book", _WORTHLESS)
        return True

    def _make_tables(self, connection: sqlite3.Connection) -> None:
        connection.execute("BEGIN IMMEDIATE")
        if not self._is_ready(connection):
            connection.execute(f"PRAGMA application_id = {_APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {_VERSION}")
            connection.execute("CREATE TABLE book (hash TEXT NOT NULL)")
            connection.execute("INSERT INTO book (hash) VALUES (?)", (self.book,))
            for statement in self.schema:
                connection.execute(statement)
        connection.execute("COMMIT")
        connection.execute("PRAGMA journal_mode = WAL")


def _make_private(path: str) -> None:
    """An empty file that its owner alone may read; SQLite gives its companions the same rights."""
    try:
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as error:
        raise StoreError(
            f"'{path}' cannot be written, so no accounts can be kept: {error.strerror}",
            "check the permissions of its folder",
        ) from error


def _connect(path: str) -> sqlite3.Connection:
    name = path or ":memory:"
    if path and not os.access(path, os.W_OK) and not os.access(os.path.dirname(path), os.W_OK):
        from pathlib import Path  # seldom needed

        name = f"{Path(path).absolute().as_uri()}?immutable=1"
    connection = sqlite3.connect(name, isolation_level=None, uri=name.startswith("file:"))
    connection.execute(f"PRAGMA busy_timeout = {_PATIENCE_MS}")
    return connection


class _ExplainedBeside(Explained):
    """As for a book; but what is damaged here is no loss to the journal."""

    __slots__ = ()

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        try:
            super().__exit__(kind, error, trace)
        except Damaged as damage:
            if error is not None and not isinstance(error, Damaged):
                raise Damaged(f"'{self._path}' is damaged; the book itself is not", _WORTHLESS) from damage
            raise
