"""What the journal says of an item's own filling: bottles of a lot, the source of a vial.

>>> count = BottleCount(filled=300, despatched=120, returned=6, lost=2)
>>> count.left, count.with_customers
(184, 114)
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.items import facts, ledger
from pourbook.book.journal import entry_of, line_of
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.liquid import EMPTY, Liquid, share

if TYPE_CHECKING:
    from pourbook.book.entries import Move

__all__ = [
    "BottleCount", "Unwritten", "as_counted", "bottle_count", "bottle_mg", "cases_out", "drawn_from", "same_name",
    "with_customers",
]  # fmt: skip


class BottleCount(NamedTuple):
    """Bottles of a lot: filled, despatched (with those returned), returned, and lost (broken, tasted, emptied …)."""

    filled: int
    despatched: int
    returned: int
    lost: int

    @property
    def left(self) -> int:
        """Those in the house."""
        return self.filled - self.with_customers - self.lost

    @property
    def with_customers(self) -> int:
        """Those that were sent and did not come back."""
        return self.despatched - self.returned


class Unwritten(NamedTuple):
    """What a recording has of bottles that the store does not.

    Only entries numbered below `before` count, and not the one `without`, which is to be replaced; `lines` are those of
    this recording so far, by the items at their ends, each with its mass.
    """

    before: int
    without: int
    lines: Mapping[str, Sequence[Mapping[str, Any]]]


_ALL_WRITTEN = Unwritten(1 << 62, 0, {})


def bottle_count(
    store: Store, lot: str, until_us: int | None = None, unwritten: Unwritten = _ALL_WRITTEN
) -> BottleCount | None:
    """What filled a lot and what became of it, up to and including a moment; None where none were counted."""
    filled = despatched = returned = lost = 0
    for line, _ in _lines(store, lot, until_us, unwritten):
        count = int(line.get("facts", {}).get("bottles", 0))
        if line.get("from") == "return" and line["to"] == lot:
            returned += count
        elif line.get("to") == lot:
            filled += count
        elif line.get("from") == lot and line["to"] == "despatch":
            despatched += count
        elif line.get("from") == lot:
            lost += count
    return BottleCount(filled, despatched, returned, lost) if filled else None


def bottle_mg(store: Store, lot: str, unwritten: Unwritten = _ALL_WRITTEN) -> int:
    """What one bottle of a lot was filled with, mg, whatever is left of the lot; 0 where none were counted."""
    fills = [
        (int(line["facts"]["bottles"]), mass_mg)
        for line, mass_mg in _lines(store, lot, None, unwritten)
        if line.get("to") == lot and line["from"] != "return" and "bottles" in line.get("facts", {})
    ]
    count = sum(bottles for bottles, _ in fills)
    return share(sum(mass_mg for _, mass_mg in fills), 1, count) if count else 0


def same_name(customer: str) -> str:
    """A customer's name, whatever its case and spaces."""
    return " ".join(customer.casefold().split())


def with_customers(store: Store, lot: str, unwritten: Unwritten = _ALL_WRITTEN) -> dict[str, tuple[str, int]]:
    """Bottles of a lot that each customer was sent and did not send back, with the name as written, by `same_name`."""
    found: dict[str, tuple[str, int]] = {}
    for line, _ in _lines(store, lot, None, unwritten):
        told = line.get("facts", {})
        sign = 1 if line.get("to") == "despatch" else -1 if line.get("from") == "return" else 0
        if sign and lot in (line["from"], line["to"]) and "bottles" in told:
            name = str(told.get("customer", ""))
            written, number = found.get(same_name(name), (name, 0))
            found[same_name(name)] = written, number + sign * int(told["bottles"])
    return found


def cases_out(store: Store, lot: str, unwritten: Unwritten = _ALL_WRITTEN) -> dict[str, str]:
    """Cases and pallets of a lot (SSCC) that were sent and did not come back, each with its customer."""
    out: dict[str, str] = {}
    for line, _ in _lines(store, lot, None, unwritten):
        told = line.get("facts", {})
        for sscc in str(told.get("units", "")).split():
            if line["to"] == "despatch":
                out[sscc] = str(told.get("customer", ""))
            else:
                out.pop(sscc, None)
    return out


def _lines(
    store: Store, lot: str, until_us: int | None, unwritten: Unwritten
) -> Iterator[tuple[Mapping[str, Any], int]]:
    """Lines in force of a lot, each with the mass that it brought or took."""
    before_mg = 0
    for row in ledger(store, key_of(lot)):
        changed_mg, before_mg = abs(row.holding.mass_mg - before_mg), row.holding.mass_mg
        if until_us is not None and row.happened_us > until_us:
            break
        if row.entry >= unwritten.before or row.entry == unwritten.without:
            continue
        if not (logged := entry_of(store, row.entry)).gone:
            yield line_of(logged.entry["body"], row.line), changed_mg
    for line in unwritten.lines.get(lot, ()):
        yield line, line.get("in", line["mass"])


def as_counted(store: Store, move: "Move", happened_us: int, unwritten: Unwritten = _ALL_WRITTEN) -> "Move":
    """A line of bottles with the mass that was filled into them, and their number among its facts.

    All that a counted lot holds is all bottles left; the last bottles take with them whatever it holds.

    Raises:
        Refused: bottles of a lot that nobody counted.
    """
    from pourbook.quantities import Amount  # what only shows does without it

    amount, comes_back = move.amount, move.source == "return"
    lot = move.target if comes_back else move.source
    in_bottles = isinstance(amount, Amount) and amount.dimension == "count"
    if lot[:1] != "L" or not (in_bottles or (amount is None and not comes_back)):
        return move
    there = bottle_count(store, lot, happened_us, unwritten)
    if there is None:
        if in_bottles and "filling_from" in facts(store, key_of(lot)):
            raise Refused(f"{hyphened(lot)} is being filled still", "end its run first: pourbook bottling end")
        if in_bottles:
            raise Refused(f"{hyphened(lot)} was not bottled by count", "write a volume or a mass, or 'all'")
        return move
    count = int(amount.value) if isinstance(amount, Amount) else int(move.facts.get("bottles", there.left))
    if not count:
        return move
    whole_mg = count * bottle_mg(store, lot, unwritten)
    counted = move._replace(amount=whole_mg, facts={**move.facts, "bottles": count})
    if comes_back:
        return counted._replace(composition=_last_held(store, lot, happened_us, unwritten).scaled(whole_mg))
    return counted._replace(amount=None) if count == there.left else counted


def _last_held(store: Store, lot: str, until_us: int, unwritten: Unwritten) -> Liquid:
    """What a lot held last, up to a moment, but for the entry that is to be replaced."""
    rows = [row for row in ledger(store, key_of(lot)) if row.entry != unwritten.without]
    before = [row for row in rows if row.happened_us <= until_us] or rows
    return next((row.holding.liquid for row in reversed(before) if row.holding.mass_mg), EMPTY)


def drawn_from(store: Store, vial: str) -> tuple[str, int] | None:
    """What a vial was first filled from and when, in microseconds; None where that was not one item."""
    for row in ledger(store, key_of(vial)):
        source = line_of(entry_of(store, row.entry).entry["body"], row.line).get("from", "gauge")
        return (source, row.happened_us) if source[0].isupper() else None
    return None
