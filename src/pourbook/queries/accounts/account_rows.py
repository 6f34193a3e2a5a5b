"""What an account is made from, read from the tables of a book in a handful of questions.

The ledger says what every item held, the flows say what moved: an account is sound where both tell
the same story.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(fill, 0, "M. Aldane"))
>>> rows = rows_of(book.store, 0, 9, ())
>>> [touched.liquid.mass_mg for touched in rows.touched], [flow.how for flow in rows.flows.values()]
([1000], ['origin'])
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.flows import Flow, Touched, flows_between, held_before, touched_between
from pourbook.book.journal import entries_of, line_of
from pourbook.book.search import filled, stated
from pourbook.lineage.graph import CARRY, UNEXPLAINED
from pourbook.liquid import Liquid
from pourbook.queries.accounts.grouping import ALWAYS_US, Fact, Groups, facts_for, kind_at, spirits_joined

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["Rows", "groups_of", "is_drawn", "is_sampled", "rows_of"]


class Rows(NamedTuple):
    """All that an account of a period, from start_us to just before end_us, is made from.

    Attributes:
        opening: what each item held before the period, by key.
        closing: what each item held at its end.
        touched: every line that touched an item in the period, item by item in order of time.
        flows: what moved in the period, by number of the line.
        gauged: what gauges found, those too that a pour implied, by number of the line.
        entries: by number, those whose words an account needs: gauges, what left the house or
            came as an origin, what changed on the way, samples.
        groups: which group each item belonged to.
    """

    start_us: int
    end_us: int
    opening: Mapping[int, Liquid]
    closing: Mapping[int, Liquid]
    touched: Sequence[Touched]
    flows: Mapping[int, Flow]
    gauged: Mapping[int, Liquid]
    entries: Mapping[int, Mapping[str, Any]]
    groups: Groups

    def line(self, number: int) -> Mapping[str, Any]:
        """A line as it stands in its entry; nothing where an account does not need it."""
        return line_of(self.entries.get(number // LINES, {}).get("body", {}), number)

    def told(self, line: int) -> Mapping[str, Any]:
        """Facts of a line."""
        facts: Mapping[str, Any] = self.line(line).get("facts", {})
        return facts


def rows_of(store: "Store", start_us: int, end_us: int, by: Sequence[str]) -> Rows:
    """What the account of a period by these groupings is made from."""
    touched = touched_between(store, start_us, end_us)
    every = flows_between(store, start_us, end_us)
    flows = {flow.line: flow for flow in every if flow.how not in (CARRY, UNEXPLAINED)}
    wanted = {row.line // LINES for row in touched if row.line not in flows or _has_words(flows[row.line])}
    return Rows(
        start_us,
        end_us,
        held_before(store, start_us),
        held_before(store, end_us),
        touched,
        flows,
        {flow.line: flow.received for flow in every if flow.is_gauged},
        entries_of(store, wanted),
        groups_of(store, by),
    )


def groups_of(store: "Store", by: Sequence[str]) -> Groups:
    """Which group every item belonged to at any time."""
    names = facts_for(by)
    facts: dict[int, list[Fact]] = {}
    for one in stated(store, names) if names else ():
        fact = Fact(ALWAYS_US if one.opens else one.happened_us, one.place * LINES, one.name, one.value)
        facts.setdefault(one.item, []).append(fact)
    if "spirit" in by:
        for fill in filled(store):
            if spirit := str(fill.told.get("spirit", "")):
                name = "spirit filled" if fill.was_empty else "spirit added"
                facts.setdefault(fill.item, []).append(Fact(fill.happened_us, fill.place, name, spirit))
    return Groups(by, {item: spirits_joined(sorted(known)) for item, known in facts.items()})


def is_drawn(flow: Flow) -> bool:
    """Whether it was drawn into a vial from something else."""
    return flow.target_item is not None and kind_at(flow.target_item) == "vial" and not _is_from_vial(flow)


def is_sampled(flow: Flow) -> bool:
    """Whether it left a vial and the bench: for outside, or back into a cask, batch or lot."""
    return _is_from_vial(flow) and (flow.target_item is None or kind_at(flow.target_item) in ("cask", "batch", "lot"))


def _is_from_vial(flow: Flow) -> bool:
    return flow.source_item is not None and kind_at(flow.source_item) == "vial"


def _has_words(flow: Flow) -> bool:
    is_from_outside = flow.source_item is None and flow.how == "origin"
    return (
        flow.target_item is None or is_from_outside or is_drawn(flow) or is_sampled(flow) or flow.left != flow.received
    )
