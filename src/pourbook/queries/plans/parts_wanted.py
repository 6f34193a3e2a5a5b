"""What a plan aims at: components of a recipe, a trial or a batch as kinds of spirit, each with its part and bounds.

A part of a recipe on components is of that kind, and so is an item that was poured for one. Any other item is what its
casks are: casks of the same spirit, wood and previous contents, of an age near theirs. Water is none: the strength that
is wanted says how much of it goes in.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.bench.bounds import Bounds
from pourbook.bench.house_rules import BlendPart, broken
from pourbook.bench.trials import WATER
from pourbook.book.bottles import drawn_from
from pourbook.book.component_rules import house_rules_question
from pourbook.book.components import component_called, house_rules
from pourbook.book.entries import SOURCES, Component
from pourbook.book.items import ledger, view
from pourbook.book.lineages import what_is_traced
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, kind_of, named
from pourbook.errors import Refused, Unknown
from pourbook.lineage.ages import age_of
from pourbook.numerals import a_or_an
from pourbook.planning.recipe import Basis, Part
from pourbook.queries.casks.choosing import youngest_in
from pourbook.queries.plans.candidates import KindWanted, held_last, misfits_of
from pourbook.queries.traces.behind import BLENDS, parts_of
from pourbook.queries.traces.behind import Part as PartOfBlend
from pourbook.queries.trials.batch_plan import blend_parts
from pourbook.queries.trials.bounds_kept import Bounded, bounded_by, bounds_followed
from pourbook.queries.trials.components import LayIn, lay_in_cask
from pourbook.queries.trials.trial_plan import recipe_card, stood_for
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.bench.house_rules import Broken, HouseRules
    from pourbook.book.core import BookCore

__all__ = [
    "NEAR_YEARS", "Aims", "PartWanted", "aims_of", "kind_of_part", "sorted_parts", "usual_tolerance",
    "words_apart",
]  # fmt: skip

NEAR_YEARS = 3
"""How far the age of a cask may be from that of one it stands in for, where nobody says: common practice, no source."""

_LEAST, _MOST, _OF_PART = 0.5, 2.0, 0.1
"""A part may drift by a tenth of itself, by half a part in a hundred at least and two at most: common practice, no
source. A shift of ten parts in a hundred makes another drink."""

_TRACE = 0.5
"""So many per cent of a kind need not be there at all: the rest of a heel of a heel."""

_THERE = 0.1
"""The least per cent of a component that must be there for the number of them."""


Tolerance = Literal["recipe", "asked", "usual"]


class PartWanted(NamedTuple):
    """A component that a plan aims at.

    Attributes:
        wanted: the kind of spirit.
        part: per cent aimed at, and from where to where.
        role: in the recipe or of the component; may be empty.
        tolerance: where its bounds are from: recipe (or the tolerance kept for the trial), asked, or usual.
    """

    wanted: KindWanted
    part: Part
    role: str
    tolerance: Tolerance

    @property
    def name(self) -> str:
        """Of the component."""
        return self.wanted.kind.name


class Aims(NamedTuple):
    """What a plan aims at.

    Attributes:
        follows: identifier of the trial or batch, or name of the recipe.
        parts: the components, in the order of the blend.
        basis: what parts are of.
    """

    follows: str
    parts: tuple[PartWanted, ...]
    basis: Basis

    @property
    def kinds(self) -> tuple[KindWanted, ...]:
        """The kinds of spirit that casks are wanted of."""
        return tuple(one.wanted for one in self.parts)


def usual_tolerance(percent: float) -> float:
    """How far a part may drift where nobody says, in parts of a hundred.

    >>> [usual_tolerance(part) for part in (3, 15, 60)]
    [0.5, 1.5, 2.0]
    """
    return min(_MOST, max(_LEAST, _OF_PART * percent))


def aims_of(book: "BookCore", blend: str, tolerance: float | None = None, near_years: int = NEAR_YEARS) -> Aims:
    """What a plan aims at that follows a recipe, a trial or a batch, each by its name or identifier.

    `tolerance` is that of parts without bounds of their own, in parts of a hundred.

    Raises:
        Unknown: there is no such item or recipe.
        Refused: it holds what no cask gives, or breaks the house's rules.
    """
    follows, parts, by_alcohol = blend_parts(book, _blend(book, blend))
    parts = tuple(one for part in parts for one in _through_blends(book, part) if one.source != WATER)
    kinds = sorted_parts(book, follows, parts, near_years)
    bounded, mark = _bounded(book, follows), book.settings["decimal_mark"]
    wanted = _wanted(book, parts, kinds, bounded, tolerance)
    rules = house_rules(book.store)
    if question := house_rules_question(_broken(rules, wanted), mark):
        raise Refused(question.said, question.remedy)
    return Aims(follows, within_rules(rules, wanted), "alcohol" if by_alcohol else "volume")


def _blend(book: "BookCore", text: str) -> str:
    """A trial or a batch, that of a lot; a recipe as it is named."""
    try:
        found = book.find(text)
    except Unknown:
        return text
    if kind_of(found) == "lot" and (origin := drawn_from(book.store, found)):
        return origin[0]
    if kind_of(found) not in ("trial", "batch"):
        raise Refused(
            f"{hyphened(found)} is {a_or_an(kind_of(found))}, and no blend", "name a recipe, a trial, a batch or a lot"
        )
    return found


def _through_blends(book: "BookCore", part: PartOfBlend) -> Iterable[PartOfBlend]:
    """A heel as what the casks behind it brought; any other part as it is."""
    if not is_identifier(part.source) or kind_of(part.source) not in BLENDS[2:]:
        return (part,)
    behind = parts_of(book.store, part.source, BLENDS)
    whole = sum(one.volume_ml for one in behind)
    return (PartOfBlend(one.source, one.source, part.volume_ml * one.volume_ml / whole) for one in behind)


def _bounded(book: "BookCore", follows: str) -> Bounded | None:
    if is_identifier(follows):
        return bounds_followed(book, follows, water_is_computed=True)
    return bounded_by(recipe_card(book, follows).recipe.parts, book.settings["decimal_mark"], water_is_computed=True)


# -- which kind each part is of ----------------------------------------------------------


def sorted_parts(
    book: "BookCore", follows: str, parts: Sequence[PartOfBlend], near_years: int = NEAR_YEARS
) -> list[KindWanted]:
    """The kind that each part of a blend is of.

    Raises:
        Refused: it holds what no cask gives.
    """
    stands_for = stood_for(book.store, follows) if is_identifier(follows) else {}
    named_kinds = {name: KindWanted(component_called(book.store, name)) for name in _names(parts, stands_for)}
    at_us = _poured_us(book, follows)
    found, alike = list[KindWanted | None](), dict[str, list[_Source]]()
    for part in parts:
        name = stands_for.get(part.component, part.component)
        if name in named_kinds:
            found.append(named_kinds[name])
            continue
        source = _source(book, part.source, at_us)
        known = next((one for one in named_kinds.values() if not words_apart(one, source.lay_in)), None)
        found.append(known)
        if known is None:
            alike.setdefault(source.name, []).append(source)
    kinds = {name: _like(name, sources, near_years) for name, sources in alike.items()}
    return [one or kinds[_source(book, part.source, at_us).name] for one, part in zip(found, parts, strict=True)]


class _Source(NamedTuple):
    """A cask of the blend as it was then: what lay in it, and completed years of that; None is unknown."""

    lay_in: LayIn
    years: int | None

    @property
    def name(self) -> str:
        spirit, wood, previous = self.lay_in.spirit, self.lay_in.wood, held_last(self.lay_in)
        return " · ".join(filter(None, (spirit, wood, previous))) or "unknown spirit"


def _names(parts: Sequence[PartOfBlend], stands_for: Mapping[str, str]) -> list[str]:
    names = (stands_for.get(part.component, part.component) for part in parts)
    return [name for name in dict.fromkeys(names) if not is_identifier(name) and name not in SOURCES]


def _poured_us(book: "BookCore", follows: str) -> int | None:
    """When a blend was poured; None where nothing was."""
    rows = ledger(book.store, key_of(follows)) if is_identifier(follows) else ()
    return rows[0].happened_us if rows else None


def _source(book: "BookCore", source: str, at_us: int | None) -> _Source:
    if not is_identifier(source) or kind_of(source) != "cask":
        what = source if source in SOURCES else f"{named(source)}, which no cask is behind,"
        raise Refused(
            f"the blend holds {what} and no cask gives that",
            "plan from a recipe on components: pourbook recipe NAME --part 'COMPONENT=PARTS'",
        )
    holding, held_us = what_is_traced(book.store, key_of(source), at_us, book.clock())
    cask = view(book.store, source, held_us)._replace(holding=holding)
    age = age_of(youngest_in(book.store, cask, held_us), book.zone)
    return _Source(lay_in_cask(book.store, cask, held_us), None if age is None else age.years)


def kind_of_part(book: "BookCore", kinds: Iterable[KindWanted], blend: str, part: PartOfBlend) -> str:
    """The name of the kind that a part of a blend counts as, whatever its age; empty where of none.

    That is the one it was poured for, else the one that its cask was of then.
    """
    kinds = tuple(kinds)
    told = stood_for(book.store, blend).get(part.component, "")
    if any(one.kind.name == told for one in kinds):
        return told
    if not is_identifier(part.source) or kind_of(part.source) != "cask":
        return ""
    lay_in = _source(book, part.source, _poured_us(book, blend)).lay_in
    ordered = sorted(kinds, key=lambda one: -one.conditions)
    return next((one.kind.name for one in ordered if not words_apart(one, lay_in)), "")


def words_apart(wanted: KindWanted, lay_in: LayIn) -> bool:
    """Whether spirit in its wood is of another kind, whatever its age."""
    ageless = wanted.kind._replace(min_age=0, max_age=None)
    return bool(misfits_of(wanted._replace(kind=ageless), lay_in, None))


def _like(name: str, sources: Sequence[_Source], near_years: int) -> KindWanted:
    """Casks like those that gave: of the same words, and of an age near theirs where that is known of all."""
    lay_in, years = sources[0].lay_in, [one.years for one in sources]
    kind = Component(name, lay_in.spirit, lay_in.wood, held_last(lay_in))
    known = [one for one in years if one is not None]
    if len(known) == len(years):
        kind = kind._replace(min_age=max(0, min(known) - near_years), max_age=max(known) + near_years)
    return KindWanted(kind, is_alike=True)


# -- how much of each --------------------------------------------------------------------


def _wanted(
    book: "BookCore", parts: Sequence[PartOfBlend], kinds: Sequence[KindWanted], bounded: Bounded | None,
    tolerance: float | None,
) -> tuple[PartWanted, ...]:  # fmt: skip
    """Per cent of each kind; bounds of parts that are of one kind add."""
    whole = sum(part.volume_ml for part in parts)
    told = [bounded.component_of(book.store, part) if bounded else part.component for part in parts]
    of_told: dict[str, float] = {}
    for name, part in zip(told, parts, strict=True):
        of_told[name] = of_told.get(name, 0.0) + part.volume_ml
    roles = {one.component: one.role for one in bounded.parts} if bounded else {}
    grouped: dict[KindWanted, list[tuple[str, float]]] = {}
    for kind, name, part in zip(kinds, told, parts, strict=True):
        grouped.setdefault(kind, []).append((name, part.volume_ml))
    found = []
    for of_kind, members in grouped.items():
        percent = 100.0 * sum(ml for _, ml in members) / whole
        bounds = [(bounded.bounds.get(name) if bounded else None, ml, ml / of_told[name]) for name, ml in members]
        role = next(filter(None, (roles.get(name, "") for name, _ in members)), of_kind.kind.role)
        is_own = any(one is not None for one, _, _ in bounds)
        source: Tolerance = "recipe" if is_own else "usual" if tolerance is None else "asked"
        found.append(PartWanted(of_kind, _part(percent, bounds, whole, tolerance), role, source))
    return tuple(found)


def _part(
    percent: float, members: Sequence[tuple[Bounds | None, float, float]], whole_ml: float, tolerance: float | None
) -> Part:
    """A part with its bounds: those of its members, each for as much of it as is of this kind, added."""
    free = 100.0 * sum(ml for bounds, ml, _ in members if bounds is None) / whole_ml
    drift = 0.0 if not free else usual_tolerance(free) if tolerance is None else tolerance
    low = high = 0.0
    for bounds, _, of_it in members:
        if bounds is not None:
            low, high = low + 100.0 * float(bounds.low) * of_it, high + 100.0 * float(bounds.high) * of_it
    low, high = low + (max(free - drift, free / 2.0) if free > _TRACE else 0.0), min(high + free + drift, 100.0)
    return Part(min(max(percent, low), high), low, high)


# -- the house's rules -------------------------------------------------------------------


def _broken(rules: "HouseRules", parts: Iterable[PartWanted]) -> "tuple[Broken, ...]":
    return broken(rules, [BlendPart(one.name, one.role, one.part.part) for one in parts])


def within_rules(rules: "HouseRules", parts: Sequence[PartWanted]) -> tuple[PartWanted, ...]:
    """Parts whose bounds are no wider than the house's rules of each component and role allow.

    Parts of one role move together: what all of them may drift is shared out as they would have drifted.
    """
    kept = []
    for one in parts:
        own = rules.kinds.get(one.name)
        kept.append(_narrowed(one, *(100.0 * float(end) for end in own.bounds)) if own else one)
    for role, bounds in rules.roles.items():
        of_role = [one for one in kept if (lookup_form(one.role) or _role(rules, one.name)) == role]
        kept = _shared(kept, of_role, 100.0 * float(bounds.low), 100.0 * float(bounds.high))
    there = sum((one.part.low or 0.0) > 0.0 for one in kept)
    if there < rules.least_components:
        kept = [_narrowed(one, min(one.part.part, _THERE), 100.0) for one in kept]
    return tuple(kept)


def _role(rules: "HouseRules", name: str) -> str:
    return rules.kinds[name].role if name in rules.kinds else ""


def _narrowed(one: PartWanted, low: float, high: float) -> PartWanted:
    part = one.part
    return one._replace(part=part._replace(low=max(part.low or 0.0, low), high=min(part.high or 100.0, high)))


def _shared(
    parts: Sequence[PartWanted], of_role: Sequence[PartWanted], low: float, high: float
) -> list[PartWanted]:  # fmt: skip
    aims = sum(one.part.part for one in of_role)
    down = aims - sum(one.part.low or 0.0 for one in of_role)
    up = sum(100.0 if one.part.high is None else one.part.high for one in of_role) - aims
    part_down = min(1.0, max(0.0, aims - low) / down) if down else 1.0
    part_up = min(1.0, max(0.0, high - aims) / up) if up else 1.0

    def drifted(one: PartWanted) -> PartWanted:
        aim = one.part.part
        below, above = aim - (one.part.low or 0.0), (100.0 if one.part.high is None else one.part.high) - aim
        return one._replace(part=Part(aim, aim - below * part_down, aim + above * part_up))

    return [drifted(one) if one in of_role else one for one in parts]
