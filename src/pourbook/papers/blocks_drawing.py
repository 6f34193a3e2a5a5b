"""Blocks as they stand on a page.

>>> [type(part).__name__ for part in flowables(Lines(("Rest it.",)), 400, Notation())]
['Cell']
"""

from collections.abc import Iterable
from itertools import chain

from reportlab.platypus import Flowable, Spacer, Table  # loaded only by the verbs that print

from pourbook.papers.blocks import Block, Facts, Lines, Part, Picture, Rows, Symbol
from pourbook.papers.cells import BODY, BODY_STRONG, Mark
from pourbook.papers.flow.flow_drawing import FlowPicture
from pourbook.papers.sections import facts, lines, section
from pourbook.papers.tables import paper_table
from pourbook.words.paper_figures import Notation

__all__ = ["drawn", "flowables"]

_MODULE_DOTS = 12


def drawn(blocks: Iterable[Block], width_pt: float, notation: Notation) -> list[Flowable]:
    """Blocks one below the other."""
    return list(chain.from_iterable(flowables(block, width_pt, notation) for block in blocks))


def flowables(block: Block, width_pt: float, notation: Notation) -> list[Flowable]:
    """A block, set in a width.

    Args:
        block: what it says.
        width_pt: the width to fill.
        notation: how the house writes its numbers.
    """
    match block:
        case Rows(columns, rows, total):
            return [paper_table(columns, rows, width_pt, total)]
        case Facts(pairs, across):
            return [facts(pairs, width_pt, across), Spacer(0, 3)]
        case Lines(texts, is_strong):
            return lines(texts, BODY_STRONG if is_strong else BODY)
        case Symbol():
            return [_symbol(block, width_pt), Spacer(0, 4)]
        case Picture(layout, description):
            return [FlowPicture(layout, notation), *lines([description]), Spacer(0, 4)]
        case Part(title, blocks):
            return section(title, drawn(blocks, width_pt, notation), width_pt, sub=True)


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
