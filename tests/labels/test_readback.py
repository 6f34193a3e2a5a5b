"""Readback: a page with a bad symbol is not printed, and what is said names it."""

from dataclasses import replace
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from pourbook.errors import OutOfRange, Refused
from pourbook.labels import Printout, labels_pdf
from pourbook.labels.calibration import Calibration
from pourbook.labels.label_drawing import dots, symbol_on
from pourbook.labels.raster import pictures, png
from pourbook.labels.reach import check_reach
from pourbook.labels.readback import misreads, read_back
from pourbook.labels.symbols import symbol
from pourbook.labels.templates import template, templates

NAMES = [shipped.name for shipped in templates()]
VIAL = template("vial-roll-30x15")
SHEET = template("sheet-a4-65-38x21")


def run_pdf(labels, roll, calibration, start=1, *, readback=True):
    """A run made ready as an action does it: within the printer's reach, drawn, read back."""
    printout = Printout(labels, roll, calibration, start)
    check_reach(printout)
    pdf = printout.pdf()
    if readback:
        read_back(pdf, printout)
    return pdf


@pytest.fixture(scope="module")
def spoil():
    """A PDF with a rectangle painted over a part of one page, in millimetres from its top left corner."""

    def paint(pdf, page, box_mm, grey=0):
        document = pypdfium2.PdfDocument(pdf)
        sheet = document[page - 1]
        x, y, width, height = (side * 72 / 25.4 for side in box_mm)
        raw = pypdfium2.raw
        patch = raw.FPDFPageObj_CreateNewRect(x, sheet.get_height() - y - height, width, height)
        raw.FPDFPageObj_SetFillColor(patch, grey, grey, grey, 255)
        raw.FPDFPath_SetDrawMode(patch, raw.FPDF_FILLMODE_ALTERNATE, 0)
        raw.FPDFPage_InsertObject(sheet, patch)
        sheet.gen_content()
        sink = BytesIO()
        document.save(sink)
        return sink.getvalue()

    return paint


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_sound_labels_pass(made, name, dpi):
    """Every shipped template, with labels of all its kinds: no false alarm."""
    shipped = template(name)
    labels = [made(kind, 100 + n) for n, kind in enumerate(shipped.kinds)]
    assert list(misreads(labels_pdf(labels, shipped, dpi), Printout(labels, shipped, Calibration(dpi)))) == []


def test_a_spoilt_symbol_on_page_seven_stops_the_run_and_is_named(made, spoil):
    """The box of the symbol of the seventh label of a roll is half covered."""
    labels = [made("vial", number) for number in range(1, 13)]
    pdf = spoil(labels_pdf(labels, VIAL), 7, (2.5, 0.7, 2.5, 6.1))
    with pytest.raises(Refused) as refusal:
        read_back(pdf, Printout(labels, VIAL))
    assert refusal.value.message == (
        "readback stopped the run: page 7, place 1: the data-matrix of V-000007-X does not read"
    )
    assert "--no-readback" in refusal.value.remedy


def test_on_a_sheet_page_and_place_are_named(made, spoil):
    """The first sheet is part used, and the bad label is the third of the second row of the second sheet."""
    labels = [made("vial", number) for number in range(70)]
    left, top = SHEET.media.corner_mm(8)
    pdf = spoil(labels_pdf(labels, SHEET, 300, 64), 2, (left + 3, top + 3, 4, 4))
    [found] = misreads(pdf, Printout(labels, SHEET, start=64))
    assert (found.page, found.place, found.id) == (2, 8, "V-000009-X")  # two on the first sheet, then the tenth


def test_two_labels_in_each_other_s_place_read_as_something_else(made):
    """Well printed, and wrong: what is read is told."""
    labels = [made("vial", number) for number in (1, 2)]
    found = [str(one) for one in misreads(labels_pdf(labels, VIAL), Printout(labels[::-1], VIAL))]
    assert found == [
        "page 1, place 1: the data-matrix of V-000002-X reads as 'V000001X'",
        "page 2, place 1: the data-matrix of V-000001-X reads as 'V000002X'",
    ]


def test_a_symbol_that_reads_only_upright_and_sharp_is_told(made, monkeypatch):
    """Modules blurred by more than their size: as printed it still reads, as met it does not."""
    from pourbook.labels import readback

    label = made("vial")
    pdf = labels_pdf([label], VIAL)
    monkeypatch.setattr(readback, "_BLUR_MODULES", 1.2)
    [found] = misreads(pdf, Printout([label], VIAL))
    assert found.why == "does not read when it is turned and slightly blurred"


def test_what_covers_the_quiet_zone_is_noticed(made, spoil):
    """A black bar beside a Code 128, where ten modules of white belong (ISO/IEC 15417)."""
    cask, label = template("cask-head-100x70"), made("cask")
    bars = next(field for field in cask.symbols if field.kind == "code-128").box
    sound = labels_pdf([label], cask)
    assert list(misreads(sound, Printout([label], cask))) == []
    pdf = spoil(sound, 1, (bars.x_mm + 4.0, bars.y_mm, 1.0, bars.height_mm))
    assert [one.kind for one in misreads(pdf, Printout([label], cask))] == ["code-128"]


def test_each_symbol_of_a_label_is_read(made, spoil):
    """A flag says its identifier twice: the second is spoilt."""
    flag, label = template("vial-flag-74x15"), made("vial")
    second = flag.symbols[1].box
    pdf = spoil(labels_pdf([label], flag), 1, (second.x_mm + 2, second.y_mm + 2, 3, 3))
    assert len(list(misreads(pdf, Printout([label], flag)))) == 1


