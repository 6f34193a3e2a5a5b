"""Liquid that was moved, shown: filled, drawn, dumped, bottled, sent and taken back."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, recorded_shown
from pourbook.numerals import counted
from pourbook.words.figure_words import (
    in_litres,
    strength_words,
)

if TYPE_CHECKING:
    from pourbook.actions.casks import Drawn
    from pourbook.actions.leaving import Sent
    from pourbook.actions.movement import Moved
    from pourbook.actions.vats import Bottled
    from pourbook.book.items import ItemView
    from pourbook.house_style import HouseStyle

__all__ = [
    "bottled_shown", "despatched_shown", "drawn_shown", "holds", "moved_shown", "opened_shown", "returned_shown",
]  # fmt: skip


def holds(view: "ItemView", style: "HouseStyle", pending: Sequence[int] = ()) -> str:
    """What an item holds, in one sentence."""
    if not view.holding.mass_mg:
        return f"{hyphened(view.id)} is empty"
    strength = strength_words(view.strength_20c, style.mark, pending)
    return f"{hyphened(view.id)} holds {in_litres(view.volume_ml_20c, style.mark)} at 20 °C, {strength}"


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
    said = (f"{counted(answer.bottles or 0, 'bottle')} {where}; {answer.left} left",)
    return recorded_shown(answer.recorded, {"id": answer.item.id, "left": answer.left}, said, style)


def bottled_shown(answer: "Bottled", style: "HouseStyle") -> Shown:
    """A lot: its identifier, and the strength of its bottles by the book."""
    strength = strength_words(answer.batch.strength_20c, style.mark, answer.pending)
    said = (hyphened(answer.lot), f"{counted(answer.bottles, 'bottle')} at {strength} by the book")
    return recorded_shown(answer.recorded, {"id": answer.lot}, said, style)
