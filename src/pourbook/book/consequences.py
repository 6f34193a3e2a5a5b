"""What a recording did, as values.

>>> Recorded(range(7, 9), 0, (), (), ()).numbers[-1]
8
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from pourbook.liquid import Liquid

__all__ = ["NOTHING_RECORDED", "Changed", "Descent", "LeftOpen", "Recorded", "Sources"]


class Changed(NamedTuple):
    """What the book has in an item (id), before and after a recording."""

    id: str
    before: Liquid
    after: Liquid


class LeftOpen(NamedTuple):
    """Owner or duty status of an item that its sources do not agree on.

    Attributes:
        id: the item.
        name: of the fact.
        now: its value before; empty where it had none.
        of_sources: the values of what was poured in, in order; empty text where a source states none.
        ends: whether the value ends; else it stays as stated.
    """

    id: str
    name: str
    now: str
    of_sources: tuple[str, ...]
    ends: bool


_SHARE = 5e-5
"""A smaller difference does not show in per cent with two digits."""


class Sources(NamedTuple):
    """Where the liquid of an item came from.

    >>> known = Sources({"C000001H": 0.75, "C000002F": 0.25}, None)
    >>> known.differs(Sources({"C000001H": 0.75, "C000002F": 0.25}, 0)), known.differs(known)
    (True, False)

    Attributes:
        shares: the item that spirit from outside went into first (or "water", "additive", "unexplained"),
            to its part by pure alcohol; they add to one. Empty where nothing was ever poured into the item.
        youngest_us: time in wood of the youngest spirit, in microseconds; None when unknown.
    """

    shares: Mapping[str, float]
    youngest_us: int | None

    def differs(self, other: "Sources") -> bool:
        """Whether anybody would see a difference: a source, a share, the age."""
        if self.shares.keys() != other.shares.keys() or self.youngest_us != other.youngest_us:
            return True
        return any(abs(share - other.shares[source]) > _SHARE for source, share in self.shares.items())


class Descent(NamedTuple):
    """An item (id) whose sources, shares or age change: before the recording, and after it."""

    id: str
    before: Sources
    after: Sources


class Recorded(NamedTuple):
    """What a recording did.

    Attributes:
        numbers: of the entries, in the order of the journal.
        recomputed: how many lines recorded earlier were applied again.
        changed: items recorded earlier whose present contents changed by it.
        leaning: entries whose mass was derived from a book strength that has now changed.
        gains: items that were gauged up because more was taken than the book held, with the mg.
        ancestry: lots, and items on hand, whose sources, shares or age changed by it.
        is_ancestry_whole: whether all that could have changed was looked at.
        is_dry_run: nothing of it was kept.
        left_open: owner and duty status that did not follow from the sources.
        held: items put on hold, as they hold what was poured from what a recall holds.
        is_second_unneeded: a second person was given, and no entry needed one, so that none is named.
    """

    numbers: Sequence[int]
    recomputed: int
    changed: tuple[Changed, ...]
    leaning: tuple[int, ...]
    gains: tuple[tuple[str, int], ...]
    ancestry: tuple[Descent, ...] = ()
    is_ancestry_whole: bool = True
    is_dry_run: bool = False
    left_open: tuple[LeftOpen, ...] = ()
    held: tuple[str, ...] = ()
    is_second_unneeded: bool = False

    def and_then(self, other: "Recorded") -> "Recorded":
        """This recording and one after it in the same transaction, as one."""
        return Recorded(
            (*self.numbers, *other.numbers),
            self.recomputed + other.recomputed,
            (*self.changed, *other.changed),
            (*self.leaning, *other.leaning),
            (*self.gains, *other.gains),
            (*self.ancestry, *other.ancestry),
            self.is_ancestry_whole and other.is_ancestry_whole,
            other.is_dry_run,
            (*self.left_open, *other.left_open),
            (*self.held, *other.held),
            self.is_second_unneeded and other.is_second_unneeded,
        )


NOTHING_RECORDED = Recorded((), 0, (), (), ())
"""What was done without an entry."""
