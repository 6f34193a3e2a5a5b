"""Two blends side by side: what was poured into each, what each costs, and how old it is."""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.trials import Difference, differences
from pourbook.queries.traces.blend import Blend, blend_of
from pourbook.queries.trials.poured import poured_ml

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Comparison", "compare"]


class Comparison(NamedTuple):
    """Two blends, their differences (the largest change first), and the refs of the components; empty for none."""

    blends: tuple[Blend, Blend]
    differences: tuple[Difference, ...]
    refs: tuple[str, ...]


def compare(book: "BookCore", first: str, second: str, at_us: int | None = None) -> Comparison:
    """Set two trials (or batches, or lots) side by side, now or at a moment.

    Raises:
        PourbookError: no such item, or nothing was ever poured into it.
    """
    blends = blend_of(book, first, at_us), blend_of(book, second, at_us)
    found = differences(*(poured_ml(blend.trace) for blend in blends))
    refs = (book.show(one.component).ref if one.component[0].isupper() else "" for one in found)
    return Comparison(blends, found, tuple(refs))
