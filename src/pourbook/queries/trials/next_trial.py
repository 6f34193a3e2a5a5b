"""The next trial after one of the book: the blend of its components that promises, or would teach, most.

What is known comes from tasting notes on whatever was blended of the same casks. A part stays within its bounds and the
house's rules; one without bounds, within ten parts in a hundred of what was tasted of it.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.bench.trials import WATER
from pourbook.book.components import house_rules
from pourbook.book.items import facts, held
from pourbook.book.settings import scale
from pourbook.codes.identifiers import key_of, named, read_or_none
from pourbook.errors import Malformed, Refused
from pourbook.mixtures.expressed import in_terms_of
from pourbook.mixtures.glasses import Glasses, measured
from pourbook.mixtures.next_flight import NextGlass, next_flight
from pourbook.mixtures.regions import Limit, Region
from pourbook.queries.items.called import called
from pourbook.queries.tastings.tasted_blends import Tasting, tasted_blends
from pourbook.queries.traces.behind import sources_behind
from pourbook.queries.traces.made_of import Composition, blended, made_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.bounds_kept import Bounded, bounded_by
from pourbook.queries.trials.trial_plan import recipe_of_trial
from pourbook.texts import lookup_form
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.mixtures.wishes import Wish

__all__ = ["FIGURES_OF_CASKS", "NextTrial", "next_trial"]

FIGURES_OF_CASKS = ("age", "cost", "stock")
"""What can be wished for without being tasted: mean age in years, cost of a litre, litres in the casks."""

_BEYOND = Fraction(1, 10)
"""How far beyond what was tasted a part without bounds may go."""
_STEP = Fraction(1, 1000)


class NextTrial(NamedTuple):
    """Glasses proposed after a trial.

    Attributes:
        trial: its identifier.
        components: of its recipe, beside water, in its order.
        water: fraction of the whole that its recipe has of water; 0 where its water is computed.
        to_strength: that it is to reach, as typed; empty where its recipe has the water.
        glasses: what to pour, beside water.
        notes: how many tasting notes this leans on.
        left_out: how many notes were on blends of anything else.
        called: what each component is called.
    """

    trial: str
    components: tuple[str, ...]
    water: float
    to_strength: str
    glasses: tuple[NextGlass, ...]
    notes: int
    left_out: int
    called: Mapping[str, str]


def next_trial(book: "BookCore", trial: str, wishes: "Sequence[Wish]", count: int = 1, seed: int = 1) -> NextTrial:
    """Propose the next glasses after a trial that follows a recipe.

    Raises:
        Refused: it follows no recipe of two components or more, or no note is on a blend of these.
        Unknown: no note says anything of what is wished for.
        Malformed: there is no wish, or a figure of a cask is not known.
        OutOfRange: bounds admit no blend.
    """
    identifier = book.find(trial)
    recipe, _ = recipe_of_trial(book.store, identifier)
    # what is kept as its tolerance is for scaling it up; the next trial is to differ
    followed = bounded_by(recipe.recipe.parts, book.settings["decimal_mark"], water_is_computed=True)
    if len(followed.components) < 2:
        raise Refused(f"{named(identifier)} follows no recipe of several components", "name a trial that does")
    components = followed.components
    made = [_without_water(blended(book, {one: 1.0})) for one in components]
    learned, left_out = dict[str, Glasses](), 0
    tasted_for = [wish.attribute for wish in wishes if wish.attribute not in FIGURES_OF_CASKS]
    for attribute in dict.fromkeys(tasted_for):
        learned[attribute], passed = _tasted(book, attribute, components, made)
        left_out = max(left_out, passed)
    if not learned:
        raise Malformed("nothing that is tasted is wished for", "wish for liking, score or a word, too")
    figures = {
        wish.attribute: [_figure(book, wish.attribute, one) for one in components]
        for wish in wishes
        if wish.attribute in FIGURES_OF_CASKS
    }
    scales = {name: _scale(book, name, glasses) for name, glasses in learned.items()}
    scales |= {name: (min(values), max(values)) for name, values in figures.items()}
    if same := [name for name, (least, most) in scales.items() if least == most]:
        raise Malformed(f"{same[0]} is the same in all components", "leave that wish out")
    region = _region(book, followed, learned)
    glasses = next_flight(region, learned, wishes, scales, count, seed, figures)
    to_strength = facts(book.store, key_of(identifier)).get("target_strength", "")
    water = 0.0 if to_strength else float(recipe.fractions.get(WATER, 0))
    notes = max(len(one.response) for one in learned.values())
    names = called(book.store, components)
    return NextTrial(identifier, components, water, to_strength, glasses, notes, left_out, names)


def _tasted(
    book: "BookCore", attribute: str, components: Sequence[str], made: Sequence[Composition]
) -> tuple[Glasses, int]:
    """Glasses of an attribute in terms of the components, and how many notes were on anything else."""
    found = tasted_blends(book, attribute, Tasting(without_water=True))
    of_items = made_of(book, dict.fromkeys(found.items))
    blends = in_terms_of(made, [_without_water(of_items[item]) for item in found.items])
    kept = [place for place, blend in enumerate(blends) if blend]
    if not kept:
        raise Refused(f"no note says anything of {attribute} in a blend of these components alone", "taste some")
    glasses = found.glasses
    return measured(
        components,
        [blends[place] or () for place in kept],
        [float(glasses.response[place]) for place in kept],
        [glasses.assessors[place] for place in kept],
    ), len(blends) - len(kept)


def _without_water(composition: Composition) -> Composition:
    whole = 1.0 - composition.get(WATER, 0.0)
    return {name: part / whole for name, part in composition.items() if name != WATER} if whole else {}


def _region(book: "BookCore", followed: Bounded, learned: Mapping[str, Glasses]) -> Region:
    """Bounds of the recipe, else of what was tasted, within the house's rules."""
    rules, ends, roles = house_rules(book.store), [], [lookup_form(part.role) for part in followed.parts]
    for place, part in enumerate(followed.parts):
        kept = followed.bounds.get(part.component)
        low, high = (kept.low, kept.high) if kept else _tasted_between(learned, place)
        of_kind = rules.kinds.get(part.stands_for or part.component)
        if of_kind:
            low, high = max(low, of_kind.bounds.low), min(high, of_kind.bounds.high)
        ends.append((low, min(high, rules.most_of_one)))
    limits = tuple(
        Limit(f"role '{rules.called[role]}'", tuple(Fraction(one == role) for one in roles), between.low, between.high)
        for role, between in rules.roles.items()
        if role in roles
    )
    return Region(followed.components, tuple(ends), limits)


