"""Readback: every symbol of every page that will be printed, read before it is.

A page is rasterised as its printer will do it, dot for dot. A decoder reads each symbol twice: as it
stands, then turned and slightly blurred, as a scanner meets it. It must read exactly what the label says.

>>> from pourbook.labels import Label
>>> from pourbook.labels.templates import template
>>> roll = template("vial-roll-30x15")
>>> right = Printout([Label("vial", "V000123X", "V-000123-X")], roll)
>>> wrong = Printout([Label("vial", "V000124X", "V-000124-X")], roll)
>>> list(misreads(right.pdf(), right))
[]
>>> for found in misreads(right.pdf(), wrong):
...     print(found)
page 1, place 1: the data-matrix of V-000124-X reads as 'V000123X'
"""

from collections.abc import Iterator
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from pourbook.errors import Refused
from pourbook.labels.label import Label
from pourbook.labels.label_drawing import Frame, module_dots, symbol_on
from pourbook.labels.label_layout import SymbolField
from pourbook.labels.label_sheets import Printout
from pourbook.labels.raster import WHITE, pictures
from pourbook.labels.symbols import GS1_KINDS

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["Misread", "misreads", "read_back"]

_FORMATS = {
    "data-matrix": "DataMatrix",
    "qr": "QRCode",
    "code-128": "Code128",
    "gs1-128": "Code128",
    "gs1-data-matrix": "DataMatrix",
}
_TURNS_DEGREES = (17, -32)  # a hand that meets no answer turns a little further: two tries
_TURNS_LINEAR_DEGREES = (4, -3)  # bars are read along a straight line across all of them
_BLUR_MODULES = 0.25  # 0.085 mm on a vial; beyond half a module nothing could be read
_COARSEST_DOTS = 6  # a module of the turned picture: as many pixels as a reader has, at least
_MOST_TOLD = 5


class Misread(NamedTuple):
    """A symbol of a kind that misreads, and why; with the label's id, page and place, counted from 1."""

    page: int
    place: int
    id: str
    kind: str
    why: str

    def __str__(self) -> str:
        return f"page {self.page}, place {self.place}: the {self.kind} of {self.id} {self.why}"


def read_back(pdf: bytes, printout: Printout) -> None:
    """Refuse a run in which a label does not read as it should.

    Raises:
        Refused: with page, place, identifier and reason of the first few.
    """
    found = list(islice(misreads(pdf, printout), _MOST_TOLD + 1))
    if found:
        more = "; and there are more" if len(found) > _MOST_TOLD else ""
        raise Refused(
            f"readback stopped the run: {'; '.join(map(str, found[:_MOST_TOLD]))}{more}",
            "use a finer printer or a larger label; if the symbols are good all the same, use --no-readback",
        )


def misreads(pdf: bytes, printout: Printout) -> Iterator[Misread]:
    """Every symbol that does not read as what its label was made for, page by page."""
    read = zip(pictures(pdf, printout.calibration.dpi), printout.placed(), strict=True)
    for number, (picture, page) in enumerate(read, 1):
        for place, frame, label in page:
            for field in printout.template.symbols_on(label):
                if why := _why_not(picture, field, label, frame):
                    yield Misread(number, place, label.id, field.said(label)[0], why)


def _why_not(picture: "Image", field: SymbolField, label: Label, frame: Frame) -> str:
    """What is wrong with a symbol; empty when it reads."""
    within = frame.within(field.box)
    mark, least_mm = symbol_on(label, field, within)
    seen = _cut(picture, within)
    if (found := _read(seen, mark.kind)) != [mark.sent]:
        return _in_words(found)
    module = module_dots(mark, within, least_mm)
    for degrees in _TURNS_LINEAR_DEGREES if mark.linear else _TURNS_DEGREES:
        if (found := _read(_turned_and_blurred(seen, module, degrees), mark.kind)) == [mark.sent]:
            return ""
    return f"{_in_words(found)} when it is turned and slightly blurred"


def _in_words(found: list[str]) -> str:
    return f"reads as {' and '.join(map(repr, found))}" if found else "does not read"


def _read(picture: "Image", kind: str) -> list[str]:
    """The texts of all symbols of a kind in a picture; no other kind is looked for, which misleads least."""
    import zxingcpp  # here and not above: keeps start-up light

    wanted = getattr(zxingcpp.BarcodeFormat, _FORMATS[kind])
    found = zxingcpp.read_barcodes(picture, formats=wanted, try_invert=False, text_mode=zxingcpp.TextMode.Plain)
    return [(symbol.symbology_identifier if kind in GS1_KINDS else "") + symbol.text for symbol in found]


def _cut(picture: "Image", frame: Frame) -> "Image":
    """The part of a page under a frame; what lies beyond the page is as white as paper that is not there."""
    from PIL import Image

    part = Image.new("L", (frame.width, frame.height), WHITE)
    part.paste(picture, (-frame.left, -frame.top))
    return part


def _turned_and_blurred(picture: "Image", module: int, degrees: float) -> "Image":
    from PIL import Image, ImageFilter

    if module >= 3 * _COARSEST_DOTS:
        shrink = module // _COARSEST_DOTS
        picture, module = picture.reduce(shrink), module // shrink
    elif module < _COARSEST_DOTS:
        picture, module = picture.resize((2 * picture.width, 2 * picture.height), Image.Resampling.BOX), 2 * module
    turned = picture.rotate(degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=WHITE)
    return turned.filter(ImageFilter.GaussianBlur(_BLUR_MODULES * module))
