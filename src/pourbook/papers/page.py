"""The look of every paper: size, head, foot, and the bytes of the file.

The first page opens with house, title, identifier as text and symbol, time of printing and journal.
Later pages repeat this in one line, so that a loose page can be put back. Each page ends with
one line of caution and its number. Equal values give equal bytes.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> pdf = document(imprint, Title("Bench sheet", "T-000042-K", "T000042K"), lambda width_pt: [])
>>> pdf[:5]
b'%PDF-'
"""

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from typing import NamedTuple

from reportlab.lib.pagesizes import A4, LETTER  # loaded only by the verbs that print
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate
from reportlab.platypus.doctemplate import LayoutError

from pourbook import typefaces
from pourbook.codes.digital_link import item_address
from pourbook.codes.identifiers import is_identifier
from pourbook.errors import Malformed, OutOfRange
from pourbook.labels.symbols import symbol
from pourbook.papers.cells import QUIET, Mark, Type, fitted_pt, scanned
from pourbook.words.paper_figures import Notation

__all__ = ["CAUTION", "PAPERS", "Imprint", "Title", "document", "first_room_pt", "text_width_pt"]

CAUTION = (
    "Working figures: the legal gauge, the label and the duty return follow the local authority and licensed "
    "practice. Vapour of strong spirit ignites at room temperature. Taste little, spit, do not drive."
)

PAPERS: dict[str, tuple[float, float]] = {"A4": A4, "Letter": LETTER}
"""Width and height in points, by name."""

_SIDE: float = 12 * mm
_TOP = 12 * mm
_FOOT = 18 * mm
_FIRST_HEAD = 23 * mm
_LATER_HEAD = 12 * mm
_SHORT_HASH = 16
_MARK_HIGH = 6 * mm
_MODULE_DOTS = 16

_HOUSE = Type(typefaces.SEMIBOLD, 9, 11)
_TITLE = Type(typefaces.BOLD, 21, 24)
_NUMBER = Type(typefaces.CODE_BOLD, 12, 14)
_RUNNING = Type(typefaces.SEMIBOLD, 9, 11)
_MARK = Type(typefaces.SEMIBOLD, 10, 12, grey=1.0)
_CAUTION = Type(typefaces.TEXT, 6.8, 8)


@dataclass(frozen=True, slots=True)
class Imprint:
    """Document control: where and when a paper was printed, where the journal stood, how the house writes.

    `entries` is the number of the journal's last entry, `head_hash` its 64 hexadecimal digits. The decimal mark is '.'
    or ','; `language` is a language tag for screen readers. `moment` names the date: "Printed", or "State of the book
    at" on what must always come out the same. `disagrees` says how the book differs from its journal; empty where it
    does not. `address`, `licence` and `contact` are those of the house; empty where it states none. `station` is where
    its station is reached: an item's symbol on the first page then holds the item's lasting address there. `signed` is
    where the journal stood as one signed it (`signing.heads.as_text`); empty where nobody did. `of_group` is where a
    group stood, with the heads of its sites (`signing.heads.unsigned_text`), and `sites` are their names by code.
    `site` is that of the house whose book it is; empty where the house has one alone.
    """

    house: str
    printed: str
    entries: int
    head_hash: str
    decimal_mark: str = "."
    language: str = "en"
    moment: str = "Printed"
    disagrees: str = ""
    address: str = ""
    licence: str = ""
    contact: str = ""
    station: str = ""
    signed: str = ""
    site: str = ""
    of_group: str = ""
    sites: tuple[str, ...] = ()

    @property
    def stood(self) -> tuple[str, str]:
        """Number and hash of where the journal stood; of a group, how many entries its sites have, and its head."""
        if not self.of_group:
            return str(self.entries), self.head_hash
        number, head = self.of_group.split(":")[2:4]
        return number, head

    @property
    def standing(self) -> tuple[str, str]:
        """Where the journal stood, in words, and the beginning of its hash."""
        number, head = self.stood
        of = f"Group of {len(self.sites)} sites, {number} entries" if self.sites else f"Journal at entry {number}"
        return of, head[:_SHORT_HASH]

    @property
    def issuer(self) -> str:
        """The house, with the site whose book it is."""
        return f"{self.house}, site {self.site}" if self.site else self.house

    @property
    def head_text(self) -> str:
        """Where the journal stood, as its symbol says it: signed, if it was; of a group, with its sites' heads."""
        return self.signed or self.of_group or f"pourbook:head:{self.entries}:{self.head_hash}"

    @property
    def dated(self) -> str:
        """The date and time with what it is of."""
        return f"{self.moment} {self.printed}"

    @property
    def stated(self) -> str:
        """Address and licence of the house, as far as it states them."""
        return "  ·  ".join(filter(None, (self.address, self.licence and f"licence {self.licence}")))

    @property
    def notation(self) -> Notation:
        """How numbers are written."""
        return Notation(self.decimal_mark)


