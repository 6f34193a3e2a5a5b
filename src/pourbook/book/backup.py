"""A checked copy of a book, taken while others go on working; and one opened that must stay as it is."""

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from pourbook.book.chain_checked import check_chain
from pourbook.book.journal import last_entry
from pourbook.book.store import Store
from pourbook.errors import Damaged, PourbookError
from pourbook.one_file import placing

__all__ = ["Progress", "backup", "opened_copy"]


Progress = Callable[[str, int, int], None]
"""Called with what is going on (copying, checking), how much of it is done, and how much there is."""


def backup(store: Store, path: str, progress: Progress = lambda *_: None) -> int:
    """Copy the book to a new file; the number of its entries.

    The copy is checked (SQLite's own check and the chain of hashes) and forced to the disk under another name
    first, so that a file of this name is always whole.

    Raises:
        StoreError: the file already exists, or cannot be written.
        Damaged: the copy does not pass its check.
    """
    with placing(Path(path), never=store.files) as beside:
        try:
            store.copy_into(str(beside), lambda left, whole: progress("copying", whole - left, whole))
            return _checked(beside, progress)
        finally:
            for companion in ("-wal", "-shm"):
                Path(f"{beside}{companion}").unlink(missing_ok=True)


@contextmanager
def opened_copy(path: Path | str) -> Iterator[Store]:
    """A book's file, opened as a temporary copy: opening writes, and evidence must stay as it is.

    One at an address is read where it is, as one state of it, in which the server lets nothing be written.
    """
    if isinstance(path, str):
        with closing(Store.open(path)) as store, store.snapshot():
            yield store
        return
    with tempfile.TemporaryDirectory() as folder:
        for part in (path, path.with_name(f"{path.name}-wal")):
            if part.exists():
                shutil.copy(part, folder)
        store = _opened(Path(folder, path.name), path)
        try:
            yield store
        finally:
            store.close()


def _opened(copy: Path, path: Path) -> Store:
    """The copy of what is at a path; what is wrong with it is told of the path."""
    try:
        return Store.open(copy)
    except PourbookError as refusal:
        refusal.message = refusal.message.replace(str(copy), str(path))
        raise


def _checked(beside: Path, progress: Progress) -> int:
    copy = Store.open(beside)
    try:
        problems = copy.problems()
        whole, _ = last_entry(copy)
        entries, _, faults = check_chain(copy, lambda done: progress("checking", done, whole))
    finally:
        copy.close()
    if problems or faults:
        raise Damaged("the copy does not pass its check", "verify the book: pourbook verify")
    return entries
