"""Draws labels so that they scan: every bar on whole printer dots, every symbol one path.

Bars that fall between the dots of a printer come out a dot too wide or too narrow, and a
symbol drawn bar by bar gets seams. So pages are a whole number of dots (a hair less, for some
drivers round up), modules are whole dots, and a symbol is one path whose edges are pulled
in by a tenth of a dot, too little to see and enough to stop a driver from painting the dot
beyond. This was tried on three PDF renderers: no bar off the grid, where plain rectangles put
up to three in five off it.

>>> dots(25.4, 203), page_pt(295, 295, 300)
(203, (70.799, 70.799))
"""

from collections.abc import Iterator
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from pourbook import typefaces
from pourbook.errors import OutOfRange
from pourbook.labels.fitting import LEADING, Fitted, cap_height, descent, fit, would_fit
from pourbook.labels.label import Label
from pourbook.labels.label_layout import Box, SymbolField, Template, TextField
from pourbook.labels.symbols import MODULES_MM, Symbol, outlines, symbol

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = [
    "LEAST_MODULE_DOTS", "Frame", "dots", "draw_block", "draw_label", "draw_symbol", "fitted_text", "inked",
    "module_dots", "page_pt", "set_lines", "symbol_on",
]  # fmt: skip

LEAST_MODULE_DOTS = 2
"""Dots across the smallest module; single dots bleed on thermal heads (common practice)."""

_OF_AN_ADDRESS = 0.75
"""Modules of an address may be smaller by so much: it is longer, and telephones come near (our own, no source)."""

_PULLED_IN = 1  # in tenths of a dot
_PAGE_SHORT_PT = 0.001
_PT_PER_MM = 72 / 25.4


def dots(length_mm: float, dpi: float) -> int:
    """A length in whole printer dots."""
    return round(length_mm / 25.4 * dpi)


def page_pt(width_dots: int, height_dots: int, dpi: float) -> tuple[float, float]:
    """Size in points of a page of whole dots: a hair less, so that no renderer rounds up."""
    return round(width_dots * 72 / dpi - _PAGE_SHORT_PT, 6), round(height_dots * 72 / dpi - _PAGE_SHORT_PT, 6)


class Frame(NamedTuple):
    """A label or a box on a page `page_dots` high: left, top, width and height in whole dots, `dpi` to the inch."""

    dpi: float
    page_dots: int
    left: int
    top: int
    width: int
    height: int

    def within(self, box: Box) -> "Frame":
        """The frame of a box on the label of this frame."""
        left, right = dots(box.x_mm, self.dpi), dots(box.x_mm + box.width_mm, self.dpi)
        top, foot = dots(box.y_mm, self.dpi), dots(box.y_mm + box.height_mm, self.dpi)
        return Frame(self.dpi, self.page_dots, self.left + left, self.top + top, right - left, foot - top)

    def x_pt(self, across_dots: float) -> float:
        """Points from the left of the page, for dots from the left of the frame."""
        return (self.left + across_dots) * 72 / self.dpi

    def y_pt(self, down_dots: float) -> float:
        """Points from the foot of the page, for dots from the top of the frame."""
        return (self.page_dots - self.top - down_dots) * 72 / self.dpi


def module_dots(mark: Symbol, frame: Frame, least_module_mm: float) -> int:
    """Dots across a module, as many as let the symbol with its quiet zone fit the frame.

    Raises:
        OutOfRange: the module would be too small; says what would fit.
    """
    across = frame.width // mark.width_modules
    down = across if mark.linear else frame.height // mark.height_modules
    count = min(across, down, _most_dots(mark, frame.dpi))
    least = max(LEAST_MODULE_DOTS, ceil((least_module_mm - 0.001) * frame.dpi / 25.4))
    if count >= least:
        return count
    wide = mark.width_modules * least * 25.4 / frame.dpi
    high = "" if mark.linear else f" x {mark.height_modules * least * 25.4 / frame.dpi:.1f}"
    place = f"{frame.width * 25.4 / frame.dpi:.1f} x {frame.height * 25.4 / frame.dpi:.1f} mm"
    raise OutOfRange(
        f"a {mark.kind} of '{mark.text}' at {frame.dpi:g} dpi needs {wide:.1f}{high} mm and has {place}",
        "use a larger label, a finer printer, or another kind of symbol",
    )


def _most_dots(mark: Symbol, dpi: float) -> int:
    """The most dots that a module may have where a standard sets a limit."""
    return int((MODULES_MM[mark.kind][1] + 0.001) * dpi / 25.4) if mark.kind in MODULES_MM else mark.columns * 1000


def symbol_on(label: Label, field: SymbolField, frame: Frame) -> tuple[Symbol, float]:
    """The symbol of a field in its frame, and the smallest module that it may have, in mm.

    A QR Code of our identifier holds the item's address, where the house's station has one and it fits.
    """
    own, least_mm = symbol(*field.said(label)), field.least_module_mm
    if own.kind != "qr" or own.text != label.code or not label.address:
        return own, least_mm
    addressed, least_mm = symbol("qr", label.address), least_mm * _OF_AN_ADDRESS
    try:
        module_dots(addressed, frame, least_mm)
    except OutOfRange:
        return own, field.least_module_mm
    return addressed, least_mm