class Title(NamedTuple):
    """What kind of paper it is and whose: the `id` as it is read, with hyphens; the `code` as it is scanned."""

    paper: str
    id: str
    code: str


class _Sheet(NamedTuple):
    """What the head and foot of a page are drawn from."""

    imprint: Imprint
    title: Title
    width: float
    height: float
    pages: int


def text_width_pt(paper: str = "A4") -> float:
    """Width between the margins of a paper, in points.

    >>> round(text_width_pt("A4") / 72 * 25.4)
    186

    Raises:
        Malformed: no such paper.
    """
    return _size(paper)[0] - 2 * _SIDE


def first_room_pt(paper: str = "A4") -> float:
    """Height between head and foot of the first page, in points. Raises as `text_width_pt`."""
    return float(_size(paper)[1] - _TOP - _FIRST_HEAD - _FOOT)


def _size(paper: str) -> tuple[float, float]:
    if paper not in PAPERS:
        raise Malformed(f"'{paper}' is not a supported paper size", f"use one of: {', '.join(PAPERS)}")
    return PAPERS[paper]


def document(imprint: Imprint, title: Title, story: Callable[[float], list[Flowable]], paper: str = "A4") -> bytes:
    """A paper as PDF.

    `story` makes the content for a width in points; it is called once to count pages and once to print, since flowables
    are used up.

    Raises:
        Malformed: no such paper, or an identifier that would scan as another one.
        OutOfRange: a single text longer than a page, or a figure that is no number.
    """
    width, height = _size(paper)
    scanned(title.id, title.code)
    for text in (imprint.issuer, imprint.printed, imprint.disagrees, title.paper):
        typefaces.runs(text, typefaces.TEXT)
    count, _ = _built(_Sheet(imprint, title, width, height, 0), story(text_width_pt(paper)))
    _, pdf = _built(_Sheet(imprint, title, width, height, count), story(text_width_pt(paper)))
    return pdf


def _built(sheet: _Sheet, story: list[Flowable]) -> tuple[int, bytes]:
    """Number of pages, and the bytes."""
    typefaces.register()
    file = BytesIO()
    template = BaseDocTemplate(
        file,
        pagesize=(sheet.width, sheet.height),
        title=f"{sheet.title.paper} {sheet.title.id}",
        author=sheet.imprint.issuer,
        creator="pourbook",
        lang=sheet.imprint.language,
        displayDocTitle=1,
        invariant=1,
        initialFontName=typefaces.TEXT,
    )
    first = _template("first", sheet, _FIRST_HEAD, _first_head)
    first.autoNextPageTemplate = "later"
    template.addPageTemplates([first, _template("later", sheet, _LATER_HEAD, _later_head)])
    try:
        template.build(story)
    except LayoutError as error:
        raise OutOfRange(
            f"a text on the {sheet.title.paper.lower()} of {sheet.title.id} is longer than a page",
            "shorten it",
        ) from error
    return template.page, file.getvalue()


def _template(name: str, sheet: _Sheet, head_pt: float, head: Callable[[Canvas, _Sheet], None]) -> PageTemplate:
    def on_page(canvas: Canvas, _template: BaseDocTemplate) -> None:
        canvas.saveState()
        head(canvas, sheet)
        _foot(canvas, sheet)
        _mark(canvas, sheet)
        canvas.restoreState()

    width, height = sheet.width - 2 * _SIDE, sheet.height - _TOP - head_pt - _FOOT
    return PageTemplate(name, Frame(_SIDE, _FOOT, width, height, 0, 0, 0, 0), onPage=on_page)


