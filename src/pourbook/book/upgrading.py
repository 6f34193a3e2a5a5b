"""A book of an earlier format or revision, brought up to date when it is opened.

One of an earlier format is copied first: the copy is checked and lies beside the book, as the version before could open
it. Then one transaction makes what is new and all tables anew from the journal. Killed at any moment the book is as it
was; opened again, a copy that is there and still of the same journal is not made a second time.
"""

import os
from glob import escape
from itertools import count
from pathlib import Path

from pourbook.book.backup import backup
from pourbook.book.chain_checked import check_chain
from pourbook.book.coded_names import Names
from pourbook.book.journal import last_entry, written_entries
from pourbook.book.schema import BESIDE_THE_JOURNAL
from pourbook.book.store import Store
from pourbook.book.verifying import repair
from pourbook.errors import PourbookError, StoreError

__all__ = ["upgrade"]


def upgrade(store: Store) -> str:
    """Bring a book up to date, once; the path of the copy that was made before, empty where only tables are new.

    Raises:
        Damaged: the journal does not agree with its hashes; nothing was changed.
        StoreError: the copy cannot be written beside the book, or the book cannot be written.
    """
    is_format_2 = not store.columns("coded")
    copy = _copied(store) if is_format_2 and store.files else ""
    with store.transaction():
        if store.has_older_tables:  # else somebody else was first
            if not store.columns("coded"):
                _code_from_now_on(store)
            repair(store)
            store.mark_version()
    if copy:
        _sweep(store.files[0])
    return copy


def _copied(store: Store) -> str:
    """A checked copy of the book beside it, of this name or the next that is free; one already there may serve."""
    whole = last_entry(store)
    for number in count(1):
        path = f"{store.files[0]}.format-2{f'-{number}' if number > 1 else ''}"
        if not os.path.exists(path):
            try:
                backup(store, path)
                return path
            except StoreError as error:
                if not os.path.exists(path):  # else another program that upgrades it was first
                    said = f"before a book of format 2 is upgraded it is copied, and {error.message}"
                    raise StoreError(said, error.remedy) from error
        if _is_copy(path, whole):
            return path
    raise AssertionError("numbers do not end")


def _sweep(book: str) -> None:
    """Take away what is left of copies that were never finished: they hold names as any copy does."""
    folder, name = os.path.split(book)
    for part in Path(folder).glob(f".{escape(name)}.format-2*.part"):
        part.unlink(missing_ok=True)


def _is_copy(path: str, whole: tuple[int, bytes]) -> bool:
    """Whether a file is a sound book whose journal ends so: one that was made before somebody pulled the plug."""
    try:
        copy = Store.open(path)
    except PourbookError:
        return False
    try:
        entries, head, faults = check_chain(copy)
        return (entries, head) == whole and not faults and not copy.problems()
    finally:
        copy.close()


def _code_from_now_on(store: Store) -> None:
    """Entries to come are hashed with references; names of earlier ones get theirs, too."""
    for statement in BESIDE_THE_JOURNAL:
        store.execute(statement)
    store.execute("INSERT INTO coded (since) VALUES (?)", (last_entry(store)[0] + 1,))
    coded = Names(store, makes=True).coded
    for _, text in written_entries(store):
        coded(text)
