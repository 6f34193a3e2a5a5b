"""The balance of a recall: all that came into affected bodies of liquid, and all that became of it, to the mg.

Flows say what was poured, the ledger says what is held and what gauges found; that the two agree is the proof.
What was lost or gained on the way from one affected item to the next is the sender's.

>>> Balance(from_outside=Liquid(10, 4), despatched=Liquid(7, 3), on_hand=Liquid(3, 1)).unexplained
Liquid(mass_mg=0, ethanol_mg=0, extract_mg=0)
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from pourbook.book.contents import EVER, NOTHING, Holding
from pourbook.book.flows import Flow, beyond_flows, touched_of
from pourbook.book.store import Store
from pourbook.lineage.graph import CARRY, RETURN
from pourbook.liquid import EMPTY, Liquid
from pourbook.queries.recalls.affected import Affected

__all__ = ["CAME", "WENT", "Balance", "balances", "total"]


class Balance(NamedTuple):
    """What became of affected liquid: of an item, or of all.

    Attributes:
        from_outside: spirit, water and additives that came into the house here.
        from_unaffected: came from bodies that are not affected: other casks, or the item before it was.
        transfer_in: from other affected items.
        gained: found by gauges, or arrived in excess.
        returned: came back from customers.
        on_hand: still held.
        internal_transfer: to other affected items, as it arrived.
        to_unaffected: left before it was suspect, or went into items below the threshold.
        despatched: left for customers.
        lost: lost, missing at a gauge or on the way.
    """

    from_outside: Liquid = EMPTY
    from_unaffected: Liquid = EMPTY
    transfer_in: Liquid = EMPTY
    gained: Liquid = EMPTY
    returned: Liquid = EMPTY
    on_hand: Liquid = EMPTY
    internal_transfer: Liquid = EMPTY
    to_unaffected: Liquid = EMPTY
    despatched: Liquid = EMPTY
    lost: Liquid = EMPTY

    @property
    def unexplained(self) -> Liquid:
        """What came less what went: nothing, if the book is sound."""
        came, went = (_sum(getattr(self, side) for side in sides) for sides in (CAME, WENT))
        return came - went


CAME = ("from_outside", "from_unaffected", "transfer_in", "gained", "returned")
"""The sides of a balance by which liquid came."""

WENT = ("on_hand", "internal_transfer", "to_unaffected", "despatched", "lost")
"""The sides by which it went, or stayed."""

_Posting = tuple[int, str, Liquid]


def _sum(liquids: Iterable[Liquid]) -> Liquid:
    return sum(liquids, start=EMPTY)


def total(of_items: Iterable[Balance]) -> Balance:
    """All items together; internal transfers stand on both sides."""
    return Balance(*map(_sum, zip(*of_items, strict=True)))


def balances(store: Store, found: Affected, until_us: int = EVER) -> dict[int, Balance]:
    """The balance of each affected item, by its key, up to the moment and in the snapshot that `found` was read in."""
    sums: dict[int, dict[str, Liquid]] = {key: {} for key in found.states.values()}
    for key, side, liquid in (*_of_flows(found), *_of_ledgers(store, found, until_us)):
        of_item = sums.setdefault(key, {})
        of_item[side] = of_item.get(side, EMPTY) + liquid
    return {key: Balance(**of_item) for key, of_item in sums.items()}


def _of_flows(found: Affected) -> Iterator[_Posting]:
    inside = found.states
    for flow in found.flows:
        source, target = inside.get(flow.source), inside.get(flow.target)
        if source is None and flow.source_item is not None and not flow.target:
            source = flow.source_item  # a suspect pour out of a body that is not affected
            yield source, "from_unaffected", flow.left
        if source is not None and flow.how != CARRY:
            yield from _difference(source, flow.received - flow.left)
        if source is not None and not (flow.how == CARRY and target is not None):
            yield source, _side(found, flow, target), flow.received
        if target is not None and not (flow.how == CARRY and source is not None):
            yield target, _came(flow, source), flow.received


def _came(flow: Flow, source: int | None) -> str:
    if source is not None:
        return "transfer_in"
    if flow.source:
        return "from_unaffected"
    return "returned" if flow.how == RETURN else "from_outside"


def _side(found: Affected, flow: Flow, target: int | None) -> str:
    if not flow.target and found.begin.leaves_suspect(flow.line, flow.source, flow.happened_us, found.states):
        return "despatched" if flow.how == "despatch" else "lost"
    return "to_unaffected" if target is None else "internal_transfer"


def _difference(item: int, more: Liquid) -> Iterator[_Posting]:
    """A gain or a loss of each constituent by itself, as an account has it."""
    yield item, "gained", Liquid(*(max(part, 0) for part in more))
    yield item, "lost", Liquid(*(max(-part, 0) for part in more))


# -- what the ledger says --------------------------------------------------------------------


def _of_ledgers(store: Store, found: Affected, until_us: int) -> Iterator[_Posting]:
    """What affected items hold, and what gauges found of them."""
    before = NOTHING
    item = 0
    for row, _, more in beyond_flows(touched_of(store, sorted(set(found.states.values())), until_us), found.flows):
        if row.item != item:
            yield from _on_hand(found, item, before)
            item, before = row.item, NOTHING
        if any(more) and {before.state, row.holding.state} <= found.states.keys():
            yield from _difference(row.item, more)
        before = row.holding
    yield from _on_hand(found, item, before)


def _on_hand(found: Affected, item: int, holding: Holding) -> Iterator[_Posting]:
    if holding.state in found.states:
        yield item, "on_hand", holding.liquid
