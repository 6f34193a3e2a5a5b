"""The pull list of a batch that was opened with its plan: its casks as the book knows them, in order of place.

The list always shows the plan; what was taken already stands beside it.

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

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.volumes import displayed_mg, strength_20c, volume_ml
from pourbook.bench.beside_plan import LEAST_ML, Target
from pourbook.bench.trials import WATER, PlannedPour
from pourbook.book.items import entered_in, held
from pourbook.book.journal import entry_of
from pourbook.book.lineages import pending_in
from pourbook.codes.identifiers import hyphened, key_of, kind_of, readable
from pourbook.errors import Refused
from pourbook.papers.pull_list import PullList, PullRow
from pourbook.paperwork.imprint import imprint_of
from pourbook.paperwork.naming import person
from pourbook.queries.trials.targets import targets
from pourbook.queries.trials.trial_plan import plan_of
from pourbook.times import day_shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["pull_list_of"]


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
    rows = [_row(book, pour, plan.before_us, beside_plan.get(pour.component), temperature_c) for pour in plan.pours]
    target = known.get("target_strength", "")
    rows = [row if row.code else _water(row, target) for row in rows]
    whole = mix([pour.liquid for pour in plan.pours])
    entry = entry_of(book.store, entered_in(book.store, key_of(opened.id)))
    who = person(book.store, entry.entry["who"])
    pending = [row.id for row in rows if row.code and row.strength_vol is None]
    return PullList(
        imprint_of(book),
        name,
        opened.id,
        known.get("name") or known.get("ref") or f"Batch {name}",
        tuple(sorted(rows, key=_in_order_of_place)),
        ref=known.get("ref", ""),
        follows=_called(book, known.get("follows", "")),
        fills=known.get("fills", ""),
        target_strength=target,
        prepared_by=who.name or who.id,
        date=day_shown(entry.happened_us, book.zone),
        temperature_c=temperature_c,
        expected_l=volume_ml(whole) / 1000,
        expected_strength_vol=strength_20c(whole),
        warnings=(f"a strength is still pending behind {', '.join(pending)}",) if pending else (),
        remarks=_not_planned([one.component for one in beside_plan.values() if not one.planned_ml]),
    )


def _row(
    book: "BookCore", pour: PlannedPour, before_us: int | None, beside: Target | None, temperature_c: float | None
) -> PullRow:
    told: dict[str, Any] = {
        "take_l": pour.volume_ml / 1000,
        "take_mg": pour.liquid.mass_mg,
        "take_kg": displayed_mg(pour.liquid) / 1e6,
        "cellar_l": None if temperature_c is None else volume_ml(pour.liquid, temperature_c) / 1000,
        "taken_l": beside.poured_ml / 1000 if beside and beside.poured_ml else None,
        "is_taken": bool(beside and beside.poured_ml and not beside.to_go_ml),
    }
    if pour.component == WATER:
        return PullRow("", "", WATER, "", "", None, 0, **told)
    view, holding = book.show(pour.component), held(book.store, key_of(pour.component), before_us)
    known = view.facts
    what = known.get("wood") or known.get("name", "")
    return PullRow(
        hyphened(view.id),
        view.id,
        view.ref,
        f"heel {what}".rstrip() if kind_of(view.id) == "batch" else what,
        known.get("place", ""),
        volume_ml(holding.liquid) / 1000,
        None if pending_in(book.store, holding) else strength_20c(holding.liquid),
        is_all=pour.left_ml is not None and abs(pour.left_ml) <= LEAST_ML,
        **told,
    )


def _water(row: PullRow, target: str) -> PullRow:
    return replace(row, what=f"to {target}" if target else "of the blend")


def _in_order_of_place(row: PullRow) -> tuple[int, int, list[tuple[int, str]], list[tuple[int, str]]]:
    """Heel first, water last; casks by place and ref, numbers in them by their value, those without a place last."""
    stage = 2 if not row.code else 0 if kind_of(row.code) == "batch" else 1
    return stage, not row.place, _by_number(row.place), _by_number(row.ref)


def _by_number(text: str) -> list[tuple[int, str]]:
    return [(int(digits or 0), word.casefold()) for digits, word in re.findall(r"([0-9]*)([^0-9]*)", text)]


def _called(book: "BookCore", followed: str) -> str:
    """What the batch follows: a recipe by its name, an item with what the house calls it."""
    shown = readable(followed)
    return f"{shown}  {book.show(followed).ref}".rstrip() if shown != followed else shown


def _not_planned(poured: list[str]) -> tuple[str, ...]:
    return (f"Poured already, though not in the plan: {', '.join(map(readable, poured))}.",) if poured else ()