def test_many_bad_labels_are_told_in_few_words(made):
    """Five by name, and that there are more; the rest of the run is not read any more."""
    labels = [made("vial", number) for number in range(40)]
    with pytest.raises(Refused) as refusal:
        read_back(labels_pdf(labels, VIAL), Printout(labels[1:] + labels[:1], VIAL))
    assert refusal.value.message.count("page") == 5
    assert refusal.value.message.endswith("; and there are more")


def test_a_file_with_other_pages_than_the_run_is_no_check_of_it(made):
    """Neither too few nor too many."""
    labels = [made("vial", number) for number in range(3)]
    for run in (labels[:2], [*labels, labels[0]]):
        with pytest.raises(ValueError, match="argument"):
            list(misreads(labels_pdf(labels, VIAL), Printout(run, VIAL)))


def test_a_run_is_read_back_unless_that_is_left_out(made, monkeypatch):
    """A symbol drawn for another code: the run is refused; without readback it is not."""
    from pourbook.labels import label_drawing as drawing

    def of_another(label, field, frame):
        mark, least_mm = symbol_on(label, field, frame)
        return symbol(mark.kind, mark.text.replace("V000003X", "V000009X")), least_mm

    monkeypatch.setattr(drawing, "symbol_on", of_another)
    labels = [made("vial", number) for number in range(1, 5)]
    with pytest.raises(Refused, match=r"page 3, place 1: the data-matrix of V-000003-X reads as 'V000009X'"):
        run_pdf(labels, VIAL, Calibration(203))
    assert run_pdf(labels, VIAL, Calibration(203), readback=False).startswith(b"%PDF")


def test_symbols_for_the_outside_are_held_against_what_they_should_say(made):
    """A case with another serial number than was printed is found by both symbols that carry it."""
    shipped = template("case-sscc-roll-105x148")
    outside = {
        "gs1_unit": "(00)095212340000000013",
        "gs1_content": "(02)09521234005674 (37)6",
        "gs1_lot": "(10)L26-118",
    }
    label = replace(made("lot"), **outside)
    other = replace(label, gs1_unit="(00)095212340000000020")
    pdf = labels_pdf([label], shipped)
    assert list(misreads(pdf, Printout([label], shipped))) == []
    found = [str(one) for one in misreads(pdf, Printout([other], shipped))]
    assert {one.split(" the ")[1].split(" of ")[0] for one in found} == {"gs1-128", "gs1-data-matrix"}
    assert "page 1, place 1: the gs1-128 of L-000123-X reads as ']C100095212340000000013'" in found


# -- the printer's reach --------------------------------------------------------------------------


def ink_of(pdf, dpi):
    """Dots with ink, of the first page."""
    return np.asarray(next(pictures(pdf, dpi))) < 128


def test_the_offset_moves_everything_by_whole_dots(made):
    """0.6 mm right and 0.4 mm up at 203.2 dpi are 5 and 3 dots (8 dots to the millimetre)."""
    labels = [made("vial")]
    still = ink_of(run_pdf(labels, VIAL, Calibration(203.2)), 203.2)
    moved = ink_of(run_pdf(labels, VIAL, Calibration(203.2, (0.6, -0.4))), 203.2)
    assert np.array_equal(moved[:-3, 5:], still[3:, :-5])
    assert not moved[:, :5].any()


def test_an_offset_that_takes_a_label_off_its_roll_is_refused(made):
    """The symbol starts 1.4 mm from the edge."""
    with pytest.raises(OutOfRange, match=r"of V-000123-X at place 1 lies .* mm beyond .* at the left"):
        run_pdf([made("vial")], VIAL, Calibration(300, (-1.6, 0.0)))


def test_margins_refuse_only_the_places_they_reach(made):
    """Labels of a sheet begin 4.75 mm from its edge, and their ink 6 mm and more."""
    labels = [made("vial", number) for number in range(65)]
    office = Calibration(300, margins_mm=(5.9, 4.2, 5.9, 4.2))
    assert run_pdf(labels, SHEET, office).startswith(b"%PDF")
    wide = office._replace(margins_mm=(8.0, 0.0, 0.0, 0.0))
    with pytest.raises(OutOfRange, match=r"at place 6 .* at the left"):
        run_pdf(labels[:2], SHEET, wide, start=5)
    assert run_pdf(labels[:4], SHEET, wide, start=2).startswith(b"%PDF")


def test_the_quiet_zone_may_lie_where_nothing_is_printed(made):
    """The box of bars reaches to the edge of its label, the bars do not: white needs no printer."""
    head = template("cask-head-100x70")
    assert min(field.box.x_mm for field in head.symbols) < 1
    assert run_pdf([made("cask")], head, Calibration(300, margins_mm=(2.0, 2.0, 2.0, 2.0))).startswith(b"%PDF")


# -- pictures --------------------------------------------------------------------------------------


def test_a_preview_is_black_and_white_and_knows_its_size(made):
    """One pixel to a dot, and the dots to the inch are in the file."""
    [picture] = pictures(labels_pdf([made("vial")], VIAL, 203), 203)
    assert set(np.unique(picture)) == {0, 255}
    seen = Image.open(BytesIO(png(picture, 203)))
    assert seen.size == (dots(30, 203), dots(15, 203))
    assert [round(side) for side in seen.info["dpi"]] == [203, 203]
    assert np.array_equal(np.asarray(seen.convert("L")), np.asarray(picture))
