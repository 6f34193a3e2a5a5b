"""Labels onto media: right place, right order, same bytes, printed at full size, or refused with a reason."""

import re

import numpy as np
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Malformed, OutOfRange, Refused
from pourbook.labels import CAUTION, Label, labels_pdf
from pourbook.labels.label_drawing import dots
from pourbook.labels.label_sheets import pages
from pourbook.labels.template_reading import read_template
from pourbook.labels.templates import template, templates
from pourbook.paperwork.unset_characters import unset_on

SMALL = template("sheet-a4-65-38x21")
VIAL = template("vial-roll-30x15")


@given(st.integers(0, 300), st.integers(1, 65))
def test_places_follow_one_another_from_the_start(count, start):
    """Every label has one place; places run on over the pages without a gap."""
    placed = [pair for page in pages(range(count), SMALL, start) for pair in page]
    assert [label for _, label in placed] == list(range(count))
    assert [place for place, _ in placed] == [(start - 1 + n) % 65 + 1 for n in range(count)]


@given(st.integers(1, 300), st.integers(1, 65))
def test_no_page_is_left_empty(count, start):
    """As many pages as the labels and the places skipped need."""
    assert len(list(pages(range(count), SMALL, start))) == -(-(count + start - 1) // 65)


@pytest.mark.parametrize("start", [1, 2, 6, 37, 65])
def test_the_first_label_lies_where_the_sheet_is_still_whole(made, raster, read, start):
    """Ink lies in the place asked for and nowhere else."""
    page = raster(labels_pdf([made("cask")], SMALL, 203, start), 203)[0]
    media = SMALL.media
    left, top = media.corner_mm(start)
    x, y, width, height = (dots(side, 203) for side in (left, top, media.width_mm, media.height_mm))
    assert read(page[y : y + height, x : x + width], "data-matrix") == ["C000123X"]
    page[y : y + height, x : x + width] = 255
    assert page.min() == 255


@pytest.mark.parametrize("start", [0, 66, -1])
def test_a_place_that_is_not_there_is_refused(made, start):
    """The remedy says which places there are."""
    with pytest.raises(OutOfRange, match=f"no place {start}") as refusal:
        labels_pdf([made("cask")], SMALL, start=start)
    assert "1 to 65" in refusal.value.remedy
    with pytest.raises(OutOfRange):
        labels_pdf([made("vial")], VIAL, start=2)


def test_a_roll_has_one_label_a_page(made):
    """In the order given."""
    document = pypdfium2.PdfDocument(labels_pdf([made("vial", n) for n in (7, 3, 5)], VIAL))
    texts = [page.get_textpage().get_text_range() for page in document]
    assert ["V-000007-X" in texts[0], "V-000003-X" in texts[1], "V-000005-X" in texts[2]] == [True] * 3
    assert len(texts) == 3


def test_the_same_labels_give_the_same_bytes(made):
    """Whatever was printed in between."""
    labels = [made("vial", n, who="Zofia Łąkowska") for n in range(70)]
    first = labels_pdf(labels, SMALL)
    other = labels_pdf([made("trial", name="Ἀμβροσία ⚗")], SMALL)
    assert labels_pdf(labels, SMALL) == first != other


def test_the_file_asks_not_to_be_scaled_and_has_a_title(made):
    """As read back by another library."""
    document = pypdfium2.PdfDocument(labels_pdf([made("vial")], VIAL))
    assert not pypdfium2.raw.FPDF_VIEWERREF_GetPrintScaling(document.raw)
    assert document.get_metadata_value("Title") == f"Labels: {VIAL.title}"


def test_every_text_of_the_label_is_on_the_page_as_text(made):
    """It can be searched and copied, accents included."""
    label = made("cask", wood="Dębowa beczka", ref="№ 1184", place="Kho phía bắc ế")
    text = pypdfium2.PdfDocument(labels_pdf([label], template("cask-head-100x70")))[0].get_textpage()
    read = text.get_text_range()
    for said in ("C-000123-X", label.wood, label.ref, label.place, label.house, CAUTION.split(": ")[1]):
        assert said in read


def test_the_last_parts_of_a_line_go_first_when_they_do_not_fit(made):
    """The order of the parts says which matter most: strength, date, who, volume."""

    def said(**texts):
        pdf = labels_pdf([made("vial", caution="", **texts)], VIAL)
        return pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()

    short = said(strength="61.3 %", date="4 Nov", who="MO", volume="50 mL")
    assert "61.3 % · 4 Nov · MO · 50 mL" in short
    long = said(strength="61.3 % vol", date="2025-11-04", who="Zofia Szczebrzeszyńska", volume="50 mL")
    assert "61.3 % vol · 2025-11-04" in long
    assert "Zofia" not in long


def test_a_second_print_says_so(made):
    """Two labels of one identifier can be told apart, on every template."""
    for shipped in templates():
        pdf = labels_pdf([made(kind, print_mark="print 2") for kind in shipped.kinds], shipped)
        text = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))
        assert text.count("print 2") >= len(shipped.kinds)


def test_what_is_empty_leaves_its_place_blank(made, raster, read):
    """A label with nothing but its identifier prints, and scans."""
    bare = Label("cask", "C000123X", "C-000123-X", caution="")
    page = raster(labels_pdf([bare], template("cask-head-100x70"), 203), 203)[0]
    assert read(page, "code-128") == ["C000123X"]
    full = raster(labels_pdf([made("cask")], template("cask-head-100x70"), 203), 203)[0]
    assert (page < 128).sum() < (full < 128).sum()


