"""What a scanner sent, or a camera saw: one of our identifiers, a GS1 code, a link; and what it is in the book.

>>> found = what_was_scanned("C-000123-Y").found
>>> found.scan.kind, found.id, found.state
('id', 'C000123Y', '')
"""

import re
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.names import Found, scanned
from pourbook.codes.scans import Scan, parse
from pourbook.errors import PourbookError, Unknown
from pourbook.queries.items.called import called_view

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.book.core import BookCore
    from pourbook.book.glasses import Emptied
    from pourbook.book.items import ItemView
    from pourbook.labels.decoding import Decoded
    from pourbook.queries.journal.against import Against
    from pourbook.queries.journal.signed_heads import SignatureChecked

_HEAD = re.compile(r"(?:\][A-Za-z][0-9A-Za-z])?(pourbook:head:[0-9]{1,15}:[0-9a-f]{64}(?::signed/[^\s]*)?)")
"""The text of the symbol on a dossier, after the prefix that a scanner may send."""

__all__ = ["Scanned", "Seen", "codes_seen", "what_was_scanned"]


class Scanned(NamedTuple):
    """What was found of a scan, and the item that it means in the book.

    The item is None for a label printed ahead and for other codes; unless `in_book`, no book was asked, and the state
    found is empty. `called` is how a person knows the item at sight; `against` is what came of comparing the book with
    the journal hash that a paper's symbol holds. `emptied` is how a glass came to hold nothing; `zone` is that of
    the house. `signatures` are what was found of those on a paper.
    """

    found: Found
    item: "ItemView | None" = None
    in_book: bool = True
    against: "Against | None" = None
    called: str = ""
    emptied: "Emptied | None" = None
    zone: "tzinfo | None" = None
    signatures: "tuple[SignatureChecked, ...]" = ()


class Seen(NamedTuple):
    """A code in a picture: where it was, and what it is or why it is refused."""

    code: "Decoded"
    found: Scanned | PourbookError


def what_was_scanned(text: str, book: "BookCore | None" = None) -> Scanned:
    """What a scan is; with a book, what it is there.

    Raises:
        Malformed: a GS1 code that is not well formed.
        Mistyped: a check character or digit does not agree.
        Unknown: with a book: no code and no name in it, or an identifier that is not in it.
        Ambiguous: several codes run together, or several items go by that name or lot.
    """
    if head := _HEAD.fullmatch(text.strip()):
        return _journal_hash(head[1], book)
    if book is None:
        scan = parse(text)
        return Scanned(Found(scan, scan.id, ""), in_book=False)
    found = scanned(book.store, text)
    if not found.id or found.state == "printed ahead":
        return Scanned(found)
    from pourbook.book.glasses import emptied  # a code without an item does without it

    item, gone = book.show(found.id), emptied(book.store, found.id)
    return Scanned(found, item, called=called_view(book.store, item), emptied=gone, zone=book.zone)


def _journal_hash(text: str, book: "BookCore | None") -> Scanned:
    """The symbol of a paper; with a book, whether it still holds that history."""
    from pourbook.queries.journal.against import against_heads, read_heads  # seldom scanned
    from pourbook.queries.journal.placed import of_signed, of_text
    from pourbook.queries.journal.signed_heads import checked_signature, read_signed

    found = Found(Scan("journal hash", text=text), "", "")
    if book is None:
        return Scanned(found, in_book=False)
    with book.store.snapshot():
        signed = read_signed(text)
        signatures = tuple(checked_signature(book.store, one) for one in signed)
        against = against_heads(book.store, read_heads(text), (*of_signed(signed), *of_text(text)))
        return Scanned(found, against=against, signatures=signatures)


def codes_seen(data: bytes, name: str, book: "BookCore | None" = None, *, only_photo: bool = False) -> tuple[Seen, ...]:
    """Every code in a photo, a scan or a PDF, page by page from the top, with what it is; `name` is for refusals.

    Raises:
        Malformed: not a readable picture or PDF; or, where only a photo is taken, anything else.
        Unknown: no code could be read.
    """
    from pourbook.labels.decoding import codes_in, codes_in_photo  # a scan does without it

    codes = codes_in_photo(data, name) if only_photo else codes_in(data, name)
    seen = tuple(Seen(code, _found(code.text, book)) for code in codes)
    if not seen:
        raise Unknown(f"no code could be read in '{name}'", "take the photo nearer, straight on, in even light")
    return seen


def _found(text: str, book: "BookCore | None") -> Scanned | PourbookError:
    try:
        return what_was_scanned(text, book)
    except PourbookError as refusal:
        return refusal
