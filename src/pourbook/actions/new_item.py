"""The number of a new item: the next of its kind, or one reserved for a label printed ahead.

>>> from pourbook import Book
>>> new_item(Book.create(":memory:", house="Quillmere"), "cask")
'C000001H'
"""

from typing import TYPE_CHECKING

from pourbook.book.items import entered_in
from pourbook.book.names import is_in_book, is_reserved, voided_opening
from pourbook.book.numbering import elsewhere
from pourbook.codes.identifiers import hyphened, key_of, kind_of, read
from pourbook.errors import Malformed, Refused

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["new_item"]

_ONCE = "a number is used once: take another label, or leave it out for a new number"


def new_item(book: "BookCore", kind: str, given: str | None = None) -> str:
    """The identifier of an item about to be opened; take it inside the transaction that opens it.

    `given` was scanned from a label printed ahead; None takes the next number.

    Raises:
        Malformed: `given` is not the identifier of such an item.
        Refused: `given` was not reserved, is in use, or was until its opening was voided.
    """
    if given is None:
        return book.next_id(kind)
    identifier = read(given)
    if identifier is None or kind_of(identifier) != kind:
        raise Malformed(f"'{given}' is not the identifier of a {kind}", "scan the label printed ahead")
    if is_reserved(book.store, key_of(identifier)):
        return identifier
    remedy = f"leave it out for a new number, or: pourbook reserve {kind} COUNT"
    if is_in_book(book.store, key_of(identifier)):
        ref, entry = book.show(identifier).ref, entered_in(book.store, key_of(identifier))
        called = f"{kind} '{ref}'" if ref else f"a {kind}"
        raise Refused(f"{hyphened(identifier)} is in use: entry {entry} made it {called}", remedy)
    if voided := voided_opening(book.store, key_of(identifier)):
        raise Refused(f"{hyphened(identifier)} was used before, in entry {voided}, which was voided", _ONCE)
    if ranges := elsewhere(book.store, identifier):
        raise Refused(
            f"{hyphened(identifier)} cannot be given here: its number lies outside this site's ranges, {ranges}", remedy
        )
    raise Refused(f"{hyphened(identifier)} was never set aside", remedy)
