"""The same tests with every book on a server: `POURBOOK_TESTS_STORE=postgres`.

A path becomes the address of a schema of its own; a file of the name that was asked for holds that address, as a house
would write it down. `":memory:"` is a schema that goes when the book is closed. Whoever copies such a file copies the
book. A test that looks at SQLite's own file is marked with why (`@pytest.mark.in_a_file("reads the pages")`) and left
out then.
"""

import os
import shutil
import sqlite3
from pathlib import Path
from types import SimpleNamespace

from servers import schema_of

from pourbook.book import copying
from pourbook.book.addresses import is_address
from pourbook.book.sqlite_store import SqliteStore
from pourbook.book.store import Store

_ITS_VERSION, _VERSION = "PRAGMA user_version", "SELECT version FROM book WHERE number = 1"
"""Where a file and a server keep the format of a book."""


class MappedBooks:
    """Creates and copies books on a server until it ends."""

    def __init__(self, server):
        self.server = server
        self._create = Store.create
        self._connect = sqlite3.connect
        self._copy = {name: getattr(shutil, name) for name in ("copy", "copyfile", "copy2")}
        self._addresses = {}  # of each file
        Store.create = self.create
        copying.Store = SimpleNamespace(create=self._create)  # a back-up is a file
        sqlite3.connect = self._behind_its_back
        for name, plain in self._copy.items():
            setattr(shutil, name, self._copying(plain))

    def end(self):
        """Books are created in files again."""
        Store.create = self._create
        copying.Store = Store
        sqlite3.connect = self._connect
        for name, plain in self._copy.items():
            setattr(shutil, name, plain)

    def create(self, path):
        """As `Store.create`, on the server; what it refuses of a path it refuses as ever."""
        name = str(path)
        if is_address(name):
            return self._create(path)
        if name != ":memory:" and not _is_free(name):
            return SqliteStore.create(path)
        store = self._create(self.server.fresh())
        if name == ":memory:":
            store.close = self._closing(store.close, store.path)
        else:
            self._write_down(name, store.path)
            store.remove = self._removing(store.remove, name)
        return store

    def forget(self, folder):
        """Away with the books of a folder that is no longer needed."""
        for name in [name for name in self._addresses if name.startswith(f"{folder}{os.sep}")]:
            self.server.drop(self._addresses.pop(name))

    def _behind_its_back(self, path, *options, **named):
        address = self._addresses.get(os.path.abspath(path)) if isinstance(path, str | Path) else None
        return _Tables(address) if address else self._connect(path, *options, **named)

    def _write_down(self, name, address):
        Path(name).write_text(f"{address}\n", encoding="utf-8")
        self._addresses[os.path.abspath(name)] = address

    def _closing(self, close, address):
        def close_and_drop():
            close()
            self.server.drop(address)

        return close_and_drop

    def _removing(self, remove, name):
        def remove_both():
            remove()
            os.unlink(name)

        return remove_both

    def _copying(self, plain):
        def copy(source, target, **options):
            if str(source).endswith("-station"):
                books = (os.path.abspath(one).removesuffix("-station") for one in (source, target))
                one, other = map(self._addresses.get, books)
                if one and other:
                    self._fill(schema_of(one), schema_of(other), beside=True)
                    return target
            address = self._addresses.get(os.path.abspath(source))
            if not address:
                self._addresses.pop(os.path.abspath(target), None)  # a back-up laid over it is a file
                return plain(source, target, **options)
            name = os.path.join(target, os.path.basename(source)) if os.path.isdir(target) else str(target)
            other = self.server.fresh()
            self._create(other).close()
            self._fill(schema_of(address), schema_of(other))
            self._write_down(name, other)
            return target if not os.path.isdir(target) else name

        return copy

    def _fill(self, source, target, *, beside=False):
        """The rows of a book; or those that stand beside it, as in a file of their own."""
        tables = self.server.asked("SELECT tablename FROM pg_tables WHERE schemaname = %s", source)
        for (table,) in tables:
            if table.startswith("station_") == beside:
                one, other = f'"{source}"."{table}"', f'"{target}"."{table}"'
                self.server.does(
                    f"CREATE TABLE IF NOT EXISTS {other} (LIKE {one} INCLUDING ALL)", f"DELETE FROM {other}",
                    f"INSERT INTO {other} SELECT * FROM {one}",
                )  # fmt: skip


class _Tables:
    """The tables of a book for whoever goes past it, spoken to as sqlite3's connections are."""

    def __init__(self, address):
        import psycopg

        self._connection = psycopg.connect(address.partition("?")[0])
        self._connection.execute(f'SET search_path = "{schema_of(address)}"')
        self._changed = 0
        self.commit, self.close = self._connection.commit, self._connection.close

    def execute(self, statement, values=()):
        """One statement; `changes()` is what the last one changed."""
        if statement == "SELECT changes()":
            return self._connection.execute("SELECT %s::int", (self._changed,))
        if statement.startswith(_ITS_VERSION):
            _, _, version = statement.partition("=")
            statement = f"UPDATE book SET version = {version} WHERE number = 1" if version else _VERSION
        done = self._connection.execute(statement.replace("%", "%%").replace("?", "%s"), values)
        self._changed = done.rowcount
        return done

    def executemany(self, statement, rows):
        """One statement for each row of values."""
        for row in rows:
            self.execute(statement, row)

    def executescript(self, statements):
        """Several statements, kept at once."""
        self._connection.execute(statements)
        self.commit()

    def iterdump(self):
        """Every row of every table as text."""
        tables = "SELECT tablename FROM pg_tables WHERE schemaname = current_schema ORDER BY 1"
        for (table,) in self._connection.execute(tables).fetchall():
            for row in sorted(map(repr, self._connection.execute(f'SELECT * FROM "{table}"'))):
                yield f"{table} {row}"

    def __enter__(self):
        return self

    def __exit__(self, kind, *_):
        """As sqlite3's: kept if nothing failed, and not closed."""
        if kind is None:
            self._connection.commit()
        else:
            self._connection.rollback()


def _is_free(name):
    folder = os.path.dirname(os.path.abspath(name))
    return not os.path.lexists(name) and os.path.isdir(folder) and os.access(folder, os.W_OK)
