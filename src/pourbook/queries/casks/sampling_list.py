"""What a sampling round still has to draw: its casks in the order of a walk, each with the vials drawn since it began.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> casks = Item("C000001H", {"place": "Row 2/1"}), Item("C000002F", {"place": "Row 1/4"})
>>> fills = [Move("origin", one.id, read_amount("200 l"), read_strength("60")) for one in casks]
>>> draw = Pour("draw", (Move("C000001H", "V000001R", read_amount("200 ml")),))
>>> entries = *casks, Pour("fill", tuple(fills)), Item("V000001R", {}), draw
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(one.view.id, one.vials) for one in sampling_list(book, ["C000001H", "C000002F"], 0)]
[('C000002F', ()), ('C000001H', ('V000001R',))]
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import views
from pourbook.book.lineages import drawn_since
from pourbook.codes.identifiers import key_of, kind_of, of_key
from pourbook.queries.items.called import called_view
from pourbook.queries.warehouse.walk import the_walk

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.items import ItemView

__all__ = ["ToSample", "sampling_list"]


class ToSample(NamedTuple):
    """A cask of a round: its view, how it is `called` at sight, and `vials` drawn from it since the round began."""

    view: "ItemView"
    called: str
    vials: tuple[str, ...]


def sampling_list(book: "BookCore", casks: Iterable[str], since_us: int) -> tuple[ToSample, ...]:
    """The casks (or whatever else is sampled), by identifier, as a walk passes them."""
    found = views(book.store, list(map(key_of, casks)))
    listed = [ToSample(view, called_view(book.store, view), _vials(book, key, since_us)) for key, view in found.items()]
    return tuple(the_walk(book).ordered(listed, _place, _name))


def _vials(book: "BookCore", key: int, since_us: int) -> tuple[str, ...]:
    drawn = (of_key(item) for item, _, _ in drawn_since(book.store, key, since_us))
    return tuple(dict.fromkeys(one for one in drawn if kind_of(one) == "vial"))


def _place(one: ToSample) -> str:
    return one.view.facts.get("place", "")


def _name(one: ToSample) -> str:
    return one.view.ref or one.view.id
