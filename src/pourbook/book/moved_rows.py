"""Rows of what moved into and out of items, and of what each held after every line: two tables that must agree."""

from collections.abc import Sequence

from pourbook.book.items import chunks
from pourbook.book.store import Row, Store

__all__ = ["ledger_rows", "rows_into", "rows_out_of"]

_LEDGER = (
    "SELECT item, line, happened, mass, ethanol, extract FROM ledger WHERE item IN ({}) ORDER BY item, happened, place"
)
_INTO = (
    "SELECT state.item, flow.line, flow.carry, flow.how, flow.happened, flow.mass, flow.ethanol, flow.extract,"
    " flow.out_mass, flow.out_ethanol, flow.out_extract"
    " FROM state JOIN flow ON flow.target = state.id WHERE state.item IN ({})"
)
_OUT_OF = (
    "SELECT state.item, flow.line, flow.how, flow.happened, coalesce(flow.out_mass, flow.mass),"
    " coalesce(flow.out_ethanol, flow.ethanol), coalesce(flow.out_extract, flow.extract)"
    " FROM state JOIN flow ON flow.source = state.id WHERE flow.carry = 0 AND state.item IN ({})"
)


def ledger_rows(store: Store, items: Sequence[int]) -> list[Row]:
    """Item, line, moment, and mass, ethanol and extract held after it; in order, item by item."""
    return _asked(store, _LEDGER, items)


def rows_into(store: Store, items: Sequence[int]) -> list[Row]:
    """Item, line, whether it is a carry, the word for outside, moment, what arrived, and what left the source."""
    return _asked(store, _INTO, items)


def rows_out_of(store: Store, items: Sequence[int]) -> list[Row]:
    """Item, line, the word for outside, moment, and what left the item."""
    return _asked(store, _OUT_OF, items)


def _asked(store: Store, sql: str, keys: Sequence[int]) -> list[Row]:
    rows: list[Row] = []
    for marks, chunk in chunks(keys):
        rows += store.query(sql.format(marks), chunk)
    return rows
