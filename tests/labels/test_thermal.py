"""Labels in ZPL: dot for dot the proof, read here by a reader of the language written from its manual.

The ZPL II programming guide (45541L-004, pages on ^GF, ^FH, ^CI, ^A, ^FB and on the compression of
~DG) is the source of what commands mean. Golden files hold what a label is, command by command; where
a picture in them holds letters, it would change with the renderer, so only symbols stand in those.
"""

import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from pourbook.errors import Refused
from pourbook.labels import Printout
from pourbook.labels.calibration import Calibration
from pourbook.labels.raster import pictures
from pourbook.labels.template_reading import read_template
from pourbook.labels.templates import template, templates
from pourbook.labels.thermal import escaped, label_jobs, repeated, zpl

GOLDEN = Path(__file__).parent / "golden"
ROLLS = [made.name for made in templates() if not hasattr(made.media, "page")]
COUNTS = {chr(ord("G") + n): n + 1 for n in range(19)} | {chr(ord("g") + n): 20 * (n + 1) for n in range(20)}


def job_of(label, name, dpi, offset_mm=(0.0, 0.0), **how):
    """What a printer is sent for a label, and the page it was made of."""
    printout = Printout([label], template(name), Calibration(dpi, offset_mm))
    pdf = printout.pdf()
    (job,) = label_jobs(pdf, printout, **how)
    return job.decode("ascii"), np.asarray(next(pictures(pdf, dpi))) < 128


def rows_of(data, across):
    """Rows of bits of compressed hexadecimal: counts before digits, a comma, an exclamation mark, a colon."""
    rows, digits, count = [], "", 0
    for character in data:
        if character in COUNTS:
            count += COUNTS[character]
            continue
        if character == ":":
            assert not digits
            rows.append(rows[-1])
            continue
        if character in ",!":
            digits = digits.ljust(2 * across, "0" if character == "," else "F")
        else:
            digits += character * max(1, count)
        count = 0
        if len(digits) == 2 * across:
            rows.append(np.unpackbits(np.frombuffer(bytes.fromhex(digits), np.uint8)).astype(bool))
            digits = ""
        assert len(digits) < 2 * across
    assert not digits
    return np.array(rows)


def printed(job):
    """The dots that the graphic fields of a label put on paper, and the texts with their places."""
    width, height = (int(found) for found in re.search(r"\^PW(\d+)\^LL(\d+)", job).groups())
    paper = np.zeros((height, width + 7), bool)
    for x, y, sent, size, across, data in re.findall(r"\^FO(\d+),(\d+)\^GFA,(\d+),(\d+),(\d+),([^^]*)\^FS", job):
        rows = rows_of(data, int(across))
        assert int(sent) == int(size) == rows.shape[0] * int(across) <= 99_999
        paper[int(y) : int(y) + rows.shape[0], int(x) : int(x) + rows.shape[1]] |= rows
    assert not paper[:, width:].any()
    return paper[:, :width]


@pytest.mark.parametrize("name", ROLLS)
def test_a_label_is_the_page_dot_for_dot(made, name):
    """Every roll template at 203 dpi: what the printer burns is what was read back."""
    job, page = job_of(made(template(name).kinds[0], who="Zofia Łąkowska"), name, 203)
    assert job.startswith("^XA^CI28")
    assert job.rstrip().endswith("^XZ")
    assert np.array_equal(printed(job), page)


def test_a_large_label_goes_in_bands_that_older_printers_take(made):
    """A graphic field may have 99,999 bytes; 100 x 70 mm at 300 dpi has more."""
    job, page = job_of(made("cask"), "cask-head-100x70", 300)
    assert job.count("^GFA") == 2
    assert np.array_equal(printed(job), page)


@given(st.integers(1, 70), st.lists(st.sampled_from("nwbrs"), min_size=1, max_size=12), st.randoms())
def test_any_picture_comes_back_as_it_was(width, rows, chance):
    """White, black, random, striped and repeated rows of any width."""
    made_of = {
        "w": lambda: [0] * width,
        "b": lambda: [255] * width,
        "n": lambda: [chance.choice((0, 255)) for _ in range(width)],
        "s": lambda: ([0, 255] * width)[:width],
    }
    lines = []
    for row in rows:
        lines.append(list(lines[-1]) if row == "r" and lines else made_of["n" if row == "r" else row]())
    pixels = np.array(lines, np.uint8)
    assert np.array_equal(printed(zpl(Image.fromarray(pixels)).decode("ascii")), pixels < 128)


@pytest.mark.parametrize(("digits", "sent"), [("6" * 7, "M6"), ("B" * 40, "hB"), ("B" * 327, "vMB")])
def test_repeats_are_counted_as_the_manual_counts_them(digits, sent):
    """Its own three examples."""
    assert repeated(digits) == sent


# -- texts set by the printer ---------------------------------------------------------------------


