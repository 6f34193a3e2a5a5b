"""A round of gauges from one table: what the dip rod, the scale and the density meter read.

Columns: item (ref or identifier), happened, by; amount, unit, strength, temperature_c (an amount, a strength, or
both); instrument (name or identifier), disposition (of what is missing), reason. Readings may lie in the past: what
follows is computed again. What the book would ask of a reading is a fault, unless all is confirmed.
"""

from typing import TYPE_CHECKING

from pourbook.book import rules
from pourbook.book.entries import DISPOSITIONS, Draft, Gauge
from pourbook.exchange.intake.comparing import InAll, Row, compared
from pourbook.exchange.intake.history_rows import needed_moment
from pourbook.exchange.intake.intake import TableIntake
from pourbook.exchange.tables.columns import Cells, Faults, Readers
from pourbook.exchange.tables.table_files import read_table
from pourbook.exchange.tables.table_sources import Columns, Source
from pourbook.exchange.tables.taken import Heard
from pourbook.queries.gauges.named_instruments import NamedInstruments, named_instruments

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["GAUGE_COLUMNS", "read_gauges"]

GAUGE_COLUMNS = Columns(
    ("item", "happened", "by"),
    ("amount", "unit", "strength", "temperature_c", "instrument", "disposition", "reason"),
    dates=("happened",),
    numbers=("amount", "strength", "temperature_c"),
)


def read_gauges(
    book: "BookCore", source: Source, encoding: str | None = None, *, confirmed: bool = False,
    heard: Heard | None = None,
) -> TableIntake:  # fmt: skip
    """A table of gauges, checked; its faults are raised together with what the book refuses of the sound rows.

    An unknown instrument is a fault unless confirmed.
    """
    faults = Faults()
    readers = Readers(book.settings, book.clock())
    table = read_table(source, GAUGE_COLUMNS, faults, encoding=encoding, heard=heard)
    read = [
        (row, _draft(Cells(source.name, row, values, faults, table), book, readers, confirmed=confirmed))
        for row, values in table.rows
    ]
    drafts = sorted(((row, draft) for row, draft in read if draft), key=lambda numbered: numbered[1].happened_us)
    last = {draft.entry.id: draft for _, draft in drafts if isinstance(draft.entry, Gauge)}

    def in_all(book: "BookCore", _since_entry: int) -> tuple[InAll, ...]:
        return compared(book, "gauges", [
            Row(identifier, draft.happened_us, draft.entry.amount, draft.entry.strength)
            for identifier, draft in last.items() if isinstance(draft.entry, Gauge)
        ])  # fmt: skip

    return TableIntake("gauges", source.name, lambda *_: drafts, faults=faults, in_all=in_all)


def _draft(cells: Cells, book: "BookCore", readers: Readers, *, confirmed: bool) -> Draft | None:
    """One row as a draft; None when it has faults."""
    identifier = cells.needed("item") and cells.read("item", book.find)
    happened_us = needed_moment(cells, readers, "happened")
    who = cells.needed("by")
    amount = cells.read("amount", lambda text: readers.amount(text, cells.text("unit"), True))
    strength = cells.read("strength", readers.strength)
    temperature_c = cells.read("temperature_c", readers.temperature_c)
    if cells.sound and amount is None and strength is None:
        cells.fault("amount", "the row has neither an amount nor a strength", "write at least one")
    kind = cells.text("disposition")
    if kind and kind not in DISPOSITIONS:
        cells.fault("disposition", "is not a kind of loss", f"write one of: {', '.join(DISPOSITIONS)}")
    if happened_us is None:
        return None
    instruments = cells.read("instrument", lambda name: _instruments(book, name, happened_us, confirmed=confirmed))
    if not cells.sound or not identifier:
        return None
    at_c = 20.0 if temperature_c is None else temperature_c
    told = {"disposition": kind} if kind else {}
    gauge = Gauge(identifier, amount, strength, at_c, told, instruments=instruments.used if instruments else ())
    return Draft(gauge, happened_us, who, cells.text("reason"))


def _instruments(book: "BookCore", name: str, at_us: int, *, confirmed: bool) -> NamedInstruments:
    found = named_instruments(book, [name], at_us)
    for unknown in found.unknown:
        rules.confirmed((rules.instrument_is_known,), rules.InstrumentCase(book.store, unknown), by_person=confirmed)
    return found
