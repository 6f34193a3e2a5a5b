"""Blending sessions with guests as doors show them: opened, as they stand, chosen. Every answer has the caution."""

from math import isfinite
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.standard_drinks import drinks
from pourbook.codes.identifiers import hyphened, plain
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.documents.trials import composed_shown
from pourbook.queries.items.called import at_sight
from pourbook.words.figure_words import named, percent
from pourbook.words.session_words import CAUTION, alcohol_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.actions.composing import Composed
    from pourbook.actions.guest_blending import BlendChosen, BlendingOpened
    from pourbook.actions.print_paper import Printed
    from pourbook.house_style import HouseStyle
    from pourbook.queries.tastings.blending_card import BlendingCard, GuestBlend, OnTable

__all__ = [
    "blend_chosen_shown", "blend_composed_shown", "blending_opened_shown", "blending_paper_shown", "blending_shown",
    "blendings_shown",
]  # fmt: skip


def _cared(shown: Shown) -> Shown:
    return shown._replace(document={**shown.document, "caution": CAUTION}).warned(f"caution: {CAUTION}")


def blending_opened_shown(answer: "BlendingOpened", style: "HouseStyle") -> Shown:
    """A blending session that was opened."""
    words = _card_words(answer.card, style)
    return _cared(recorded_shown(answer.recorded, _card_document(answer.card, style), words, style))


def blending_shown(card: "BlendingCard", style: "HouseStyle") -> Shown:
    """A blending session as it stands."""
    return _cared(Shown(_card_document(card, style), _card_words(card, style)))


def blendings_shown(cards: "Sequence[BlendingCard]", style: "HouseStyle") -> Shown:
    """Every blending session, a line each."""
    said = listed(
        cards,
        ("session", lambda card: card.blending.name),
        ("guests", lambda card: ", ".join(one.called for one in card.guests)),
        (" blends", lambda card: sum(bool(one.trial) for one in card.guests)),
        ("chosen", lambda card: card.won.name if card.won else ""),
    )
    return _cared(Shown({"blendings": [_card_document(card, style) for card in cards]}, said))


def blend_composed_shown(answer: "Composed", style: "HouseStyle") -> Shown:
    """A guest's blend that was composed: as any trial."""
    shown = composed_shown(answer, style)
    return shown.warned(f"caution: {CAUTION}")


def blend_chosen_shown(answer: "BlendChosen", style: "HouseStyle") -> Shown:
    """The blend that was chosen, and the recipe that it became."""
    blend = answer.blend
    document = {
        "blend": blend.trial,
        "recipe": plain(answer.recipe.name),
        "composed_by": blend.guest,
        "why": answer.why,
    }
    said = (
        f"{at_sight(blend.trial, blend.name)}: {answer.why}",
        f"it is the recipe '{answer.recipe.name}' from now on",
    )
    return recorded_shown(answer.recorded, document, said, style)


def blending_paper_shown(printed: "Printed", style: "HouseStyle") -> Shown:
    """A paper of a blending session that was printed."""
    files = ", ".join(map(str, printed.files))
    return recorded_shown(printed.recorded, {"file": files}, (f"written: {files}",), style)


def _card_document(card: "BlendingCard", style: "HouseStyle") -> dict[str, Any]:
    told, table = card.blending, card.table
    return {
        "blending": told.name,
        "blend_ml": table.total_ml,
        "glass_ml": table.glass_ml,
        "strength_20c": table.percent,
        "spittoon": not told.swallowed,
        "alcohol_g": told.alcohol_mg / 1000,
        "standard_drinks": drinks(told.alcohol_mg / 1000, style.settings["standard_drink"]),
        "standard_drink": style.settings["standard_drink"],
        "table": [
            {
                "component": one.part.component, "stands_for": one.part.stands_for or None,
                "low": float(one.bounds.low), "high": float(one.bounds.high),
                "held_ml": one.holds_ml if isfinite(one.holds_ml) else None, "at_most_ml": table.at_most_ml(one),
            }
            for one in table.components
        ],
        "guests": [
            {
                "guest": one.guest, "blend": one.trial or None, "name": one.name or None, "poured_ml": one.poured_ml,
                "blend_alcohol_g": one.alcohol_mg / 1000, "tasting_alcohol_g": one.tasting_mg / 1000,
            }
            for one in card.guests
        ],
        "tasting": card.tasting.session.name if card.tasting else None,
        "chosen": card.chosen or None,
    }  # fmt: skip


def _card_words(card: "BlendingCard", style: "HouseStyle") -> tuple[str, ...]:
    told, table, country = card.blending, card.table, style.settings["standard_drink"]

    def state(one: "GuestBlend") -> str:
        if one.poured_ml:
            return f"{style.shown(one.poured_ml, 1)} ml poured"
        if card.tasting:
            return "nothing poured"
        return "still to pour" if one.trial else "still to compose"

    def held(one: "OnTable") -> str:
        return style.shown(one.holds_ml, 1) if isfinite(one.holds_ml) else ""

    on_table = listed(
        table.components,
        ("on the table", lambda one: named(one.part.component)),
        ("", lambda one: one.called),
        (" from %", lambda one: percent(float(one.bounds.low), style.mark)),
        (" to %", lambda one: percent(float(one.bounds.high), style.mark)),
        (" each at most ml", lambda one: style.shown(table.at_most_ml(one), 1)),
        (" holds ml", held),
    )
    guests = listed(
        card.guests,
        ("guest", lambda one: one.called),
        ("blend", lambda one: hyphened(one.trial) if one.trial else ""),
        ("name", lambda one: one.name),
        ("", state),
        (" g alcohol in it", lambda one: style.shown(one.alcohol_mg / 1000, 1) if one.trial else ""),
        (" g in the glasses", lambda one: style.shown(one.tasting_mg / 1000, 1) if one.tasting_mg else ""),
        (" g together", lambda one: style.shown((one.alcohol_mg + one.tasting_mg) / 1000, 1)),
    )
    size = f"each composes {style.shown(table.total_ml, 0)} ml, and tastes {style.shown(table.glass_ml, 1)} ml of each"
    reduced = "" if table.percent is None else f", reduced to {style.shown(table.percent, 1)} % vol"
    return (
        f"blending session {told.name}: {size}{reduced}",
        *on_table,
        *guests,
        f"before each guest at the most: {alcohol_words(told.alcohol_mg, country, style.mark)}",
        *([f"chosen: {at_sight(card.won.trial, card.won.name)}, composed by {card.won.called}"] if card.won else []),
    )
