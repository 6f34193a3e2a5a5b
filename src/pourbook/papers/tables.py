r"""Tables as every paper sets them.

Hairlines between the rows and rules round them, the head on every page, figures to the right.
The last row never stands alone on a page, and a text that is longer than a page goes on in the next.

>>> columns = (Column("ref", 30, stretch=1), Column("mass\nkg", 20, align="right"))
>>> table = paper_table(columns, [("Hogshead 12", "212.400")] * 9, width_pt=400)
>>> [len(part.rows) for part in table.split(400, table.height - 1) if isinstance(part, PaperTable)]
[7, 2]
"""

from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise, zip_longest
from typing import NamedTuple, TypeAlias

from reportlab.lib.units import mm  # reportlab: loaded only by the verbs that print
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from pourbook import typefaces
from pourbook.papers.cells import BODY, BODY_STRONG, COLUMN_HEAD, Cell, Piece, Type

__all__ = ["Column", "Content", "PaperTable", "Place", "Row", "paper_table", "placed", "places"]

Content: TypeAlias = "str | Piece | tuple[Piece, ...] | Flowable"
"""What a table's place may hold: text, text in a type, pieces below each other, or a flowable."""

_GAP_PT = 6.0
_WIDE_GAP_PT = 12.0
_PADDING_PT = 2.2
_HAIRLINE_PT, _HAIRLINE_GREY = 0.25, 0.55
_RULE_PT = 0.7
_LONG_TEXT = 300
_MOST_LINES = 30
_LAST_TOGETHER = 2


class Column(NamedTuple):
    """A column: its heading with the unit, in one line or several, and its least width, gap included.

    Figures align right and never wrap. `stretch` is its part of the width left over; contents of one that `is_middle`
    stand in the middle of the row's height.
    """

    head: str
    width_mm: float
    align: typefaces.Align = "left"
    stretch: float = 0.0
    is_middle: bool = False


class Place(NamedTuple):
    """Where the contents of a column stand, in points from the left of the table."""

    left: float
    width: float


class Row(NamedTuple):
    """Cells wrapped for their places; height includes the white, and a rule of weight 0 is none."""

    cells: Sequence[Flowable]
    height_pt: float
    rule_pt: float = _HAIRLINE_PT


def places(columns: Sequence[Column], width_pt: float) -> list[Place]:
    """Where columns stand that together fill a width; what is left over goes to those that stretch.

    The gap between two columns is wider where text follows figures, which would else run together.

    >>> [tuple(map(round, place)) for place in places((Column("a", 10), Column("b", 10, stretch=1)), 100)]
    [(0, 25), (31, 69)]
    """
    least = [column.width_mm * mm for column in columns]
    stretch = sum(column.stretch for column in columns) or 1.0
    spare = width_pt - sum(least)
    widths = [own + spare * column.stretch / stretch for own, column in zip(least, columns, strict=True)]
    aligns = pairwise(column.align for column in columns)
    before = [0.0, *(_WIDE_GAP_PT if pair == ("right", "left") else _GAP_PT for pair in aligns)]
    found = []
    for n, (right, width, gap) in enumerate(zip(accumulate(widths), widths, before, strict=True)):
        # Half of an ordinary gap stands at the end of each column but the last, the rest before the next.
        lead = gap - _GAP_PT / 2 if n else 0.0
        trail = _GAP_PT / 2 if n < len(widths) - 1 else 0.0
        found.append(Place(right - width + lead, width - lead - trail))
    return found


class PaperTable(Flowable):  # type: ignore[misc]  # reportlab comes without types
    """A table with its head, set for a width; it splits between rows, which have so much white above and below."""

    def __init__(
        self, columns: Sequence[Column], head: Row, rows: Sequence[Row], width_pt: float, padding_pt: float
    ) -> None:
        super().__init__()
        self.columns, self.head, self.rows, self.padding_pt = columns, head, rows, padding_pt
        self.width, self.height = width_pt, head.height_pt + sum(row.height_pt for row in rows)

    @property
    def first_part_pt(self) -> float:
        """Height of the head and the first two rows."""
        return self.head.height_pt + sum(row.height_pt for row in self.rows[:2])

    def split(self, _width_pt: float, height_pt: float) -> list[Flowable]:
        """The rows that fit a height and the rest, which begins a page; nothing when not even one fits."""
        bottoms = accumulate((row.height_pt for row in self.rows), initial=self.head.height_pt)
        fitting = sum(bottom <= height_pt for bottom in bottoms) - 1
        if fitting < len(self.rows):
            fitting = min(fitting, max(1, len(self.rows) - _LAST_TOGETHER))
        parts = (self.rows[:fitting], self.rows[fitting:]) if fitting > 0 else ()
        tables = [PaperTable(self.columns, self.head, part, self.width, self.padding_pt) for part in parts if part]
        # Where rows were held back for the rest, some of them would still fit below the first part.
        return [tables[0], CondPageBreak(tables[1].height), tables[1]] if len(tables) == 2 else tables

    def draw(self) -> None:
        """Draw head, rows and the lines below them."""
        columns = places(self.columns, self.width)
        top = self.height
        for row in (self.head, *self.rows):
            for cell, column, place in zip(row.cells, self.columns, columns, strict=True):
                spare = row.height_pt - 2 * self.padding_pt - cell.height
                above = spare if row is self.head else spare / 2 if column.is_middle else 0.0
                cell.drawOn(self.canv, place.left, top - self.padding_pt - above - cell.height)
            top -= row.height_pt
            if row.rule_pt:
                self.canv.setLineWidth(row.rule_pt)
                self.canv.setStrokeGray(0 if row.rule_pt == _RULE_PT else _HAIRLINE_GREY)
                self.canv.line(0, top, self.width, top)
                self.canv.setStrokeGray(0)


