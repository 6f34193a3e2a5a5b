"""The shipped templates serve every kind on every media; a template with faults says where and what to do."""

import re

import pytest

from pourbook.errors import FaultsFound, StoreError, Unknown
from pourbook.labels import KINDS, Label
from pourbook.labels.media import PAGES_MM, Roll, Sheet
from pourbook.labels.template_reading import read_template
from pourbook.labels.templates import template, templates
from pourbook.shipped import shipped

SHIPPED = templates()
GOOD = """\
name = "tag"
title = "A tag"
kinds = ["cask", "vial"]

[media]
form = "roll"
width_mm = 50
height_mm = 25

[[symbol]]
kind = "data-matrix"
box_mm = [1, 1, 12, 12]
least_module_mm = 0.4

[[field]]
text = "{id}"
box_mm = [14, 2, 34, 5]
size_pt = 14

[[field]]
text = ["{wood}", "from {date}"]
box_mm = [14, 8, 34, 4]
size_pt = 9
least_size_pt = 6
kinds = ["cask"]
"""
SHEET = """\
form = "sheet"
page = "A4"
columns = 4
rows = 11
width_mm = 50
height_mm = 25
left_mm = 5
top_mm = 11
pitch_x_mm = 50
pitch_y_mm = 25
"""


def faults_of(text, file="tag.toml"):
    with pytest.raises(FaultsFound) as refusal:
        read_template(text.encode(), file)
    return refusal.value.faults


def test_the_text_these_tests_spoil_is_good():
    """Otherwise the tests below would find faults of other kinds than theirs."""
    assert read_template(GOOD.encode(), "tag.toml").media == Roll(50, 25)
    sheet = re.sub(r'form = "roll".*?25\n', SHEET, GOOD, flags=re.DOTALL)
    assert read_template(sheet.encode(), "tag.toml").media.places == 44


