"""What is true of an item from a time on: its facts, where it lies, whether it is on hold, notes.

>>> from pourbook import Book
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> row, rod = book.enter(how, "place", "Warehouse 2, row 7"), book.enter(how, "instrument", "dip rod 2")
>>> move_items(book, how, [rod.id], row.id).facts
{'place': 'Warehouse 2, row 7'}
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.book.checked_facts import checked_facts
from pourbook.book.entries import Facts, Hold, Note
from pourbook.codes.identifiers import kind_of, read

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["Stated", "hold", "move_items", "note", "release", "set_facts"]


class Stated(NamedTuple):
    """Items of which something was stated, by ids: what was recorded, and the facts set (none for a hold or a note)."""

    ids: tuple[str, ...]
    recorded: "Recorded"
    facts: Mapping[str, str] = {}


def set_facts(book: "BookCore", how: Happening, item: str, facts: Mapping[str, str]) -> Stated:
    """Set facts of an item; an empty value ends a fact. Numbers have a decimal point.

    Raises:
        Malformed: a fact used in calculations (capacity_l, tare_kg, mpe …) cannot be read.
    """
    return _state_facts(book, how, [item], checked_facts(facts))


def move_items(book: "BookCore", how: Happening, items: Sequence[str], place: str) -> Stated:
    """Move items to a place: the house's words for it, or the identifier on its tag."""
    scanned = read(place)
    if scanned and kind_of(scanned) == "place":
        place = book.show(scanned).ref
    return _state_facts(book, how, items, {"place": place})


def _state_facts(book: "BookCore", how: Happening, items: Sequence[str], facts: Mapping[str, str]) -> Stated:
    ids = tuple(map(book.find, items))
    return Stated(ids, how.record(book, *(Facts(identifier, facts) for identifier in ids)), facts)


def hold(book: "BookCore", how: Happening, items: Sequence[str]) -> Stated:
    """Put items on hold: nothing may be poured from or into them until they are released.

    Raises:
        Malformed: no reason was given.
    """
    return _hold(book, how, items, held=True)


def release(book: "BookCore", how: Happening, items: Sequence[str]) -> Stated:
    """Release items, whether a person or a recall put them on hold.

    Raises:
        Malformed: no reason was given.
    """
    return _hold(book, how, items, held=False)


def _hold(book: "BookCore", how: Happening, items: Sequence[str], *, held: bool) -> Stated:
    ids = tuple(map(book.find, items))
    return Stated(ids, how.record(book, *(Hold(identifier, held) for identifier in ids)))


def note(book: "BookCore", how: Happening, item: str, text: str, subject: str = "") -> Stated:
    """Record something worth knowing about an item; `subject` as in `Note`."""
    identifier = book.find(item)
    return Stated((identifier,), how.record(book, Note(identifier, text, subject)))
