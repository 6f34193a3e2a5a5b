"""What the tables of the papers share: how an item is named, the columns of an entry, a table from its rows.

>>> [piece.text for piece in named(Named("C-000123-Y", "hogshead 12"))]
['C-000123-Y', 'hogshead 12']
>>> (table,) = listed(["oak"], [(WHEN, lambda wood: f"{wood}!")])
>>> table.rows
(('oak!',),)
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeVar

from reportlab.lib.units import mm  # loaded only by the verbs that print

from pourbook.papers.blocks import Block, Place, Rows, tabled
from pourbook.papers.cells import BODY, SMALL, SMALL_IDENTIFIER, Piece
from pourbook.papers.endpoints import Named
from pourbook.papers.page import Imprint
from pourbook.papers.tables import Column

__all__ = ["ENTRY", "WHEN", "listed", "named", "of_house", "signatures"]

WHEN = Column("when", 20)
ENTRY = Column("entry", 13, "right")

_SIGNING_ROOM_PT = 9 * mm

_Row = TypeVar("_Row")


def named(item: Named) -> tuple[Piece, ...]:
    """The identifier, and the name below it; either may be missing."""
    if not item.id:
        return (Piece(item.name),) if item.name else ()
    return (Piece(item.id, SMALL_IDENTIFIER), *((Piece(item.name, SMALL),) if item.name else ()))


def of_house(imprint: Imprint, contact: str = "") -> list[tuple[str, str]]:
    """What the house states of itself, under its labels; whom to call, too, where a label for that is given."""
    stated = {"Address": imprint.address, "Licence": imprint.licence} | ({contact: imprint.contact} if contact else {})
    return [(label, value) for label, value in stated.items() if value]


def signatures(signers: Mapping[str, str]) -> Block:
    """A row for each who answers for a paper, with room to write; the name where it is known."""
    columns = (Column("", 28), Column("name", 52, stretch=1), Column("signature", 52, stretch=1), Column("date", 30))
    room = Piece("", BODY._replace(leading_pt=_SIGNING_ROOM_PT - BODY.leading_pt))
    return Rows(columns, tuple((signer, (Piece(name), room), "", "") for signer, name in signers.items()))


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
