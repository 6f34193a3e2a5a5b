"""Open a batch with a plan that was found among the casks of the book; nothing is poured by it."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.vats import ScaledUp, open_planned, plan_anew
from pourbook.alcoholometry.mixing import contraction_ml, mix, water_to_reach
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.batches.scale_up import Pull, ScalePlan
from pourbook.bench.trials import WATER, liquid_of_volume
from pourbook.book.lineages import pending_in
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Refused, answered
from pourbook.planning.plan import Plan
from pourbook.quantities import Strength
from pourbook.queries.plans.again import PlannedAgain, poured_so_far
from pourbook.queries.plans.planned import SECONDS, BookPlan, TakenFrom, plan
from pourbook.queries.plans.recipe_of_batch import PLAN_ASKED, asked_as_kept
from pourbook.queries.trials.batch_plan import BatchPlan, Wanted

if TYPE_CHECKING:
    from pourbook.actions.movement import Status
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.planning.solving import Progress
    from pourbook.queries.plans.asked import PlanAsked

__all__ = ["PlanOpened", "keep_new_plan", "open_plan", "plan_and_open"]


class PlanOpened(NamedTuple):
    """A plan, and the batch that was `opened` with it; None where there is no plan to open one with."""

    planned: BookPlan
    opened: ScaledUp | None

    @property
    def recorded(self) -> "Recorded | None":
        """What was recorded; None where nothing was."""
        return self.opened.recorded if self.opened else None


def plan_and_open(
    book: "BookCore", how: Happening, blend: str, asked: "PlanAsked", facts: Mapping[str, str] | None = None,
    status: "Status | None" = None, *, seconds: float = SECONDS, progress: "Progress | None" = None,
) -> PlanOpened:  # fmt: skip
    """Plan a batch and open it; `facts` are its ref and name. While the plan is sought, others can record.

    Raises:
        PourbookError: as `plan`, and as `open_plan`.
    """
    planned = plan(book, blend, asked, seconds=seconds, progress=progress)
    opened = open_plan(book, how, planned, facts, status) if isinstance(planned.found, Plan) else None
    return PlanOpened(planned, opened)


def open_plan(
    book: "BookCore", how: Happening, planned: BookPlan, facts: Mapping[str, str] | None = None,
    status: "Status | None" = None,
) -> ScaledUp:  # fmt: skip
    """Open a batch with a plan, to be poured cask by cask; it keeps what the plan was asked.

    Raises:
        Refused: there is no plan, or a cask of it has changed since.
        ToConfirm: it breaks a rule of the house.
    """
    found = planned.found
    if not isinstance(found, Plan):
        raise Refused("there is no plan to open a batch with", "change what is asked")
    with how.transaction(book):
        _unchanged(book, planned)
        answered(planned.questions, by_person=how.confirm)
        kept = {PLAN_ASKED: asked_as_kept(planned.recipe), **_proved(found)}
        return open_planned(book, how, _as_batch_plan(book, planned), {**(facts or {}), **kept}, status)


def keep_new_plan(book: "BookCore", how: Happening, again: PlannedAgain) -> ScaledUp:
    """Give a batch that is being poured its new plan: a recipe of its own beside the one before.

    Raises:
        Refused: there is no plan; something was poured since, or a cask of it has changed.
        ToConfirm: it breaks a rule of the house.
    """
    found = again.planned.found
    if not isinstance(found, Plan):
        raise Refused("there is no new plan to keep", "pour what can be kept in proportion, or change what is asked")
    with how.transaction(book):
        _unchanged(book, again.planned)
        if poured_so_far(book, again.batch) != again.poured:
            raise Refused(f"something was poured into {hyphened(again.batch)} since the plan was made", "plan again")
        answered(again.planned.questions, by_person=how.confirm)
        planned = _as_batch_plan(book, again.planned, again.poured)
        return plan_anew(book, how, again.batch, planned, _proved(found))


def _proved(found: Plan) -> dict[str, str]:
    return {"plan_objective": f"{found.objective:.6g}", "plan_bound": f"{found.bound:.6g}"}


def _unchanged(book: "BookCore", planned: BookPlan) -> None:
    """What casks hold, and that they are not on hold, is as it was when they were chosen."""
    for one in planned.taken:
        now, then = book.show(one.candidate.view.id), one.candidate.view
        if now.holding != then.holding or now.facts.get("held") != then.facts.get("held"):
            raise Refused(f"{hyphened(now.id)} has changed since the plan was made", "plan again")


def _as_batch_plan(book: "BookCore", planned: BookPlan, poured: Sequence[Pull] = ()) -> BatchPlan:
    """The plan as that of casks which a person named, with what was poured before it."""
    asked, recipe = planned.asked, planned.recipe
    strength = recipe.recipe.target.strength_vol
    to_strength = asked.to_strength or Strength(f"{strength:.2f} % vol", Decimal(f"{strength:.2f}"), "vol20")
    heel = [] if any(pull.source == recipe.heel for pull in poured) else _heel(book, planned)
    pulls = [*poured, *heel, *(_pull(one) for one in planned.taken)]
    water = water_to_reach(mix([pull.liquid for pull in pulls]), strength)
    if water.mass_mg:
        pulls.append(Pull(WATER, "reduction", volume_ml(water), water, None))
    liquids = [pull.liquid for pull in pulls]
    wanted = Wanted(final=asked.final, bottles=asked.bottles, to_strength=to_strength)
    alike = {one.name for one in recipe.aims.parts if one.wanted.is_alike}
    casks = [one.candidate for one in planned.taken]
    kinds = {pull.source: pull.component for pull in poured if pull.component not in ("heel", pull.source)}
    kinds |= {one.cask.ref: one.cask.component for one in casks if one.cask.component not in alike}
    return BatchPlan(
        recipe.aims.follows,
        ScalePlan(tuple(pulls), mix(liquids), contraction_ml(liquids)),
        any(pending_in(book.store, one.view.holding) for one in casks),
        {one.view.id: one.called for one in casks},
        wanted,
        kinds=kinds,
    )


def _heel(book: "BookCore", planned: BookPlan) -> list[Pull]:
    recipe = planned.recipe
    if not recipe.heel:
        return []
    held = book.show(recipe.heel).holding.liquid
    ml = recipe.heel_l * 1000.0
    return [Pull(recipe.heel, "heel", ml, liquid_of_volume(ml, held), max(0.0, volume_ml(held) - ml))]


def _pull(one: TakenFrom) -> Pull:
    """What a cask gives: of what it should hold on the day, not of what the book has."""
    ml, cask = one.volume_l * 1000.0, one.candidate.cask
    return Pull(cask.ref, cask.component, ml, liquid_of_volume(ml, one.candidate.expected.liquid), one.left_l * 1000.0)
