"""A page of rulers, on which a printer's offset and reach are measured and then corrected.

Ticks count from the edges of the page. The first and last visible tick show the printable area, the
distance of a tick from its number the offset, the bar the scale of the page; the smallest symbol that scans is
the smallest to use.

>>> from pourbook.labels.calibration import Calibration
>>> rulers_pdf("bench", (210.0, 297.0), Calibration(600))[:8]
b'%PDF-1.6'
"""

from io import BytesIO
from typing import TYPE_CHECKING, NamedTuple

from pourbook import typefaces
from pourbook.labels.calibration import Calibration
from pourbook.labels.label_drawing import LEAST_MODULE_DOTS, Frame, dots, draw_block, draw_symbol
from pourbook.labels.label_sheets import blank_pdf
from pourbook.labels.media import Media, Sheet
from pourbook.labels.symbols import symbol

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["rulers_pdf"]

_HAIR_MM = 0.1
_BAR_MM = 100.0
_PAGE_FROM_MM = 140.0  # a page as wide and high as this has room for words
_SYMBOLS_FROM_MM = 45.0  # and a label as wide and high as this for symbols
_CROSS_MM = 30.0  # where the rulers of a page meet, out of the way of hands and margins
_SYMBOL_DOTS = range(LEAST_MODULE_DOTS, 9)


class _Page(NamedTuple):
    """What is drawn on, and where its top left corner lies."""

    canvas: "Canvas"
    frame: Frame

    def dots(self, length_mm: float) -> int:
        return dots(length_mm, self.frame.dpi)

    def bar(self, left: int, top: int, width: int, height: int) -> None:
        """A black bar on whole dots."""
        at = self.frame
        draw_block(self.canvas, at._replace(left=at.left + left, top=at.top + top, width=width, height=height))

    def clear(self, left_mm: float, top_mm: float, width_mm: float, height_mm: float) -> None:
        """White, over whatever is there."""
        left, top, width, height = (self.dots(length) for length in (left_mm, top_mm, width_mm, height_mm))
        self.canvas.setFillGray(1)
        self.bar(left, top, width, height)
        self.canvas.setFillGray(0)

    def text(self, x_mm: float, y_mm: float, text: str, size_pt: float, align: typefaces.Align = "left") -> None:
        x, y = self.frame.x_pt(self.dots(x_mm)), self.frame.y_pt(self.dots(y_mm))
        typefaces.draw(self.canvas, x, y, text, typefaces.TEXT, size_pt, align)


def rulers_pdf(name: str, size_mm: tuple[float, float], calibration: Calibration, media: Media | None = None) -> bytes:
    """The test page of a printer, moved by its present offset; the labels of a sheet are outlined."""
    sink = BytesIO()
    canvas = blank_pdf(sink, f"Test page of printer {name}", size_mm, calibration.dpi)
    width, height = (dots(length, calibration.dpi) for length in size_mm)
    left, top = (dots(offset, calibration.dpi) for offset in calibration.offset_mm)
    page = _Page(canvas, Frame(calibration.dpi, height, left, top, width, height))
    if min(size_mm) >= _PAGE_FROM_MM:
        _page(page, name, size_mm, calibration, media)
    else:
        _label(page, name, size_mm, calibration)
    canvas.showPage()
    canvas.save()
    return sink.getvalue()


def _page(page: _Page, name: str, size_mm: tuple[float, float], calibration: Calibration, media: Media | None) -> None:
    wide, high = size_mm
    if isinstance(media, Sheet):
        _outlines(page, media)
        page.clear(43.0, 41.0, wide - 58.0, 97.0)
    _ruler(page, wide, _CROSS_MM, _CROSS_MM, down=False)
    _ruler(page, high, _CROSS_MM, _CROSS_MM, down=True)
    page.text(45, 48, f"Test page of printer {name}", 16)
    page.text(45, 54, _set_to(calibration), 9)
    page.bar(page.dots(45), page.dots(62), page.dots(_BAR_MM), page.dots(2.0))
    lines = (
        "1  The bar should be 100.0 mm long. If it is not, the page was scaled: print at 100 %.",
        "2  Measure from the left edge of the paper to tick 40, and from the top edge to its tick 40.",
        "     Below 40.0 mm, add the difference to --offset-x or --offset-y; above it, subtract.",
        "3  The first and last visible ticks show the printable area: set --margins LEFT,TOP,RIGHT,FOOT.",
        "4  Scan the symbols. The smallest that scans every time is the smallest this printer can print.",
    )
    for number, line in enumerate(lines):
        page.text(45, 72 + 5.5 * number, line, 9)
    _symbols(page, 45.0, 103.0, wide - 20.0)
    _combs(page, 45.0, 125.0)


