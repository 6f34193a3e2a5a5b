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

from collections.abc import Iterable, Iterator, Mapping
from heapq import merge
from itertools import groupby
from typing import NamedTuple

from pourbook.book.flows import Flow, Touched, beyond_flows
from pourbook.codes.identifiers import hyphened, of_key
from pourbook.errors import Damaged
from pourbook.liquid import EMPTY, Liquid
from pourbook.queries.accounts.account_rows import Rows
from pourbook.queries.accounts.grouping import Group, Key
from pourbook.queries.accounts.headings import (
    Side,
    gain_heading,
    gauge_heading,
    held_heading,
    in_heading,
    loss_heading,
    out_heading,
    transfer_heading,
    transit_heading,
)
from pourbook.queries.accounts.quantity import NONE, Quantity, quantity

__all__ = [
    "Posting", "Sum", "adjustment_postings", "every_posting", "held_by_group", "held_postings", "postings",
]  # fmt: skip

"""Words for where liquid comes from, under the heading an account has for them; the rest stand as they are."""


class Posting(NamedTuple):
    """A movement, or what an item holds, under its group, side of the account and heading.

    Attributes:
        moved: how much; above zero on every side but adjustment.
        happened_us: when; of what is held, the moment it is held at.
        line: number of the line behind it; 0 where nothing moved.
        item: its key: what it left, came into, or is held in.
        by_fact: whether a fact moved it from group to group; `line` is then where that fact stands in order.
    """

    group: Group
    side: Side
    heading: str
    moved: Quantity
    happened_us: int
    line: int
    item: int
    by_fact: bool = False


class Sum(NamedTuple):
    """The quantity that a number of postings add up to."""

    quantity: Quantity
    postings: int


def held_by_group(rows: Rows, held: Mapping[int, Liquid], moment_us: int) -> dict[tuple[Group, str], Sum]:
    """What the items of each group held together under each heading, each with its own volume."""
    found: dict[tuple[Group, str], Sum] = {}
    for item, liquid in held.items():
        key = rows.groups.at(item, (moment_us, 0)), held_heading(item)
        before = found.get(key, Sum(NONE, 0))
        found[key] = Sum(before.quantity + quantity(liquid), before.postings + 1)
    return found


def postings(rows: Rows) -> dict[tuple[Group, tuple[Side, str]], Sum]:
    """The sums of all movements of a period.

    Raises:
        Damaged: ledger and flows do not tell the same story.
    """
    found: dict[tuple[Group, tuple[Side, str]], Sum] = {}
    for group, side, heading, moved, *_ in every_posting(rows):
        key = group, (side, heading)
        before = found.get(key, Sum(NONE, 0))
        # A strength regauge also moves water and rounds a volume: neither counts as a movement.
        counts = moved.ethanol_mg > 0 or moved.volume_ul >= 1000
        found[key] = Sum(before.quantity + moved, before.postings + counts)
    return found


def every_posting(rows: Rows) -> Iterator[Posting]:
    """Every movement of a period by itself; raises as `postings`."""
    yield from _by_item(rows)
    yield from _by_flow(rows)


def held_postings(rows: Rows, held: Mapping[int, Liquid], side: Side, lines: Mapping[int, int]) -> Iterator[Posting]:
    """What each item held at the beginning of a period, or at its end; `lines` are those that touched it last."""
    moment_us = rows.end_us if side == "closing" else rows.start_us
    for item, liquid in held.items():
        group = rows.groups.at(item, (moment_us, 0))
        yield Posting(group, side, held_heading(item), quantity(liquid), moment_us, lines.get(item, 0), item)


