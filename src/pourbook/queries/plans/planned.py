"""A plan of a batch from the casks of a book: what is to be taken from which of them, and what that comes to."""

from collections.abc import Iterable, Mapping, Sequence
from functools import reduce
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.house_rules import BlendPart, broken
from pourbook.book.component_rules import house_rules_question
from pourbook.book.components import house_rules
from pourbook.errors import Question
from pourbook.lineage.ages import WoodTime, least
from pourbook.planning.plan import OutOfTime, Plan
from pourbook.planning.plan import plan as planned_of
from pourbook.queries.plans.asked import AskedRecipe, PlanAsked, asked_casks, asked_recipe
from pourbook.queries.plans.candidates import Candidate, Candidates, candidates_of
from pourbook.queries.plans.recipe_of_batch import check_poured
from pourbook.queries.traces.heel_age import HeelAge, Source, heel_ages
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.pull_guard import planned_elsewhere
from pourbook.queries.warehouse.reach import reach
from pourbook.queries.warehouse.walk import the_walk
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.planning.solving import Progress

__all__ = ["SECONDS", "BookPlan", "TakenFrom", "WillBe", "candidates", "plan", "plan_of_casks"]

SECONDS = 60.0
"""How long a plan is sought, where nobody says."""


class TakenFrom(NamedTuple):
    """What is to be taken from a cask.

    Attributes:
        candidate: the cask.
        volume_l: litres at 20 °C.
        whole: whether that empties it.
        left_l: what is expected to be left.
    """

    candidate: Candidate
    volume_l: float
    whole: bool
    left_l: float

    @property
    def lpa(self) -> float:
        """Litres of pure alcohol that are taken."""
        return self.volume_l * self.candidate.cask.strength_vol / 100.0


class WillBe(NamedTuple):
    """What the batch will be, beside what the planner says; None where it is not known of all that goes in.

    Attributes:
        youngest: time in wood of its youngest spirit.
        mean_days: the mean by pure alcohol, which is no age statement.
        cost: of the spirit from casks, evaporation and the heel not counted.
        attributes: words of notes, each with the mean by volume over the casks that have it.
        heels: a heel that makes it younger.
    """

    youngest: WoodTime | None
    mean_days: float | None
    cost: float | None
    attributes: dict[str, float]
    heels: tuple[HeelAge, ...] = ()


class BookPlan(NamedTuple):
    """A plan from a book, or that none was found.

    Attributes:
        asked: what a person asked.
        recipe: what the planner was asked.
        candidates: the casks that qualify, and those left out.
        found: the plan; out of time, or None where there is none.
        taken: what it takes, in the order of a walk.
        will_be: what the batch will be; None where there is no plan.
        questions: rules of the house that it breaks all the same.
        to_shift: casks that must be shifted to reach all that it takes, counted for them together.
        elsewhere: casks that it takes, with open batches whose plans have still to take of them.
    """

    asked: PlanAsked
    recipe: AskedRecipe
    candidates: Candidates
    found: Plan | OutOfTime | None
    taken: tuple[TakenFrom, ...] = ()
    will_be: WillBe | None = None
    questions: tuple[Question, ...] = ()
    to_shift: tuple[str, ...] = ()
    elsewhere: Mapping[str, tuple[str, ...]] = {}


def candidates(book: "BookCore", blend: str, asked: PlanAsked | None = None) -> Candidates:
    """The casks that qualify for a plan, and why any other is left out. Raises as `plan`."""
    check_poured(book, blend)
    aims, choice, on_us = asked_casks(book, blend, asked or PlanAsked())
    return candidates_of(book, aims.kinds, choice, on_us)


def plan(
    book: "BookCore", blend: str, asked: PlanAsked, *, seconds: float = SECONDS, progress: "Progress | None" = None
) -> BookPlan:
    """Plan a batch after a recipe, a trial or an earlier batch, from the casks that lie there.

    Raises:
        Unknown: there is no such item or recipe.
        Malformed: the batch has no volume, or two; or no strength.
        OutOfRange: a tolerance that makes another drink.
        Refused: it breaks the house's rules, or holds what no cask gives; or it is still being poured.
    """
    check_poured(book, blend)
    recipe = asked_recipe(book, blend, asked)
    chosen = candidates_of(book, recipe.aims.kinds, recipe.choice, recipe.on_us)
    found = planned_of(recipe.recipe, chosen.casks, seconds=seconds, progress=progress)
    planned = plan_of_casks(book, BookPlan(asked, recipe, chosen, found))
    casks = [one.candidate.cask.ref for one in planned.taken]
    elsewhere = {cask: batches for cask in casks if (batches := planned_elsewhere(book, cask))}
    return planned._replace(elsewhere=elsewhere)


def plan_of_casks(book: "BookCore", planned: BookPlan) -> BookPlan:
    """A plan with what it takes from the casks of the book, and what the batch will be."""
    found = planned.found
    if not isinstance(found, Plan):
        return planned
    by_id = {one.cask.ref: one for one in planned.candidates.found}
    taken = tuple(
        TakenFrom(by_id[take.ref], take.volume_l, take.whole, max(0.0, by_id[take.ref].cask.volume_l - take.volume_l))
        for take in found.takes
    )
    roles = {one.name: one.role for one in planned.recipe.aims.parts}
    blend = [BlendPart(name, roles[name], part) for name, part in found.fractions.items() if part > 0.0]
    question = house_rules_question(broken(house_rules(book.store), blend), book.settings["decimal_mark"])
    will_be = _will_be(book, planned.recipe, taken)
    walked = the_walk(book).ordered(taken, lambda one: one.candidate.cask.place, lambda one: one.candidate.view.ref)
    to_shift = tuple(one.id for one in reach(book, [one.candidate.cask.ref for one in taken]).shifted)
    asked = (question,) if question else ()
    return planned._replace(taken=tuple(walked), will_be=will_be, questions=asked, to_shift=to_shift)


def _will_be(book: "BookCore", asked: AskedRecipe, taken: Sequence[TakenFrom]) -> WillBe:
    ages = [(one.candidate.age, one.lpa) for one in taken]
    if asked.heel and asked.recipe.heel:
        heel = asked.recipe.heel
        ages.append((trace_back(book, asked.heel).age, heel.volume_l * heel.strength_vol / 100.0))
    means = [(age.mean_us, lpa) for age, lpa in ages if age.mean_us is not None]
    lpa = sum(one for _, one in ages)
    costs = [(one.candidate.cask.cost_per_lpa, one.lpa) for one in taken]
    known = [cost * litres for cost, litres in costs if cost is not None]
    return WillBe(
        reduce(least, (age.youngest for age, _ in ages)) if ages else None,
        sum(mean * one for mean, one in means) / lpa / DAY_US if len(means) == len(ages) and lpa else None,
        sum(known) if len(known) == len(costs) else None,
        _attributes(taken),
        heel_ages(book, [*(Source(one.candidate.cask.ref) for one in taken), Source(asked.heel)]) if asked.heel else (),
    )


def _attributes(taken: Iterable[TakenFrom]) -> dict[str, float]:
    """Words of notes, each with the mean by volume over the casks that have it, the strongest first."""
    sums: dict[str, tuple[float, float]] = {}
    for one in taken:
        for word, intensity in one.candidate.cask.attributes.items():
            litres, weighed = sums.get(word, (0.0, 0.0))
            sums[word] = litres + one.volume_l, weighed + one.volume_l * intensity
    means = {word: weighed / litres for word, (litres, weighed) in sums.items() if litres}
    return dict(sorted(means.items(), key=lambda pair: (-pair[1], pair[0])))
