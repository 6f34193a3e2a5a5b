"""Questions of lineage put to a book: shares, origins, pours and ages, back and forward.

What a trace costs grows with the lineage it returns, not with the book.
"""

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from pourbook.book.compositions import composition_in, composition_of
from pourbook.book.contents import EVER, LINES, Holding
from pourbook.book.core import BookCore
from pourbook.book.flows import Flow, flows_out_of, states_of
from pourbook.book.items import ItemView, by_kind, view, views
from pourbook.book.journal import entries_of, line_of
from pourbook.book.lineages import casks_in, nothing_poured, parts_downstream, received, upstream, what_is_traced
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, of_key
from pourbook.lineage.ages import WoodAge, WoodTime, wood_ages, wood_times
from pourbook.lineage.bases import WEIGH, Basis
from pourbook.lineage.graph import CARRY, UNEXPLAINED, Ancestry, Inflow, Lineage
from pourbook.lineage.shares import origin_shares, shares_ever
from pourbook.liquid import Liquid
from pourbook.queries.traces.trace_answer import ItemShare, OriginShare, Trace, TracedPour
from pourbook.times import DAY_US

__all__ = ["shares", "trace_back", "trace_forward", "wood_of"]


# -- back ------------------------------------------------------------------------------


def trace_back(book: BookCore, text: str, by: Basis = "alcohol", at_us: int | None = None) -> Trace:
    """All that went into an item, with shares, now or at a moment.

    Raises:
        PourbookError: no such item, or nothing was ever poured into it.
    """
    store = book.store
    with store.snapshot():
        identifier = book.find(text)
        key = key_of(identifier)
        holding, as_of_us = what_is_traced(store, key, at_us, book.clock())
        found = upstream(store, holding.state, as_of_us)
        lineage = found.lineage
        answer = composition_in(store, lineage, holding.state, by)
        answer.items.pop(key, None)
        parts = {
            basis: answer.origins if basis == by else origin_shares(lineage, holding.state, WEIGH[basis])
            for basis in ("alcohol", "mass")
        }
        records = _Records(store, answer.lines.keys() | answer.origins.keys())
        origins = _origins(lineage, records, answer.origins, parts, holding)
        earned_us = _earned_us(origins)
        age = wood_ages(lineage, holding.state, in_wood=casks_in(lineage), earned_us=earned_us, at_us=as_of_us)
        counting = None
        if book.settings["age_rule"]:
            from pourbook.queries.traces.qualifying_time import qualifying

            counting = qualifying(store, lineage, holding.state, earned_us, as_of_us)
        seen = views(store, answer.items, at_us)
        items = tuple(ItemShare(seen[item], answer.items[item], None) for item in sorted(answer.items, key=by_kind))
        pours = _pours(lineage, found.left, records, answer.lines)
        return Trace(view(store, identifier, at_us), "back", by, holding.liquid, origins, items, pours, age, counting)


def shares(book: BookCore, text: str, by: Basis = "alcohol", at_us: int | None = None) -> Ancestry:
    """The shares of `trace_back` alone, much faster: what was worked out once is kept in the book.

    Items are given by their keys (`pourbook.codes.identifiers.of_key`), pours by the numbers of their lines.
    """
    store = book.store
    with store.snapshot():
        key = key_of(book.find(text))
        holding, as_of_us = what_is_traced(store, key, at_us, book.clock())
        answer = composition_of(store, holding.state, by, as_of_us)
        answer.items.pop(key, None)
        return answer


def wood_of(trace: Trace, lineage: Lineage, start: int, at_us: int) -> Mapping[int, WoodTime | None]:
    """Line of every origin of what was traced back to its time in wood, in a state and at a moment; None is unknown."""
    earned_us = _earned_us(trace.origins)
    return wood_times(lineage, start, in_wood=casks_in(lineage), earned_us=earned_us, at_us=at_us)


def _origins(
    lineage: Lineage,
    records: "_Records",
    shares: dict[int, float],
    parts: dict[str, dict[int, float]],
    holding: Holding,
) -> tuple[OriginShare, ...]:
    found = []
    for state in lineage.order:
        for flow in lineage.inflows[state]:
            if flow.source or flow.line not in shares:
                continue
            found.append(
                OriginShare(
                    flow.line,
                    flow.how,
                    shares[flow.line],
                    parts["alcohol"][flow.line] * holding.ethanol_mg,
                    parts["mass"][flow.line] * holding.mass_mg,
                    flow.happened_us,
                    of_key(lineage.item_of[state]),
                    records.facts(flow.line),
                    "pending" in records.line(flow.line),
                )
            )
    return tuple(sorted(found, key=lambda origin: (origin.happened_us, origin.line)))


