"""Rows and words of a plan, as the command has them, for the tables of a page."""

from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened, readable

if TYPE_CHECKING:
    from pourbook.planning.plan import Plan
    from pourbook.queries.plans.sure import BatchSure
    from pourbook.station.pages.plan_work import PlanFound
    from pourbook.station.visit import Visit

__all__ = ["plan_shown", "sure_shown"]


def plan_shown(visit: "Visit", found: "PlanFound") -> dict[str, Any]:
    """Figures of a plan, how sure it is, and what stands beside it."""
    from pourbook.documents.book_plans import earlier_rows, figure_rows
    from pourbook.lineage.ages import age_of
    from pourbook.queries.plans.repeats import ANOTHER_DRINK

    style, planned = visit.style, found.planned
    shown: dict[str, Any] = {"readable": readable}
    if found.plan is None:
        return shown | _why_not(visit, found)
    ages = {one.candidate.cask.ref: age_of(one.candidate.age.youngest, style.zone) for one in planned.taken}
    shown["years"] = {ref: "–" if age is None else age.years for ref, age in ages.items()}
    figures = figure_rows(planned, found.plan, style)
    shown["figures"] = [pair for pair in figures if pair[0] not in ("objective", "to shift")]
    if found.sure:
        shown |= sure_shown(visit, found.sure)
    if found.earlier:
        batches = [one.batch for one in found.earlier.earlier]
        shown["earlier_heads"] = (visit.gettext("Measure"), visit.gettext("plan"), *map(hyphened, batches))
        shown["earlier_rows"] = list(earlier_rows(found.earlier, planned, style))
        far = (one for one in found.earlier.earlier if found.earlier.plan.shifted(one) >= ANOTHER_DRINK)
        shown["far"] = [one.batch for one in far]
    if found.others:
        shown |= _others(visit, found, found.plan)
    return shown


def sure_shown(visit: "Visit", found: "BatchSure") -> dict[str, Any]:
    """The chance of each limit, what to plan for to be sure, and what to gauge first."""
    from pourbook.documents.how_sure import how_sure_advice, how_sure_notes, how_sure_rows

    return {
        "sure_rows": how_sure_rows(found, visit.style),
        "sure_words": (*how_sure_advice(found, visit.style), *how_sure_notes(found, visit.style)),
    }


def _others(visit: "Visit", found: "PlanFound", plan: "Plan") -> dict[str, Any]:
    from pourbook.documents.beside_plan import others_rows

    others = found.others or ()
    best, opened = {take.ref for take in plan.takes}, [{take.ref for take in one.takes} for one in others]
    return {
        "others_rows": others_rows(found.planned.recipe.recipe, (plan, *others), visit.style),
        "exchanged": [(sorted(one - best), sorted(best - one)) for one in opened],
    }


def _why_not(visit: "Visit", found: "PlanFound") -> dict[str, Any]:
    from pourbook.documents.why_not import conflict_words, nearest_rows

    if found.why is None:
        return {"conflict": (), "nearest": ()}
    nearest = [row[1:] for row in nearest_rows(found.why, visit.style, hyphened)]
    return {"conflict": tuple(conflict_words(found.why)), "nearest": nearest}