def _first_head(canvas: Canvas, sheet: _Sheet) -> None:
    top = sheet.height - _TOP
    edge = _symbol(canvas, sheet, *_address(sheet)) - 5 * mm
    room = edge - _SIDE
    _say(canvas, _SIDE, top - 8, sheet.imprint.issuer, _HOUSE, room)
    known = typefaces.width_pt(sheet.imprint.issuer, _HOUSE.face, _HOUSE.size_pt) + 3 * mm
    if sheet.imprint.stated and known < room * 0.8:
        _say(canvas, _SIDE + known, top - 8, sheet.imprint.stated, QUIET, room - known)
    _say(canvas, _SIDE, top - 31, sheet.title.paper, _TITLE, room)
    _say(canvas, _SIDE, top - 48, sheet.title.id, _NUMBER, room / 2)
    _say(canvas, edge, top - 39, sheet.imprint.dated, QUIET, room / 2, "right")
    _say(canvas, edge, top - 48, "  ·  ".join(sheet.imprint.standing), QUIET, room / 2, "right")
    _rule(canvas, sheet, top - _FIRST_HEAD + 3 * mm, 0.7)


def _later_head(canvas: Canvas, sheet: _Sheet) -> None:
    top = sheet.height - _TOP
    edge = _symbol(canvas, sheet, sheet.title.code, 8) - 4 * mm
    printed = sheet.imprint.dated
    room = edge - _SIDE
    beside = room - typefaces.width_pt(printed, QUIET.face, QUIET.size_pt) - 6 * mm
    _say(canvas, _SIDE, top - 8, f"{sheet.imprint.issuer}  ·  {sheet.title.paper}", _RUNNING, beside)
    _say(canvas, _SIDE, top - 21, sheet.title.id, _RUNNING._replace(face=typefaces.CODE_BOLD), room / 2)
    _say(canvas, edge, top - 8, printed, QUIET, room / 2, "right")
    _say(canvas, edge, top - 21, "  ·  ".join(sheet.imprint.standing), QUIET, room / 2, "right")
    _rule(canvas, sheet, top - _LATER_HEAD + 3 * mm, 0.7)


def _foot(canvas: Canvas, sheet: _Sheet) -> None:
    right, room = sheet.width - _SIDE, sheet.width - 2 * _SIDE
    _rule(canvas, sheet, 14 * mm, 0.25)
    _say(canvas, _SIDE, 10.7 * mm, CAUTION, _CAUTION, room)
    _say(canvas, _SIDE, 7.2 * mm, f"{sheet.title.paper}  {sheet.title.id}", QUIET, room / 2)
    number = f"page {canvas.getPageNumber()} of {sheet.pages}"
    _say(canvas, right, 7.2 * mm, number, QUIET._replace(face=typefaces.SEMIBOLD), room / 2, "right")


def _mark(canvas: Canvas, sheet: _Sheet) -> None:
    """White on black in the upper margin, clear of the symbol: this book does not agree with its journal."""
    if not sheet.imprint.disagrees:
        return
    canvas.setFillGray(0)
    canvas.rect(_SIDE, sheet.height - _TOP + 4 * mm, sheet.width - 2 * _SIDE, _MARK_HIGH, stroke=0, fill=1)
    said, room = sheet.imprint.disagrees, sheet.width - 2 * _SIDE - 4 * mm
    _say(canvas, _SIDE + 2 * mm, sheet.height - _TOP + 5.8 * mm, said, _MARK, room)


def _address(sheet: _Sheet) -> tuple[str, int]:
    """What the symbol of the first page says, and the dots of a module: a longer text takes as much room."""
    code, station = sheet.title.code, sheet.imprint.station
    if not station or not is_identifier(code):
        return code, _MODULE_DOTS
    address = item_address(station, code)
    return address, _MODULE_DOTS * symbol("qr", code).columns // symbol("qr", address).columns


def _symbol(canvas: Canvas, sheet: _Sheet, text: str, module_dots: int) -> float:
    """Draw the symbol with its dark modules flush to the corner; the left edge of the dark modules."""
    mark = Mark("qr", text, module_dots)
    x = sheet.width - _SIDE - mark.width + mark.quiet_pt
    mark.drawOn(canvas, x, sheet.height - _TOP - mark.height + mark.quiet_pt)
    return float(x + mark.quiet_pt)


def _say(
    canvas: Canvas, x: float, y: float, text: str, type_: Type, room: float, align: typefaces.Align = "left"
) -> None:
    """One line of text, set smaller where it would not fit its room."""
    canvas.setFillGray(type_.grey)
    typefaces.draw(canvas, x, y, text, type_.face, fitted_pt(text, type_, room), align)
    canvas.setFillGray(0)


def _rule(canvas: Canvas, sheet: _Sheet, y: float, weight: float) -> None:
    canvas.setLineWidth(weight)
    canvas.line(_SIDE, y, sheet.width - _SIDE, y)
