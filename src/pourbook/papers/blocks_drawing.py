"""Blocks as they stand on a page, and the papers that are made of sections of them.

>>> [type(part).__name__ for part in flowables(Lines(("Rest it.",)), 400)]
['Cell']
"""

from collections.abc import Callable, Iterable, Sequence
from itertools import chain
from typing import NamedTuple

from reportlab.platypus import (  # loaded only by the verbs that print
    CondPageBreak,
    Flowable,
    KeepTogether,
    Spacer,
    Table,
)

from pourbook.papers.blocks import Block, Facts, Lines, Part, Rows, Signatures, Symbol
from pourbook.papers.cells import Mark
from pourbook.papers.marks import Drawing
from pourbook.papers.marks_drawing import DrawnMarks
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import absent, facts, height_pt, lines, section, signatures
from pourbook.papers.tables import paper_table

__all__ = ["Section", "drawn", "flowables", "of_section", "report"]

_MODULE_DOTS = 12
_LEAST_PAGE_PT = 600.0
"""No page has less room between head and foot."""


class Section(NamedTuple):
    """A title with blocks; `is_whole` where no page may end within it."""

    title: str
    blocks: Sequence[Block]
    is_whole: bool = False


def report(
    imprint: Imprint,
    title: Title,
    opening: Callable[[float], list[Flowable]],
    sections: Iterable[Section],
    paper: str = "A4",
    none: str = "none",
) -> bytes:
    """A paper of sections as PDF; the opening is made for a width in points, `none` said of a section without blocks.

    Raises as `pourbook.papers.page.document`.
    """
    told = tuple(sections)

    def story(width_pt: float) -> list[Flowable]:
        content = opening(width_pt)
        for one in told:
            content += of_section(one, width_pt, none)
        return content

    return document(imprint, title, story, paper)


def of_section(one: Section, width_pt: float, none: str) -> list[Flowable]:
    """A section under its heading; one line that says `none` of it where it has no blocks."""
    body = drawn(one.blocks, width_pt)
    whole = section(one.title, body, width_pt) if body else absent(f"{one.title}: {none}")
    if not one.is_whole:
        return whole
    needed_pt = height_pt(whole, width_pt)  # with all the white, which `KeepTogether` leaves out
    return [*([CondPageBreak(needed_pt)] if needed_pt < _LEAST_PAGE_PT else ()), KeepTogether(whole)]


def drawn(blocks: Iterable[Block], width_pt: float) -> list[Flowable]:
    """Blocks one below the other."""
    return list(chain.from_iterable(flowables(block, width_pt) for block in blocks))


def flowables(block: Block, width_pt: float) -> list[Flowable]:
    """A block, set in a width."""
    match block:
        case Rows(columns, rows, total):
            return [paper_table(columns, rows, width_pt, total)]
        case Facts(pairs, across):
            return [facts(pairs, width_pt, across), Spacer(0, 3)]
        case Lines(texts, type_, above_pt):
            return [*([Spacer(0, above_pt)] if above_pt else []), *lines(texts, type_)]
        case Symbol():
            return [_symbol(block, width_pt), Spacer(0, 4)]
        case Drawing():
            return [DrawnMarks(block), *lines([block.description]), Spacer(0, 4)]
        case Signatures(roles):
            return [Spacer(0, 6), signatures(roles, width_pt)]
        case Part(title, blocks):
            return section(title, drawn(blocks, width_pt), width_pt, sub=True)


def _symbol(block: Symbol, width_pt: float) -> Table:
    """The symbol at the right, its dark modules flush with the top; the facts at the left."""
    mark = Mark("qr", block.text, _MODULE_DOTS)
    said_pt = width_pt - (mark.width - mark.quiet_pt)
    style = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (0, 0), mark.quiet_pt),
        ("TOPPADDING", (1, 0), (1, 0), 0),
    ]
    cells = [[facts(block.beside, said_pt, across=1), mark]]
    return Table(cells, colWidths=[said_pt, mark.width], style=style, hAlign="LEFT", normalizedData=1)