def adjustment_postings(before: Iterable[Posting], opening: Iterable[Posting]) -> Iterator[Posting]:
    """Item by item and group by group, what is held more (or less, below zero) than was known when it was closed."""
    found: dict[tuple[Group, int], Posting] = {}
    for one in opening:
        found[one.group, one.item] = one._replace(side="adjustment", heading="")
    for one in before:
        now = found.get((one.group, one.item), one._replace(side="adjustment", heading="", moved=NONE))
        found[one.group, one.item] = now._replace(moved=now.moved - one.moved)
    yield from (one for one in found.values() if any(one.moved))


# -- what an item tells: gauges, changes of its group ----------------------------------------


def _by_item(rows: Rows) -> Iterator[Posting]:
    start, end = (rows.start_us, 0), (rows.end_us, 0)
    changed = beyond_flows(rows.touched, rows.flows.values(), rows.opening)
    lines = {item: list(of_item) for item, of_item in groupby(changed, key=lambda one: one[0].item)}
    for item in {**lines, **dict.fromkeys(rows.groups.changing(start, end))}:
        held, group = rows.opening.get(item, EMPTY), rows.groups.at(item, start)
        changes = ((key, into, None) for key, into in rows.groups.changes(item, start, end))
        touched = ((one[0].key, group, one) for one in lines.get(item, ()))
        for (moment_us, place), into, one in merge(changes, touched, key=lambda each: each[0]):
            if one is None:
                if held.mass_mg:  # it changed hands, place or status with all that it held
                    yield from _transferred(group, into, quantity(held), moment_us, place, item, item, by_fact=True)
                group = into
            else:
                yield from _touched(rows, group, *one)
                held = one[0].liquid


def _transferred(
    group: Group, into: Group, moved: Quantity, happened_us: int, line: int, source: int, target: int, *,
    by_fact: bool = False,
) -> Iterator[Posting]:  # fmt: skip
    yield Posting(group, "out", "transfer out", moved, happened_us, line, source, by_fact)
    yield Posting(into, "in", "transfer in", moved, happened_us, line, target, by_fact)


def _touched(rows: Rows, group: Group, row: Touched, held: Liquid, more: Liquid) -> Iterator[Posting]:
    after = held + more
    if after != _as_gauged(rows, held, row):
        raise Damaged(
            f"what {hyphened(of_key(row.item))} holds does not follow from what was poured and gauged",
            "find out more: pourbook verify",
        )
    found = quantity(after) - quantity(held)
    where = row.key[0], row.line, row.item
    if any(more) and any(found.gain):
        yield Posting(group, "gain", gain_heading(row.item), found.gain, *where)
    if any(more) and any(found.loss):
        told = {} if row.line in rows.flows else rows.told(row.line)
        yield Posting(group, "loss", gauge_heading(told, row.item), found.loss, *where)


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
    where = flow.happened_us, flow.line
    left, came = flow.source_item or 0, flow.target_item or 0
    if source is None and target is not None:
        yield Posting(target, "in", in_heading(flow.how, rows.told(flow.line)), quantity(flow.received), *where, came)
    elif source is not None and target is None:
        told = rows.told(flow.line)
        if flow.how == "loss":
            yield Posting(source, "loss", loss_heading(told), quantity(flow.left), *where, left)
        else:
            yield Posting(source, "out", out_heading(told), quantity(flow.left), *where, left)
    elif source is not None and target is not None:
        if flow.left != flow.received:
            yield from _in_transit(rows, flow, source)
        if source != target:
            yield from _transferred(source, target, quantity(flow.received), *where, left, came)


def _in_transit(rows: Rows, flow: Flow, source: Group) -> Iterator[Posting]:
    """The sender answers for what did not arrive, and gains what came in excess."""
    found = quantity(flow.received) - quantity(flow.left)
    ends = flow.source_item or 0, flow.target_item or 0
    where = flow.happened_us, flow.line, ends[0]
    if any(found.gain):
        yield Posting(source, "gain", transfer_heading(*ends), found.gain, *where)
    if any(found.loss):
        yield Posting(source, "loss", transit_heading(rows.told(flow.line), *ends), found.loss, *where)
