"""A flow picture on a page: a flowable for other papers, and a paper of its own with its table.

It draws the same outlines and words as the SVG (`pourbook.papers.flow.flow_svg`), only upside down.

>>> from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
>>> items = (FlowItem("c", "cask", ("Q 204", "oak"), own_ml=230.0), FlowItem("l", "lot", ("Lot 26-1",)))
>>> picture = laid_out(Flow("back", "l", items, (FlowEdge("c", "l", 230.0),)), 500, 600, Notation())
>>> FlowPicture(picture, Notation()).wrap(500, 700)[0]
500
"""

from reportlab.pdfgen.canvas import Canvas  # loaded only by the verbs that print
from reportlab.platypus import Flowable, Spacer

from pourbook import typefaces
from pourbook.papers.flow.flow_layout import HIGHEST_PT, Layout, laid_out
from pourbook.papers.flow.flow_marks import Outline, Words, legend_pt, marks
from pourbook.papers.flow.flow_table import COLUMNS, described, flow_rows_shown
from pourbook.papers.flow.flow_values import Flow
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import lines
from pourbook.papers.tables import paper_table
from pourbook.words.paper_figures import Notation

__all__ = ["FlowPicture", "flow_paper"]


class FlowPicture(Flowable):  # type: ignore[misc]  # reportlab comes without types
    """The picture with its legend."""

    def __init__(self, layout: Layout, notation: Notation) -> None:
        super().__init__()
        self.marks = marks(layout, notation)
        self.width, self.height = layout.width, layout.height + legend_pt(layout, notation)

    def draw(self) -> None:
        """Draw every mark."""
        for mark in self.marks:
            if isinstance(mark, Words):
                typefaces.draw(self.canv, mark.x, self.height - mark.y, mark.text, mark.type.face, mark.type.size_pt)
            else:
                _outline(self.canv, mark, self.height)


def _outline(canvas: Canvas, mark: Outline, height: float) -> None:
    canvas.saveState()
    path = canvas.beginPath()
    draw = {"M": path.moveTo, "L": path.lineTo, "C": path.curveTo}
    for word, *numbers in mark.path:
        draw[str(word)](*(height - float(n) if place % 2 else float(n) for place, n in enumerate(numbers)))
    if mark.fill:
        path.close()
        canvas.setFillColor(mark.fill)
    if mark.stroke:
        canvas.setStrokeColor(mark.stroke)
        canvas.setLineWidth(mark.width)
        canvas.setDash(*([list(mark.dash)] if mark.dash else []))
    canvas.drawPath(path, stroke=bool(mark.stroke), fill=bool(mark.fill))
    canvas.restoreState()


def flow_paper(flow: Flow, imprint: Imprint, title: Title, paper: str = "A4") -> bytes:
    """The picture and its table as PDF. Raises as `pourbook.papers.page.document`."""

    def story(width_pt: float) -> list[Flowable]:
        layout = laid_out(flow, width_pt, HIGHEST_PT, imprint.notation)
        return [
            *lines([described(layout, imprint.notation)]),
            Spacer(0, 6),
            FlowPicture(layout, imprint.notation),
            Spacer(0, 8),
            paper_table(COLUMNS, flow_rows_shown(layout, imprint.notation), width_pt),
        ]

    return document(imprint, title, story, paper)
