r"""Tables, facts and sections: the parts every paper is put together from.

A table has hairlines between its rows, repeats its head on every page, sets figures to the right,
and never leaves its last row alone on a page. A heading never stands at the foot of a page
without the first rows of what it heads.

>>> columns = (Column("ref", 30, stretch=1), Column("mass\nkg", 20, align="right"))
>>> paper_table(columns, [("Hogshead 12", "212.400")], width_pt=400).repeatRows
1
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise, zip_longest
from typing import Any, NamedTuple, TypeAlias

from reportlab.lib.colors import Color  # reportlab: loaded only by the verbs that print
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer, Table

from pourbook import typefaces
from pourbook.papers.cells import BODY, BODY_STRONG, COLUMN_HEAD, QUIET, Cell, Piece, Type

__all__ = [
    "Column",
    "Content",
    "PaperTable",
    "absent",
    "facts",
    "lines",
    "paper_table",
    "section",
    "widths_pt",
]

Content: TypeAlias = "str | Piece | tuple[Piece, ...] | Flowable"
"""What a table's place may hold: text, text in a type, pieces below each other, or a flowable."""

_Command = tuple[Any, ...]

_GAP_PT = 6.0
_WIDE_GAP_PT = 9.0
_HAIRLINE = (0.25, Color(0.55, 0.55, 0.55))
_RULE = (0.7, Color(0, 0, 0))
_NO_LINE = (0.6, Color(1, 1, 1))
_LONG_TEXT = 300
_MOST_LINES = 30
_HEADING = (Type(typefaces.SEMIBOLD, 11.5, 14), 14.0, 2.0)
_SUBHEADING = (Type(typefaces.SEMIBOLD, 9, 12), 9.0, 0.0)
_ABSENT = (Type(typefaces.SEMIBOLD, 9, 12, grey=0.32), 9.0, 0.0)
_LINE_GAP_PT = 2.5
_UNLIMITED_PT = 1e6
_MEASURE_PT = 430.0
"""Lines of running text are no longer than this, or the eye loses its way back."""


class Column(NamedTuple):
    """A column of a table.

    Attributes:
        head: its heading, the unit in it; may have several lines.
        width_mm: the least width, gap included.
        align: 'right' for figures, which never wrap.
        stretch: its part of the width that is left over.
    """

    head: str
    width_mm: float
    align: typefaces.Align = "left"
    stretch: float = 0.0


class PaperTable(Table):  # type: ignore[misc]  # reportlab comes without types
    """A table that knows how much of it must follow a heading."""

    def first_part_pt(self, width_pt: float) -> float:
        """Height of the head and the first two rows, in points."""
        self.wrap(width_pt, _UNLIMITED_PT)
        return float(sum(self._rowHeights[:3]))


def widths_pt(columns: Sequence[Column], width_pt: float) -> list[float]:
    """The widths of columns that together fill a width; what is left over goes to those that stretch.

    >>> [round(w) for w in widths_pt((Column("a", 10), Column("b", 10, stretch=1)), 100)]
    [28, 72]
    """
    least = [column.width_mm * mm for column in columns]
    stretch = sum(column.stretch for column in columns) or 1.0
    spare = width_pt - sum(least)
    return [own + spare * column.stretch / stretch for own, column in zip(least, columns, strict=True)]


def paper_table(
    columns: Sequence[Column],
    rows: Iterable[Sequence[Content]],
    width_pt: float,
    total: Sequence[Content] = (),
    padding_pt: float = 2.2,
    middle: Sequence[int] = (),
) -> PaperTable:
    """A table with a repeated head, set right-aligned where its columns say so.

    Args:
        columns: the columns.
        rows: one sequence of contents a row.
        width_pt: the width to fill.
        total: the last row, set apart by a rule; empty for none.
        padding_pt: white above and below each row.
        middle: columns whose contents stand in the middle of the row's height, not at its top.
    """
    widths = widths_pt(columns, width_pt)
    head = [Cell([Piece(column.head, COLUMN_HEAD)], column.align) for column in columns]
    body: list[list[Flowable]] = []
    joined: list[int] = []
    for contents in rows:
        parts = _parts(_row(contents, columns, BODY), widths)
        body += parts
        joined += range(len(body) - len(parts) + 1, len(body))
    if total:
        body.append(_row(total, columns, BODY_STRONG))
    style = _ruled(len(body), joined, has_total=bool(total)) + _spaced(columns, padding_pt, middle)
    return PaperTable(
        [head, *body], colWidths=widths, repeatRows=1, normalizedData=1, hAlign="LEFT", style=style
    )


def _parts(cells: list[Flowable], widths: Sequence[float]) -> list[list[Flowable]]:
    """A row as rows that a page can hold: a text of very many lines goes on in the next."""
    if not any(map(_is_long, cells)):
        return [cells]
    chunks = [
        cell.chunks(width - _GAP_PT / 2 - _WIDE_GAP_PT, _MOST_LINES) if _is_long(cell) else [cell]
        for cell, width in zip(cells, widths, strict=True)
    ]
    return [list(row) for row in zip_longest(*chunks, fillvalue=Spacer(0, 0))]


