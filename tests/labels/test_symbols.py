"""Symbols have the sizes of their standards, say their text to another's reader, and outline exactly."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Malformed
from pourbook.labels.symbols import GS1_KINDS, SYMBOL_KINDS, outlines, symbol

PLAIN = [kind for kind in SYMBOL_KINDS if kind not in GS1_KINDS]

# Sizes and capacities: Data Matrix ISO/IEC 16022, QR Code ISO/IEC 18004 (read in published lists of capacities,
# each also found by encoding to the limit with two libraries); Code 128 ISO/IEC 15417: 35 + 11 n modules for n
# symbol characters between start and check.
DATA_MATRIX = [("A" * 10, 14), ("1" * 16, 14), ("A" * 11, 16), ("A" * 16, 16), ("A" * 17, 18), ("1" * 44, 20)]
QR = [("C000123X", 21), ("A" * 20, 21), ("A" * 21, 25), ("A" * 38, 25), ("A" * 39, 29)]
CODE_128 = [("ABCDEFGH", 8), ("ABCDEFGHI", 9), ("ABCDEFGHIJ", 10), ("C000123X", 7)]


@pytest.mark.parametrize(("text", "side"), DATA_MATRIX)
def test_data_matrix_sizes(text, side):
    """A text fills a square Data Matrix of the size of ISO/IEC 16022, from 14 x 14 up."""
    mark = symbol("data-matrix", text)
    assert (mark.columns, len(mark.rows)) == (side, side)


def test_a_short_text_is_not_put_in_a_12_by_12_data_matrix():
    """12 x 12 holds six letters, but one reader gave wrong text for 5 of 240 clean ones (own trial)."""
    assert symbol("data-matrix", "C1").columns == 14


@pytest.mark.parametrize(("text", "side"), QR)
def test_qr_sizes_at_level_m_or_better(text, side):
    """A text fills the version that ISO/IEC 18004 gives it at level M."""
    mark = symbol("qr", text)
    assert (mark.columns, len(mark.rows)) == (side, side)


def test_an_identifier_gets_the_highest_level_that_its_version_holds():
    """Version 1 holds 10 letters and digits at level H (ISO/IEC 18004), so 8 get H for nothing."""
    import zxingcpp

    found = zxingcpp.read_barcode(_picture(symbol("qr", "C000123X")), formats=zxingcpp.BarcodeFormat.QRCode)
    assert found.ec_level == "H"


@pytest.mark.parametrize(("text", "characters"), CODE_128)
def test_code_128_lengths(text, characters):
    """35 + 11 n modules; six digits take three characters and two to change sets (ISO/IEC 15417)."""
    assert symbol("code-128", text).columns == 35 + 11 * characters


def test_quiet_zones():
    """1 module round Data Matrix, 4 round QR, 10 beside Code 128 (ISO/IEC 16022, 18004, 15417)."""
    assert [symbol(kind, "C000123X").quiet for kind in PLAIN] == [1, 4, 10]
    bars = symbol("code-128", "C000123X")
    assert (bars.width_modules, bars.height_modules) == (132, 0)
    assert symbol("data-matrix", "C000123X").height_modules == 16


def test_data_matrix_has_its_finder_pattern():
    """Left and lower edge dark, upper and right edge alternating (ISO/IEC 16022)."""
    rows = symbol("data-matrix", "V004711K").rows
    assert all(row[0] == "1" for row in rows)
    assert rows[-1] == "1" * 14
    assert rows[0] == "10" * 7
    assert "".join(row[-1] for row in rows) == "01" * 7


def _picture(mark):
    tall = 60 if mark.linear else 1
    modules = np.array([[255 * (module == "0") for module in row] for row in mark.rows], dtype=np.uint8)
    bare = np.kron(modules, np.ones((3 * tall, 3), dtype=np.uint8))
    return np.pad(bare, 3 * mark.quiet, constant_values=255)


@pytest.mark.parametrize("kind", PLAIN)
@given(st.text(alphabet="0123456789ABCDEFGHJKMNPQRSTVWXYZ-", min_size=4, max_size=24))
def test_a_reader_reads_what_was_written(read, kind, text):
    """zxing-cpp's reader gives back the text of every symbol, whichever library made it."""
    assert read(_picture(symbol(kind, text)), kind) == [text]


@pytest.mark.parametrize("text", ["", "C-000123-Ł", "C000\n123"])
def test_text_that_no_symbol_can_carry_is_refused(text):
    """Nothing, letters beyond ASCII and line breaks are refused."""
    with pytest.raises(Malformed, match="cannot be encoded in a symbol"):
        symbol("qr", text)


def test_an_unknown_kind_is_refused():
    """The refusal names the kinds there are."""
    with pytest.raises(Malformed) as refusal:
        symbol("aztec", "C000123X")
    assert "data-matrix" in refusal.value.remedy


GRIDS = st.integers(1, 9).flatmap(
    lambda width: st.lists(st.text("01", min_size=width, max_size=width), min_size=1, max_size=9).map(tuple)
)


@given(GRIDS)
def test_outlines_enclose_exactly_the_dark_modules(rows):
    """Filled by winding number, the outlines give every module back, and nothing else."""
    rings = outlines(rows)
    filled = tuple(
        "".join(str(_winding(rings, x + 0.5, y + 0.5)) for x in range(len(row))) for y, row in enumerate(rows)
    )
    assert filled == rows


@given(GRIDS)
def test_outlines_pulled_in_lose_area_at_every_edge(rows):
    """Each corner moves towards the dark: less length times pull, plus a square a corner (Steiner)."""
    pull = 0.01
    rings = outlines(rows)
    areas = [_area([(c.x, c.y) for c in ring]) for ring in rings]
    sides = [side for ring in rings for side in zip(ring, ring[1:] + ring[:1], strict=True)]
    edges = sum(abs(a.x - b.x) + abs(a.y - b.y) for a, b in sides)
    pulled = sum(_area([(c.x + pull * c.inward_x, c.y + pull * c.inward_y) for c in ring]) for ring in rings)
    turns = sum(4 if area > 0 else -4 for area in areas)
    assert sum(areas) == sum(row.count("1") for row in rows)
    assert pulled == pytest.approx(sum(areas) - pull * edges + pull**2 * turns)


def test_outlines_have_only_turning_corners():
    """A bar of three modules is a rectangle of four corners, however long."""
    assert [len(ring) for ring in outlines(("111",))] == [4]
    assert sorted(len(ring) for ring in outlines(("111", "101", "111"))) == [4, 4]


def test_areas_that_touch_at_a_corner_stay_apart():
    """Pulled in, they must not be joined by a thread of ink."""
    assert len(outlines(("10", "01"))) == 2


def _area(points):
    """Shoelace formula, y downwards, clockwise positive."""
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs) / 2


def _winding(rings, x, y):
    """How often the outlines run round a point: crossings of the ray to the right, signed."""
    count = 0
    for ring in rings:
        for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
            if a.x == b.x > x and min(a.y, b.y) < y < max(a.y, b.y):
                count += 1 if b.y > a.y else -1
    return count
