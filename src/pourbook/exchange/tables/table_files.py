"""The one reader of files: CSV and XLSX into rows of text, with every fault of form listed.

Rows have the numbers a spreadsheet shows (the header is 1) and stream: memory does not grow with the file. The
encoding is UTF-8 unless another is named; the header tells the delimiter (comma, semicolon, tab). Column names are
read in any case, with spaces or hyphens for `_`.

>>> faults = Faults()
>>> source = Source("casks.csv", b"Ref;Capacity L\\nrow 1;190\\n")
>>> table = read_table(source, Columns(("ref",), ("capacity_l", "note")), faults)
>>> table.columns, list(table.rows)
(('ref', 'capacity_l'), [(2, {'ref': 'row 1', 'capacity_l': '190'})])
"""

import csv
import hashlib
import io
import sys
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, islice
from pathlib import Path

from pourbook.errors import Fault, Malformed
from pourbook.exchange.tables.columns import BROKEN, Faults
from pourbook.exchange.tables.date_forms import is_less_than_a_day
from pourbook.exchange.tables.survey import MOST_ABOVE, likeness, surveyed
from pourbook.exchange.tables.table_sources import MOST_COLUMNS, Columns, Source, column_name
from pourbook.exchange.tables.taken import Heard, Row, Surveyed, Table
from pourbook.input_files import in_megabytes

__all__ = [
    "MOST_LINE", "MOST_ROWS", "Columns", "Row", "Source", "Table", "column_name", "digests", "guarded",
    "one_sheet", "one_table", "read_table", "records", "tables_in",
]  # fmt: skip

MOST_ROWS = 20_000_000
MOST_LINE = 2**20
"""Rows of a CSV, and characters of one of its lines."""

_MOST_OF_HEADINGS = 100_000
_MOST_TYPED = 200_000_000
_DELIMITERS = ",;\t"
_RUN_BY_SPREADSHEETS = frozenset("=+-@\t\r")
_WORKBOOK, _OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"


# -- which file -------------------------------------------------------------------------


def tables_in(path: Path | str, names: Sequence[str], optional: Sequence[str] = ()) -> dict[str, Source]:
    """The tables of these names in a folder (`NAME.csv`) or in a workbook (the sheet NAME); `optional` ones if there.

    Raises:
        Malformed: the folder, the workbook or a table is missing.
    """
    path = Path(path)
    files = " and ".join(f"{name}.csv" for name in names)
    if path.is_dir():
        missing = [f"{name}.csv" for name in names if not (path / f"{name}.csv").is_file()]
        if missing:
            raise Malformed(f"folder '{path}' has no {' and no '.join(missing)}", f"it needs {files}")
        there = [*names, *(name for name in optional if (path / f"{name}.csv").is_file())]
        return {name: Source(f"{name}.csv", path / f"{name}.csv") for name in there}
    source = Source(path.name, path)
    if not _is_workbook(source):
        raise Malformed(f"'{path}' is neither a folder nor an XLSX workbook", f"name the folder with {files}")
    found = {name: _sheet(source, name) for name in names}
    return found | {name: sheet for name in optional if (sheet := _sheet_if_any(source, name))}


def one_table(path: Path | str, name: str) -> Source:
    """The only table of a file: a CSV, a workbook's sheet of that name or its only one; `-` is standard input.

    Raises:
        Malformed: it cannot be read, or has several sheets and none of that name.
    """
    if str(path) == "-":
        typed = sys.stdin.buffer.read(_MOST_TYPED + 1)
        if len(typed) > _MOST_TYPED:
            raise Malformed(f"standard input has more than {in_megabytes(_MOST_TYPED)}", "save it to a file first")
        source = Source("standard input", typed)
    elif Path(path).is_dir():
        raise Malformed(f"'{path}' is a folder", "name the file in it", file=Path(path).name)
    else:
        source = Source(Path(path).name, Path(path))
    return one_sheet(source, name)


def one_sheet(source: Source, name: str) -> Source:
    """The only table of a file that is there already: itself, or a workbook's sheet of that name or its only one.

    Raises:
        Malformed: it has several sheets and none of that name, or is an old workbook.
    """
    return _sheet(source, name, or_only=True) if _is_workbook(source) else source


def digests(sources: Iterable[Source]) -> dict[str, str]:
    """File name to the SHA-256 of its bytes, as hexadecimal text."""
    found = {}
    for source in sources:
        with source.open() as file:
            found[source.file] = hashlib.file_digest(file, "sha256").hexdigest()
    return found


def _is_workbook(source: Source) -> bool:
    """Told by the first bytes, whatever the name; an old workbook or one with a password is refused."""
    with source.open() as file:
        begins = file.read(4)
    if begins == _OLD_WORKBOOK:
        raise Malformed(
            f"'{source.name}' is an old workbook (.xls) or has a password", "save it as .xlsx without a password",
            file=source.name,
        )  # fmt: skip
    return begins == _WORKBOOK


