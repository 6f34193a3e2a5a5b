"""Liquid that was moved, as doors show it: casks and vials, vats and bottles, what leaves and what comes back."""

from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry import strength_20c, volume_ml
from pourbook.codes.identifiers import hyphened
from pourbook.documents.gauged_shown import holds
from pourbook.documents.recorded_shown import recorded_shown
from pourbook.documents.shown import Shown, table
from pourbook.words.figure_words import hidden_document, hidden_words, in_litres, named, percent, strength_words

if TYPE_CHECKING:
    from pourbook.actions.casks import Drawn
    from pourbook.actions.leaving import Sent
    from pourbook.actions.movement import Moved
    from pourbook.actions.vats import Bottled, ScaledUp
    from pourbook.house_style import HouseStyle
    from pourbook.queries.trials.batch_plan import BatchPlan

__all__ = [
    "batch_plan_shown", "bottled_shown", "despatched_shown", "drawn_shown", "moved_shown", "opened_shown",
    "returned_shown", "scaled_up_shown",
]  # fmt: skip


def opened_shown(answer: "Moved", style: "HouseStyle") -> Shown:
    """A new cask or batch: its identifier."""
    said = (hyphened(answer.item.id),)
    return recorded_shown(answer.recorded, {"id": answer.item.id}, said, style)


def moved_shown(answer: "Moved", style: "HouseStyle") -> Shown:
    """An item that was poured into or out of: what it holds now."""
    said = (holds(answer.item, style, answer.pending),)
    return recorded_shown(answer.recorded, {"id": answer.item.id}, said, style)


def drawn_shown(answer: "Drawn", style: "HouseStyle") -> Shown:
    """A sample: the identifier of its vial, and what is left where it was drawn."""
    document = {"id": answer.vial, "source": answer.source.id}
    whole = recorded_shown(answer.recorded, document, (hyphened(answer.vial),), style)
    left = f"{holds(answer.source, style, answer.pending)} after the draw"
    return whole._replace(notes=(*whole.notes, left))


def despatched_shown(answer: "Sent", style: "HouseStyle") -> Shown:
    """What a customer got."""
    if answer.bottles is not None:
        return _bottles_shown(answer, f"to {answer.customer}", style)
    said = (f"to {answer.customer}; {holds(answer.item, style, answer.pending)}",)
    return recorded_shown(answer.recorded, {"id": answer.item.id}, said, style)


def returned_shown(answer: "Sent", style: "HouseStyle") -> Shown:
    """What a customer sent back."""
    return _bottles_shown(answer, f"back from {answer.customer}", style)


def _bottles_shown(answer: "Sent", where: str, style: "HouseStyle") -> Shown:
    said = (f"{answer.bottles} bottles {where}; {answer.left} left",)
    return recorded_shown(answer.recorded, {"id": answer.item.id, "left": answer.left}, said, style)


def bottled_shown(answer: "Bottled", style: "HouseStyle") -> Shown:
    """A lot: its identifier, and the strength of its bottles by the book."""
    strength = strength_words(answer.batch.strength_20c, style.mark, answer.pending)
    said = (hyphened(answer.lot), f"{answer.bottles} bottles at {strength} by the book")
    return recorded_shown(answer.recorded, {"id": answer.lot}, said, style)


def batch_plan_shown(answer: "BatchPlan", style: "HouseStyle") -> Shown:
    """A plan of a batch: what to pull from where, and what it will be."""
    plan, mark = answer.plan, style.mark
    whole_ml = sum(pull.volume_ml for pull in plan.pulls)
    rows = [
        (
            named(pull.source), named(pull.component), style.shown(pull.volume_ml / 1000, 3),
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
        **hidden,
    }  # fmt: skip
    return Shown(document, (*table(("pull from", "for", " l at 20 °C", " %", " left l"), rows), will_be))


def scaled_up_shown(answer: "ScaledUp", style: "HouseStyle") -> Shown:
    """A batch that was poured as planned: its identifier and the plan."""
    planned = batch_plan_shown(answer.planned, style)
    document = {"id": answer.batch, "plan": planned.document}
    said = (hyphened(answer.batch), *planned.said)
    return recorded_shown(answer.recorded, document, said, style)
