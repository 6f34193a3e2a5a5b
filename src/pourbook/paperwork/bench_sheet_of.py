"""The bench sheet of a trial: what its recipe asks for, from what the book holds.

The sheet always shows the plan. Where the trial has been poured already it says so, and shows
the components as they were before.

>>> from pourbook import Book, Draft, Item, Move, Pour, Recipe, RecipePart
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, trial = book.next_id("cask"), book.next_id("trial")
>>> filled = Move("origin", cask, read_amount("200 l"), read_strength("60"))
>>> entries = (
...     Item(cask, {"ref": "Row 3/12"}),
...     Pour("fill", (filled,)),
...     Recipe("Ash", (RecipePart(cask, "3", "base"), RecipePart("water", "1"))),
...     Item(trial, {"follows": "Ash", "total": "100 ml"}),
... )
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> sheet = bench_sheet_of(book, trial)
>>> [(row.ref, row.role, row.target_ml) for row in sheet.rows], f"{sheet.expected_strength_vol:.2f}"
([('Row 3/12', 'base', 75.0), ('water', '', 25.0)], '45.36')
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.bench.trials import WATER, PlannedPour
from pourbook.book.items import ItemView, entered_in, facts, held, ledger
from pourbook.book.journal import entry_of
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.liquid import Liquid
from pourbook.numerals import shown
from pourbook.papers.bench_sheet import BenchRow, BenchSheet
from pourbook.paperwork.imprint import imprint_of
from pourbook.paperwork.naming import person
from pourbook.queries.items.called import casks_behind
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.traces.trace_answer import Trace
from pourbook.queries.trials.trial_plan import TrialPlan, plan_of
from pourbook.times import day_shown, minute
from pourbook.words.figure_words import age_words

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["bench_sheet_of"]


def bench_sheet_of(book: "BookCore", trial: str) -> BenchSheet:
    """The bench sheet of a trial.

    Raises:
        Unknown: there is no such trial.
        Refused: it is not a trial, or follows no recipe.
        NotThere: a component never held anything.
    """
    opened = book.show(trial)
    if opened.kind != "trial":
        raise Refused(f"{hyphened(opened.id)} is not a trial", "compose one with: pourbook trial --recipe NAME")
    plan = plan_of(book.store, opened.id)
    components = {
        pour.component: _component(book, pour.component, plan.before_us)
        for pour in plan.pours
        if pour.component != WATER
    }
    whole = mix([pour.liquid for pour in plan.pours])
    roles = {part.component: part.stands_for or part.role for part in plan.card.recipe.parts}
    return BenchSheet(
        imprint_of(book),
        hyphened(opened.id),
        opened.id,
        **_head(book, opened, plan),
        rows=tuple(
            _row(book.store, pour, roles.get(pour.component, ""), components.get(pour.component)) for pour in plan.pours
        ),
        target_volume_ml=plan.total_ml,
        target_strength_vol=plan.to_percent,
        expected_strength_vol=strength_20c(whole),
        mixed_ml=volume_ml(whole),
        density_g_per_ml=whole.mass_mg / volume_ml(whole) / 1000,
        cost_per_litre=_cost_per_litre(plan, components, whole),
        currency=book.settings["currency"],
        youngest_age=age_words(book.zone, *components.values()),
        warnings=tuple(_provisional(components)),
        remarks=(*_recipe_changed(plan), *_poured(book, opened)),
        previous_contents=_said(components, "previous", "cask"),
        allergens=_said(components, "allergens"),
    )


def _component(book: "BookCore", component: str, at_us: int | None) -> Trace:
    """As it was before the first pour; what was empty by then, as it is."""
    was_there = at_us is None or held(book.store, key_of(component), at_us).mass_mg
    return trace_back(book, component, at_us=at_us if was_there else None)


# -- head ------------------------------------------------------------------------------


def _head(book: "BookCore", opened: ItemView, plan: TrialPlan) -> dict[str, Any]:
    known = opened.facts
    composed = entry_of(book.store, entered_in(book.store, key_of(opened.id)))
    who = person(book.store, composed.entry["who"])
    return {
        "name": known.get("name") or known.get("ref") or f"Trial {hyphened(opened.id)}",
        "ref": known.get("ref", ""),
        "recipe": known.get("follows", plan.card.recipe.name),
        "revised_from": _revised_from(book.store, known, plan),
        "purpose": known.get("purpose", ""),
        "prepared_by": who.name or who.id,
        "date": day_shown(composed.happened_us, book.zone),
        "notes": (known["note"],) if known.get("note") else (),
    }


def _revised_from(store: "Store", known: Mapping[str, str], plan: TrialPlan) -> str:
    parent = known.get("revised_from")
    if not parent:
        return plan.card.recipe.revised_from
    return "  ".join(filter(None, (hyphened(parent), facts(store, key_of(parent)).get("ref", ""))))


# -- rows ------------------------------------------------------------------------------


def _row(store: "Store", pour: PlannedPour, role: str, component: Trace | None) -> BenchRow:
    told: dict[str, Any] = {"role": role, "fraction": pour.fraction, "target_ml": pour.volume_ml}
    told |= {"target_mg": pour.liquid.mass_mg, "left_ml": pour.left_ml, "bounds_ml": pour.bounds_ml}
    if component is None:
        return BenchRow(ref=WATER, what="", strength_vol=0, **told)
    return BenchRow(
        ref=component.item.ref,
        what=_what(store, component.item),
        strength_vol=None if component.pending else strength_20c(pour.liquid),
        id=hyphened(component.item.id),
        code=component.item.id,
        **told,
    )


def _what(store: "Store", component: ItemView) -> str:
    """The casks behind a vial or trial, their wood, and the spirit."""
    known = component.facts
    casks = casks_behind(store, component.id)
    words = (
        f"from {casks.called}" if casks.called else "",
        known.get("wood") or casks.wood or known.get("name", ""),
        known.get("spirit", ""),
    )
    return ", ".join(word for word in words if word)


# -- what to expect ----------------------------------------------------------------------


def _cost_per_litre(plan: TrialPlan, components: Mapping[str, Trace], whole: Liquid) -> float | None:
    """Of the mix, from that of each component; water costs nothing."""
    cost = 0.0
    for pour in plan.pours:
        component = components.get(pour.component)
        if component is None or not pour.liquid.ethanol_mg:
            continue
        if component.cost_per_litre is None:
            return None
        cost += component.cost_per_litre * pour.volume_ml
    return cost / volume_ml(whole)


# -- what to beware of -------------------------------------------------------------------


def _provisional(components: Mapping[str, Trace]) -> list[str]:
    return [
        f"a strength behind {_called(one.item)} is still pending (entry {', '.join(map(str, one.pending))})"
        for one in components.values()
        if one.pending
    ]


def _called(item: ItemView) -> str:
    return "  ".join(filter(None, (hyphened(item.id), item.ref)))


def _recipe_changed(plan: TrialPlan) -> list[str]:
    said = f"Recipe {plan.card.recipe.name} has been rewritten since; the trial follows entry {plan.card.entry}."
    return [said] if plan.superseded else []


def _poured(book: "BookCore", opened: ItemView) -> list[str]:
    """What has been poured already, if anything."""
    rows = ledger(book.store, key_of(opened.id))
    if not rows:
        return []
    mark = book.settings["decimal_mark"]
    poured = ", ".join(
        f"{hyphened(source) if source[0].isupper() else source} {shown(amount_ml, 2, mark)} mL"
        for source, amount_ml in trace_back(book, opened.id).poured_ml.items()
    )
    when = minute(rows[0].happened_us, book.zone)
    return [f"Poured already ({when}: {poured}). The table is the plan, from what the glasses held before."]


def _said(components: Mapping[str, Trace], fact: str, kind: str = "") -> tuple[str, ...]:
    """A fact of everything behind the components (or of what is of a kind), each once."""
    said: dict[str, str] = {}
    for one in components.values():
        for item in (one.item, *(other.item for other in one.items)):
            if item.facts.get(fact) and kind in ("", item.kind):
                said[_called(item)] = item.facts[fact]
    return tuple(f"{item}: {value}" for item, value in said.items())
