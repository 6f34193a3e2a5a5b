"""The pull list of a batch that was opened with its plan: its casks as the book knows them, in order of place.

The list always shows the plan; what was taken already stands beside it, and what each cask should hold today.

>>> from pourbook import Book, Draft, Item, Move, Pour, Recipe, RecipePart
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> entries = [Item("C000001H", {"place": "Row 10"}), Item("C000002F", {"place": "Row 9"})]
>>> fills = [Move("origin", one.id, read_amount("200 l"), read_strength("60")) for one in entries]
>>> entries += [Pour("fill", tuple(fills)), Recipe("Ash", (RecipePart("C000001H", "3"), RecipePart("C000002F", "1")))]
>>> entries += [Item("B000001Y", {"plan": "Ash", "total": "100 l"})]
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(row.place, row.take_l) for row in pull_list_of(book, "B000001Y").rows]
[('Row 9', 25.0), ('Row 10', 75.0)]
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.volumes import displayed_mg, strength_20c, volume_ml
from pourbook.bench.beside_plan import LEAST_ML, Target
from pourbook.bench.trials import WATER, PlannedPour
from pourbook.book.items import ItemView, entered_in, held
from pourbook.book.journal import entry_of
from pourbook.book.lineages import pending_in
from pourbook.book.search import stated
from pourbook.codes.identifiers import hyphened, key_of, kind_of, readable
from pourbook.errors import Refused
from pourbook.numerals import counted
from pourbook.papers.pull_list import Expected, PullList, PullRow
from pourbook.paperwork.imprint import imprint_of
from pourbook.paperwork.naming import person
from pourbook.queries.casks.expected_content import ExpectedContent, expected_contents
from pourbook.queries.trials.targets import targets
from pourbook.queries.trials.trial_plan import plan_of
from pourbook.queries.warehouse.reach import Reach, reach
from pourbook.queries.warehouse.walk import the_walk
from pourbook.times import day_shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["pull_list_of"]

_ORDINALS = ("", "first", "second", "third", "fourth", "fifth")
_MOST_SHIFTED = 3


def pull_list_of(book: "BookCore", batch: str, temperature_c: float | None = None) -> PullList:
    """The pull list of a batch; `temperature_c` is that of the cellar.

    Raises:
        Unknown: there is no such batch.
        Refused: it was opened without a plan.
        NotThere: a source never held anything.
    """
    opened = book.show(batch)
    known, name = opened.facts, hyphened(opened.id)
    if opened.kind != "batch" or not known.get("plan"):
        raise Refused(f"{name} was opened without a plan", "plan a batch with: pourbook scale-up TRIAL --open")
    plan = plan_of(book.store, opened.id)
    beside_plan = {one.component: one for one in targets(book, opened.id)}
    holds = expected_contents(book, [pour.component for pour in plan.pours if pour.component != WATER])
    rows = [
        _row(book, pour, holds.get(pour.component), beside_plan.get(pour.component), temperature_c)
        for pour in plan.pours
    ]
    short = [
        hyphened(pour.component)
        for pour, row in zip(plan.pours, rows, strict=True)
        if row.expected and not row.taken_l and _is_short(pour, holds[pour.component])
    ]
    target = known.get("target_strength", "")
    reached = reach(book, [row.code for row in rows if row.code[:1] == "C" and not row.is_taken])
    rows = [_with_shifts(row, reached) if row.code else _water(row, target) for row in rows]
    whole = mix([pour.liquid for pour in plan.pours])
    entry = entry_of(book.store, entered_in(book.store, key_of(opened.id)))
    who = person(book.store, entry.entry["who"])
    pending = [row.id for row in rows if row.expected and row.expected.strength_vol is None]
    warnings = [f"a strength is still pending behind {', '.join(pending)}"] if pending else []
    warnings += [f"less is expected than is to be taken: {', '.join(short)}"] if short else []
    return PullList(
        imprint_of(book),
        name,
        opened.id,
        known.get("name") or known.get("ref") or f"Batch {name}",
        _in_order(book, rows),
        ref=known.get("ref", ""),
        follows=_called(book, known.get("follows", "")),
        fills=known.get("fills", ""),
        target_strength=target,
        prepared_by=who.name or who.id,
        date=day_shown(entry.happened_us, book.zone),
        plan=_plan_called(book, opened.id),
        temperature_c=temperature_c,
        expected_l=volume_ml(whole) / 1000,
        expected_strength_vol=strength_20c(whole),
        warnings=tuple(warnings),
        remarks=(
            *_not_planned([one.component for one in beside_plan.values() if not one.planned_ml]),
            *_to_shift(reached.shifted),
        ),
    )


def _row(
    book: "BookCore", pour: PlannedPour, holds: ExpectedContent | None, beside: Target | None,
    temperature_c: float | None,
) -> PullRow:  # fmt: skip
    told: dict[str, Any] = {
        "take_l": pour.volume_ml / 1000,
        "take_mg": pour.liquid.mass_mg,
        "take_kg": displayed_mg(pour.liquid) / 1e6,
        "cellar_l": None if temperature_c is None else volume_ml(pour.liquid, temperature_c) / 1000,
        "taken_l": beside.poured_ml / 1000 if beside and beside.poured_ml else None,
        "is_taken": bool(beside and beside.poured_ml and not beside.to_go_ml),
    }
    if holds is None:
        return PullRow("", "", WATER, "", "", None, **told)
    view, holding = book.show(pour.component), held(book.store, key_of(pour.component))
    known, celsius = view.facts, 20.0 if temperature_c is None else temperature_c
    what = known.get("wood") or known.get("name", "")
    strength = None if pending_in(book.store, holding) else strength_20c(holds.liquid) or 0.0
    litres, kg = volume_ml(holds.liquid, celsius) / 1000, displayed_mg(holds.liquid) / 1e6
    row = PullRow(
        hyphened(view.id),
        view.id,
        view.ref,
        f"heel {what}".rstrip() if kind_of(view.id) == "batch" else what,
        known.get("place", ""),
        Expected(litres, kg, strength, holds.by),
        **told,
    )
    if row.taken_l:
        return replace(row, is_all=pour.left_ml is not None and abs(pour.left_ml) <= LEAST_ML)
    return replace(row, is_all=pour.volume_ml >= volume_ml(holds.liquid) - LEAST_ML)


def _is_short(pour: PlannedPour, holds: ExpectedContent) -> bool:
    """Whether more is to be taken than is expected, by more than still counts as planned."""
    return Target(pour.component, pour.volume_ml, 0.0, held=holds.liquid).short_ml > 0


def _water(row: PullRow, target: str) -> PullRow:
    return replace(row, what=f"to {target}" if target else "of the blend")


def _in_order(book: "BookCore", rows: list[PullRow]) -> tuple[PullRow, ...]:
    """Heel first, casks in the order of the walk, water last."""
    heels, water = ([row for row in rows if row.code[:1] == kind] for kind in ("B", ""))
    casks = [row for row in rows if row not in heels and row not in water]
    return (*heels, *the_walk(book).ordered(casks, lambda row: row.place, lambda row: row.ref), *water)


def _called(book: "BookCore", followed: str) -> str:
    """What the batch follows: a recipe by its name, an item with what the house calls it."""
    shown = readable(followed)
    return f"{shown}  {book.show(followed).ref}".rstrip() if shown != followed else shown


def _not_planned(poured: list[str]) -> tuple[str, ...]:
    return (f"Poured already, though not in the plan: {', '.join(map(readable, poured))}.",) if poured else ()


def _with_shifts(row: PullRow, reached: Reach) -> PullRow:
    """A cask with those in its way that are not pulled themselves, the first ones by name."""
    ways = next((one.in_the_way for one in reached.casks if one.view.id == row.code), None) or ()
    named = [one.ref or hyphened(one.id) for one in reached.shifted if one.id in ways]
    more = f" and {len(named) - _MOST_SHIFTED} more" if len(named) > _MOST_SHIFTED else ""
    return replace(row, shifts=f"shift first: {', '.join(named[:_MOST_SHIFTED])}{more}" if named else "")


def _plan_called(book: "BookCore", batch: str) -> str:
    """Which plan of a batch counts; empty for its first one."""
    plans = stated(book.store, ("plan",), [key_of(batch)])
    if len(plans) < 2:
        return ""
    number = _ORDINALS[len(plans)] if len(plans) < len(_ORDINALS) else f"no. {len(plans)}"
    return f"{number} plan, of {day_shown(plans[-1].happened_us, book.zone)}"


def _to_shift(shifted: Sequence[ItemView]) -> tuple[str, ...]:
    """Casks in the way of all that are still to be pulled, where the house says how its casks lie."""
    named = (f"{one.ref or hyphened(one.id)} at {one.facts.get('place', '')}" for one in shifted)
    return (f"To reach them, shift {counted(len(shifted), 'cask')}: {'; '.join(named)}.",) if shifted else ()
