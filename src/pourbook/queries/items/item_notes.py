"""Notes on an item that stand: what somebody found worth knowing about it.

>>> from pourbook import Book, Draft, Item, Note
>>> from pourbook.codes.identifiers import key_of
>>> book = Book.create(":memory:", house="Quillmere")
>>> told = Item("C000001H", {}), Note("C000001H", "bung replaced")
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in told))
>>> [(one.who, one.text) for one in item_notes(book.store, key_of("C000001H"))]
[('M. Aldane', 'bung replaced')]
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.journal import notes_on

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["ItemNote", "item_notes"]


class ItemNote(NamedTuple):
    """A note on an item: its entry, when it happened, who made it, its text, and its subject, as in `Note`."""

    entry: int
    happened_us: int
    who: str
    text: str
    subject: str = ""


def item_notes(store: "Store", key: int, at_us: int | None = None) -> tuple[ItemNote, ...]:
    """The notes on an item that stand, in the order they were recorded."""
    found = ((one, one.entry["body"]) for one in notes_on(store, key, at_us))
    return tuple(
        ItemNote(one.number, one.happened_us, one.entry["who"], body["text"], body.get("subject", ""))
        for one, body in found
    )
