"""The look that all papers share."""

import os
import subprocess
import sys
from dataclasses import replace

import pytest

from pourbook.errors import Malformed, OutOfRange
from pourbook.papers.page import CAUTION, Title, document
from pourbook.papers.sections import facts, lines

TITLE = Title("Pull sheet", "B-000007-5", "B0000075")
PAGE_MM = {"A4": (210, 297), "Letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1 size A


def many_lines(_width_pt):
    return lines([f"Line {number} of what is to be done." for number in range(1, 121)])


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_page_carries_head_foot_and_its_number(read, imprint, paper):
    printed = read(document(imprint, TITLE, many_lines, paper))
    assert len(printed.pages) > 1
    for number, page in enumerate(printed.pages, start=1):
        assert f"page {number} of {len(printed.pages)}" in page.text
        assert CAUTION in page.text
        for text in (imprint.house, "Pull sheet", TITLE.id, f"Printed {imprint.printed}", "entry 1284"):
            assert text in page.text
        assert imprint.head_hash[:16] in page.text
        assert [round(side / 72 * 25.4, 1) for side in (page.width, page.height)] == pytest.approx(
            PAGE_MM[paper], abs=0.1
        )


def test_every_page_can_be_scanned(scan, imprint):
    """A loose page is put back by its symbol, read by zxing-cpp from a picture of 200 dpi."""
    pages = scan(document(imprint, TITLE, many_lines))
    assert len(pages) > 1
    assert pages == [[("QRCode", TITLE.code)]] * len(pages)


def test_no_line_is_lost_between_pages(read, imprint):
    text = read(document(imprint, TITLE, many_lines)).text
    assert all(f"Line {number} of what is to be done." in text for number in range(1, 121))


def test_the_file_says_title_house_and_language(read, imprint):
    pdf = document(replace(imprint, language="pl"), TITLE, many_lines)
    properties = read(pdf).properties
    assert (properties["Title"], properties["Author"]) == ("Pull sheet B-000007-5", "Quillmere Distillery")
    assert b"/Lang (pl)" in pdf
    assert b"/DisplayDocTitle true" in pdf


def test_equal_values_give_equal_bytes_in_another_process_too(imprint):
    """Nothing of the clock, of chance, or of the order of hashing gets into the file."""
    program = (
        "import hashlib, sys\n"
        "from pourbook.papers.page import Imprint, Title, document\n"
        "from pourbook.papers.sections import lines\n"
        f"imprint = Imprint({imprint.house!r}, {imprint.printed!r}, 1284, {imprint.head_hash!r})\n"
        f"pdf = document(imprint, Title(*{tuple(TITLE)!r}), lambda width: lines(['Źdźbło ⚗ Ψ']))\n"
        "sys.stdout.write(hashlib.sha256(pdf).hexdigest())\n"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1
    assert document(imprint, TITLE, many_lines) == document(imprint, TITLE, many_lines)


def test_a_house_with_a_very_long_name_keeps_its_whole_name_inside_the_margins(read, squeezed, imprint, polish):
    printed = read(document(replace(imprint, house=polish), TITLE, many_lines))
    for page in printed.pages:
        assert squeezed(polish) in squeezed(page.text)
        assert max(right for _, _, right, _ in page.boxes) < page.width - 30
        assert min(left for left, *_ in page.boxes) > 30


def test_a_character_without_glyph_stands_as_a_square_wherever_it_stands(read, imprint):
    for strange in (replace(imprint, house="Quillmere 酒"), replace(imprint, printed="2026 酒")):
        assert "□" in read(document(strange, TITLE, many_lines)).joined
    assert "rice□" in read(document(imprint, TITLE, lambda _width: lines(["rice酒"]))).joined


def test_an_unknown_paper_size_is_refused_with_those_there_are(imprint):
    with pytest.raises(Malformed, match="'A3' is not a supported paper size") as refusal:
        document(imprint, TITLE, many_lines, "A3")
    assert refusal.value.remedy == "use one of: A4, Letter"


def test_a_paper_that_would_scan_as_another_is_refused(imprint):
    with pytest.raises(Malformed, match="would scan as 'B0000083' but read 'B-000007-5'"):
        document(imprint, TITLE._replace(code="B0000083"), many_lines)


def test_a_fact_longer_than_a_page_is_refused_in_words(imprint):
    with pytest.raises(OutOfRange, match="a text on the pull sheet of B-000007-5 is longer than a page"):
        document(imprint, TITLE, lambda width: [facts([("Ref", "word " * 5000)], width)])
