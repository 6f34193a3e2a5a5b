"""Casks from one table: what they are, and what lies in them.

Columns: ref; wood, capacity_l, spirit, place, name, note, previous (contents), owner, tare_kg; filled (when),
quantity, unit, strength, temperature_c, by; distiller, distilled, wood_days (time in wood earned before;
without the column it is new spirit, a blank is unknown), cost, document. A cask without a quantity is empty.

>>> from pathlib import Path
>>> from tempfile import TemporaryDirectory
>>> from pourbook import Book
>>> with TemporaryDirectory() as folder, Book.create(":memory:", house="Quillmere") as book:
...     _ = Path(folder, "casks.csv").write_text(
...         "ref,wood,filled,quantity,unit,strength\\n"
...         "Row 1/1,virgin chestnut,2015-03-01,200,l,63.5\\nRow 1/2,old oak,,,,\\n"
...     )
...     import_casks(book, Path(folder, "casks.csv"))[:3]
(2, 1, 4)
"""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Draft, Imported, Item, Move, Pour
from pourbook.errors import Fault
from pourbook.exchange.intake.history_rows import amount_of, item_facts, needed_moment, origin_facts, ref_of
from pourbook.exchange.intake.intake import NewNumbers, TakenIn, record_rows, refs_taken, refuse_known
from pourbook.exchange.tables.columns import Cells, Faults, Readers
from pourbook.exchange.tables.table_files import Columns, Table, digests, one_table, read_table

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["import_casks"]

_COLUMNS = Columns(
    ("ref",),
    (
        *("wood", "capacity_l", "spirit", "place", "name", "note", "previous", "owner", "tare_kg"),
        *("filled", "quantity", "unit", "strength", "temperature_c", "by"),
        *("distiller", "distilled", "wood_days", "cost", "document"),
    ),
)
_OF_CONTENTS = ("unit", "strength", "temperature_c", "distiller", "distilled", "wood_days", "cost")


class _Cask(NamedTuple):
    """A row: the cask, and what was filled into it; None for an empty one."""

    row: int
    facts: Mapping[str, str]
    happened_us: int
    fill: Move | None
    who: str


def import_casks(
    book: "BookCore",
    path: Path | str,
    *,
    who: str = "pourbook",
    dry_run: bool = False,
    again: bool = False,
    encoding: str | None = None,
) -> TakenIn:
    """Take in a CSV file or a workbook's sheet of casks, all of them or none.

    Args:
        book: into which.
        path: of the file; `-` is standard input.
        who: imports, and filled the casks whose rows do not say by whom.
        dry_run: do everything, answer, and keep nothing.
        again: take in a file that was imported before, and refs that are in the book.
        encoding: of a CSV file; UTF-8 by default.

    Raises:
        FaultsFound: every fault found; nothing was recorded.
        Malformed: the file cannot be read at all.
        Refused: the file was imported before.
    """
    source = one_table(path, "casks")
    files = digests([source])
    if not again:
        refuse_known(book, files)
    faults = Faults()
    readers = Readers(book.settings, book.clock())
    table = read_table(source, _COLUMNS, faults, encoding=encoding, decimal_mark=readers.decimal_mark)
    casks = list(_checked(source.name, table, readers, faults, book.clock(), who))
    _check_refs(book, source.name, casks, faults, may_be_taken=again)
    faults.check("casks")
    filled = sum(cask.fill is not None for cask in casks)

    def rows() -> Iterator[tuple[int, Draft]]:
        yield from _drafts(casks, NewNumbers(book))
        yield 0, Draft(Imported(files, len(casks), filled), book.clock(), who)

    recorded = record_rows(book, source.name, rows, what="casks", dry_run=dry_run)
    return TakenIn(len(casks), filled, len(recorded.numbers), recorded.gains, files)


def _checked(file: str, table: Table, readers: Readers, faults: Faults, now_us: int, who: str) -> Iterator[_Cask]:
    for row, values in table.rows:
        cells = Cells(file, row, values, faults)
        facts = {"ref": ref_of(cells)} | item_facts(cells, readers)
        fill = _fill(cells, readers, table.columns)
        if cells.text("quantity"):
            happened_us = needed_moment(cells, readers, "filled")
        else:
            happened_us = cells.read("filled", readers.moment)
        person = cells.read("by", readers.person) or who
        yield _Cask(row, facts, now_us if happened_us is None else happened_us, fill, person)


def _fill(cells: Cells, readers: Readers, columns: tuple[str, ...]) -> Move | None:
    """What was filled in, its target left open; None for an empty cask, and where it is a fault."""
    if not cells.text("quantity"):
        for name in _OF_CONTENTS:
            if cells.text(name):
                cells.fault("quantity", f"is blank, but the row has a {name}", "write how much, or blank the rest")
                break
        return None
    amount = amount_of(cells, readers)
    strength = cells.read("strength", readers.strength) if cells.needed("strength") else None
    temperature_c = cells.read("temperature_c", readers.temperature_c)
    facts = origin_facts(cells, readers, columns, is_origin=True)
    return Move("origin", "", amount, strength, 20.0 if temperature_c is None else temperature_c, facts=facts)


def _check_refs(book: "BookCore", file: str, casks: list[_Cask], faults: Faults, *, may_be_taken: bool) -> None:
    first: dict[str, int] = {}
    for cask in casks:
        ref = cask.facts["ref"]
        if first.setdefault(ref, cask.row) != cask.row and ref:
            remedy = "give each cask a name of its own"
            faults.add(Fault(file, cask.row, "ref", ref, f"is the ref of row {first[ref]} too", remedy))
    if not may_be_taken:
        for row, ref in refs_taken(book, ((cask.row, cask.facts["ref"]) for cask in casks)):
            remedy = "leave out the row, or give the cask another name"
            faults.add(Fault(file, row, "ref", ref, "is the ref of an item in the book", remedy))


def _drafts(casks: list[_Cask], numbers: NewNumbers) -> Iterator[tuple[int, Draft]]:
    """Openings in the order of the table, then fillings in the order they happened."""
    identifiers = {cask.row: numbers.take("cask") for cask in casks}
    for cask in casks:
        yield cask.row, Draft(Item(identifiers[cask.row], cask.facts), cask.happened_us, cask.who)
    for cask in sorted(casks, key=lambda cask: cask.happened_us):
        if cask.fill is not None:
            move = cask.fill._replace(target=identifiers[cask.row])
            yield cask.row, Draft(Pour("fill", (move,)), cask.happened_us, cask.who)
