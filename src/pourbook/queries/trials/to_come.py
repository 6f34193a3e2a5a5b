"""A batch that is being poured, as it will be once the rest is poured as planned: its parts, its volume and strength.

>>> from pourbook import Book, Draft, Item, Move, Pour, Recipe, RecipePart
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> fills = [Move("origin", one, read_amount("200 l"), read_strength("60")) for one in ("C000001H", "C000002F")]
>>> ash = Recipe("Ash", (RecipePart("C000001H", "3"), RecipePart("C000002F", "1", bounds="0.8..1.2")))
>>> own = Recipe("B-000001-Y", (RecipePart("C000001H", "75"), RecipePart("C000002F", "25")))
>>> batch = Item("B000001Y", {"follows": "Ash", "plan": "B-000001-Y", "total": "100 l"})
>>> short = Pour("pour", (Move("C000001H", "B000001Y", read_amount("75 l")),))
>>> entries = *(Item(one.target, {}) for one in fills), Pour("fill", tuple(fills)), ash, own, batch, short
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> coming = to_come(book, "B000001Y", targets(book, "B000001Y"))
>>> [(one.component, one.planned, round(one.to_come, 4), one.stands) for one in coming.parts]
[('C000001H', 0.75, 0.75, None), ('C000002F', 0.25, 0.25, 'within')]
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.beside_plan import PartToCome, Rest, Target, parts_to_come
from pourbook.errors import PourbookError
from pourbook.queries.traces.behind import BLENDS, Part, parts_of, parts_taken
from pourbook.queries.trials.bounds_kept import bounds_followed
from pourbook.queries.trials.targets import rest_as_planned, targets  # noqa: F401 (the example)

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["ToCome", "to_come"]


class ToCome(NamedTuple):
    """A batch once the rest is poured as planned: every part of its recipe, and the rest that makes it."""

    parts: tuple[PartToCome, ...]
    rest: Rest

    @property
    def is_as_planned(self) -> bool:
        """Whether every part will be as it was planned, as far as figures show it."""
        return all(abs(one.to_come - one.planned) < _SHOWN for one in self.parts)


_SHOWN = 0.0005
"""Half a tenth of a per cent, to which parts are shown."""


def to_come(book: "BookCore", batch: str, beside_plan: Sequence[Target]) -> ToCome | None:
    """What a batch will be; None where it follows no recipe, or has no plan."""
    bounded = bounds_followed(book, batch) if beside_plan else None
    if bounded is None:
        return None
    rest, store = rest_as_planned(book, batch, beside_plan), book.store
    planned = {one.component: one.planned_ml for one in beside_plan if one.planned_ml}
    poured, still = _poured(book, batch), _parts(book, rest.to_go_ml)
    as_planned = bounded.volumes(store, _parts(book, planned))
    coming = bounded.volumes(store, (*poured, *still))
    parts = parts_to_come(as_planned, coming, bounded.bounds)
    return ToCome(tuple(one._replace(component=bounded.kind(one.component)) for one in parts), rest)


def _parts(book: "BookCore", volumes_ml: Mapping[str, float]) -> list[Part]:
    return [part for source, ml in volumes_ml.items() for part in parts_taken(book.store, source, ml)]


def _poured(book: "BookCore", batch: str) -> tuple[Part, ...]:
    try:
        return parts_of(book.store, batch, BLENDS)
    except PourbookError:
        return ()  # nothing was poured
