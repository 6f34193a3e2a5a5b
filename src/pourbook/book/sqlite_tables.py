"""The tables of a book in SQLite, made. Imported only when a book is created: sqlite-utils is heavy."""

import sqlite3

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from pourbook.book.schema import STATEMENTS
from pourbook.book.store import VERSION

__all__ = ["migrate"]

_steps = Migrations("pourbook")


@_steps()
def first_tables(db: Database) -> None:
    """The tables of format 3."""
    for statement in STATEMENTS:
        db.execute(statement)


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the tables up to date, in order, each step once."""
    _steps.apply(Database(connection))
    connection.execute(f"PRAGMA user_version = {VERSION}")
