"""What stands in one place of a paper: lines of text, a figure, a symbol to scan, a box to write in.

Text is checked glyph by glyph when the cell is made, so a name that cannot be drawn is refused before a
page exists. Text wraps, and a word longer than its column breaks; a figure is set smaller until it fits.

>>> broken("Zażółć gęślą jaźń", BODY, width_pt=45)
['Zażółć gęślą', 'jaźń']
>>> broken("HOGSHEAD-2013", BODY, width_pt=50)
['HOGSHEAD-', '2013']
"""

from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise
from typing import NamedTuple

from reportlab.platypus import Flowable  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.errors import Malformed
from pourbook.labels.label_drawing import Frame, draw_symbol
from pourbook.labels.symbols import symbol

__all__ = [
    "BODY", "BODY_STRONG", "COLUMN_HEAD", "IDENTIFIER", "QUIET", "SMALL", "SMALL_IDENTIFIER", "Box", "Cell",
    "Mark", "Piece", "Type", "broken", "fitted_pt", "scanned", "shortened",
]  # fmt: skip

_BASE_LINE = 0.76
"""Where the base line lies below the top of a line, as part of its leading. It does not depend on
the type size, so that all cells of one row with the same leading share their base lines."""


_DPI = 600
_LEAST_MODULE_MM = 0.25


class Type(NamedTuple):
    """How a line is set: face, size, leading (distance of base lines), and grey (0 is black, 1 white)."""

    face: str
    size_pt: float
    leading_pt: float
    grey: float = 0.0


BODY = Type(typefaces.TEXT, 8.5, 10.5)
BODY_STRONG = Type(typefaces.SEMIBOLD, 8.5, 10.5)
SMALL = Type(typefaces.TEXT, 7.7, 10.5)
QUIET = Type(typefaces.TEXT, 7.5, 9.2, grey=0.32)
COLUMN_HEAD = Type(typefaces.SEMIBOLD, 7.2, 8.6)
IDENTIFIER = Type(typefaces.CODE_BOLD, 10, 12)
SMALL_IDENTIFIER = Type(typefaces.CODE, 7.6, 10.5)


class Piece(NamedTuple):
    """Text in one type; pieces of a cell stand below each other."""

    text: str
    type: Type = BODY


def fitted_pt(text: str, type_: Type, width_pt: float) -> float:
    """The largest type size, up to that of `type_`, at which text fits a width on one line."""
    width_at_1 = typefaces.width_pt(text, type_.face, 1)
    return min(type_.size_pt, width_pt / width_at_1) if width_at_1 else type_.size_pt


def broken(text: str, type_: Type, width_pt: float) -> list[str]:
    """Text as lines that fit a width; a word longer than that is broken by characters."""
    return [line for paragraph in text.splitlines() or [""] for line in _lines(paragraph, type_, width_pt)]


def _lines(paragraph: str, type_: Type, width_pt: float) -> list[str]:
    lines = [""]
    for word in paragraph.split(" "):
        for part in _parts(word, type_, width_pt):
            longer = f"{lines[-1]} {part}" if lines[-1] else part
            if not lines[-1] or _fits(longer, type_, width_pt):
                lines[-1] = longer
            else:
                lines.append(part)
    return lines


def _parts(word: str, type_: Type, width_pt: float) -> list[str]:
    """A word, or the pieces of one that is too long for a line, cut behind a hyphen where it has one."""
    parts = []
    while len(word) > 1 and not _fits(word, type_, width_pt):
        most = max((n for n in range(1, len(word)) if _fits(word[:n], type_, width_pt)), default=1)
        cut = word.rfind("-", 1, most) + 1 or most
        parts.append(word[:cut])
        word = word[cut:]
    return [*parts, word]


def _fits(text: str, type_: Type, width_pt: float) -> bool:
    return typefaces.width_pt(text, type_.face, type_.size_pt) <= width_pt + 0.01


def shortened(text: str, type_: Type, width_pt: float, figure: str = "") -> str:
    """Text and its figure in a width, the end of the text left out where it must be; the figure stays whole."""
    if _fits(text + figure, type_, width_pt):
        return text + figure
    shorter = (text[:end].rstrip() + "…" + figure for end in range(len(text) - 1, 0, -1))
    return next((short for short in shorter if _fits(short, type_, width_pt)), "…" + figure)


