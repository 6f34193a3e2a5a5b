"""How sure a plan from the book is, or what is left of the plan of an open batch: chances, and what to gauge first."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.errors import OutOfRange, Refused
from pourbook.planning.blend import Take
from pourbook.planning.casks import Cask
from pourbook.planning.plan import Plan
from pourbook.planning.sure_enough import LABEL_TOLERANCE, LEVEL, HowSure, how_sure
from pourbook.queries.casks.expected_content import USUAL, UsualLoss
from pourbook.queries.plans.candidates import DESPITE, Choice, candidates_of
from pourbook.queries.plans.known_contents import KnownContents, known_contents
from pourbook.queries.plans.recipe_of_batch import recipe_of_batch
from pourbook.queries.trials.targets import targets
from pourbook.uncertainty.wording import read_instrument

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.planning.recipe import Recipe
    from pourbook.queries.plans.planned import BookPlan
    from pourbook.uncertainty.instrument_errors import InstrumentErrors

__all__ = ["METER", "BatchSure", "SureAsked", "how_sure_of_batch", "how_sure_of_plan"]

METER = read_instrument("limit 0.5 %, division 0.1 l", "volume", name="the meter")
"""What part takes and water are measured with, where nobody says: a flow meter of accuracy class 0.5 (OIML R 117, not
checked against the standard), read to 0.1 l."""

_EMPTIED = 0.01
"""A take that leaves no more than this part of what a cask should hold empties it."""


class SureAsked(NamedTuple):
    """What is asked of how sure a plan is.

    Attributes:
        meter: what measures part takes and water.
        level: the chance that is sure enough.
        strength_within: how far the strength after water may be from the target, % vol.
    """

    meter: "InstrumentErrors" = METER
    level: float = LEVEL
    strength_within: float = LABEL_TOLERANCE

    def checked(self) -> "SureAsked":
        """The same; `OutOfRange` for a chance or a tolerance that cannot be."""
        if not (0.5 < self.level < 1.0 and self.strength_within > 0.0):
            raise OutOfRange(
                f"cannot be sure at {100 * self.level:g} % with a strength within {self.strength_within:g} % vol",
                "give a chance above 50 and below 100 %, and a tolerance above zero",
            )
        return self


class BatchSure(NamedTuple):
    """How sure a plan is: the chances, the casks it takes from with how well each is known, and the recipe."""

    sure: HowSure
    known: dict[str, KnownContents]
    recipe: "Recipe"


_USUAL = SureAsked()


def how_sure_of_plan(book: "BookCore", planned: "BookPlan", asked: SureAsked = _USUAL) -> BatchSure:
    """How sure a plan is.

    Raises:
        Refused: there is no plan.
    """
    if not isinstance(planned.found, Plan):
        raise Refused("there is no plan that could be sure", "change what is asked")
    recipe, casks = planned.recipe.recipe, planned.candidates.casks
    usual = planned.candidates.usual
    return _sure(book, recipe, casks, planned.found.takes, usual, planned.recipe.on_us, asked.checked())


def how_sure_of_batch(book: "BookCore", batch: str, asked: SureAsked = _USUAL) -> BatchSure:
    """How sure what is left of an open batch's plan is, from what its casks should hold now.

    Raises:
        Refused: the batch was opened without a plan of its casks, nothing is left of it, or a cask of it is on hold.
    """
    asked, found, on_us = asked.checked(), book.find(batch), book.clock()
    kept = recipe_of_batch(book, found)
    left = {
        one.component: one.to_go_ml / 1000.0
        for one in targets(book, found)
        if one.to_go_ml and one.component[:1].isupper() and kind_of(one.component) == "cask"
    }
    if not left:
        raise Refused(f"nothing is left of the plan of {hyphened(found)}", "gauge the batch")
    chosen = candidates_of(book, kept.aims.kinds, Choice(only=tuple(left), despite=frozenset(DESPITE)), on_us)
    casks = {one.cask.ref: one.cask for one in chosen.found}
    for one in chosen.left_out:
        if one.cask in left:
            why = " and ".join(why.said for why in one.why)
            raise Refused(f"{hyphened(one.cask)} can no longer be poured as planned: {why}", "plan the rest anew")
    takes = [_take(casks[ref], litres) for ref, litres in left.items()]
    return _sure(book, kept.recipe, tuple(casks.values()), takes, chosen.usual, on_us, asked)


def _take(cask: Cask, litres: float) -> Take:
    if cask.volume_l - litres <= _EMPTIED * cask.volume_l:
        return Take(cask.ref, cask.volume_l, whole=True)
    return Take(cask.ref, litres, whole=False)


def _sure(
    book: "BookCore", recipe: "Recipe", casks: Iterable[Cask], takes: Sequence[Take], usual: UsualLoss | None,
    on_us: int, asked: SureAsked,
) -> BatchSure:  # fmt: skip
    taken = {take.ref for take in takes}
    of = {one.ref: one for one in casks if one.ref in taken}
    expected = {ref: (one.volume_l, one.strength_vol) for ref, one in of.items()}
    known = known_contents(book, expected, usual.yearly if usual else USUAL, on_us)
    sure = how_sure(
        recipe, of.values(), takes, {ref: one.held for ref, one in known.items()}, asked.meter,
        regauged={ref: one.regauged for ref, one in known.items()},
        strength_within=asked.strength_within, level=asked.level,
    )  # fmt: skip
    return BatchSure(sure, known, recipe)
