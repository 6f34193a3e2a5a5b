"""A stocktake as it stands, or as it ended: what was found, what is missing, elsewhere, emptied, or cannot be read.

Expected is whatever holds liquid and has its place there by the book; in the whole house, casks without a place, too.
Seen at a place counts as found where the book's place is that one, a part of it, or around it.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> casks = [Item("C000001H", {"place": "Row 3/1"}), Item("C000002F", {"place": "Row 3/2"})]
>>> fills = [Move("origin", one.id, read_amount("200 l"), read_strength("60")) for one in casks]
>>> taking = Stocktake("May", "Row 3"), Seen("May", "C000001H", "Row 3")
>>> for entry in (*casks, Pour("fill", tuple(fills)), *taking):
...     _ = book.record(Draft(entry, 0, "M. Aldane"))
>>> result = stocktake_card(book, "May").result
>>> result.found, result.missing
(('C000001H',), ('C000002F',))
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.book.entries import Misplaced, Seen, Stocktake
from pourbook.book.items import ItemView, on_hand, placed, views
from pourbook.book.stocktakes import Sighting, Taken, sightings, stocktake_named, stocktakes
from pourbook.codes.identifiers import LIQUID_KINDS, key_of, of_key, read_or_none
from pourbook.queries.warehouse.walk import the_walk
from pourbook.warehouse.places import lies_in, steps

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Line", "State", "StocktakeCard", "belongs", "expected_at", "stocktake_card", "stocktakes_listed"]

State = Literal["missing", "elsewhere", "emptied", "illegible", "unknown code", "found"]


class Line(NamedTuple):
    """A line of a stocktake's list.

    Attributes:
        state: found, missing, elsewhere, emptied, illegible (of which item nobody knows), unknown code.
        view: the item as the book has it now; None where nobody knows which.
        text: the code, or the place of a label that cannot be read, where it is no item.
        by_book: where the book had it; empty for nowhere.
        seen_at: where it was seen; empty where nobody said, or saw it.
        sighting: the last time it was seen.
        illegible: whether its label could not be read.
    """

    state: State
    view: ItemView | None
    text: str = ""
    by_book: str = ""
    seen_at: str = ""
    sighting: Sighting | None = None
    illegible: bool = False


class StocktakeCard(NamedTuple):
    """A stocktake.

    Attributes:
        taken: as it was begun, and as it ended.
        result: what was found so far; once it has ended, as it ended.
        expected: how many items the book has there.
        seen: all that was seen, in the order it was recorded.
        twice: items seen at places that cannot both be right, with these places.
        views: every item that it names, as the book has it now.
    """

    taken: Taken
    result: Stocktake
    expected: int
    seen: tuple[Sighting, ...]
    twice: Mapping[str, tuple[str, ...]]
    views: Mapping[str, ItemView]

    @property
    def unread(self) -> tuple[str, ...]:
        """Items whose label could not be read, by identifier."""
        return tuple(one for one in self.result.illegible if read_or_none(one))

    def lines(self) -> tuple[Line, ...]:
        """Every line of its list, what is to be looked into first."""
        latest = {one.seen.id or one.seen.code: one for one in self.seen}
        result, unread = self.result, set(self.unread)

        def of(state: State, item: str, by_book: str | None = None) -> Line:
            one, view = latest.get(item), self.views[item]
            place = view.facts.get("place", "") if by_book is None else by_book
            return Line(state, view, "", place, one.seen.place if one else "", one, item in unread)

        return (
            *(of("missing", item) for item in result.missing),
            *(of("elsewhere", one.item, one.by_book) for one in result.extra),
            *(of("emptied", item) for item in result.emptied),
            *(Line("illegible", None, at, "", at, illegible=True) for at in result.illegible if at not in unread),
            *(Line("unknown code", None, code, "", latest[code].seen.place, latest[code]) for code in result.unknown),
            *(of("found", item) for item in result.found),
        )


def stocktake_card(book: "BookCore", name: str) -> StocktakeCard:
    """A stocktake by name; places in the order of a walk. `Unknown` where there is none."""
    store = book.store
    with store.snapshot():
        taken = stocktake_named(store, name)
        seen = tuple(sightings(store, taken))
        expected = {} if taken.result else expected_at(book, taken.stocktake.place)
        result = taken.result or _result(book, taken.stocktake, expected, [one.seen for one in seen])
        named = (*result.found, *result.missing, *result.emptied, *(one.item for one in result.extra))
        strayed = (one for one in result.extra if lies_in(steps(one.by_book), steps(result.place)))
        count = len(expected) or len(result.found) + len(result.missing) + len(tuple(strayed))
        return StocktakeCard(taken, result, count, seen, _twice(seen), _viewed(book, named))


def stocktakes_listed(book: "BookCore") -> tuple[Taken, ...]:
    """Every stocktake, in the order they were begun."""
    return tuple(stocktakes(book.store))


def expected_at(book: "BookCore", place: str) -> dict[str, ItemView]:
    """What holds liquid and lies at a place by the book, by identifier; an empty place is the whole house."""
    store, within = book.store, steps(place)
    keys = {key for kind in LIQUID_KINDS for key, at in placed(store, kind).items() if lies_in(steps(at), within)}
    found = {one.id: one for one in views(store, keys).values() if one.holding.mass_mg}
    if not place:
        found |= {one.id: one for one in on_hand(store, kind="cask")}
    return found


def belongs(by_book: str, seen_at: str) -> bool:
    """Whether something that the book has at one place is where it should be at another."""
    book, seen = steps(by_book), steps(seen_at)
    return bool(book or not seen) and (lies_in(book, seen) or lies_in(seen, book))


def _result(
    book: "BookCore", begun: Stocktake, expected: Mapping[str, ItemView], seen: Sequence[Seen]
) -> Stocktake:  # fmt: skip
    items = dict.fromkeys(one.id for one in seen if one.id)
    known = {**_viewed(book, items), **expected}
    empty = [item for item in items if not known[item].holding.mass_mg]
    latest = {one.id: one.place for one in seen if one.id}
    extra = [
        Misplaced(item, latest[item], by_book)
        for item in items
        if item not in empty and not belongs(by_book := known[item].facts.get("place", ""), latest[item])
    ]
    elsewhere = {one.item for one in extra}
    return begun._replace(
        ended=True,
        found=_walked(book, known, [item for item in items if item not in elsewhere and item not in empty]),
        missing=_walked(book, known, [item for item in expected if item not in items]),
        extra=tuple(extra),
        emptied=tuple(empty),
        illegible=tuple(dict.fromkeys(one.id or one.place for one in seen if one.illegible)),
        unknown=tuple(dict.fromkeys(one.code for one in seen if one.code)),
    )


def _walked(book: "BookCore", known: Mapping[str, ItemView], items: Iterable[str]) -> tuple[str, ...]:
    walk = the_walk(book)
    return tuple(walk.ordered(items, lambda one: known[one].facts.get("place", ""), lambda one: known[one].ref or one))


def _viewed(book: "BookCore", items: Iterable[str]) -> dict[str, ItemView]:
    found = views(book.store, {key_of(item) for item in items})
    return {of_key(key): one for key, one in found.items()}


def _twice(seen: Sequence[Sighting]) -> dict[str, tuple[str, ...]]:
    places: dict[str, dict[str, None]] = {}
    for one in seen:
        if one.seen.id and one.seen.place:
            places.setdefault(one.seen.id, {})[one.seen.place] = None
    return {
        item: tuple(of) for item, of in places.items()
        if any(not belongs(first, second) for first in of for second in of)
    }  # fmt: skip
