"""The store: where a book is kept, whichever engine keeps it.

A store answers plain SQL with `?` parameters, runs transactions, and turns faults of the engine, the file or the
network into one clear sentence. Nothing here knows what the tables mean. `SqliteStore` keeps a book in a file,
`PostgresStore` on a server; what one engine alone can do stands behind a method of each.
"""

import os
from abc import ABC, abstractmethod
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from importlib import import_module
from itertools import islice
from typing import Any, ClassVar, TypeVar

from pourbook.book.addresses import is_address, located
from pourbook.errors import NewerBook, StoreError

__all__ = ["MOVING", "VERSION", "Row", "Store", "check_version", "chunks"]

VERSION = 300
"""Of a book, kept in it: the format of the journal (3) times a hundred, and the revision of its tables.

A book of an earlier format or revision is brought up to date when it is opened (`upgrading.upgrade`).
"""

_OLDEST = 200
"""That is still brought up to date."""

MOVING = 1
"""In the place of `VERSION`: not all of the book is there yet (`moving.py`)."""

Row = tuple[Any, ...]
_Value = TypeVar("_Value", int, str)


class Store(ABC):
    """A book on one engine.

    Attributes:
        path: the file or address, as it is shown; never with a password.
        retries: how often a transaction was begun again since somebody else wrote at the same time.
    """

    path: str
    retries: int = 0

    # -- opening -----------------------------------------------------------------------

    @classmethod
    def create(cls, path: "os.PathLike[str] | str") -> "Store":
        """A new, empty book.

        Raises:
            StoreError: something is there already, or it cannot be written.
        """
        path = located(path)
        return _engine_of(path).create(path)

    @classmethod
    def open(cls, path: "os.PathLike[str] | str") -> "Store":
        """The book at that path or address.

        Raises:
            StoreError: it does not exist, or cannot be read.
            Damaged: what is there is not a book, or a broken one.
            NewerBook: a later version wrote it.
        """
        path = located(path)
        return _engine_of(path).open(path)

    @classmethod
    def open_for_moving(cls, path: "os.PathLike[str] | str") -> "Store":
        """The book at that path, or what was moved of it so far; where nothing is, an empty one that is marked so.

        Raises as `create` and `open`.
        """
        path = located(path)
        return _engine_of(path).open_for_moving(path)

    @staticmethod
    def scratch(*, indexed: bool = True) -> "Store":
        """An empty temporary book: on the disk where it outgrows memory, and gone when closed.

        Without its indexes nothing is looked up quickly in it, and rows are written faster.
        """
        return _engine("sqlite").scratch(indexed=indexed)

    @abstractmethod
    def close(self) -> None:
        """Let go of the file or the connection."""

    @abstractmethod
    def remove(self) -> None:
        """Close it and take away what `create` made, so that its name is free again."""

    # -- what is asked and written -------------------------------------------------------

    @abstractmethod
    def query(self, sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
        """All rows of a question."""

    @abstractmethod
    def stream(self, sql: str, parameters: Sequence[Any] = ()) -> Iterator[Row]:
        """The rows of a question one by one, memory flat."""

    @abstractmethod
    def execute(self, sql: str, parameters: Sequence[Any] | Mapping[str, Any] = ()) -> None:
        """One statement that changes something."""

    @abstractmethod
    def execute_many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """The same statement for many rows."""

    @abstractmethod
    def insert_many(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """Many new rows, the fastest way there is."""

    @abstractmethod
    def note(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """As `execute_many`, for what can be worked out again: at once, or silently not at all.

        In a snapshot it is written only if nobody has written since the snapshot began.
        """

    # -- transactions --------------------------------------------------------------------

    @abstractmethod
    def transaction(self) -> AbstractContextManager[None]:
        """A writing transaction: all of it or nothing; one inside another can be undone alone."""

    @abstractmethod
    def snapshot(self) -> AbstractContextManager[None]:
        """Questions asked inside are answered from one state of the book, whatever others write."""

    @property
    @abstractmethod
    def is_writing(self) -> bool:
        """Whether a transaction is open."""

    # -- what the engine knows -----------------------------------------------------------

    @property
    @abstractmethod
    def engine(self) -> str:
        """Name and version of what keeps it."""

    @property
    @abstractmethod
    def version(self) -> int:
        """Revision of its tables, or `MOVING`."""

    @property
    def has_older_tables(self) -> bool:
        """Whether an earlier revision of this program made its tables."""
        return self.version < VERSION

    @property
    def is_moving(self) -> bool:
        """Whether not all of the book is there yet."""
        return self.version == MOVING

    @abstractmethod
    def mark_version(self, version: int = VERSION) -> None:
        """State that the tables are those of this revision, or that not all of the book is there (`MOVING`)."""

    @abstractmethod
    def columns(self, table: str) -> list[str]:
        """The columns of a table, in their order; none where there is no such table."""

    @abstractmethod
    def defined(self) -> dict[tuple[str, str], str]:
        """The statement that makes each table, index, view or trigger, by kind and name; first made, first told.

        What the engine keeps for itself, and what else stands beside a book, is left out.
        """

    @abstractmethod
    def to_define(self) -> dict[tuple[str, str], str]:
        """As `defined`: what a book should have."""

    @abstractmethod
    def undefine(self, kind: str, name: str) -> None:
        """Drop a table, index, view or trigger, if it is there."""

    @abstractmethod
    def reindex(self, table: str) -> None:
        """Make the indexes of a table anew."""

    @property
    @abstractmethod
    def elsewhere(self) -> str:
        """Where another process finds what this one reads; empty where it cannot."""

    @abstractmethod
    def problems(self) -> list[str]:
        """What the engine itself finds wrong with what it keeps."""

    @property
    @abstractmethod
    def files(self) -> tuple[str, ...]:
        """Files that nothing else may write, there or not; none in memory or on a server."""

    @property
    @abstractmethod
    def beside(self) -> str:
        """Where accounts and work in hand are kept; empty in memory."""

    is_near: ClassVar[bool] = True
    """Whether a statement costs little more than what it does; else many rows are worked out here, and brought."""

    # -- copies --------------------------------------------------------------------------

    can_copy: ClassVar[bool] = True
    """Whether it has private copies; else what is only tried is tried in a transaction that is undone."""

    def copy_into(self, path: str, told: Callable[[int, int], None]) -> None:
        """Copy the book as it is now into a new file; `told` is told how much is left, and of how much.

        Others go on writing: what is read meanwhile is one state of the book.
        """
        raise NotImplementedError

    def copied(self) -> AbstractContextManager["Store"]:
        """A private copy of the book as it is now, gone at the end; nobody waits for what is done in it.

        The book itself can read its tables as `copy.TABLE`. Not inside a transaction.
        """
        raise NotImplementedError

    def working_in(self, copy: "Store") -> AbstractContextManager[None]:
        """Whatever is asked or written inside is asked of, or written into, the copy."""
        raise NotImplementedError

    def define(self, name: str, function: Callable[[Any], Any]) -> None:  # noqa: B027 (copies are all that needs one)
        """A function of one value, for statements to come about a copy."""

    @abstractmethod
    def insert_copied(self, copy: "Store", table: str, question: str, parameters: Sequence[Any] = ()) -> None:
        """New rows: what a copy answers to a question about tables that it alone has."""

    @abstractmethod
    def delete_copied(self, copy: "Store", table: str, key: Sequence[str], question: str) -> None:
        """Drop the rows with the keys that a copy answers, to a question as for `insert_copied`."""

    @abstractmethod
    def overwrite_deleted(self) -> None:
        """Leave nothing readable of what is deleted from now on, as far as the engine can."""

    @abstractmethod
    def settle(self) -> None:
        """Put in order what many writes left behind, so that the next ones do not pay for it."""


def check_version(version: int, name: str, *, takes_half: bool = False) -> None:
    """Refuse a book of a format that this program does not write, or one that is not all there."""
    if version > VERSION:
        raise NewerBook(
            f"'{name}' was written by a later version of pourbook (format {version // 100}, known {VERSION // 100})",
            "update pourbook: pip install --upgrade pourbook",
        )
    if version == MOVING:
        if takes_half:
            return
        raise StoreError(
            f"not all of the book has been moved to '{name}' yet", f"go on with it: pourbook move FROM '{name}'"
        )
    if version < _OLDEST:
        raise StoreError(
            f"'{name}' is a book of format 1, which only earlier versions of pourbook read",
            "export its history with the version that wrote it, and import that into a new book",
        )


def chunks(values: Collection[_Value], most: int = 500) -> Iterator[tuple[str, tuple[_Value, ...]]]:
    """Values in portions that fit into a query, each with its question marks."""
    waiting = iter(values)
    while chunk := tuple(islice(waiting, most)):
        yield ",".join("?" * len(chunk)), chunk


def _engine_of(path: "os.PathLike[str] | str") -> type[Store]:
    return _engine("postgres" if is_address(path) else "sqlite")


def _engine(name: str) -> type[Store]:
    # By name, since an engine is built on what stands here; and none is loaded that is not needed.
    try:
        engine: type[Store] = getattr(import_module(f"pourbook.book.{name}_store"), f"{name.title()}Store")
    except ImportError as error:
        raise StoreError(
            "a book on PostgreSQL needs psycopg, which is not installed", "install it: pip install 'pourbook[postgres]'"
        ) from error
    return engine
