"""Workbooks: what was typed in a sheet is read as a person sees it; broken ones are refused."""

import io
import random
import zipfile
from datetime import date, datetime, time

import pytest
from house import HOW
from openpyxl import Workbook

from pourbook.actions.importing import import_history
from pourbook.errors import FaultsFound, Malformed
from pourbook.exchange.tables.columns import BROKEN, Faults
from pourbook.exchange.tables.table_files import Columns, one_table, read_table, tables_in
from pourbook.exchange.tables.taken import Heard

COLUMNS = Columns(("ref",), ("value", "note"))


@pytest.fixture
def workbook(tmp_path):
    """Writes a workbook with one sheet of rows, and says where."""

    def write(*rows, title="casks", formats=(), more=()):
        book = Workbook()
        sheet = book.active
        sheet.title = title
        for row in rows:
            sheet.append(row)
        for place, number_format in formats:
            sheet[place].number_format = number_format
        for name in more:
            book.create_sheet(name)
        path = tmp_path / "house.xlsx"
        book.save(path)
        return path

    return write


def read(path, **options):
    faults = Faults()
    table = read_table(one_table(path, "casks"), COLUMNS, faults, **options)
    rows = list(table.rows)
    try:
        faults.check("table")
    except FaultsFound as found:
        return rows, found.faults
    return rows, ()


def attempted(path):
    """What was read, or the refusal."""
    try:
        return read(path)
    except Malformed as refusal:
        return refusal


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        (123, "123"),
        (0.5, "0.5"),
        (5.0, "5"),
        (0.1 + 0.2, "0.3"),
        (1e-7, "0.0000001"),
        (123456789012, "123456789012"),
        (True, "TRUE"),
        (date(2024, 7, 1), "2024-07-01"),
        (datetime(2024, 7, 1), "2024-07-01"),  # noqa: DTZ001 (a sheet knows no zone)
        (datetime(2024, 7, 1, 14, 30), "2024-07-01 14:30:00"),  # noqa: DTZ001
        (time(14, 30), "14:30:00"),
        ("  000123 ", "000123"),
        ("'=1", "=1"),
    ],
)
def test_what_was_typed_is_read_as_it_looks(workbook, typed, text):
    """Numbers without needless digits, dates in ISO order, text as text."""
    assert read(workbook(("ref", "value"), ("a", typed))) == ([(2, {"ref": "a", "value": text})], ())


def test_a_percentage_is_one(workbook):
    """A sheet keeps 63.5 % as 0.635; read without its format it would be a hundredth of the strength."""
    path = workbook(("ref", "value"), ("a", 0.635), ("b", 1), formats=[("B2", "0.0%"), ("B3", "0%")])
    assert [row["value"] for _, row in read(path)[0]] == ["63.5 %", "100 %"]


def test_a_number_takes_the_houses_decimal_mark(workbook):
    """A number is a number in any country; as text it is read by the house's mark."""
    rows, _ = read(workbook(("ref", "value"), ("a", 12.5)), heard=Heard(mark=","))
    assert rows[0][1]["value"] == "12,5"


def test_row_numbers_are_those_of_the_sheet(workbook):
    """Blank rows are passed over and counted."""
    rows, _ = read(workbook(("ref", "value"), (), (None, None), ("a", 1)))
    assert rows == [(4, {"ref": "a", "value": "1"})]


def test_a_formula_without_a_value_is_a_fault(workbook):
    """It was never calculated, so there is nothing to read; the cell is not taken for blank."""
    rows, (fault,) = read(workbook(("ref", "value"), ("a", "=1+1")))
    assert fault[1:5] == (2, "value", "=1+1", "contains a formula without a value")
    assert fault.remedy == "calculate and save the workbook, or write the value"
    assert rows == [(2, {"ref": "a", "value": BROKEN})]


def test_an_error_is_a_fault(workbook):
    """#DIV/0! is no value."""
    _, (fault,) = read(workbook(("ref", "value"), ("a", "#DIV/0!")))
    assert fault[1:5] == (2, "value", "#DIV/0!", "contains an error")


def test_cells_beyond_the_header_are_a_fault(workbook):
    """As in a CSV file."""
    _, (fault,) = read(workbook(("ref", "value"), ("a", 1, "stray")))
    assert (fault.row, fault.value, fault.problem) == (2, "stray", "has 3 cells but the header has 2")


