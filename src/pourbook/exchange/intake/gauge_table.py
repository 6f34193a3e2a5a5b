"""A round of gauges from one table: what the dip rod, the scale and the density meter read.

Columns: item (ref or identifier), happened, by; amount, unit, strength, temperature_c (an amount, a
strength, or both); instrument, reason. Readings may lie in the past: what follows from them is
computed again.

>>> from pathlib import Path
>>> from tempfile import TemporaryDirectory
>>> from pourbook import Book, Draft, Item
>>> with TemporaryDirectory() as folder, Book.create(":memory:", house="Quillmere") as book:
...     _ = book.record(Draft(Item(book.next_id("cask"), {"ref": "Q 7"}), 0, "M. Aldane"))
...     _ = Path(folder, "gauges.csv").write_text(
...         "item,amount,unit,strength,happened,by\\nQ 7,198.4,l,61.2,2024-06-30,M. Aldane\\n"
...     )
...     import_gauges(book, Path(folder, "gauges.csv")).entries
2
"""

from pathlib import Path
from typing import TYPE_CHECKING

from pourbook.alcoholometry.apparent import composition_of, strength_of
from pourbook.book.entries import Draft, Gauge, Imported
from pourbook.exchange.intake.history_rows import needed_moment
from pourbook.exchange.intake.intake import TakenIn, record_rows, refuse_known
from pourbook.exchange.tables.columns import Cells, Faults, Readers
from pourbook.exchange.tables.table_files import Columns, digests, one_table, read_table
from pourbook.gauging.slips import capacity_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.quantities import Amount, Strength

__all__ = ["import_gauges"]

_OVERFULL = 1.5
_STRENGTH_AWAY = 30.0
_COLUMNS = Columns(("item", "happened", "by"), ("amount", "unit", "strength", "temperature_c", "instrument", "reason"))


def import_gauges(
    book: "BookCore",
    path: Path | str,
    *,
    who: str = "pourbook",
    dry_run: bool = False,
    again: bool = False,
    encoding: str | None = None,
) -> TakenIn:
    """Take in a CSV file or a workbook's sheet of gauges.

    Args:
        book: into which.
        path: of the file; `-` is standard input.
        who: imports; the readings are by whom their rows say.
        dry_run: do everything, answer, and keep nothing.
        again: take in a file that was imported before.
        encoding: of a CSV file; UTF-8 by default.

    Raises:
        FaultsFound: every fault found; nothing was recorded.
        Malformed: the file cannot be read at all.
        Refused: the file was imported before.
    """
    source = one_table(path, "gauges")
    files = digests([source])
    if not again:
        refuse_known(book, files)
    faults = Faults()
    readers = Readers(book.settings, book.clock())
    drafts: list[tuple[int, Draft]] = []
    table = read_table(source, _COLUMNS, faults, encoding=encoding, decimal_mark=readers.decimal_mark)
    for row, values in table.rows:
        draft = _draft(Cells(source.name, row, values, faults), book, readers)
        if draft is not None:
            drafts.append((row, draft))
    faults.check("gauges")
    drafts.sort(key=lambda numbered: numbered[1].happened_us)
    drafts.append((0, Draft(Imported(files, 0, 0), book.clock(), who)))
    recorded = record_rows(book, source.name, lambda: drafts, what="gauges", dry_run=dry_run)
    return TakenIn(0, 0, len(recorded.numbers), recorded.gains, files)


def _draft(cells: Cells, book: "BookCore", readers: Readers) -> Draft | None:
    """One row as a draft; None when it has faults."""
    identifier = cells.needed("item") and cells.read("item", book.find)
    happened_us = needed_moment(cells, readers, "happened")
    who = cells.needed("by")
    amount = cells.read("amount", lambda text: readers.amount(text, cells.text("unit"), True))
    strength = cells.read("strength", readers.strength)
    temperature_c = cells.read("temperature_c", readers.temperature_c)
    if cells.sound and amount is None and strength is None:
        cells.fault("amount", "neither an amount nor a strength was read", "write at least one of them")
    if not cells.sound or not identifier or happened_us is None:
        return None
    if not _is_possible(cells, book, identifier, happened_us, amount, strength):
        return None
    instrument = cells.text("instrument")
    gauge = Gauge(
        identifier,
        amount,
        strength,
        20.0 if temperature_c is None else temperature_c,
        {"instrument": instrument} if instrument else {},
    )
    return Draft(gauge, happened_us, who, cells.text("reason"))


def _is_possible(
    cells: Cells,
    book: "BookCore",
    identifier: str,
    happened_us: int,
    amount: "Amount | None",
    strength: "Strength | None",
) -> bool:  # fmt: skip
    """Whether a reading may have been; years of old books hold surprises, so only what cannot be is a fault."""
    known = book.show(identifier, happened_us)
    capacity = capacity_of(known.facts.get("capacity_l"))
    if amount and capacity and amount.dimension == "volume" and float(amount.volume_ml) >= _OVERFULL * capacity * 1000:
        cells.fault("amount", f"is far above the capacity of {capacity:g} l", "check unit and item")
    held = known.strength_20c
    if strength and held is not None:
        percent = strength_of(composition_of(strength))
        if abs(percent - held) > _STRENGTH_AWAY:
            problem = f"is {percent:.1f} % vol, where the book has {held:.1f} % vol"
            cells.fault("strength", problem, "check scale (% vol, proof), decimal mark and item")
    return cells.sound