def _sheet(source: Source, name: str, *, or_only: bool = False) -> Source:
    from pourbook.exchange.tables.workbooks import sheet_names  # openpyxl is heavy

    if found := _sheet_if_any(source, name):
        return found
    titles = sheet_names(source)
    if or_only and len(titles) == 1:
        return _of_sheet(source, titles[0])
    raise Malformed(
        f"'{source.name}' has no sheet '{name}'; its sheets are: {', '.join(titles)}", "rename the sheet",
        file=source.name,
    )  # fmt: skip


def _sheet_if_any(source: Source, name: str) -> Source | None:
    from pourbook.exchange.tables.workbooks import sheet_names

    found = (title for title in sheet_names(source) if title.strip().casefold() == name)
    return next((_of_sheet(source, title) for title in found), None)


def _of_sheet(source: Source, title: str) -> Source:
    return Source(f"{source.name} ({title})", source.content, title)


# -- rows -------------------------------------------------------------------------------


def read_table(
    source: Source, columns: Columns, faults: Faults, *, encoding: str | None = None, heard: Heard | None = None
) -> Table:
    """Look a table through and open it; rows are checked for form as they are read, none without a sound header.

    `heard` is what the book and the person say of its headings; its decimal mark is written into numbers that a
    sheet holds as numbers.

    Raises:
        Malformed: the file cannot be opened, or the encoding is unknown.
    """
    heard = heard or Heard()
    unread = Table((), iter(()), {BROKEN})
    unheard: set[str] = set()
    found = surveyed(source, columns, lambda: records(source, columns, Faults(), encoding, unheard, heard), heard)
    missed = set(found.sub_headings.values()) if found else set()
    if found is None:
        any(records(source, columns, faults, encoding, missed, heard))
        if not missed:
            names = ", ".join(columns.required)
            faults.add(Fault(source.name, 0, "", "", "is empty", f"begin with a row of column names: {names} …"))
        return unread
    if len(found.names) > MOST_COLUMNS:
        told = f"it has {len(found.names)} columns, and may have {MOST_COLUMNS}"
        faults.add(Fault(source.name, found.row, "", "", told, "delete the columns that are not used"))
        return unread
    faults.surveyed(found)
    named = [name for name in found.names if name]
    if len(set(named)) < len(named) or found.lacking:
        return unread
    read = records(source, columns, faults, encoding, missed, heard, found)
    typed = zip(found.names, found.typed, strict=True)
    headings = {name: heading for name, heading in typed if name and column_name(heading) != name}
    filled = (*named, *([found.sub_column] if found.sub_column and found.sub_column not in named else []))
    return Table(filled, _rows(source, found, read, faults, missed), missed, headings, found.row)


def records(
    source: Source, columns: Columns, faults: Faults, encoding: str | None, missed: set[str], heard: Heard,
    found: Surveyed | None = None,
) -> Iterator[tuple[int, list[str]]]:  # fmt: skip
    """Every record of the table; once it was looked through, cells that are not taken in have no faults."""
    if not source.sheet:
        return _csv_records(source, columns, faults, encoding or "utf-8-sig", missed, heard)
    from pourbook.exchange.tables.workbooks import sheet_records  # openpyxl is heavy

    named = {at: name for at, name in enumerate(found.names) if name} if found else {}
    return sheet_records(source, faults, heard.mark, named, found.row if found else 0)


def _rows(
    source: Source, found: Surveyed, records: Iterator[tuple[int, list[str]]], faults: Faults, missed: set[str]
) -> Iterator[Row]:
    names, width, sub_heading = found.names, len(found.names), ""
    for number, raw in records:
        cells = [cell.strip() for cell in raw]
        if number <= found.row or number in found.passed_over or not any(cells):
            continue
        if number in found.sub_headings:
            sub_heading = found.sub_headings[number]
            continue
        if source.sheet and len(cells) < width:
            cells += [""] * (width - len(cells))
        if len(cells) < width or (len(cells) > width and any(cells[width:])):
            remedy = "write every cell, empty ones too; put quotes around a cell that contains the delimiter"
            problem = f"has {len(cells)} cells but the header has {width}"
            faults.add(Fault(source.name, number, "", "".join(cells[width : width + 1]), problem, remedy))
            missed.update(cells)
            continue
        whole = "".join(cells)
        if "'" in whole:
            cells = [_unguarded(cell) for cell in cells]
        if BROKEN in whole and not source.sheet:
            _break_nul(source, number, names, cells, faults)
        inexact = [f"{found.typed[at]}: {cells[at]}" for at in found.dates if is_less_than_a_day(cells[at])]
        for place, converted in found.converted.items():
            if cells[place]:
                cells[place] = converted(cells[place])
        row = {name: cell for name, cell in zip(names, cells, strict=False) if cell and name}
        if inexact:  # what was typed is kept in words: the day is only a reading of it
            words = "note" if found.table == "items" else "reason"
            row[words] = "; ".join(filter(None, (row.get(words, ""), *inexact)))
        if found.sub_column and sub_heading:
            row[found.sub_column] = ", ".join((sub_heading, *filter(None, [row.get(found.sub_column)])))
        yield number, row


