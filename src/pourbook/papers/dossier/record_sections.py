"""The sections of a dossier about what was done and said, from dry goods to despatches.

Each takes the dossier and makes the content of its section; nothing when there is nothing to show.

>>> from pourbook.papers.page import Imprint
>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> bare = Dossier(imprint, "L-000004-D", "L000004D", "Ash")
>>> corrections(bare)
[]
"""

from pourbook.papers.blocks import Block, Lines, Part, Place
from pourbook.papers.cells import SMALL, SMALL_IDENTIFIER, Piece
from pourbook.papers.dossier.dossier_rows import BottlingLine, Despatch
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.listing import ENTRY, WHEN, listed, named
from pourbook.papers.tables import Column
from pourbook.words.statement_words import CHECK

__all__ = [
    "allergens", "approvals", "corrections", "despatches", "dry_goods", "people", "remarks", "statements",
]  # fmt: skip

_CODES = (
    "A code such as MA/17 stands for the person who recorded entry 17; only the house can resolve it from its journal."
)
_ALLERGENS = "As recorded by the house; local law decides what the label declares."


def dry_goods(values: Dossier) -> list[Block]:
    """Bottles, closures, labels, cartons, filters, as recorded of the lot; and its bottling run, where it had one."""
    fields = (
        (Column("what", 40), lambda row: row.kind),
        (Column("as recorded: kind, supplier, batch", 120, stretch=1), lambda row: row.text),
    )
    run = listed(
        values.bottling,
        ((Column("about", 40), lambda row: row.about), (Column("as counted and measured", 120, stretch=1), _said)),
    )
    return [*listed(values.dry_goods, fields), *([Part("Bottling run", tuple(run))] if run else [])]


def _said(row: BottlingLine) -> str:
    return row.text


def allergens(values: Dossier) -> list[Block]:
    """What items and additives are known to bring, and what their wood held before."""
    table = listed(
        values.allergens,
        (
            (Column("item", 40, stretch=1), lambda row: named(row.item)),
            (Column("previous contents", 50, stretch=1), lambda row: row.previous or "none recorded"),
            (Column("allergens", 50, stretch=1), lambda row: row.allergens or "none recorded"),
        ),
    )
    return [*table, Lines((_ALLERGENS,), above_pt=3)] if table else []


def remarks(values: Dossier) -> list[Block]:
    """Holds, releases and notes."""
    return listed(
        values.remarks,
        (
            (WHEN, lambda row: row.when),
            (ENTRY, lambda row: str(row.entry)),
            (Column("kind", 17), lambda row: row.kind),
            (Column("item", 34), lambda row: named(row.item)),
            (Column("text", 60, stretch=1), lambda row: row.text),
            (Column("who", 27), lambda row: row.who),
        ),
    )


def statements(values: Dossier) -> list[Block]:
    """What the label is to say, whether it may, and the word to the reader."""
    found = listed(
        values.statements,
        (
            (Column("statement", 32, stretch=1), lambda row: row.statement),
            (Column("", 22), lambda row: row.stands),
            (Column("because", 52, stretch=2), lambda row: row.because),
            (Column("rule", 48, stretch=2), lambda row: row.rule),
        ),
    )
    return [*found, Lines((f"{CHECK[0].upper()}{CHECK[1:]}.",), SMALL)] if found else []


def approvals(values: Dossier) -> list[Block]:
    """Who approved or rejected it, or a batch behind it."""
    return listed(
        values.approvals,
        (
            (WHEN, lambda row: row.when),
            (ENTRY, lambda row: str(row.entry)),
            (Column("", 17), lambda row: row.said),
            (Column("item", 34), lambda row: named(row.item)),
            (Column("text", 60, stretch=1), lambda row: row.text),
            (Column("who", 27), lambda row: row.who),
        ),
    )


def corrections(values: Dossier) -> list[Block]:
    """Entries that were voided or replaced, and why."""
    return listed(
        values.corrections,
        (
            (WHEN, lambda row: row.when),
            (ENTRY, lambda row: str(row.entry)),
            (Column("corrects", 16, "right"), lambda row: str(row.corrects)),
            (Column("change", 20), lambda row: row.change),
            (Column("item", 34), lambda row: named(row.item)),
            (Column("reason", 50, stretch=1), lambda row: row.reason),
            (Column("who", 27), lambda row: row.who),
        ),
    )


def people(values: Dossier) -> list[Block]:
    """Who had a part in the lot, by code or by name."""
    by_code = values.people_by == "codes"
    table = listed(
        values.people,
        [
            (Column("code" if by_code else "person", 28), lambda row: Piece(row.id, SMALL_IDENTIFIER)),
            (Column("name", 60, stretch=1), lambda row: row.name),
            (Column("part", 70, stretch=1), lambda row: row.part),
        ][:: 2 if by_code else 1],
    )
    return [Lines((_CODES,)), *table] if table and by_code else table


def despatches(values: Dossier) -> list[Block]:
    """Where the bottles went, with the sum, and what was not despatched."""
    fixed, sent = values.imprint.notation.fixed, sum(row.bottles for row in values.despatches)
    table = listed(
        values.despatches,
        (
            (WHEN, lambda row: row.when),
            (ENTRY, lambda row: str(row.entry)),
            (Column("customer", 46, stretch=1), _customer),
            (Column("document", 30), lambda row: row.document),
            (Column("carrier", 30), lambda row: row.carrier),
            (Column("who", 24), lambda row: row.who),
            (Column("bottles", 18, "right"), lambda row: fixed(row.bottles, 0)),
        ),
        ("", "", "Sum, less returns", "", "", "", fixed(sent, 0)),
    )
    if not table or values.bottles is None:
        return table
    left = fixed(values.bottles - sent, 0)
    return [*table, Lines((f"Filled {fixed(values.bottles, 0)}; not despatched: {left}.",), above_pt=3)]


def _customer(row: Despatch) -> Place:
    """Who, where it was delivered, whom to call, and its cases."""
    units = (Piece(text, SMALL_IDENTIFIER) for text in row.units)
    told = (Piece(text, SMALL) for text in (row.address, row.contact) if text)
    return (Piece(row.customer), *told, *units)