def _is_long(cell: Flowable) -> bool:
    """Whether the text might fill a page where the column is narrow."""
    return isinstance(cell, Cell) and sum(len(piece.text) for piece in cell.pieces) > _LONG_TEXT


def _row(contents: Sequence[Content], columns: Sequence[Column], type_: Type) -> list[Flowable]:
    return [_placed(content, column, type_) for content, column in zip(contents, columns, strict=True)]


def _placed(content: Content, column: Column, type_: Type) -> Flowable:
    if isinstance(content, Flowable):
        return content
    if isinstance(content, str):
        content = Piece(content, type_)
    pieces = (content,) if isinstance(content, Piece) else content
    return Cell(pieces, column.align, wraps=column.align != "right")


def _ruled(rows: int, joined: Sequence[int], *, has_total: bool) -> list[_Command]:
    """Hairlines between rows, none within a joined one; the last two rows stay on one page."""
    lines_below = [
        ("LINEBELOW", (0, 1), (-1, -1), *_HAIRLINE),
        *(("LINEBELOW", (0, row), (-1, row), *_NO_LINE) for row in joined),
        ("LINEBELOW", (0, 0), (-1, 0), *_RULE),
        ("LINEBELOW", (0, -1), (-1, -1), *_RULE),
    ]
    sum_rule = [("LINEABOVE", (0, -1), (-1, -1), *_RULE)] if has_total else []
    together = [("NOSPLIT", (0, -2), (-1, -1))] if rows > 1 and not joined else []
    return [*lines_below, *sum_rule, *together]


def _spaced(columns: Sequence[Column], padding_pt: float, middle: Sequence[int]) -> list[_Command]:
    """White round the cells; more of it where text follows figures, which would else run together."""
    aligns = pairwise(column.align for column in columns)
    parted = [n for n, pair in enumerate(aligns, start=1) if pair == ("right", "left")]
    return [
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("VALIGN", (0, 1), (-1, -1), "TOP"),
        *(("VALIGN", (column, 1), (column, -1), "MIDDLE") for column in middle),
        ("LEFTPADDING", (0, 0), (-1, -1), _GAP_PT / 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), _GAP_PT / 2),
        *(("LEFTPADDING", (column, 0), (column, -1), _WIDE_GAP_PT) for column in parted),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), padding_pt),
        ("BOTTOMPADDING", (0, 0), (-1, -1), padding_pt),
    ]


def facts(pairs: Sequence[tuple[str, Content]], width_pt: float, across: int = 4) -> Table:
    """Labelled facts in a grid, the small label above its value.

    Args:
        pairs: label and value, in reading order.
        width_pt: the width to fill.
        across: how many stand side by side.
    """
    cells: list[Any] = [_fact(label, value) for label, value in pairs]
    cells += [""] * (-len(cells) % across)
    rows = [cells[start : start + across] for start in range(0, len(cells), across)]
    style = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2 * _GAP_PT),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
    ]
    return Table(rows, colWidths=[width_pt / across] * across, hAlign="LEFT", style=style)


def _fact(label: str, value: Content) -> list[Flowable]:
    return [Cell([Piece(label, QUIET)]), _placed(value, Column(label, 0), BODY)]


def lines(texts: Iterable[str], type_: Type = BODY) -> list[Flowable]:
    """Lines of running text, each a paragraph that may wrap and run over a page."""
    set_lines = [Cell([Piece(text, type_)], measure_pt=_MEASURE_PT) for text in texts]
    for line in set_lines:
        line.spaceAfter = _LINE_GAP_PT
    return set_lines


def section(title: str, body: Sequence[Flowable], width_pt: float, sub: bool = False) -> list[Flowable]:
    """A heading and what it heads, never parted by the end of a page.

    Args:
        title: the heading.
        body: what it heads; not empty.
        width_pt: the width it will be set in.
        sub: True for a heading of the second order.
    """
    heading = _heading(title, *(_SUBHEADING if sub else _HEADING))
    _, heading_pt = heading.wrap(width_pt, _UNLIMITED_PT)
    needed_pt = heading.spaceBefore + heading_pt + heading.spaceAfter + _first_part_pt(body, width_pt)
    return [CondPageBreak(needed_pt), heading, *body]


def absent(text: str) -> list[Flowable]:
    """One line that says that a section has nothing under it."""
    return [_heading(text, *_ABSENT)]


def _heading(title: str, type_: Type, above_pt: float, below_pt: float) -> Cell:
    heading = Cell([Piece(title, type_)])
    heading.spaceBefore, heading.spaceAfter = above_pt, below_pt
    return heading


def _first_part_pt(body: Sequence[Flowable], width_pt: float) -> float:
    """The height that must follow a heading: up to and with the first rows of a table, or some lines."""
    needed_pt = 0.0
    for flowable in body:
        if isinstance(flowable, PaperTable):
            return needed_pt + flowable.first_part_pt(width_pt)
        needed_pt += float(flowable.wrap(width_pt, _UNLIMITED_PT)[1])
    return min(needed_pt, 3 * BODY.leading_pt)
