r"""Where everything of a flow picture stands: boxes with their words, and ribbons as wide as their alcohol.

Points, from the top left corner. A column is as wide as its words need; ribbons run only between
columns and in lanes of their own, so no word lies on or under a ribbon. All amounts have one scale.

>>> from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
>>> items = (FlowItem("c", "cask", ("Q 204", "oak"), own_ml=230.0), FlowItem("l", "lot", ("Lot 26-1",)))
>>> layout = laid_out(Flow("back", "l", items, (FlowEdge("c", "l", 230.0),)), 500, 600, Notation())
>>> [box.lines for box in layout.boxes], layout.ribbons[0].thickness == 230.0 * layout.scale
([('Q 204 · oak · 100.00\xa0%',), ('Lot 26-1 · 100.00\xa0%',)], True)
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate
from typing import NamedTuple

from pourbook import typefaces
from pourbook.papers.cells import Type, shortened
from pourbook.papers.flow.flow_columns import Columns, Routes, Stop, columns_of, settle
from pourbook.papers.flow.flow_grouping import groupings
from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
from pourbook.papers.flow.flow_words import ADDED_PT, LABEL, box_words, label_lines, least_width_pt
from pourbook.words.paper_figures import Notation

__all__ = ["HIGHEST_PT", "PAD_PT", "TAB_PT", "Box", "Layout", "Ribbon", "laid_out"]

TAB_PT = 6.0
"""Width of the patterned strip that says what kind of item a box is."""
PAD_PT = 3.0
HIGHEST_PT = 570.0
"""Room on a page of either paper, below its head and the first lines of its section."""

_LEAST_GAP_PT = 24.0
_MOST_LINES = 6
_LEAST_TRACED_PT = 22.0
_ROOMY_PT = 150.0
_SCALES = 1 << 16


class Box(NamedTuple):
    """A place of an item: x, y, width, height with additions; band for what goes through, `went` on; lines of words."""

    item: FlowItem
    x: float
    y: float
    width: float
    height: float
    band: tuple[float, float]
    went: float
    lines: tuple[str, ...]
    additions: tuple[tuple[FlowEdge, str], ...]


class Ribbon(NamedTuple):
    """A link of even thickness; the points of its upper side run from column to column, left to right."""

    link: FlowEdge
    points: tuple[tuple[float, float], ...]
    thickness: float


class Layout(NamedTuple):
    """A flow, grouped where needed: boxes and ribbons in a width and height, text type, scale in points per mL."""

    flow: Flow
    width: float
    height: float
    scale: float
    type: Type
    boxes: tuple[Box, ...]
    ribbons: tuple[Ribbon, ...]


class _Setting(NamedTuple):
    """How closely a picture is set: its type, the white round words, and between boxes of a column."""

    type: Type
    white_pt: float
    apart_pt: float


_SETTINGS = (
    _Setting(LABEL, 1.5, 6.0),
    _Setting(LABEL, 1.0, 3.0),
    _Setting(Type(typefaces.TEXT, 6, 7), 0.4, 1.2),
)
"""From roomy to close; the last one has sixty casks in a column."""


def laid_out(flow: Flow, width_pt: float, height_pt: float, notation: Notation) -> Layout:
    """The finest picture that fills a width and is no higher than it may be."""
    pictures = (_drawn(one, width_pt, height_pt, notation) for one in groupings(flow))
    return next(picture for picture in pictures if picture is not None)


def _drawn(flow: Flow, width_pt: float, highest_pt: float, notation: Notation) -> Layout | None:
    """The picture, set as roomily as it can be; None where it has no room."""
    columns, routes = columns_of(flow, box_words(flow, notation))
    beside = TAB_PT + 2 * PAD_PT + (TAB_PT if flow.direction == "forward" else 0.0)  # the last for what stays
    for setting in _SETTINGS:
        for most in range(1, _MOST_LINES + 1):
            widths = [_width_pt(column, most, setting, highest_pt) + beside for column in columns]
            gap = (width_pt - sum(widths)) / max(len(widths) - 1, 1)
            if gap < _LEAST_GAP_PT:
                continue
            lefts = accumulate((width + gap for width in widths[:-1]), initial=0.0)
            for column, x, width in zip(columns, lefts, widths, strict=True):
                _set_words(column, x, width, width - beside, setting)
            height = min(highest_pt, _ROOMY_PT + max(_height_pt(column, 0.0, setting) for column in columns))
            scale = _scale(columns, height, setting)
            if scale is not None:
                settle(columns, scale, height, setting.apart_pt)
                boxes = tuple(_boxes(columns, scale))
                ribbons = tuple(_ribbons(routes, scale))
                return Layout(flow, width_pt, height, scale, setting.type, boxes, ribbons)
    return None


def _width_pt(column: Sequence[Stop], most_lines: int, setting: _Setting, height_pt: float) -> float:
    """The least width at which no words of a column need more lines; of a full one, than there is room for."""
    own = [stop.words for stop in column if stop.item]
    leading = setting.type.leading_pt
    taken = len(column) * (2 * setting.white_pt + setting.apart_pt) + sum(len(one.additions) for one in own) * leading
    room = max(int((height_pt - taken) / (len(own) * leading)), 1)
    return max(least_width_pt(one, min(most_lines, room), setting.type) for one in own)


def _set_words(column: Iterable[Stop], x: float, width: float, inner_pt: float, setting: _Setting) -> None:
    type_ = setting.type
    for stop in column:
        stop.x, stop.width = x, width
        if stop.item:
            stop.lines = label_lines(stop.words.pieces, inner_pt, type_)
            stop.words_pt = len(stop.lines) * type_.leading_pt + 2 * setting.white_pt
            stop.below_pt = len(stop.words.additions) * type_.leading_pt
            room_pt = inner_pt - ADDED_PT
            stop.additions = tuple(
                (edge, shortened(edge.name, type_, room_pt, text.removeprefix(edge.name)))
                for edge, text in stop.words.additions
            )


def _height_pt(column: Sequence[Stop], scale: float, setting: _Setting) -> float:
    return sum(stop.height_at(scale) for stop in column) + setting.apart_pt * (len(column) - 1)


def _scale(columns: Columns, height_pt: float, setting: _Setting) -> float | None:
    """The largest scale at which every column fits; None where even words alone do not, or hardly."""
    widest = max(stop.through_ml for column in columns for stop in column)
    step = height_pt / widest / _SCALES if widest else 0.0

    def is_too_high(steps: int) -> bool:
        return any(_height_pt(column, steps * step, setting) > height_pt for column in columns)

    steps = bisect_right(range(_SCALES + 1), False, key=is_too_high) - 1
    return steps * step if steps >= 0 and (not widest or steps * step * widest >= _LEAST_TRACED_PT) else None


def _boxes(columns: Columns, scale: float) -> Iterator[Box]:
    for stop in (stop for column in columns for stop in column):
        if stop.item:
            place = stop.x, stop.y, stop.width, stop.height
            yield Box(stop.item, *place, _band(stop, scale), stop.went_ml * scale, stop.lines, stop.additions)


def _band(stop: Stop, scale: float) -> tuple[float, float]:
    height = stop.through_ml * scale
    return stop.y + (stop.height - stop.below_pt - height) / 2, height


def _ribbons(routes: Routes, scale: float) -> Iterator[Ribbon]:
    """Links as they leave and reach their boxes, stacked in the order of what they are led to next."""
    starts, ends = _ports(routes, 0, 1, scale), _ports(routes, -1, -2, scale)
    for link, (source, *lanes, target) in routes:
        through = (point for lane in lanes for point in ((lane.x, lane.y), (lane.x + lane.width, lane.y)))
        points = ((source.x + source.width, starts[link]), *through, (target.x, ends[link]))
        yield Ribbon(link, points, link.ml * scale)


def _ports(routes: Routes, own: int, other: int, scale: float) -> dict[FlowEdge, float]:
    """The height at which each link stands at one of the two ends of its way."""
    ports: dict[FlowEdge, float] = {}
    free: dict[Stop, float] = {}
    for link, route in sorted(routes, key=lambda way: way[1][other].y):
        ports[link] = free.get(route[own], _band(route[own], scale)[0])
        free[route[own]] = ports[link] + link.ml * scale
    return ports
