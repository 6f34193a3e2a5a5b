"""Columns of a flow picture: what stands in each, in which order, and how high.

A place stands as many columns from the one traced as the longest way between them has steps. A
link that passes a column has a lane in it, so it never runs behind a place. Places are sorted, then
set, by the middle of what they are linked to, column by column, back and forth.

>>> from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
>>> items = tuple(FlowItem(key, "cask", (key,)) for key in "abxy")
>>> flow = Flow("back", "x", items, (FlowEdge("a", "y", 1), FlowEdge("b", "x", 1), FlowEdge("y", "x", 1)))
>>> [[stop.item.key for stop in column] for column in columns_of(flow, dict.fromkeys("abxy", NO_WORDS))[0]]
[['a'], ['b', 'y'], ['x']]
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
from pourbook.papers.flow.flow_words import BoxWords

__all__ = ["NO_WORDS", "Columns", "Routes", "Stop", "columns_of", "settle"]

NO_WORDS = BoxWords((), ())

_LANE_PT = 1.0
_SWEEPS = 24


class Stop:
    """A place in a column, or a lane in which a link passes it by (without an item), while the picture is laid out.

    It is linked to what is `behind` it at its left and `ahead` at its right, with amounts of pure alcohol. Heights
    include `additions`, one line each below its words.
    """

    lines: tuple[str, ...] = ()
    additions: tuple[tuple[FlowEdge, str], ...] = ()
    words_pt = _LANE_PT
    below_pt = x = y = width = height = 0.0

    def __init__(
        self, item: FlowItem | None, through_ml: float, went_ml: float = 0.0, words: BoxWords = NO_WORDS
    ) -> None:
        self.item, self.through_ml, self.went_ml, self.words = item, through_ml, went_ml, words
        self.behind: list[tuple[Stop, float]] = []
        self.ahead: list[tuple[Stop, float]] = []

    def height_at(self, scale: float) -> float:
        """How high it is at a scale, its additions included."""
        return max(self.words_pt, self.through_ml * scale) + self.below_pt


Columns = list[list[Stop]]
Routes = list[tuple[FlowEdge, list[Stop]]]


def columns_of(flow: Flow, words: Mapping[str, BoxWords]) -> tuple[Columns, Routes]:
    """Every place in its column, and the way of each link through the columns it passes."""
    far, amounts = flow.distances(), flow.amounts()
    last = max(far.values(), default=0)
    columns: Columns = [[] for _ in range(last + 1)]
    column_of = {key: last - step if flow.direction == "back" else step for key, step in far.items()}
    places = {}
    for item in sorted(flow.items, key=lambda item: (item.kind, item.spirit, item.wood, item.year, item.label)):
        own = amounts[item.key]
        places[item.key] = Stop(item, own.through, own.went, words[item.key])
        columns[column_of[item.key]].append(places[item.key])
    routes: Routes = []
    for link in flow.links:
        route = [places[link.source]]
        for column in range(column_of[link.source] + 1, column_of[link.target]):
            route.append(Stop(None, link.ml))
            columns[column].append(route[-1])
        route.append(places[link.target])
        for before, after in pairwise(route):
            before.ahead.append((after, link.ml + 1e-9))
            after.behind.append((before, link.ml + 1e-9))
        routes.append((link, route))
    _sort(columns)
    return columns, routes


def _sort(columns: Columns) -> None:
    """Each column in the order of what it is linked to on one side, then on the other, so that few links cross."""
    for sweep in range(_SWEEPS):
        is_back = sweep % 2 == 1
        for fixed, column in pairwise(columns[:: -1 if is_back else 1]):
            standing = {stop: float(place) for place, stop in enumerate(fixed)}
            stretch = len(fixed) / len(column)  # a stop with no link on this side keeps its height
            wanted = {
                stop: _middle(stop.ahead if is_back else stop.behind, standing, (place + 0.5) * stretch - 0.5)
                for place, stop in enumerate(column)
            }
            column.sort(key=wanted.__getitem__)


def _middle(linked: "Sequence[tuple[Stop, float]]", standing: "Mapping[Stop, float]", otherwise: float) -> float:
    weight = sum(ml for _, ml in linked)
    return sum(standing[stop] * ml for stop, ml in linked) / weight if linked else otherwise


def settle(columns: Columns, scale: float, height_pt: float, apart_pt: float) -> None:
    """Set every stop near what it is linked to, in order, none upon another."""
    middles: dict[Stop, float] = {}
    for column in columns:
        top = (height_pt - sum(stop.height_at(scale) + apart_pt for stop in column) + apart_pt) / 2
        for stop in column:
            stop.y, stop.height = top, stop.height_at(scale)
            middles[stop] = top + stop.height / 2
            top += stop.height + apart_pt
    for turn in range(_SWEEPS):
        for column in columns[:: 1 if turn % 2 else -1]:
            for stop in column:
                stop.y = _middle(stop.behind + stop.ahead, middles, middles[stop]) - stop.height / 2
            _part(column, apart_pt, height_pt)
            middles.update({stop: stop.y + stop.height / 2 for stop in column})


def _part(column: Sequence[Stop], apart_pt: float, height_pt: float) -> None:
    """Push down what overlaps, then up what stands below the foot."""
    free = 0.0
    for stop in column:
        stop.y = max(stop.y, free)
        free = stop.y + stop.height + apart_pt
    floor = height_pt
    for stop in reversed(column):
        stop.y = min(stop.y, floor - stop.height)
        floor = stop.y - apart_pt
