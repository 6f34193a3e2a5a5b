"""Two blends side by side: the casks in each, whatever glass they came by, what each costs, and how old it is."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.trials import Difference, differences
from pourbook.queries.items.called import called
from pourbook.queries.traces.behind import BLENDS, parts_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.traces.trace_answer import Trace

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Comparison", "compare"]


class Comparison(NamedTuple):
    """Two blends, their differences (the largest change first), and what each component is called."""

    blends: tuple[Trace, Trace]
    differences: tuple[Difference, ...]
    called: Mapping[str, str]


def compare(book: "BookCore", first: str, second: str, at_us: int | None = None) -> Comparison:
    """Set two trials (or batches, or lots) side by side, now or at a moment.

    Raises:
        PourbookError: no such item, or nothing was ever poured into it.
    """
    blends = trace_back(book, first, at_us=at_us), trace_back(book, second, at_us=at_us)
    found = differences(*(_casks_ml(book, blend.item.id, at_us) for blend in blends))
    return Comparison(blends, found, called(book.store, (one.component for one in found)))


def _casks_ml(book: "BookCore", blend: str, at_us: int | None) -> dict[str, float]:
    """Volume at 20 °C that each cask gave to a blend; a glass, batch or lot on the way is looked through."""
    found: dict[str, float] = {}
    for part in parts_of(book.store, blend, BLENDS, at_us):
        found[part.source] = found.get(part.source, 0.0) + part.volume_ml
    return found
