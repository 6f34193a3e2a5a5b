"""Which items a run of labels is for, where nobody lists them: the vials of this week, the casks of a batch.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> fill = Move("origin", cask, read_amount("200 l"), read_strength("63.5"))
>>> _ = book.record(
...     Draft(Item(cask, {}), 0, "M. Aldane"),
...     Draft(Pour("fill", (fill,)), 0, "M. Aldane"),
...     Draft(Item(vial, {}), 9, "M. Aldane"),
...     Draft(Pour("draw", (Move(cask, vial, read_amount("50 ml")),)), 9, "M. Aldane"),
... )
>>> selected(book, Wanted(kind="vial", since_us=5)), selected(book, Wanted(of_item=vial))
(['V000001R'], ['C000001H'])
>>> selected(book, Wanted(from_item=cask, until_us=9))
[]
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import by_kind, facts
from pourbook.book.label_prints import began, filled_from, label_prints, reserved_keys
from pourbook.codes.identifiers import key_of, kind_of, of_key
from pourbook.queries.traces.trace import shares

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Wanted", "selected"]


class Wanted(NamedTuple):
    """What is asked for; what is left out does not narrow it.

    Attributes:
        kind: of item.
        since_us: filled, drawn or made at that moment or later.
        until_us: before that moment.
        place: where it stands now.
        from_item: what it was filled from, by identifier or name, without anything between.
        of_item: what it went into, however many pours on.
        unprinted: only items without a printed label.
        reserved: reserved numbers not yet assigned, instead of items.
    """

    kind: str = ""
    since_us: int | None = None
    until_us: int | None = None
    place: str = ""
    from_item: str = ""
    of_item: str = ""
    unprinted: bool = False
    reserved: bool = False


def selected(book: "BookCore", wanted: Wanted) -> list[str]:
    """The items asked for, by kind and number.

    Raises:
        PourbookError: nothing goes by the name of `from_item` or `of_item`.
        Refused: nothing was ever poured into `of_item`.
    """
    store = book.store
    found = reserved_keys(store) if wanted.reserved else _items(book, wanted)
    identifiers = [
        identifier
        for identifier in map(of_key, sorted(found, key=by_kind))
        if (not wanted.kind or kind_of(identifier) == wanted.kind)
        and (not wanted.place or facts(store, key_of(identifier)).get("place") == wanted.place)
    ]
    printed = label_prints(store, identifiers) if wanted.unprinted else {}
    return [identifier for identifier in identifiers if identifier not in printed]


def _items(book: "BookCore", wanted: Wanted) -> set[int]:
    since_us = -(1 << 62) if wanted.since_us is None else wanted.since_us
    until_us = 1 << 62 if wanted.until_us is None else wanted.until_us
    found = {key for key, began_us in began(book.store).items() if since_us <= began_us < until_us}
    if wanted.from_item:
        found &= filled_from(book.store, key_of(book.find(wanted.from_item)))
    if wanted.of_item:
        found &= shares(book, wanted.of_item).items.keys()
    return found