def test_a_text_that_may_not_be_cut_is_refused_with_what_would_fit():
    """An identifier is never trimmed: half of it would be another's."""
    long = Label("vial", "V" + "1" * 12 + "X", "V-" + "1" * 12 + "-X")
    words = re.escape("does not fit its 21.6 x 3.3 mm of label 'vial-roll-30x15' at 8 pt")
    with pytest.raises(OutOfRange, match=words) as refusal:
        labels_pdf([long], VIAL)
    # 21.6 mm are 61.2 pt; 12 characters of 0.602 em at 8 pt are 57.8 pt, 13 are 62.6 pt
    assert "as far as 'V-1111111111' would fit" in refusal.value.remedy


TURNED = """
name = "turned"
title = "Texts in every direction"
kinds = ["place"]
[media]
form = "roll"
width_mm = 60
height_mm = 60
[[symbol]]
kind = "data-matrix"
box_mm = [20, 20, 20, 20]
least_module_mm = 0.5
[[field]]
text = "{id}"
box_mm = [12, 2, 36, 8]
size_pt = 14
[[field]]
text = "{ref}"
box_mm = [2, 12, 8, 36]
size_pt = 14
turn = 90
[[field]]
text = "{name}"
box_mm = [12, 50, 36, 8]
size_pt = 14
turn = 180
[[field]]
text = "{note}"
box_mm = [50, 12, 8, 36]
size_pt = 14
turn = 270
reverse = true
"""


def test_turned_texts_stay_in_their_boxes_and_start_at_the_right_end(made, raster):
    """Anticlockwise: 90 starts at the foot, 180 at the right, 270 at the top of its box."""
    shipped = read_template(TURNED.encode(), "turned.toml")
    label = made("place", ref="LLL", name="LLL", note="LLL")
    page = raster(labels_pdf([label], shipped, 254), 254)[0]  # ten dots to the millimetre
    boxes = {90: np.s_[120:480, 20:100], 180: np.s_[500:580, 120:480], 270: np.s_[120:480, 500:580]}
    ink = {turn: page[box] < 128 for turn, box in boxes.items()}
    assert ink[90][180:].any()
    assert not ink[90][:180].any()
    assert ink[180][:, 180:].any()
    assert not ink[180][:, :180].any()
    assert not ink[270][:180].all()  # white on black, and the white at the top
    assert ink[270][180:].all()
    for box in (*boxes.values(), np.s_[200:400, 200:400], np.s_[20:100, 120:480]):
        page[box] = 255
    assert page.min() == 255


def test_a_symbol_too_large_for_its_box_is_refused_with_what_it_needs(made):
    """112 modules and 20 of quiet zone at 0.5 mm, which is 12 dots of a 600th of an inch, are 67.1 mm."""
    bars = read_template(TURNED.replace('"data-matrix"', '"code-128"').encode(), "turned.toml")
    words = re.escape("a code-128 of 'S000123X' at 600 dpi needs 67.1 mm and has 20.0 x 20.0 mm")
    with pytest.raises(OutOfRange, match=words):
        labels_pdf([made("place")], bars, 600)


@pytest.mark.parametrize("dpi", [0, 72, 149, 5000])
def test_a_printer_too_coarse_or_too_fine_is_refused(made, dpi):
    """The message names the range."""
    with pytest.raises(OutOfRange, match="dpi"):
        labels_pdf([made("vial")], VIAL, dpi)


def test_the_true_pitch_of_a_print_head_can_be_given(made, raster, read):
    """203 dpi heads have 8 dots to the millimetre, 203.2 dpi (common practice)."""
    page = raster(labels_pdf([made("vial")], VIAL, 203.2), 203.2)[0]
    assert page.shape == (120, 240)
    assert read(page, "data-matrix") == ["V000123X"]


def test_nothing_to_print_is_refused():
    """No empty file lands in a print queue."""
    with pytest.raises(Refused, match="no labels"):
        labels_pdf([], VIAL)


def test_a_kind_that_the_template_does_not_serve_is_refused(made):
    """The remedy names those that it does."""
    with pytest.raises(Refused, match=r"no label for a cask \(C-000123-X\)") as refusal:
        labels_pdf([made("cask")], VIAL)
    assert refusal.value.remedy == "it serves: vial"


@pytest.mark.parametrize(
    ("code", "read"),
    [("C000124X", "C-000123-X"), ("", ""), ("C-000123-X", "C-000123-X"), ("C000123X", "C-000123")],
)
def test_a_label_that_scans_unlike_it_reads_is_refused(code, read):
    """Two identifiers on one label would both be believed."""
    with pytest.raises(Malformed, match="would scan as"):
        labels_pdf([Label("cask", code, read)], template("cask-head-100x70"))


def test_an_unknown_kind_of_label_is_refused():
    """The remedy names the kinds there are."""
    with pytest.raises(Malformed, match="'barrel' is not a kind") as refusal:
        labels_pdf([Label("barrel", "C000123X", "C-000123-X")], SMALL)
    assert "cask" in refusal.value.remedy


def test_a_missing_glyph_is_a_square_on_the_label(made):
    """Neither blank nor a reason not to print."""
    label = made("vial", name="山 blend")
    page = pypdfium2.PdfDocument(labels_pdf([label], VIAL))[0].get_textpage()
    assert "□ blend" in page.get_text_range()
    assert unset_on([label])[0].startswith(f"{label.id} has 山 (U+5C71), which")


def test_labels_are_taken_as_they_come(made):
    """A generator will do: nothing needs the whole list at once."""
    listed = [made("vial", number) for number in range(3)]
    assert labels_pdf((label for label in listed), VIAL) == labels_pdf(listed, VIAL)
