"""A flow picture as a file: a paper with the picture and its table, or an SVG with both.

>>> from pourbook.papers.flow.flow_values import FlowEdge, FlowItem
>>> items = (FlowItem("c", "cask", ("Q 204", "oak"), own_ml=230.0), FlowItem("l", "lot", ("Lot 26-1",)))
>>> imprint = Imprint("Quillmere", "2026-03-14", 1284, "9f3c" * 16)
>>> flow = Flow("back", "l", items, (FlowEdge("c", "l", 230.0),))
>>> flow_document(flow, imprint, Title("Flow", "Lot 26-1", "L0000054")).startswith('<svg ')
True
"""

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.papers.flow.flow_layout import HIGHEST_PT, laid_out
from pourbook.papers.flow.flow_marks import flow_drawn
from pourbook.papers.flow.flow_table import COLUMNS, flow_rows, flow_rows_shown, flow_texts
from pourbook.papers.flow.flow_values import Flow
from pourbook.papers.marks_drawing import DrawnMarks
from pourbook.papers.marks_svg import SvgTable, picture_document
from pourbook.papers.page import Imprint, Title, document, text_width_pt
from pourbook.papers.sections import lines
from pourbook.papers.tables import paper_table

__all__ = ["WIDTH_PT", "flow_document", "flow_paper"]

WIDTH_PT = text_width_pt("A4")

_PLACES: tuple[tuple[float, float, typefaces.Align], ...] = (
    (0.0, 0.35, "left"), (0.36, 0.3, "left"), (0.78, 0.3, "right"), (0.89, 0.3, "right"), (1.0, 0.3, "right"),
)  # fmt: skip


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
