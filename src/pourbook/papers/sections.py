"""Headings, facts and lines of text: what stands between the tables of a paper.

A heading never stands at the foot of a page without the first rows of what it heads.

>>> [type(part).__name__ for part in section("Notes", lines(["Rest it."]), width_pt=400)]
['CondPageBreak', 'Cell', 'Cell']
"""

from collections.abc import Iterable, Sequence
from typing import Any

from reportlab.lib.units import mm  # loaded only by the verbs that print
from reportlab.platypus import CondPageBreak, Flowable, Spacer, Table

from pourbook import typefaces
from pourbook.papers.cells import BODY, BODY_STRONG, QUIET, Cell, Piece, Type
from pourbook.papers.tables import Content, PaperTable, placed

__all__ = ["absent", "facts", "height_pt", "initials", "lines", "section", "sheet_head", "signatures"]

_NAME = Type(typefaces.SEMIBOLD, 13, 16)
_SIGNED = ("name", "signature", "date")
_SIGNING_PT = 24.0
_HEADING = (Type(typefaces.SEMIBOLD, 11.5, 14), 14.0, 2.0)
_SUBHEADING = (Type(typefaces.SEMIBOLD, 9, 12), 9.0, 0.0)
_ABSENT = (Type(typefaces.SEMIBOLD, 9, 12, grey=0.32), 9.0, 0.0)
_LINES_TOGETHER = 3
_LINE_GAP_PT = 2.5
_FACT_GAP_PT = 12
_UNLIMITED_PT = 1e6
_MEASURE_PT = 430.0
"""Lines of running text are no longer than this, or the eye loses its way back."""


def sheet_head(
    name: str, stated: Sequence[tuple[str, Content]], width_pt: float, warnings: Sequence[str], remarks: Sequence[str],
    purpose: str = "",
) -> list[Flowable]:  # fmt: skip
    """What a sheet to pour from begins with: its name, what is stated of it, and what must be known first."""
    return [
        Cell([Piece(name, _NAME)]),
        Spacer(0, 4),
        facts(stated, width_pt),
        *(lines([purpose], label="Purpose") if purpose else ()),
        *lines([f"Provisional: {warning}" for warning in warnings], BODY_STRONG),
        *lines(remarks, BODY_STRONG),
    ]


def facts(pairs: Sequence[tuple[str, Content]], width_pt: float, across: int = 4) -> Table:
    """Labelled facts in a grid, so many side by side, the small label above its value."""
    cells: list[Any] = [[Cell([Piece(label, QUIET)]), placed(value, BODY)] for label, value in pairs]
    cells += [""] * (-len(cells) % across)
    rows = [cells[start : start + across] for start in range(0, len(cells), across)]
    style = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), _FACT_GAP_PT),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
    ]
    return Table(rows, colWidths=[width_pt / across] * across, hAlign="LEFT", style=style)


def lines(texts: Iterable[str], type_: Type = BODY, label: str = "") -> list[Flowable]:
    """Lines of running text, each a paragraph that may wrap and run over a page, under a small label."""
    labelled = [Cell([Piece(label, QUIET)])] if label else []
    paragraphs = [Cell([Piece(text, type_)], measure_pt=_MEASURE_PT) for text in texts]
    for paragraph in paragraphs:
        paragraph.spaceAfter = _LINE_GAP_PT
    return [*labelled, *paragraphs]


def signatures(roles: Iterable[str], width_pt: float) -> Table:
    """Lines to be signed by hand, one for each role: name, signature, date, with room between them."""
    cells: list[Any] = []
    style: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 1),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
    ]
    for number, role in enumerate(roles):
        cells += [[Cell([Piece(role, BODY_STRONG)]), *[""] * 5]]
        cells += [["", *(part for name in _SIGNED for part in (Cell([Piece(name, QUIET)]), ""))][:-1]]
        style += [("LINEBELOW", (column, 2 * number), (column, 2 * number), 0.5, "black") for column in (1, 3, 5)]
    widths = (0.16, 0.32, 0.02, 0.32, 0.02, 0.16)
    heights = [_SIGNING_PT, None] * (len(cells) // 2)
    return Table(cells, [part * width_pt for part in widths], heights, style=style, hAlign="LEFT")


def initials(labels: Iterable[str], width_pt: float) -> Table:
    """Rules side by side to write on, a label below each."""
    texts = list(labels)
    gap_pt = 8 * mm
    wide_pt = (width_pt - (len(texts) - 1) * gap_pt) / len(texts)
    cells = [part for text in texts for part in (Cell([Piece(text, QUIET)]), "")][:-1]
    rules = [("LINEABOVE", (column, 0), (column, 0), 0.6, "black") for column in range(0, len(cells), 2)]
    return Table(
        [cells],
        colWidths=([wide_pt, gap_pt] * len(texts))[:-1],
        style=[*rules, ("LEFTPADDING", (0, 0), (-1, -1), 0), ("TOPPADDING", (0, 0), (-1, -1), 2)],
        hAlign="LEFT",
        spaceBefore=34,
    )


def section(title: str, body: Sequence[Flowable], width_pt: float, sub: bool = False) -> list[Flowable]:
    """A heading (of the second order if `sub`) and what it heads, never parted by the end of a page."""
    heading = _heading(title, *(_SUBHEADING if sub else _HEADING))
    return [CondPageBreak(_whole_pt(heading, width_pt) + _first_part_pt(body, width_pt)), heading, *body]


def absent(text: str) -> list[Flowable]:
    """One line that says that a section has nothing under it."""
    return [_heading(text, *_ABSENT)]


def _heading(title: str, type_: Type, above_pt: float, below_pt: float) -> Cell:
    heading = Cell([Piece(title, type_)])
    heading.spaceBefore, heading.spaceAfter = above_pt, below_pt
    return heading


def height_pt(flowables: Iterable[Flowable], width_pt: float) -> float:
    """The height of flowables one below the other, at the most: white between two of them may be less."""
    return sum(_whole_pt(one, width_pt) for one in flowables if not isinstance(one, CondPageBreak))


def _whole_pt(flowable: Flowable, width_pt: float) -> float:
    """The height of a flowable with the white above and below it."""
    _, height_pt = flowable.wrap(width_pt, _UNLIMITED_PT)
    return float(flowable.getSpaceBefore() + height_pt + flowable.getSpaceAfter())


def _first_part_pt(body: Sequence[Flowable], width_pt: float) -> float:
    """The height that must follow a heading: some lines of text, up to and with the first rows of a table."""
    needed_pt = 0.0
    for flowable in body:
        if isinstance(flowable, PaperTable):
            return needed_pt + flowable.first_part_pt
        if isinstance(flowable, CondPageBreak):
            continue
        needed_pt += _whole_pt(flowable, width_pt)
        if not isinstance(flowable, Cell):
            return needed_pt
    return min(needed_pt, _LINES_TOGETHER * BODY.leading_pt)
