r"""Pages of a PDF as a printer puts them on paper: one pixel to a dot, black or white, nothing between.

>>> from pourbook.labels import Label, labels_pdf
>>> from pourbook.labels.templates import template
>>> pdf = labels_pdf([Label("vial", "V000123X", "V-000123-X")], template("vial-roll-30x15"), dpi=203)
>>> [page.size for page in pictures(pdf, 203)]
[(240, 120)]
>>> png(next(pictures(pdf, 203)), 203)[:4]
b'\x89PNG'
"""

from collections.abc import Callable, Iterator
from contextlib import closing
from io import BytesIO
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["WHITE", "pictures", "png", "rendered"]

WHITE = 255

_INKED_BELOW = 128
_MOST_LOOKED_AT = 1_000


def rendered(pdf: bytes, dpi: float, *, check: Callable[[int, list[int]], None] | None = None) -> Iterator["Image"]:
    """Every page in turn, in grey; one page is in memory at a time. Raises `ValueError` for what is no PDF.

    `check` is told the number of pages and the pixels of each of them before any is drawn.
    """
    import pypdfium2  # here and not above: keeps start-up light

    try:
        with closing(pypdfium2.PdfDocument(pdf)) as document:
            if check:
                check(len(document), _pixels(document, dpi))
            for page in document:
                with closing(page), closing(page.render(scale=dpi / 72, grayscale=True)) as bitmap:
                    picture: Image = bitmap.to_pil().copy()
                yield picture
    except pypdfium2.PdfiumError as error:  # also for a page of a document that opened
        raise ValueError(*error.args) from error


def _pixels(document: Any, dpi: float) -> list[int]:  # noqa: ANN401 (a library without types)
    """Pixels of the first pages; what is beyond `_MOST_LOOKED_AT` need not be known."""
    sizes = (document.get_page_size(number) for number in range(min(len(document), _MOST_LOOKED_AT)))
    return [int(width * dpi / 72 * height * dpi / 72) for width, height in sizes]


def pictures(pdf: bytes, dpi: float) -> Iterator["Image"]:
    """Every page in turn, as a grey picture of black and white pixels alone."""
    return (grey.point([0] * _INKED_BELOW + [WHITE] * (256 - _INKED_BELOW)) for grey in rendered(pdf, dpi))


def png(picture: "Image", dpi: float) -> bytes:
    """A picture as a PNG file that knows its size on paper."""
    from PIL.Image import Dither  # here and not above: keeps start-up light

    sink = BytesIO()
    picture.convert("1", dither=Dither.NONE).save(sink, "PNG", dpi=(dpi, dpi), optimize=True)
    return sink.getvalue()
