"""Which sites a group has.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     sites(book)
()
"""

from typing import TYPE_CHECKING

from pourbook.book.groups import JoinedSite
from pourbook.book.groups import sites as joined

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["sites"]


def sites(book: "BookCore") -> tuple[JoinedSite, ...]:
    """The sites that joined, in that order; none in the book of a house."""
    return joined(book.store)