def paper_table(
    columns: Sequence[Column],
    rows: Iterable[Sequence[Content]],
    width_pt: float,
    total: Sequence[Content] = (),
    padding_pt: float = _PADDING_PT,
) -> PaperTable:
    """A table with a repeated head; a `total` is its last row, set apart by a rule."""
    rows = list(rows)
    columns = _widened(columns, rows, width_pt)
    standing = places(columns, width_pt)
    headings = [Cell([Piece(column.head, COLUMN_HEAD)], column.align) for column in columns]
    body = [row for contents in rows for row in _rows(contents, columns, standing, padding_pt)]
    body[-1:] = [row._replace(rule_pt=_RULE_PT) for row in body[-1:]]
    if total:
        last = _row(_cells(total, columns, BODY_STRONG), standing, padding_pt)
        body.append(last._replace(rule_pt=_RULE_PT))
    head = _row(headings, standing, padding_pt)._replace(rule_pt=_RULE_PT)
    return PaperTable(columns, head, body, width_pt, padding_pt)


def _widened(columns: Sequence[Column], rows: Sequence[Sequence[Content]], width_pt: float) -> list[Column]:
    """Columns of text as wide as their longest word, as far as others have width to spare."""
    spare = width_pt - sum(column.width_mm for column in columns) * mm
    widened = list(columns)
    for n, column in enumerate(columns):
        if column.align != "left" or column.stretch:
            continue
        lacking = max((_longest_word_pt(row[n]) for row in rows), default=0.0) + _WIDE_GAP_PT - column.width_mm * mm
        if 0 < lacking <= spare:
            widened[n] = column._replace(width_mm=column.width_mm + lacking / mm)
            spare -= lacking
    return widened


def _longest_word_pt(content: Content) -> float:
    if isinstance(content, Flowable):
        return 0.0
    pieces = (Piece(content),) if isinstance(content, str) else (content,) if isinstance(content, Piece) else content
    words = ((word, type_) for text, type_ in pieces for word in text.split())
    return max((typefaces.width_pt(word, type_.face, type_.size_pt) for word, type_ in words), default=0.0)


def _rows(
    contents: Sequence[Content], columns: Sequence[Column], standing: Sequence[Place], padding_pt: float
) -> list[Row]:
    """One row, or several that a page can hold where a text has very many lines."""
    cells = _cells(contents, columns, BODY)
    if not any(map(_is_long, cells)):
        return [_row(cells, standing, padding_pt)]
    chunks = [
        cell.chunks(place.width, _MOST_LINES) if _is_long(cell) else [cell]
        for cell, place in zip(cells, standing, strict=True)
    ]
    parts = zip_longest(*chunks, fillvalue=Spacer(0, 0))
    *joined, last = [_row(part, standing, padding_pt) for part in parts]
    return [*(row._replace(rule_pt=0) for row in joined), last]


def _is_long(cell: Flowable) -> bool:
    """Whether the text might fill a page where the column is narrow."""
    return isinstance(cell, Cell) and sum(len(piece.text) for piece in cell.pieces) > _LONG_TEXT


def _cells(contents: Sequence[Content], columns: Sequence[Column], type_: Type) -> list[Flowable]:
    return [placed(content, type_, column.align) for content, column in zip(contents, columns, strict=True)]


def _row(cells: Sequence[Flowable], standing: Sequence[Place], padding_pt: float) -> Row:
    heights = [cell.wrap(place.width, 0)[1] for cell, place in zip(cells, standing, strict=True)]
    return Row(cells, max(heights) + 2 * padding_pt)


def placed(content: Content, type_: Type, align: typefaces.Align = "left") -> Flowable:
    """Content as a flowable; plain text in the type given; figures, at the right, never wrap."""
    if isinstance(content, Flowable):
        return content
    if isinstance(content, str):
        content = Piece(content, type_)
    pieces = (content,) if isinstance(content, Piece) else content
    return Cell(pieces, align, wraps=align != "right")
