"""A whole book as tables (items, pours, notes, tastings, words) that `history` reads: a book can move house.

What items hold and where it came from survives to the milligram: every amount has its own ethanol and extract, every
gauge (also one that a pour implied) is a row with the target `gauge`. Nothing of it is asked again there, whatever
was corrected since; which questions were confirmed, the rows do not say, and what a gauge found missing has a kind
even where nobody gave one. Notes on items survive with subject, time and person; tasting notes and the list of words
as they were typed, a blind glass once its item is known. What does not: what was typed, holds, recipes and their
bounds, papers, reserved numbers, entries voided or replaced, facts changed since, who recorded what when, pending
strengths and the chain of hashes. Items get new identifiers and keep their refs; one without a ref, or with one that
another has, is called by its old identifier. Import it where decimal mark and scales are the same.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     list(history_tables(book)["pours"].rows)
[]
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourbook.book.coded_names import Names
from pourbook.book.fold import PPB
from pourbook.book.house_words import house_words
from pourbook.book.items import facts, opened
from pourbook.book.journal import entry_of
from pourbook.book.search import in_force
from pourbook.book.tasting_notes import notes
from pourbook.codes.identifiers import key_of, kind_of
from pourbook.errors import PourbookError, StoreError
from pourbook.exchange.intake.history_rows import (
    ALL,
    DUTY_COLUMN,
    GAUGE,
    ITEM_COLUMNS,
    ITEM_COUNTS,
    ITEM_NUMBERS,
    ITEM_TEXTS,
    NOTE_COLUMNS,
    POUR_COLUMNS,
    POUR_TEXTS,
    WORDS,
    YES,
)
from pourbook.exchange.intake.tasting_tables import TASTING_COLUMNS, WORD_COLUMNS, row_of_tasting, row_of_word
from pourbook.exchange.output.codes import by_codes
from pourbook.exchange.output.counted_lines import Line, replayed
from pourbook.exchange.output.writing import Row, Table, text_file, write_csv
from pourbook.exchange.tables.columns import BROKEN, Readers
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["export_history", "history_tables"]


def history_tables(book: "BookCore", *, names: bool = True) -> dict[str, Table]:
    """Every table; read items last, so that what others open meanwhile is in them. Without `names`, people by codes."""
    maker = _Maker(book, None if names else Names(book.store))
    tables = {
        "pours": Table(POUR_COLUMNS.all, maker.pours()),
        "notes": Table(NOTE_COLUMNS.all, maker.notes()),
        "tastings": Table(TASTING_COLUMNS.all, maker.tastings()),
        "words": Table(WORD_COLUMNS.all, map(row_of_word, house_words(book.store).words)),
        "items": Table(ITEM_COLUMNS.all, maker.items()),
    }
    return tables if names else {name: by_codes(book, table) for name, table in tables.items()}


def export_history(
    book: "BookCore", folder: Path | str, *, force: bool = False, names: bool = True
) -> Mapping[str, int]:  # fmt: skip
    """Write a file for each table into a folder, new or not; how many rows each has.

    Raises:
        StoreError: one of the files already exists, or the folder cannot be written.
    """
    folder, counts = Path(folder), {}
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"'{folder}' cannot be written: {error.strerror}", "choose another folder") from error
    with ExitStack() as open_files:
        tables = history_tables(book, names=names)
        files = {name: open_files.enter_context(text_file(folder / f"{name}.csv", force=force)) for name in tables}
        for name, table in tables.items():
            counts[name] = write_csv(files[name], table)
    return counts


class _Maker:
    """A book in the house's way of writing numbers."""

    def __init__(self, book: "BookCore", codes: Names | None) -> None:
        self._book, self._codes = book, codes
        self._names = _names(book)
        if codes:
            for one in [one for one in self._names if kind_of(one) == "person"]:
                ref = facts(book.store, key_of(one)).get("ref", "")
                self._names[one] = codes.reference(ref) if ref else self._names[one]
        self._mark = book.settings["decimal_mark"]
        self._readers = Readers(book.settings, book.clock())

    def items(self) -> Iterator[Row]:
        """Rows of the items table."""
        for identifier, happened_us in opened(self._book.store):
            known = facts(self._book.store, key_of(identifier))
            row: Row = {name: known.get(name, "") for name in ITEM_TEXTS}
            row |= {"ref": self._name(identifier), "kind": kind_of(identifier), "made": written(happened_us)}
            row[DUTY_COLUMN] = known.get("duty", "")
            row |= {name: known.get(name, "") for name in ITEM_COUNTS}
            for name in ITEM_NUMBERS:
                self._put(row, name, known.get(name, ""), self._readers.number, else_in="note")
            if self._codes and row["kind"] == "person":
                row |= {name: "" for name in ITEM_TEXTS if name != "ref"}
            yield row

    def notes(self) -> Iterator[Row]:
        """Rows of the notes table, in the order they were recorded."""
        for one in in_force(self._book.store, "note"):
            entry, body = one.entry, one.entry["body"]
            if self._codes and kind_of(body["item"]) == "person":
                continue  # all that it says is of the person
            row = {"ref": self._name(body["item"]), "text": body["text"], "subject": body.get("subject", "")}
            by = {"by": self._name(entry["who"]), "reason": entry.get("reason", "")}
            yield row | {"happened": entry["happened"]} | by

    def tastings(self) -> Iterator[Row]:
        """Rows of the tastings table, in the order they were tasted; glasses that are still blind stay behind."""
        for note in notes(self._book.store):
            if note.item:
                entry = entry_of(self._book.store, note.entry).entry
                row = row_of_tasting(entry, self._name(note.item), self._mark)
                yield row | {"by": self._name(entry["who"])}

    def pours(self) -> Iterator[Row]:
        """Rows of the pours table, in the order they apply."""
        for line in replayed(self._book.store):
            if line.entry["kind"] == "gauge":
                yield self._gauge(line, line.body["item"], line.outcome.source.mass_mg if line.outcome.source else 0)
                continue
            if line.outcome.implied_gain_mg:
                yield self._gauge(line, line.body["from"], line.body["mass"])
            yield self._pour(line)

    def _pour(self, line: Line) -> Row:
        body, mass_mg, ethanol_mg, extract_mg = line.body, *line.left
        row = self._common(line, body["from"], body["to"])
        if "mass" not in body or line.outcome.implied_gain_mg:
            row["quantity"] = ALL
        else:
            row |= {"quantity": mass_mg, "unit": "mg"}
            plain = {"water": (0, 0), "additive": (0, mass_mg)}.get(body["from"])
            if "ethanol" in body and (ethanol_mg, extract_mg) != plain:
                row |= {"ethanol_mg": ethanol_mg, "extract_mg": extract_mg}
        if "in" in body and body["to"][0].isupper():
            row |= {"received": f"{body['in']} mg"}
        return row

    def _gauge(self, line: Line, item: str, mass_mg: int) -> Row:
        """What was there: the total mass, and what was read of its composition.

        A loss that nobody named, since it was small or followed from a later correction, has the word under which
        an account has it: where it is asked about elsewhere, a yes alone is no answer.
        """
        row = self._common(line, item, GAUGE) | {"quantity": mass_mg, "unit": "mg"}
        body, held = line.body, line.held
        is_gauge = line.entry["kind"] == "gauge"
        found_mg = line.outcome.source.ethanol_mg if is_gauge and line.outcome.source else held.ethanol_mg
        is_loss = mass_mg < held.mass_mg or found_mg < held.ethanol_mg
        if not is_gauge or not row["disposition"]:  # of a pour it is that of what was poured
            row["disposition"] = ("evaporation" if item[0] == "C" else "operating") if is_loss else ""
        if is_gauge and mass_mg:
            row |= {"ethanol_ppb": body.get("fraction", ""), "extract_ppb": body.get("extract", "")}
        elif not is_gauge and not held.mass_mg:
            extract_mg = body.get("extract", 0)
            row["extract_ppb"] = round(extract_mg * PPB / mass_mg)
            row["ethanol_ppb"] = round(body["ethanol"] * PPB / ((mass_mg - extract_mg) or 1))
        return row

    def _common(self, line: Line, source: str, target: str) -> Row:
        entry, told = line.entry, line.body.get("facts", {})
        row: Row = {name: told.get(name, "") for name in POUR_TEXTS}
        row |= {"source": self._name(source), "target": self._name(target), "happened": entry["happened"]}
        row |= {"by": self._name(entry["who"]), "reason": entry.get("reason", "")}
        row["confirmed"] = YES  # what lay before it, and facts, may have changed since: so it would be asked anew
        self._put(row, "distilled", told.get("distilled", ""), self._readers.day)
        self._put(row, "cost", told.get("cost", ""), self._readers.number)
        if source == "origin":
            self._put(row, "in_wood", str(told.get("wood_days", "")), self._readers.whole)
        return row

    def _put(self, row: Row, column: str, text: str, reader: Callable[[str], Any], else_in: str = "reason") -> None:
        """Write a value that an import can read; any other is kept as words in another cell."""
        if not text:
            return
        written_here = text.replace(".", self._mark) if column != "distilled" else text
        try:
            reader(written_here)
        except PourbookError:
            row[else_in] = "; ".join(filter(None, (row[else_in], f"{column} {text}")))
        else:
            row[column] = written_here

    def _name(self, identifier: str) -> str:
        """What an item is called in the files; words and names of people stay."""
        return self._names.get(identifier, identifier)


def _names(book: "BookCore") -> dict[str, str]:
    """Identifier to a unique name that is neither a reserved word nor an identifier."""
    store = book.store
    refs = {identifier: facts(store, key_of(identifier)).get("ref", "").strip() for identifier, _ in opened(store)}
    often = Counter(refs.values())
    taken = set(refs.values())
    names: dict[str, str] = {}
    for identifier, ref in refs.items():
        name = ref
        if not ref or often[ref] > 1 or ref.lower() in WORDS or BROKEN in ref:
            name = f"old {identifier}"
            while name in taken:
                name = f"old {name}"
        names[identifier] = name
    return names
