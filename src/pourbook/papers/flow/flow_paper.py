"""A flow picture as a file: a paper with the picture and its table, or an SVG with both.

>>> from pourbook.papers.flow.flow_values import FlowEdge, FlowItem
>>> items = (FlowItem("c", "cask", ("Q 204", "oak"), own_ml=230.0), FlowItem("l", "lot", ("Lot 26-1",)))
>>> imprint = Imprint("Quillmere", "2026-03-14", 1284, "9f3c" * 16)
>>> flow = Flow("back", "l", items, (FlowEdge("c", "l", 230.0),))
>>> flow_document(flow, imprint, Title("Flow", "Lot 26-1", "L0000054")).startswith('<svg ')
True
"""

from collections.abc import Callable, Mapping
from typing import NamedTuple

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.papers.flow.flow_layout import HIGHEST_PT, laid_out
from pourbook.papers.flow.flow_marks import flow_drawn
from pourbook.papers.flow.flow_table import COLUMNS, flow_rows, flow_rows_shown, flow_texts
from pourbook.papers.flow.flow_values import ITEMS, Flow
from pourbook.papers.marks import Outline, rectangle
from pourbook.papers.marks_drawing import DrawnMarks
from pourbook.papers.marks_svg import SvgTable, figure, picture_document
from pourbook.papers.page import Imprint, Title, document, text_width_pt
from pourbook.papers.sections import lines
from pourbook.papers.tables import paper_table
from pourbook.words.paper_figures import Notation

__all__ = ["WIDTH_PT", "FlowOnPage", "flow_document", "flow_on_page", "flow_paper"]

WIDTH_PT = text_width_pt("A4")
_PAGE_PT = 720.0

_PLACES: tuple[tuple[float, float, typefaces.Align], ...] = (
    (0.0, 0.35, "left"), (0.36, 0.3, "left"), (0.78, 0.3, "right"), (0.89, 0.3, "right"), (1.0, 0.3, "right"),
)  # fmt: skip


class FlowOnPage(NamedTuple):
    """The picture alone as `svg`, its `description` in a sentence or two, and its figures as rows of texts.

    `rows` are as `COLUMNS`; `named` gives the item that a text of the first two columns stands for.
    """

    svg: str
    description: str
    rows: tuple[tuple[str, ...], ...]
    named: Mapping[str, str]


def flow_on_page(
    flow: Flow, notation: Notation, title: str, linked: Callable[[str], str], width_pt: float = _PAGE_PT
) -> FlowOnPage:  # fmt: skip
    """The picture for a page that has the table itself; `linked` gives the address that an item's place leads to."""
    layout = laid_out(flow, width_pt, HIGHEST_PT, notation)
    item_of = {
        item.key: item.key.partition(" ")[0] for item in layout.flow.items if item.kind in ITEMS and item.members == 1
    }
    links = tuple(
        Outline("link", rectangle(box.x, box.y, box.width, box.height), title=box.item.name,
                link=linked(item_of[box.item.key]))
        for box in layout.boxes
        if box.item.key in item_of
    )  # fmt: skip
    drawing = flow_drawn(layout, notation)
    rows = tuple(flow_texts(row, notation) for row in flow_rows(layout))
    named = {item.short: item_of[item.key] for item in layout.flow.items if item.key in item_of}
    return FlowOnPage(figure(drawing._replace(marks=drawing.marks + links), title), drawing.description, rows, named)


def flow_paper(flow: Flow, imprint: Imprint, title: Title, paper: str = "A4") -> bytes:
    """The picture and its table as PDF. Raises as `pourbook.papers.page.document`."""

    def story(width_pt: float) -> list[Flowable]:
        layout = laid_out(flow, width_pt, HIGHEST_PT, imprint.notation)
        drawing = flow_drawn(layout, imprint.notation)
        return [
            *lines([drawing.description]),
            Spacer(0, 6),
            DrawnMarks(drawing),
            Spacer(0, 8),
            paper_table(COLUMNS, flow_rows_shown(layout, imprint.notation), width_pt),
        ]

    return document(imprint, title, story, paper)


def flow_document(flow: Flow, imprint: Imprint, title: Title) -> str:
    """The picture and its table as SVG."""
    layout = laid_out(flow, WIDTH_PT, HIGHEST_PT, imprint.notation)
    heads = tuple(column.head.replace("\n", " ") for column in COLUMNS)
    rows = [flow_texts(row, imprint.notation) for row in flow_rows(layout)]
    return picture_document(flow_drawn(layout, imprint.notation), SvgTable(_PLACES, heads, rows), imprint, title)
