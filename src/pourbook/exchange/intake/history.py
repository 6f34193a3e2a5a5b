"""A house's whole history from tables: what there is (`items`), what was poured (`pours`), what was noted (`notes`).

| items      | a row is an item                        | pours         | a row is a pour                         |
|------------|-----------------------------------------|---------------|-----------------------------------------|
| ref        | the house's own name                    | source        | a ref or identifier; origin, water,     |
| kind       | cask, vial, trial, batch, lot …         |               | additive, return                        |
| made       | when; else its first pour               | target        | a ref or identifier; loss, despatch;    |
| name       | and wood, cooper, toast, char,          |               | gauge, where the row is a measurement   |
|            | seasoning, previous, capacity_l,        | quantity      | how much, or `all`                      |
|            | earlier_fills, tare_kg, spirit, place,  | unit          | ml, l, gal; g, kg, lb; kg air: a weighing; |
|            | note, owner, duty_status                |               | bottles, out of a lot counted so        |
|            |                                         | strength      | from an origin; else read just before   |
|            |                                         | temperature_c | of a volume; 20 °C when blank           |
|            |                                         | happened      | a time; without an offset, house time   |
|            |                                         | by, reason    | who, and why                            |

Rows may stand in any order; equal times, and rows with a day alone, keep that of the file. Further
columns of pours may be there: spirit, distiller, supplier, supplier_ref (what the supplier calls it), carrier,
distilled, in_wood (time in wood before: days or "12 y 3 m"; without the column an origin is new spirit, a blank is
unknown), disposition, document, witness, customer, site and from_site (to which other site it went under the
document, from which it came), cost; received (what arrived, in the unit of the row); ethanol_mg
and extract_mg (the composition of the amount, instead of a strength); confirmed (`yes`: what the book asks of the row
is right). The table `notes` may be left out: ref, text, happened, by, and if wanted reason and subject (arrival,
inspection, treatment, repair: what of a vessel's history the note is about). So may the tables `tastings` and `words`
(`pourbook.exchange.intake.tasting_tables`). Figures are working figures; the legal
gauge follows the local authority and licensed practice.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from pourbook.book.import_staging import Staging
from pourbook.book.items import facts
from pourbook.book.names import find
from pourbook.codes.identifiers import key_of
from pourbook.errors import Fault, PourbookError, Unknown
from pourbook.exchange.intake.history_drafts import HistoryIntake
from pourbook.exchange.intake.history_rows import (
    GAUGE,
    ITEM_COLUMNS,
    NOTE_COLUMNS,
    POUR_COLUMNS,
    WORDS,
    End,
    PourChecks,
    checked_item,
    checked_note,
    needed_moment,
)
from pourbook.exchange.intake.intake import Progress, check_refs
from pourbook.exchange.intake.tasting_tables import (
    TASTING_COLUMNS,
    WORD_COLUMNS,
    WordRow,
    checked_tasting,
    checked_words,
)
from pourbook.exchange.tables.columns import BROKEN, Cells, Faults, Readers
from pourbook.exchange.tables.table_files import Columns, Source, Table, read_table
from pourbook.exchange.tables.taken import Heard

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["HISTORY_COLUMNS", "read_history"]

HISTORY_COLUMNS: Mapping[str, Columns] = {
    "items": ITEM_COLUMNS, "pours": POUR_COLUMNS, "notes": NOTE_COLUMNS, "tastings": TASTING_COLUMNS,
    "words": WORD_COLUMNS,
}  # fmt: skip
"""The columns of each table."""

_SUGGESTED = 100
"""So many faults may come with the nearest names."""
_OF_COLUMN = {"source": ("origin", "water", "additive", "return"), "target": ("loss", "despatch", GAUGE), "ref": ()}


def read_history(
    book: "BookCore", staged: Staging, sources: Mapping[str, Source], *, encoding: str | None = None,
    refs_may_repeat: bool = False, heard: Mapping[str, Heard] | None = None, progress: Progress | None = None,
) -> HistoryIntake:  # fmt: skip
    """The tables `items`, `pours` and, if they are there, `notes`, `tastings` and `words`; all faults are raised.

    With `refs_may_repeat`, refs may be those of items in the book.
    """
    reading = _Reading(book, staged, sources, encoding, heard or {})
    reading.items(refs_may_repeat=refs_may_repeat)
    spirit_of_target = reading.pours()
    reading.notes()
    reading.tastings()
    words = reading.words()
    reading.faults.check("history")
    return HistoryIntake(
        book, staged, reading.names, progress, spirit_of_target=spirit_of_target, tables=reading.faults.tables,
        words=words,
    )  # fmt: skip


class _Reading:
    """Checks and stages the tables."""

    def __init__(
        self, book: "BookCore", staged: Staging, sources: Mapping[str, Source], encoding: str | None,
        heard: Mapping[str, Heard],
    ) -> None:  # fmt: skip
        self.names = {table: source.name for table, source in sources.items()}
        self.faults = Faults()
        self.readers = Readers(book.settings, book.clock())
        self._book, self._staged = book, staged
        self._sources, self._encoding, self._heard = sources, encoding, heard
        self._missed: set[str] = set()
        self._ends = lru_cache(1 << 14)(self._known_end)
        self._words = {word: End(staged.add_other(word, word), word) for word in WORDS}

    def items(self, *, refs_may_repeat: bool) -> None:
        """The table of items."""
        items, file = self._table("items"), self.names["items"]
        self._missed = items.missed
        for row, values in items.rows:
            cells = Cells(file, row, values, self.faults, items)
            if values.get("ref") == BROKEN:
                self._missed.add(BROKEN)
            self._staged.add_item((row, *checked_item(cells, self.readers)))
        self._staged.items_end()
        for row, ref, first in self._staged.repeated_refs():
            remedy = "give each item its own name"
            self.faults.add(Fault(file, row, "ref", ref, f"is also the ref of row {first}", remedy))
        if not refs_may_repeat:
            remedy = "leave out this row to pour from the item in the book, or give it another name"
            check_refs(self._book, file, self._staged.refs(), self.faults, remedy)

    def pours(self) -> bool:
        """The table of pours; whether origins take the spirit of their targets."""
        pours, file = self._table("pours"), self.names["pours"]
        checks = PourChecks(self.readers, pours.columns, self._staged.add_terms)
        for row, values in pours.rows:
            cells = Cells(file, row, values, self.faults, pours)
            checked = checks.checked(row, cells, self._resolve(cells, "source"), self._resolve(cells, "target"))
            if checked:
                self._staged.add_pour(checked)
        self._staged.pours_end()
        return "spirit" not in pours.columns

    def notes(self) -> None:
        """The table of notes, if there is one."""
        if "notes" not in self._sources:
            return
        notes = self._table("notes")
        for row, values in notes.rows:
            cells = Cells(self.names["notes"], row, values, self.faults, notes)
            item = self._resolve(cells, "ref")
            happened_us, noted = checked_note(cells, self.readers)
            if cells.sound and item and happened_us is not None:
                self._staged.add_note(("notes", row, happened_us, item.number, self._staged.add_terms(noted)))

    def tastings(self) -> None:
        """The table of tastings, if there is one."""
        if "tastings" not in self._sources:
            return
        tastings = self._table("tastings")
        for row, values in tastings.rows:
            cells = Cells(self.names["tastings"], row, values, self.faults, tastings)
            item, happened_us = self._resolve(cells, "ref"), needed_moment(cells, self.readers, "happened")
            tasted = checked_tasting(cells, self.readers)
            if cells.sound and item and happened_us is not None:
                self._staged.add_note(("tastings", row, happened_us, item.number, self._staged.add_terms(tasted)))

    def words(self) -> list[WordRow]:
        """The table of words, if there is one."""
        if "words" not in self._sources:
            return []
        return checked_words(self._table("words"), self.names["words"], self.faults)

    def _table(self, name: str) -> Table:
        heard = self._heard.get(name, Heard(name, mark=self.readers.decimal_mark))
        return read_table(self._sources[name], HISTORY_COLUMNS[name], self.faults, encoding=self._encoding, heard=heard)

    def _resolve(self, cells: Cells, column: str) -> End | None:
        """What a name stands for: a word, a row of the items table, an item in the book."""
        name = cells.needed(column)
        if not name:
            return None
        try:
            end = self._ends(name)
        except KeyError:
            return self._in_the_book(cells, column, name)
        if end.word and end.word not in _OF_COLUMN[column]:
            words = " or ".join(_OF_COLUMN[column])
            cells.fault(column, f"'{name}' is not a {column}", f"write an item{words and ', or '}{words}")
            return None
        return end

    def _known_end(self, name: str) -> End:
        """A word, or what the items table or an earlier row named; a KeyError for neither is not cached."""
        return self._words.get(name.lower()) or End(self._staged.number_of(name), "")

    def _in_the_book(self, cells: Cells, column: str, name: str) -> End | None:
        alike = self._staged.alike(name)
        try:
            identifier = find(self._book.store, name, suggest=len(self.faults) < _SUGGESTED)
        except Unknown as refusal:
            if len(alike) == 1:
                return End(alike[0], "")
            if alike:
                self._ask_which(cells, column, name, alike)
                return None
            if not self._missed.isdisjoint((name, BROKEN)):
                cells.sound = False  # what there is in the items is listed already
                return None
            remedy = f"add it to {self.names['items']}, or correct the name"
            near = "".join(refusal.remedy.rpartition("? ")[:2])  # did you mean …?
            cells.fault(column, f"{refusal.message}, nor in {self.names['items']}", near + remedy)
        except PourbookError as refusal:
            cells.refused(column, refusal)
        else:
            known = facts(self._book.store, key_of(identifier))
            if alike and known.get("ref") != name:
                self._ask_which(cells, column, name, alike)
                return None
            return End(self._staged.add_other(name, identifier, known.get("spirit", "")), "")
        return None

    def _ask_which(self, cells: Cells, column: str, name: str, rows: Sequence[int]) -> None:
        """A name that several items bear but for case and spacing."""
        file = self.names["items"]
        which = ", ".join(map(str, rows))
        cells.fault(
            column,
            f"'{name}' differs only in case or spacing from several refs, as in row {which} of {file}",
            "write the ref exactly",
        )