# What is replaced by what, and then: the row named, the column named, and words of the message.
SPOILT = {
    "not TOML": ("width_mm = 50", "width_mm = 50 mm", 7, "", "is not TOML"),
    "a table twice": ("[[symbol]]", "[media]", 10, "", "is not TOML"),
    "a name with capitals": ('"tag"', '"Tag"', 1, "name", "cannot be the name"),
    "a name that climbs": ('"tag"', '"../tag"', 1, "name", "cannot be the name"),
    "a name unlike the file's": ('"tag"', '"label"', 1, "name", "is not the name of the file"),
    "no title": ('title = "A tag"\n', "", 0, "title", "is missing; add it"),
    "an empty title": ('"A tag"', '" "', 2, "title", "is not text"),
    "an unknown kind": ('"vial"]', '"flask"]', 3, "kinds", "use one of: cask, vial"),
    "kinds without brackets": ('["cask", "vial"]', '"cask"', 3, "kinds", "is not a list of kinds"),
    "no kinds": ('["cask", "vial"]', "[]", 3, "kinds", "is not a list of kinds"),
    "no media": ("[media]", "[medai]", 0, "media", "is missing or not a table"),
    "a misspelt table": ("[[symbol]]", "[[symbols]]", 10, "symbols", "did you mean 'symbol'?"),
    "one table for a list": ("[[symbol]]", "[symbol]", 10, "symbol", "write [[symbol]]"),
    "an unknown form of media": ('"roll"', '"fanfold"', 6, "media form", "use one of: roll, sheet"),
    "a size in quotes": ("height_mm = 25", 'height_mm = "25"', 8, "media height_mm", "'25' is not a number"),
    "a size of nothing": ("width_mm = 50", "width_mm = 0", 7, "media width_mm", "from 8 to 250"),
    "true for a number": ("width_mm = 50", "width_mm = true", 7, "media width_mm", "is not a number"),
    "a number without end": ("width_mm = 50", "width_mm = nan", 7, "media width_mm", "is not a number"),
    "bars round a vial": ('"data-matrix"', '"code-128"', 11, "symbol 1 kind", "cannot be read round a vial"),
    "an unknown symbol": ('"data-matrix"', '"aztec"', 11, "symbol 1 kind", "qr, code-128"),
    "no least module": ("least_module_mm = 0.4\n", "", 10, "symbol 1 least_module_mm", "is missing"),
    "a box of three": ("[1, 1, 12, 12]", "[1, 1, 12]", 12, "symbol 1 box_mm", "write [from the left"),
    "a box with a word": ("[1, 1, 12, 12]", '[1, 1, 12, "12"]', 12, "symbol 1 box_mm", "is not a number"),
    "a box left of the label": ("[1, 1, 12, 12]", "[-1, 1, 12, 12]", 12, "symbol 1 box_mm", "from 0 to 1000"),
    "a misspelt key": ("size_pt = 14", "size_pt = 14\nalgin = 'left'", 19, "field 1 algin", "mean 'align'?"),
    "an unknown field": ('"{id}"', '["{id}", "{idd}"]', 16, "field 1 text", "mean {id}?"),
    "a brace alone": ('"from {date}"', '"from {date"', 21, "field 2 text", "unmatched brace"),
    "a format direction": ('"from {date}"', '"{date:>20}"', 21, "field 2 text", "is not a field of a label"),
    "an attribute": ('"from {date}"', '"{date.year}"', 21, "field 2 text", "is not a field of a label"),
    "a nameless field": ('"from {date}"', '"{}"', 21, "field 2 text", "is not a field of a label"),
    "no text": ('["{wood}", "from {date}"]', "[]", 21, "field 2 text", "is empty"),
    "a number for a text": ('["{wood}", "from {date}"]', "7", 21, "field 2 text", "is not text"),
    "an unknown face": ("size_pt = 9", "size_pt = 9\nface = 'comic'", 24, "field 2 face", "code-bold"),
    "a slant": ("size_pt = 9", "size_pt = 9\nturn = 45", 24, "field 2 turn", "0, 90, 180, 270"),
    "half a line": ("size_pt = 9", "size_pt = 9\nlines = 1.5", 24, "field 2 lines", "not a whole number"),
    "yes for true": ("size_pt = 9", 'size_pt = 9\ntrim = "yes"', 24, "field 2 trim", "write true or false"),
    "too small a size": ("size_pt = 9", "size_pt = 3", 23, "field 2 size_pt", "from 4 to 200"),
    "a least above the size": (
        "least_size_pt = 6",
        "least_size_pt = 10",
        24,
        "field 2 least_size_pt",
        "more than",
    ),
    "a kind not served": ('["cask"]\n', '["lot"]\n', 25, "field 2 kinds", "'lot' is not a kind that"),
    "a symbol over the edge": ("[1, 1, 12, 12]", "[1, 14, 12, 12]", 12, "symbol 1 box_mm", "lower edge"),
    "a text over the edge": (
        "[14, 8, 34, 4]",
        "[14, 8, 37, 4]",
        22,
        "field 2 box_mm",
        "1.00 mm beyond the right",
    ),
    "a text on the symbol": ("[14, 2, 34, 5]", "[12, 2, 34, 5]", 12, "symbol 1 box_mm", "overlaps field 1"),
    "texts on one another": ("[14, 8, 34, 4]", "[14, 6, 34, 4]", 17, "field 1 box_mm", "overlaps field 2"),
    "a box too low": ("[14, 8, 34, 4]", "[14, 8, 34, 1]", 22, "field 2 box_mm", "give at least 1.86 mm"),
    "no identifier to read": ('"{id}"', '"{ref}"', 3, "kinds", 'with text = "{id}"'),
    "no symbol for one kind": (
        "least_module_mm = 0.4",
        "least_module_mm = 0.4\nkinds = ['cask']",
        3,
        "kinds",
        "vial",
    ),
}


@pytest.mark.parametrize(("old", "new", "row", "column", "words"), SPOILT.values(), ids=SPOILT.keys())
def test_a_fault_names_file_line_key_and_remedy(old, new, row, column, words):
    """Every way of spoiling a template is refused with its place and what to do about it."""
    assert old in GOOD
    faults = faults_of(GOOD.replace(old, new, 1))
    found = [fault for fault in faults if words in str(fault)]
    assert found, [str(fault) for fault in faults]
    assert (found[0].file, found[0].row, found[0].column) == ("tag.toml", row, column)
    assert found[0].remedy


