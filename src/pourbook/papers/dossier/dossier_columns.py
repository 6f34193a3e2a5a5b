"""What the tables of a dossier share: the columns of an entry, and how an item is named.

>>> [piece.text for piece in named(Named("C-000123-Y", "hogshead 12"))]
['C-000123-Y', 'hogshead 12']
>>> table((WHEN, ENTRY), [], width_pt=200)
[]
"""

from collections.abc import Sequence

from reportlab.platypus import Flowable  # loaded only by the verbs that print

from pourbook.papers.cells import SMALL, SMALL_IDENTIFIER, Piece
from pourbook.papers.dossier.dossier_rows import Named
from pourbook.papers.tables import Column, Content, paper_table

__all__ = ["ENTRY", "WHEN", "Row", "named", "table"]

Row = Sequence[Content]

WHEN = Column("when", 20)
ENTRY = Column("entry", 13, "right")


def named(item: Named) -> tuple[Piece, ...]:
    """The identifier, and the name below it; either may be missing."""
    if not item.id:
        return (Piece(item.name),) if item.name else ()
    return (Piece(item.id, SMALL_IDENTIFIER), *((Piece(item.name, SMALL),) if item.name else ()))


def table(columns: Sequence[Column], rows: Sequence[Row], width_pt: float, total: Row = ()) -> list[Flowable]:
    """A table, or nothing when it would have no rows."""
    return [paper_table(columns, rows, width_pt, total)] if rows else []
