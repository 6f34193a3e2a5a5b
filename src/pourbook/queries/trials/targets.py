"""A trial being poured beside its plan: what is still to go, and what is more than was meant.

A warning and no more: what happened is recorded, whatever was planned.

>>> target = Target("V000001R", planned_ml=60.0, poured_ml=72.0)
>>> target.over_ml, target.to_go_ml
(12.0, 0.0)
>>> Target("V000001R", planned_ml=60.0, poured_ml=59.7).to_go_ml  # as near as a measuring cylinder is read
0.0
"""

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import facts, ledger
from pourbook.codes.identifiers import key_of, kind_of
from pourbook.errors import PourbookError
from pourbook.queries.traces.behind import GLASSES, sources_behind
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.trial_plan import plan_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["Target", "restoring_ml", "targets"]

_TOLERANCE = 0.01
_LEAST_ML = 0.2
"""What a measuring cylinder or a pipette of that size is read to: common practice, no source."""


class Target(NamedTuple):
    """A component of a trial with planned_ml by the recipe and poured_ml so far, at 20 °C; 0 where it has none."""

    component: str
    planned_ml: float
    poured_ml: float

    @property
    def over_ml(self) -> float:
        """More than planned; 0 within tolerance."""
        return self._beyond(self.poured_ml - self.planned_ml)

    @property
    def to_go_ml(self) -> float:
        """Still to be poured; 0 within tolerance."""
        return self._beyond(self.planned_ml - self.poured_ml)

    def _beyond(self, difference_ml: float) -> float:
        return difference_ml if difference_ml > max(_LEAST_ML, _TOLERANCE * self.planned_ml) else 0.0


def restoring_ml(targets: Sequence[Target]) -> dict[str, float]:
    """What to pour of each component so that one poured too much of is in proportion again; nothing where none is.

    >>> restoring_ml([Target("V000001R", 75.0, 75.0), Target("V000002P", 25.0, 30.0)])
    {'V000001R': 15.0}
    """
    over = [target.poured_ml / target.planned_ml for target in targets if target.planned_ml and target.over_ml]
    grown = max(over, default=1.0)
    wanted = {target.component: grown * target.planned_ml - target.poured_ml for target in targets}
    return {one: ml for one, ml in wanted.items() if over and ml > _LEAST_ML}


def targets(book: "BookCore", trial: str, source: str = "") -> tuple[Target, ...]:
    """Components in the order of the recipe, then what it has none of; or only the one that a source stands for.

    A source that the recipe does not ask for is a target of nothing.

    None for what follows no recipe, or one that can no longer be laid out.
    """
    store, known = book.store, facts(book.store, key_of(trial))
    if not known.get("follows") or not known.get("total"):
        return ()
    try:
        pours = plan_of(store, trial).pours
    except PourbookError:
        return ()  # nothing is known of what should be in it: pouring goes on
    found = {pour.component: Target(pour.component, pour.volume_ml, 0.0) for pour in pours}
    planned = tuple(found)
    poured = trace_back(book, trial).poured_ml if ledger(store, key_of(trial)) else {}
    for one, volume_ml in poured.items():
        name = _component(store, planned, one)
        before = found.get(name, Target(name, 0.0, 0.0))
        found[name] = before._replace(poured_ml=before.poured_ml + volume_ml)
    if not source:
        return tuple(found.values())
    wanted = _component(store, planned, source)
    return (found.get(wanted, Target(wanted, 0.0, 0.0)),)


def _component(store: "Store", planned: Collection[str], source: str) -> str:
    """The component that a source stands for: itself, the cask it was drawn from, another sample of the same casks."""
    if source in planned or source[0].islower():
        return source
    casks = _casks(store, source)
    return next((name for name in planned if name[0].isupper() and _casks(store, name) == casks), source)


def _casks(store: "Store", source: str) -> frozenset[str]:
    """The casks behind a glass; anything else, and what came from outside, stands for itself."""
    behind = sources_behind(store, source) if kind_of(source) in GLASSES else ()
    return frozenset(behind or (source,))
