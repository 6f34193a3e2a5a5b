"""What care of a book asks of PostgreSQL: what its schema defines, whether all of the book is there, a copy of it."""

from abc import abstractmethod
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from itertools import islice
from typing import Any, Literal, TypeVar

from pourbook.book.addresses import Address
from pourbook.book.postgres_connection import Line
from pourbook.book.postgres_errors import SpokenOf
from pourbook.book.store import VERSION, Store

__all__ = ["PostgresCare"]

_T = TypeVar("_T")

_PORTION = 10_000


class PostgresCare(Store):
    """The part of a store on PostgreSQL that a working day does not need."""

    can_copy = is_near = False
    _address: Address
    _line: Line
    _inside: Literal["", "snapshot", "transaction"]

    @abstractmethod
    def _anew(self, act: Callable[[], _T]) -> _T:
        """What `act` answers, over a new connection where the old one was cut."""

    def mark_version(self, version: int = VERSION) -> None:
        """State that the tables are those of this revision, or that not all of the book is there (`MOVING`)."""
        self.execute("UPDATE book SET version = ? WHERE number = 1", (version,))

    def defined(self) -> dict[tuple[str, str], str]:
        """What makes each table, index, view or trigger, by kind and name."""
        from pourbook.book.postgres_defined import defined  # asked for seldom

        with SpokenOf(self.path):
            return self._anew(lambda: defined(self._line.connection, self._address.schema))

    def to_define(self) -> dict[tuple[str, str], str]:
        """As `defined`: what a book should have."""
        from pourbook.book.postgres_defined import to_define

        with SpokenOf(self.path):
            return to_define(self._address)

    def undefine(self, kind: str, name: str) -> None:
        """Drop a table, index, view or trigger, if it is there."""
        from pourbook.book.postgres_defined import undefine

        with SpokenOf(self.path, records=True):
            undefine(self._line.connection, kind, name)

    def reindex(self, table: str) -> None:
        """Make the indexes of a table anew."""
        self.execute(f"REINDEX TABLE {table}")

    @property
    def elsewhere(self) -> str:
        """Where another process finds what this one reads; empty in a transaction, which nobody else sees."""
        return "" if self._inside == "transaction" else self.path

    def problems(self) -> list[str]:
        """Nothing: an engine that serves many looks after its own files."""
        return []

    @contextmanager
    def copied(self) -> Iterator[Store]:
        """A private copy in SQLite of the book as it is now, gone at the end."""
        from pourbook.book.copying import bring

        with closing(Store.scratch()) as copy:
            with self.snapshot(), copy.transaction():
                bring(self, copy, [name for kind, name in copy.to_define() if kind == "table"])
            yield copy

    @contextmanager
    def working_in(self, copy: Store) -> Iterator[None]:
        """Inside it is the copy: whoever holds it asks the copy and writes into it."""
        own = self.__class__, self.__dict__
        self.__class__, self.__dict__ = copy.__class__, copy.__dict__  # type: ignore[assignment]
        try:
            yield
        finally:
            self.__class__, self.__dict__ = own

    def insert_copied(self, copy: Store, table: str, question: str, parameters: Sequence[Any] = ()) -> None:
        """New rows, fetched from the copy in portions: what is worked out for them may ask the server."""
        rows, columns = copy.stream(question, parameters), copy.columns(table)
        while portion := list(islice(rows, _PORTION)):
            self.insert_many(table, columns, portion)

    def delete_copied(self, copy: Store, table: str, key: Sequence[str], question: str) -> None:
        """Drop the rows with the keys that the copy answers."""
        same = " AND ".join(f"{name} = ?" for name in key)
        self.execute_many(f"DELETE FROM {table} WHERE {same}", copy.query(question))

    def copy_into(self, path: str, told: Callable[[int, int], None]) -> None:
        """Copy the book as it is now, table by table, into a new file of SQLite."""
        from pourbook.book.copying import copied_into

        copied_into(self, path, told)
