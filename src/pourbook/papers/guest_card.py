"""Cards of a blend that guests chose: what is in it, who made it, everybody's part, its code; four to a sheet.

>>> imprint = Imprint("Quillmere Distillery", "2026-11-12 21:10 GMT", 1284, "9f3c" * 16)
>>> part, guest = CardPart("S 26-01", "refill oak", 1.0), CardGuest("Isla Farrow", "Harbour light", "1", "71")
>>> card = GuestCard(imprint, "Autumn", "12 Nov 2026", "Harbour light", "Isla Farrow", "46.1 % vol", (part,), (guest,),
...     "T-000004-H", "T000004H", "Autumn: Harbour light", "Allergens: none recorded.")
>>> guest_cards(card)[:5]
b'%PDF-'
"""

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import NamedTuple

from reportlab.pdfgen.canvas import Canvas  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.errors import Malformed
from pourbook.papers.cells import QUIET, Mark, Type, broken, fitted_pt, scanned, shortened
from pourbook.papers.marks import PALETTE, Drawing, Outline, Words, path, rectangle
from pourbook.papers.marks import Mark as Drawn
from pourbook.papers.marks_drawing import DrawnMarks
from pourbook.papers.page import PAPERS, Imprint
from pourbook.words.session_words import CAUTION

__all__ = ["CardGuest", "CardPart", "GuestCard", "card_drawn", "guest_cards"]

_SIDE, _TOP = 22.0, 24.0
_HOUSE = Type(typefaces.SEMIBOLD, 8, 10)
_NAME = Type(typefaces.BOLD, 22, 26)
_BY = Type(typefaces.TEXT, 10, 13)
_PART, _WHAT = Type(typefaces.SEMIBOLD, 8.2, 10), Type(typefaces.TEXT, 7, 9, grey=0.25)
_HEAD = Type(typefaces.SEMIBOLD, 7.4, 10)
_GUEST, _OWN = Type(typefaces.TEXT, 8, 11), Type(typefaces.SEMIBOLD, 8, 11)
_CODE = Type(typefaces.CODE_BOLD, 9, 11)
_SMALL = Type(typefaces.TEXT, 6.2, 7.6)
_PART_PT, _BAR_PT = 24.0, 5.0
_FOOT_PT, _BESIDE_PT = 86.0, 68.0
_MODULE_DOTS = 22


class CardPart(NamedTuple):
    """What went into the blend: a component by name, what it is, and its fraction, 0 to 1."""

    name: str
    what: str
    fraction: float


class CardGuest(NamedTuple):
    """A guest's part: as called, blend (empty: none), its mean rank and score in figures; empty where there is none."""

    called: str
    blend: str
    rank: str
    score: str


@dataclass(frozen=True, slots=True)
class GuestCard:
    """What the cards say.

    The blend, of these `parts`, was composed `by` a guest of a `session` on a date. `id` is read and `code` scanned;
    `recipe` is what it became; `strength` and `brings` (allergens) are words. There is a card for each of the `guests`;
    the imprint has the house.
    """

    imprint: Imprint
    session: str
    date: str
    blend: str
    by: str
    strength: str
    parts: tuple[CardPart, ...]
    guests: tuple[CardGuest, ...]
    id: str
    code: str
    recipe: str
    brings: str


def guest_cards(values: GuestCard, paper: str = "A4") -> bytes:
    """The cards as PDF, four to a sheet, with lines to cut along.

    Raises:
        Malformed: no such paper, or an identifier that would scan as another one.
    """
    if paper not in PAPERS:
        raise Malformed(f"'{paper}' is not a supported paper size", f"use one of: {', '.join(PAPERS)}")
    scanned(values.id, values.code)
    typefaces.register()
    sheet_width, sheet_height = PAPERS[paper]
    width, height = sheet_width / 2, sheet_height / 2
    file = BytesIO()
    canvas = Canvas(
        file, pagesize=PAPERS[paper], invariant=1, initialFontName=typefaces.TEXT, lang=values.imprint.language
    )
    canvas.setTitle(f"{values.blend} {values.id}")
    canvas.setAuthor(values.imprint.house)
    canvas.setCreator("pourbook")
    for number, guest in enumerate(values.guests):
        place = number % 4
        if number and not place:
            canvas.showPage()
        if not place:
            _cuts(canvas, sheet_width, sheet_height)
        x, y = place % 2 * width, height - place // 2 * height
        card = DrawnMarks(card_drawn(values, guest, width, height))
        card.drawOn(canvas, x, y)
        mark = Mark("qr", values.code, _MODULE_DOTS)
        mark.drawOn(canvas, x + _SIDE - mark.quiet_pt, y + _SIDE - mark.quiet_pt)
    canvas.save()
    return file.getvalue()


def _cuts(canvas: Canvas, width: float, height: float) -> None:
    canvas.setLineWidth(0.25)
    canvas.setStrokeGray(0.6)
    canvas.setDash([1, 4])
    canvas.line(width / 2, 0, width / 2, height)
    canvas.line(0, height / 2, width, height / 2)
    canvas.setDash([])
    canvas.setStrokeGray(0)


