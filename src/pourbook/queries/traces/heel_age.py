"""What a heel does to the age of a batch: the youngest spirit with it, and without it.

A heel is a batch that was, or is to be, poured into another one. It is told of where it makes the youngest younger, or
of unknown age.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> fills = [
...     Move("origin", item, read_amount("200 l"), read_strength("60"), facts={"wood_days": days})
...     for item, days in (("C000001H", 4400), ("B000001Y", 3300))
... ]
>>> entries = Item("C000001H", {}), Item("B000001Y", {}), Pour("fill", tuple(fills))
>>> _ = book.record(*(Draft(entry, book.clock(), "M. Aldane") for entry in entries))
>>> (found,) = heel_ages(book, [Source("C000001H"), Source("B000001Y")])
>>> found.heel, found.with_it.years, found.without.years
('B000001Y', 9, 12)
"""

from collections.abc import Iterable
from functools import reduce
from typing import TYPE_CHECKING, NamedTuple

from pourbook.codes.identifiers import kind_of
from pourbook.errors import PourbookError
from pourbook.lineage.ages import Age, WoodTime, age_of, least
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.targets import targets

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["HeelAge", "Source", "heel_ages", "heel_beside", "heels_in"]


class Source(NamedTuple):
    """What is poured into a batch: an item, and the moment before it; None is now."""

    item: str
    at_us: int | None = None


class HeelAge(NamedTuple):
    """The youngest spirit of a batch with a heel in it (`with_it`), and `without` it; None where that is unknown."""

    heel: str
    with_it: Age | None
    without: Age | None


def heels_in(book: "BookCore", batch: str, at_us: int | None = None) -> tuple[HeelAge, ...]:
    """The heels that were poured into a batch and make it younger, or of unknown age."""
    pours = [pour for pour in trace_back(book, batch, at_us=at_us).pours if pour.target == batch]
    if not any(_is_heel(pour.source) for pour in pours):
        return ()
    return heel_ages(book, (Source(pour.source, pour.happened_us - 1) for pour in pours))


def heel_beside(book: "BookCore", target: str, source: str) -> tuple[HeelAge, ...]:
    """What a batch would do, poured into another one beside what is in that, or planned for it."""
    if not (_is_heel(source) and _is_heel(target)):
        return ()
    try:
        poured = [one for one in trace_back(book, target).pours if one.target == target]
    except PourbookError:
        poured = []  # nothing is in it
    there = [Source(one.source, one.happened_us - 1) for one in poured]
    planned = [Source(one.component) for one in targets(book, target) if one.to_go_ml and one.component != source]
    return tuple(one for one in heel_ages(book, (*there, *planned, Source(source))) if one.heel == source)


def heel_ages(book: "BookCore", sources: Iterable[Source]) -> tuple[HeelAge, ...]:
    """The heels among what is poured together that make it younger, or of unknown age."""
    items = [one for one in dict.fromkeys(sources) if one.item[:1].isupper()]
    if not any(_is_heel(one.item) for one in items) or len({one.item for one in items}) < 2:
        return ()
    youngest = {one: _youngest(book, one) for one in items}
    found = []
    for heel in dict.fromkeys(one.item for one in items if _is_heel(one.item)):
        with_it = reduce(least, youngest.values())
        without = reduce(least, (time for one, time in youngest.items() if one.item != heel))
        if without is not None and (with_it is None or with_it < without):
            found.append(HeelAge(heel, age_of(with_it, book.zone), age_of(without, book.zone)))
    return tuple(found)


def _is_heel(source: str) -> bool:
    return source[:1].isupper() and kind_of(source) == "batch"


def _youngest(book: "BookCore", source: Source) -> WoodTime | None:
    try:
        return trace_back(book, source.item, at_us=source.at_us).age.youngest
    except PourbookError:
        return None  # nothing was in it