def test_the_sheet_is_found_by_name_or_is_the_only_one(workbook):
    """In any case; else the sheets are listed."""
    assert one_table(workbook(("ref",), title=" Casks ", more=["notes"]), "casks").sheet == " Casks "
    assert one_table(workbook(("ref",), title="Tabelle1"), "casks").sheet == "Tabelle1"
    with pytest.raises(Malformed, match="has no sheet 'casks'; its sheets are: Tabelle1, notes"):
        one_table(workbook(("ref",), title="Tabelle1", more=["notes"]), "casks")


def test_an_empty_sheet(workbook):
    """No header, no table."""
    _, (fault,) = read(workbook())
    assert (fault.file, fault.problem) == ("house.xlsx (casks)", "is empty")


@pytest.fixture
def history_book(tmp_path):
    """A workbook with the sheets items and pours."""

    def write(items, pours):
        book = Workbook()
        for title, rows in (("items", items), ("pours", pours)):
            sheet = book.create_sheet(title)
            for row in rows:
                sheet.append(row)
        path = tmp_path / "history.xlsx"
        book.save(path)
        return path

    return write


HEADER = ("source", "target", "quantity", "unit", "strength", "happened", "by")


def test_a_history_in_a_workbook(new_book, history_book):
    """Sheets instead of files, numbers and dates as a spreadsheet has them, in a house with a comma."""
    book = new_book(decimal_mark=",", zone="Europe/London")
    path = history_book(
        [("Ref", "Kind", "Capacity L"), (17, "cask", 225.5), ("vial 1", "vial")],
        [
            HEADER,
            ("origin", 17, 200.5, "l", 63.5, date(2015, 7, 1), "M. Aldane"),
            (17, "vial 1", "all", None, None, datetime(2016, 1, 1, 9, 30), "M. Aldane"),  # noqa: DTZ001
        ],
    )
    sure = HOW._replace(confirm=True)  # a vial of 200 l is asked about
    assert import_history(book, sure, path)[:3] == (2, 2, 5)
    assert book.show("vial 1").volume_ml_20c == pytest.approx(200_500, abs=0.001)
    assert book.show("17").facts["capacity_l"] == "225.5"


def test_a_fault_names_workbook_and_sheet(faults_of, history_book):
    """Two sheets have a row 2 each."""
    path = history_book(
        [("ref", "kind"), ("row 1", "barrel")],
        [HEADER, ("origin", "row 1", 200, "l", None, date(2015, 7, 1), "M. Aldane")],
    )
    assert [(fault.file, fault.row, fault.column) for fault in faults_of(import_history, path)] == [
        ("history.xlsx (items)", 2, "kind"),
        ("history.xlsx (pours)", 2, "strength"),
    ]


def test_a_workbook_without_the_sheets(workbook):
    """What it has is listed."""
    with pytest.raises(Malformed, match="has no sheet 'items'; its sheets are: casks"):
        tables_in(workbook(("ref",)), ("items", "pours"))


def test_a_broken_workbook_is_refused(workbook, tmp_path):
    """Cut short, overwritten, or with parts missing: one sentence, whatever a library says."""
    path = workbook(("ref", "value"), *((f"a{n}", n) for n in range(50)))
    whole = path.read_bytes()
    draw = random.Random(3)
    broken = [whole[: len(whole) * part // 10] for part in range(1, 10)]
    for _ in range(60):
        damaged = bytearray(whole)
        for _ in range(draw.randrange(1, 30)):
            damaged[draw.randrange(4, len(damaged))] = draw.randrange(256)
        broken.append(bytes(damaged))
    refusals = []
    for content in broken:
        path.write_bytes(content)
        found = attempted(path)
        refusals += [found] if isinstance(found, Malformed) else []
    assert len(refusals) > len(broken) // 2
    assert all(refusal.remedy for refusal in refusals)


@pytest.mark.parametrize(
    "part", ["[Content_Types].xml", "xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/styles.xml"]
)
@pytest.mark.parametrize("content", [None, b"", b"<broken", b"<other/>"])
def test_a_workbook_with_a_broken_part(workbook, part, content):
    """Any part may be missing, empty, no XML, or other XML."""
    path = workbook(("ref", "value"), ("a", 1))
    parts = {}
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    if content is None:
        del parts[part]
    else:
        parts[part] = content
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    found = attempted(path)
    if isinstance(found, Malformed):
        assert found.message.startswith("'house.xlsx'")
    else:
        assert found[0] in ([], [(2, {"ref": "a", "value": "1"})])


def test_a_zip_that_is_no_workbook(tmp_path):
    """It begins like one."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("letter.txt", "no cells here")
    (tmp_path / "casks.xlsx").write_bytes(file.getvalue())
    with pytest.raises(Malformed, match="cannot be read as an XLSX workbook"):
        one_table(tmp_path / "casks.xlsx", "casks")
