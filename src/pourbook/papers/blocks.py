"""What a paper says, before it is known whether on a page or on a screen: tables, facts, lines, parts, a picture.

The PDF and the HTML of a dossier are both made from these values, so their figures are the same.

>>> tabled((Column("ref", 30), Column("mass\\nkg", 20, align="right")), [("Hogshead 12", "212.400")])[0].rows
(('Hogshead 12', '212.400'),)
>>> tabled((Column("ref", 30),), [])
[]
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple, TypeAlias

from pourbook.papers.cells import BODY, Piece, Type
from pourbook.papers.marks import Drawing
from pourbook.papers.tables import Column

__all__ = ["Block", "Facts", "Lines", "Part", "Place", "Rows", "Signatures", "Symbol", "tabled"]

Place: TypeAlias = "str | Piece | tuple[Piece, ...]"
"""What a place of a table or a fact holds: text, or pieces below each other."""


class Rows(NamedTuple):
    """A table of columns and rows; an empty `total` gives it no last row."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Place, ...], ...]
    total: tuple[Place, ...] = ()


class Facts(NamedTuple):
    """Labelled facts; `across` of them stand side by side on a page."""

    pairs: tuple[tuple[str, Place], ...]
    across: int = 4


class Lines(NamedTuple):
    """Texts, each a line of running text or more, in one type; `above_pt` parts them from a table above."""

    texts: tuple[str, ...]
    type: Type = BODY
    above_pt: float = 0.0


class Symbol(NamedTuple):
    """A QR symbol, with facts beside it."""

    text: str
    beside: tuple[tuple[str, Place], ...]


class Signatures(NamedTuple):
    """Lines to be signed, one for each role such as "Checked by": name, signature, date."""

    roles: tuple[str, ...]


class Part(NamedTuple):
    """Blocks under a heading of the second order."""

    title: str
    blocks: tuple["Block", ...]


Block: TypeAlias = "Rows | Facts | Lines | Symbol | Drawing | Signatures | Part"


def tabled(columns: Sequence[Column], rows: Iterable[Sequence[Place]], total: Sequence[Place] = ()) -> "list[Block]":
    """A table, or nothing when it would have no rows."""
    kept = tuple(map(tuple, rows))
    return [Rows(tuple(columns), kept, tuple(total))] if kept else []