def card_drawn(values: GuestCard, guest: CardGuest, width: float, height: float) -> Drawing:
    """The card of a guest; the symbol at its foot is drawn apart."""
    right, inner = width - _SIDE, width - 2 * _SIDE
    marks: list[Drawn] = [
        *_line(_SIDE, _TOP + 7, values.imprint.house, _HOUSE, inner * 0.6),
        *_line(right, _TOP + 7, f"{values.session} · {values.date}", QUIET, inner * 0.5, "right"),
        Outline("rule", path(_SIDE, _TOP + 13, right, _TOP + 13), "", "#000000", 0.7),
        *_line(_SIDE, _TOP + 40, values.blend, _NAME, inner),
        *_line(_SIDE, _TOP + 55, f"composed by {values.by} · {values.strength}", _BY, inner),
    ]
    top, foot = _TOP + 74, height - _FOOT_PT - 8
    guests_pt = _HEAD.leading_pt + 4 + len(values.guests) * _GUEST.leading_pt
    step = min(_PART_PT, max((foot - top - guests_pt - 8) / len(values.parts), 13.0))
    for number, part in enumerate(values.parts):
        marks += _part(part, top + number * step, inner, values.imprint.notation.percent(part.fraction, 1), step)
    marks += _guests(values, guest, top + len(values.parts) * step + 8, foot, inner)
    marks += _foot(values, height, inner)
    return Drawing(width, height, tuple(marks), f"{values.blend}, composed by {values.by}")


def _line(x: float, y: float, text: str, type_: Type, room: float, align: typefaces.Align = "left") -> Iterator[Words]:
    """A line of text, set smaller to fit its room, down to two thirds; cut short beyond."""
    size = max(fitted_pt(text, type_, room), type_.size_pt * 2 / 3)
    set_ = type_._replace(size_pt=size)
    said = shortened(text, set_, room)
    yield Words(x - (typefaces.width_pt(said, set_.face, size) if align == "right" else 0.0), y, said, set_)


def _part(part: CardPart, top: float, inner: float, per_cent: str, step: float) -> Iterator[Drawn]:
    """A component with its part as a bar on one scale."""
    said = f"{per_cent} %"
    yield from _line(_SIDE, top + 8, part.name, _PART, inner * 0.4)
    used = typefaces.width_pt(part.name, _PART.face, _PART.size_pt)
    room = inner - min(used, inner * 0.4) - 52
    yield from _line(_SIDE + min(used, inner * 0.4) + 6, top + 8, part.what, _WHAT, room)
    yield from _line(_SIDE + inner, top + 8, said, _PART, 44, "right")
    if step > 16:
        bar = top + 11.5
        yield Outline("whole", rectangle(_SIDE, bar, inner, _BAR_PT), "#ffffff", "#8c8c8c", 0.35)
        yield Outline("part", rectangle(_SIDE, bar, inner * part.fraction, _BAR_PT), PALETTE["batch"], "#4d4d4d", 0.35)


def _guests(values: GuestCard, own: CardGuest, top: float, foot: float, inner: float) -> Iterator[Words]:
    """Everybody's part; the guest's own line is strong."""
    right = _SIDE + inner
    yield from _line(_SIDE, top + 8, "everybody's part", _HEAD, inner * 0.4)
    yield from _line(right - 40, top + 8, "mean rank", _HEAD, 50, "right")
    yield from _line(right, top + 8, "score", _HEAD, 40, "right")
    most = max(int((foot - top - _HEAD.leading_pt - 4) // _GUEST.leading_pt), 1)
    shown = values.guests if len(values.guests) <= most else values.guests[: most - 1]
    for number, one in enumerate(shown, start=1):
        y, type_ = top + 10 + number * _GUEST.leading_pt, _OWN if one == own else _GUEST
        yield from _line(_SIDE, y, one.called, type_, inner * 0.34)
        yield from _line(_SIDE + inner * 0.36, y, one.blend or "tasted", type_, inner * 0.36)
        yield from _line(right - 40, y, one.rank, type_, 30, "right")
        yield from _line(right, y, one.score, type_, 34, "right")
    if len(shown) < len(values.guests):
        said = f"and {len(values.guests) - len(shown)} more"
        yield from _line(_SIDE, top + 10 + (len(shown) + 1) * _GUEST.leading_pt, said, _GUEST, inner)


def _foot(values: GuestCard, height: float, inner: float) -> Iterator[Words]:
    """Beside the symbol: the code, the recipe, allergens, the caution."""
    x = _SIDE + _BESIDE_PT
    room, y = inner - _BESIDE_PT, height - _FOOT_PT + 6
    yield from _line(x, y + 4, values.id, _CODE, room)
    yield from _line(x, y + 15, f"recipe: {values.recipe}", _WHAT, room)
    said = [*broken(values.brings, _SMALL, room)[:2], *broken(CAUTION, _SMALL, room)]
    for number, text in enumerate(said):
        yield Words(x, y + 26 + number * _SMALL.leading_pt, text, _SMALL)
