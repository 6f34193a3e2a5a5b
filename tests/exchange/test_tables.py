"""Files into rows: what is read leniently, and what is refused in one clear sentence."""

import csv
import io

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pourbook.errors import FaultsFound, Malformed
from pourbook.exchange.tables.columns import BROKEN, Faults
from pourbook.exchange.tables.table_files import Columns, guarded, one_table, read_table, tables_in
from pourbook.exchange.tables.table_sources import Source

COLUMNS = Columns(("ref", "kind"), ("capacity_l", "note"))


def read(content, columns=COLUMNS, **options):
    """Columns, rows and faults of a CSV file."""
    faults = Faults()
    content = content.encode() if isinstance(content, str) else content
    table = read_table(Source("casks.csv", content), columns, faults, **options)
    rows = list(table.rows)
    try:
        faults.check("table")
    except FaultsFound as found:
        return table.columns, rows, found.faults
    return table.columns, rows, ()


def faults_of(content, **options):
    return read(content, **options)[2]


# -- what is read ---------------------------------------------------------------------------


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_delimiters_line_ends_and_byte_order_marks(delimiter, end, mark):
    """Whatever the spreadsheet saved: the same rows."""
    lines = ["ref,kind,note", "row 1,cask,old", "", "row 2,cask,"]
    text = mark + end.join(line.replace(",", delimiter) for line in lines)
    assert read(text) == (
        ("ref", "kind", "note"),
        [(2, {"ref": "row 1", "kind": "cask", "note": "old"}), (4, {"ref": "row 2", "kind": "cask"})],
        (),
    )


def test_the_delimiter_is_told_from_the_header_alone():
    """Commas in cells do not outvote the semicolons of the header."""
    _, rows, _ = read("ref;kind;note\nrow 1;cask;a,b,c,d,e,f\n")
    assert rows == [(2, {"ref": "row 1", "kind": "cask", "note": "a,b,c,d,e,f"})]


def test_names_of_columns_in_any_case_and_with_spaces():
    """As a person writes them at the head of a sheet."""
    assert read(" REF ,Kind,Capacity L,note\n")[0] == ("ref", "kind", "capacity_l", "note")


def test_cells_are_stripped_and_quotes_understood():
    """Spaces around a cell mean nothing; a quoted cell may hold delimiters, quotes and line ends."""
    _, rows, _ = read('ref,kind,note\n  row 1 ,cask,"a, ""b""\nc"\nrow 2,cask,\n')
    assert rows == [
        (2, {"ref": "row 1", "kind": "cask", "note": 'a, "b"\nc'}),
        (3, {"ref": "row 2", "kind": "cask"}),
    ]


def test_another_encoding_when_it_is_named():
    """cp1252 and UTF-16 are read when asked for."""
    text = "ref,kind,note\nrow 1,cask,Möwe\n"
    for encoding in ("cp1252", "utf-16"):
        assert read(text.encode(encoding), encoding=encoding)[1][0][1]["note"] == "Möwe"


def test_names_in_any_script():
    """UTF-8 is the rule."""
    assert read("ref,kind\nряд 1,cask\n")[1] == [(2, {"ref": "ряд 1", "kind": "cask"})]


def test_empty_cells_beyond_the_header_are_cut():
    """Spreadsheets write them; they say nothing."""
    assert read("ref,kind\nrow 1,cask,,,\n")[1] == [(2, {"ref": "row 1", "kind": "cask"})]


@given(st.text(st.characters(codec="utf-8", exclude_characters="\0")))
@example("=1+1")
@example("'=1")
@example("-5")
@example("@SUM(A1)")
def test_guarded_text_comes_back(text):
    """What is written so that a spreadsheet does not run it is read as it was."""
    text = text.strip()
    written = guarded(text)
    assert written[:1] not in tuple("=+-@\t\r")
    file = io.StringIO()
    csv.writer(file).writerow(["x", "cask", written])
    (row,) = read("ref,kind,note\n" + file.getvalue())[1]
    assert row[1].get("note", "") == text


# -- what is refused ------------------------------------------------------------------------


def test_an_empty_file():
    """Nothing in it, or nothing but blank lines."""
    for content in ("", "\n\n \n", "\ufeff"):
        (fault,) = faults_of(content)
        assert (fault.file, fault.row, fault.problem) == ("casks.csv", 0, "is empty")
        assert fault.remedy == "begin with a row of column names: ref, kind …"


def test_a_header_that_does_not_come_first():
    """Blank rows above it are passed over."""
    assert read("\n\nref,kind\nrow 1,cask\n")[1] == [(4, {"ref": "row 1", "kind": "cask"})]


@pytest.mark.parametrize(
    ("header", "column", "problem", "remedy"),
    [
        ("ref", "kind", "the column is missing", "add a column 'kind'"),
        (
            "ref,kind,colour", "colour", "is not a column known here",
            'say --map "colour=COLUMN" or --leave-out "colour"; columns are: ref, kind, capacity_l, note',
        ),
        (
            "ref,kind,Remarks", "Remarks", "is not a column known here",
            'if it is that, say --map "Remarks=note"; if not, --leave-out "Remarks"',
        ),
        ("ref,kind,note,Ref", "Ref", "the column appears twice", "keep one"),
        ("ref,,kind\nrow 1,x,cask", "", "column 2 has no name", "name it, or delete the column"),
        ("ref,kind,\nrow 1,cask,x", "", "column 3 has no name", "name it, or delete the column"),
    ],
)  # fmt: skip
def test_a_fault_in_the_header(header, column, problem, remedy):
    """It is listed as row 1."""
    (fault,) = faults_of(header + "\n")
    assert (fault.row, fault.column, fault.problem, fault.remedy) == (1, column, problem, remedy)


