"""Marks on a page: a flowable that draws the outlines and words of a picture, only upside down.

>>> DrawnMarks(Drawing(500, 120, (), "nothing")).wrap(500, 700)
(500, 120)
"""

from reportlab.pdfgen.canvas import Canvas  # loaded only by the verbs that print
from reportlab.platypus import Flowable

from pourbook import typefaces
from pourbook.papers.marks import Drawing, Outline, Words

__all__ = ["DrawnMarks"]


class DrawnMarks(Flowable):  # type: ignore[misc]  # reportlab comes without types
    """A picture as it stands on a page."""

    def __init__(self, drawing: Drawing) -> None:
        super().__init__()
        self.marks = drawing.marks
        self.width, self.height = drawing.width, drawing.height

    def draw(self) -> None:
        """Draw every mark."""
        for mark in self.marks:
            if isinstance(mark, Words):
                self.canv.setFillGray(mark.type.grey)
                typefaces.draw(self.canv, mark.x, self.height - mark.y, mark.text, mark.type.face, mark.type.size_pt)
            else:
                _outline(self.canv, mark, self.height)
        self.canv.setFillGray(0)


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
