"""The next number of an item: from the ranges of a site, where the book is one's; else whatever comes next.

>>> from pourbook import Book
>>> book = Book.create(":memory:", house="Quillmere", site="QUAY", numbers="100000-199999")
>>> next_id(book.store, "cask"), elsewhere(book.store, "C000001H")
('C100000T', '100000-199999')
"""

from collections.abc import Sequence

from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, write
from pourbook.codes.number_ranges import has_number, next_number, read_ranges, shown_ranges
from pourbook.errors import Refused

__all__ = ["elsewhere", "end_key", "first_free", "next_id", "number_from", "site_numbers"]


def site_numbers(store: Store) -> tuple[range, ...]:
    """The ranges that identifiers of this book come from; every number where it is no site's."""
    rows = store.query("SELECT value FROM setting WHERE name = 'numbers'")
    return read_ranges(rows[0][0] if rows else "")


def next_id(store: Store, kind: str, after: int = 0) -> str:
    """The next identifier of a kind that may be issued.

    Raises:
        Refused: this site has given out all its numbers.
    """
    return write(kind, number_from(site_numbers(store), kind, max(first_free(store, kind), after)))


def number_from(ranges: Sequence[range], kind: str, number: int) -> int:
    """The first number from this one on that a site may give to an item of a kind; `Refused` where none is left."""
    found = next_number(ranges, number, kind)
    if found is None:
        raise Refused(
            f"this site has given out all its numbers of that kind: {shown_ranges(ranges)}",
            "add a range that no other site has: pourbook settings --set numbers='…, …'",
        )
    return found


def first_free(store: Store, kind: str) -> int:
    """The number above all that were given to items of a kind."""
    rows = store.query("SELECT next FROM counter WHERE kind = ?", (kind,))
    return int(rows[0][0]) if rows else 1


def end_key(store: Store, kind: str) -> int:
    """A key above those of all items of a kind."""
    return first_free(store, kind) * len(KINDS) + list(KINDS).index(kind)


def elsewhere(store: Store, identifier: str) -> str:
    """The ranges of this site where an identifier is of another; empty where its number is of this one."""
    ranges = site_numbers(store)
    return "" if has_number(ranges, int(identifier[1:-1])) else shown_ranges(ranges)