def _label(page: _Page, name: str, size_mm: tuple[float, float], calibration: Calibration) -> None:
    """On a label of a roll there is room for the rulers and little else."""
    wide, high = size_mm
    _ruler(page, wide, high / 2, wide / 2, down=False)
    _ruler(page, high, wide / 2, high / 2, down=True)
    page.text(1.5, high - 1.5, name, 5)
    page.text(wide / 2 + 5.0, high - 1.5, f"{calibration.dpi:g} dpi", 5)
    if min(size_mm) >= _SYMBOLS_FROM_MM:
        _symbols(page, wide / 2 + 6.0, high / 2 + 6.0, wide - 2.0)


def _set_to(calibration: Calibration) -> str:
    x, y = calibration.offset_mm
    margins = ", ".join(f"{margin:g}" for margin in calibration.margins_mm)
    offset = f"{x:+g} mm right, {y:+g} mm down".replace("-", "−")
    return f"now: {calibration.dpi:g} dpi, offset {offset}, margins {margins} mm"


def _ruler(page: _Page, length_mm: float, at_mm: float, crossed_mm: float, *, down: bool) -> None:
    """A ruler from the left edge of the page to the right, its ticks above; or from top to foot, its ticks left."""
    hair = max(1, page.dots(_HAIR_MM))

    def bar(along: int, beside: int, length: int, height: int) -> None:
        page.bar(*((beside, along, height, length) if down else (along, beside, length, height)))

    for mm in range(int(length_mm) + 1):
        tick = page.dots(4.0 if mm % 10 == 0 else 3.0 if mm % 5 == 0 else 2.0)
        bar(page.dots(mm), page.dots(at_mm) - tick, hair, tick)
        end, apart = (1, 2) if down else (2, 5)
        if mm % 10 == 0 and 0 < mm < length_mm - end and abs(mm - crossed_mm) > apart:
            x_mm, y_mm = (at_mm + 0.8, mm + 0.8) if down else (mm, at_mm + 2.6)
            page.text(x_mm, y_mm, str(mm), 6, "left" if down else "centre")
    bar(0, page.dots(at_mm), page.dots(length_mm), hair)


def _outlines(page: _Page, sheet: Sheet) -> None:
    """The edges of the labels of a sheet, to be held against the light with one."""
    width, height = page.dots(sheet.width_mm), page.dots(sheet.height_mm)
    for place in range(1, sheet.places + 1):
        left, top = (page.dots(length) for length in sheet.corner_mm(place))
        for x, y, wide, high in ((0, 0, width, 1), (0, height, width, 1), (0, 0, 1, height), (width, 0, 1, height)):
            page.bar(left + x, top + y, wide, high)


def _symbols(page: _Page, x_mm: float, y_mm: float, end_mm: float) -> None:
    """The same symbol with ever larger modules, each saying how many dots that is."""
    for module in _SYMBOL_DOTS:
        mark = symbol("data-matrix", f"{module}DOTS{page.frame.dpi:.0f}")
        side = module * mark.width_modules
        side_mm = side * 25.4 / page.frame.dpi
        if x_mm + side_mm > end_mm:
            break
        left, top = page.frame.left + page.dots(x_mm), page.frame.top + page.dots(y_mm)
        draw_symbol(page.canvas, mark, page.frame._replace(left=left, top=top, width=side, height=side), 0.0)
        page.text(x_mm + side_mm / 2, y_mm + side_mm + 2.6, str(module), 6, "centre")
        x_mm += side_mm + 4.0


def _combs(page: _Page, x_mm: float, y_mm: float) -> None:
    """Lines and gaps of one, two and three dots, both ways: where they run together, ink or heat bleeds."""
    left, top, side = page.dots(x_mm), page.dots(y_mm), page.dots(8.0)
    for thick in (1, 2, 3):
        for step in range(0, side, 2 * thick):
            page.bar(left + step, top, thick, side)
            page.bar(left + side + page.dots(3.0), top + step, side, thick)
        page.text((left + side) * 25.4 / page.frame.dpi + 1.5, y_mm + 11.0, f"{thick}", 6, "centre")
        left += 2 * side + page.dots(10.0)
