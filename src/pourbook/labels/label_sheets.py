"""Labels onto rolls and sheets, as one PDF whose page is the stock itself.

The same labels give the same bytes. The file asks its viewer not to scale it; a viewer that
"fits to page" all the same is the usual cause of labels that drift down a sheet.

>>> from pourbook.labels.templates import template
>>> list(pages("abcd", template("sheet-a4-65-38x21"), start=64))
[[(64, 'a'), (65, 'b')], [(1, 'c'), (2, 'd')]]
"""

import zlib
from collections.abc import Iterable, Iterator
from io import BytesIO
from itertools import islice
from typing import TYPE_CHECKING, TypeVar

from pourbook.errors import OutOfRange, Refused
from pourbook.labels.label import Label, checked
from pourbook.labels.label_drawing import Frame, dots, draw_label, page_pt
from pourbook.labels.label_layout import Template

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["DPI", "frame_at", "labels_pdf", "pages"]

DPI = (150, 2400)
"""The coarsest and the finest printer that labels are drawn for."""

_COMPRESSION = 6

T = TypeVar("T")


def pages(labels: Iterable[T], template: Template, start: int = 1) -> Iterator[list[tuple[int, T]]]:
    """Labels page by page, each with its place.

    Args:
        labels: what to place, in order.
        template: whose stock it is.
        start: the first free place of the first page, counted from 1 along the rows.

    Raises:
        OutOfRange: the stock has no such place.
    """
    places = template.stock.places
    if not 1 <= start <= places:
        raise OutOfRange(
            f"'{template.name}' has no place {start} to start at",
            f"give a place from 1 to {places}" if places > 1 else "a roll starts at 1",
        )
    left = iter(labels)
    while page := list(islice(zip(range(start, places + 1), left, strict=False), places)):
        yield page
        start = 1


def labels_pdf(
    labels: Iterable[Label],
    template: Template,
    dpi: float = 300,
    start: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
) -> bytes:
    """The labels as a PDF: a page for each label of a roll, or filled sheets.

    Args:
        labels: in the order of printing.
        template: what stands where, and the stock.
        dpi: dots to the inch of the printer: 203, 300, 600; or its true pitch where that is known.
        start: the first free place of the first sheet.
        offset_mm: how far everything is moved to the right and down, for a printer that prints beside the mark.

    Raises:
        OutOfRange: a text or symbol that does not fit, a place or a fineness that there is not.
        Malformed: a character that no typeface has, or a label that reads unlike it scans.
        Refused: no labels, or one of a kind that the template does not serve.
    """
    from reportlab.pdfgen.canvas import Canvas  # here and not above: keeps start-up light

    if not DPI[0] <= dpi <= DPI[1]:
        raise OutOfRange(f"{dpi:g} dpi is no fineness of a label printer", f"give {DPI[0]} to {DPI[1]}")
    width_mm, height_mm = template.stock.page_mm
    sink = BytesIO()
    size = page_pt(dots(width_mm, dpi), dots(height_mm, dpi), dpi)
    canvas = Canvas(sink, pagesize=size, invariant=1, pageCompression=1, pdfVersion=(1, 6), lang="en")
    canvas.setTitle(f"Labels: {template.title}")
    canvas.setCreator("pourbook")
    canvas.setViewerPreference("PrintScaling", "None")
    printed = 0
    for page in pages(labels, template, start):
        for place, label in page:
            frame = frame_at(template, place, dpi, offset_mm)
            draw_label(canvas, _served(label, template), template, frame)
        canvas.showPage()
        _pack(canvas)
        printed += len(page)
    if not printed:
        raise Refused("there are no labels to print", "name at least one item")
    canvas.save()
    return sink.getvalue()


def _pack(canvas: "Canvas") -> None:
    """Compress the page just finished; reportlab would keep all of them as text until the file is saved."""
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream

    page = canvas._doc.Pages.pages[-1]  # noqa: SLF001 (there is no other way to a finished page)
    packed = PDFDictionary({"Filter": PDFArray([PDFName("FlateDecode")])})
    page.Contents = PDFStream(packed, zlib.compress(page.stream.encode("ascii"), _COMPRESSION))
    page.stream = None


def frame_at(template: Template, place: int, dpi: float, offset_mm: tuple[float, float] = (0.0, 0.0)) -> Frame:
    """Where on its page the label at a place lies, in dots."""
    stock = template.stock
    corner = zip(stock.corner_mm(place), offset_mm, strict=True)
    left, top = (dots(length, dpi) + dots(offset, dpi) for length, offset in corner)
    page_dots = dots(stock.page_mm[1], dpi)
    return Frame(dpi, page_dots, left, top, dots(stock.width_mm, dpi), dots(stock.height_mm, dpi))


def _served(label: Label, template: Template) -> Label:
    if checked(label).kind not in template.kinds:
        raise Refused(
            f"the template '{template.name}' has no label for a {label.kind} ({label.id})",
            f"it serves: {', '.join(template.kinds)}",
        )
    return label
