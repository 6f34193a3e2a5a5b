"""What a schema of PostgreSQL defines, as statements that would make it; and what that of a book should.

What it should is asked of the server itself: the tables of a book are made as temporary ones in a transaction that is
rolled back, so that both are told in the same words.
"""

from contextlib import closing
from typing import Any

import psycopg

from pourbook.book.addresses import Address
from pourbook.book.postgres_connection import Line
from pourbook.book.postgres_tables import BESIDE, MAKING

__all__ = ["Defined", "defined", "to_define", "undefine"]

Defined = dict[tuple[str, str], str]
"""Kind (table, index, view, trigger) and name, to the statement that makes it."""

_OWN_SCHEMA = "SELECT pg_catalog.pg_my_temp_schema()::bigint"
_SCHEMA = "SELECT oid::bigint FROM pg_catalog.pg_namespace WHERE nspname = $1"

_COLUMNS = """
SELECT class.relname, attname, pg_catalog.format_type(atttypid, atttypmod), attnotnull::int,
    coalesce((SELECT collname FROM pg_catalog.pg_collation WHERE pg_collation.oid = attcollation), ''),
    coalesce((SELECT pg_catalog.pg_get_expr(adbin, adrelid) FROM pg_catalog.pg_attrdef
        WHERE adrelid = attrelid AND adnum = attnum), '')
FROM pg_catalog.pg_class AS class JOIN pg_catalog.pg_attribute ON attrelid = class.oid
WHERE relnamespace = $1::oid AND relkind IN ('r', 'p', 'f') AND attnum > 0 AND NOT attisdropped
ORDER BY class.oid, attnum
"""
_CONSTRAINTS = """
SELECT relname, pg_catalog.pg_get_constraintdef(pg_constraint.oid)
FROM pg_catalog.pg_constraint JOIN pg_catalog.pg_class ON pg_class.oid = conrelid
WHERE relnamespace = $1::oid AND contype <> 'n' ORDER BY pg_constraint.oid
"""
_INDEXES = """
SELECT 'index', own.relname, pg_catalog.pg_get_indexdef(indexrelid) FROM pg_catalog.pg_index
JOIN pg_catalog.pg_class AS own ON own.oid = indexrelid
WHERE own.relnamespace = $1::oid AND NOT EXISTS (SELECT 1 FROM pg_catalog.pg_constraint WHERE conindid = indexrelid)
ORDER BY own.oid
"""
_VIEWS = """
SELECT 'view', relname, 'CREATE VIEW ' || relname || ' AS ' || pg_catalog.pg_get_viewdef(oid)
FROM pg_catalog.pg_class WHERE relnamespace = $1::oid AND relkind IN ('v', 'm') ORDER BY oid
"""
_TRIGGERS = """
SELECT 'trigger', tgname, pg_catalog.pg_get_triggerdef(pg_trigger.oid) FROM pg_catalog.pg_trigger
JOIN pg_catalog.pg_class ON pg_class.oid = tgrelid
WHERE relnamespace = $1::oid AND NOT tgisinternal ORDER BY pg_trigger.oid
"""
_QUALIFIED = """
SELECT CASE WHEN oid = pg_catalog.pg_my_temp_schema() THEN 'pg_temp' ELSE pg_catalog.quote_ident(nspname) END || '.'
FROM pg_catalog.pg_namespace WHERE oid = $1::oid
"""
"""What stands before names of the schema in what the server says."""


_NOT_HERE = (
    psycopg.errors.FeatureNotSupported, psycopg.errors.InsufficientPrivilege, psycopg.errors.ReadOnlySqlTransaction,
)  # fmt: skip
"""A server that has no temporary tables, or none for this user."""

_Connection = psycopg.Connection[tuple[Any, ...]]


def defined(connection: _Connection, schema: str) -> Defined:
    """What the schema defines, in the order in which it was made, but for what stands beside a book."""
    return _defined(connection, _asked(connection, _SCHEMA, schema)[0][0])


def to_define(address: Address) -> Defined:
    """What the schema of a book defines; what it does define, where the server cannot be asked."""
    with closing(Line(address).connection) as connection:
        try:
            with connection.transaction(force_rollback=True):
                connection.execute("SET LOCAL search_path TO pg_temp")
                for statement in MAKING:
                    connection.execute(statement)
                return _defined(connection, _asked(connection, _OWN_SCHEMA)[0][0])
        except _NOT_HERE:
            return defined(connection, address.schema)


def undefine(connection: _Connection, kind: str, name: str) -> None:
    """Drop it, if it is there."""
    quoted = name.replace('"', '""')
    if kind != "trigger":
        connection.execute(f'DROP {kind.upper()} IF EXISTS "{quoted}" CASCADE')
        return
    asked = "SELECT tgrelid::regclass::text FROM pg_catalog.pg_trigger WHERE tgname = $1 AND NOT tgisinternal"
    for (table,) in _asked(connection, asked, name):
        connection.execute(f'DROP TRIGGER IF EXISTS "{quoted}" ON {table}')


def _defined(connection: _Connection, schema: int) -> Defined:
    ((qualified,),) = _asked(connection, _QUALIFIED, schema)
    parts: dict[str, list[str]] = {}
    for table, column, kind, is_needed, collation, default in _asked(connection, _COLUMNS, schema):
        words = (
            column, kind, f'COLLATE "{collation}"' if collation else "", f"DEFAULT {default}" if default else "",
            "NOT NULL" if is_needed else "",
        )  # fmt: skip
        parts.setdefault(table, []).append(" ".join(filter(None, words)))
    for table, constraint in _asked(connection, _CONSTRAINTS, schema):
        parts.setdefault(table, []).append(constraint)
    found = [("table", table, f"CREATE TABLE {table} ({', '.join(columns)})") for table, columns in parts.items()]
    for question in (_INDEXES, _VIEWS, _TRIGGERS):
        found += _asked(connection, question, schema)
    return {
        (kind, name): statement.replace(qualified, "") for kind, name, statement in found if not name.startswith(BESIDE)
    }


def _asked(connection: _Connection, sql: str, *values: Any) -> list[tuple[Any, ...]]:  # noqa: ANN401 (as psycopg)
    return connection.cursor(binary=True).execute(sql, values).fetchall()