def _earned_us(origins: Iterable[OriginShare]) -> dict[int, int | None]:
    """Line of an origin to the wood time that it brought with it; None when nobody knows."""
    days = {origin.line: origin.facts.get("wood_days") for origin in origins}
    return {line: None if earned is None else int(earned) * DAY_US for line, earned in days.items()}


def _pours(
    lineage: Lineage, left: dict[int, Liquid], records: "_Records", parts: dict[int, float]
) -> tuple[TracedPour, ...]:
    found = []
    for state in lineage.order:
        target = of_key(lineage.item_of[state])
        for flow in lineage.inflows[state]:
            if flow.how in (CARRY, UNEXPLAINED) or flow.line not in parts:
                continue
            source_item = lineage.item_of.get(flow.source)
            source = flow.how if source_item is None else of_key(source_item)
            received = Liquid(*flow[4:])
            out = left.get(flow.line, received)
            found.append(records.pour(flow, source, target, out, received, parts[flow.line]))
    return tuple(sorted(found, key=lambda pour: (pour.happened_us, pour.line)))


# -- forward ---------------------------------------------------------------------------


def trace_forward(book: BookCore, text: str, by: Basis = "alcohol", at_us: int | None = None) -> Trace:
    """All that the liquid of an item went into, with shares, now or at a moment.

    Raises:
        PourbookError: no such item, or nothing was ever poured into it.
    """
    store = book.store
    with store.snapshot():
        identifier = book.find(text)
        key = key_of(identifier)
        until = EVER if at_us is None else at_us
        own = frozenset(states_of(store, (key,)))
        if not own:
            raise nothing_poured(store, identifier, at_us)
        parts = parts_downstream(store, key, by, until)
        flows = flows_out_of(store, parts, until)
        others = sorted({flow.target_item for flow in flows if flow.target_item} - {key}, key=by_kind)
        seen = views(store, others, at_us)
        poured = [flow for flow in flows if flow.how != CARRY]  # a carry bears the line of the pour that made it
        into = ((flow.target_item or 0, parts[flow.source], flow.received) for flow in poured if _leads_on(flow, own))
        ever = shares_ever(into, WEIGH[by], received(store, others, (by,), until)[by])
        items = tuple(ItemShare(seen[item], ever.get(item, 0.0), _part_now(seen[item], parts)) for item in others)
        records = _Records(store, {flow.line for flow in poured})
        pours = []
        for flow in poured:
            source = of_key(flow.source_item or 0)
            target = of_key(flow.target_item) if flow.target_item else flow.how
            pours.append(records.pour(flow, source, target, flow.left, flow.received, parts[flow.source]))
        whole = view(store, identifier, at_us)
        return Trace(
            whole,
            "forward",
            by,
            whole.holding.liquid,
            (),
            items,
            tuple(sorted(pours, key=lambda pour: (pour.happened_us, pour.line))),
            WoodAge(None, None),
        )


def _leads_on(flow: Flow, own: Collection[int]) -> bool:
    """Whether it went into another item, and not out of the house or back to where the trace begins."""
    return flow.target != 0 and flow.target not in own


def _part_now(other: ItemView, parts: Mapping[int, float]) -> float | None:
    return parts.get(other.holding.state, 0.0) if other.holding.mass_mg else None


# -- what stands in the journal about a line --------------------------------------------


class _Records:
    """The entries behind the lines of a lineage, each read once."""

    def __init__(self, store: Store, lines: Iterable[int]) -> None:
        self._entry = entries_of(store, (line // LINES for line in lines))

    def line(self, line: int) -> Mapping[str, Any]:
        return line_of(self._entry[line // LINES]["body"], line)

    def facts(self, line: int) -> dict[str, Any]:
        return dict(self.line(line).get("facts", {}))

    def pour(
        self, flow: Flow | Inflow, source: str, target: str, left: Liquid, received: Liquid, part: float
    ) -> TracedPour:
        entry, line = self._entry[flow.line // LINES], self.line(flow.line)
        typed = line.get("typed", {})
        return TracedPour(
            flow.line,
            source,
            target,
            left,
            received,
            flow.happened_us,
            entry["who"],
            entry["body"].get("verb", entry["kind"]),
            ", ".join(typed[name] for name in ("amount", "strength", "temperature") if name in typed),
            part,
            self.facts(flow.line),
            "pending" in line,
        )
