"""What is worked out of plans in a thread of its own: the plan with its proof and what is asked beside it.

Loaded when a plan is asked for, as the planner takes its time to start.
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.errors import Unknown
from pourbook.planning.alternatives import LikeCask, like_casks, other_plans
from pourbook.planning.plan import OutOfTime, Plan
from pourbook.planning.why_not import WhyNot, why_not
from pourbook.queries.plans.again import PlannedAgain, plan_again
from pourbook.queries.plans.asked import asked_recipe
from pourbook.queries.plans.planned import BookPlan, plan
from pourbook.queries.plans.recipe_of_batch import check_poured
from pourbook.queries.plans.repeats import Repeats, repeats
from pourbook.queries.plans.sure import BatchSure, how_sure_of_batch, how_sure_of_plan

if TYPE_CHECKING:
    from pourbook.queries.plans.asked import PlanAsked
    from pourbook.station.jobs import Job
    from pourbook.whole_book import Book

__all__ = [
    "Beside", "LikeFound", "PlanFound", "check_asked", "found_again", "found_like",
    "found_others", "found_plan", "found_sure",
]  # fmt: skip


class PlanFound(NamedTuple):
    """A plan as a page shows it.

    Attributes:
        blend: what was planned, as typed.
        planned: the plan, or that there is none.
        seconds: how long it might be sought.
        earlier: earlier batches beside it.
        sure: how sure it is; None where that was not asked.
        others: the next best plans; None where they were not asked.
        why: why there is none.
    """

    blend: str
    planned: BookPlan
    seconds: float
    earlier: Repeats | None = None
    sure: BatchSure | None = None
    others: tuple[Plan, ...] | None = None
    why: WhyNot | None = None

    @property
    def plan(self) -> Plan | None:
        """The plan, if one was found."""
        return self.planned.found if isinstance(self.planned.found, Plan) else None

    @property
    def out_of_time(self) -> OutOfTime | None:
        """That time was over before any was found."""
        return self.planned.found if isinstance(self.planned.found, OutOfTime) else None


class Beside(NamedTuple):
    """What is asked beside a plan: how sure it is, and the next best ones."""

    how_sure: bool = True
    others: bool = False


class LikeFound(NamedTuple):
    """Casks (the likest first) like one that is `missing` in a plan that was `found`."""

    found: PlanFound
    missing: str
    casks: tuple[LikeCask, ...]


def check_asked(book: "Book", blend: str, asked: "PlanAsked") -> None:
    """Refuses what no plan could be sought for, before it is sought. Raises as `plan`."""
    check_poured(book, blend)
    asked_recipe(book, blend, asked)


def found_plan(book: "Book", job: "Job", blend: str, asked: "PlanAsked", seconds: float, beside: Beside) -> PlanFound:
    """The plan with all that is shown beside it."""
    planned = plan(book, blend, asked, seconds=seconds, progress=job.tell)
    casks = planned.candidates.casks
    if not isinstance(planned.found, Plan):
        why = why_not(planned.recipe.recipe, casks, seconds=seconds) if planned.found is None and casks else None
        return PlanFound(blend, planned, seconds, why=why)
    found = PlanFound(blend, planned, seconds, repeats(book, planned))
    if beside.how_sure:
        found = found._replace(sure=how_sure_of_plan(book, planned))
    if beside.others and not job.is_stopped:
        found = found._replace(others=other_plans(planned.recipe.recipe, casks, planned.found, seconds=seconds))
    return found


def found_others(found: PlanFound) -> PlanFound:
    """The same with the next best plans."""
    assert found.plan
    planned = found.planned
    others = other_plans(planned.recipe.recipe, planned.candidates.casks, found.plan, seconds=found.seconds)
    return found._replace(others=others)


def found_like(found: PlanFound, missing: str) -> LikeFound:
    """Casks that could stand in for one of the plan.

    Raises:
        Unknown: the plan takes nothing from it.
    """
    if found.plan is None:
        raise Unknown("there is no plan that a cask could be missing in", "change what is asked")
    planned = found.planned
    casks = like_casks(planned.recipe.recipe, planned.candidates.casks, found.plan, missing, seconds=found.seconds)
    return LikeFound(found, missing, casks)


def found_again(book: "Book", job: "Job", batch: str) -> PlannedAgain:
    """A new plan for the casks of a batch that are still closed."""
    return plan_again(book, batch, progress=job.tell)


def found_sure(book: "Book", batch: str) -> BatchSure:
    """How sure what is left of a batch's plan is."""
    return how_sure_of_batch(book, batch)
