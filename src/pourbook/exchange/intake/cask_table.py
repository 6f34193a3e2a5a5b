"""Casks from one table: what they are, and what lies in them.

Columns: ref; wood, cooper, toast, char, seasoning, capacity_l, spirit, place, name, note, previous (contents, parted by
semicolons, the oldest first), earlier_fills (a count), owner, duty_status, tare_kg; arrival, inspection, treatment,
repair (notes of the day it was entered, or filled); filled (when), quantity, unit, strength, temperature_c, by;
distiller, distilled, in_wood (time in wood before: days, or "12 y 3 m"; without the column it is new spirit, a blank is
unknown), cost, document. A cask without a quantity is empty.
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import SUBJECTS, Draft, Item, Move, Note, Pour
from pourbook.errors import Fault
from pourbook.exchange.intake.history_rows import (
    ITEM_COLUMNS,
    amount_of,
    item_facts,
    needed_moment,
    origin_facts,
    ref_of,
)
from pourbook.exchange.intake.intake import NextId, TableIntake, check_refs
from pourbook.exchange.tables.columns import Cells, Faults, Readers
from pourbook.exchange.tables.table_files import read_table
from pourbook.exchange.tables.table_sources import Columns, Source
from pourbook.exchange.tables.taken import Heard

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["CASK_COLUMNS", "read_casks"]

CASK_COLUMNS = Columns(
    ("ref",),
    (
        *ITEM_COLUMNS.optional[1:],
        *SUBJECTS,
        *("filled", "quantity", "unit", "strength", "temperature_c", "by"),
        *("distiller", "distilled", "in_wood", "cost", "document"),
    ),
    dates=("filled", "distilled"),
    numbers=("capacity_l", "tare_kg", "quantity", "strength", "temperature_c", "cost"),
)
_OF_CONTENTS = ("unit", "strength", "temperature_c", "distiller", "distilled", "in_wood", "cost")


class _Cask(NamedTuple):
    """A row; `fill` is None for an empty cask, who and when where left blank; `notes` are texts by their subject."""

    row: int
    facts: Mapping[str, str]
    notes: Mapping[str, str]
    happened_us: int | None
    fill: Move | None
    who: str | None


def read_casks(
    book: "BookCore", source: Source, encoding: str | None = None, *, refs_may_repeat: bool, heard: Heard | None = None
) -> TableIntake:
    """A table of casks, checked; all faults are raised, among them a ref in the book unless `refs_may_repeat`."""
    faults = Faults()
    readers = Readers(book.settings, book.clock())
    table = read_table(source, CASK_COLUMNS, faults, encoding=encoding, heard=heard)
    rows_of_cells = ((row, Cells(source.name, row, values, faults, table)) for row, values in table.rows)
    casks = [_cask(cells, row, readers, table.columns) for row, cells in rows_of_cells]
    first: dict[str, int] = {}
    for cask in casks:
        ref = cask.facts["ref"]
        if first.setdefault(ref, cask.row) != cask.row and ref:
            remedy = "give each cask its own name"
            faults.add(Fault(source.name, cask.row, "ref", ref, f"is also the ref of row {first[ref]}", remedy))
    if not refs_may_repeat:
        refs = ((cask.row, cask.facts["ref"]) for cask in casks)
        check_refs(book, source.name, refs, faults, "leave out the row, or give the cask another name")
    faults.check("casks")

    def rows(next_id: NextId, who: str, when_us: int) -> Iterator[tuple[int, Draft]]:
        """Openings in table order, then fillings in order of time."""
        identifiers = {cask.row: next_id("cask") for cask in casks}
        for cask in casks:
            moment_us = when_us if cask.happened_us is None else cask.happened_us
            yield cask.row, Draft(Item(identifiers[cask.row], cask.facts), moment_us, cask.who or who)
            for subject, text in cask.notes.items():
                yield cask.row, Draft(Note(identifiers[cask.row], text, subject), moment_us, cask.who or who)
        filled = [(cask.happened_us, cask, cask.fill) for cask in casks if cask.fill and cask.happened_us is not None]
        for moment_us, cask, fill in sorted(filled, key=lambda filling: filling[0]):
            move = fill._replace(target=identifiers[cask.row])
            yield cask.row, Draft(Pour("fill", (move,)), moment_us, cask.who or who)

    fills = sum(cask.fill is not None for cask in casks)
    return TableIntake("casks", source.name, rows, items=len(casks), pours=fills, tables=faults.tables)


def _cask(cells: Cells, row: int, readers: Readers, columns: tuple[str, ...]) -> _Cask:
    facts = {"ref": ref_of(cells)} | item_facts(cells, readers)
    fill = _fill(cells, readers, columns)
    if cells.text("quantity"):
        happened_us = needed_moment(cells, readers, "filled")
    else:
        happened_us = cells.read("filled", readers.moment)
    notes = {subject: text for subject in SUBJECTS if (text := cells.text(subject))}
    return _Cask(row, facts, notes, happened_us, fill, cells.read("by", readers.person))


def _fill(cells: Cells, readers: Readers, columns: tuple[str, ...]) -> Move | None:
    """What was filled in, without its target; None for an empty cask or a fault."""
    if not cells.text("quantity"):
        for name in _OF_CONTENTS:
            if cells.text(name):
                cells.fault("quantity", f"is blank, but the row has a {name}", "write the quantity, or clear the rest")
                break
        return None
    amount = amount_of(cells, readers)
    strength = cells.read("strength", readers.strength) if cells.needed("strength") else None
    temperature_c = cells.read("temperature_c", readers.temperature_c)
    facts = origin_facts(cells, readers, columns, is_origin=True)
    return Move("origin", "", amount, strength, 20.0 if temperature_c is None else temperature_c, facts=facts)
