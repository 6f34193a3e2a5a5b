"""A sheet for each guest of a blending session to compose on: what stands on the table, bounds, lines to fill in.

>>> imprint = Imprint("Quillmere Distillery", "2026-11-12 18:10 GMT", 1284, "9f3c" * 16)
>>> row = SheetRow("S 26-01", "refill oak", "50.0", "90.0", "36.0", "V-000001-R", "V000001R")
>>> who = ("Isla Farrow",)
>>> sheet = GuestSheets(imprint, "Autumn", "BLENDING-12", "BLENDING12", who, "40 ml", "5 ml", (row,), "", "")
>>> guest_sheets(sheet)[:5]
b'%PDF-'
"""

from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

from reportlab.platypus import Flowable, PageBreak, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.papers.cells import BODY_STRONG, QUIET, SMALL_IDENTIFIER, Box, Cell, Mark, Piece, Type
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import facts, lines, signatures
from pourbook.papers.tables import Column, paper_table
from pourbook.words.session_words import CAUTION

__all__ = ["GuestSheets", "SheetRow", "guest_sheets"]

_NAME = Type(typefaces.SEMIBOLD, 13, 16)
_COLUMNS = (
    Column("on the table", 40, stretch=1, is_middle=True),
    Column("scan", 17, is_middle=True),
    Column("from\n%", 15, "right", is_middle=True),
    Column("to\n%", 15, "right", is_middle=True),
    Column("at most\nmL", 17, "right", is_middle=True),
    Column("my part\n%", 24, is_middle=True),
    Column("poured\nmL", 24, is_middle=True),
)
_HOW = (
    "Nose and taste what stands on the table. Write parts that make a hundred, each between its bounds. Have them"
    " entered, then pour by scanning your glass and each vial. Beyond bounds, the nearest allowed is the answer."
)
_MODULE_DOTS = 9


class SheetRow(NamedTuple):
    """A component: name, what it is, bounds (low, high) in per cent, most in mL, id as read and code as scanned."""

    name: str
    what: str
    low: str
    high: str
    most_ml: str
    id: str
    code: str


@dataclass(frozen=True, slots=True)
class GuestSheets:
    """What the sheets say, one for each of the guests: imprint, session with its `id` as read and `code` as scanned.

    `total` is of each blend, `glass` what is tasted of each; `rows` are what stands on the table; `alcohol` and
    `brings` (allergens) are words.
    """

    imprint: Imprint
    session: str
    id: str
    code: str
    guests: tuple[str, ...]
    total: str
    glass: str
    rows: tuple[SheetRow, ...]
    alcohol: str
    brings: str


def guest_sheets(values: GuestSheets, paper: str = "A4") -> bytes:
    """The sheets as PDF, a page for each guest. Raises as `pourbook.papers.page.document`."""

    def story(width_pt: float) -> list[Flowable]:
        pages = [[PageBreak(), *_page(values, guest, width_pt)] for guest in values.guests]
        return list(chain.from_iterable(pages))[1:]

    return document(values.imprint, Title("Blend sheet", values.id, values.code), story, paper)


def _page(values: GuestSheets, guest: str, width_pt: float) -> list[Flowable]:
    stated = [("Session", values.session), ("Your blend", values.total), ("In each glass", values.glass)]
    rows = [
        (
            (Piece(one.name, BODY_STRONG), Piece(one.what, QUIET), Piece(one.id, SMALL_IDENTIFIER)),
            Mark("qr", one.code, _MODULE_DOTS) if one.code else "",
            one.low, one.high, one.most_ml, Box(58, 22), Box(58, 22),
        )
        for one in values.rows
    ]  # fmt: skip
    return [
        Cell([Piece(guest, _NAME)]),
        Spacer(0, 4),
        facts(stated, width_pt, across=3),
        *lines([_HOW]),
        Spacer(0, 6),
        paper_table(_COLUMNS, rows, width_pt),
        Spacer(0, 10),
        facts([("Name of the blend", Box(width_pt * 0.46, 24)), ("Why", Box(width_pt * 0.46, 24))], width_pt, across=2),
        Spacer(0, 4),
        *lines([values.alcohol, values.brings]),
        *lines([CAUTION], BODY_STRONG),
        Spacer(0, 6),
        signatures(("Composed by",), width_pt),
    ]