SPOILT_SHEETS = {
    "a page of another law": ('"A4"', '"Foolscap"', "media page", "use one of: A4, Letter"),
    "half a column": ("columns = 4", "columns = 4.0", "media columns", "not a whole number"),
    "no rows": ("rows = 11\n", "", "media rows", "is missing"),
    "labels on one another": ("pitch_x_mm = 50", "pitch_x_mm = 49", "media pitch_x_mm", "give at least 50"),
    "too wide": ("left_mm = 5", "left_mm = 12", "media pitch_x_mm", "212 mm of a page 210 mm wide"),
    "too high": ("rows = 11", "rows = 12", "media pitch_y_mm", "311 mm of a page 297 mm high"),
    "a key of a roll's": ("rows = 11", "rows = 11\ncore_mm = 40", "media core_mm", "is not a key of this table"),
}


@pytest.mark.parametrize(("old", "new", "column", "words"), SPOILT_SHEETS.values(), ids=SPOILT_SHEETS.keys())
def test_a_sheet_that_cannot_be_is_refused(old, new, column, words):
    """The labels of a sheet must lie beside one another and on its page."""
    assert old in SHEET
    sheet = re.sub(r'form = "roll".*?25\n', SHEET.replace(old, new), GOOD, flags=re.DOTALL)
    found = [fault for fault in faults_of(sheet) if words in str(fault)]
    assert [fault.column for fault in found] == [column]


def test_all_faults_are_told_at_once():
    """In the order of the lines, and the message shows the first and counts the rest."""
    text = GOOD.replace('"roll"', '"reel"').replace("size_pt = 14", "size_pt = 1").replace('"A tag"', "7")
    faults = faults_of(text)
    assert [fault.row for fault in faults] == [2, 6, 18]
    with pytest.raises(FaultsFound, match=r"tag\.toml, row 2, title: .* \(and 2 more\)"):
        read_template(text.encode(), "tag.toml")


def test_a_file_in_another_encoding_is_refused():
    """Text of a Windows code page is not read as something else."""
    with pytest.raises(FaultsFound, match="is not UTF-8"):
        read_template(GOOD.replace("A tag", "Fût").encode("cp1252"), "tag.toml")


def test_boxes_may_share_a_place_for_different_kinds():
    """A cask shows its wood where a vial shows who drew it."""
    other = '\n[[field]]\ntext = "{who}"\nbox_mm = [14, 8, 34, 4]\nsize_pt = 9\nkinds = ["vial"]\n'
    assert len(read_template((GOOD + other).encode(), "tag.toml").fields) == 3
    assert "overlaps" in str(faults_of(GOOD + other.replace('"vial"', '"cask"'))[0])


def test_parts_without_their_field_are_left_out(made):
    """'from {date}' says nothing when there is no date."""
    parts = read_template(GOOD.encode(), "tag.toml").fields[1]
    assert parts.said(made("cask", wood="Butt", date="2020")) == ["Butt", "from 2020"]
    assert parts.said(made("cask", wood="Butt", date="")) == ["Butt"]


def test_a_template_of_the_house_goes_before_a_shipped_one(tmp_path):
    """By its name; others are added to the shipped ones."""
    shipped_text = (shipped("label_templates") / "tag-roll-50x25.toml").read_text("utf-8")
    mine = shipped_text.replace("Tag for an instrument", "Our tag for an instrument")
    (tmp_path / "tag-roll-50x25.toml").write_text(mine, "utf-8")
    (tmp_path / "tag.toml").write_text(GOOD, "utf-8")
    assert template("tag-roll-50x25", tmp_path).title.startswith("Our tag")
    assert template("tag-roll-50x25").title.startswith("Tag")
    assert {made.name for made in templates(tmp_path)} == {made.name for made in SHIPPED} | {"tag"}


