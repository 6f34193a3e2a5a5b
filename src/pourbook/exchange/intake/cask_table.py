"""Casks from one table: what they are, and what lies in them.

Columns: ref; wood, cooper, toast, char, seasoning, capacity_l, spirit, place, name, note, previous (contents, parted by
semicolons, the oldest first), earlier_fills (a count), owner, duty_status, tare_kg; arrival, inspection, treatment,
repair (notes of the day it was entered, or filled); filled (when), quantity, unit, strength, temperature_c, by;
distiller, distilled, in_wood (time in wood before: days, or "12 y 3 m"; without the column it is new spirit, a blank is
unknown), cost, document; lpa (litres of pure alcohol as the house reckoned them: compared, not recorded). A cask
without a quantity is empty.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import SUBJECTS, Draft, Item, Move, Note, Pour
from pourbook.errors import Fault
from pourbook.exchange.intake.comparing import InAll, Row, compared
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
        *("distiller", "distilled", "in_wood", "cost", "document", "lpa"),
    ),
    dates=("filled", "distilled"),
    numbers=("capacity_l", "tare_kg", "quantity", "strength", "temperature_c", "cost", "lpa"),
)
_OF_CONTENTS = ("unit", "strength", "temperature_c", "distiller", "distilled", "in_wood", "cost")

_TYPED_TWICE = "if it is one cask typed twice, delete a row; if not, give each its own name"


class _Cask(NamedTuple):
    """A row; `fill` is None for an empty cask, who and when where left blank; `notes` are texts by their subject.

    `is_sound` says that it can be recorded; `typed` are its cells.
    """

    row: int
    facts: Mapping[str, str]
    notes: Mapping[str, str]
    happened_us: int | None
    fill: Move | None
    who: str | None
    reason: str
    lpa_l: Decimal | None
    typed: Mapping[str, str]
    is_sound: bool


def read_casks(
    book: "BookCore", source: Source, encoding: str | None = None, *, refs_may_repeat: bool, heard: Heard | None = None
) -> TableIntake:
    """A table of casks, checked; its faults are raised together with what the book refuses of the sound rows.

    A ref in the book is a fault unless `refs_may_repeat`.
    """
    faults = Faults()
    readers = Readers(book.settings, book.clock())
    table = read_table(source, CASK_COLUMNS, faults, encoding=encoding, heard=heard)
    rows_of_cells = ((row, Cells(source.name, row, values, faults, table)) for row, values in table.rows)
    read = [_cask(cells, row, readers, table.columns) for row, cells in rows_of_cells]
    first = _first_of_each(read, source.name, table.headings, faults)
    if not refs_may_repeat:
        refs = ((cask.row, cask.facts["ref"]) for cask in read)
        check_refs(book, source.name, refs, faults, "leave out the row, or give the cask another name")
    casks = [cask for cask in read if cask.is_sound and first[cask.facts["ref"]] is cask]
    identifiers: dict[int, str] = {}

    def rows(next_id: NextId, who: str, when_us: int) -> Iterator[tuple[int, Draft]]:
        """Openings in table order, then fillings in order of time."""
        identifiers.update((cask.row, next_id("cask")) for cask in casks)
        for cask in casks:
            moment_us = when_us if cask.happened_us is None else cask.happened_us
            reason = "" if cask.fill else cask.reason
            yield cask.row, Draft(Item(identifiers[cask.row], cask.facts), moment_us, cask.who or who, reason)
            for subject, text in cask.notes.items():
                yield cask.row, Draft(Note(identifiers[cask.row], text, subject), moment_us, cask.who or who)
        filled = [(cask.happened_us, cask, cask.fill) for cask in casks if cask.fill and cask.happened_us is not None]
        for moment_us, cask, fill in sorted(filled, key=lambda filling: filling[0]):
            move = fill._replace(target=identifiers[cask.row])
            yield cask.row, Draft(Pour("fill", (move,)), moment_us, cask.who or who, cask.reason)

    def in_all(book: "BookCore", _since_entry: int) -> tuple[InAll, ...]:
        return compared(book, "casks", [
            Row(identifiers[cask.row], cask.happened_us, cask.fill.amount, cask.fill.strength, cask.lpa_l)
            for cask in casks if cask.fill and cask.happened_us is not None
        ])  # fmt: skip

    fills = sum(cask.fill is not None for cask in casks)
    return TableIntake("casks", source.name, rows, items=len(casks), pours=fills, faults=faults, in_all=in_all)


def _first_of_each(read: list[_Cask], file: str, headings: Mapping[str, str], faults: Faults) -> dict[str, _Cask]:
    """The first row of each ref; any other is a fault."""
    first: dict[str, _Cask] = {}
    for cask in read:
        ref = cask.facts["ref"]
        if ref and first.setdefault(ref, cask) is not cask:
            problem, remedy = _twice(first[ref], cask, headings)
            faults.add(Fault(file, cask.row, headings.get("ref", "ref"), ref, problem, remedy))
    return first


def _twice(there: _Cask, here: _Cask, headings: Mapping[str, str]) -> tuple[str, str]:
    """What two rows of one ref have in common and not, and what that may mean: problem and remedy."""
    also = f"is also the ref of row {there.row}"
    typed, typed_here = there.typed, here.typed
    differing = [name for name in {**typed, **typed_here} if typed.get(name) != typed_here.get(name)]
    if not differing:
        return f"{also}, which says the same", _TYPED_TWICE
    shown = "; ".join(
        f"{headings.get(name, name)}: there {typed.get(name, 'blank')}, here {typed_here.get(name, 'blank')}"
        for name in differing
    )
    if not (there.fill and here.fill and there.happened_us != here.happened_us):
        return f"{also} ({shown})", _TYPED_TWICE
    last = max(there, here, key=lambda cask: cask.happened_us or 0)
    ref, amount = last.facts["ref"], " ".join(filter(None, map(last.typed.get, ("quantity", "unit"))))
    return f"{also} ({shown})", (
        "if it is one cask that was emptied and filled again, or racked, delete row"
        f" {last.row} and import what happened since as a history: in pours, a row from {ref} to where its liquid"
        f" went, quantity all, when it was emptied; then one from origin (or the cask it was racked from) to {ref},"
        f" {amount}, {last.typed['filled']}. If they are two casks, give each its own name"
    )


def _cask(cells: Cells, row: int, readers: Readers, columns: tuple[str, ...]) -> _Cask:
    facts = {"ref": ref_of(cells)} | item_facts(cells, readers)
    fill = _fill(cells, readers, columns)
    if cells.text("quantity"):
        happened_us = needed_moment(cells, readers, "filled")
    else:
        happened_us = cells.read("filled", readers.moment)
    notes = {subject: text for subject in SUBJECTS if (text := cells.text(subject))}
    lpa = cells.read("lpa", readers.number)
    return _Cask(
        row, facts, notes, happened_us, fill, cells.read("by", readers.person), cells.text("reason"),
        None if lpa is None else Decimal(lpa), cells.values, cells.sound,
    )  # fmt: skip


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
