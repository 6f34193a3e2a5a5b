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

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import by_kind, facts
from pourbook.codes.identifiers import key_of, kind_of, of_key
from pourbook.paperwork.label_of import prints_before
from pourbook.queries.traces.trace import shares

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["Wanted", "selected"]

# When something was first in it; what never held anything began when it was entered.
_BEGAN = (
    "SELECT item.key, coalesce((SELECT min(ledger.happened) FROM ledger WHERE ledger.item = item.key), entry.happened)"
    " FROM item JOIN entry ON entry.number = item.entry"
)
_FILLED_FROM = (
    "SELECT DISTINCT after.item FROM state AS before JOIN flow ON flow.source = before.id"
    " JOIN state AS after ON after.id = flow.target WHERE before.item = ? AND after.item <> ? AND flow.carry = 0"
)


class Wanted(NamedTuple):
    """What is asked for; whatever is left out asks for nothing.

    Attributes:
        kind: of item.
        since_us: filled, drawn or made at that moment or later.
        until_us: before that moment.
        place: where it stands now.
        from_item: identifier of what it was filled from, without anything between.
        of_item: identifier of what it went into, however many pours on.
        unprinted: only what no label was ever printed for.
        reserved: numbers set aside that label nothing yet, instead of items.
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
        Refused: nothing was ever poured into `of_item`.
    """
    store = book.store
    found = _reserved(store) if wanted.reserved else _items(book, wanted)
    identifiers = [
        identifier
        for identifier in map(of_key, sorted(found, key=by_kind))
        if (not wanted.kind or kind_of(identifier) == wanted.kind)
        and (not wanted.place or facts(store, key_of(identifier)).get("place") == wanted.place)
    ]
    if wanted.unprinted:
        printed = prints_before(store, identifiers)
        return [identifier for identifier in identifiers if identifier not in printed]
    return identifiers


def _reserved(store: "Store") -> set[int]:
    return {key for (key,) in store.query("SELECT key FROM reserved")}


def _items(book: "BookCore", wanted: Wanted) -> set[int]:
    found = {key for key, began_us in book.store.query(_BEGAN) if _within(began_us, wanted.since_us, wanted.until_us)}
    if wanted.from_item:
        source = key_of(wanted.from_item)
        found &= _keys(book.store.query(_FILLED_FROM, (source, source)))
    if wanted.of_item:
        found &= shares(book, wanted.of_item).items.keys()
    return found


def _within(moment_us: int, since_us: int | None, until_us: int | None) -> bool:
    return (since_us is None or moment_us >= since_us) and (until_us is None or moment_us < until_us)


def _keys(rows: Iterable[tuple[int]]) -> set[int]:
    return {key for (key,) in rows}
