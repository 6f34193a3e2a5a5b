"""Reduce what an item holds, in steps: the plan is kept as facts, and every addition of water is booked.

>>> from pourbook import Book, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> batch = book.next_id("batch")
>>> filled = Move("origin", batch, read_amount("100 l"), read_strength("60"))
>>> _ = how.record(book, Item(batch, {}), Pour("fill", (filled,)))
>>> planned = plan_reduction(book, how, batch, ReductionPlan(read_strength("46"), 2, (), 7))
>>> [f"{step.to_percent:.1f}" for step in planned.reducing.ahead]
['53.0', '46.0']
>>> added = add_water(book, how, batch, read_amount("14 l"), facts={"about": "demineralised, lot W-12"})
>>> [f"{step.after_percent:.2f}" for step in added.reducing.done]
['52.88']
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.movement import record
from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.alcoholometry.volumes import mass_mg_of_volume, volume_ml
from pourbook.batches.vat_plans import steps_down
from pourbook.bench.trials import WATER
from pourbook.book.entries import Facts, Item, Move, Pour  # noqa: F401 (the example)
from pourbook.codes.identifiers import hyphened
from pourbook.errors import NotThere, answered
from pourbook.gauging.as_typed import kept_strength
from pourbook.gauging.slips import plan_question
from pourbook.liquid import Liquid
from pourbook.numerals import shown
from pourbook.quantities import Amount, Strength
from pourbook.queries.trials.reducing import Reducing, reducing, rest_question, too_weak_question

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["Reduced", "ReductionPlan", "add_water", "plan_reduction"]


class ReductionPlan(NamedTuple):
    """A target strength, reached in so many equal steps or via strengths at which to rest, for so many rest_days."""

    target: Strength
    steps: int | None = None
    via: tuple[Strength, ...] = ()
    rest_days: int = 0


class Reduced(NamedTuple):
    """How a reduction stands, and what was recorded."""

    reducing: Reducing
    recorded: "Recorded"


def plan_reduction(book: "BookCore", how: Happening, item: str, plan: ReductionPlan) -> Reduced:
    """State the strength that an item shall be reduced to, and where it rests on the way.

    Raises:
        Malformed: steps in two ways.
        NotThere: it holds no spirit.
        OutOfRange: it is weaker already, or the rests do not fall.
    """
    with how.transaction(book):
        view = _with_spirit(book, item)
        via = [target_percent(strength) for strength in plan.via]
        ends = steps_down(view.view.holding.liquid, target_percent(plan.target), plan.steps, via)
        mark = book.settings["decimal_mark"]
        equal_steps = (f"{shown(percent, 2, mark)} % vol" for percent in ends[:-1])
        typed = map(kept_strength, plan.via) if plan.via else equal_steps
        stated = {
            "target_strength": kept_strength(plan.target),
            "rests": "; ".join(typed),
            "rest_days": str(plan.rest_days) if plan.rest_days else "",
        }
        known = view.view.facts
        changed = {name: value for name, value in stated.items() if value != known.get(name, "")}
        recorded = record(book, how, None, Facts(view.view.id, changed or stated))
        return Reduced(reducing(book, view.view.id), recorded)


def add_water(
    book: "BookCore", how: Happening, item: str, water: Amount, temperature_c: float = 20.0,
    facts: Mapping[str, str] | None = None,
) -> Reduced:  # fmt: skip
    """Book a step: water that went in, at its own temperature; `facts` say what it is, and its lot.

    Raises:
        NotThere: it holds no spirit.
        ToConfirm: its rest has not ended, it is water of another order than the next step needs or more than its target
            bears, or the book asks for another reason.
    """
    with how.transaction(book):
        before = _with_spirit(book, item)
        mark, added = book.settings["decimal_mark"], _water(water, temperature_c)
        next_ml = volume_ml(before.ahead[0].water) if before.ahead else 0.0
        far_off = plan_question(water.typed, volume_ml(added), next_ml, mark)
        asked = [rest_question(book, before.view.id, how.moment(book)), far_off]
        asked += [] if far_off else [too_weak_question(before, added, mark)]
        answered([one for one in asked if one], by_person=how.confirm)
        move = Move(WATER, before.view.id, water, temperature_c=temperature_c, facts=facts or {})
        recorded = record(book, how, None, Pour("reduce", (move,)))
        return Reduced(reducing(book, before.view.id), recorded)


def _water(amount: Amount, temperature_c: float) -> Liquid:
    is_volume = amount.dimension == "volume"
    mass_mg = mass_mg_of_volume(float(amount.volume_ml), 0.0, temperature_c) if is_volume else float(amount.mass_mg)
    return Liquid(round(mass_mg), 0)


def _with_spirit(book: "BookCore", item: str) -> Reducing:
    found = reducing(book, item)
    if not found.view.holding.ethanol_mg:
        raise NotThere(f"{hyphened(found.view.id)} holds no spirit to reduce", "pour it first, or check the identifier")
    return found
