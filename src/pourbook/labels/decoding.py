"""The codes in a photo, a scan or a PDF, as a scanner would have sent them.

Only the symbologies of labels and bottles are sought: the fewer, the fewer misreads. A picture that
shows nothing is tried again smoothed, which mends the line of a dead print dot and low contrast (own
trial). The reader of scans checks the text.

>>> from pourbook.labels import Label, labels_pdf
>>> from pourbook.labels.templates import template
>>> pdf = labels_pdf([Label("vial", "V000123X", "V-000123-X")], template("vial-roll-30x15"))
>>> [(code.page, code.symbology, code.text) for code in codes_in(pdf, "labels.pdf")]
[(1, 'Data Matrix', ']d1V000123X')]
"""

import re
import warnings
from collections.abc import Iterator
from functools import partial
from io import BytesIO
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.errors import Malformed
from pourbook.labels.raster import rendered

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["MOST_BYTES", "Decoded", "codes_in", "codes_in_photo"]

_SYMBOLOGIES = {
    "DataMatrix": "Data Matrix",
    "QRCode": "QR Code",
    "Code128": "Code 128",
    "EAN13": "EAN-13",
    "EAN8": "EAN-8",
    "UPCA": "UPC-A",
}
_PDF_DPI = 300
MOST_BYTES = 100_000_000
MOST_PAGES = 100
MOST_PIXELS = 64_000_000
MOST_IN_ALL = 1_000_000_000
"""Bytes of a file, pages of a PDF, pixels of a picture or page (a page of 8.7 million is A4 at 300 dpi), and of all."""

_MOST_ACROSS = 65_535
"""Pixels along a side that zxing-cpp takes."""

MOST_OF_A_PHOTO = 50_000_000
_ENOUGH_OF_A_PHOTO = 16_000_000
"""Pixels of a photo that a station is sent, and pixels to which it is halved before codes are sought."""

_PNG, _JPEG, _PDF = b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"%PDF"
_WEBP = re.compile(rb"RIFF....WEBP", re.DOTALL)
_SMOOTHING_PX = 3


class Decoded(NamedTuple):
    """A code, its page from 1 and its middle (x, y in pixels), symbology and text as a scanner sends it."""

    page: int
    x: int
    y: int
    symbology: str
    text: str


def codes_in(data: bytes, name: str) -> list[Decoded]:
    """Every code in a picture or a PDF, page by page, from the top; `name` stands in refusals.

    Raises:
        Malformed: it is not a PNG, JPEG or PDF that can be read, or too large.
    """
    found: list[Decoded] = []
    is_pdf = data[:1024].lstrip().startswith(_PDF)
    if not is_pdf and not data.startswith((_PNG, _JPEG)):
        raise Malformed(f"'{name}' is neither PNG, JPEG nor PDF", "save it as one of them")
    for page, picture in enumerate(_pdf_pages(data, name) if is_pdf else (_photo(data, name, MOST_PIXELS),), 1):
        found += _codes(page, picture)
    return found


def codes_in_photo(data: bytes, name: str) -> list[Decoded]:
    """Every code in one photo of a phone or tablet, from the top; large ones are halved first, which bounds the time.

    Raises:
        Malformed: it is not a PNG, JPEG or WebP that can be read, or too large.
    """
    if not data.startswith((_PNG, _JPEG)) and not _WEBP.match(data):
        raise Malformed(f"'{name}' is neither PNG, JPEG nor WebP", "take a photo of the label")
    picture = _photo(data, name, MOST_OF_A_PHOTO)
    return _codes(1, picture.reduce(2) if picture.width * picture.height > _ENOUGH_OF_A_PHOTO else picture)


def _codes(page: int, picture: "Image") -> list[Decoded]:
    codes = next(filter(None, map(_decoded, _tries(picture))), [])
    return sorted((_placed(page, code) for code in codes), key=lambda code: (code.y, code.x))


def _photo(data: bytes, name: str, most_pixels: int) -> "Image":
    from PIL import Image, UnidentifiedImageError  # here and not above: keeps start-up light
    from PIL.Image import open as picture_of

    kinds = ("PNG", "JPEG", "WEBP")
    try:
        with warnings.catch_warnings(action="error"), picture_of(BytesIO(data), formats=kinds) as picture:
            _check_pixels(name, picture.width * picture.height, most_pixels)
            if max(picture.size) > _MOST_ACROSS:
                across = f"{max(picture.size):,} pixels across; {_MOST_ACROSS:,} are read"
                raise Malformed(f"'{name}' is {across}", "crop to the codes")
            return picture.convert("L")
    except UnidentifiedImageError:
        raise Malformed(f"'{name}' cannot be read as a picture", "save it as PNG or JPEG, or as PDF") from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise Malformed(f"'{name}' is too large", "crop to the codes") from None
    except (OSError, SyntaxError, ValueError, Warning) as error:
        raise Malformed(f"'{name}' cannot be read as a picture: {error}", "save it again as PNG or JPEG") from None


def _pdf_pages(data: bytes, name: str) -> Iterator["Image"]:
    try:
        yield from rendered(data, _PDF_DPI, check=partial(_check_pages, name))
    except ValueError as error:
        raise Malformed(f"'{name}' cannot be read as a PDF: {error}", "print it to a new PDF") from None


def _check_pages(name: str, count: int, pixels: list[int]) -> None:
    if count > MOST_PAGES:
        raise Malformed(f"'{name}' has {count} pages; {MOST_PAGES} are read", "print a part of it to a new PDF")
    _check_pixels(name, max(pixels, default=0))
    if sum(pixels) > MOST_IN_ALL:
        told = f"{sum(pixels) / 1e6:,.0f} million pixels at {_PDF_DPI} dpi; {MOST_IN_ALL / 1e6:,.0f} million are read"
        raise Malformed(f"'{name}' has {told}", "print a part of it to a new PDF")


def _check_pixels(name: str, pixels: int, most: int = MOST_PIXELS) -> None:
    if pixels > most:
        told = f"{pixels / 1e6:,.0f} million pixels; {most / 1e6:,.0f} million are read"
        raise Malformed(f"'{name}' is too large: {told}", "crop to the codes, or save it smaller")


def _tries(picture: "Image") -> Iterator["Image"]:
    """The picture as it is, without specks, and with thin lines of white closed."""
    from PIL import ImageFilter  # here and not above: keeps start-up light

    yield picture
    yield picture.filter(ImageFilter.MedianFilter(_SMOOTHING_PX))
    yield picture.filter(ImageFilter.MaxFilter(_SMOOTHING_PX)).filter(ImageFilter.MinFilter(_SMOOTHING_PX))


def _decoded(picture: "Image") -> list[Any]:
    import zxingcpp  # here and not above: keeps start-up light

    formats = zxingcpp.barcode_formats_from_str(",".join(_SYMBOLOGIES))
    return list(zxingcpp.read_barcodes(picture, formats=formats, text_mode=zxingcpp.TextMode.Plain))


def _placed(page: int, code: Any) -> Decoded:  # noqa: ANN401 (a library without types)
    corners = (code.position.top_left, code.position.bottom_right)
    x, y = (sum(getattr(corner, axis) for corner in corners) // 2 for axis in ("x", "y"))
    name = code.format.name
    return Decoded(page, x, y, _SYMBOLOGIES.get(name, name), code.symbology_identifier + code.text)
