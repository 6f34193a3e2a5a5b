"""The shape of a drink as a file: a paper, an SVG, or rows for a table."""

from collections.abc import Sequence

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.papers.cells import BODY, BODY_STRONG, Type, broken
from pourbook.papers.marks import Drawing, stacked, words_below
from pourbook.papers.marks_drawing import DrawnMarks
from pourbook.papers.marks_svg import SvgTable, picture_document
from pourbook.papers.page import Imprint, Title, document, text_width_pt
from pourbook.papers.sections import lines
from pourbook.papers.shape.shape_marks import shape_drawn
from pourbook.papers.tables import Column, paper_table
from pourbook.queries.tastings.shape_values import Shape
from pourbook.words.shape_words import gap_words, how_read, shape_rows

__all__ = ["shape_document", "shape_paper"]

_COLUMNS = (
    Column("glass", 40, stretch=1),
    Column("word", 24, stretch=0.3),
    *(Column(name, 22, "right") for name in ("nose", "first taste", "middle", "finish")),
)
_PLACES: tuple[tuple[float, float, typefaces.Align], ...] = (
    (0.0, 0.3, "left"), (0.32, 0.18, "left"), *((part, 0.13, "right") for part in (0.61, 0.74, 0.87, 1.0)),
)  # fmt: skip


def shape_paper(shape: Shape, imprint: Imprint, title: Title, paper: str = "A4") -> bytes:
    """The picture and its table as PDF. Raises as `pourbook.papers.page.document`."""
    notation = imprint.notation

    def story(width_pt: float) -> list[Flowable]:
        drawn = shape_drawn(shape, width_pt, notation)
        return [
            *lines([gap_words(gap, notation) for gap in shape.gaps], BODY_STRONG),
            Spacer(0, 4),
            *(part for one in drawn for part in (DrawnMarks(one), Spacer(0, 6))),
            *lines([how_read(shape, notation)]),
            Spacer(0, 8),
            paper_table(_COLUMNS, shape_rows(shape, notation), width_pt),
        ]

    return document(imprint, title, story, paper)


def shape_document(shape: Shape, imprint: Imprint, title: Title) -> str:
    """The picture between its sentences, and its table, as SVG."""
    width, notation = text_width_pt("A4"), imprint.notation
    gaps = [gap_words(gap, notation) for gap in shape.gaps]
    parts = [
        *([_sentences(gaps, BODY_STRONG, width)] if gaps else []),
        *shape_drawn(shape, width, notation),
        _sentences([how_read(shape, notation)], BODY, width),
    ]
    drawing = stacked(parts, 6, " ".join((how_read(shape, notation), *gaps)))
    table = SvgTable(_PLACES, tuple(column.head for column in _COLUMNS), shape_rows(shape, notation))
    return picture_document(drawing, table, imprint, title)


def _sentences(texts: Sequence[str], type_: Type, width: float) -> Drawing:
    lines_ = [line for text in texts for line in broken(text, type_, width)]
    marks = (words_below(0, number * type_.leading_pt, line, type_) for number, line in enumerate(lines_))
    return Drawing(width, len(lines_) * type_.leading_pt, tuple(marks), "")
