"""What anybody must know before a glass is offered: allergens and previous contents of all that lies behind it.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = Item("C000001H", {"previous": "almond wine", "allergens": "nuts"})
>>> filled = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("60")),))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (cask, filled)))
>>> brought(book, ["C000001H"])
Brought(allergens=('nuts',), previous=('almond wine',))
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import text_listed
from pourbook.errors import Refused
from pourbook.queries.traces.trace import trace_back

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.items import ItemView
    from pourbook.queries.traces.trace_answer import TracedPour

__all__ = ["Brought", "brought"]


class Brought(NamedTuple):
    """Allergens as recorded of vessels and additives, and what casks held before; each once, by the alphabet.

    One list over many items does not tell which of them brings what.
    """

    allergens: tuple[str, ...]
    previous: tuple[str, ...]


def brought(book: "BookCore", items: Iterable[str]) -> Brought:
    """What all these items bring together; of an item whose pours were all voided, what is recorded of itself.

    Raises:
        Unknown: no such item.
    """
    allergens: set[str] = set()
    previous: set[str] = set()
    for item in items:
        views, pours = _behind(book, item)
        for view in views:
            allergens.update(text_listed(view.facts.get("allergens", "")))
            previous.update(text_listed(view.facts.get("previous", "")))
        for pour in pours:
            allergens.update(text_listed(str(pour.facts.get("allergens", ""))))
    return Brought(tuple(sorted(allergens)), tuple(sorted(previous)))


def _behind(book: "BookCore", item: str) -> "tuple[tuple[ItemView, ...], tuple[TracedPour, ...]]":
    """An item and all that lies behind it, and the pours between."""
    try:
        trace = trace_back(book, item)
    except Refused:  # nothing counts as poured into it
        return (book.show(item),), ()
    return (trace.item, *(other.item for other in trace.items)), trace.pours
