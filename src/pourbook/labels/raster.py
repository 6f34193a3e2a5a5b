r"""Pages of a PDF as a printer puts them on paper: one pixel to a dot, black or white, nothing between.

>>> from pourbook.labels import Label, labels_pdf
>>> from pourbook.labels.templates import template
>>> pdf = labels_pdf([Label("vial", "V000123X", "V-000123-X")], template("vial-roll-30x15"), dpi=203)
>>> [page.size for page in pictures(pdf, 203)]
[(240, 120)]
>>> png(next(pictures(pdf, 203)), 203)[:4]
b'\x89PNG'
"""

from collections.abc import Iterator
from contextlib import closing
from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["WHITE", "pictures", "png", "rendered"]

WHITE = 255

_INKED_BELOW = 128


def rendered(pdf: bytes, dpi: float) -> Iterator["Image"]:
    """Every page in turn, in grey; one page is in memory at a time. Raises `ValueError` for what is no PDF."""
    import pypdfium2  # here and not above: keeps start-up light

    try:
        document = pypdfium2.PdfDocument(pdf)
    except pypdfium2.PdfiumError as error:
        raise ValueError(*error.args) from error
    with closing(document):
        for page in document:
            with closing(page), closing(page.render(scale=dpi / 72, grayscale=True)) as bitmap:
                picture: Image = bitmap.to_pil().copy()
            yield picture


def pictures(pdf: bytes, dpi: float) -> Iterator["Image"]:
    """Every page in turn, as a grey picture of black and white pixels alone."""
    return (grey.point([0] * _INKED_BELOW + [WHITE] * (256 - _INKED_BELOW)) for grey in rendered(pdf, dpi))


def png(picture: "Image", dpi: float) -> bytes:
    """A picture as a PNG file that knows its size on paper."""
    from PIL.Image import Dither  # here and not above: keeps start-up light

    sink = BytesIO()
    picture.convert("1", dither=Dither.NONE).save(sink, "PNG", dpi=(dpi, dpi), optimize=True)
    return sink.getvalue()
