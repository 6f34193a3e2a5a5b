"""A new plan for a batch that is being poured: what is in the vat stays, and closed casks make up the rest.

Casks that the plan has already are taken, where they suffice, since they are pulled; else all that qualify are chosen
from. A cask that was opened gives nothing more.
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.batches.scale_up import Pull
from pourbook.bench.trials import WATER
from pourbook.book.items import ledger
from pourbook.codes.identifiers import key_of
from pourbook.liquid import EMPTY, Liquid
from pourbook.planning.plan import Plan
from pourbook.planning.plan import plan as planned_of
from pourbook.queries.plans.asked import PlanAsked
from pourbook.queries.plans.candidates import candidates_of
from pourbook.queries.plans.planned import BookPlan, plan_of_casks
from pourbook.queries.plans.recipe_of_batch import recipe_of_batch
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.targets import targets
from pourbook.queries.trials.trial_plan import stood_for

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.planning.solving import Progress

__all__ = ["SECONDS_AT_THE_VAT", "PlannedAgain", "plan_again", "poured_so_far"]

SECONDS_AT_THE_VAT = 20.0
"""How long a new plan is sought while people wait at the vat, where nobody says."""


class PlannedAgain(NamedTuple):
    """A new plan for a batch.

    Attributes:
        batch: the batch.
        poured: what went into it so far, by source.
        planned: the plan for the rest, or that none was found.
        of_the_first: whether it takes none but casks of the plan before.
        left: casks of the plan before that the new one leaves closed.
    """

    batch: str
    poured: tuple[Pull, ...]
    planned: BookPlan
    of_the_first: bool
    left: tuple[str, ...]


def plan_again(
    book: "BookCore", batch: str, *, seconds: float = SECONDS_AT_THE_VAT, progress: "Progress | None" = None
) -> PlannedAgain:
    """The best plan from here for a batch that a plan was recorded for; nothing is recorded.

    Raises:
        Unknown: there is no such batch.
        Refused: it does not say what its plan was asked.
    """
    batch = book.find(batch)
    asked, poured = recipe_of_batch(book, batch)._replace(on_us=book.clock()), poured_so_far(book, batch)
    opened = {pull.source for pull in poured}
    pulled = {one.component for one in targets(book, batch) if one.wanted_ml and one.component != WATER} - opened
    found = candidates_of(book, asked.aims.kinds, asked.choice, asked.on_us)
    closed = found._replace(found=tuple(one for one in found.found if one.cask.ref not in opened))
    of_plan = [one.cask for one in closed.found if one.cask.ref in pulled]
    plan = planned_of(asked.recipe, of_plan, seconds=seconds / 2, progress=progress)
    of_the_first = isinstance(plan, Plan)
    if not isinstance(plan, Plan):
        plan = planned_of(asked.recipe, closed.casks, seconds=seconds / 2, progress=progress)
    planned = plan_of_casks(book, BookPlan(PlanAsked(), asked, closed, plan))
    taken = {one.candidate.cask.ref for one in planned.taken}
    return PlannedAgain(batch, poured, planned, of_the_first, tuple(sorted(pulled - taken)) if taken else ())


def poured_so_far(book: "BookCore", batch: str) -> tuple[Pull, ...]:
    """What went into a batch so far from each source, water not counted; nothing of it is taken back by a new plan."""
    if not ledger(book.store, key_of(batch)):
        return ()
    liquids: dict[str, Liquid] = {}
    for pour in trace_back(book, batch).pours:
        if pour.target == batch and pour.source != WATER:
            liquids[pour.source] = liquids.get(pour.source, EMPTY) + pour.liquid
    kinds = stood_for(book.store, batch)
    return tuple(Pull(one, kinds.get(one, one), volume_ml(liquid), liquid, 0.0) for one, liquid in liquids.items())
