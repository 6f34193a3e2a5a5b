"""The book's own safety: rebuild its tables, copy it while others work, make a book from a copy, move it elsewhere.

Nothing of it goes into the journal, so none of these asks who, when or why.
"""

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pourbook.book.backup import Progress
    from pourbook.book.core import BookCore
    from pourbook.book.moving import Moved

__all__ = ["BackedUp", "backup", "move_book", "repair", "restore"]


class BackedUp(NamedTuple):
    """A book that was written to a file and checked: where, and how many entries it has."""

    path: str
    entries: int


def repair(book: "BookCore") -> int:
    """Rebuild every table from the journal; the number of its entries.

    Raises:
        Damaged: the journal itself does not agree with its hashes.
    """
    from pourbook.book.verifying import repair as rebuild

    return rebuild(book.store)


def backup(book: "BookCore", path: str, progress: "Progress | None" = None) -> BackedUp:
    """Write a checked copy of the book: `pourbook.book.backup.backup`."""
    from pourbook.book.backup import backup as copied

    return BackedUp(path, copied(book.store, path, *([progress] if progress else [])))


def move_book(book: "BookCore", address: str, progress: "Progress | None" = None) -> "Moved":
    """Bring the book to another file or server and verify it there: `pourbook.book.moving.move`."""
    from pourbook.book.moving import move

    return move(book.store, address, *([progress] if progress else []))


def restore(copy: str, path: str, progress: "Progress | None" = None) -> BackedUp:
    """Make a book at a new path from a copy: `pourbook.book.moving.restore`."""
    from pourbook.book.moving import restore as restored

    return BackedUp(path, restored(copy, path, *([progress] if progress else [])))
