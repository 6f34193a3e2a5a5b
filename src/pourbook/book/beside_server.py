"""What is kept beside a book on a server: tables of the same schema whose names begin with `station_`.

They are no part of the book: no back-up, move or export takes them along. Their connection is their own, so that what
is kept does not depend on whether what is being recorded is kept.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any, TypeVar

import psycopg

from pourbook.book.addresses import read_address
from pourbook.book.postgres_connection import Line
from pourbook.book.postgres_errors import SpokenOf
from pourbook.book.postgres_sql import spoken, tables
from pourbook.book.postgres_tables import BESIDE
from pourbook.book.store import Row
from pourbook.errors import Damaged, NewerBook

__all__ = ["BesideServer"]

_T = TypeVar("_T")

_VERSION = 1
_BOOK = f"CREATE TABLE {BESIDE}book (number BIGINT PRIMARY KEY, version BIGINT, hash TEXT, last BIGINT)"
_FIRST = f"INSERT INTO {BESIDE}book (number, version, hash, last) VALUES (1, {_VERSION}, $1, 0)"
_KNOWN = f"SELECT version, hash FROM {BESIDE}book"
_TURN = f"SELECT last FROM {BESIDE}book WHERE number = 1 FOR UPDATE"
_NEXT = f"UPDATE {BESIDE}book SET last = last + 1 WHERE number = 1 RETURNING last"
_NAMED = re.compile(r"\b(FROM|INTO|UPDATE|TABLE) (?!SET\b)(?=\w)")
_NUMBERED = re.compile(r"INSERT INTO (sign_in|failure) \((.*)\) VALUES \((.*)\)")
"""What gets the next number, since an engine may have none of its own."""

_WORTHLESS = f"drop the tables {BESIDE}…, and make the accounts anew: pourbook person NAME --role ROLE --pin-stdin"


class BesideServer:
    """As `BesideFile`, in tables at the address of a book.

    Attributes:
        path: the address.
        schema: statements that make the tables, as SQLite reads them.
        book: what the tables know their book by.
    """

    def __init__(self, path: str, schema: Sequence[str], book: str) -> None:
        self.path, self.schema, self.book = path, schema, book
        self._line: Line | None = None
        self._is_inside = self._is_ready = False

    def read(self, sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
        """All rows of a question; none where nothing was ever kept."""
        line = self._connected()
        if not self._found(line):
            return []
        with SpokenOf(self.path):
            return self._anew(line, lambda: line.asked(_said(sql), parameters))

    def write(self, sql: str, parameters: Sequence[Any] = ()) -> int:
        """One statement that changes something; how many rows it changed.

        Raises:
            StoreError: nothing can be written there.
        """
        if numbered := _NUMBERED.fullmatch(sql):
            table, columns, values = numbered.groups()
            with self.transaction():
                with SpokenOf(self.path):
                    ((number,),) = self._connected().asked(_NEXT)
                sql = f"INSERT INTO {table} (number, {columns}) VALUES (?, {values})"
                return self._written(sql, (number, *parameters))
        return self._written(sql, parameters)

    write_lightly = write

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """A writing transaction: all of it or nothing; others wait for it. One inside another is a part of that."""
        if self._is_inside:
            yield
            return
        line = self._to_write()
        with SpokenOf(self.path):
            line.again_if_cut(lambda: line.run("BEGIN ISOLATION LEVEL READ COMMITTED"))
            line.asked(_TURN)  # whoever has the row alone sees what the one before kept
        self._is_inside = True
        try:
            yield
            with SpokenOf(self.path):
                line.run("COMMIT")
        finally:
            self._is_inside = False
            line.roll_back()

    def close(self) -> None:
        """Close the connection, if there is one."""
        if self._line is not None:
            self._line.connection.close()
            self._line = None

    # -- opening -----------------------------------------------------------------------

    def _written(self, sql: str, parameters: Sequence[Any]) -> int:
        line = self._to_write()
        with SpokenOf(self.path):  # what is kept alone may be kept twice
            said = self._anew(line, lambda: line.run(_said(sql), parameters))
        return int(said.rpartition(" ")[2])

    def _anew(self, line: Line, act: Callable[[], _T]) -> _T:
        return act() if self._is_inside else line.again_if_cut(act)

    def _connected(self) -> Line:
        if self._line is None:
            self._line = Line(read_address(self.path))
        elif self._line.is_cut and not self._is_inside:
            self._line.renew()
        return self._line

    def _found(self, line: Line) -> bool:
        """Whether the tables are there, and are those of this book."""
        if not self._is_ready:
            with SpokenOf(self.path):
                try:
                    ((version, book),) = line.again_if_cut(lambda: line.asked(_KNOWN))
                except psycopg.errors.UndefinedTable:
                    return False
            if version > _VERSION:
                raise NewerBook(
                    f"what is kept beside '{self.path}' was written by a later version of pourbook",
                    "update it: pip install --upgrade pourbook",
                )
            if book != self.book:
                raise Damaged(f"beside '{self.path}' are the accounts of another book", _WORTHLESS)
            self._is_ready = True
        return True

    def _to_write(self) -> Line:
        """The connection, once the tables are there."""
        line = self._connected()
        if not self._found(line):
            # Where another process makes them just now, they are there when it has done.
            with SpokenOf(self.path):  # noqa: SIM117 (what is suppressed must not become a sentence)
                with suppress(psycopg.errors.UniqueViolation, psycopg.errors.DuplicateTable):
                    self._make_tables(line)
            self._found(line)
        return line

    def _make_tables(self, line: Line) -> None:
        with line.connection.transaction():
            line.run(_BOOK)
            line.run(_FIRST, (self.book,))
            for statement in self.schema:
                line.run(_NAMED.sub(rf"\1 {BESIDE}", tables(statement)))


def _said(sql: str) -> str:
    return spoken(_NAMED.sub(rf"\1 {BESIDE}", sql))
