"""What the tables of the papers share: how an item is named, the columns of an entry, a table from its rows.

>>> [piece.text for piece in named(Named("C-000123-Y", "hogshead 12"))]
['C-000123-Y', 'hogshead 12']
>>> (table,) = listed(["oak"], [(WHEN, lambda wood: f"{wood}!")])
>>> table.rows
(('oak!',),)
"""

from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from pourbook.papers.blocks import Block, Place, tabled
from pourbook.papers.cells import SMALL, SMALL_IDENTIFIER, Piece
from pourbook.papers.endpoints import Named
from pourbook.papers.tables import Column

__all__ = ["ENTRY", "WHEN", "listed", "named"]

WHEN = Column("when", 20)
ENTRY = Column("entry", 13, "right")

_Row = TypeVar("_Row")


def named(item: Named) -> tuple[Piece, ...]:
    """The identifier, and the name below it; either may be missing."""
    if not item.id:
        return (Piece(item.name),) if item.name else ()
    return (Piece(item.id, SMALL_IDENTIFIER), *((Piece(item.name, SMALL),) if item.name else ()))


def listed(
    rows: Iterable[_Row], fields: Sequence[tuple[Column, Callable[[_Row], Place]]], total: Sequence[Place] = ()
) -> list[Block]:
    """A table of rows, each column with what it says of a row; nothing when there are no rows.

    A column after the first that says nothing of any row is left out.
    """
    told = [[say(row) for _, say in fields] for row in rows]
    kept = [
        index
        for index in range(len(fields))
        if index == 0 or any(_says_something(row[index]) for row in told) or (total and _says_something(total[index]))
    ]
    columns = [fields[index][0] for index in kept]
    return tabled(columns, [[row[index] for index in kept] for row in told], [total[index] for index in kept if total])


def _says_something(place: Place) -> bool:
    pieces = (place,) if isinstance(place, str | Piece) else place
    return any(piece.text if isinstance(piece, Piece) else piece for piece in pieces)
