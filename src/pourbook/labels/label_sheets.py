"""Labels onto rolls and sheets, as one PDF whose page is the media itself.

The same labels give the same bytes. The file asks its viewer not to magnify it; a viewer that
"fits to page" all the same is the usual cause of labels that drift down a sheet.

>>> from pourbook.labels.templates import template
>>> list(pages("abcd", template("sheet-a4-65-38x21"), start=64))
[[(64, 'a'), (65, 'b')], [(1, 'c'), (2, 'd')]]
"""

import zlib
from collections.abc import Iterable, Iterator
from io import BytesIO
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from pourbook.errors import OutOfRange, Refused
from pourbook.labels.calibration import DPI, Calibration
from pourbook.labels.label import Label, checked
from pourbook.labels.label_drawing import Frame, dots, draw_label, page_pt
from pourbook.labels.label_layout import Template

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["Printout", "blank_pdf", "frame_at", "labels_pdf", "pages"]

_COMPRESSION = 6

T = TypeVar("T")


class Printout(NamedTuple):
    """Labels on the media of a template by a printer of a calibration; `start` is the first free place, from 1."""

    labels: Iterable[Label]
    template: Template
    calibration: Calibration = Calibration()
    start: int = 1

    def placed(self) -> Iterator[list[tuple[int, Frame, Label]]]:
        """The labels page by page, each with its place and where on the page that lies.

        Raises:
            OutOfRange: the media has no place `start`.
        """
        dpi, offset_mm, _ = self.calibration
        for page in pages(self.labels, self.template, self.start):
            yield [(place, frame_at(self.template, place, dpi, offset_mm), label) for place, label in page]

    def pdf(self) -> bytes:
        """A page for each label of a roll, or filled sheets.

        Raises:
            OutOfRange: a text or symbol that does not fit, a place that does not exist, an unsupported resolution.
            Malformed: a label that reads unlike it scans.
            Refused: no labels, or one of a kind that the template does not serve.
        """
        sink = BytesIO()
        canvas = blank_pdf(sink, f"Labels: {self.template.title}", self.template.media.page_mm, self.calibration.dpi)
        page: list[tuple[int, Frame, Label]] = []
        for page in self.placed():
            for _, frame, label in page:
                draw_label(canvas, self._served(label), self.template, frame)
            canvas.showPage()
            _pack(canvas)
        if not page:
            raise Refused("no labels to print", "name at least one item")
        canvas.save()
        return sink.getvalue()

    def _served(self, label: Label) -> Label:
        if checked(label).kind not in self.template.kinds:
            raise Refused(
                f"the template '{self.template.name}' has no label for a {label.kind} ({label.id})",
                f"it serves: {', '.join(self.template.kinds)}",
            )
        return label


def labels_pdf(
    labels: Iterable[Label],
    template: Template,
    dpi: float = 300,
    start: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
) -> bytes:
    """The PDF of a `Printout`."""
    return Printout(labels, template, Calibration(dpi, offset_mm), start).pdf()


def pages(labels: Iterable[T], template: Template, start: int = 1) -> Iterator[list[tuple[int, T]]]:
    """Labels page by page, each with its place.

    Raises:
        OutOfRange: the media has no place `start`.
    """
    places = template.media.places
    if not 1 <= start <= places:
        raise OutOfRange(
            f"'{template.name}' has no place {start} to start at",
            f"give a place from 1 to {places}" if places > 1 else "a roll starts at 1",
        )
    left = iter(labels)
    while page := list(islice(zip(range(start, places + 1), left, strict=False), places)):
        yield page
        start = 1


def blank_pdf(sink: BytesIO, title: str, page_mm: tuple[float, float], dpi: float) -> "Canvas":
    """A PDF of pages of whole dots, to be printed at full size.

    Raises:
        OutOfRange: an unsupported resolution.
    """
    from reportlab.pdfgen.canvas import Canvas  # here and not above: keeps start-up light

    if not DPI[0] <= dpi <= DPI[1]:
        raise OutOfRange(f"unsupported resolution: {dpi:g} dpi", f"give {DPI[0]} to {DPI[1]}")
    size = page_pt(dots(page_mm[0], dpi), dots(page_mm[1], dpi), dpi)
    canvas = Canvas(sink, pagesize=size, invariant=1, pageCompression=1, pdfVersion=(1, 6), lang="en")
    canvas.setTitle(title)
    canvas.setCreator("pourbook")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def _pack(canvas: "Canvas") -> None:
    """Compress the page just finished; reportlab would keep all of them as text until the file is saved."""
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream

    page = canvas._doc.Pages.pages[-1]  # noqa: SLF001 (there is no other way to a finished page)
    packed = PDFDictionary({"Filter": PDFArray([PDFName("FlateDecode")])})
    page.Contents = PDFStream(packed, zlib.compress(page.stream.encode("ascii"), _COMPRESSION))
    page.stream = None


def frame_at(template: Template, place: int, dpi: float, offset_mm: tuple[float, float] = (0.0, 0.0)) -> Frame:
    """Where on its page the label at a place lies, in dots."""
    media = template.media
    corner = zip(media.corner_mm(place), offset_mm, strict=True)
    left, top = (dots(length, dpi) + dots(offset, dpi) for length, offset in corner)
    return Frame(dpi, dots(media.page_mm[1], dpi), left, top, dots(media.width_mm, dpi), dots(media.height_mm, dpi))
