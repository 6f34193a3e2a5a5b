"""What the plan of an open batch was asked, kept with the batch, and the same again with what is in the vat by now.

It is one fact of the batch, a document of the planner's recipe, the kinds of spirit, and which casks could be chosen;
so a new plan for the casks still closed asks what the first one did.
"""

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.bench.trials import WATER
from pourbook.book.entries import Component
from pourbook.book.items import facts, ledger, view
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, kind_of
from pourbook.errors import Refused, Unknown
from pourbook.liquid import Liquid
from pourbook.numerals import counted
from pourbook.planning.recipe import Band, Heel, House, InVat, Limits, Part, Recipe, Target
from pourbook.queries.casks.choosing import spirit_in
from pourbook.queries.plans.asked import AskedRecipe
from pourbook.queries.plans.candidates import Choice, KindWanted, days_in_wood
from pourbook.queries.plans.parts_wanted import Aims, PartWanted, kind_of_part
from pourbook.queries.traces.behind import Part as PartOfBlend
from pourbook.queries.traces.behind import parts_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.targets import targets

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.traces.trace_answer import TracedPour

__all__ = ["PLAN_ASKED", "asked_again", "asked_as_kept", "check_poured", "recipe_of_batch"]

PLAN_ASKED = "plan_asked"
"""The fact of a batch that keeps what its plan was asked."""


def asked_as_kept(asked: AskedRecipe) -> str:
    """What a plan was asked, as the fact of a batch keeps it."""
    return json.dumps(_plain(asked), ensure_ascii=False, separators=(",", ":"))


def _plain(value: object) -> object:
    """A value as JSON has it: a named tuple as its fields that differ from what stands where nothing is said."""
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        defaults = getattr(value, "_field_defaults", {})
        fields: Mapping[str, object] = value._asdict()
        return {name: _plain(one) for name, one in fields.items() if name not in defaults or one != defaults[name]}
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    if isinstance(value, tuple | frozenset | list):
        return [_plain(one) for one in (sorted(value) if isinstance(value, frozenset) else value)]
    return value


def asked_again(text: str) -> AskedRecipe:
    """What a plan was asked, from the fact of a batch."""
    kept = json.loads(text)
    recipe, aims, choice = kept["recipe"], kept["aims"], kept["choice"]
    parts = tuple(
        PartWanted(
            KindWanted(Component(**one["wanted"]["kind"]), one["wanted"].get("is_alike", False)),
            Part(**one["part"]), one["role"], one["tolerance"],
        )
        for one in aims["parts"]
    )  # fmt: skip
    lists = {name: tuple(choice[name]) for name in ("only", "without") if name in choice}
    return AskedRecipe(
        _recipe(recipe),
        Aims(aims["follows"], parts, aims["basis"]),
        Choice(**{**choice, **lists, "despite": frozenset(choice.get("despite", ()))}),
        kept["on_us"], kept.get("heel", ""), kept.get("heel_l", 0.0),
    )  # fmt: skip


def _recipe(kept: Mapping[str, Any]) -> Recipe:
    bodies: dict[str, Any] = {
        "limits": Limits(**kept.get("limits", {})),
        "house": House(**kept.get("house", {})),
        "heel": Heel(**kept["heel"]) if "heel" in kept else None,
        "attributes": {name: Band(**band) for name, band in kept.get("attributes", {}).items()},
        "in_vat": tuple(InVat(**one) for one in kept.get("in_vat", ())),
    }
    others = {name: value for name, value in kept.items() if name in ("losses", "objective", "basis")}
    components = {name: Part(**part) for name, part in kept["components"].items()}
    return Recipe(components, Target(**kept["target"]), **bodies, **others)


# -- what is in the vat by now -----------------------------------------------------------


class _Poured(NamedTuple):
    """What one source has given: the component it counts as, and the liquid as it left."""

    component: str
    liquid: Liquid
    wood_days: int | None
    whole: bool


def recipe_of_batch(book: "BookCore", batch: str) -> AskedRecipe:
    """What the plan of an open batch was asked, with what casks have given so far as what is in the vat.

    A heel that was poured counts as it was poured. Water that is in the vat already is none: the plan's water is that
    of the whole batch.

    Raises:
        Unknown: there is no such batch.
        Refused: it was not opened by a plan that kept what it was asked.
    """
    found = book.find(batch)
    kept = facts(book.store, key_of(found)).get(PLAN_ASKED)
    if not kept:
        raise Refused(
            f"{hyphened(found)} does not say what its plan was asked",
            "open batches with: pourbook plan WHAT … --record",
        )
    asked = asked_again(kept)
    if not ledger(book.store, key_of(found)):
        return asked
    pours = [pour for pour in trace_back(book, found).pours if pour.target == found and pour.source != WATER]
    by_source: dict[str, list[TracedPour]] = {}
    for pour in pours:
        by_source.setdefault(pour.source, []).append(pour)
    recipe = asked.recipe
    heel = recipe.heel
    if asked.heel in by_source and heel:
        heel = heel._replace(volume_l=_litres(_together(by_source.pop(asked.heel))))
    poured = [_poured(book, asked, found, source, of) for source, of in by_source.items()]
    in_vat = tuple(
        InVat(one.component, _litres(one.liquid), strength_20c(one.liquid) or 0.0, one.wood_days, one.whole)
        for one in poured
    )
    return asked._replace(recipe=recipe._replace(in_vat=in_vat, heel=heel))


def check_poured(book: "BookCore", blend: str) -> None:
    """Any blend but a batch whose casks are still to be poured as planned: its parts are not yet those it is to have.

    Raises:
        Refused: casks of its plan are closed, and it has no water yet.
    """
    try:
        batch = book.find(blend)
    except Unknown:
        return  # the name of a recipe
    known, rows = facts(book.store, key_of(batch)), ledger(book.store, key_of(batch))
    if PLAN_ASKED not in known or (rows and not rows[-1].holding.mass_mg):
        return
    if rows and any(part.source == WATER for part in parts_of(book.store, batch)):
        return
    planned = [one for one in targets(book, batch) if one.wanted_ml and one.component != WATER]
    if closed := sum(not one.poured_ml for one in planned):
        name, follows = hyphened(batch), asked_again(known[PLAN_ASKED]).aims.follows
        stands = "is still being poured" if rows else "is not poured yet"
        rest = f"plan the rest of it: pourbook replan {name}" if rows else f"pour it: pourbook pour {name}"
        another = hyphened(follows) if is_identifier(follows) else f"'{follows}'"
        raise Refused(
            f"{name} {stands}: {counted(closed, 'cask')} of its plan {'are' if closed > 1 else 'is'} closed",
            f"{rest}; or plan another batch: pourbook plan {another}",
        )


def _poured(
    book: "BookCore", asked: AskedRecipe, batch: str, source: str, pours: "list[TracedPour]"
) -> _Poured:  # fmt: skip
    liquid = _together(pours)
    component = kind_of_part(book, asked.aims.kinds, batch, PartOfBlend(source, source, volume_ml(liquid)))
    if not source[:1].isupper() or kind_of(source) != "cask":
        return _Poured(component, liquid, None, whole=True)
    before = view(book.store, source, min(pour.happened_us for pour in pours) - 1)
    age = spirit_in(book.store, before, pours[-1].happened_us).age
    return _Poured(component, liquid, days_in_wood(age), whole=not book.show(source).holding.mass_mg)


def _together(pours: "list[TracedPour]") -> Liquid:
    return Liquid(*map(sum, zip(*(pour.liquid for pour in pours), strict=True)))


def _litres(liquid: Liquid) -> float:
    return volume_ml(liquid) / 1000.0