class Cell(Flowable):  # type: ignore[misc]  # reportlab comes without types
    """Pieces below each other, no line longer than `measure_pt`: text wraps, figures are set smaller to fit."""

    def __init__(
        self,
        pieces: Iterable[Piece],
        align: typefaces.Align = "left",
        wraps: bool = True,
        measure_pt: float = float("inf"),
    ) -> None:
        super().__init__()
        self.measure_pt = measure_pt
        self.pieces = tuple(pieces)
        self.align = align
        self.wraps = wraps
        self.lines: list[Piece] = []
        for piece in self.pieces:
            typefaces.runs(piece.text, piece.type.face)

    def wrap(self, width_pt: float, _height_pt: float) -> tuple[float, float]:
        """Break the text for a width; the height it needs, in points."""
        self.width = width_pt
        self.lines = [line for piece in self.pieces for line in self._set(piece, min(width_pt, self.measure_pt))]
        self.height = sum(line.type.leading_pt for line in self.lines)
        return self.width, self.height

    def _set(self, piece: Piece, width_pt: float) -> list[Piece]:
        if self.wraps:
            return [Piece(line, piece.type) for line in broken(piece.text, piece.type, width_pt)]
        return [Piece(piece.text, piece.type._replace(size_pt=fitted_pt(piece.text, piece.type, width_pt)))]

    def split(self, width_pt: float, height_pt: float) -> list[Flowable]:
        """The lines that fit a height and the rest; nothing when not even one fits."""
        self.wrap(width_pt, height_pt)
        bottoms = accumulate(line.type.leading_pt for line in self.lines)
        fitting = sum(bottom <= height_pt for bottom in bottoms)
        return self._cut([fitting]) if fitting else []

    def chunks(self, width_pt: float, most_lines: int) -> list["Cell"]:
        """The lines, broken for a width, as cells of so many lines each."""
        self.wrap(width_pt, 0)
        return self._cut(range(most_lines, len(self.lines), most_lines))

    def _cut(self, behind: Sequence[int]) -> list["Cell"]:
        parts = [self.lines[start:end] for start, end in pairwise((0, *behind, len(self.lines)))]
        return [Cell(part, self.align, self.wraps, self.measure_pt) for part in parts if part]

    def draw(self) -> None:
        """Draw the lines, the first at the top."""
        x = {"left": 0.0, "centre": self.width / 2, "right": self.width}[self.align]
        top = self.height
        for text, type_ in self.lines:
            self.canv.setFillGray(type_.grey)
            y = top - _BASE_LINE * type_.leading_pt
            typefaces.draw(self.canv, x, y, text, type_.face, type_.size_pt, self.align)
            top -= type_.leading_pt
        self.canv.setFillGray(0)


class Box(Flowable):  # type: ignore[misc]  # reportlab comes without types
    """An empty ruled box of so many points: to write a reading in, or to tick."""

    def __init__(self, width_pt: float, height_pt: float) -> None:
        super().__init__()
        self.width, self.height = width_pt, height_pt

    def draw(self) -> None:
        """Draw the outline."""
        self.canv.setLineWidth(0.6)
        self.canv.setStrokeGray(0.25)
        self.canv.rect(0, 0, self.width, self.height)
        self.canv.setStrokeGray(0)


def scanned(id_: str, code: str) -> str:
    """The code, when what a scanner reads is what a person reads.

    >>> scanned("C-000123-Y", "C000124X")
    Traceback (most recent call last):
        ...
    pourbook.errors.Malformed: the paper would scan as 'C000124X' but read 'C-000123-Y'

    Raises:
        Malformed: the code is not the identifier without its hyphens.
    """
    if id_.replace("-", "") != code:
        raise Malformed(
            f"the paper would scan as '{code}' but read '{id_}'",
            "give the same identifier twice: without hyphens to scan, with hyphens to read",
        )
    return code


class Mark(Flowable):  # type: ignore[misc]  # reportlab comes without types
    """A square symbol, 'data-matrix' or 'qr', with its quiet zone; modules are whole dots of 600 to the inch."""

    def __init__(self, kind: str, text: str, module_dots: int) -> None:
        super().__init__()
        self.symbol = symbol(kind, text)
        self.side_dots = self.symbol.width_modules * module_dots
        self.width = self.height = self.side_dots * 72 / _DPI
        self.quiet_pt = self.symbol.quiet * module_dots * 72 / _DPI

    def draw(self) -> None:
        """Draw all dark modules as one path."""
        frame = Frame(_DPI, self.side_dots, 0, 0, self.side_dots, self.side_dots)
        draw_symbol(self.canv, self.symbol, frame, _LEAST_MODULE_MM)
