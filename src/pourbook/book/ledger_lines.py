"""The ledger with what its entries say: every line that touched an item, in the order things happened."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from pourbook.book.holding import LINES, Holding
from pourbook.book.items import chunks
from pourbook.book.journal import parsed
from pourbook.book.logged import line_of
from pourbook.book.store import Store

__all__ = ["LedgerLine", "ledger_lines", "told"]


class LedgerLine(NamedTuple):
    """A line of the ledger.

    Attributes:
        happened_us: when.
        place: order among what happened at that moment.
        key: of the item.
        line: its number: the entry's times `LINES`, plus its place in the entry.
        after: what the item held then.
        entry: as the journal keeps it; `told` reads it.
    """

    happened_us: int
    place: int
    key: int
    line: int
    after: Holding
    entry: str


def ledger_lines(store: Store, keys: Sequence[int], until_us: int) -> Iterator[LedgerLine]:
    """Every line that touched these items until a moment, by item and time."""
    for marks, chunk in chunks(keys):
        for key, happened, place, line, *held, text in store.query(
            "SELECT ledger.item, ledger.happened, ledger.place, ledger.line, ledger.mass, ledger.ethanol,"
            " ledger.extract, ledger.state, ledger.sealed, entry.bytes"
            f" FROM ledger JOIN entry ON entry.number = ledger.line / {LINES} WHERE ledger.item IN ({marks})"
            " AND ledger.happened <= ? ORDER BY ledger.item, ledger.happened, ledger.place",
            (*chunk, until_us),
        ):
            yield LedgerLine(happened, place, key, line, Holding(*held), text)


def told(line: LedgerLine) -> Mapping[str, Any]:
    """The line of a pour, or the body of a gauge."""
    return line_of(parsed(line.entry)["body"], line.line)
