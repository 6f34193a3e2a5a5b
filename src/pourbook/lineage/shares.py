"""Shares: which part of an item was once in another.

Backward, a trace starts with 1 at a state, visits states in descending order of sealing and hands
each share to the inflows by weight (pure alcohol, mass or volume). Forward, one ascending pass
carries the part of each state that had been in the item.

A drop that passed twice through an item counts once: where items form a knot (a blend put back
into its own casks), an ascending pass finds which part of a state had left the item before, and
only the rest is counted when it leaves again.

>>> from pourbook.lineage.graph import Inflow, Lineage
>>> lineage = Lineage((10, 20), {10: 1, 20: 2}, {
...     10: (Inflow(0, 1, "origin", 0, 1000, 400, 0),),
...     20: (Inflow(10, 2, "", 5, 100, 40, 0), Inflow(0, 3, "water", 6, 100, 0, 0)),
... })
>>> trace_back(lineage, 20, by_mass).origins
{3: 0.5, 1: 0.5}
>>> trace_back(lineage, 20, by_alcohol).items
{1: 1.0}
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from operator import itemgetter
from typing import NamedTuple

from pourbook.lineage.graph import CARRY, Ancestry, Inflow, Lineage, Seeds, Weigh, cyclic_items

__all__ = [
    "Forward",
    "by_alcohol",
    "by_mass",
    "composition",
    "edges_of",
    "origin_shares",
    "parts_forward",
    "shares_ever",
    "trace_back",
    "trace_forward",
    "weights_of",
]


def by_alcohol(mass_mg: int, ethanol_mg: int, extract_mg: int) -> float:  # noqa: ARG001
    """Weigh by pure alcohol."""
    return ethanol_mg


def by_mass(mass_mg: int, ethanol_mg: int, extract_mg: int) -> float:  # noqa: ARG001
    """Weigh by total mass."""
    return mass_mg


class Forward(NamedTuple):
    """Answer of a trace forward.

    Attributes:
        items: every item poured into on the way, with the part of all ever poured into it that is of what is
            traced (nothing counts into a state where the trace begins).
        now: the same of what each item's latest state holds.
        states: state to the part of it that is of what is traced.
    """

    items: dict[int, float]
    now: dict[int, float]
    states: dict[int, float]


def weights_of(inflows: Sequence[Inflow], weigh: Weigh) -> tuple[list[float], float]:
    """The weight of each inflow and their sum; by mass where the basis finds nothing at all."""
    weights = [weigh(flow.mass_mg, flow.ethanol_mg, flow.extract_mg) for flow in inflows]
    total = sum(weights)
    if total == 0:
        weights = [float(flow.mass_mg) for flow in inflows]
        total = sum(weights)
    return weights, total


def trace_back(lineage: Lineage, start: int, weigh: Weigh) -> Ancestry:
    """All that went into the state `start`, with shares, but its own item; `lineage` holds every state upstream."""
    answer = composition(lineage, start, weigh)
    answer.items.pop(lineage.item_of[start], None)
    return answer


def composition(lineage: Lineage, start: int, weigh: Weigh) -> Ancestry:
    """What the state `start` is made of. Arguments as `trace_back`; the caller may change the answer."""
    part: dict[int, float] = {start: 1.0}
    items, origins, lines = answer = Ancestry({}, {}, {})
    returned = _returned(lineage, weigh)
    for state in reversed(lineage.order):
        share = part.get(state)
        if share is None:
            continue
        item = lineage.item_of[state]
        inflows = lineage.inflows[state]
        weights, total = weights_of(inflows, weigh)
        for flow, weight in zip(inflows, weights, strict=True):
            brought = share * weight / total if total else 0.0
            if flow.how == CARRY:
                part[flow.source] = part.get(flow.source, 0.0) + brought
                continue
            lines[flow.line] = lines.get(flow.line, 0.0) + brought
            if not flow.source:
                origins[flow.line] = origins.get(flow.line, 0.0) + brought
                continue
            part[flow.source] = part.get(flow.source, 0.0) + brought
            source_item = lineage.item_of[flow.source]
            if source_item != item:
                first_time = brought * (1.0 - returned.get(flow.source, 0.0))
                items[source_item] = items.get(source_item, 0.0) + first_time
    return answer


def origin_shares(lineage: Lineage, start: int, weigh: Weigh) -> dict[int, float]:
    """`Ancestry.origins` alone: line of every pour from outside, with its share."""
    part: dict[int, float] = {start: 1.0}
    origins: dict[int, float] = {}
    for state in reversed(lineage.order):
        share = part.get(state)
        if share is None:
            continue
        inflows = lineage.inflows[state]
        weights, total = weights_of(inflows, weigh)
        for flow, weight in zip(inflows, weights, strict=True):
            brought = share * weight / total if total else 0.0
            reached, key = (part, flow.source) if flow.source else (origins, flow.line)
            reached[key] = reached.get(key, 0.0) + brought
    return origins


def _returned(lineage: Lineage, weigh: Weigh) -> dict[int, float]:
    """Which part of a state had left its own item before and come back, where that is not 0.

    An ascending pass with a tracer for each item that liquid came back to, up to its last return.
    """
    last_return = _last_returns(lineage)
    had_left: dict[int, dict[int, float]] = {}
    returned: dict[int, float] = {}
    if not last_return:
        return returned
    for index, state in enumerate(lineage.order):
        item = lineage.item_of[state]
        inflows = lineage.inflows[state]
        tracers: dict[int, float] = {}
        weights, total = weights_of(inflows, weigh)
        for flow, weight in zip(inflows, weights, strict=True):
            if not weight or not flow.source:
                continue
            fraction = weight / total
            source_item = lineage.item_of[flow.source]
            leaves = source_item != item
            for tracer, left in had_left.get(flow.source, _NONE).items():
                if last_return[tracer] >= index and not (leaves and tracer == source_item):
                    tracers[tracer] = tracers.get(tracer, 0.0) + fraction * left
            if leaves and last_return.get(source_item, -1) >= index:
                tracers[source_item] = tracers.get(source_item, 0.0) + fraction
        if tracers:
            had_left[state] = tracers
            if item in tracers:
                returned[state] = tracers[item]
    return returned


_NONE: dict[int, float] = {}


def _last_returns(lineage: Lineage) -> dict[int, int]:
    """Items that liquid left and came back to, each with the place in the order of its last such state.

    A set of bits per state holds the items that liquid has left: cheap even in a knot of thousands.
    """
    bit = {item: 1 << number for number, item in enumerate(cyclic_items(lineage))}
    if not bit:
        return {}
    left: dict[int, int] = {}
    found: dict[int, int] = {}
    for index, state in enumerate(lineage.order):
        item = lineage.item_of[state]
        gone = 0
        for flow in lineage.inflows[state]:
            if flow.source:
                gone |= left.get(flow.source, 0)
                source_item = lineage.item_of[flow.source]
                if source_item != item:
                    gone |= bit.get(source_item, 0)
        left[state] = gone
        if gone & bit.get(item, 0):
            found[item] = index
    return found


Edge = tuple[int, int, float, float]
"""A state, one that it was filled from, the weight of what that gave, and of all that was poured into it."""


def parts_forward(edges: Iterable[Edge], whole: Collection[int]) -> dict[int, float]:
    """State to the part of it that is of what is traced; `whole` are those that are wholly so.

    Edges come in the order in which the states that they lead to were sealed, those of a state together. One that
    comes from where nothing reached may be left out, as long as its weight is in the total.

    >>> parts_forward([(20, 10, 3.0, 4.0), (30, 20, 1.0, 3.0), (30, 10, 1.0, 3.0)], {10})
    {10: 1.0, 20: 0.75, 30: 0.5833333333333334}
    """
    parts = dict.fromkeys(whole, 1.0)
    for state, inflows in groupby(edges, itemgetter(0)):
        if state in whole:
            continue
        part = whole_weight = 0.0
        for _, source, weight, total in inflows:
            part += weight * parts.get(source, 0.0)
            whole_weight = total
        parts[state] = part / whole_weight if whole_weight else 0.0
    return parts


_TRACED = -1
"""Stands, in edges, for what is wholly of what is traced, whatever state it came from."""


def edges_of(lineage: Lineage, weigh: Weigh, lines: Collection[int] = ()) -> Iterator[Edge]:
    """Every inflow of a lineage as an edge; those of `lines` come from `_TRACED`."""
    for state in lineage.order:
        inflows = lineage.inflows[state]
        weights, total = weights_of(inflows, weigh)
        for flow, weight in zip(inflows, weights, strict=True):
            yield state, _TRACED if flow.line in lines and flow.how != CARRY else flow.source, weight, total


def shares_ever(
    poured: Iterable[tuple[int, float, tuple[int, int, int]]],
    weigh: Weigh,
    received: Mapping[int, tuple[float, float]],
) -> dict[int, float]:
    """Item to the part of all ever poured into it that is of what is traced.

    `poured` gives an item, the part of a pour into it that is so, and what it brought (mass, ethanol, extract in mg);
    `received` the weight, by this basis and by mass, of all that was ever poured into each, reached or not.
    """
    brought: dict[int, float] = {}
    brought_mass: dict[int, float] = {}
    for item, part, liquid in poured:
        brought[item] = brought.get(item, 0.0) + part * weigh(*liquid)
        brought_mass[item] = brought_mass.get(item, 0.0) + part * liquid[0]
    return {
        item: weight / received[item][0] if received[item][0] else brought_mass[item] / received[item][1]
        for item, weight in brought.items()
    }


def trace_forward(
    lineage: Lineage, seeds: Seeds, weigh: Weigh, latest: Mapping[int, int], received: Mapping[int, tuple[float, float]]
) -> Forward:
    """All that liquid went into, with shares; `lineage` holds the states of `seeds` and every one downstream.

    `latest` gives the latest state of items that hold something now; `received` the weight, by this basis and by
    mass, of all that was ever poured into an item, reached by the trace or not.
    """
    parts = parts_forward(edges_of(lineage, weigh, seeds.lines), {_TRACED, *seeds.states})
    states = {state: parts.get(state, 0.0) for state in lineage.order}
    poured = (
        (lineage.item_of[state], 1.0 if flow.line in seeds.lines else states[flow.source], flow[4:])
        for state in lineage.order
        if state not in seeds.states
        for flow in lineage.inflows[state]
        if flow.how != CARRY and (flow.line in seeds.lines or flow.source in states)
    )
    items = shares_ever(poured, weigh, received)
    now = {other: states.get(state, 0.0) for other, state in latest.items()}
    return Forward(items, now, states)
