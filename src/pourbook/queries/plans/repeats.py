"""The same again: how far a plan is from earlier batches of the same recipe, in every measure that is known of both."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.volumes import strength_20c
from pourbook.bench.trials import WATER
from pourbook.book.items import facts, keys_of_kind, ledger
from pourbook.codes.identifiers import is_identifier, key_of, kind_of, of_key, read_or_none
from pourbook.lineage.ages import WoodTime
from pourbook.planning.plan import Plan
from pourbook.queries.items.called import called
from pourbook.queries.plans.asked import fractions_of
from pourbook.queries.plans.noted_of_casks import noted_of_blend
from pourbook.queries.traces.behind import BLENDS, parts_of
from pourbook.queries.traces.trace import trace_back
from pourbook.texts import lookup_form
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.plans.planned import BookPlan

__all__ = ["ANOTHER_DRINK", "Measured", "Repeats", "repeats"]

ANOTHER_DRINK = 0.1
"""A shift of so much of a blend makes another drink: common practice, no source."""

_MOST = 5
"""Earlier batches beside a plan, the latest first."""


class Measured(NamedTuple):
    """A plan or a batch by all that is measured of it; None is unknown.

    Attributes:
        batch: its identifier; empty for the plan.
        called: what it is called beside it.
        fractions: of each component of the plan, by volume as poured; of none of them under "".
        strength_before: of all that was poured but the water, % vol at 20 °C.
        strength: as it is reduced.
        youngest: time in wood of its youngest spirit.
        mean_days: the mean by pure alcohol.
        cost_per_lpa: of its spirit, evaporation not counted.
        attributes: words of notes: of the plan, those on its casks; of a batch, those on it and its lots.
        casks: behind it, a heel looked through.
    """

    batch: str
    called: str
    fractions: Mapping[str, float]
    strength_before: float | None
    strength: float | None
    youngest: WoodTime | None
    mean_days: float | None
    cost_per_lpa: float | None
    attributes: Mapping[str, float]
    casks: frozenset[str]

    def shifted(self, other: "Measured") -> float:
        """The part of the blend that is of other components than in another one, 0 to 1."""
        names = self.fractions.keys() | other.fractions.keys()
        apart = (abs(self.fractions.get(name, 0.0) - other.fractions.get(name, 0.0)) for name in names)
        return sum(apart) / 2.0


class Repeats(NamedTuple):
    """A plan beside earlier batches of the same recipe, the latest first."""

    plan: Measured
    earlier: tuple[Measured, ...]


def repeats(book: "BookCore", planned: "BookPlan") -> Repeats | None:
    """How far a plan is from earlier batches; None where there is no plan, or no such batch."""
    follows = planned.recipe.aims.follows
    if not isinstance(planned.found, Plan):
        return None
    earlier = tuple(_measured(book, planned, batch) for batch in _batches(book, follows))
    return Repeats(_of_plan(book, planned, planned.found), earlier) if earlier else None


def _batches(book: "BookCore", follows: str) -> list[str]:
    """The batch that is followed, then others of the same recipe that were poured, the latest first."""
    root = _root(book, follows)
    found = [
        (rows[-1].happened_us, batch)
        for batch in map(of_key, keys_of_kind(book.store, "batch"))
        if batch != follows and _root(book, batch) == root and (rows := ledger(book.store, key_of(batch)))
    ]
    others = [batch for _, batch in sorted(found, reverse=True)]
    is_batch = is_identifier(follows) and kind_of(follows) == "batch"
    return [*([follows] if is_batch else []), *others][:_MOST]


def _root(book: "BookCore", item: str) -> str:
    """The recipe at the end of what an item follows; the item itself where it follows nothing."""
    seen = set[str]()
    while (identifier := read_or_none(item)) and identifier not in seen:
        seen.add(identifier)
        item = facts(book.store, key_of(identifier)).get("follows", "") or identifier
    return lookup_form(item)


def _of_plan(book: "BookCore", planned: "BookPlan", found: Plan) -> Measured:
    will_be = planned.will_be
    assert will_be is not None
    lpa, heel = sum(one.lpa for one in planned.taken), planned.recipe.heel
    casks = {one.candidate.cask.ref for one in planned.taken}
    return Measured(
        "", "plan", {name: part for name, part in found.fractions.items() if part}, found.strength_before,
        planned.recipe.recipe.target.strength_vol, will_be.youngest, will_be.mean_days,
        None if will_be.cost is None or heel or not lpa else will_be.cost / lpa, will_be.attributes,
        frozenset(casks | _casks(book, heel) if heel else casks),
    )  # fmt: skip


def _measured(book: "BookCore", planned: "BookPlan", batch: str) -> Measured:
    trace = trace_back(book, batch)
    poured = [pour.received for pour in trace.pours if pour.target == batch and pour.source != WATER]
    strength, per_litre = trace.held_strength, trace.cost_per_litre
    age = trace.age
    return Measured(
        batch, called(book.store, [batch])[batch], fractions_of(book, planned.recipe.aims.kinds, batch),
        strength_20c(mix(poured)) if poured else None, strength, age.youngest,
        None if age.mean_us is None else age.mean_us / DAY_US,
        None if per_litre is None or not strength else per_litre / strength * 100.0,
        noted_of_blend(book, batch), frozenset(_casks(book, batch)),
    )  # fmt: skip


def _casks(book: "BookCore", batch: str) -> set[str]:
    sources = (part.source for part in parts_of(book.store, batch, BLENDS))
    return {source for source in sources if is_identifier(source) and kind_of(source) == "cask"}
