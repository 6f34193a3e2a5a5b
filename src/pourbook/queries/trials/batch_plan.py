"""A trial scaled up to a batch of real casks: what to pull from where, before anything is poured."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry import mass_fraction, strength_from_mass_fraction
from pourbook.batches.scale_up import ScalePlan, scaled, scaled_to
from pourbook.book.bottles import drawn_from
from pourbook.book.lineages import pending_in
from pourbook.errors import Malformed, Refused
from pourbook.quantities import Amount, Strength
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.poured import poured_ml

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["BatchPlan", "Wanted", "batch_plan"]


class Wanted(NamedTuple):
    """The batch that is wanted.

    Attributes:
        total: sum of the volumes to pour, heel included, reduction water not.
        final: what the batch shall be, all water in it; in place of `total`.
        uses: component of the trial to the casks that give it; else the cask a vial was drawn from.
        heel: batch whose liquid is carried into this one, and how much of it (None is all).
        to_strength: to which it is reduced; the trial's own water is then left out.
    """

    total: Amount | None = None
    final: Amount | None = None
    uses: Mapping[str, Sequence[str]] = {}
    heel: tuple[str, Amount | None] | None = None
    to_strength: Strength | None = None


class BatchPlan(NamedTuple):
    """A plan of a batch: the trial it follows, the pulls, and whether the strength of any source is pending."""

    trial: str
    plan: ScalePlan
    is_pending: bool


def batch_plan(book: "BookCore", trial: str, wanted: Wanted) -> BatchPlan:
    """Scale a trial up to a batch, in the fractions that were poured.

    Raises:
        Malformed: not exactly one volume is given, or a component is not in the trial.
        Refused: the trial holds something that is poured by hand, or the heel is more than the batch.
        NotThere: casks hold too little.
    """
    trace = trace_back(book, trial)
    poured = poured_ml(trace)
    whole_ml = sum(poured.values())
    fractions = {component: ml / whole_ml for component, ml in poured.items()}
    casks = _casks(book, fractions, wanted.uses)
    heel: tuple[str, float] | None = None
    if wanted.heel:
        batch, amount = book.show(wanted.heel[0]), wanted.heel[1]
        heel = batch.id, batch.volume_ml_20c if amount is None else float(amount.volume_ml)
    sources = {cask for chosen in casks.values() for cask in chosen} | ({heel[0]} if heel else set())
    holdings = {source: book.show(source).holding for source in sources}
    holds = {source: holding.liquid for source, holding in holdings.items()}
    read = wanted.to_strength
    strength = None if read is None else strength_from_mass_fraction(mass_fraction(read))

    def plan_of(total_ml: float) -> ScalePlan:
        return scaled(fractions, total_ml, casks, holds, heel, strength)

    if wanted.total is not None and wanted.final is None:
        plan = plan_of(float(wanted.total.volume_ml))
    elif wanted.final is not None and wanted.total is None:
        plan = scaled_to(float(wanted.final.volume_ml), plan_of, heel[1] if heel else 0.0)
    else:
        raise Malformed("the batch needs one volume", "give --total (as poured) or --final (as mixed)")
    pulled = [holdings[pull.source] for pull in plan.pulls if pull.source in holdings]
    return BatchPlan(trace.item.id, plan, any(pending_in(book.store, holding) for holding in pulled))


def _casks(
    book: "BookCore", fractions: Mapping[str, float], uses: Mapping[str, Sequence[str]]
) -> dict[str, tuple[str, ...]]:
    chosen: dict[str, tuple[str, ...]] = {}
    for component in fractions:
        if component[0].isupper():
            origin = drawn_from(book.store, component) if component[0] == "V" else None
            chosen[component] = (origin[0] if origin else component,)
        elif component != "water":
            raise Refused(
                f"the trial holds {component}, which is poured into the batch by hand", "add it after vatting"
            )
    for component, names in uses.items():
        found = book.find(component)
        if found not in chosen:
            raise Malformed(f"the trial has no component '{component}'", "write COMPONENT=CASK,CASK")
        chosen[found] = tuple(map(book.find, names))
    return chosen
