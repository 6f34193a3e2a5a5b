"""Whose liquid was tasted: the casks and glasses that a note is also about, one filling at a time.

A cask lives through many fillings. A note speaks of what lay in it then; so it is a note on a blend if liquid of
that filling went into it, and a note on a vial is one on the filling that the vial was drawn from.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = Item("C000001H", {"wood": "virgin chestnut"}), Item("V000001R", {})
>>> filled = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("60")),))
>>> drawn = Pour("draw", (Move("C000001H", "V000001R", read_amount("200 ml")),))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (cask, vial, filled, drawn)))
>>> [of_key(one.item) for one in of_casks(book.store, "chestnut", None)]
['C000001H', 'V000001R']
>>> [(of_key(one.item), one.how) for one in around(book.store, "C000001H")]
[('C000001H', ''), ('V000001R', 'from it')]
"""

from collections.abc import Collection, Iterator, Mapping
from itertools import groupby
from typing import Literal, NamedTuple

from pourbook.book.contents import EVER
from pourbook.book.items import facts, keys_of_kind, ledger
from pourbook.book.lineages import glasses_of, upstream_of
from pourbook.book.recall_scope import says
from pourbook.book.search import stated
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, kind_of, of_key, read_or_none

__all__ = ["Around", "Filling", "around", "fillings_of", "of_casks"]

How = Literal["", "in it", "from it", "followed"]


class Filling(NamedTuple):
    """What an item held from one moment it was empty to the next.

    Attributes:
        since_us: when it was filled.
        until_us: the last moment before it was filled again.
        states: in which it was.
    """

    since_us: int
    until_us: int
    states: frozenset[int]


class Around(NamedTuple):
    """An item while it held the same liquid as another.

    Attributes:
        item: its key.
        how: "in it" where its liquid went into the other, "from it" where it is a glass of the other, "followed" for
            the trial that the other was made by, and for what is in that; empty for the other itself.
        since_us: from when it held that liquid.
        until_us: until when.
    """

    item: int
    how: How
    since_us: int
    until_us: int


def fillings_of(store: Store, key: int) -> list[Filling]:
    """The fillings of an item, in order of time; none where nothing was ever poured into it."""
    found: list[Filling] = []
    for is_empty, rows in groupby(ledger(store, key), key=lambda row: not row.holding.mass_mg):
        lines = list(rows)
        if is_empty:
            continue
        if found:
            found[-1] = found[-1]._replace(until_us=lines[0].happened_us - 1)
        found.append(Filling(lines[0].happened_us, EVER, frozenset(row.holding.state for row in lines)))
    return found


def around(store: Store, item: str) -> Iterator[Around]:
    """An item, and others with the liquid that it holds or held last: behind it, in glasses of it, in its trial."""
    key = key_of(item)
    yield Around(key, "", -EVER, EVER)
    yield from _with_liquid_of(store, key)
    for followed in _followed(store, key):
        yield Around(followed, "followed", *_ever(store, followed))
        yield from (one._replace(how="followed") for one in _with_liquid_of(store, followed) if one.how == "in it")


def _with_liquid_of(store: Store, key: int) -> Iterator[Around]:
    fillings = fillings_of(store, key)
    if not fillings:
        return
    states = fillings[-1].states
    behind = upstream_of(store, states).lineage.item_of
    ways: tuple[tuple[How, Mapping[int, int]], ...] = (("in it", behind), ("from it", glasses_of(store, states)))
    for how, item_of in ways:
        for other in sorted(set(item_of.values()) - {key}):
            there = {state for state, one in item_of.items() if one == other}
            yield from (
                Around(other, how, filling.since_us, filling.until_us)
                for filling in fillings_of(store, other)
                if filling.states & there
            )


def _ever(store: Store, key: int) -> tuple[int, int]:
    fillings = fillings_of(store, key)
    return (fillings[-1].since_us, EVER) if fillings else (-EVER, EVER)


def _followed(store: Store, key: int) -> list[int]:
    """The trial that a batch follows, or the batches of a lot."""
    identifier = of_key(key)
    batches = [key]
    if kind_of(identifier) == "lot":
        fillings = fillings_of(store, key)
        behind = upstream_of(store, fillings[-1].states).lineage.item_of if fillings else {}
        batches = sorted({one for one in behind.values() if kind_of(of_key(one)) == "batch"})
    trials = (read_or_none(facts(store, one).get("follows", "")) for one in batches)
    return [key_of(one) for one in dict.fromkeys(trials) if one and kind_of(one) == "trial" and key_of(one) != key]


def of_casks(store: Store, wood: str, filled_us: tuple[int, int] | None) -> Iterator[Around]:
    """Fillings of casks of a wood, begun from one moment to before another, and the glasses of them."""
    keys: Collection[int] = keys_of_kind(store, "cask")
    if wood:
        keys = {one.item for one in stated(store, ("wood",)) if says(one.value, wood)} & set(keys)
    since_us, before_us = filled_us or (-EVER, EVER)
    states: set[int] = set()
    for key in keys:
        for filling in fillings_of(store, key):
            if since_us <= filling.since_us < before_us:
                states |= filling.states
                yield Around(key, "", filling.since_us, filling.until_us)
    yield from (Around(glass, "", -EVER, EVER) for glass in sorted(set(glasses_of(store, states).values())))
