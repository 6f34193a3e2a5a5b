"""Which casks must be shifted to reach others: for each alone, and for all that are pulled together.

Whatever lies at a place by the book is in the way, empty casks as well; who takes one away moves it in the book.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> row = Item("S0000014", {"ref": "Row", "storage": "stow"})
>>> casks = [Item(book.next_id("cask"), {"place": "Row 3/1"}), Item("C000002F", {"place": "Row 3/2"})]
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (row, *casks)))
>>> [(one.view.id, one.in_the_way) for one in reach(book, ["C000002F"]).casks], shifts_of(book)
([('C000002F', ('C000001H',))], {'C000001H': 0, 'C000002F': 1})
"""

from collections.abc import Collection, Iterable, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ItemView, placed, views
from pourbook.codes.identifiers import hyphened, key_of, kind_of, of_key
from pourbook.errors import Refused
from pourbook.numerals import a_or_an
from pourbook.queries.trials.targets import targets
from pourbook.queries.warehouse.walk import Walk, the_walk
from pourbook.warehouse.in_the_way import in_the_way
from pourbook.warehouse.places import Address

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Reach", "Reached", "reach", "shifts_of"]


class Reached(NamedTuple):
    """A cask to be reached: its `view`, and `in_the_way`, what lies in front of it and above; None where unknown."""

    view: ItemView
    in_the_way: tuple[str, ...] | None


class Reach(NamedTuple):
    """What it takes to reach casks.

    Attributes:
        casks: each by itself, in the order of a walk.
        shifted: what must be shifted to pull all of them together, in that order; none of it is pulled itself.
    """

    casks: tuple[Reached, ...]
    shifted: tuple[ItemView, ...]

    @property
    def unknown(self) -> tuple[ItemView, ...]:
        """Casks of which the book does not know how they lie."""
        return tuple(one.view for one in self.casks if one.in_the_way is None)


def reach(book: "BookCore", items: Iterable[str], at_us: int | None = None) -> Reach:
    """What is to be shifted to reach casks, now or at a moment; a batch stands for all that its plan still takes.

    Raises:
        Refused: an item is neither a cask nor a batch with casks to go.
        PourbookError: no such item.
    """
    wanted = list(dict.fromkeys(cask for item in items for cask in _casks(book, book.find(item))))
    walk = the_walk(book)
    lying = _lying(book, walk, at_us)
    together = in_the_way(lying, wanted)
    alone = {cask: in_the_way(lying, [cask]) for cask in wanted}
    seen = views(book.store, [key_of(one) for one in {*wanted, *together.shifted}], at_us)

    def walked(casks: Collection[str]) -> list[ItemView]:
        found = [seen[key_of(cask)] for cask in casks]
        return walk.ordered(found, lambda one: one.facts.get("place", ""), lambda one: one.ref or one.id)

    return Reach(
        tuple(
            Reached(one, None if alone[one.id].unknown else tuple(sorted(alone[one.id].shifted)))
            for one in walked(wanted)
        ),
        tuple(walked(together.shifted)),
    )


def shifts_of(book: "BookCore") -> dict[str, int]:
    """How many casks lie in the way of each cask alone; those of which nobody said how they lie are left out.

    Summed over casks that are pulled together it is at least what they take: what lies in the way of two, or is
    pulled itself, counts each time. `reach` counts exactly.
    """
    lying = _lying(book, the_walk(book), None)
    rows: dict[object, dict[str, Address]] = {}
    for name, at in lying.items():
        rows.setdefault(at.row, {})[name] = at
    found = {name: in_the_way(row, [name]) for row in rows.values() for name in row}
    return {name: len(one.shifted) for name, one in found.items() if not one.unknown}


def _lying(book: "BookCore", walk: Walk, at_us: int | None) -> Mapping[str, Address]:
    return {of_key(key): walk.address(place) for key, place in placed(book.store, "cask", at_us).items()}


def _casks(book: "BookCore", item: str) -> tuple[str, ...]:
    if kind_of(item) == "cask":
        return (item,)
    to_go = [one.component for one in targets(book, item) if one.to_go_ml and one.component[:1].isupper()]
    casks = tuple(one for one in to_go if kind_of(one) == "cask")
    if kind_of(item) == "batch" and casks:
        return casks
    what = "has no plan with casks still to pull" if kind_of(item) == "batch" else f"is {a_or_an(kind_of(item))}"
    raise Refused(f"{hyphened(item)} {what}", "name casks, or a batch that was opened with its plan")
