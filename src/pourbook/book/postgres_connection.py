"""The line to a server, on which values go to and fro as those of SQLite do; made anew when it was cut."""

import math
import os
import secrets
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from typing import Any, TypeVar

import psycopg
from psycopg.adapt import Buffer, Dumper, Loader
from psycopg.pq import Format, TransactionStatus
from psycopg.types.numeric import NumericBinaryLoader

from pourbook.book.addresses import Address
from pourbook.book.postgres_errors import SpokenOf, of_connecting
from pourbook.book.store import Row

__all__ = ["PATIENCE_S", "Line", "let_go"]

_T = TypeVar("_T")

PATIENCE_S = 30.0
"""How long a writing transaction waits for its turn: as long as for a file that others write."""

_SETTINGS = {
    "client_encoding": "UTF8", "application_name": "pourbook", "connect_timeout": "10", "keepalives_idle": "30",
    "keepalives_interval": "10", "keepalives_count": "3", "tcp_user_timeout": "30000",
}  # fmt: skip
_WISHES = (
    f"SET lock_timeout = '{PATIENCE_S:.0f}s'", "SET jit = off",
    "SET enable_hashjoin = off", "SET enable_mergejoin = off",
)  # fmt: skip
"""Not every engine that speaks the protocol knows them; the book is as right without.

Our questions look rows up by their keys. How many states a lineage has no planner can tell: one that took it to be long
would read the whole of a table beside it.
"""


class _Whole(Dumper):
    """Every whole number is as wide as a column, so that a statement is planned once."""

    oid = psycopg.adapters.types["int8"].oid
    format = Format.BINARY

    def dump(self, obj: int) -> Buffer:
        return int(obj).to_bytes(8, "big", signed=True)  # OverflowError beyond it, as from SQLite


class _Text(Dumper):
    """Text is text, whatever it is compared with; no column holds a NUL, so one that has it is found nowhere."""

    oid = psycopg.adapters.types["text"].oid
    format = Format.BINARY

    def dump(self, obj: str) -> Buffer:
        return obj.replace("\0", "\uffff").encode()


class _Sum(NumericBinaryLoader):
    """Sums of whole numbers are whole."""

    def load(self, data: Buffer) -> int:  # type: ignore[override]
        return int(super().load(data))


class _Truth(Loader):
    """0 and 1, as SQLite says it."""

    format = Format.BINARY

    def load(self, data: Buffer) -> int:
        return int(bytes(data) != b"\0")


class Line:
    """The connection of a store, `connection` for as long as it lasts. Errors are those of `psycopg`.

    Attributes:
        place: another that keeps a place in the queue of those who write, once one was needed.
        met_others: when others were last met at writing, by `time.monotonic`.
    """

    place: "Line | None" = None
    met_others = -math.inf

    def __init__(self, address: Address) -> None:
        self.address = address
        self.connection = _connected(address)

    def asked(self, sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
        """All rows of a question."""
        return self.connection.cursor(binary=True).execute(sql, tuple(parameters)).fetchall()

    def run(self, sql: str, parameters: Sequence[Any] = ()) -> str:
        """Run a statement; what the server says of it."""
        return self.connection.cursor().execute(sql, tuple(parameters)).statusmessage or ""

    def run_many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """Run a statement for many rows, without waiting for the answer to each."""
        self.connection.cursor().executemany(sql, rows)

    def copy_in(self, table: str, columns: str, rows: Iterable[Sequence[Any]]) -> None:
        """Many new rows in one stream."""
        with self.connection.cursor().copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)

    def portions(self, sql: str, parameters: Sequence[Any], *, inside: bool) -> "psycopg.ServerCursor[Row]":
        """The answer to a question, kept at the server and fetched in portions; `inside` a transaction ends with it."""
        cursor = self.connection.cursor(f"s{secrets.token_hex(4)}", withhold=not inside)
        try:
            cursor.execute(sql, tuple(parameters), binary=True)
        except BaseException:
            let_go(cursor)
            raise
        return cursor

    @property
    def is_cut(self) -> bool:
        """Whether the connection is of no use any more."""
        return self.connection.closed

    @property
    def is_inside(self) -> bool:
        """Whether a transaction is open."""
        return self.connection.pgconn.transaction_status != TransactionStatus.IDLE

    def close(self) -> None:
        """Let go of it, and of the place."""
        self.connection.close()
        if self.place is not None:
            self.place.close()

    def again_if_cut(self, act: Callable[[], _T]) -> _T:
        """What `act` answers, which begins anew: over another connection where this one turns out to be cut."""
        try:
            return act()
        except psycopg.OperationalError:
            if not self.is_cut:
                raise
        self.renew()
        return act()

    def renew(self) -> None:
        """Connect anew; `StoreError` where that cannot be."""
        self.connection.close()
        self.connection = _connected(self.address)

    def roll_back(self) -> None:
        """End a transaction; a connection that cannot do that is closed."""
        try:
            if self.is_inside:
                self.run("ROLLBACK")
        except psycopg.Error:
            self.connection.close()


def let_go(cursor: "psycopg.ServerCursor[Row]", *, is_gone: bool = False) -> None:
    """Close a cursor, also where only closing it shows that the connection is cut.

    One that is gone with its transaction is not closed at the server: that would spoil the transaction of now.
    """
    if is_gone:
        psycopg.Cursor.close(cursor)
        return
    for _ in range(2):
        with suppress(psycopg.Error):
            cursor.close()


def _connected(address: Address) -> "psycopg.Connection[tuple[Any, ...]]":
    """A new connection; `StoreError` where there is none to be had."""
    given: dict[str, Any] = {name: value for name, value in _SETTINGS.items() if f"{name}=" not in address.server}
    if "PGCONNECT_TIMEOUT" in os.environ:
        del given["connect_timeout"]
    try:
        connection = psycopg.connect(address.server, autocommit=True, cursor_factory=psycopg.RawCursor, **given)
    except psycopg.Error as error:
        raise of_connecting(error, address.shown) from error
    connection.server_cursor_factory = psycopg.RawServerCursor
    for kind in (int, bool):
        connection.adapters.register_dumper(kind, _Whole)
    connection.adapters.register_dumper(str, _Text)
    connection.adapters.register_loader("numeric", _Sum)
    connection.adapters.register_loader("bool", _Truth)
    try:
        with SpokenOf(address.shown):
            own = f'SET search_path TO "{address.schema}"'
            try:
                connection.execute("; ".join((own, *_WISHES)))  # one way to the server and back
            except psycopg.errors.UndefinedObject:
                for wish in (own, *_WISHES):
                    with suppress(psycopg.errors.UndefinedObject):
                        connection.execute(wish)
    except BaseException:
        connection.close()
        raise
    return connection
