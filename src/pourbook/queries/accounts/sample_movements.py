"""Samples in the account of a period: what was drawn, sent, used up, destroyed or given back.

Every draw into a vial is listed, everything that left a vial other than for the bench, and every loss
under the headings of samples and destruction, with recipient, purpose, document and witness where
the book has them. What goes from vial to vial or into a trial is bench work and stays in the book.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.flows import Flow
from pourbook.book.items import views
from pourbook.codes.identifiers import key_of, of_key
from pourbook.consignments import recipient
from pourbook.queries.accounts.account_rows import Rows, is_drawn, is_sampled
from pourbook.queries.accounts.headings import SAMPLE, loss_heading
from pourbook.queries.accounts.quantity import Quantity, quantity

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["Sampled", "sampled", "with_refs"]


class Sampled(NamedTuple):
    """A movement of a sample, or a destruction; empty where something is not recorded.

    Attributes:
        happened_us: when.
        entry: number of the entry.
        what: drawn, sent, returned, or the heading of the loss.
        source: identifier of the item it left.
        target: identifier of the item it went into, or the word for outside.
        moved: how much, as it left.
        recipient: who got it.
        purpose: what for, or why.
        document: its document.
        witness: of a destruction.
        who: who recorded it.
        source_ref: what the house calls the item it left.
        target_ref: what it calls the item it went into.
    """

    happened_us: int
    entry: int
    what: str
    source: str
    target: str
    moved: Quantity
    recipient: str
    purpose: str
    document: str
    witness: str
    who: str
    source_ref: str = ""
    target_ref: str = ""


def with_refs(store: "Store", every: Iterable[Sampled]) -> tuple[Sampled, ...]:
    """Movements of samples with what the house calls their items."""
    found = tuple(every)
    ends = {end for one in found for end in (one.source, one.target) if end[:1].isupper()}
    refs = {view.id: view.ref or "" for view in views(store, sorted(map(key_of, ends))).values()}
    return tuple(
        one._replace(source_ref=refs.get(one.source, ""), target_ref=refs.get(one.target, "")) for one in found
    )


def sampled(rows: Rows) -> Iterator[Sampled]:
    """The movements of samples in a period, in order of time; without refs."""
    keys = {row.line: row.key for row in rows.touched}
    for flow in sorted(rows.flows.values(), key=lambda flow: keys[flow.line]):
        what = _what(flow, rows.told(flow.line))
        if what and flow.source_item is not None:
            entry = rows.entries[flow.line // LINES]
            yield _sampled(flow, keys[flow.line][0], what, entry, rows.told(flow.line))


def _what(flow: Flow, told: Mapping[str, Any]) -> str:
    """What became of a sample; empty where the line moved none."""
    if flow.how == "loss":
        heading = loss_heading(told)
        return heading if is_sampled(flow) or heading == SAMPLE or heading.startswith("destruction") else ""
    if is_drawn(flow):
        return "drawn" if flow.source_item is not None else ""
    if is_sampled(flow):
        return "sent" if flow.target_item is None else "returned"
    return ""


def _sampled(flow: Flow, happened_us: int, what: str, entry: Mapping[str, Any], told: Mapping[str, Any]) -> Sampled:
    assert flow.source_item is not None
    return Sampled(
        happened_us,
        entry["number"],
        what,
        of_key(flow.source_item),
        flow.how if flow.target_item is None else of_key(flow.target_item),
        quantity(flow.left),
        str(told.get("recipient") or recipient(told)),
        str(told.get("purpose") or entry.get("reason") or ""),
        str(told.get("document", "")),
        str(told.get("witness", "")),
        entry["who"],
    )
