"""What is true of an item from a time on: its facts, where it lies, notes.

>>> from pourbook import Book
>>> from pourbook.actions.happening import Happening
>>> book = Book.create(":memory:", house="Quillmere")
>>> how = Happening("M. Aldane")
>>> row, rod = book.enter(how, "place", "Warehouse 2, row 7"), book.enter(how, "instrument", "dip rod 2")
>>> move_items(book, how, [rod.id], row.id).place
'Warehouse 2, row 7'
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.book.entries import Facts, Note
from pourbook.book.known_facts import checked_facts
from pourbook.codes.identifiers import kind_of, read

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.recorded import Recorded

__all__ = ["Moved", "Stated", "move_items", "note", "set_facts"]


class Stated(NamedTuple):
    """An item of which something was stated.

    Attributes:
        id: its identifier.
        recorded: what the recording did.
    """

    id: str
    recorded: "Recorded"


class Moved(NamedTuple):
    """Items that lie somewhere else now.

    Attributes:
        ids: their identifiers.
        place: where they lie, in the house's words.
        recorded: what the recording did.
    """

    ids: tuple[str, ...]
    place: str
    recorded: "Recorded"


def set_facts(book: "BookCore", how: Happening, item: str, facts: Mapping[str, str]) -> Stated:
    """Set facts of an item from a time on; an empty value ends a fact.

    Raises:
        Malformed: a number of the book's (a capacity, a tare, an error) that is none; write it with a full stop.
    """
    identifier = book.find(item)
    return Stated(identifier, how.record(book, Facts(identifier, checked_facts(facts))))


def move_items(book: "BookCore", how: Happening, items: Sequence[str], place: str) -> Moved:
    """Move items to a place: the house's words for it, or the identifier on its tag."""
    scanned = read(place)
    if scanned and kind_of(scanned) == "place":
        place = book.show(scanned).ref
    ids = tuple(map(book.find, items))
    return Moved(ids, place, how.record(book, *(Facts(identifier, {"place": place}) for identifier in ids)))


def note(book: "BookCore", how: Happening, item: str, text: str) -> Stated:
    """Record something worth knowing about an item."""
    identifier = book.find(item)
    return Stated(identifier, how.record(book, Note(identifier, text)))