@given(st.text(max_size=40))
def test_no_text_can_be_a_command(text):
    """Neither prefix is left in field data, every byte comes back, and nothing beyond ASCII is sent."""
    sent = escaped(text)
    assert sent.isascii()
    assert not {"^", "~"} & set(sent)
    read = re.sub(rb"_([0-9A-F]{2})", lambda pair: bytes.fromhex(pair[1].decode()), sent.encode("ascii"))
    assert read.decode("utf-8") == text


def test_plain_lines_are_the_printer_s_and_all_others_stay_pictures(made):
    """With what stood in their place taken out of the picture, and symbols as they were read back."""
    label = made("vial", ref="Q'Ardry ^XZ~JA_é", name="Zażółć", count="")
    own, page = job_of(label, "vial-roll-30x15", 203, own_text=True)
    texts = re.findall(r"\^FT\d+,\d+\^A0N,\d+,\d+\^FB\d+,1,0,L\^FH_\^FD(.*?)\^FS", own)
    assert texts[:2] == ["V-000123-X", "Q'Ardry _5EXZ_7EJA_5F_C3_A9"]
    assert not any("Za" in text for text in texts)
    roll = template("vial-roll-30x15")
    dots = printed(own)
    symbol, name = (
        tuple(round(side * 203 / 25.4) for side in box) for box in (roll.symbols[0].box, roll.fields[2].box)
    )
    for x, y, width, height in (symbol, name):
        part = np.s_[y : y + height, x : x + width]
        assert dots[part].any()
        assert np.array_equal(dots[part], page[part])
    assert dots.sum() < page.sum()


def test_a_line_of_the_printer_cannot_leave_its_room(made):
    """No character is wider than its share of the room; what would be too small stays a picture."""
    for width in (1, 40, 400):
        label = made("cask", name="W" * width, wood="m" * width, note="i" * width)
        own, _ = job_of(label, "cask-head-100x70", 203, own_text=True)
        for across, room, text in re.findall(r"\^A0N,\d+,(\d+)\^FB(\d+),1,0,.\^FH_\^FD(.*?)\^FS", own):
            letters = len(re.sub(r"_..", "x", text))
            assert int(across) >= 10  # the least width of a scalable font
            assert letters * int(across) <= int(room)


def test_a_backslash_stays_in_the_picture(made):
    """In a field block it would start a new line."""
    own, _ = job_of(made("vial", name=r"a\&b"), "vial-roll-30x15", 203, own_text=True)
    assert "a_5C" not in own
    assert r"a\&b" not in own


# -- golden files -----------------------------------------------------------------------------------

TAG = """
name = "golden"
title = "A tag of short lines"
kinds = ["instrument"]
[media]
form = "roll"
width_mm = 50
height_mm = 25
[[symbol]]
kind = "{symbol}"
box_mm = [1, 1, {width}, 12]
least_module_mm = 0.25
[[rule]]
box_mm = [1, 13.4, 48, 0.3]
[[field]]
text = "{{id}}"
box_mm = [1, 14, 30, 5]
face = "code-bold"
size_pt = 12
[[field]]
text = "{{ref}}"
box_mm = [1, 19.5, 30, 4]
size_pt = 9
[[field]]
text = "{{note}}"
box_mm = [32, 14, 16, 5]
size_pt = 9
align = "right"
"""


@pytest.mark.parametrize(("symbol", "width", "dpi"), [("data-matrix", 12, 203), ("qr", 12, 300), ("code-128", 48, 300)])
def test_labels_are_the_golden_ones(made, request, symbol, width, dpi):
    """A change of a single command is seen, and looked at before it goes to a printer."""
    tag = read_template(TAG.format(symbol=symbol, width=width).encode(), "golden.toml")
    label = made("instrument", ref="Q'Ardry ^XZ~JA_é", note="½ × 50")
    printout = Printout([label], tag, Calibration(dpi))
    (job,) = label_jobs(printout.pdf(), printout, own_text=True)
    golden = GOLDEN / f"{symbol}-{dpi}.zpl"
    if request.config.getoption("--update-golden", default=False):
        golden.parent.mkdir(exist_ok=True)
        golden.write_bytes(job)
    assert job.decode("ascii") == golden.read_text("ascii")


def test_a_sheet_goes_to_no_thermal_printer(made):
    """The remedy says which templates there are."""
    sheet = template("sheet-a4-65-38x21")
    printout = Printout([made("vial")], sheet)
    with pytest.raises(Refused, match="is a sheet"):
        list(label_jobs(printout.pdf(), printout))


def test_the_offset_moves_texts_and_picture_alike(made):
    """By the same whole dots."""
    label = made("vial")
    still, _ = job_of(label, "vial-roll-30x15", 203, own_text=True)
    moved, _ = job_of(label, "vial-roll-30x15", 203, own_text=True, offset_mm=(0.5, 0.25))
    places = [[tuple(map(int, place)) for place in re.findall(r"\^FT(\d+),(\d+)", job)] for job in (still, moved)]
    assert [(x + 4, y + 2) for x, y in places[0]] == places[1]  # 0.5 mm are 4.0 dots, 0.25 mm are 2.0
    assert np.array_equal(printed(still)[:-2, :-4], printed(moved)[2:, 4:])
