"""People, places and instruments of the house: entered once, with facts that can change.

>>> from pourbook import Book
>>> book = Book.create(":memory:", house="Quillmere")
>>> enter(book, Happening("M. Aldane"), "place", "Vat 2", {"capacity_l": "1200"}).id
'S0000014'
>>> enter(book, Happening("M. Aldane"), "place", "Vat 2").facts["capacity_l"]
'1200'
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.new_item import new_item
from pourbook.book.checked_facts import checked_facts
from pourbook.book.entries import Facts, Item
from pourbook.book.names import named

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["Entered", "HouseKind", "enter"]

HouseKind = Literal["instrument", "person", "place"]
"""What carries an identifier and holds no liquid; vats, tanks and tankers are places."""


class Entered(NamedTuple):
    """A person, place or instrument: its id, kind and facts now, and what was recorded; None where nothing was new."""

    id: str
    kind: HouseKind
    facts: Mapping[str, str]
    recorded: "Recorded | None"


def enter(
    book: "BookCore", how: Happening, kind: HouseKind, name: str, facts: Mapping[str, str] | None = None,
    given: str | None = None,
) -> Entered:  # fmt: skip
    """Enter a person, a place or an instrument; a known one gets the new facts, or is answered as it is.

    `facts` are note; capacity_l and dip_table of a vessel; instrument, unit, resolution, mpe, class, meter_factor,
    certificate and due of an instrument; numbers have a full stop. `given` is the identifier on a label printed ahead;
    None takes the next number.

    Raises:
        Malformed: an invalid fact, or `given` is not such an identifier.
        Refused: `given` was not reserved, or is in use.
    """
    known = checked_facts(facts or {})
    found = named(book.store, name, kind)
    if found and not known:
        return Entered(found, kind, book.show(found).facts, None)
    with how.transaction(book):
        identifier = found or new_item(book, kind, given)
        entry = Facts(identifier, known) if found else Item(identifier, {"ref": name, **known})
        recorded = how.record(book, entry)
        return Entered(identifier, kind, book.show(identifier).facts, recorded)
