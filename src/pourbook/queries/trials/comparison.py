"""Two blends side by side: the casks in each, whatever glass they came by, what each costs, and how old it is."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.bounds import PartShare
from pourbook.bench.trials import Difference, differences
from pourbook.queries.items.called import called
from pourbook.queries.traces.behind import BLENDS, parts_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.traces.trace_answer import Trace
from pourbook.queries.trials.bounds_kept import bounds_kept

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Comparison", "compare"]


class Comparison(NamedTuple):
    """Two blends, their differences (the largest change first), what each component is called, and bounds in each."""

    blends: tuple[Trace, Trace]
    differences: tuple[Difference, ...]
    called: Mapping[str, str]
    bounds: tuple[tuple[PartShare, ...], tuple[PartShare, ...]]


def compare(book: "BookCore", first: str, second: str, at_us: int | None = None) -> Comparison:
    """Set two trials (or batches, or lots) side by side, now or at a moment.

    Raises:
        PourbookError: no such item, or nothing was ever poured into it.
    """
    blends = trace_back(book, first, at_us=at_us), trace_back(book, second, at_us=at_us)
    found = differences(*(_casks_ml(book, blend.item.id, at_us) for blend in blends))
    first_bounds, second_bounds = (bounds_kept(book, blend.item.id, at_us) for blend in blends)
    bounded = (one.component for one in (*first_bounds, *second_bounds))
    names = called(book.store, (*(one.component for one in found), *bounded))
    return Comparison(blends, found, names, (first_bounds, second_bounds))


def _casks_ml(book: "BookCore", blend: str, at_us: int | None) -> dict[str, float]:
    """Volume at 20 °C that each cask gave to a blend; a glass, batch or lot on the way is looked through."""
    found: dict[str, float] = {}
    for part in parts_of(book.store, blend, BLENDS, at_us):
        found[part.source] = found.get(part.source, 0.0) + part.volume_ml
    return found
