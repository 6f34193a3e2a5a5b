"""A blend scaled up to a batch of real casks: what to pull from where, before anything is poured.

The blend is a trial (as poured; as planned, while nothing was), a batch, or a recipe. Each component is divided among
the casks behind it, as the trace finds them, unless casks are named for it. Where a recipe names a kind of spirit, or
a vial was taken for one, casks are named for that kind, and must be of it.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.strength import mass_fraction, strength_from_mass_fraction
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.batches.bottles_wanted import BottlesWanted
from pourbook.batches.scale_up import BatchPart, ScalePlan, scaled, scaled_to
from pourbook.bench.bounds import PartShare
from pourbook.bench.components import by_volume, strengths_of
from pourbook.bench.kept_parts import KeptPart, made_up
from pourbook.bench.trials import WATER
from pourbook.book.component_rules import house_rules_question
from pourbook.book.components import component_called
from pourbook.book.entries import SOURCES, RecipePart
from pourbook.book.items import ledger
from pourbook.book.lineages import pending_in
from pourbook.codes.identifiers import GLASSES, hyphened, is_identifier, key_of, kind_of, named, read_or_none
from pourbook.errors import Malformed, NotThere, Question, Refused, Unknown, answered
from pourbook.liquid import Liquid
from pourbook.quantities import Amount, Strength
from pourbook.queries.items.called import called
from pourbook.queries.items.outside_sample import outside_sample
from pourbook.queries.traces.behind import Part, behind, parts_of, parts_taken
from pourbook.queries.traces.heel_age import HeelAge, Source, heel_ages
from pourbook.queries.trials.bounds_kept import Bounded, bounded_by, bounds_followed
from pourbook.queries.trials.components import (
    choice,
    component_or_item,
    kinds_in,
    unfit,
)
from pourbook.queries.trials.rules_kept import rules_of_parts
from pourbook.queries.trials.trial_plan import plan_of, recipe_card, recipe_of_trial, stood_for

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["BatchPlan", "Wanted", "batch_plan", "blend_parts"]


class Wanted(NamedTuple):
    """The batch that is wanted.

    Attributes:
        total: sum of the volumes to pour, heel included, reduction water not.
        final: what the batch shall be, all water in it; in place of `total`.
        bottles: what it shall fill; in place of `total` and `final`.
        uses: component of the blend, or kind of spirit, to the casks that give it; else those that the trace finds.
        heel: batch whose liquid is carried into this one, and how much of it (None is all).
        to_strength: to which it is reduced; the trial's own water is then left out.
        make_up: where casks hold too little, all of it is taken, and parts that are not fixed make up for it.
    """

    total: Amount | None = None
    final: Amount | None = None
    uses: Mapping[str, Sequence[str]] = {}
    heel: tuple[str, Amount | None] | None = None
    to_strength: Strength | None = None
    bottles: BottlesWanted | None = None
    make_up: bool = False


class BatchPlan(NamedTuple):
    """A plan of a batch: the trial, batch or recipe it follows, the pulls, and whether a strength is pending.

    `called` is what each source and component is called beside its identifier; `wanted` is what was asked for;
    `bounds` is every part that its recipe bounds; `asked` is what a person must confirm before it is opened; `kinds` is
    the kind of spirit that each source was taken for; `heels` make the batch younger.
    """

    follows: str
    plan: ScalePlan
    is_pending: bool
    called: Mapping[str, str]
    wanted: Wanted
    bounds: tuple[PartShare, ...] = ()
    asked: tuple[Question, ...] = ()
    kinds: Mapping[str, str] = {}
    heels: tuple[HeelAge, ...] = ()


def batch_plan(book: "BookCore", blend: str, wanted: Wanted) -> BatchPlan:
    """Scale a trial, an earlier batch or a recipe up to a batch; `blend` is its identifier or its name.

    Raises:
        Unknown: there is no such item or recipe.
        Malformed: not exactly one volume is given, or a component is not in the blend.
        Refused: the blend holds something that is poured by hand, the heel is more than the batch, or no cask was named
            for a kind of spirit that several casks, or none, are of.
        NotThere: casks hold too little.
    """
    follows, parts, by_alcohol = blend_parts(book, blend)
    chosen, stands_for, asked = _chosen(book, follows, parts, wanted.uses)
    wanted_parts = _wanted(parts, chosen)
    heel: tuple[str, float] | None = None
    if wanted.heel:
        batch, amount = book.show(wanted.heel[0]), wanted.heel[1]
        heel = batch.id, batch.volume_ml_20c if amount is None else float(amount.volume_ml)
    sources = {cask for part in wanted_parts for cask in part.casks} | ({heel[0]} if heel else set())
    holdings = {source: book.show(source).holding for source in sources}
    holds = {source: holding.liquid for source, holding in holdings.items()}
    if by_alcohol:
        wanted_parts = _by_volume(wanted_parts, holds)
    read = wanted.to_strength
    strength = None if read is None else strength_from_mass_fraction(mass_fraction(read))

    kept = _kept(book, follows) if wanted.make_up else {}

    def plan_for(total_ml: float) -> ScalePlan:
        parts = wanted_parts
        if wanted.make_up:
            poured = [one for one in parts if strength is None or one.component != WATER]
            parts = _made_up(poured, kept, total_ml - (heel[1] if heel else 0.0), holds)
        try:
            return scaled(parts, total_ml, holds, heel, strength)
        except NotThere as short:
            raise _short_of_outside(book, wanted_parts, short) from None

    match wanted.total, wanted.final, wanted.bottles:
        case Amount() as total, None, None:
            plan = plan_for(float(total.volume_ml))
        case None, Amount() as final, None:
            plan = scaled_to(float(final.volume_ml), plan_for, heel[1] if heel else 0.0)
        case None, None, BottlesWanted() as bottles:
            plan = scaled_to(float(bottles.checked().needed_ml), plan_for, heel[1] if heel else 0.0)
        case _:
            remedy = "give --total (as poured), --final (as mixed) or --bottles (as filled)"
            raise Malformed("the batch needs one volume", remedy)
    pulled = [holdings[pull.source] for pull in plan.pulls if pull.source in holdings]
    is_pending = any(pending_in(book.store, holding) for holding in pulled)
    items = dict.fromkeys(one for pull in plan.pulls for one in (pull.source, pull.component))
    bounded, pulls = _bounded(book, follows, to_strength=strength is not None), _pulled_parts(book, plan)
    bounds = bounded.shares(book.store, pulls) if bounded and bounded.bounds else ()
    if question := house_rules_question(rules_of_parts(book, bounded, pulls), book.settings["decimal_mark"]):
        asked = (*asked, question)
    kinds = {pull.source: stands_for[pull.component] for pull in plan.pulls if pull.component in stands_for}
    heels = heel_ages(book, (Source(pull.source) for pull in plan.pulls)) if heel else ()
    return BatchPlan(follows, plan, is_pending, called(book.store, items), wanted, bounds, asked, kinds, heels)


def _short_of_outside(book: "BookCore", parts: Sequence[BatchPart], short: NotThere) -> NotThere:
    """What is short, with the samples from outside that no cask of the house can give more of."""
    samples = {part.component: outside_sample(book.store, part.casks[0]) for part in parts if len(part.casks) == 1}
    outside = {component: sample for component, sample in samples.items() if sample}
    if not outside:
        return short
    said = "; ".join(
        f"{hyphened(one)} is an outside sample ({sample.called or 'supplier unknown'}) with no cask behind it"
        for one, sample in outside.items()
    )
    first = hyphened(next(iter(outside)))
    remedy = f"fill what you buy of it into a cask or batch, then name that: --use '{first}=CASK'"
    return NotThere(f"{short.message}; {said}", remedy)


def _bounded(book: "BookCore", follows: str, *, to_strength: bool) -> Bounded | None:
    """The bounds that a batch is held to: of the recipe itself, or of the one behind a trial or batch."""
    if read_or_none(follows):
        return bounds_followed(book, follows, water_is_computed=to_strength)
    parts = recipe_card(book, follows).recipe.parts
    return bounded_by(parts, book.settings["decimal_mark"], water_is_computed=to_strength)


def _pulled_parts(book: "BookCore", plan: ScalePlan) -> list[Part]:
    """What is to be pulled as parts of the blend; a heel is what the casks behind it brought."""
    parts: list[Part] = []
    for pull in plan.pulls:
        if pull.component == "heel":
            parts += parts_taken(book.store, pull.source, pull.volume_ml)
        else:
            parts.append(Part(pull.component, pull.source, pull.volume_ml))
    return parts


def _kept(book: "BookCore", follows: str) -> dict[str, RecipePart]:
    """The parts of the recipe that a batch follows, by component; none where it follows another batch."""
    if not is_identifier(follows):
        return {part.component: part for part in recipe_card(book, follows).recipe.parts}
    if kind_of(follows) != "trial":
        return {}
    return {part.component: part for part in recipe_of_trial(book.store, follows)[0].recipe.parts}


def _made_up(
    parts: Sequence[BatchPart], kept: Mapping[str, RecipePart], own_ml: float, holds: Mapping[str, Liquid]
) -> list[BatchPart]:
    """Parts where what is free makes up for casks that hold too little; water stays as it is."""
    wanted: dict[str, KeptPart] = {}
    casks: dict[str, tuple[str, ...]] = {}
    for component, own, fraction in parts:
        told = kept.get(component, RecipePart(component, ""))
        before = wanted[component].part if component in wanted else Fraction(0)
        wanted[component] = KeptPart(before + Fraction(fraction), told.fixed or component == WATER, told.ratio)
        casks[component] = tuple(dict.fromkeys((*casks.get(component, ()), *own)))
    held_ml = {name: sum(volume_ml(holds[cask]) for cask in own) for name, own in casks.items() if name != WATER}
    shares = made_up(wanted, held_ml, own_ml)
    return [BatchPart(name, casks[name], share) for name, share in shares.items()]


def _by_volume(parts: Sequence[BatchPart], holds: Mapping[str, Liquid]) -> list[BatchPart]:
    """Parts of the pure alcohol as parts of the volume, by the strength of what the casks of each give together."""
    numbered = {str(place): part for place, part in enumerate(parts)}
    together = {place: mix([holds[cask] for cask in part.casks]) for place, part in numbered.items()}
    shares = by_volume({place: Fraction(part.fraction) for place, part in numbered.items()}, strengths_of(together))
    return [part._replace(fraction=float(shares[place])) for place, part in numbered.items()]


def blend_parts(book: "BookCore", blend: str) -> tuple[str, tuple[Part, ...], bool]:
    """What a blend follows, its parts as poured or, while nothing was, as its recipe asks; and if by pure alcohol."""
    try:
        found = book.find(blend)
    except Unknown as no_item:
        try:
            card = recipe_card(book, blend)
        except Unknown:
            raise no_item from None
        parts = _planned(book, {name: float(part) for name, part in card.fractions.items()})
        return card.recipe.name, parts, bool(card.recipe.by)
    if kind_of(found) == "trial" and not ledger(book.store, key_of(found)):
        planned_ml = {pour.component: pour.volume_ml for pour in plan_of(book.store, found).pours}
        return found, _planned(book, planned_ml), False
    return found, parts_of(book.store, found), False


def _planned(book: "BookCore", volumes_ml: Mapping[str, float]) -> tuple[Part, ...]:
    """The parts of what is not poured yet, each component divided among the sources behind it."""
    parts: list[Part] = []
    for component, ml in volumes_ml.items():
        if not is_identifier(component) or kind_of(component) not in GLASSES:
            parts.append(Part(component, component, ml))
            continue
        found = behind(book.store, component)
        whole = sum(one.share * one.ml_per_mg for one in found)
        parts += [Part(component, one.source, ml * one.share * one.ml_per_mg / whole) for one in found]
    return tuple(parts)


def _chosen(
    book: "BookCore", follows: str, parts: Sequence[Part], uses: Mapping[str, Sequence[str]]
) -> tuple[dict[str, tuple[str, ...]], dict[str, str], tuple[Question, ...]]:
    """Casks named for components of the blend, the kind that each component stands for, and what is asked."""
    components = dict.fromkeys(part.component for part in parts)
    wanted = kinds_in(book, (one for one in components if one not in SOURCES))
    stands_for = {name: name for name in wanted} | (stood_for(book.store, follows) if is_identifier(follows) else {})
    chosen: dict[str, tuple[str, ...]] = {}
    asked: list[Question] = []
    for text, names in uses.items():
        casks, name = tuple(map(book.find, names)), component_or_item(book, text)
        found = [one for one in components if name in (one, stands_for.get(one))]
        if not found:
            raise Malformed(f"{named(name)} is not a component of the blend", "write COMPONENT=CASK,CASK")
        chosen |= dict.fromkeys(found, casks)
        if kind := stands_for.get(found[0]):
            asked += unfit(book, component_called(book.store, kind), casks)
    for name in (one for one in wanted if one not in chosen):
        cask, question = choice(book, wanted[name], "cask", {one for casks in chosen.values() for one in casks})
        answered((question,) if not cask else (), by_person=True)
        chosen[name] = (cask,)
        asked.append(question)
    return chosen, stands_for, tuple(asked)


def _wanted(parts: Sequence[Part], chosen: Mapping[str, tuple[str, ...]]) -> list[BatchPart]:
    """The parts of the batch: the water of all components together last, and named casks in place of those found."""
    whole = sum(part.volume_ml for part in parts)
    fractions: dict[tuple[str, tuple[str, ...]], float] = {}
    for component, source, ml in parts:
        if source in SOURCES and source != WATER:
            raise Refused(
                f"the blend holds {source}, which is poured into the batch by hand",
                "add it after vatting, from a blend without it",
            )
        part = (WATER, ()) if source == WATER else (component, chosen.get(component, (source,)))
        fractions[part] = fractions.get(part, 0.0) + ml / whole
    water = fractions.pop((WATER, ()), 0.0)
    wanted = [BatchPart(component, casks, fraction) for (component, casks), fraction in fractions.items()]
    return [*wanted, BatchPart(WATER, (), water)] if water else wanted
