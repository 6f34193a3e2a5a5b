"""The pour sheet of a blind session: what goes into which glass, the only paper that links a code with an item.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> items = (Poured("V-000001-R", "S 1", 4, 5.16, 9.92, 61.0),)
>>> trays = (Tray("Isla Farrow", (("417", "V-000001-R", "S 1"),)),)
>>> day, glass, seal = "2026-03-14", "15 ml, reduced to 21 % vol", "9f3c" * 16
>>> pour_sheet(PourSheet(imprint, "Autumn flight", "SESSION-31", "SESSION31", items, trays, day, glass, seal))[:5]
b'%PDF-'
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple

from reportlab.lib.units import mm  # loaded only by the verbs that print
from reportlab.platypus import Flowable, Spacer, Table

from pourbook import typefaces
from pourbook.papers.cells import BODY_STRONG, IDENTIFIER, SMALL, SMALL_IDENTIFIER, Box, Cell, Piece, Type
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import facts, initials, lines, section
from pourbook.papers.tables import Column, paper_table
from pourbook.words.paper_figures import Notation
from pourbook.words.session_words import CAUTION

__all__ = ["PourSheet", "Poured", "Tray", "pour_sheet"]

_NAME = Type(typefaces.SEMIBOLD, 13, 16)
_SEALED = Type(typefaces.BOLD, 11, 14, grey=1.0)
_CODE = Type(typefaces.BOLD, 13, 15)
_ACROSS = 6
"""Glasses of a tray in one row."""


class Poured(NamedTuple):
    """An item: id, what it is called, its glasses, mL of spirit and of water in each, its strength in percent vol."""

    id: str
    called: str
    glasses: int
    spirit_ml: float
    water_ml: float
    percent_vol: float | None


class Tray(NamedTuple):
    """The glasses of an assessor in the order of serving: code, identifier of the item in it, what that is called."""

    assessor: str
    glasses: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class PourSheet:
    """What a pour sheet says.

    With its imprint and date; the session's `id` is read and its `code` scanned. `items` are poured, `trays` set out.
    `glass`, `brings` and `alcohol` are words, `seal` the whole hash.
    """

    imprint: Imprint
    session: str
    id: str
    code: str
    items: tuple[Poured, ...]
    trays: tuple[Tray, ...]
    date: str
    glass: str
    seal: str
    brings: str = ""
    alcohol: str = ""


def pour_sheet(values: PourSheet, paper: str = "A4") -> bytes:
    """The sheet as PDF. Raises as `pourbook.papers.page.document`."""
    notation = values.imprint.notation

    def story(width_pt: float) -> list[Flowable]:
        stated = [("Date", values.date), ("In each glass", values.glass), ("Seal", values.seal[:16])]
        return [
            _band("SEALED. For whoever pours. Nobody who tastes sees it before the session is closed.", width_pt),
            Spacer(0, 6),
            Cell([Piece(values.session, _NAME)]),
            Spacer(0, 4),
            facts(stated, width_pt),
            *lines([f"Tell everybody before: {values.brings}", values.alcohol]),
            *lines([CAUTION], BODY_STRONG),
            *section("What goes into a glass", [_items(values.items, notation, width_pt)], width_pt),
            *section("Which glass is whose, in the order of serving", list(_trays(values.trays, width_pt)), width_pt),
            initials(("Poured by", "Checked by", "Date and time"), width_pt),
        ]

    return document(values.imprint, Title("Pour sheet", values.id, values.code), story, paper)


def _band(text: str, width_pt: float) -> Table:
    """White on black, across the sheet."""
    style = [("BACKGROUND", (0, 0), (-1, -1), "black"), ("TOPPADDING", (0, 0), (-1, -1), 4)]
    return Table([[Cell([Piece(text, _SEALED)])]], colWidths=[width_pt], style=style)


_COLUMNS = (
    Column("item", 30),
    Column("", 40, stretch=1),
    Column("% vol", 14, "right"),
    Column("glasses", 15, "right"),
    Column("spirit\nmL a glass", 20, "right"),
    Column("water\nmL a glass", 20, "right"),
    Column("spirit\nmL in all", 18, "right"),
    Column("water\nmL in all", 18, "right"),
    Column("", 8, is_middle=True),
)


def _items(items: tuple[Poured, ...], notation: Notation, width_pt: float) -> Flowable:
    rows = [
        (
            Piece(one.id, IDENTIFIER),
            one.called,
            notation.fixed(one.percent_vol, 1),
            str(one.glasses),
            notation.fixed(one.spirit_ml, 2),
            notation.fixed(one.water_ml, 2) if one.water_ml else "none",
            notation.fixed(one.glasses * one.spirit_ml, 1),
            notation.fixed(one.glasses * one.water_ml, 1) if one.water_ml else "none",
            Box(4.6 * mm, 4.6 * mm),
        )
        for one in items
    ]
    return paper_table(_COLUMNS, rows, width_pt)


def _trays(trays: tuple[Tray, ...], width_pt: float) -> Iterator[Flowable]:
    """A table with a row for each tray, in rows of a few glasses."""
    most = max(len(tray.glasses) for tray in trays)
    across = min(_ACROSS, most)
    columns = (Column("", 30), *(Column(f"{place}", 20, stretch=1) for place in range(1, across + 1)))
    rows: list[tuple[str | Piece | Cell, ...]] = []
    for tray in trays:
        left, name = iter(tray.glasses), Piece(tray.assessor, BODY_STRONG)
        while row := list(islice(left, across)):
            cells = [
                Cell([Piece(code, _CODE), Piece(item, SMALL_IDENTIFIER), Piece(called, SMALL)])
                for code, item, called in row
            ]
            rows.append((name, *cells, *[""] * (across - len(row))))
            name = Piece("", BODY_STRONG)
    yield paper_table(columns, rows, width_pt)
