"""The tables of a book in a schema of PostgreSQL: made, found, taken away.

Beside those that every book has stands `book`. Its first row has the revision of the tables, how many turns were taken
at writing, and the marks of the latest; before another, numbered 0, those who write queue up.
"""

from collections.abc import Sequence
from typing import Any, NoReturn

import psycopg

from pourbook.book.addresses import Address
from pourbook.book.postgres_sql import tables
from pourbook.book.schema import STATEMENTS, TABLES
from pourbook.book.store import MOVING, Row, check_version
from pourbook.errors import Damaged, StoreError

__all__ = ["BESIDE", "MAKING", "check", "is_there", "make", "unmake"]

_BOOK = """
CREATE TABLE book (number BIGINT PRIMARY KEY, version BIGINT NOT NULL, turn BIGINT NOT NULL, turns TEXT NOT NULL)
"""
_FIRST = "INSERT INTO book (number, version, turn, turns) VALUES (1, $1, 0, ''), (0, 0, 0, '')"
_VERSION_IN = 'SELECT version FROM "{}".book WHERE number = 1'
_VERSION = "SELECT version FROM book WHERE number = 1"
_THERE = "SELECT tablename FROM pg_catalog.pg_tables WHERE schemaname = $1 ORDER BY tablename"
_SCHEMAS = "SELECT 1 FROM pg_catalog.pg_namespace WHERE nspname = $1"
MAKING = (_BOOK.strip(), *map(tables, STATEMENTS))
"""Statements that make the tables of a book."""

BESIDE = "station_"
"""How names of tables begin that stand beside a book: accounts and work in hand."""

_AT_ONCE = (psycopg.errors.UniqueViolation, psycopg.errors.DuplicateTable, psycopg.errors.DuplicateSchema)


def make(connection: "psycopg.Connection[Row]", address: Address, version: int) -> bool:
    """Make the tables of an empty book, all or none; whether the schema was made for them.

    Raises:
        StoreError: something is there already.
        psycopg.Error: as the server says.
    """
    if _asked(connection, "SHOW server_encoding") != [("UTF8",)]:
        raise StoreError(f"the database of '{address.shown}' does not keep text as UTF-8", "create one that does")
    is_new = not _asked(connection, _SCHEMAS, (address.schema,))
    try:
        with connection.transaction():
            if is_new:
                connection.execute(f'CREATE SCHEMA "{address.schema}"')
            if there := _asked(connection, _THERE, (address.schema,)):
                names = {name for (name,) in there}
                if {"book", "entry"} <= names and (MOVING,) in _asked(connection, _VERSION_IN.format(address.schema)):
                    check_version(MOVING, address.shown)
                _refuse(names, address)
            for statement in MAKING:
                connection.execute(statement)
            connection.execute(_FIRST, (version,))
    except _AT_ONCE as error:
        problem = f"somebody else makes a book at '{address.shown}' just now"
        raise StoreError(problem, "choose another schema") from error
    return is_new


def unmake(connection: "psycopg.Connection[Row]", address: Address, *, with_schema: bool) -> None:
    """Drop the tables, and the schema if it was made for them."""
    with connection.transaction():
        for table in ("book", *TABLES):
            connection.execute(f"DROP TABLE IF EXISTS {table}")
        if with_schema:
            connection.execute(f'DROP SCHEMA "{address.schema}"')


def check(connection: "psycopg.Connection[Row]", address: Address, *, takes_half: bool = False) -> None:
    """Refuse a schema without a book, and one of another format. Raises as `Store.open`, and `psycopg.Error`."""
    try:
        rows = _asked(connection, _VERSION)
    except (psycopg.errors.UndefinedTable, psycopg.errors.UndefinedColumn):
        rows = []
    if rows:
        check_version(rows[0][0], address.shown, takes_half=takes_half)
    elif is_there(connection, address):
        raise Damaged(f"'{address.shown}' is not a pourbook", "check the address, and the schema in it")
    else:
        remedy = "create one: pourbook create ADDRESS --house NAME"
        raise StoreError(f"no book found at '{address.shown}'", remedy)


def is_there(connection: "psycopg.Connection[Row]", address: Address) -> bool:
    """Whether the schema has any table."""
    return bool(_asked(connection, _THERE, (address.schema,)))


def _refuse(there: set[str], address: Address) -> NoReturn:
    if {"book", "entry"} <= there:
        raise StoreError(f"'{address.shown}' already exists", "choose another schema, or open it with --book")
    raise StoreError(f"'{address.shown}' holds tables of another program", "choose an empty schema: add ?schema=NAME")


def _asked(connection: "psycopg.Connection[Row]", sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
    return connection.cursor(binary=True).execute(sql, parameters).fetchall()
