"""A house's whole history from two tables: what there is (`items`), and what was poured (`pours`).

| items      | a row is an item                        | pours         | a row is a pour                         |
|------------|-----------------------------------------|---------------|-----------------------------------------|
| ref        | the house's own name                    | source        | a ref or identifier; origin, water,     |
| kind       | cask, vial, trial, batch, lot …         |               | additive, return                        |
| made       | when; else its first pour               | target        | a ref or identifier; loss, despatch;    |
| name       | and wood, capacity_l, spirit, place,    |               | gauge, where the row is a measurement   |
|            | note; previous, owner, tare_kg          | quantity      | how much, or `all`                      |
|            |                                         | unit          | ml, l, gal; g, kg, lb; kg air: a weighing |
|            |                                         | strength      | from an origin; else read just before   |
|            |                                         | temperature_c | of a volume; 20 °C when blank           |
|            |                                         | happened      | a time; without an offset, house time   |
|            |                                         | by, reason    | who, and why                            |

Rows may stand in any order; equal times, and rows with a day alone, keep that of the file. Further
columns of pours may be there: spirit, distiller, distilled, wood_days (time in wood earned before;
without the column an origin is new spirit, a blank is unknown), disposition, document, customer,
cost; received (what arrived, in the unit of the row); ethanol_mg and extract_mg (the composition of
the amount, instead of a strength). Figures are working figures; the legal gauge follows the local
authority and licensed practice.

>>> from pathlib import Path
>>> from tempfile import TemporaryDirectory
>>> from pourbook import Book
>>> with TemporaryDirectory() as folder, Book.create(":memory:", house="Quillmere") as book:
...     _ = Path(folder, "items.csv").write_text("ref,kind\\nrow 1,cask\\nsample,vial\\n")
...     _ = Path(folder, "pours.csv").write_text(
...         "source,target,quantity,unit,strength,happened,by\\n"
...         "origin,row 1,200,l,63.5,2015-03-01,M. Aldane\\n"
...         "row 1,sample,100,ml,,2024-07-01 09:30,M. Aldane\\n"
...     )
...     import_history(book, folder)[:3]
(2, 2, 5)
"""

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from pourbook.book.items import facts
from pourbook.codes.identifiers import key_of, kind_of
from pourbook.errors import Fault, PourbookError, Unknown
from pourbook.exchange.intake.history_drafts import Drafts
from pourbook.exchange.intake.history_rows import (
    GAUGE,
    ITEM_COLUMNS,
    POUR_COLUMNS,
    WORDS,
    End,
    PourChecks,
    checked_item,
)
from pourbook.exchange.intake.intake import Progress, TakenIn, record_all, refs_taken, refuse_known
from pourbook.exchange.intake.staging import Staging
from pourbook.exchange.tables.columns import BROKEN, Cells, Faults, Readers
from pourbook.exchange.tables.table_files import Source, Table, digests, read_table, tables_in

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["import_history"]

_WHAT = "history"
_OF_COLUMN = {"source": ("origin", "water", "additive", "return"), "target": ("loss", "despatch", GAUGE)}


def import_history(
    book: "BookCore",
    path: Path | str,
    *,
    who: str = "pourbook",
    dry_run: bool = False,
    again: bool = False,
    encoding: str | None = None,
    progress: Progress | None = None,
) -> TakenIn:
    """Take in a folder with items.csv and pours.csv, or a workbook with the sheets items and pours.

    Args:
        book: into which.
        path: of the folder or the workbook.
        who: imports; the pours are by whom their rows say.
        dry_run: do everything, answer, and keep nothing.
        again: take in files that were imported before, and items whose refs are in the book.
        encoding: of the CSV files; UTF-8 by default.
        progress: is told how far it is.

    Raises:
        FaultsFound: every fault found; nothing was recorded.
        Malformed: the files cannot be read at all.
        Refused: one of the files was imported before.
    """
    sources = tables_in(path, ("items", "pours"))
    files = digests(sources.values())
    if not again:
        refuse_known(book, files)
    if progress:
        progress(0, 0)
    with Staging() as staged:
        reading = _Reading(book, staged, sources, encoding)
        reading.read(refs_may_repeat=again)
        names = (sources["items"].name, sources["pours"].name)
        drafts = Drafts(book, staged, reading.readers, names, spirit_of_target=reading.spirit_of_target)
        items, pours = staged.count("item"), staged.count("pour")
        kept = {sources[table].file for table, rows in (("items", items), ("pours", pours)) if rows}
        files = {name: digest for name, digest in files.items() if name in kept}  # an empty file may come again
        recorded = record_all(
            book,
            lambda: drafts.in_order(files, who, progress),
            drafts.refused,
            drafts.in_the_way,
            drafts.faults,
            what=_WHAT,
            dry_run=dry_run,
        )
    return TakenIn(items, pours, len(recorded.numbers), recorded.gains, files)


