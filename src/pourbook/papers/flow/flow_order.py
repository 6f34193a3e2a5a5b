"""Columns of a flow picture, and the order in each: few crossings, the same every time.

A link that passes columns by has a lane in each of them, so that it never runs behind a place.
Orders are improved by barycentres, column by column, back and forth; the best seen is kept.

>>> from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
>>> items = tuple(FlowItem(key, "cask", (key,)) for key in "abxy")
>>> flow = Flow("back", "x", items, (FlowEdge("a", "y", 1), FlowEdge("b", "x", 1), FlowEdge("y", "x", 1)))
>>> [[stop.key for stop in column] for column in columns(flow).stops]
[['a'], ['b', 'y'], ['x']]
"""

from bisect import bisect_left, insort
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from pourbook.papers.flow.flow_grouping import distances
from pourbook.papers.flow.flow_values import Flow, FlowEdge

__all__ = ["Columns", "Stop", "Stretch", "columns"]

_SWEEPS = 12


class Stop(NamedTuple):
    """A place in a column, or a lane in which a link passes it by.

    Attributes:
        key: of the place; of a lane, made from its link.
        lane: the link that passes; None for a place.
    """

    key: str
    lane: FlowEdge | None = None


class Stretch(NamedTuple):
    """A link, or the part of it between two neighbouring columns.

    Attributes:
        source: key of the stop it leaves.
        target: key of the stop it reaches.
        link: the whole link.
    """

    source: str
    target: str
    link: FlowEdge


class Columns(NamedTuple):
    """The order of everything.

    Attributes:
        stops: column by column, from left to right, each from top to bottom.
        stretches: of all links.
    """

    stops: tuple[tuple[Stop, ...], ...]
    stretches: tuple[Stretch, ...]


def columns(flow: Flow) -> Columns:
    """Every place in its column, lanes for what passes, ordered."""
    far = distances(flow)
    last = max(far.values(), default=0)
    column_of = {key: last - step if flow.direction == "back" else step for key, step in far.items()}
    stops: list[list[Stop]] = [[] for _ in range(last + 1)]
    for item in sorted(flow.items, key=lambda item: (item.kind, item.spirit, item.wood, item.year, item.label)):
        stops[column_of[item.key]].append(Stop(item.key))
    stretches: list[Stretch] = []
    for number, link in enumerate(flow.links):
        before = link.source
        for column in range(column_of[link.source] + 1, column_of[link.target]):
            lane = Stop(f"lane {number} {column}", link)
            stops[column].append(lane)
            stretches.append(Stretch(before, lane.key, link))
            before = lane.key
        stretches.append(Stretch(before, link.target, link))
    return Columns(_swept(stops, stretches), tuple(stretches))


_Neighbours = dict[str, list[tuple[str, float]]]


def _swept(stops: list[list[Stop]], stretches: Sequence[Stretch]) -> tuple[tuple[Stop, ...], ...]:
    behind: _Neighbours = {}
    ahead: _Neighbours = {}
    for source, target, link in stretches:
        behind.setdefault(target, []).append((source, link.ml))
        ahead.setdefault(source, []).append((target, link.ml))
    best, fewest = tuple(map(tuple, stops)), _crossings(stops, ahead)
    for sweep in range(_SWEEPS):
        if sweep % 2:
            for column, following in reversed(list(pairwise(stops))):
                _sort(column, _places(following), ahead)
        else:
            for column, following in pairwise(stops):
                _sort(following, _places(column), behind)
        crossings = _crossings(stops, ahead)
        if crossings < fewest:
            best, fewest = tuple(map(tuple, stops)), crossings
    return best


def _places(column: Sequence[Stop]) -> dict[str, int]:
    return {stop.key: place for place, stop in enumerate(column)}


def _sort(column: list[Stop], fixed: Mapping[str, int], neighbours: _Neighbours) -> None:
    """By the middle of what each stop is linked to; a stop with no link on this side keeps its height."""
    scale = len(fixed) / max(len(column), 1)
    middle = {
        stop.key: _middle(neighbours.get(stop.key, []), fixed, (place + 0.5) * scale - 0.5)
        for place, stop in enumerate(column)
    }
    column.sort(key=lambda stop: middle[stop.key])


def _middle(linked: Sequence[tuple[str, float]], fixed: Mapping[str, int], otherwise: float) -> float:
    weights = sum(ml for _, ml in linked)
    if not linked:
        return otherwise
    if not weights:
        return sum(fixed[key] for key, _ in linked) / len(linked)
    return sum(fixed[key] * ml for key, ml in linked) / weights


def _crossings(stops: Sequence[Sequence[Stop]], ahead: _Neighbours) -> int:
    """How many pairs of links cross, counted by insertion (Barth, Mutzel, Jünger 2004 do it faster)."""
    count = 0
    for column, following in pairwise(stops):
        places = _places(following)
        seen: list[int] = []
        for stop in column:
            reached = sorted(places[key] for key, _ in ahead.get(stop.key, []))
            count += sum(len(seen) - bisect_left(seen, place + 1) for place in reached)
            for place in reached:
                insort(seen, place)
    return count
