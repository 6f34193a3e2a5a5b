"""A checked copy of a book, taken while others go on working."""

import os
from pathlib import Path

from pourbook.book.store import SqliteStore, Store
from pourbook.book.verifying import check_chain
from pourbook.errors import Damaged, StoreError

__all__ = ["backup"]


def backup(store: Store, path: str) -> int:
    """Copy the book to a new file; the number of its entries.

    The copy is written beside, checked (SQLite's own check and the chain of hashes), forced to the
    disk and only then given its name, so that a file of that name is always whole.

    Raises:
        StoreError: something is there already, or it cannot be written.
        Damaged: the copy does not pass its check.
    """
    target = Path(path)
    if target.exists():
        raise StoreError(f"'{path}' already exists", "choose another name")
    if not target.absolute().parent.is_dir():
        raise StoreError(f"there is no folder '{target.parent}'", "make the folder first")
    beside = target.with_name(target.name + ".part")
    beside.unlink(missing_ok=True)
    try:
        store.execute("VACUUM INTO ?", (str(beside),))
        entries = _checked(beside)
        with beside.open("rb+") as copy:
            os.fsync(copy.fileno())
        beside.rename(target)
    finally:
        for leftover in (beside, Path(f"{beside}-wal"), Path(f"{beside}-shm")):
            leftover.unlink(missing_ok=True)
    return entries


def _checked(beside: Path) -> int:
    copy = SqliteStore.open(beside)
    try:
        problems = copy.problems()
        entries, _, faults = check_chain(copy)
    finally:
        copy.close()
    if problems or faults:
        raise Damaged("the copy does not pass its check", "verify the book: pourbook verify")
    return entries
