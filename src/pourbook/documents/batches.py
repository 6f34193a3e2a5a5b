"""Batches as they are planned, shown: from the bottles back, pulls from casks, heel and water."""

from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.codes.identifiers import hyphened
from pourbook.documents.items import bounds_document, heel_words, out_of_bounds
from pourbook.documents.shown import Shown, recorded_shown, table
from pourbook.numerals import counted
from pourbook.words.figure_words import (
    hidden_document,
    hidden_words,
    in_litres,
    named,
    percent,
    strength_shown,
    strength_words,
)

if TYPE_CHECKING:
    from pourbook.actions.vats import ScaledUp
    from pourbook.batches.bottles_wanted import BottlesWanted
    from pourbook.house_style import HouseStyle
    from pourbook.liquid import Liquid
    from pourbook.queries.trials.batch_plan import BatchPlan

__all__ = ["batch_plan_shown", "planned_shown", "scaled_up_shown"]


def batch_plan_shown(answer: "BatchPlan", style: "HouseStyle") -> Shown:
    """A plan of a batch: what to pull from where, and what it will be."""
    plan, mark = answer.plan, style.mark
    whole_ml = sum(pull.volume_ml for pull in plan.pulls)
    rows = [
        (
            named(pull.source), answer.called.get(pull.source, ""), named(pull.component),
            style.shown(pull.volume_ml / 1000, 3),
            percent(pull.volume_ml / whole_ml, mark),
            "" if pull.left_ml is None else style.shown(pull.left_ml / 1000, 3),
        )
        for pull in plan.pulls
    ]  # fmt: skip
    hidden = hidden_document(plan.whole)
    will_be = (
        f"will be {in_litres(volume_ml(plan.whole), mark)} at "
        f"{strength_words(strength_20c(plan.whole), mark, answer.is_pending)} "
        f"(contraction {in_litres(plan.contraction_ml, mark)}){hidden_words(hidden, mark)}"
    )
    document: dict[str, Any] = {
        "pulls": [
            {
                "source": pull.source, "component": pull.component, "volume_ml_20c": pull.volume_ml,
                "mass_mg": pull.liquid.mass_mg, "ethanol_mg": pull.liquid.ethanol_mg, "left_ml": pull.left_ml,
            }
            for pull in plan.pulls
        ],
        "volume_ml_20c": volume_ml(plan.whole),
        "strength_20c": strength_20c(plan.whole),
        "contraction_ml": plan.contraction_ml,
        "bounds": bounds_document(answer.bounds),
        "asked": [one.said for one in answer.asked],
        **hidden,
    }  # fmt: skip
    way_back: tuple[str, ...] = ()
    if bottles := answer.wanted.bottles:
        document["bottling"] = _bottling_document(bottles, plan.whole)
        way_back = _way_back(bottles, plan.whole, style)
    said = (*way_back, *table(("pull from", "", "for", " l at 20 °C", " %", " left l"), rows), will_be)
    asked = tuple(f"{one.said}; {one.remedy}" for one in answer.asked)
    outside = out_of_bounds(answer.bounds, mark, answer.called)
    return Shown(document, said, warnings=(*asked, *outside, *heel_words(answer.heels)))


def _bottling_document(wanted: "BottlesWanted", whole: "Liquid") -> dict[str, Any]:
    return {
        "bottles": [{"count": one.bottles, "size_ml": float(one.size.volume_ml)} for one in wanted.sizes],
        "filled_ml": float(wanted.filled_ml),
        "losses_ml": float(wanted.lost_ml),
        "needed_ml": float(wanted.needed_ml),
        "lpa": _needed_lpa_l(wanted, whole),
    }


def _needed_lpa_l(wanted: "BottlesWanted", whole: "Liquid") -> float:
    return float(wanted.needed_ml) / 1000 * (strength_20c(whole) or 0.0) / 100


def _way_back(wanted: "BottlesWanted", whole: "Liquid", style: "HouseStyle") -> tuple[str, ...]:
    """From the bottles to the batch, a step a line; litres are rounded up, so that there is enough."""
    rows = [
        (f"{counted(one.bottles, 'bottle')} of {one.size.typed}", one.bottles * one.size.volume_ml)
        for one in wanted.sizes
    ]
    if isinstance(wanted.losses, Decimal):
        per_cent = f"{wanted.losses:f}".replace(".", style.mark)
        rows.append((f"losses, {per_cent} % of what is filled", wanted.lost_ml))
    elif wanted.losses is not None:
        rows.append((f"losses, {wanted.losses.typed}", wanted.lost_ml))
    strength = f"{strength_shown(strength_20c(whole), style.mark)} % vol"
    rows.append((f"needed at {strength}", wanted.needed_ml))
    shown = [(what, style.shown(Fraction(ceil(ml), 1000), 3)) for what, ml in rows]
    lpa = style.shown(_needed_lpa_l(wanted, whole), 3)
    return (*table(("from the label back", " l at 20 °C"), shown), f"pure alcohol in it: {lpa} l", "")


def scaled_up_shown(answer: "ScaledUp", style: "HouseStyle") -> Shown:
    """A batch that was opened and poured as planned: its identifier and the plan."""
    planned = batch_plan_shown(answer.planned, style)
    document = {"id": answer.batch, "plan": planned.document}
    said = (hyphened(answer.batch), *planned.said)
    return recorded_shown(answer.recorded, document, said, style).warned(*planned.warnings)


def planned_shown(answer: "ScaledUp", style: "HouseStyle") -> Shown:
    """A batch that was opened with its plan: as one that was poured, and what to do next."""
    shown = scaled_up_shown(answer, style)
    if answer.recorded.is_dry_run:
        return shown
    name = hyphened(answer.batch)
    said = f"print it: pourbook sheet {name}; pour it, cask by cask: pourbook pour {name}"
    return shown._replace(notes=(*shown.notes, said))