def test_a_fault_in_one_template_does_not_stop_another(tmp_path):
    """Asked for by name a good template is given; asked for all, the faults of all are told."""
    (tmp_path / "bad.toml").write_text("name = 7", "utf-8")
    (tmp_path / "worse.toml").write_text("name", "utf-8")
    assert template("tag-roll-50x25", tmp_path).name == "tag-roll-50x25"
    with pytest.raises(FaultsFound) as refusal:
        templates(tmp_path)
    assert {fault.file for fault in refusal.value.faults} == {"bad.toml", "worse.toml"}


def test_a_name_that_is_not_there_is_refused_with_those_that_are():
    """And with the nearest one first; no name leads out of the folders."""
    with pytest.raises(Unknown, match="no label template 'vial-roll-30x51'") as refusal:
        template("vial-roll-30x51")
    assert refusal.value.remedy.startswith("did you mean 'vial-roll-30x15'?")
    with pytest.raises(Unknown):
        template("../label_templates/vial-roll-30x15")


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    """A misspelt folder does not silently mean no templates of the house."""
    with pytest.raises(StoreError, match="no folder of label templates"):
        templates(tmp_path / "nowhere")


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_goes_on_a_roll_and_on_both_sizes_of_sheet(kind):
    """Nobody is left without a label for want of the right media."""
    media = {"roll" if isinstance(made.media, Roll) else made.media.page for made in SHIPPED if kind in made.kinds}
    assert media == {"roll", *PAGES_MM}


# Sheets sold by the geometry of their die: common practice, no source. The sums are arithmetic: margins on
# both sides equal, labels and gaps fill the page of ISO 216 (210 x 297 mm) or 8.5 x 11 in.
@pytest.mark.parametrize(
    ("name", "places", "size"),
    [
        ("sheet-a4-65-38x21", 65, (38.1, 21.2)),
        ("sheet-a4-14-99x38", 14, (99.1, 38.1)),
        ("sheet-a4-8-99x68", 8, (99.1, 67.7)),
        ("sheet-letter-30-67x25", 30, (2.625 * 25.4, 25.4)),
        ("sheet-letter-6-102x85", 6, (4 * 25.4, 10 / 3 * 25.4)),
    ],
)
def test_sheets_lie_in_the_middle_of_their_page(name, places, size):
    """Left margin equals right, top equals foot, to a tenth of a millimetre."""
    media = template(name).media
    assert isinstance(media, Sheet)
    assert media.places == places
    assert (media.width_mm, media.height_mm) == pytest.approx(size, abs=0.001)
    right, foot = media.corner_mm(places)
    page = PAGES_MM[media.page]
    assert page[0] - right - media.width_mm == pytest.approx(media.left_mm, abs=0.1)
    assert page[1] - foot - media.height_mm == pytest.approx(media.top_mm, abs=0.1)


def test_titles_tell_the_templates_apart():
    """A list of them is of use only if no two read alike."""
    assert len({made.title for made in SHIPPED}) == len(SHIPPED) >= 10


@pytest.mark.parametrize("made_template", SHIPPED, ids=lambda made: made.name)
def test_strong_spirit_in_glass_carries_its_caution(made_template):
    """Every label for a vial or a trial has the line; so has every other label that shows a strength."""
    for kind in made_template.kinds:
        fields = [field for field in made_template.fields if kind in field.kinds]
        named = {name for field in fields for names in field.parts.values() for name in names}
        assert "caution" in named or (kind not in {"vial", "trial"} and "strength" not in named)


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("6 × 700 ml", "6 × 700 mL"),
        ("6 × 70cl", "6 × 70 cL"),
        ("2 × 1 l", "2 × 1 L"),
        ("12 × 350 mL", "12 × 350 mL"),
        ("3 lots", "3 lots"),
    ],
)
def test_contents_show_one_form_of_the_litre_however_they_were_typed(typed, shown):
    """Directive 80/181/EEC, annex, chapter I: the litre is l or L (the text was not looked up); labels write L."""
    carton = template("lot-carton-roll-100x60")
    texts = [text for _, said in carton.texts_on(Label("lot", "L000001C", "L-000001-C", count=typed)) for text in said]
    assert shown in texts
