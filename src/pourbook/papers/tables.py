"""Tables, facts and sections: the parts every paper is put together from.

A table has hairlines between its rows, repeats its head on every page, sets figures to the right,
and never leaves its last row alone on a page. A heading never stands at the foot of a page
without the first rows of what it heads.

>>> columns = (Column("ref", 30, stretch=1), Column("mass\\nkg", 20, align="right"))
>>> paper_table(columns, [("Hogshead 12", "212.400")], width_pt=400).repeatRows
1
"""

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from reportlab.lib.units import mm  # loaded only by the verbs that print
from reportlab.platypus import CondPageBreak, Flowable, Spacer, Table

from pourbook import typefaces
from pourbook.papers.cells import BODY, BODY_STRONG, COLUMN_HEAD, QUIET, Cell, Piece, Type

__all__ = ["Column", "Content", "facts", "lines", "paper_table", "section", "widths_pt"]

_GAP_PT = 6.0
_HAIRLINE_PT = 0.25
_HAIRLINE_GREY = 0.55
_RULE_PT = 0.7
_HEADING = Type(typefaces.SEMIBOLD, 11.5, 14)
_SUBHEADING = Type(typefaces.SEMIBOLD, 9, 12)

Content = str | Piece | tuple[Piece, ...] | Flowable
"""What a table's place may hold: text, text in a type, pieces below each other, or a flowable."""


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
) -> Table:
    """A table with a repeated head, set right-aligned where its columns say so.

    Args:
        columns: the columns.
        rows: one sequence of contents a row.
        width_pt: the width to fill.
        total: the last row, set apart by a rule; empty for none.
        padding_pt: white above and below each row.
        middle: columns whose contents stand in the middle of the row's height, not at its top.
    """
    head = [Cell([Piece(column.head, COLUMN_HEAD)], column.align) for column in columns]
    body = [[_placed(content, column, BODY) for content, column in zip(row, columns, strict=True)] for row in rows]
    if total:
        body.append([_placed(content, column, BODY_STRONG) for content, column in zip(total, columns, strict=True)])
    return Table(
        [head, *body],
        colWidths=widths_pt(columns, width_pt),
        repeatRows=1,
        splitInRow=1,
        normalizedData=1,
        hAlign="LEFT",
        style=[*_style(len(body), bool(total), padding_pt), *_centred(middle)],
    )


def _placed(content: Content, column: Column, type_: Type) -> Flowable:
    if isinstance(content, Flowable):
        return content
    if isinstance(content, str):
        content = Piece(content, type_)
    pieces = (content,) if isinstance(content, Piece) else content
    return Cell(pieces, column.align, wraps=column.align != "right")


def _style(rows: int, has_total: bool, padding_pt: float) -> list[tuple[Any, ...]]:
    style: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("VALIGN", (0, 1), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), _GAP_PT / 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), _GAP_PT / 2),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), padding_pt),
        ("BOTTOMPADDING", (0, 0), (-1, -1), padding_pt),
        ("LINEBELOW", (0, 1), (-1, -1), _HAIRLINE_PT, _grey(_HAIRLINE_GREY)),
        ("LINEBELOW", (0, 0), (-1, 0), _RULE_PT, _grey(0)),
        ("LINEBELOW", (0, -1), (-1, -1), _RULE_PT, _grey(0)),
    ]
    if has_total:
        style.append(("LINEABOVE", (0, -1), (-1, -1), _RULE_PT, _grey(0)))
    if rows > 1:
        style.append(("NOSPLIT", (0, -2), (-1, -1)))
    return style


def _centred(columns: Sequence[int]) -> list[tuple[Any, ...]]:
    return [("VALIGN", (column, 1), (column, -1), "MIDDLE") for column in columns]


def _grey(grey: float) -> Any:
    from reportlab.lib.colors import Color

    return Color(grey, grey, grey)


def facts(pairs: Sequence[tuple[str, Content]], width_pt: float, across: int = 4) -> Table:
    """Labelled facts in a grid, the small label above its value.

    Args:
        pairs: label and value, in reading order.
        width_pt: the width to fill.
        across: how many stand side by side.
    """
    cells = [_fact(label, value) for label, value in pairs]
    cells += [Cell([])] * (-len(cells) % across)
    rows = [cells[start : start + across] for start in range(0, len(cells), across)]
    style = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2 * _GAP_PT),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
    ]
    return Table(rows, colWidths=[width_pt / across] * across, hAlign="LEFT", style=style, normalizedData=1)


def _fact(label: str, value: Content) -> list[Flowable]:
    return [Cell([Piece(label, QUIET)]), _placed(value, Column(label, 0), BODY)]


def lines(texts: Iterable[str], type_: Type = BODY) -> list[Flowable]:
    """Lines of running text, each a paragraph that may wrap and run over a page."""
    return [flowable for text in texts for flowable in (Cell([Piece(text, type_)]), Spacer(0, 2))]


def section(title: str, body: Sequence[Flowable], width_pt: float, sub: bool = False) -> list[Flowable]:
    """A heading and what it heads, never parted by the end of a page.

    Args:
        title: the heading.
        body: what it heads; not empty.
        width_pt: the width it will be set in.
        sub: True for a heading of the second order.
    """
    type_, above_pt, below_pt = (_SUBHEADING, 7, 1) if sub else (_HEADING, 12, 3)
    heading_pt = above_pt + type_.leading_pt + below_pt
    needed_pt = heading_pt + _first_part_pt(body[0], width_pt)
    return [
        CondPageBreak(needed_pt),
        Spacer(0, above_pt),
        Cell([Piece(title, type_)]),
        Spacer(0, below_pt),
        *body,
    ]


def _first_part_pt(flowable: Flowable, width_pt: float) -> float:
    """The height that must follow a heading: a table's head and first two rows, or some lines of text."""
    _, height_pt = flowable.wrap(width_pt, 1e6)
    if isinstance(flowable, Table):
        return sum(flowable._rowHeights[:3])
    return min(height_pt, 3 * BODY.leading_pt)