def _tasted_between(learned: Mapping[str, Glasses], place: int) -> tuple[Fraction, Fraction]:
    found = [float(part) for glasses in learned.values() for part in glasses.blends[:, place]]
    least, most = (Fraction(round(end / float(_STEP))) * _STEP for end in (min(found), max(found)))
    return max(least - _BEYOND, Fraction(0)), min(most + _BEYOND, Fraction(1))


def _figure(book: "BookCore", figure: str, component: str) -> float:
    """A figure of a component; litres are of the casks behind it."""
    if figure == "stock":
        casks = sources_behind(book.store, component) if read_or_none(component) else ()
        return sum(volume_ml(held(book.store, key_of(cask)).liquid) for cask in casks) / 1000.0
    trace = trace_back(book, component)
    age_us = trace.age.mean_us
    found = trace.cost_per_litre if figure == "cost" else None if age_us is None else age_us / DAY_US / 365.25
    if found is None:
        raise Malformed(f"the {figure} of {named(component)} is not known", f"record it, or leave {figure} out")
    return found


def _scale(book: "BookCore", attribute: str, glasses: "Glasses") -> tuple[float, float]:
    if attribute == "finish":
        return 0.0, max(float(glasses.response.max()), 1.0)
    name = f"{attribute}_scale" if attribute in ("liking", "score") else "intensity_scale"
    return scale(book.settings, name)
