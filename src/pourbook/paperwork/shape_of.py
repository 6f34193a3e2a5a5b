"""The shape of a drink as a file: a paper, or an SVG."""

from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened
from pourbook.papers.page import Title
from pourbook.paperwork.imprint import imprint_of_state

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.tastings.shape_values import Shape

__all__ = ["shape_picture"]


def shape_picture(book: "BookCore", found: "Shape", item: str, *, as_pdf: bool) -> bytes:
    """The shapes of glasses as PDF or SVG, named by an item: the blend, or the first."""
    from pourbook.papers.shape.shape_paper import shape_document, shape_paper

    imprint, title = imprint_of_state(book), Title("From nose to finish", hyphened(item), item)
    if as_pdf:
        return shape_paper(found, imprint, title, book.settings["paper"])
    return shape_document(found, imprint, title).encode()
