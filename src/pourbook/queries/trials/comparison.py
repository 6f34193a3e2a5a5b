"""Blends side by side: the casks in each, whatever glass they came by, what each costs, and how old it is."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.bounds import PartShare
from pourbook.bench.trials import Difference, differences
from pourbook.codes.identifiers import read_or_none
from pourbook.errors import Malformed
from pourbook.queries.items.called import blend_called, called
from pourbook.queries.traces.made_of import BY_CASK, By, Composition, made_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.traces.trace_answer import Trace
from pourbook.queries.trials.bounds_kept import bounds_kept
from pourbook.queries.trials.opinions import Best, Opinion, best, opinion_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Comparison", "compare"]


class Comparison(NamedTuple):
    """Blends side by side.

    Attributes:
        blends: each traced back.
        compositions: what each is made of.
        by: how that is told.
        opinions: what was thought of each.
        bounds: every part of each that its recipe bounds.
        called: what each blend and cask is called beside its identifier.
    """

    blends: tuple[Trace, ...]
    compositions: tuple[Composition, ...]
    by: By
    opinions: tuple[Opinion, ...]
    bounds: tuple[tuple[PartShare, ...], ...]
    called: Mapping[str, str]

    @property
    def parts(self) -> tuple[str, ...]:
        """Every part, those first that differ most among the blends; of two, the largest change first."""
        found = dict.fromkeys(part for one in self.compositions for part in one)
        return tuple(sorted(found, key=lambda part: -self._span(part)))

    @property
    def differences(self) -> tuple[Difference, ...]:
        """From the first to the last, the largest change first."""
        return differences(self.compositions[0], self.compositions[-1])

    @property
    def best(self) -> Best | None:
        """The best of them; None where nobody gave a score or a liking."""
        return best({blend.item.id: one for blend, one in zip(self.blends, self.opinions, strict=True)})

    @property
    def by_id(self) -> Mapping[str, Composition]:
        """What each is made of, by its identifier."""
        return {blend.item.id: one for blend, one in zip(self.blends, self.compositions, strict=True)}

    def _span(self, part: str) -> float:
        fractions = [one.get(part, 0.0) for one in self.compositions]
        return max(fractions) - min(fractions)


def compare(book: "BookCore", *items: str, at_us: int | None = None, by: By = BY_CASK) -> Comparison:
    """Set trials (or batches, or lots) side by side, now or at a moment.

    Raises:
        Malformed: fewer than two are named.
        PourbookError: no such item, or nothing was ever poured into it.
    """
    if len(items) < 2:
        raise Malformed("there is nothing to compare it with", "name two or more trials, batches or lots")
    blends = tuple(trace_back(book, item, at_us=at_us) for item in items)
    compositions = made_of(book, {blend.item.id for blend in blends}, by, at_us)
    bounds = tuple(bounds_kept(book, blend.item.id, at_us) for blend in blends)
    bounded = (one.component for every in bounds for one in every)
    parts = (part for one in compositions.values() for part in one if by.group_by == "cask")
    names = called(book.store, filter(read_or_none, (*parts, *bounded)))
    names |= {blend.item.id: blend_called(blend.item) for blend in blends}
    return Comparison(
        blends,
        tuple(compositions[blend.item.id] for blend in blends),
        by,
        tuple(opinion_of(book, blend.item.id, at_us) for blend in blends),
        bounds,
        names,
    )
