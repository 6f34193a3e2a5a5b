"""The whole book checked, and compared with a history kept elsewhere.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     checked(lambda: book).verified.entries
1
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.backup import opened_copy
from pourbook.book.verifying import Verified, file_fault
from pourbook.errors import Damaged
from pourbook.queries.journal.against import Against, against_book, against_heads, read_heads

if TYPE_CHECKING:
    from pourbook.book.backup import Progress
    from pourbook.book.core import BookCore

__all__ = ["Checked", "Evidence", "checked"]

_SQLITE = b"SQLite format 3\0"


class Evidence(NamedTuple):
    """Text with one head or more, or a copy of the book; with its path unless it was typed or scanned."""

    content: bytes
    path: Path | None = None


class Checked(NamedTuple):
    """What verification found of the book, and of its history beside the evidence, where that could be compared."""

    verified: Verified
    against: Against | None

    @property
    def agrees(self) -> bool:
        """Whether everything agrees."""
        return not self.verified.faults and (self.against is None or self.against.agrees)


def checked(
    opened: "Callable[[], BookCore]", evidence: Evidence | None = None, progress: "Progress | None" = None
) -> Checked:  # fmt: skip
    """Check every hash and every table, and compare the history with the evidence; `progress` hears how far it is.

    `opened` gives the book, since a file too damaged to be opened is a finding, too.

    Raises:
        Malformed: the evidence holds no head, or is a damaged copy.
    """
    try:
        verified = opened().verify(progress)
    except Damaged as damage:
        verified = Verified(0, "", (file_fault(damage.message),))
    return Checked(verified, _held_against(opened(), evidence) if evidence and verified.entries else None)


def _held_against(book: "BookCore", evidence: Evidence) -> Against:
    if evidence.path is not None and evidence.content.startswith(_SQLITE):
        with opened_copy(evidence.path) as other, book.store.snapshot():
            return against_book(book.store, other)
    heads = read_heads(evidence.content.decode("utf-8", "replace"))
    with book.store.snapshot():
        return against_heads(book.store, heads)
