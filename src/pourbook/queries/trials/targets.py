"""A trial or batch beside its plan: every component with what was planned and poured, and what its source holds."""

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING

from pourbook.alcoholometry.mixing import mix, water_lacking_mg
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.bench.beside_plan import Rest, Target, as_planned, rests
from pourbook.bench.trials import WATER, liquid_of_volume
from pourbook.book.contents import EVER
from pourbook.book.flows import flows_into
from pourbook.book.items import facts, held
from pourbook.book.lineages import what_is_traced
from pourbook.codes.identifiers import GLASSES, key_of, kind_of, of_key
from pourbook.errors import PourbookError, Refused
from pourbook.lineage.graph import UNEXPLAINED
from pourbook.liquid import EMPTY, Liquid
from pourbook.queries.traces.behind import sources_behind
from pourbook.queries.trials.trial_plan import TrialPlan, plan_of, target_of_trial

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["component_for", "for_source", "remaining", "rest_as_planned", "targets"]


def targets(book: "BookCore", trial: str) -> tuple[Target, ...]:
    """Components in the order of the recipe, then what it has none of.

    None for what follows no recipe, or one that can no longer be laid out.
    """
    store, known = book.store, facts(book.store, key_of(trial))
    if not known.get("total"):
        return ()
    try:
        plan = plan_of(store, trial)
    except PourbookError:
        return ()  # nothing is known of what should be in it: pouring goes on
    found = {
        pour.component: Target(
            pour.component, pour.volume_ml, 0.0, planned=pour.liquid, held=_held(store, pour.component)
        )
        for pour in plan.pours
    }
    planned = tuple(found)
    for one, poured_ml in _poured_ml(store, trial).items():
        name = component_for(store, planned, one)
        before = found.get(name, Target(name, 0.0, 0.0))
        found[name] = before._replace(poured_ml=before.poured_ml + poured_ml)
    found = _with_bounds(found, plan)
    if plan.to_percent is not None:
        found[WATER] = _water_needed(found, plan, plan.to_percent, held(store, key_of(trial)).liquid)
    return tuple(found.values())


def for_source(book: "BookCore", beside_plan: Sequence[Target], source: str) -> tuple[Target, ...]:
    """The target that a source stands for: one of nothing where the plan has none of it; none without a plan."""
    if not beside_plan or not source:
        return ()
    wanted = component_for(book.store, [one.component for one in beside_plan if one.wanted_ml], source)
    return (next((one for one in beside_plan if one.component == wanted), Target(wanted, 0.0, 0.0)),)


def remaining(book: "BookCore", trial: str, beside_plan: Sequence[Target]) -> tuple[Rest, ...]:
    """What is still to be poured, by all its targets; at its target strength, where it has one."""
    if not beside_plan:
        return ()
    key = key_of(trial)
    return rests(beside_plan, held(book.store, key).liquid, target_of_trial(facts(book.store, key)))


def rest_as_planned(book: "BookCore", trial: str, beside_plan: Sequence[Target]) -> Rest:
    """What is still to be poured as planned, as far as the sources hold it."""
    key = key_of(trial)
    return as_planned(beside_plan, held(book.store, key).liquid, target_of_trial(facts(book.store, key)))


def _poured_ml(store: "Store", trial: str) -> dict[str, float]:
    """Volume at 20 °C that each source gave to what is, or last was, in it, in the order of first pouring."""
    found: dict[str, float] = {}
    try:
        holding, as_of_us = what_is_traced(store, key_of(trial), None, EVER)
    except Refused:
        return found  # nothing was poured yet
    for flow in flows_into(store, holding.state, as_of_us):
        if flow.how != UNEXPLAINED:
            source = of_key(flow.source_item) if flow.source_item else flow.how
            found[source] = found.get(source, 0.0) + volume_ml(flow.left)
    return found


def _held(store: "Store", component: str) -> Liquid | None:
    is_endless = component == WATER or kind_of(component) in GLASSES
    return None if is_endless else held(store, key_of(component)).liquid


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
