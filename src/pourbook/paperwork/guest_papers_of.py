"""What the papers of a blending session with guests say: sheets to compose on, cards of the chosen blend."""

from typing import TYPE_CHECKING

from pourbook.alcoholometry.volumes import strength_20c
from pourbook.bench.trials import WATER
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Refused
from pourbook.papers.guest_card import CardGuest, CardPart, GuestCard
from pourbook.papers.guest_sheet import GuestSheets, SheetRow
from pourbook.paperwork.imprint import imprint_of
from pourbook.queries.items.called import called
from pourbook.queries.tastings.blending_card import OnTable, Table, blending_card
from pourbook.queries.tastings.session_report import SessionReport, session_report
from pourbook.queries.traces.behind import parts_of
from pourbook.queries.traces.brought import brought
from pourbook.times import day_shown
from pourbook.words.paper_figures import Notation
from pourbook.words.session_words import alcohol_words, brings_words

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["guest_card_of", "guest_sheets_of"]


def guest_sheets_of(book: "BookCore", name: str) -> GuestSheets:
    """A sheet to compose on for each guest.

    Raises:
        Unknown: nothing goes by that name.
    """
    card, imprint = blending_card(book, name), imprint_of(book)
    told, settings = card.blending, book.settings
    spirits = [one.part.component for one in card.table.components if one.part.component != WATER]
    offered = alcohol_words(told.alcohol_mg, settings["standard_drink"], settings["decimal_mark"])
    reduced = f", reduced to {told.strength}" if told.strength else ""
    return GuestSheets(
        imprint, told.name, f"BLENDING-{card.entry.number}", f"BLENDING{card.entry.number}",
        tuple(one.called for one in card.guests), told.total, f"{told.amount} of each blend{reduced}",
        tuple(_sheet_row(one, card.table, imprint.notation) for one in card.table.components),
        f"Before you at the most: {offered}.", brings_words(brought(book, spirits)),
    )  # fmt: skip


def _sheet_row(one: OnTable, table: Table, notation: Notation) -> SheetRow:
    low, high = (notation.percent(end, 1) for end in one.bounds)
    most = notation.fixed(table.at_most_ml(one), 1)
    if one.part.component == WATER:
        return SheetRow(WATER, "", low, high, most, "", "")
    name, what = _split(one.called, one.part.component)
    return SheetRow(name, what, low, high, most, hyphened(one.part.component), one.part.component)


def _split(called_: str, item: str) -> tuple[str, str]:
    """What a component is called, and what else is told of it."""
    name, _, what = called_.partition(" · ")
    return name or hyphened(item), what


def guest_card_of(book: "BookCore", name: str) -> GuestCard:
    """The card of the blend that was chosen.

    Raises:
        Unknown: nothing goes by that name.
        Refused: none was chosen yet.
    """
    card = blending_card(book, name)
    won, imprint = card.won, imprint_of(book)
    if won is None:
        raise Refused(f"no blend of '{card.blending.name}' was chosen yet", "choose one: pourbook blending choose")
    report, notation = session_report(book, card.blending.name), imprint.notation
    volumes: dict[str, float] = {}
    for part in parts_of(book.store, won.trial):
        volumes[part.component] = volumes.get(part.component, 0.0) + part.volume_ml
    names, whole = called(book.store, volumes), sum(volumes.values())
    parts = tuple(
        CardPart(*(_split(names[item], item) if item in names else (item, "")), ml / whole)
        for item, ml in sorted(volumes.items(), key=lambda pair: -pair[1])
    )
    guests = (CardGuest(one.called, one.name, *_found(report, one.trial, notation)) for one in card.guests)
    view = book.show(won.trial)
    return GuestCard(
        imprint, card.blending.name, day_shown(card.entry.happened_us, book.zone), won.name, won.called,
        notation.with_unit(strength_20c(view.holding.liquid), 1, "% vol"), parts,
        tuple(sorted(guests, key=lambda one: (not one.rank, len(one.rank), one.rank))),
        hyphened(won.trial), won.trial, card.recipe, brings_words(brought(book, [won.trial])),
    )  # fmt: skip


def _found(report: SessionReport, trial: str, notation: Notation) -> tuple[str, str]:
    """Mean rank and mean score of a blend in figures; empty where nobody gave any."""
    glass = next((one for one in report.glasses if one.item == trial), None)
    rank = notation.fixed(glass.rank.mean, 1) if glass and glass.rank else ""
    return rank, notation.fixed(glass.score.mean, 0) if glass and glass.score else ""
