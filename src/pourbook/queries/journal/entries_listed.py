"""The journal as it is read: entry by entry, of one kind, by one person, of one item, of some time."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from pourbook.book.coded_names import by_codes_in, chained_at_site
from pourbook.book.journal import Logged, is_group, parsed
from pourbook.book.search import EVERYTHING, Wanted, wanted
from pourbook.codes.identifiers import key_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Wanted", "as_chained_there", "entries_listed"]


def entries_listed(
    book: "BookCore", which: Wanted = EVERYTHING, item: str | None = None, last: int | None = None, *,
    by_codes: bool = False,
) -> Iterator[Logged]:  # fmt: skip
    """Entries, those that no longer count as well, in the order they were recorded; of an item, if one is named.

    With `last`, only so many of the last; `by_codes`, with the reference of each name in its place, as they are hashed
    (an entry of format 2 is hashed with names). They are read as they are gone through.

    Raises:
        PourbookError: no such item.
    """
    if item is not None:
        which = which._replace(item=key_of(book.find(item)))
    found = wanted(book.store, which, last)
    return map(by_codes_in(book.store), found) if by_codes else found


def as_chained_there(book: "BookCore", *, by_codes: bool) -> Callable[[Logged], dict[str, Any]] | None:
    """Gives an entry of a group as its site chained it, to recompute its hash from; None of any other book."""
    if not is_group(book.store):
        return None
    text_of = chained_at_site(book.store, by_codes=by_codes)
    return lambda logged: parsed(text_of(logged.number))
