"""Cells that wrap and tables that split."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.platypus import Spacer

from pourbook import typefaces
from pourbook.errors import Malformed
from pourbook.papers.cells import BODY, Cell, Mark, Piece, broken, fitted_pt, scanned
from pourbook.papers.listing import listed
from pourbook.papers.page import Title, document
from pourbook.papers.sections import lines, section
from pourbook.papers.tables import Column, PaperTable, paper_table, places

COLUMNS = (Column("ref", 20, stretch=1), Column("mass\nkg", 20, "right"), Column("who", 20))
words = st.text(alphabet="abcdefghż-Łśβμ", min_size=1, max_size=40)


@given(text=st.lists(words, min_size=1, max_size=12).map(" ".join), width_pt=st.floats(12, 300))
def test_wrapping_keeps_every_character_and_the_width(text, width_pt):
    """No line is wider than its column, and nothing but spaces is lost."""
    wrapped = broken(text, BODY, width_pt)
    assert "".join(wrapped).replace(" ", "") == text.replace(" ", "")
    assert all(typefaces.width_pt(line, BODY.face, BODY.size_pt) <= width_pt + 0.02 for line in wrapped)


@given(digits=st.integers(1, 30), width_pt=st.floats(10, 200))
def test_a_figure_is_set_smaller_and_never_broken(digits, width_pt):
    text = "9" * digits
    cell = Cell([Piece(text)], "right", wraps=False)
    cell.wrap(width_pt, 0)
    assert [line.text for line in cell.lines] == [text]
    assert typefaces.width_pt(text, BODY.face, fitted_pt(text, BODY, width_pt)) <= width_pt + 1e-6


@given(
    heights=st.lists(st.integers(1, 4), min_size=1, max_size=40),
    room_pt=st.floats(40, 400),
)
def test_a_split_table_keeps_its_rows_their_order_and_the_room(heights, room_pt):
    """Every part but the last fits, has the head, and no last row stands alone."""
    rows = [("x " + "\nx" * (lines_ - 1), str(number), "") for number, lines_ in enumerate(heights)]
    parts: list[PaperTable] = []
    rest = [paper_table(COLUMNS, rows, 300)]
    while rest:
        table = rest.pop()
        split = [table] if table.height <= room_pt else table.split(300, room_pt)
        if not split:
            assert table.head.height_pt + table.rows[0].height_pt > room_pt
            return
        parts.append(split[0])
        rest = [one for one in split[1:] if isinstance(one, PaperTable)]
    numbers = [row.cells[1].pieces[0].text for part in parts for row in part.rows]
    assert numbers == [str(number) for number in range(len(rows))]
    assert all(part.head.cells[0].pieces[0].text == "ref" for part in parts)
    assert all(part.height <= room_pt for part in parts)
    last_two_pt = sum(row.height_pt for part in parts[-2:] for row in part.rows[-2:])
    assert len(rows) < 3 or len(parts[-1].rows) > 1 or parts[0].head.height_pt + last_two_pt > room_pt


@pytest.mark.parametrize("above_pt", range(0, 60, 6))
def test_no_page_has_the_head_of_a_table_twice(read, imprint, above_pt):
    """Wherever the end of a page falls among its last rows, what is held back for the next page begins it."""
    table = [("a cask\nof oak\nin a row", "1.250", "M. Aldane")] * 18
    paper = read(
        document(
            imprint, Title("Stock", "L-000001-C", "L000001C"),
            lambda width_pt: [Spacer(0, above_pt), paper_table(COLUMNS, table, width_pt)],
        )
    )  # fmt: skip
    assert [page.text.count("mass") for page in paper.pages] == [1] * len(paper.pages)


def test_columns_fill_the_width_without_touching():
    standing = places(COLUMNS, 400)
    assert standing[0].left == 0
    assert standing[-1].left + standing[-1].width == pytest.approx(400)
    gaps = [after.left - (before.left + before.width) for before, after in pairwise(standing)]
    assert min(gaps) >= 6 - 1e-9
    assert gaps[1] > gaps[0], "text that follows figures stands further off"


@pytest.mark.parametrize(
    ("width_pt", "lines"),
    [(300, ["Wilhelmina", "Quarterstone"]), (120, None)],  # there is width to spare, or there is none
)
def test_a_name_is_broken_only_where_no_other_column_has_width_to_spare(width_pt, lines):
    columns = (Column("item", 30, stretch=1), Column("who", 12))
    table = paper_table(columns, [("cask", "Wilhelmina Quarterstone")] * 2, width_pt)
    found = [piece.text for piece in table.rows[0].cells[1].lines]
    assert found == lines if lines else len(found) > 2
    assert sum(column.width_mm for column in table.columns) * 72 / 25.4 <= width_pt


def test_a_text_longer_than_a_page_goes_on_in_rows_without_a_line_between():
    table = paper_table(COLUMNS, [("word " * 3000, "1.000", "Ilse")], 400)
    assert len(table.rows) > 5
    assert all(row.height_pt < 400 for row in table.rows)
    assert {row.rule_pt for row in table.rows[:-1]} == {0}


def test_a_heading_asks_for_room_for_the_first_rows():
    table = paper_table(COLUMNS, [("a", "1", "b")] * 9, 400)
    guard, heading, _ = section("Pours", [table], 400)
    assert guard.height >= heading.height + table.head.height_pt + 2 * table.rows[0].height_pt


def test_a_heading_of_one_line_asks_for_no_more_than_it_needs():
    guard, *_ = section("Notes", lines(["Rest it."]), 400)
    assert guard.height < 60


def test_an_identifier_that_would_scan_as_another_is_refused():
    assert scanned("C-000123-Y", "C000123Y") == "C000123Y"
    with pytest.raises(Malformed, match="would scan as 'C000124X' but read 'C-000123-Y'"):
        scanned("C-000123-Y", "C000124X")


def test_a_symbol_keeps_the_quiet_zone_of_its_standard():
    """One module round a Data Matrix (ISO/IEC 16022), four round a QR Code (ISO/IEC 18004)."""
    for kind, quiet in (("data-matrix", 1), ("qr", 4)):
        mark = Mark(kind, "C000123Y", module_dots=12)
        module_pt = 12 * 72 / 600
        assert mark.quiet_pt == pytest.approx(quiet * module_pt)
        assert mark.width == pytest.approx((mark.symbol.columns + 2 * quiet) * module_pt)


def test_a_column_that_says_nothing_is_left_out_with_its_total():
    """But the first, and one that has only a total."""
    fields = [(Column(str(index), 20), lambda row, index=index: row[index]) for index in range(5)]
    rows = [("", "", Piece(""), "a", ""), ("", "", (), "b", "")]
    (table,) = listed(rows, fields, ("sum", "", "", "", "2"))
    assert [column.head for column in table.columns] == ["0", "3", "4"]
    assert table.rows == (("", "a", ""), ("", "b", ""))
    assert table.total == ("sum", "", "2")
