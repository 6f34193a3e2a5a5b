"""The sections of a dossier about what was done and said, from dry goods to despatches.

Each takes the dossier and makes the content of its section; nothing when there is nothing to show.

>>> from pourbook.papers.page import Imprint
>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> bare = Dossier(imprint, "L-000004-D", "L000004D", "Ash")
>>> corrections(bare)
[]
"""

from pourbook.papers.blocks import Block, Lines, tabled
from pourbook.papers.cells import SMALL_IDENTIFIER, Piece
from pourbook.papers.dossier.dossier_columns import ENTRY, WHEN, named
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.tables import Column

__all__ = ["allergens", "corrections", "despatches", "dry_goods", "people", "remarks"]

_CODES = (
    "A code such as MA/17 stands for whoever recorded entry 17; the house can tell from its journal, nobody else can."
)
_ALLERGENS = "As recorded by the house; what is declared on the label follows the local law."


def dry_goods(values: Dossier) -> list[Block]:
    """Bottles, closures, labels, each with its supplier's batch."""
    columns = (
        WHEN,
        ENTRY,
        Column("what", 40, stretch=1),
        Column("supplier", 40, stretch=1),
        Column("supplier’s batch", 34),
        Column("count", 20, "right"),
    )
    fixed = values.imprint.notation.fixed
    rows = [
        (row.when, str(row.entry), row.what, row.supplier, row.batch, fixed(row.count, 0)) for row in values.dry_goods
    ]
    return tabled(columns, rows)


def allergens(values: Dossier) -> list[Block]:
    """What items and additives are known to bring, and what their wood held before."""
    columns = (
        Column("item", 40, stretch=1),
        Column("previous contents", 50, stretch=1),
        Column("allergens", 50, stretch=1),
    )
    rows = [
        (named(row.item), row.previous or "none recorded", row.allergens or "none recorded") for row in values.allergens
    ]
    return [*tabled(columns, rows), Lines((_ALLERGENS,))] if rows else []


def remarks(values: Dossier) -> list[Block]:
    """Holds, their lifting, and notes."""
    columns = (
        WHEN,
        ENTRY,
        Column("kind", 17),
        Column("item", 34),
        Column("text", 60, stretch=1),
        Column("who", 27),
    )
    rows = [(row.when, str(row.entry), row.kind, named(row.item), row.text, row.who) for row in values.remarks]
    return tabled(columns, rows)


def corrections(values: Dossier) -> list[Block]:
    """Entries that were voided or replaced, and why."""
    columns = (
        WHEN,
        ENTRY,
        Column("corrects", 16, "right"),
        Column("change", 20),
        Column("item", 34),
        Column("reason", 50, stretch=1),
        Column("who", 27),
    )
    rows = [
        (row.when, str(row.entry), str(row.corrects), row.change, named(row.item), row.reason, row.who)
        for row in values.corrections
    ]
    return tabled(columns, rows)


def people(values: Dossier) -> list[Block]:
    """Who had a part in the lot, by code or by name."""
    by_code = values.people_by == "codes"
    columns = (
        Column("code" if by_code else "person", 28),
        *(() if by_code else (Column("name", 60, stretch=1),)),
        Column("part", 70, stretch=1),
    )
    rows = [(Piece(row.id, SMALL_IDENTIFIER), *(() if by_code else (row.name,)), row.part) for row in values.people]
    told = tabled(columns, rows)
    return [Lines((_CODES,)), *told] if told and by_code else told


def despatches(values: Dossier) -> list[Block]:
    """Where the bottles went, with the sum, and what was not despatched."""
    fixed = values.imprint.notation.fixed
    columns = (
        WHEN,
        ENTRY,
        Column("customer", 60, stretch=1),
        Column("document", 34),
        Column("by", 30),
        Column("bottles", 18, "right"),
    )
    rows = [
        (row.when, str(row.entry), row.customer, row.document, row.who, fixed(row.bottles, 0))
        for row in values.despatches
    ]
    sent = sum(row.bottles for row in values.despatches)
    body = tabled(columns, rows, ("", "", "Sum, less returns", "", "", fixed(sent, 0)))
    if body and values.bottles is not None:
        left = fixed(values.bottles - sent, 0)
        body.append(Lines((f"Filled {fixed(values.bottles, 0)}; not despatched: {left}.",)))
    return body
