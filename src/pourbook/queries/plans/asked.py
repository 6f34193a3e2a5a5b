"""What is asked of a plan from a book, and the planner's recipe that it comes to.

Target and losses are worked out from a volume or from bottles, parts and their bounds from the blend that is followed,
rules from the house, the heel from its batch.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.batches.bottles_wanted import BottlesWanted
from pourbook.bench.trials import WATER
from pourbook.book.components import house_rules
from pourbook.book.items import facts, held, ledger
from pourbook.book.lineages import what_is_traced
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, kind_of, readable
from pourbook.errors import Malformed, OutOfRange, Refused
from pourbook.planning.recipe import Band, Heel, House, Limits, Recipe, Target, least_days
from pourbook.quantities import Amount, Strength
from pourbook.queries.plans.candidates import Choice, KindWanted, days_in_wood
from pourbook.queries.plans.noted_of_casks import noted_of_blend
from pourbook.queries.plans.parts_wanted import NEAR_YEARS, Aims, aims_of, kind_of_part
from pourbook.queries.traces.behind import BLENDS, parts_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.trial_plan import target_of_trial

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["WITHIN", "AskedRecipe", "PlanAsked", "asked_casks", "asked_recipe", "fractions_of", "heel_of"]

WITHIN = Decimal(2)
"""By how many per cent the volume may miss what is aimed at, where nobody says: a plain default."""

_ANOTHER_DRINK = 10.0
"""A shift of so many parts in a hundred makes another drink: common practice, no source."""


class PlanAsked(NamedTuple):
    """What a person asks of a plan.

    Attributes:
        final: what the batch shall be, all water in it.
        bottles: what it shall fill; in place of `final`.
        losses: beside `final`, in per cent of it or a volume; None for none.
        to_strength: to which it is reduced; None is that of the blend that is followed.
        within: by how many per cent the volume may miss `final`, or be more than the bottles need.
        tolerance: of parts without bounds of their own, in parts of a hundred; None is the usual one.
        near_years: how far the age of a cask may be from that of one it stands in for.
        limits: on casks, age, strength and vat.
        house: rules beside those of the book.
        objective: weights by measure.
        attributes: bands of words of notes.
        heel: batch whose liquid is carried into this one, and how much of it (None is all).
        choice: which casks may be chosen.
        on_us: the day of the pull; None is now.
    """

    final: Amount | None = None
    bottles: BottlesWanted | None = None
    losses: Decimal | Amount | None = None
    to_strength: Strength | None = None
    within: Decimal = WITHIN
    tolerance: Decimal | None = None
    near_years: int = NEAR_YEARS
    limits: Limits = Limits()
    house: House = House()
    objective: Mapping[str, float] = {"casks": 1.0}
    attributes: Mapping[str, Band] = {}
    heel: tuple[str, Amount | None] | None = None
    choice: Choice = Choice()
    on_us: int | None = None


class AskedRecipe(NamedTuple):
    """What is asked of the planner.

    Attributes:
        recipe: as the planner takes it.
        aims: what that aims at.
        choice: which casks may be chosen.
        on_us: the day of the pull.
        heel: the batch that it is from; empty for none.
        heel_l: litres of it at 20 °C.
    """

    recipe: Recipe
    aims: Aims
    choice: Choice
    on_us: int
    heel: str = ""
    heel_l: float = 0.0


def asked_recipe(book: "BookCore", blend: str, asked: PlanAsked) -> AskedRecipe:
    """The planner's recipe for what is asked, after a recipe, a trial or a batch.

    Raises:
        Unknown: there is no such item or recipe.
        Malformed: the batch has no volume, or two; or no strength.
        OutOfRange: a tolerance that makes another drink, or losses of 100 % or more.
        Refused: it breaks the house's rules, or holds what no cask gives.
    """
    aims, choice, on_us = asked_casks(book, blend, asked)
    target, losses = _target(book, aims.follows, asked)
    heel, batch, heel_l = None, "", 0.0
    if asked.heel:
        batch = book.find(asked.heel[0])
        heel = heel_of(book, aims, batch, asked.heel[1])
        heel_l = heel.volume_l
    most = min(float(house_rules(book.store).most_of_one) * 100.0, asked.house.no_component_above or 100.0)
    house = asked.house._replace(no_component_above=most if most < 100.0 else None)
    components = {one.name: one.part for one in aims.parts}
    attributes = _attributes(book, aims.follows, asked)
    recipe = Recipe(components, target, asked.limits, house, heel, losses, asked.objective, aims.basis, attributes)
    return AskedRecipe(recipe, aims, choice, on_us, batch, heel_l)


def asked_casks(book: "BookCore", blend: str, asked: PlanAsked) -> tuple[Aims, Choice, int]:
    """What is aimed at, which casks may be chosen for it, and the day. Raises as `asked_recipe`."""
    if asked.tolerance is not None and not 0 < asked.tolerance < _ANOTHER_DRINK:
        raise OutOfRange(
            f"a tolerance of {asked.tolerance} parts in a hundred is none: so great a shift makes another drink",
            f"give more than 0 and less than {_ANOTHER_DRINK:g}, or write bounds in the recipe",
        )
    tolerance = None if asked.tolerance is None else float(asked.tolerance)
    aims = aims_of(book, blend, tolerance, asked.near_years)
    choice = asked.choice._replace(
        least_days=least_days(asked.limits) or asked.choice.least_days, needs_cost=bool(asked.objective.get("cost"))
    )
    return aims, choice, book.clock() if asked.on_us is None else asked.on_us


# -- how much, and how strong ------------------------------------------------------------


def _target(book: "BookCore", follows: str, asked: PlanAsked) -> tuple[Target, dict[str, float]]:
    """What the batch is to become, and its losses in per cent of the reduced batch."""
    strength = _strength(book, follows, asked.to_strength)
    within = float(asked.within) / 100.0
    match asked.final, asked.bottles:
        case None, BottlesWanted() as bottles:
            bottles = bottles.checked()
            if asked.losses is not None:
                raise Malformed("losses are said twice", "give those of the bottles")
            wanted, lost = float(bottles.filled_ml) / 1000.0, float(bottles.lost_ml) / 1000.0
            low = wanted  # every bottle is filled
        case final, None:
            wanted = float(final.volume_ml) / 1000.0 if final else _held_at_most_l(book, follows)
            lost = _lost_l(asked.losses, wanted)
            low = wanted * (1.0 - within)
        case _:
            raise Malformed("the batch needs one volume", "give --final (as mixed) or --bottles (as filled)")
    losses = {"bottling": 100.0 * lost / (wanted + lost)} if lost else {}
    return Target(wanted, strength, low, wanted * (1.0 + within)), losses


def _lost_l(losses: Decimal | Amount | None, wanted_l: float) -> float:
    if isinstance(losses, Amount):
        return float(losses.volume_ml) / 1000.0
    if losses is not None and not 0 <= losses < 100:
        raise OutOfRange(
            f"losses must be 0 to less than 100 %, not {losses} %", "if a volume is meant, write it: --losses '20 l'"
        )
    return wanted_l * float(losses or 0) / 100.0


def _held_at_most_l(book: "BookCore", follows: str) -> float:
    """What an earlier batch was at its fullest: the same again."""
    rows = ledger(book.store, key_of(follows)) if is_identifier(follows) and kind_of(follows) == "batch" else ()
    if not rows:
        raise Malformed("the batch needs one volume", "give --final (as mixed) or --bottles (as filled)")
    return max(row.volume_ml_20c for row in rows) / 1000.0


def _strength(book: "BookCore", follows: str, read: Strength | None) -> float:
    """To which the batch is reduced: as asked, as the blend was to be, or as it was once water was in it."""
    if read is not None:
        return target_percent(read)
    if is_identifier(follows):
        planned = target_of_trial(facts(book.store, key_of(follows)))
        if planned is not None:
            return planned
        if ledger(book.store, key_of(follows)) and any(
            part.source == WATER for part in parts_of(book.store, follows, BLENDS)
        ):
            holding, _ = what_is_traced(book.store, key_of(follows), None, book.clock())
            return round(strength_20c(holding.liquid) or 0.0, 2)
    raise Malformed("the batch needs a strength to be reduced to", "give it: --to 46")


# -- how it is to taste ------------------------------------------------------------------


def _attributes(book: "BookCore", follows: str, asked: PlanAsked) -> Mapping[str, Band]:
    """Bands of words as asked; where distance counts and no aim was given, by what notes say of the blend followed."""
    if not asked.objective.get("distance") or any(band.aim is not None for band in asked.attributes.values()):
        return asked.attributes
    aims = noted_of_blend(book, follows) if is_identifier(follows) else {}
    if not aims:
        raise Refused(
            f"no note says how {readable(follows)} tastes, so no plan is nearer to it than another",
            "write it down: pourbook taste ITEM …, or give aims: [attributes] in --limits FILE.toml",
        )
    return {word: asked.attributes.get(word, Band())._replace(aim=aim) for word, aim in aims.items()} | {
        word: band for word, band in asked.attributes.items() if word not in aims
    }


# -- the heel ----------------------------------------------------------------------------


def heel_of(book: "BookCore", aims: Aims, batch: str, amount: Amount | None = None) -> Heel:
    """What lies in the vat and goes in: its strength, its age, and what of it counts as each component.

    Raises:
        Refused: parts are of the pure alcohol, which is not known of a heel's casks; or it is empty.
    """
    if aims.basis == "alcohol":
        raise Refused(
            "parts by pure alcohol are not known of a heel", "plan without the heel, or write the recipe by volume"
        )
    holding = held(book.store, key_of(batch))
    if not holding.mass_mg:
        raise Refused(f"{hyphened(batch)} is empty and has no heel", "leave out --heel, or gauge it")
    volume_l = (volume_ml(holding.liquid) if amount is None else float(amount.volume_ml)) / 1000.0
    if volume_l > volume_ml(holding.liquid) / 1000.0 + 1e-6:
        raise Refused(
            f"{hyphened(batch)} holds {volume_ml(holding.liquid) / 1000:.2f} l of the {volume_l:.2f} l wanted",
            "take less, or gauge it",
        )
    parts = fractions_of(book, aims.kinds, batch)
    age = trace_back(book, batch).age
    named = {name: 100.0 * parts.get(name, 0.0) for name in (one.name for one in aims.parts)}
    return Heel(volume_l, strength_20c(holding.liquid) or 0.0, named, days_in_wood(age))


def fractions_of(book: "BookCore", kinds: Sequence[KindWanted], blend: str) -> dict[str, float]:
    """What of a blend that was poured counts as each kind, by volume as it left its casks; of none under ""."""
    volumes: dict[str, float] = {}
    parts = [part for part in parts_of(book.store, blend, BLENDS) if part.source != WATER]
    for part in parts:
        name = kind_of_part(book, kinds, blend, part)
        volumes[name] = volumes.get(name, 0.0) + part.volume_ml
    whole = sum(volumes.values())
    return {name: ml / whole for name, ml in volumes.items()} if whole else {}
