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

import json
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from pourbook.book.entries import Draft, Gauge, Imported, Item, Move, Pour
from pourbook.book.reading import entry_of, facts
from pourbook.errors import (
    Fault,
    Held,
    InTheWay,
    NotThere,
    OutOfRange,
    PeriodClosed,
    PourbookError,
    Unknown,
)
from pourbook.exchange.columns import Cells, Faults, Readers
from pourbook.exchange.history_rows import (
    ALL,
    GAUGE,
    ITEM_COLUMNS,
    POUR_COLUMNS,
    WORDS,
    End,
    PourChecks,
    checked_item,
)
from pourbook.exchange.intake import Progress, TakenIn, record_all, refuse_known
from pourbook.exchange.staging import StagedItem, StagedPour, Staging
from pourbook.exchange.tables import Source, Table, digests, read_table, tables_in
from pourbook.identifiers import hyphened, is_issued, key_of, kind_of, write
from pourbook.liquid import Liquid
from pourbook.times import DAY_US, written

if TYPE_CHECKING:
    from pourbook.book.book import Book

__all__ = ["import_history"]

_WHAT = "history"
_EVERY = 2_000
_HINTED = 200
_VERBS = {
    ("cask", "cask"): "rack",
    ("cask", "batch"): "dump",
    ("batch", "batch"): "heel",
    ("batch", "cask"): "fill",
}
_VERB_OF_SOURCE = {"origin": "fill", "water": "reduce", "return": "return"}
_VERB_OF_TARGET = {"loss": "dispose", "despatch": "despatch", "vial": "draw", "lot": "bottle"}


