"""A connection to a file of SQLite: made, set up, and held to what a book is."""

import os
import sqlite3

from pourbook.book.explaining import Explained
from pourbook.book.store import check_version
from pourbook.errors import Damaged, StoreError

__all__ = [
    "APPLICATION_ID", "PATIENCE_MS", "check_book", "check_format", "check_readable", "connect", "make_tables", "set_up",
    "unchanging",
]  # fmt: skip

APPLICATION_ID = 0x706F7572
"""Marks a SQLite file as one of ours ("pour")."""

PATIENCE_MS = 30_000
"""Longer than others take to write: an import of 100,000 pours needs a second."""


def unchanging(name: str) -> str:
    """The address of a file that nobody writes."""
    from pathlib import Path  # seldom needed

    return f"{Path(name).absolute().as_uri()}?immutable=1"


def check_readable(name: str) -> None:
    """Refuse a book that could only be read after a write."""
    log = f"{name}-wal"
    if os.path.exists(log) and os.path.getsize(log):
        raise StoreError(
            f"'{name}' is read-only, and '{log}' still holds its latest entries",
            "copy both to a folder that can be written, and open the book there",
        )


def connect(name: str) -> sqlite3.Connection:
    """A connection that waits while others write."""
    connection = sqlite3.connect(name, isolation_level=None, uri=name.startswith("file:"))
    connection.execute(f"PRAGMA busy_timeout = {PATIENCE_MS}")
    return connection


def check_book(connection: sqlite3.Connection, name: str, *, takes_half: bool) -> None:
    """Refuse another file, or a book of another format."""
    with Explained(name):
        (application,) = connection.execute("PRAGMA application_id").fetchone()
    if application != APPLICATION_ID:
        raise Damaged(f"'{name}' is not a pourbook", "check the path; a book ends in .pourbook by custom")
    check_format(connection, name, takes_half=takes_half)


def check_format(connection: sqlite3.Connection, name: str, *, takes_half: bool) -> None:
    """Refuse a book of a format that this version does not write, or one that is not all there."""
    with Explained(name):
        (version,) = connection.execute("PRAGMA user_version").fetchone()
    check_version(version, name, takes_half=takes_half)


def set_up(connection: sqlite3.Connection) -> None:
    """Every write is on the disk before it is said to be done."""
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA cache_size = -65536")  # 64 MB, taken only as it is used


def make_tables(connection: sqlite3.Connection) -> None:
    """The tables of an empty book."""
    from pourbook.book.sqlite_tables import migrate  # heavy: sqlite-utils

    migrate(connection)
