"""An invented label of every kind, and pages as a printer would see them."""

import numpy as np
import pypdfium2
import pytest
import zxingcpp

from pourbook.labels import Label

LETTERS = {
    "cask": "C",
    "vial": "V",
    "trial": "T",
    "batch": "B",
    "lot": "L",
    "pallet": "L",
    "instrument": "N",
    "person": "P",
    "place": "S",
}
FORMATS = {
    "data-matrix": zxingcpp.BarcodeFormat.DataMatrix,
    "qr": zxingcpp.BarcodeFormat.QRCode,
    "code-128": zxingcpp.BarcodeFormat.Code128,
    "gs1-128": zxingcpp.BarcodeFormat.Code128,
    "gs1-data-matrix": zxingcpp.BarcodeFormat.DataMatrix,
}


@pytest.fixture(scope="session")
def made():
    """A label of a kind with every field filled; keyword arguments change fields."""

    def make(kind, number=123, **changed):
        texts = {
            "ref": "Cask 1184",
            "name": "Harbour blend",
            "house": "Quillmere Distillery",
            "spirit": "Pot still malt spirit",
            "wood": "Second-fill butt, 500 L",
            "strength": "61.3 % vol",
            "volume": "50 mL",
            "date": "2025-11-04",
            "who": "M. Okonjo",
            "place": "Warehouse 2, row 14",
            "note": "regauge 2026-06",
            "count": "2 of 3",
            "lot_mark": "L26012A",
        }
        letter = LETTERS.get(kind)
        written = f"{letter}-{number:06d}-X" if letter else f"{number:03d}"  # a blind glass has its code alone
        return Label(kind, written.replace("-", ""), written, **{**texts, **changed})

    return make


@pytest.fixture(scope="session")
def raster():
    """Pages of a PDF as grey pixels, one to a printer dot."""

    def draw(pdf, dpi):
        document = pypdfium2.PdfDocument(pdf)
        return [page.render(scale=dpi / 72, grayscale=True).to_numpy() for page in document]

    return draw


@pytest.fixture(scope="session")
def read():
    """What a reader makes of a picture: the texts of the symbols of one kind in it."""

    def scan(picture, kind):
        found = zxingcpp.read_barcodes(np.ascontiguousarray(picture), formats=FORMATS[kind])
        return [symbol.text for symbol in found]

    return scan


@pytest.fixture(scope="session")
def crop():
    """The part of a page under a box of the label at a place, by plain millimetres."""

    def cut(page, template, place, box, dpi):
        left, top = template.media.corner_mm(place)
        per_mm = dpi / 25.4
        x0 = round(left * per_mm) + round(box.x_mm * per_mm)
        y0 = round(top * per_mm) + round(box.y_mm * per_mm)
        x1 = round(left * per_mm) + round((box.x_mm + box.width_mm) * per_mm)
        y1 = round(top * per_mm) + round((box.y_mm + box.height_mm) * per_mm)
        return page[y0:y1, x0:x1]

    return cut