def import_history(
    book: "Book",
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
    with Staging() as staged:
        reading = _Reading(book, staged, sources, encoding, progress or _silent)
        reading.read(refs_may_repeat=again)
        recording = _Recording(book, reading, files, who)
        recorded = record_all(
            book,
            recording.drafts,
            recording.refused,
            recording.in_the_way,
            recording.faults,
            what=_WHAT,
            dry_run=dry_run,
        )
        items, pours = staged.count("item"), staged.count("pour")
    return TakenIn(items, pours, len(recorded.numbers), recorded.gains, files)


def _silent(_done: int, _total: int) -> None:
    """Nobody wants to know."""


# -- reading and checking ----------------------------------------------------------------


class _Reading:
    """Both tables checked and put aside."""

    def __init__(
        self,
        book: "Book",
        staged: Staging,
        sources: Mapping[str, Source],
        encoding: str | None,
        progress: Progress,
    ) -> None:
        self.staged = staged
        self.names = {table: source.name for table, source in sources.items()}
        self.faults = Faults()
        self.readers = Readers(book.settings, book.clock())
        self.progress = progress
        self._book = book
        self._sources = sources
        self._encoding = encoding
        self._ends = lru_cache(1 << 16)(self._known_end)
        self._words = {word: End(staged.add_other(word, word, word), word) for word in WORDS}

    def read(self, *, refs_may_repeat: bool) -> None:
        """Read everything.

        Raises:
            FaultsFound: every fault of a row by itself, and every name that stands for nothing.
        """
        self.progress(0, 0)
        items = self._table("items")
        for row, values in items.rows:
            cells = Cells(self.names["items"], row, values, self.faults)
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
        if refs_may_repeat or not self._book.store.query("SELECT 1 FROM fact WHERE name = 'ref' LIMIT 1"):
            return
        for row, ref in self.staged.refs():
            rows = self._book.store.query("SELECT item FROM fact WHERE name = 'ref' AND value = ?", (ref,))
            if any(facts(self._book.store, key).get("ref") == ref for (key,) in rows):
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
            remedy = f"add it to {self.names['items']}, or correct the name"
            cells.fault(column, f"{refusal.message}, nor in {self.names['items']}", remedy)
        except PourbookError as refusal:
            cells.refused(column, refusal)
        else:
            spirit = facts(self._book.store, key_of(identifier)).get("spirit", "")
            return self.staged.add_other(name, identifier, kind_of(identifier), spirit)
        return None


_OF_COLUMN = {"source": ("origin", "water", "additive", "return"), "target": ("loss", "despatch", GAUGE)}


# -- recording ---------------------------------------------------------------------------


class _Recording:
    """What was put aside, as drafts one after the other; and what the book refuses of it, as faults."""

    def __init__(self, book: "Book", reading: _Reading, files: Mapping[str, str], who: str) -> None:
        self._book = book
        self._reading = reading
        self._staged = reading.staged
        self._readers = reading.readers
        self._files = files
        self._who = who
        self._row: StagedItem | StagedPour | None = None
        self._tainted: set[str] = set()
        self._refusals: list[tuple[StagedItem | StagedPour | None, PourbookError]] = []
        self._numbers: dict[str, int] = {}
        self._verb = lru_cache(_verb)
        self._move = lru_cache(1 << 16)(self._made)
        self._person = lru_cache(1 << 12)(self._looked_up)

    # -- drafts ------------------------------------------------------------------------

    def drafts(self) -> Iterator[Draft]:
        """Items first, then pours in the order they happened, then the import itself."""
        self._staged.identify(self._next_id)
        now_us = self._book.clock()
        for item in self._staged.items():
            self._row = item
            happened_us = now_us if item.happened_us is None else item.happened_us
            yield Draft(Item(item.id, json.loads(item.facts)), happened_us, self._who)
        total = self._staged.count("pour")
        for done, pour in enumerate(self._staged.pours()):
            self._row = pour
            if pour.source in self._tainted:
                self._tainted.add(pour.target)
            if pour.target in (GAUGE, "loss"):
                gauge = self._gauge(pour)
                if gauge:
                    yield gauge
            if pour.target != GAUGE:
                yield self._pour(pour)
            if done % _EVERY == 0:
                self._reading.progress(done, total)
        self._row = None
        yield Draft(Imported(self._files, self._staged.count("item"), total), now_us, self._who)
        self._reading.progress(total, total)

    def _next_id(self, kind: str) -> str:
        number = self._numbers[kind] + 1 if kind in self._numbers else int(self._book.next_id(kind)[1:-1])
        while not is_issued(kind, number):
            number += 1
        self._numbers[kind] = number
        return write(kind, number)

    def _pour(self, row: StagedPour) -> Draft:
        who, move = self._move(row.terms, row.target == "loss")
        move = move._replace(source=row.source, target=row.target)
        if row.source == "origin" and self._reading.spirit_of_target and row.target_spirit:
            move = move._replace(facts={**move.facts, "spirit": row.target_spirit})
        verb = self._verb(row.source_kind, row.target_kind)
        return Draft(Pour(verb, (move,)), row.happened_us, who, row.reason)

    def _made(self, number: int, lost: bool) -> tuple[str, Move]:  # noqa: FBT001
        """Who poured by these terms, and the move without its ends."""
        terms, readers = self._staged.terms(number), self._readers
        quantity, unit = terms.quantity or "", terms.unit or ""
        amount = None if quantity.lower() == ALL else readers.amount(quantity, unit)
        composition = None
        if terms.ethanol_mg is not None and amount is not None:
            composition = Liquid(round(amount.mass_mg), terms.ethanol_mg, terms.extract_mg or 0)
        move = Move(
            "",
            "",
            amount,
            readers.strength(terms.strength) if terms.strength and not lost else None,
            readers.temperature_c(terms.temperature) if terms.temperature else 20.0,
            received=readers.amount(terms.received, unit) if terms.received else None,
            composition=composition,
            facts=json.loads(terms.facts) if terms.facts else {},
        )
        return self._person(terms.who), move

    def _gauge(self, row: StagedPour) -> Draft | None:
        """A measurement: a row of its own, or the strength of what was lost, read just before."""
        terms, readers = self._staged.terms(row.terms), self._readers
        if row.target == "loss" and not terms.strength:
            return None
        amount, found = None, {}
        if row.target == GAUGE:
            found = json.loads(terms.facts) if terms.facts else {}
            amount = readers.amount(terms.quantity, terms.unit or "", True) if terms.quantity else None  # noqa: FBT003
        strength = readers.strength(terms.strength) if terms.strength else None
        temperature_c = readers.temperature_c(terms.temperature) if terms.temperature else 20.0
        gauge = Gauge(row.source, amount, strength, temperature_c, found)
        return Draft(gauge, row.happened_us, self._person(terms.who), row.reason)

    def _looked_up(self, who: str) -> str:
        """A person's identifier where the name is that of a person known; else the name."""
        found = self._staged.person(who)
        if found is None:
            try:
                found = self._book.find(who)
            except PourbookError:
                return who
        return found if kind_of(found) == "person" else who

    # -- refusals ----------------------------------------------------------------------

    def refused(self, _draft: Draft, refusal: PourbookError) -> None:
        """Remember a refusal; what only follows from an earlier one is left out."""
        row = self._row
        if isinstance(row, StagedPour):
            if row.source in self._tainted:
                return
            self._tainted.add(row.target)
        self._refusals.append((row, refusal))

    def in_the_way(self, refusal: InTheWay) -> None:
        """Remember that entries recorded earlier could no longer have happened."""
        if not self._refusals:
            self._refusals.append((None, refusal))

    def faults(self) -> Faults:
        """What was refused, by rows."""
        found = []
        for row, refusal in self._refusals:
            if isinstance(row, StagedPour):
                found.append(self._fault_of_pour(row, refusal, hinted=len(found) < _HINTED))
            elif isinstance(row, StagedItem):
                file = self._reading.names["items"]
                found.append(Fault(file, row.number, "made", "", refusal.message, refusal.remedy))
            elif isinstance(refusal, InTheWay) and refusal.entries:
                found += [self._fault_of_entry(number) for number in refusal.entries[:_HINTED]]
            else:
                raise refusal
        faults = Faults()
        for fault in sorted(found):
            faults.add(fault)
        return faults

    def _fault_of_pour(self, row: StagedPour, refusal: PourbookError, *, hinted: bool) -> Fault:
        problem, remedy = refusal.message, refusal.remedy
        source_name, target_name = self._staged.names(row.number)
        for identifier, name in ((row.source, source_name), (row.target, target_name)):
            if identifier[0].isupper():  # an identifier, which only this import would have given
                problem = problem.replace(hyphened(identifier), f"'{name}'").replace(identifier, f"'{name}'")
        column, value = "", ""
        if isinstance(refusal, NotThere):
            column, value = "quantity", self._staged.terms(row.terms).quantity or ""
            remedy = "check the names, the amount, its unit, and when each pour happened"
            later = self._staged.later_inflows(row.number, DAY_US) if hinted else []
            if later:
                rows = ", ".join(str(number) for number in later)
                problem = f"{problem}; row {rows} of the same time fills it, but comes later in the file"
                remedy = f"write the time of day in rows {row.number}, {rows}"
        elif isinstance(refusal, PeriodClosed | OutOfRange):
            column, value = "happened", written(row.happened_us)
        elif isinstance(refusal, Held):
            at_source = f"'{source_name}'" in problem
            column, value = ("source", source_name) if at_source else ("target", target_name)
        return Fault(self._reading.names["pours"], row.number, column, value, problem, remedy)

    def _fault_of_entry(self, number: int) -> Fault:
        """An entry of the book that could no longer have happened: the row that is in its way."""
        logged = entry_of(self._book.store, number)
        body = logged.entry["body"]
        ends = [end for line in body.get("lines", [body]) for end in map(line.get, ("from", "to", "item"))]
        row = self._staged.last_touch([end for end in ends if end], logged.happened_us)
        return Fault(
            self._reading.names["pours"],
            row or 0,
            "",
            "",
            f"with it, entry {number} of the book ({written(logged.happened_us)}) would no longer be possible",
            "check the amounts before it, or correct that entry first",
        )


def _verb(source: str, target: str) -> str:
    """The trade's word for a pour between two kinds of ends."""
    return _VERB_OF_TARGET.get(target) or _VERB_OF_SOURCE.get(source) or _VERBS.get((source, target)) or "pour"