class _Reading:
    """Both tables checked and put aside."""

    def __init__(self, book: "BookCore", staged: Staging, sources: Mapping[str, Source], encoding: str | None) -> None:
        self.staged = staged
        self.names = {table: source.name for table, source in sources.items()}
        self.faults = Faults()
        self._missed: set[str] = set()
        self.readers = Readers(book.settings, book.clock())
        self._book = book
        self._sources = sources
        self._encoding = encoding
        self._ends = lru_cache(1 << 14)(self._known_end)
        self._words = {word: End(staged.add_other(word, word, word), word) for word in WORDS}

    def read(self, *, refs_may_repeat: bool) -> None:
        """Read everything.

        Raises:
            FaultsFound: every fault of a row by itself, and every name that stands for nothing.
        """
        items = self._table("items")
        self._missed = items.missed
        for row, values in items.rows:
            cells = Cells(self.names["items"], row, values, self.faults)
            if values.get("ref") == BROKEN:
                self._missed.add(BROKEN)
            self.staged.add_item(row, *checked_item(cells, self.readers))
        self.staged.items_end()
        self._check_refs(refs_may_repeat=refs_may_repeat)
        pours = self._table("pours")
        self.spirit_of_target = "spirit" not in pours.columns
        checks = PourChecks(self.readers, pours.columns, self.staged.add_terms)
        for row, values in pours.rows:
            cells = Cells(self.names["pours"], row, values, self.faults)
            checked = checks.checked(row, cells, self._resolve(cells, "source"), self._resolve(cells, "target"))
            if checked:
                self.staged.add_pour(checked)
        self.staged.pours_end()
        self.faults.check(_WHAT)

    def _table(self, name: str) -> Table:
        columns = ITEM_COLUMNS if name == "items" else POUR_COLUMNS
        mark = self.readers.decimal_mark
        return read_table(self._sources[name], columns, self.faults, encoding=self._encoding, decimal_mark=mark)

    def _check_refs(self, *, refs_may_repeat: bool) -> None:
        file = self.names["items"]
        for row, ref, first in self.staged.repeated_refs():
            remedy = "give each item a name of its own"
            self.faults.add(Fault(file, row, "ref", ref, f"is the ref of row {first} too", remedy))
        if not refs_may_repeat:
            for row, ref in refs_taken(self._book, self.staged.refs()):
                remedy = "leave out this row to pour from the item in the book, or give it another name"
                self.faults.add(Fault(file, row, "ref", ref, "is the ref of an item in the book", remedy))

    def _resolve(self, cells: Cells, column: str) -> End | None:
        """What a name stands for: a word, a row of the items table, an item in the book."""
        name = cells.needed(column)
        if not name:
            return None
        try:
            end = self._ends(name)
        except KeyError:
            number = self._in_the_book(cells, column, name)
            return None if number is None else End(number, "")
        if end.word and end.word not in _OF_COLUMN[column]:
            cells.fault(column, f"'{name}' is no {column}", f"write an item, or {' or '.join(_OF_COLUMN[column])}")
            return None
        return end

    def _known_end(self, name: str) -> End:
        """A word, or what the items table or an earlier row named.

        Raises:
            KeyError: neither; this is not remembered.
        """
        word = self._words.get(name.lower())
        return word or End(self.staged.number_of(name), "")

    def _in_the_book(self, cells: Cells, column: str, name: str) -> int | None:
        try:
            identifier = self._book.find(name)
        except Unknown as refusal:
            if not self._missed.isdisjoint((name, BROKEN)):
                cells.sound = False  # what there is in the items is listed already
                return None
            remedy = f"add it to {self.names['items']}, or correct the name"
            cells.fault(column, f"{refusal.message}, nor in {self.names['items']}", remedy)
        except PourbookError as refusal:
            cells.refused(column, refusal)
        else:
            spirit = facts(self._book.store, key_of(identifier)).get("spirit", "")
            return self.staged.add_other(name, identifier, kind_of(identifier), spirit)
        return None
