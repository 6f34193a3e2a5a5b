"""What moved into and out of items, and what gauges found: the lines behind a balance.

They come from two tables, the ledger (what an item held after each line) and the flows (what
each line moved). Only where both tell the same story does a balance come out even.

>>> from pourbook import Book, Draft, Gauge, Item, Move, Pour
>>> from pourbook.codes.identifiers import key_of
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> entries = (Item(cask, {}), fill, Gauge(cask, 990, None))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(moved.what, moved.liquid.mass_mg) for moved in movements(book.store, [key_of(cask)])]
[('in', 1000), ('gauge', -10)]
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from pourbook.book.holding import LINES
from pourbook.book.logged import entries_of
from pourbook.book.moved_rows import ledger_rows, rows_into, rows_out_of
from pourbook.liquid import EMPTY, Liquid

if TYPE_CHECKING:
    from pourbook.book.store import Row, Store

__all__ = ["Moved", "held_now", "movements"]


class Moved(NamedTuple):
    """A line that changed what an item holds.

    Attributes:
        item: key of the item.
        line: number of the line.
        happened_us: when.
        what: "in" and "out" (both above zero), "lost", "gauge" (what a gauge found beyond the book,
            below zero where it was less), or "transit" (what left the source and did not arrive
            here; it belongs to neither item).
        how: the word for outside ("origin", "water", "despatch", "return" …; "unexplained" for what a
            gauge found where the book knew of nothing); empty between items.
        liquid: how much.
    """

    item: int
    line: int
    happened_us: int
    what: Literal["in", "out", "lost", "gauge", "transit"]
    how: str
    liquid: Liquid

    @property
    def entry(self) -> int:
        """Number of the entry."""
        return self.line // LINES


def movements(store: "Store", items: Sequence[int]) -> list[Moved]:
    """Every line that changed what any of the items holds, in the order they happened."""
    into = rows_into(store, items)
    moved = [*_in(into), *_out(rows_out_of(store, items))]
    set_to = {(row[0], row[1]): Liquid(*row[5:8]) for row in into if row[2]}
    moved += _found(store, ledger_rows(store, items), set_to, {(one.item, one.line) for one in moved})
    return sorted(moved, key=lambda one: (one.happened_us, one.line, one.item))


def held_now(store: "Store", items: Sequence[int]) -> dict[int, Liquid]:
    """What each item holds now."""
    return {row[0]: Liquid(*row[3:]) for row in ledger_rows(store, items)}


def _in(rows: "list[Row]") -> Iterator[Moved]:
    for item, line, carry, how, happened, *amounts in rows:
        if carry:
            continue
        received = Liquid(*amounts[:3])
        yield Moved(item, line, happened, "in", how, received)
        if amounts[3] is not None:
            yield Moved(item, line, happened, "transit", how, Liquid(*amounts[3:]) - received)


def _out(rows: "list[Row]") -> Iterator[Moved]:
    for item, line, how, happened, *amounts in rows:
        yield Moved(item, line, happened, "lost" if how == "loss" else "out", how, Liquid(*amounts))


def _found(
    store: "Store", ledger: "list[Row]", set_to: Mapping[tuple[int, int], Liquid], moved: set[tuple[int, int]]
) -> Iterator[Moved]:
    """What gauges found beyond the book, implied ones too; and what customers sent back, which no flow shows."""
    silent = {row[1] // LINES for row in ledger if row[:2] not in moved and row[:2] not in set_to}
    bodies = {number: entry["body"] for number, entry in entries_of(store, silent).items()}
    before: dict[int, Liquid] = {}
    for item, line, happened, *amounts in ledger:
        held, after = before.get(item, EMPTY), Liquid(*amounts)
        before[item] = after
        body = bodies.get(line // LINES)
        if (item, line) in set_to:
            if set_to[item, line] != held:
                yield Moved(item, line, happened, "gauge", "", set_to[item, line] - held)
        elif (item, line) not in moved and body is not None:
            if "lines" in body:
                yield Moved(item, line, happened, "in", "return", _returned(body["lines"][line % LINES]))
            elif held.mass_mg:
                yield Moved(item, line, happened, "gauge", "", EMPTY - held)


def _returned(line: Mapping[str, Any]) -> Liquid:
    liquid = Liquid(line["mass"], line["ethanol"], line.get("extract", 0))
    return liquid.scaled(line["in"]) if "in" in line else liquid
