"""Imports shown: what was taken in and how, what must be said first, and every fault."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pourbook.actions.importing import TakenIn
from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, fields
from pourbook.errors import Fault, FaultsFound, PourbookError
from pourbook.exchange.intake.comparing import InAll
from pourbook.exchange.output.writing import Table
from pourbook.exchange.tables.headings import LEAVE_OUT
from pourbook.exchange.tables.table_map import MAP_COLUMNS, map_rows
from pourbook.exchange.tables.table_sources import column_name
from pourbook.exchange.tables.taken import Surveyed
from pourbook.house_style import HouseStyle
from pourbook.numerals import counted
from pourbook.words.figure_words import in_grams

__all__ = ["faults_table", "map_table", "taken_in_shown"]

_GAINS_SAID = 20
_PASSED_OVER_SAID = 20


def taken_in_shown(done: TakenIn, what: str, style: HouseStyle, *, dry_run: bool) -> Shown:
    """What was imported, and how its tables were taken; only the first gains are named."""
    gains = [{"id": id_, "mass_mg": mass} for id_, mass in done.gains]
    document = fields(done, "files", "notes", "tables", "kept", "in_all") | {
        "in_all": [_in_all_document(one) for one in done.in_all],
        "gains": gains, "warnings": list(done.notes), "tables": [_document(table) for table in done.tables.values()],
        "kept": dict(done.kept), "dry_run": dry_run,
    }  # fmt: skip
    counts = (counted(done.items, "item"), counted(done.pours, "pour"), counted(done.entries, "entry", "entries"))
    notes = [line for table in done.tables.values() for line in _table_words(table)]
    notes += [_in_all_words(one, style) for one in done.in_all]
    if done.kept:
        notes.append(f"kept for next time: {counted(len(done.kept), 'heading')} (pourbook settings)")
    notes += [
        f"note: {hyphened(id_)} gave {in_grams(mass, style.mark)} more than the book held"
        for id_, mass in done.gains[:_GAINS_SAID]
    ]
    if dry_run:
        notes.append("dry run: nothing was recorded")
    warnings = tuple(f"warning: {note}" for note in done.notes)
    return Shown(document, (f"{what}: {', '.join(counts)} of the journal",), tuple(notes), warnings)


def _in_all_document(one: InAll) -> Mapping[str, Any]:
    lpa = None if one.lpa_l is None else float(one.lpa_l)
    return fields(one) | {"amount": float(one.amount), "lpa_l": lpa}


def _in_all_words(one: InAll, style: HouseStyle) -> str:
    """A table in all, as it says itself and as the book has it then.

    >>> from fractions import Fraction
    >>> _in_all_words(InAll("casks", "", "l", 2, Fraction(300), Fraction(180), 300.0, 180.004), HouseStyle())
    'casks in all: 2 rows, 300.00 l, 180.00 LPA in the file; 300.00 l at 20 °C, 180.00 LPA in the book'
    """
    own = "" if one.lpa_l is None else f", {style.shown(one.lpa_l, 2)} LPA"
    file = f"{counted(one.rows, 'row')}, {style.shown(one.amount, 2)} {one.unit}{own} in the file"
    held = [] if one.held_l is None else [f"{style.shown(one.held_l, 2)} l at 20 °C"]
    held += [] if one.held_lpa_l is None else [f"{style.shown(one.held_lpa_l, 2)} LPA"]
    book = f"; {', '.join(held)} in the book" if held else ""
    return f"{' '.join(filter(None, (one.table, one.what)))} in all: {file}{book}"


def _document(table: Surveyed) -> Mapping[str, Any]:
    return {
        "table": table.table,
        "file": table.file,
        "heading_row": table.row,
        "headings": [fields(heading, "is_open") for heading in table.headings],
        "passed_over": [{"row": row, "why": why} for row, why in sorted(table.passed_over.items())],
    }


def _table_words(table: Surveyed) -> Iterator[str]:
    """What a person should know of how a table was taken; nothing where it is as the book's own."""
    if table.row > 1:
        yield f"{table.file}: headings in row {table.row}"
    passed_over = sorted(table.passed_over.items())
    yield from (f"{table.file}: row {row} passed over, {why}" for row, why in passed_over[:_PASSED_OVER_SAID])
    if len(passed_over) > _PASSED_OVER_SAID:
        yield f"{table.file}: {len(passed_over) - _PASSED_OVER_SAID} more rows passed over; --json lists them"
    for one in table.headings:
        if one.meaning == LEAVE_OUT:
            yield f"{table.file}: '{one.heading}' left out ({one.found})"
        elif one.meaning != column_name(one.heading) or one.reading:
            reading = f" ({one.reading})" if one.reading else ""
            yield f"{table.file}: '{one.heading}' is {one.meaning}{reading}; {one.found}"
        elif "read " in one.found:
            yield f"{table.file}: '{one.heading}': {one.found}"


def map_table(refusal: PourbookError) -> Table:
    """What must be said of the tables of a refused import, to be filled in; without rows where nothing must."""
    return Table(MAP_COLUMNS, map_rows(refusal.tables) if isinstance(refusal, FaultsFound) else [])


def faults_table(faults: Sequence[Fault]) -> Table:
    """Faults as a table to work through."""
    return Table(Fault._fields, [{name: str(value) for name, value in fault._asdict().items()} for fault in faults])
