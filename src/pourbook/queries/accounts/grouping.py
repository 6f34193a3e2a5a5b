"""Groupings of an account: owner, duty status, warehouse, kind, spirit, and of a group its sites; functions of time.

What an item was entered with holds from its first drop on; what was stated later, from then on. A
warehouse is the fact of that name, or the place as far as its first comma. The spirit named at a fill is that of
the item from then on, beside what is still in it.

>>> facts = {8: [Fact(0, 4096, "place", "Warehouse 1, row 3"), Fact(50, 8192, "place", "Warehouse 2, row 1")]}
>>> groups = Groups(("warehouse", "kind"), facts)
>>> groups.at(8, (10, 0)), groups.changes(8, (20, 0), (90, 0))
(('Warehouse 1', 'cask'), [((50, 8192), ('Warehouse 2', 'cask'))])
"""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from pourbook.codes.identifiers import KINDS
from pourbook.errors import Malformed

__all__ = [
    "ALWAYS_US",
    "GROUPINGS",
    "NOT_STATED",
    "Fact",
    "Group",
    "Groups",
    "Key",
    "checked",
    "facts_for",
    "kind_at",
    "spirits_joined",
]

Key = tuple[int, int]
"""Where something stands in the order of things: moment, and place within it."""

Group = tuple[str, ...]
"""What an item is by each grouping of an account."""

ALWAYS_US = -(1 << 62)
"""From the beginning of time."""

NOT_STATED = "not stated"

_FACTS_OF: dict[str, tuple[str, ...]] = {
    "owner": ("owner",),
    "duty": ("duty",),
    "warehouse": ("warehouse", "place"),
    "kind": (),
    "spirit": ("spirit",),
    "site": ("site",),
}
_KINDS = tuple(KINDS)

GROUPINGS = tuple(_FACTS_OF)
"""The groupings of an account."""


class Fact(NamedTuple):
    """What is true of an item from a time on.

    Attributes:
        happened_us: from when.
        place: its place among what happened at that moment.
        name: owner, duty, warehouse, place, spirit or site.
        value: what it is; empty where it ends.
    """

    happened_us: int
    place: int
    name: str
    value: str


def checked(by: Sequence[str]) -> tuple[str, ...]:
    """The groupings, each once.

    Raises:
        Malformed: an unknown grouping.
    """
    for name in by:
        if name not in GROUPINGS:
            raise Malformed(f"an account cannot be kept by '{name}'", f"keep it by: {', '.join(GROUPINGS)}")
    return tuple(dict.fromkeys(by))


def facts_for(by: Sequence[str]) -> tuple[str, ...]:
    """Names of the facts that decide a group."""
    return tuple(fact for name in by for fact in _FACTS_OF[name])


def kind_at(item: int) -> str:
    """The kind of an item, from its key: quicker than by way of its identifier."""
    return _KINDS[item % len(_KINDS)]


def spirits_joined(facts: Sequence[Fact]) -> list[Fact]:
    """Facts of an item in which a spirit named at a fill is that of the item, together with what is still in it.

    What somebody states of the item afterwards stands until it is filled anew.

    >>> filled = Fact(1, 0, "spirit filled", "malt spirit"), Fact(2, 0, "spirit added", "grain spirit")
    >>> [fact.value for fact in spirits_joined(filled)]
    ['malt spirit', 'grain spirit and malt spirit']
    """
    found: list[Fact] = []
    spirits: set[str] = set()
    for fact in facts:
        if fact.name in ("spirit", "spirit filled"):
            spirits = {fact.value} - {""}
        elif fact.name == "spirit added":
            spirits = spirits | {fact.value}
        of_spirit = fact.name in ("spirit", "spirit filled", "spirit added")
        found.append(fact._replace(name="spirit", value=" and ".join(sorted(spirits))) if of_spirit else fact)
    return found


class Groups:
    """Which group every item belonged to at any time; the facts of each item are in order of time."""

    def __init__(self, by: Sequence[str], facts: Mapping[int, Sequence[Fact]]) -> None:
        self._by = tuple(by)
        self._unstated = [self._group(item, {}) for item in range(len(_KINDS))]
        self._turns = {item: self._turns_of(item, known) for item, known in facts.items()}

    def _turns_of(self, item: int, facts: Sequence[Fact]) -> tuple[list[Key], list[Group]]:
        known: dict[str, str] = {}
        keys: list[Key] = []
        groups = [self._group(item, known)]
        for key, together in groupby(facts, key=lambda fact: fact[:2]):
            known.update((fact.name, fact.value) for fact in together)
            group = self._group(item, known)
            if group != groups[-1]:
                keys.append(key)
                groups.append(group)
        return keys, groups

    def _group(self, item: int, known: Mapping[str, str]) -> Group:
        return tuple(_value(name, item, known) for name in self._by)

    def at(self, item: int, key: Key) -> Group:
        """The group of an item at a place in the order of things."""
        if not self._by:
            return ()
        turns = self._turns.get(item)
        if turns is None:
            return self._unstated[item % len(_KINDS)]
        keys, groups = turns
        return groups[bisect_right(keys, key)]

    def changes(self, item: int, start: Key, end: Key) -> list[tuple[Key, Group]]:
        """When an item changed its group between two places in that order, and into which."""
        keys, groups = self._turns.get(item, ([], [()]))
        return [(key, group) for key, group in zip(keys, groups[1:], strict=True) if start <= key < end]

    def changing(self, start: Key, end: Key) -> list[int]:
        """The items that changed their group in between."""
        return [item for item, (keys, _) in self._turns.items() if any(start <= key < end for key in keys)]


def _value(name: str, item: int, known: Mapping[str, str]) -> str:
    if name == "kind":
        return kind_at(item)
    if name == "warehouse":
        return known.get("warehouse") or known.get("place", "").partition(",")[0].strip() or NOT_STATED
    return known.get(name) or NOT_STATED
