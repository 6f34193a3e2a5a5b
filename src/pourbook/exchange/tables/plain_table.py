"""A table of any columns, read as it stands: its first row names them, and every cell is text.

>>> table = plain_table(Source("flight.csv", b"ash;birch;pear\\n70;30;3\\n"), ("pear",))
>>> table.headings, table.rows
(('ash', 'birch', 'pear'), ((2, {'ash': '70', 'birch': '30', 'pear': '3'}),))
"""

from collections.abc import Sequence
from typing import NamedTuple

from pourbook.errors import Fault, FaultsFound, Malformed
from pourbook.exchange.tables.columns import Faults
from pourbook.exchange.tables.table_files import records
from pourbook.exchange.tables.table_sources import MOST_COLUMNS, Columns, Source, column_name
from pourbook.exchange.tables.taken import Heard
from pourbook.numerals import counted

__all__ = ["PlainTable", "plain_table"]


class PlainTable(NamedTuple):
    """Headings as typed; every row with its number and text by heading, blank cells left out."""

    headings: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]


def plain_table(source: Source, expected: Sequence[str], mark: str = ".", *, may_be_empty: bool = False) -> PlainTable:
    """Read a table; some headings that are `expected` tell its delimiter. Rows that are blank are passed over.

    Where it `may_be_empty`, headings without a row below them are a table.

    Raises:
        Malformed: it cannot be opened, is empty, or a heading stands twice.
        FaultsFound: every row that is not of its form.
    """
    faults = Faults()
    found = records(source, Columns(tuple(map(column_name, expected)), ()), faults, None, set(), Heard(mark=mark))
    filled = [(number, [cell.strip(" \t\ufeff") for cell in cells]) for number, cells in found if any(cells)]
    headings = tuple(filled[0][1]) if filled else ()
    for number, cells in filled[1:]:
        if any(cells[len(headings) :]):
            problem = f"has {len(cells)} cells but the header has {len(headings)}"
            faults.add(Fault(source.name, number, "", "", problem, "put quotes around a cell that has the delimiter"))
    try:
        faults.check("table")
    except FaultsFound as listed:
        count = counted(len(faults), "fault")
        raise FaultsFound(f"{count} found in '{source.name}': nothing was computed", listed.faults) from None
    if not filled:
        raise Malformed(f"'{source.name}' is empty", "write headings, and rows below them")
    if len(filled) < 2 and not may_be_empty:
        raise Malformed(f"'{source.name}' has no rows below its headings", "write what they name, a row each")
    if len(headings) > MOST_COLUMNS:
        raise Malformed(f"'{source.name}' has {len(headings)} columns, and may have {MOST_COLUMNS}", "delete some")
    if twice := [name for name in headings if name and headings.count(name) > 1]:
        raise Malformed(f"'{source.name}' has two columns '{twice[0]}'", "rename one")
    rows = tuple((number, _cells(headings, cells)) for number, cells in filled[1:])
    return PlainTable(headings, rows)


def _cells(headings: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    return {name: cell for name, cell in zip(headings, cells, strict=False) if name and cell}