def test_a_column_without_name_and_cells_says_nothing():
    """A spreadsheet's blank column between two others."""
    assert read("ref,,kind\nrow 1,,cask\n")[1:] == ([(2, {"ref": "row 1", "kind": "cask"})], ())


def test_rows_are_still_read_beside_an_unknown_column():
    """So that one reading lists all there is to correct."""
    _, rows, faults = read("ref,kind,colour\nrow 1,cask,red\nrow 2\n")
    assert rows == [(2, {"ref": "row 1", "kind": "cask"})]
    assert [fault.row for fault in faults] == [1, 3]


@pytest.mark.parametrize(
    ("row", "value", "problem"),
    [
        ("row 1,cask,2,5", "5", "has 4 cells but the header has 3"),
        ("row 1,cask", "", "has 2 cells but the header has 3"),
    ],
)
def test_a_ragged_row(row, value, problem):
    """A decimal comma without quotes makes two cells of one: nothing is guessed."""
    (fault,) = faults_of(f"ref,kind,capacity_l\n{row}\n")
    assert (fault.row, fault.value, fault.problem) == (2, value, problem)
    assert "put quotes around a cell that contains the delimiter" in fault.remedy


def test_a_nul_byte():
    """The cell is named, and the row is not taken for sound."""
    _, rows, (fault,) = read("ref,kind\nro\0w,cask\n")
    assert (fault.row, fault.column, fault.value, fault.problem) == (2, "ref", "ro␀w", "contains a NUL byte")
    assert rows == [(2, {"ref": BROKEN, "kind": "cask"})]


@pytest.mark.parametrize("size", [1, 50_000])
def test_a_quotation_mark_that_is_not_closed(size):
    """The row where it opens is named, however much it swallows."""
    content = "ref,kind\nrow 1,cask\n" + '"row 2,cask\n' + "row 3,cask\n" * size
    (fault,) = faults_of(content)
    assert fault.row == 3
    or_so = ", or a cell has more than 131072 characters" if size > 1 else ""
    assert fault.problem == f"a quotation mark opens here but never closes{or_so}"


def test_a_quotation_mark_in_the_middle():
    """Text after a closing quote is no CSV."""
    (fault,) = faults_of('ref,kind\n"row" 1,cask\n')
    assert fault.row == 2
    assert fault.problem.startswith("is not valid CSV")


def test_another_encoding_is_refused_with_its_byte():
    """0xF6 is ö in cp1252 (ISO 8859-1 has it there too); file and line are named, and the command's own option."""
    (fault,) = faults_of("ref,kind,note\nrow 1,cask,x\nrow 2,cask,Möwe\n".encode("cp1252"))
    assert (fault.file, fault.row, fault.problem) == ("casks.csv", 3, "is not text in UTF-8: byte 0xF6")
    assert fault.remedy == "save it as UTF-8, or import it with --encoding cp1252"


def test_utf_16_is_recognised_by_its_mark():
    """And offered as the remedy; that no header was found follows from it, and is not told."""
    (fault,) = faults_of("ref,kind\n".encode("utf-16"))
    assert fault.remedy.endswith("--encoding utf-16")


def test_an_encoding_that_nobody_knows():
    """It is named."""
    with pytest.raises(Malformed, match="'klingon' is not an encoding known here"):
        read("ref,kind\n", encoding="klingon")


def test_a_folder_is_not_a_table(tmp_path):
    """And a file that is not there is not either."""
    with pytest.raises(Malformed, match="is a folder"):
        one_table(tmp_path, "casks")
    with pytest.raises(Malformed, match="does not exist"):
        one_table(tmp_path / "casks.csv", "casks")


def test_an_old_workbook_is_told(tmp_path):
    """The first bytes of the old form are those of an OLE compound file (read in the magic of file(1))."""
    (tmp_path / "casks.xls").write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))
    with pytest.raises(Malformed, match=r"an old workbook .* or has a password"):
        one_table(tmp_path / "casks.xls", "casks")


def test_standard_input(monkeypatch):
    """`-` is read to its end."""
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"ref,kind\nrow 1,cask\n")))
    source = one_table("-", "casks")
    table = read_table(source, COLUMNS, Faults())
    assert (source.name, list(table.rows)) == ("standard input", [(2, {"ref": "row 1", "kind": "cask"})])


@given(st.binary(max_size=300))
@example(b'ref,kind\n"')
@example(b"\xff\xfe\x00")
@example(b"ref\x00,kind")
@example(b'"ref\n,kind"')
@example(b"ref,kind\r\rx")
def test_no_bytes_make_it_stumble(content):
    """Rows, faults or one refusal: never anything else."""
    columns, rows, faults = read(content)
    assert all(fault.problem and fault.remedy for fault in faults)
    assert all(set(row) <= set(columns) for _, row in rows)


@given(st.lists(st.lists(st.text('ab,;"\n\t =', max_size=5), max_size=4), max_size=6))
def test_no_csv_makes_it_stumble(cells):
    """Nor do rows of any length with any marks in them."""
    file = io.StringIO()
    csv.writer(file).writerows([["ref", "kind"], *cells])
    _, rows, faults = read(file.getvalue())
    listed = {number for number, _ in rows} | {fault.row for fault in faults}
    filled = {number for number, row in enumerate(cells, 2) if any(cell.strip() for cell in row)}
    assert filled == listed


def test_a_folder_without_both_tables(tmp_path):
    """All that is missing is named at once."""
    with pytest.raises(Malformed, match=r"has no items\.csv and no pours\.csv"):
        tables_in(tmp_path, ("items", "pours"))