def _break_nul(source: Source, number: int, names: Sequence[str], cells: list[str], faults: Faults) -> None:
    for place, cell in enumerate(cells):
        if BROKEN in cell:
            shown = cell.replace(BROKEN, "␀")
            faults.add(
                Fault(
                    source.name, number, names[place], shown, "contains a NUL byte", "delete it, or save the file again"
                )
            )
            cells[place] = BROKEN


# -- text that a spreadsheet would run ---------------------------------------------------


def guarded(text: str) -> str:
    """Text with an apostrophe before what a spreadsheet would run; reading takes it off. Numbers are no text.

    The characters are those of OWASP's note on CSV injection (also ASVS 5.0, 1.2.10; read in a copy).

    >>> guarded("=1+1"), guarded("row 7"), _unguarded(guarded("'=1"))
    ("'=1+1", 'row 7', "'=1")
    """
    return "'" + text if text.lstrip("'")[:1] in _RUN_BY_SPREADSHEETS else text


def _unguarded(text: str) -> str:
    return text[1:] if text[:1] == "'" and text.lstrip("'")[:1] in _RUN_BY_SPREADSHEETS else text


# -- CSV --------------------------------------------------------------------------------


def _csv_records(
    source: Source, columns: Columns, faults: Faults, encoding: str, missed: set[str], heard: Heard
) -> Iterator[tuple[int, list[str]]]:
    number = 0
    try:
        with source.open() as file, io.TextIOWrapper(file, encoding, newline="") as text:
            lines = iter(lambda: text.readline(MOST_LINE + 1), "")
            first = list(islice(lines, MOST_ABOVE))
            delimiter = _delimiter([line[:_MOST_OF_HEADINGS] for line in first], columns, heard)
            reader = csv.reader(map(_bounded, chain(first, lines)), delimiter=delimiter, strict=True)
            for number, cells in enumerate(reader, 1):
                if number > MOST_ROWS:
                    raise csv.Error(f"it has more than {MOST_ROWS} rows")
                yield number, cells
    except LookupError as error:
        raise Malformed(f"'{encoding}' is not an encoding known here", "write it like cp1252 or utf-16") from error
    except (UnicodeError, csv.Error) as error:
        missed.add(BROKEN)
        is_csv = isinstance(error, csv.Error)
        faults.add(_csv_fault(source, number + 1, str(error)) if is_csv else _undecodable(source, encoding))


def _bounded(line: str) -> str:
    if len(line) > MOST_LINE:
        raise csv.Error(f"a line has more than {MOST_LINE} characters")
    return line


def _delimiter(lines: list[str], columns: Columns, heard: Heard) -> str:
    """The delimiter that finds most headings in one of the first lines."""

    def named(delimiter: str) -> tuple[int, int]:
        rows = [next(csv.reader([line], delimiter=delimiter), []) for line in lines]
        return max(((likeness(row, columns, heard.meanings), len(row)) for row in rows), default=(0, 0))

    return max(_DELIMITERS, key=named)


def _csv_fault(source: Source, row: int, said: str) -> Fault:
    problem, remedy = f"is not valid CSV ({said})", "put quotes around the whole cell"
    if "more than" in said:
        return Fault(source.name, row, "", "", said, "split the file; is it a table at all?")
    if "end of data" in said or "field limit" in said:
        problem, remedy = "a quotation mark opens here but never closes", "close it"
        if "field limit" in said:
            problem += f", or a cell has more than {csv.field_size_limit()} characters"
    return Fault(source.name, row, "", "", problem, f"{remedy}; double any quotation mark within the text")


def _undecodable(source: Source, encoding: str) -> Fault:
    """Name the byte; for this the whole file is read at once."""
    with source.open() as file:
        content = file.read()
    shown = "UTF-8" if encoding == "utf-8-sig" else encoding
    line, where = 0, "one of its bytes"
    try:
        content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        where = f"byte 0x{content[error.start]:02X}"
    except UnicodeError as error:
        where = str(error)
    guess = "utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "cp1252"
    remedy = f"save it as UTF-8, or import it with --encoding {guess}"
    return Fault(source.name, line, "", "", f"is not text in {shown}: {where}", remedy)
