"""What a recording did, as values.

>>> Recorded(range(7, 9), 0, (), (), ()).numbers[-1]
8
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.liquid import Liquid

if TYPE_CHECKING:
    from pourbook.book.ancestry import Descent

__all__ = ["Changed", "LeftOpen", "Recorded"]


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
    """

    numbers: Sequence[int]
    recomputed: int
    changed: tuple[Changed, ...]
    leaning: tuple[int, ...]
    gains: tuple[tuple[str, int], ...]
    ancestry: "tuple[Descent, ...]" = ()
    is_ancestry_whole: bool = True
    is_dry_run: bool = False
    left_open: tuple[LeftOpen, ...] = ()
