"""Every movement of a period under its group, side and heading: rows in, sums out. Pure.

A pour between two groups leaves one and comes into the other as what arrived; what was lost on the
way is a loss of the group it left. What a gauge found, more or less, is a gain or a loss of each
constituent by itself: a strength read lower of the same volume is a gain of mass and a loss of alcohol.

>>> from pourbook.book.contents import Holding
>>> from pourbook.queries.accounts.grouping import Groups
>>> flow = Flow(4096, 0, 1, None, 8, "origin", 0, Liquid(1000, 400), Liquid(1000, 400))
>>> touched = [Touched(8, (0, 4096), 4096, Holding(1000, 400, 0, 1, 0))]
>>> rows = Rows(0, 9, {}, {8: Liquid(1000, 400)}, touched, {4096: flow}, {}, {}, Groups((), {}))
>>> [(group, line, sum_.quantity.mass_mg) for (group, line), sum_ in postings(rows).items()]
[((), ('in', 'received'), 1000)]
"""

from collections.abc import Iterator, Mapping
from heapq import merge
from itertools import groupby
from typing import NamedTuple

from pourbook.book.flows import Flow, Touched, beyond_flows
from pourbook.codes.identifiers import hyphened, of_key
from pourbook.errors import Damaged
from pourbook.lineage.graph import RETURN
from pourbook.liquid import EMPTY, Liquid
from pourbook.queries.accounts.account_rows import Rows
from pourbook.queries.accounts.grouping import Group, Key, kind_at
from pourbook.queries.accounts.headings import Side, gauge_heading, loss_heading, out_heading, transit_heading
from pourbook.queries.accounts.quantity import NONE, Quantity, quantity

__all__ = ["Posting", "Sum", "held_by_group", "postings"]

_FROM_OUTSIDE = {"origin": "received", RETURN: "returned"}
"""Words for where liquid comes from, under the heading an account has for them; the rest stand as they are."""


class Posting(NamedTuple):
    """A movement under its group, side of the account and heading; what was moved is above zero."""

    group: Group
    side: Side
    heading: str
    moved: Quantity


class Sum(NamedTuple):
    """The quantity that a number of postings add up to."""

    quantity: Quantity
    postings: int


def held_by_group(rows: Rows, held: Mapping[int, Liquid], moment_us: int) -> dict[Group, Sum]:
    """What the items of each group held together, each with its own volume."""
    found: dict[Group, Sum] = {}
    for item, liquid in held.items():
        group = rows.groups.at(item, (moment_us, 0))
        before = found.get(group, Sum(NONE, 0))
        found[group] = Sum(before.quantity + quantity(liquid), before.postings + 1)
    return found


def postings(rows: Rows) -> dict[tuple[Group, tuple[Side, str]], Sum]:
    """The sums of all movements of a period.

    Raises:
        Damaged: ledger and flows do not tell the same story.
    """
    found: dict[tuple[Group, tuple[Side, str]], Sum] = {}
    for group, side, heading, moved in (*_by_item(rows), *_by_flow(rows)):
        key = group, (side, heading)
        before = found.get(key, Sum(NONE, 0))
        # A strength regauge also moves water and rounds a volume: neither counts as a movement.
        counts = moved.ethanol_mg > 0 or moved.volume_ul >= 1000
        found[key] = Sum(before.quantity + moved, before.postings + counts)
    return found


# -- what an item tells: gauges, changes of its group ----------------------------------------


def _by_item(rows: Rows) -> Iterator[Posting]:
    start, end = (rows.start_us, 0), (rows.end_us, 0)
    changed = beyond_flows(rows.touched, rows.flows.values(), rows.opening)
    lines = {item: list(of_item) for item, of_item in groupby(changed, key=lambda one: one[0].item)}
    for item in {**lines, **dict.fromkeys(rows.groups.changing(start, end))}:
        held, group = rows.opening.get(item, EMPTY), rows.groups.at(item, start)
        changes = ((key, into, None) for key, into in rows.groups.changes(item, start, end))
        touched = ((one[0].key, group, one) for one in lines.get(item, ()))
        for _, into, one in merge(changes, touched, key=lambda each: each[0]):
            if one is None:
                if held.mass_mg:  # it changed hands, place or status with all that it held
                    yield from _transferred(group, into, held)
                group = into
            else:
                yield from _touched(rows, group, *one)
                held = one[0].liquid


def _transferred(group: Group, into: Group, liquid: Liquid) -> Iterator[Posting]:
    moved = quantity(liquid)
    yield Posting(group, "out", "transfer out", moved)
    yield Posting(into, "in", "transfer in", moved)


def _touched(rows: Rows, group: Group, row: Touched, held: Liquid, more: Liquid) -> Iterator[Posting]:
    after = held + more
    if after != _as_gauged(rows, held, row):
        raise Damaged(
            f"what {hyphened(of_key(row.item))} holds does not follow from what was poured and gauged",
            "find out more: pourbook verify",
        )
    found = quantity(after) - quantity(held)
    if any(more) and any(found.gain):
        yield Posting(group, "gain", "regauge gain", found.gain)
    if any(more) and any(found.loss):
        told = {} if row.line in rows.flows else rows.told(row.line)
        yield Posting(group, "loss", gauge_heading(told, kind_at(row.item)), found.loss)


def _as_gauged(rows: Rows, held: Liquid, row: Touched) -> Liquid:
    """What a gauge found, or a pour implied; what was held where none was gauged.

    The target of a pour is not gauged by it, and of an item found empty no state remains to say so.
    """
    flow = rows.flows.get(row.line)
    if flow is not None:
        return rows.gauged.get(row.line, held) if flow.source_item == row.item else held
    return rows.gauged.get(row.line, EMPTY if "item" in rows.line(row.line) else held)


# -- what a flow tells: in, out, lost, from one group to another -----------------------------


def _by_flow(rows: Rows) -> Iterator[Posting]:
    keys: dict[int, Key] = {row.line: row.key for row in rows.touched}
    for flow in rows.flows.values():
        key = keys.get(flow.line)
        if key is None:
            raise Damaged("a flow has no line of the ledger", "find out more: pourbook verify")
        source = None if flow.source_item is None else rows.groups.at(flow.source_item, key)
        target = None if flow.target_item is None else rows.groups.at(flow.target_item, key)
        yield from _flowed(rows, flow, source, target)


def _flowed(rows: Rows, flow: Flow, source: Group | None, target: Group | None) -> Iterator[Posting]:
    if source is None and target is not None:
        yield Posting(target, "in", _FROM_OUTSIDE.get(flow.how, flow.how), quantity(flow.received))
    elif source is not None and target is None:
        told = rows.told(flow.line)
        if flow.how == "loss":
            yield Posting(source, "loss", loss_heading(told), quantity(flow.left))
        else:
            yield Posting(source, "out", out_heading(told), quantity(flow.left))
    elif source is not None and target is not None:
        if flow.left != flow.received:
            yield from _in_transit(rows, flow, source)
        if source != target:
            yield from _transferred(source, target, flow.received)


def _in_transit(rows: Rows, flow: Flow, source: Group) -> Iterator[Posting]:
    """The sender answers for what did not arrive, and gains what came in excess."""
    found = quantity(flow.received) - quantity(flow.left)
    if any(found.gain):
        yield Posting(source, "gain", "transfer gain", found.gain)
    if any(found.loss):
        yield Posting(source, "loss", transit_heading(rows.told(flow.line)), found.loss)
