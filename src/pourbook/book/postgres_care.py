"""What care of a book asks of PostgreSQL: what its schema defines, whether all of the book is there, a copy of it."""

from abc import abstractmethod
from collections.abc import Callable
from typing import Literal, TypeVar

from pourbook.book.addresses import Address
from pourbook.book.postgres_connection import Line
from pourbook.book.postgres_errors import SpokenOf
from pourbook.book.store import VERSION, Store

__all__ = ["PostgresCare"]

_T = TypeVar("_T")


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

    def copy_into(self, path: str, told: Callable[[int, int], None]) -> None:
        """Copy the book as it is now, table by table, into a new file of SQLite."""
        from pourbook.book.copying import copied_into

        copied_into(self, path, told)
