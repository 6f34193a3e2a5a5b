"""A trial being poured beside its plan: what is still to go, and what is more than was meant.

A warning and no more: what happened is recorded, whatever was planned.

>>> target = Target("V000001R", planned_ml=60.0, poured_ml=72.0)
>>> target.over_ml, target.to_go_ml
(12.0, 0.0)
>>> Target("V000001R", planned_ml=60.0, poured_ml=59.7).to_go_ml  # as near as a measuring cylinder is read
0.0
"""

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.mixing import mix, water_lacking_mg
from pourbook.bench.bounds import Stands, stands
from pourbook.bench.trials import WATER, liquid_of_volume
from pourbook.book.items import facts, held, ledger
from pourbook.codes.identifiers import key_of, kind_of
from pourbook.errors import PourbookError
from pourbook.liquid import EMPTY, Liquid
from pourbook.queries.traces.behind import GLASSES, sources_behind
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.trial_plan import TrialPlan, plan_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["Target", "component_for", "restoring_ml", "targets"]

_TOLERANCE = 0.01
_LEAST_ML = 0.2
"""What a measuring cylinder or a pipette of that size is read to: common practice, no source."""


class Target(NamedTuple):
    """A component of a trial beside its plan, volumes at 20 °C.

    Attributes:
        component: identifier, or a word for what comes from outside.
        planned_ml: by the recipe; 0 where it has none of it.
        poured_ml: so far.
        bounds_ml: between what its part stays in its bounds; None where it has none.
        whole_ml: what the bounds are of: the whole as planned, or as poured where that is more, without computed water.
        needed_ml: of water that is computed: what the strength takes in all, by what was really poured and what is
            still to go; None for anything else.
    """

    component: str
    planned_ml: float
    poured_ml: float
    bounds_ml: tuple[float, float] | None = None
    whole_ml: float = 0.0
    needed_ml: float | None = None

    @property
    def wanted_ml(self) -> float:
        """What it takes in all: as planned, or as the strength needs."""
        return self.planned_ml if self.needed_ml is None else self.needed_ml

    @property
    def over_ml(self) -> float:
        """More than that; 0 within tolerance."""
        return self._beyond(self.poured_ml - self.wanted_ml)

    @property
    def to_go_ml(self) -> float:
        """Still to be poured; 0 within tolerance."""
        return self._beyond(self.wanted_ml - self.poured_ml)

    @property
    def stands(self) -> Stands | None:
        """Where its part is of its bounds; None where it has none.

        >>> Target("V000001R", 25.0, 31.0, (20.0, 30.0), 100.0).stands
        'above'
        """
        if self.bounds_ml is None:
            return None
        return stands(*(ml / self.whole_ml for ml in (self.poured_ml, *self.bounds_ml)))

    @property
    def more_ml(self) -> tuple[float, float]:
        """How much more brings its part into its bounds, and how much it can take before it leaves them."""
        low_ml, high_ml = self.bounds_ml or (0.0, 0.0)
        return max(low_ml - self.poured_ml, 0.0), max(high_ml - self.poured_ml, 0.0)

    @property
    def least_whole_ml(self) -> float:
        """The smallest whole in which its part is not above its bounds."""
        return self.whole_ml * self.poured_ml / self.bounds_ml[1] if self.bounds_ml else 0.0

    def _beyond(self, difference_ml: float) -> float:
        return difference_ml if difference_ml > max(_LEAST_ML, _TOLERANCE * self.planned_ml) else 0.0


def restoring_ml(targets: Sequence[Target]) -> dict[str, float]:
    """What to pour of each component so that one poured too much of is in proportion again; nothing where none is.

    >>> restoring_ml([Target("V000001R", 75.0, 75.0), Target("V000002P", 25.0, 30.0)])
    {'V000001R': 15.0}
    """
    over = [target.poured_ml / target.planned_ml for target in targets if target.planned_ml and target.over_ml]
    grown = max((1.0, *over))
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
        plan = plan_of(store, trial)
    except PourbookError:
        return ()  # nothing is known of what should be in it: pouring goes on
    found = {pour.component: Target(pour.component, pour.volume_ml, 0.0) for pour in plan.pours}
    planned = tuple(found)
    poured = trace_back(book, trial).poured_ml if ledger(store, key_of(trial)) else {}
    for one, poured_ml in poured.items():
        name = component_for(store, planned, one)
        before = found.get(name, Target(name, 0.0, 0.0))
        found[name] = before._replace(poured_ml=before.poured_ml + poured_ml)
    found = _with_bounds(found, plan)
    if plan.to_percent is not None:
        found[WATER] = _water_needed(found, plan, plan.to_percent, held(store, key_of(trial)).liquid)
    if not source:
        return tuple(found.values())
    wanted = component_for(store, planned, source)
    return (found.get(wanted, Target(wanted, 0.0, 0.0)),)


def _with_bounds(found: Mapping[str, Target], plan: TrialPlan) -> dict[str, Target]:
    """Bounds in the whole as planned; where more was poured, in that."""
    counted = [one for one in found.values() if plan.to_percent is None or one.component != WATER]
    planned_ml, poured_ml = (sum(getattr(one, name) for one in counted) for name in ("planned_ml", "poured_ml"))
    whole_ml, bounds = max(planned_ml, poured_ml), {pour.component: pour.bounds_ml for pour in plan.pours}

    def of_whole(bounds_ml: tuple[float, float]) -> tuple[float, float]:
        low_ml, high_ml = bounds_ml
        return low_ml * whole_ml / planned_ml, high_ml * whole_ml / planned_ml

    return {
        name: one._replace(bounds_ml=of_whole(stop), whole_ml=whole_ml) if (stop := bounds.get(name)) else one
        for name, one in found.items()
    }


def _water_needed(found: Mapping[str, Target], plan: TrialPlan, to_percent: float, glass: Liquid) -> Target:
    """Water beside what the glass holds and what else is still to go into it, to the strength of the plan."""
    water = found.get(WATER, Target(WATER, 0.0, 0.0))
    to_go = [
        liquid_of_volume(found[pour.component].to_go_ml, pour.liquid)
        for pour in plan.pours
        if pour.component != WATER and found[pour.component].to_go_ml
    ]
    blend = mix((glass, *to_go))
    if not blend.ethanol_mg:
        return water
    lacking_ml = water_lacking_mg(blend, to_percent) / liquid_of_volume(1.0, EMPTY).mass_mg
    return water._replace(needed_ml=max(water.poured_ml + lacking_ml, 0.0))


def component_for(store: "Store", planned: Collection[str], source: str) -> str:
    """The component that a source stands for: itself, the cask it was drawn from, another sample of the same casks."""
    if source in planned or source[0].islower():
        return source
    casks = _casks(store, source)
    return next((name for name in planned if name[0].isupper() and _casks(store, name) == casks), source)


def _casks(store: "Store", source: str) -> frozenset[str]:
    """The casks behind a glass; anything else, and what came from outside, stands for itself."""
    behind = sources_behind(store, source) if kind_of(source) in GLASSES else ()
    return frozenset(behind or (source,))
