"""The test page of a printer: ticks lie where their numbers say, and the symbols read."""

import numpy as np
import pypdfium2
import pytest
import zxingcpp

from pourbook.labels.calibration import Calibration
from pourbook.labels.raster import pictures
from pourbook.labels.rulers import rulers_pdf
from pourbook.labels.templates import template

A4, LETTER = (210.0, 297.0), (215.9, 279.4)


def ink_of(pdf, dpi):
    """Dots with ink."""
    return np.asarray(next(pictures(pdf, dpi))) < 128


def starts(line):
    """Where each run of ink along a line begins, in dots."""
    return np.flatnonzero(np.diff(np.concatenate(([0], line.astype(int)))) == 1)


@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize("size_mm", [A4, LETTER])
def test_ticks_are_millimetres_from_the_edges_of_the_page(size_mm, dpi):
    """To half a dot, from the first to the last: rulers run the whole width and the whole height."""
    page = ink_of(rulers_pdf("bench", size_mm, Calibration(dpi)), dpi)
    per_mm = dpi / 25.4
    across, down = page[round(28.5 * per_mm)], page[:, round(28.5 * per_mm)]  # through all ticks, beside the lines
    for line, length_mm in ((across, size_mm[0]), (down, size_mm[1])):
        places = starts(line) / per_mm
        expected = np.arange(int(length_mm) + 1)
        expected = expected[expected < len(line) / per_mm - 0.2]
        assert np.abs(places[:, None] - expected).min(axis=0).max() <= 0.5 / per_mm + 1e-9


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_the_bar_is_a_hundred_millimetres_long(dpi):
    """To a dot."""
    page = ink_of(rulers_pdf("bench", A4, Calibration(dpi)), dpi)
    bar = page[round(63 * dpi / 25.4), round(40 * dpi / 25.4) :]
    assert bar.sum() * 25.4 / dpi == pytest.approx(100.0, abs=25.4 / dpi)


def test_the_offset_moves_the_rulers():
    """So that a page printed after the correction shows whether it was right."""
    still = ink_of(rulers_pdf("bench", A4, Calibration(254)), 254)  # ten dots to the millimetre
    moved = ink_of(rulers_pdf("bench", A4, Calibration(254, (0.6, -0.4))), 254)
    line = 290
    assert list(starts(moved[line - 4])[1:5] - starts(still[line])[1:5]) == [6] * 4
    assert moved[1000:1500, 1000:1500].any()


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_every_symbol_says_how_many_dots_its_modules_have(dpi):
    """From the least that is ever printed upwards."""
    page = next(pictures(rulers_pdf("bench", A4, Calibration(dpi)), dpi))
    texts = [code.text for code in zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.DataMatrix)]
    assert sorted(texts) == [f"{count}DOTS{dpi}" for count in range(2, 9)]


def test_a_sheet_is_outlined_where_its_labels_lie():
    """The corner of each label has ink, but where words stand."""
    media = template("sheet-letter-30-67x25").media
    page = ink_of(rulers_pdf("office", LETTER, Calibration(300), media), 300)
    for place in (1, 3, 16, 30):
        left, top = (round(side * 300 / 25.4) for side in media.corner_mm(place))
        assert page[top, left + 20 : left + 200].all()


@pytest.mark.parametrize("size_mm", [(30.0, 15.0), (50.0, 25.0), (100.0, 70.0)])
def test_a_roll_gets_rulers_of_its_own_size(size_mm):
    """With name and resolution; nothing is cut off at its edges."""
    pdf = rulers_pdf("bench", size_mm, Calibration(203))
    document = pypdfium2.PdfDocument(pdf)
    said = document[0].get_textpage().get_text_range()
    assert "bench" in said
    assert "203 dpi" in said
    assert ink_of(pdf, 203).shape == tuple(round(side * 203 / 25.4) for side in reversed(size_mm))
