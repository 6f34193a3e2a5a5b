"""What casks lose in a year, by their gauges, and what they should hold on a day."""

from collections.abc import Sequence
from typing import NamedTuple

from pourbook.book.contents import EVER
from pourbook.book.core import BookCore
from pourbook.book.fillings import Filling, Outlook, fillings, outlook
from pourbook.book.items import ItemView
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.numerals import a_or_an

__all__ = ["CaskEvaporation", "Evaporations", "evaporation"]


class CaskEvaporation(NamedTuple):
    """The view of a cask, its last measured filling and the outlook of that; None where it has none."""

    view: ItemView
    filling: Filling | None
    outlook: Outlook | None


class Evaporations(NamedTuple):
    """What each of some casks loses, and should hold on a day."""

    on_us: int
    casks: tuple[CaskEvaporation, ...]


def evaporation(
    book: BookCore, casks: Sequence[str] = (), on_us: int | None = None, at_us: int | None = None
) -> Evaporations:
    """What casks (by default, every one that holds spirit) lose in a year, and what they should hold on a day.

    `on_us` is that day; by default `at_us`, else now. Only the gauges up to `at_us` count; None counts all.

    Raises:
        Refused: an item is not a cask.
        OutOfRange: a day more than a century away.
    """
    views = [book.show(cask, at_us) for cask in casks] or list(book.stock(at_us, "cask"))
    for view in views:
        if view.kind != "cask":
            raise Refused(f"{hyphened(view.id)} is {a_or_an(view.kind)}, not a cask", "name a cask")
    day_us = on_us if on_us is not None else at_us if at_us is not None else book.clock()
    known = fillings(book.store, [key_of(view.id) for view in views], EVER if at_us is None else at_us)
    found = []
    for view in views:
        latest = known[key_of(view.id)][-1:]
        said = outlook(latest[0], day_us) if latest else None
        found.append(CaskEvaporation(view, latest[0] if latest else None, said))
    return Evaporations(day_us, tuple(found))
