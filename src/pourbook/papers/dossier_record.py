"""The sections of a dossier about what was done and said, from dry goods to despatches.

Each takes the dossier and a width in points and makes the content of its section; nothing when
there is nothing to show.

>>> from pourbook.papers.page import Imprint
>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> bare = Dossier(imprint, "L-000004-D", "L000004D", "Ash")
>>> corrections(bare, width_pt=500)
[]
"""

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook.papers.cells import SMALL_IDENTIFIER, Piece
from pourbook.papers.dossier_columns import ENTRY, WHEN, named, table
from pourbook.papers.dossier_values import Dossier
from pourbook.papers.sections import lines
from pourbook.papers.tables import Column

__all__ = ["corrections", "despatches", "dry_goods", "people", "remarks"]


def dry_goods(values: Dossier, width_pt: float) -> list[Flowable]:
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
    return table(columns, rows, width_pt)


def remarks(values: Dossier, width_pt: float) -> list[Flowable]:
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
    return table(columns, rows, width_pt)


def corrections(values: Dossier, width_pt: float) -> list[Flowable]:
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
    return table(columns, rows, width_pt)


def people(values: Dossier, width_pt: float) -> list[Flowable]:
    """Who had a part in the lot."""
    columns = (Column("person", 24), Column("name", 60, stretch=1), Column("part", 70, stretch=1))
    rows = [(Piece(row.id, SMALL_IDENTIFIER), row.name, row.part) for row in values.people]
    return table(columns, rows, width_pt)


def despatches(values: Dossier, width_pt: float) -> list[Flowable]:
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
    body = table(columns, rows, width_pt, ("", "", "Sum, less returns", "", "", fixed(sent, 0)))
    if body and values.bottles is not None:
        left = fixed(values.bottles - sent, 0)
        body += [Spacer(0, 4), *lines([f"Filled {fixed(values.bottles, 0)}; not despatched: {left}."])]
    return body