def inked(mark: Symbol, frame: Frame, least_module_mm: float) -> Frame:
    """Where the dark modules stand, in the middle of a frame that holds the quiet zone. Raises as `module_dots`."""
    module = module_dots(mark, frame, least_module_mm)
    width, height = module * mark.columns, frame.height if mark.linear else module * len(mark.rows)
    left, top = frame.left + (frame.width - width) // 2, frame.top + (frame.height - height) // 2
    return frame._replace(left=left, top=top, width=width, height=height)


def draw_symbol(canvas: "Canvas", mark: Symbol, frame: Frame, least_module_mm: float) -> None:
    """Draw a symbol as one path in the middle of a frame that holds its quiet zone. Raises as `module_dots`."""
    ink, tenth = inked(mark, frame, least_module_mm), 7.2 / frame.dpi
    path = _path(mark, 10 * ink.width // mark.columns, 10 * ink.height // len(mark.rows))
    canvas.addLiteral(f"q {tenth:.12f} 0 0 {-tenth:.12f} {ink.x_pt(0):.8f} {ink.y_pt(0):.8f} cm {path}f Q")


def _path(mark: Symbol, module: int, row: int) -> str:
    """The outlines in PDF operators, in tenths of a dot from the top left: whole numbers, so exact."""
    rings = []
    for corners in outlines(mark.rows):
        points = [f"{x * module + _PULLED_IN * dx} {y * row + _PULLED_IN * dy}" for x, y, dx, dy in corners]
        rings.append(f"{points[0]} m {' l '.join(points[1:])} l h ")
    return "".join(rings)


def draw_label(canvas: "Canvas", label: Label, template: Template, frame: Frame) -> None:
    """Draw one label.

    Raises:
        OutOfRange: a text does not fit its box, or a symbol its own; says what would.
    """
    for field in template.symbols_on(label):
        within = frame.within(field.box)
        mark, least_mm = symbol_on(label, field, within)
        draw_symbol(canvas, mark, within, least_mm)
    for rule in template.rules_on(label):
        draw_block(canvas, frame.within(rule.box))
    for text, said in template.texts_on(label):
        _draw_text_field(canvas, text, fitted_text(said, text, label, template), frame.within(text.box))


def fitted_text(said: list[str], field: TextField, label: Label, template: Template) -> Fitted:
    """The parts set in their box; of a text that may be trimmed, the last parts go first.

    Raises:
        OutOfRange: they do not fit, and may not be trimmed; says what would fit.
    """
    room = field.room_mm[0] * _PT_PER_MM, field.room_mm[1] * _PT_PER_MM
    whole = field.style._replace(trim=False)
    least_parts = 1 if field.style.trim else len(said)
    for count in range(len(said), least_parts - 1, -1):
        if fitted := fit(field.join.join(said[:count]), whole, *room):
            return fitted
    if field.style.trim and (trimmed := fit(said[0], field.style, *room)):
        return trimmed
    text = field.join.join(said)
    raise OutOfRange(
        f"'{text}' of {label.id} does not fit its {field.room_mm[0]:g} x {field.room_mm[1]:g} mm of label "
        f"'{template.name}' at {whole.least_pt:g} pt",
        f"shorten it (as far as '{would_fit(text, whole, *room)}' would fit), or use a template with more room",
    )


def draw_block(canvas: "Canvas", frame: Frame) -> None:
    """A black rectangle, a dot thick at the least, pulled in as symbols are."""
    pull = _PULLED_IN / 10
    width, height = max(1, frame.width), max(1, frame.height)
    left, right = frame.x_pt(pull), frame.x_pt(width - pull)
    top, foot = frame.y_pt(pull), frame.y_pt(height - pull)
    canvas.rect(left, foot, right - left, top - foot, stroke=0, fill=1)


def _draw_text_field(canvas: "Canvas", field: TextField, fitted: Fitted, frame: Frame) -> None:
    if field.reverse:
        draw_block(canvas, frame)
        canvas.setFillGray(1)
    left, right = frame.x_pt(0), frame.x_pt(frame.width)
    top, foot = frame.y_pt(0), frame.y_pt(frame.height)
    room = (top - foot, right - left) if field.turn in (90, 270) else (right - left, top - foot)
    corner = left, top
    if field.turn:
        canvas.saveState()
        canvas.translate(*{90: (right, foot), 180: (right, top), 270: (left, top)}[field.turn])
        canvas.rotate(field.turn)
        corner = 0, room[1]
    for x, y, line in set_lines(field, fitted, room):
        typefaces.draw(canvas, corner[0] + x, corner[1] - y, line, field.style.face, fitted.size_pt, field.align)
    if field.turn:
        canvas.restoreState()
    if field.reverse:
        canvas.setFillGray(0)


def set_lines(field: TextField, fitted: Fitted, room: tuple[float, float]) -> Iterator[tuple[float, float, str]]:
    """The lines in their room: capitals at its top, in its middle, or its letters' feet at its foot.

    Points to the right and down from the room's corner, each to where the line starts, ends or is
    centred, on its base line.
    """
    face, size = field.style.face, fitted.size_pt
    block = size * (cap_height(face) + LEADING * (len(fitted.lines) - 1))
    spare = room[1] - block
    above = {"top": 0.0, "middle": spare / 2, "bottom": spare - size * descent(face)}[field.valign]
    inset = (room[0] - field.room_mm[0] * _PT_PER_MM) / 2 if field.reverse else 0.0
    x = {"left": inset, "centre": room[0] / 2, "right": room[0] - inset}[field.align]
    for number, line in enumerate(fitted.lines):
        yield x, above + size * cap_height(face) + number * LEADING * size, line
