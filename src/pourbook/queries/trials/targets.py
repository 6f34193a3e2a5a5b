"""A trial being poured beside its plan: what is still to go, and what is more than was meant.

A warning and no more: what happened is recorded, whatever was planned.

>>> target = Target("V000001R", planned_ml=60.0, poured_ml=72.0)
>>> target.over_ml, target.to_go_ml
(12.0, 0.0)
>>> Target("V000001R", planned_ml=60.0, poured_ml=59.7).to_go_ml  # as near as a measuring cylinder is read
0.0
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.bottles import drawn_from
from pourbook.book.items import facts
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, kind_of
from pourbook.errors import PourbookError
from pourbook.queries.trials.poured import poured_ml
from pourbook.queries.trials.trial_plan import plan_of

if TYPE_CHECKING:
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["Plan", "Target", "plan_to_pour"]

_TOLERANCE = 0.01
_LEAST_ML = 0.2
"""What a measuring cylinder or a pipette of that size is read to: common practice, no source."""


class Target(NamedTuple):
    """A component of a trial: what it should get, and what it got.

    Attributes:
        component: identifier or word.
        planned_ml: by the recipe, at 20 °C; 0 where the recipe has none of it.
        poured_ml: so far, at 20 °C.
    """

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


class Plan:
    """What a trial should get, by component."""

    def __init__(self, store: Store, planned_ml: dict[str, float]) -> None:
        self._store = store
        self._planned_ml = planned_ml

    def component_of(self, source: str) -> str:
        """The component that a source stands for: itself, the cask it was drawn from, another sample of that cask."""
        if source in self._planned_ml:
            return source
        cask = self._cask(source)
        found = (name for name in self._planned_ml if cask and cask in (name, self._cask(name)))
        return next(found, source)

    def _cask(self, source: str) -> str:
        is_vial = source[0].isupper() and kind_of(source) == "vial"
        origin = drawn_from(self._store, source) if is_vial else None
        return origin[0] if origin else ""

    def targets(self, trace: "Trace | None") -> list[Target]:
        """Components in the order of the recipe, then what it has none of; by a trace back, None for nothing yet."""
        found = {name: Target(name, planned_ml, 0.0) for name, planned_ml in self._planned_ml.items()}
        for source, volume_ml in (poured_ml(trace) if trace else {}).items():
            name = self.component_of(source)
            before = found.get(name, Target(name, 0.0, 0.0))
            found[name] = before._replace(poured_ml=before.poured_ml + volume_ml)
        return list(found.values())


def plan_to_pour(store: Store, item: str) -> Plan | None:
    """The plan of a trial; None for what follows no recipe, or one that cannot be laid out any more."""
    known = facts(store, key_of(item))
    if not known.get("follows") or not known.get("total"):
        return None
    try:
        pours = plan_of(store, item).pours
    except PourbookError:
        return None  # nothing is known of what should be in it: pouring goes on
    return Plan(store, {pour.component: pour.volume_ml for pour in pours})
