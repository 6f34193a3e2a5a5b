"""The tables of a book in a schema of PostgreSQL: made, found, taken away.

Beside those that every book has stands `book`, with one row: the revision of the tables, how many turns were taken at
writing, and the marks of the latest.
"""

import re
from collections.abc import Sequence
from typing import Any, NoReturn

import psycopg

from pourbook.book.addresses import Address
from pourbook.book.postgres_sql import tables
from pourbook.book.schema import STATEMENTS, TABLES
from pourbook.book.store import Row, check_version
from pourbook.errors import Damaged, StoreError

__all__ = ["check", "defined", "is_there", "make", "to_define", "unmake"]

_BOOK = """
CREATE TABLE book (number BIGINT PRIMARY KEY, version BIGINT NOT NULL, turn BIGINT NOT NULL, turns TEXT NOT NULL)
"""
_FIRST = "INSERT INTO book (number, version, turn, turns) VALUES (1, $1, 0, '')"
_VERSION = "SELECT version FROM book WHERE number = 1"
_THERE = "SELECT tablename FROM pg_catalog.pg_tables WHERE schemaname = $1 ORDER BY tablename"
_SCHEMAS = "SELECT 1 FROM pg_catalog.pg_namespace WHERE nspname = $1"
_DEFINED = """
SELECT CASE relkind WHEN 'i' THEN 'index' WHEN 'v' THEN 'view' ELSE 'table' END, relname,
    CASE WHEN relkind = 'i' THEN (
        SELECT own.relname FROM pg_catalog.pg_index
        JOIN pg_catalog.pg_class AS own ON own.oid = pg_index.indrelid WHERE pg_index.indexrelid = pg_class.oid)
    ELSE (
        SELECT string_agg(attname || ' ' || format_type(atttypid, atttypmod), ', ' ORDER BY attnum)
        FROM pg_catalog.pg_attribute WHERE attrelid = pg_class.oid AND attnum > 0 AND NOT attisdropped)
    END
FROM pg_catalog.pg_class JOIN pg_catalog.pg_namespace ON pg_namespace.oid = pg_class.relnamespace
WHERE nspname = $1 AND (relkind IN ('r', 'v', 'p', 'm', 'f') OR relkind = 'i' AND NOT EXISTS (
    SELECT 1 FROM pg_catalog.pg_constraint WHERE conindid = pg_class.oid))
UNION ALL
SELECT 'trigger', tgname, pg_class.relname FROM pg_catalog.pg_trigger
JOIN pg_catalog.pg_class ON pg_class.oid = tgrelid JOIN pg_catalog.pg_namespace ON pg_namespace.oid = relnamespace
WHERE nspname = $1 AND NOT tgisinternal
"""
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
                _refuse({name for (name,) in there}, address)
            for statement in (_BOOK, *map(tables, STATEMENTS)):
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


def to_define() -> dict[tuple[str, str], str]:
    """What makes each table and index of a book, by kind and name."""
    found = {}
    for statement in (_BOOK.strip(), *map(tables, STATEMENTS)):
        _, kind, name, *_ = statement.split()
        found[kind.lower(), name] = statement
    return found


def defined(connection: "psycopg.Connection[Row]", address: Address) -> dict[tuple[str, str], str]:
    """What there is in the schema: of what has the name and the columns that it should have, what makes it.

    Columns are compared by name, type and order; an index by name and table.
    """
    ours, found = to_define(), {}
    for kind, name, of_it in _asked(connection, _DEFINED, (address.schema,)):
        if not name.startswith(BESIDE):
            statement = ours.get((kind, name), "")
            is_as_made = of_it == (_columns_made(statement) if kind == "table" else _table_of(statement))
            found[kind, name] = statement if is_as_made else f"{kind} {name} ({of_it})"
    return {key: found[key] for key in sorted(found, key=lambda key: list(ours).index(key) if key in ours else 1000)}


def _columns_made(statement: str) -> str:
    """Names and types of the columns, as `_DEFINED` tells them."""
    columns = re.findall(r"(?:[(,]\s*)(\w+) (BIGINT|TEXT|BYTEA|DOUBLE PRECISION)", statement)
    return ", ".join(f"{name} {kind.lower()}" for name, kind in columns)


def _table_of(statement: str) -> str:
    return statement.partition(" ON ")[2].partition(" ")[0]


def _refuse(there: set[str], address: Address) -> NoReturn:
    if {"book", "entry"} <= there:
        raise StoreError(f"'{address.shown}' already exists", "choose another schema, or open it with --book")
    raise StoreError(f"'{address.shown}' holds tables of another program", "choose an empty schema: add ?schema=NAME")


def _asked(connection: "psycopg.Connection[Row]", sql: str, parameters: Sequence[Any] = ()) -> list[Row]:
    return connection.cursor(binary=True).execute(sql, parameters).fetchall()
