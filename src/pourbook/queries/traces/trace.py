"""Questions of lineage put to a book: shares, origins, pours and ages, back and forward.

What a trace costs grows with the lineage it returns, not with the book.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from pourbook.book.compositions import composition_of
from pourbook.book.core import BookCore
from pourbook.book.holding import LINES, Holding
from pourbook.book.items import by_kind, chunks, view, views
from pourbook.book.journal import parsed
from pourbook.book.lineages import EVER, downstream, nothing_poured, outflows, upstream, what_is_traced
from pourbook.book.logged import line_of
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, kind_of, of_key
from pourbook.lineage import shares as share_arithmetic
from pourbook.lineage.ages import WoodAge, wood_ages
from pourbook.lineage.bases import WEIGH, Basis
from pourbook.lineage.graph import CARRY, UNEXPLAINED, Ancestry, Inflow, Lineage, Seeds
from pourbook.lineage.shares import origin_shares
from pourbook.liquid import Liquid
from pourbook.queries.traces.trace_answer import ItemShare, OriginShare, Trace, TracedPour
from pourbook.times import DAY_US

__all__ = ["back", "forward", "shares", "shares_back", "trace_back", "trace_forward"]


def trace_back(book: BookCore, text: str, by: Basis = "alcohol", at_us: int | None = None) -> Trace:
    """All that went into an item, with shares.

    Args:
        book: where it is.
        text: identifier or outside name.
        by: the basis of shares.
        at_us: as of that moment; None is now.

    Raises:
        PourbookError: there is no such item, or nothing was ever poured into it.
    """
    with book.store.snapshot():
        return back(book.store, book.find(text), by, at_us, book.clock())


def trace_forward(book: BookCore, text: str, by: Basis = "alcohol", at_us: int | None = None) -> Trace:
    """All that the liquid of an item went into, with shares. Arguments as `trace_back`."""
    with book.store.snapshot():
        return forward(book.store, book.find(text), by, at_us)


def shares(book: BookCore, text: str, by: Basis = "alcohol", at_us: int | None = None) -> Ancestry:
    """The shares of `trace_back` alone, much faster: what was worked out once is kept in the book.

    Arguments as `trace_back`. Items are given by their keys (`pourbook.codes.identifiers.of_key`), pours
    by the numbers of their lines.
    """
    with book.store.snapshot():
        return shares_back(book.store, key_of(book.find(text)), by, at_us, book.clock())


# -- back ------------------------------------------------------------------------------


def back(store: Store, identifier: str, by: Basis, at_us: int | None, now_us: int) -> Trace:
    """All that went into an item.

    Raises:
        Refused: nothing was ever poured into it.
    """
    key = key_of(identifier)
    holding, as_of_us = what_is_traced(store, key, at_us, now_us)
    found = upstream(store, holding.state, as_of_us)
    lineage = found.lineage
    answer = share_arithmetic.trace_back(lineage, holding.state, WEIGH[by])
    parts = {
        basis: answer.origins if basis == by else origin_shares(lineage, holding.state, WEIGH[basis])
        for basis in ("alcohol", "mass")
    }
    records = _Records(store, answer.lines.keys() | answer.origins.keys())
    origins = _origins(lineage, records, answer.origins, parts, holding)
    age = wood_ages(
        lineage,
        holding.state,
        in_wood={item for item in set(lineage.item_of.values()) if kind_of(of_key(item)) == "cask"},
        earned_us={origin.line: _earned_us(origin) for origin in origins},
        at_us=as_of_us,
    )
    seen = views(store, answer.items, at_us)
    items = tuple(ItemShare(seen[item], answer.items[item], None) for item in sorted(answer.items, key=by_kind))
    pours = _pours(lineage, found.left, records, answer.lines)
    return Trace(view(store, identifier, at_us), "back", by, holding.liquid, origins, items, pours, age)


def shares_back(store: Store, key: int, by: Basis, at_us: int | None, now_us: int) -> Ancestry:
    """The shares of `back` alone, by item key and line, from what was worked out before.

    Raises:
        Refused: nothing was ever poured into it.
    """
    holding, as_of_us = what_is_traced(store, key, at_us, now_us)
    answer = composition_of(store, holding.state, by, as_of_us)
    answer.items.pop(key, None)
    return answer


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


def _earned_us(origin: OriginShare) -> int | None:
    """Wood time that an origin brought with it; None when nobody knows."""
    days = origin.facts.get("wood_days")
    return None if days is None else int(days) * DAY_US


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


def forward(store: Store, identifier: str, by: Basis, at_us: int | None) -> Trace:
    """All that the liquid of an item went into.

    Raises:
        Refused: nothing was ever poured into it.
    """
    key = key_of(identifier)
    until = EVER if at_us is None else at_us
    seeds = Seeds(frozenset(state for (state,) in store.query("SELECT id FROM state WHERE item = ?", (key,))))
    found = downstream(store, seeds.states, until)
    lineage = found.lineage
    if not lineage.order:
        raise nothing_poured(store, identifier, at_us)
    others = sorted(set(lineage.item_of.values()) - {key}, key=by_kind)
    seen = views(store, others, at_us)
    answer = share_arithmetic.trace_forward(
        lineage,
        seeds,
        WEIGH[by],
        {item: other.holding.state for item, other in seen.items() if other.holding.mass_mg},
        _received(store, others, by, until),
    )
    items = tuple(ItemShare(seen[item], answer.items.get(item, 0.0), answer.now.get(item)) for item in others)
    reached = {
        flow.line: answer.states[flow.source]
        for state in lineage.order
        for flow in lineage.inflows[state]
        if flow.source in answer.states and flow.how != CARRY  # a carry bears the line of the pour that made it
    }
    outside = outflows(store, lineage.order, until)
    records = _Records(store, reached.keys() | {flow.line for flow in outside})
    pours = _pours(lineage, found.left, records, reached) + tuple(
        _left_the_house(flow, lineage, records, answer.states[flow.source]) for flow in outside
    )
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


def _left_the_house(flow: Inflow, lineage: Lineage, records: "_Records", part: float) -> TracedPour:
    liquid = Liquid(*flow[4:])
    return records.pour(flow, of_key(lineage.item_of[flow.source]), flow.how, liquid, liquid, part)


def _received(store: Store, items: list[int], by: Basis, until: int) -> dict[int, tuple[float, float]]:
    """Weight, by the basis and by mass, of all that was ever poured into each item."""
    weigh = WEIGH[by]
    totals: dict[int, tuple[float, float]] = {}
    for marks, chunk in chunks(items):
        for item, mass, ethanol, extract in store.stream(
            "SELECT state.item, flow.mass, flow.ethanol, flow.extract FROM state JOIN flow"
            f" ON flow.target = state.id WHERE flow.carry = 0 AND flow.happened <= ? AND state.item IN ({marks})",
            (until, *chunk),
        ):
            weight, whole = totals.get(item, (0.0, 0.0))
            totals[item] = (weight + weigh(mass, ethanol, extract), whole + mass)
    return totals


# -- what stands in the journal about a line --------------------------------------------


class _Records:
    """The entries behind the lines of a lineage, each read once."""

    def __init__(self, store: Store, lines: Iterable[int]) -> None:
        self._entry: dict[int, dict[str, Any]] = {}
        for marks, chunk in chunks(sorted({line // LINES for line in lines})):
            for number, bytes_ in store.query(
                f"SELECT number, bytes FROM entry WHERE number IN ({marks})",
                chunk,
            ):
                self._entry[number] = parsed(bytes_)

    def line(self, line: int) -> Mapping[str, Any]:
        """The line as it stands in its entry."""
        return line_of(self._entry[line // LINES]["body"], line)

    def facts(self, line: int) -> dict[str, Any]:
        """What else was recorded of the line."""
        return dict(self.line(line).get("facts", {}))

    def pour(self, flow: Inflow, source: str, target: str, left: Liquid, received: Liquid, part: float) -> TracedPour:
        """The pour as an answer names it."""
        entry, line = self._entry[flow.line // LINES], self.line(flow.line)
        return TracedPour(
            flow.line,
            source,
            target,
            left,
            received,
            flow.happened_us,
            entry["who"],
            entry["body"].get("verb", entry["kind"]),
            ", ".join(line["typed"][name] for name in ("amount", "strength", "temperature") if name in line["typed"])
            if "typed" in line
            else "",
            part,
            self.facts(flow.line),
            "pending" in line,
        )
