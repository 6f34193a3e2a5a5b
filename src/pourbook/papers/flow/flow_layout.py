r"""Where everything of a flow picture stands: boxes with their words, and ribbons as wide as their alcohol.

Points, from the top left corner. A column is as wide as its words need; ribbons run only between
columns and in lanes of their own, so no word lies on or under a ribbon. All amounts have one scale.

>>> from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
>>> items = (FlowItem("c", "cask", ("Q 204", "oak"), own_ml=230.0), FlowItem("l", "lot", ("Lot 26-1",)))
>>> layout = laid_out(Flow("back", "l", items, (FlowEdge("c", "l", 230.0),)), 500, 600, Notation())
>>> [box.lines for box in layout.boxes], layout.ribbons[0].thickness == 230.0 * layout.scale
([('Q 204 · oak · 100.00\xa0%',), ('Lot 26-1 · 100.00\xa0%',)], True)
"""

from collections.abc import Mapping, Sequence
from itertools import accumulate
from typing import NamedTuple

from pourbook.papers.cells import Type
from pourbook.papers.flow.flow_grouping import finest
from pourbook.papers.flow.flow_order import Columns, Stop, columns
from pourbook.papers.flow.flow_values import Amounts, Flow, FlowEdge, FlowItem
from pourbook.papers.flow.flow_words import (
    ADDED_PT,
    SETTINGS,
    BoxWords,
    Setting,
    box_words,
    label_lines,
    least_width_pt,
    shortened,
)
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
_LANE_PT = 1.0
_PASSES = 24


class Box(NamedTuple):
    """A place.

    Attributes:
        item: what it stands for.
        x: its left edge; then its top, width and height, additions included.
        y: see `x`.
        width: see `x`.
        height: see `x`.
        band: top and height of the band that is as high as what goes through it.
        went: height of the part that goes on; the rest stays.
        lines: its words.
        additions: water and additives, one line each below the band.
    """

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
    """A link.

    Attributes:
        link: what went.
        points: of its upper side, from left to right: leaves a column, reaches the next, leaves it again …
        thickness: its height everywhere.
    """

    link: FlowEdge
    points: tuple[tuple[float, float], ...]
    thickness: float


class Layout(NamedTuple):
    """A picture before anything is drawn.

    Attributes:
        flow: what it shows, grouped where it had to be.
        width: of the page's part it fills.
        height: as high as it needs to be.
        scale: points for a millilitre of pure alcohol.
        type: of the words in boxes.
        boxes: all places.
        ribbons: all links.
    """

    flow: Flow
    width: float
    height: float
    scale: float
    type: Type
    boxes: tuple[Box, ...]
    ribbons: tuple[Ribbon, ...]


class _Plan(NamedTuple):
    """All that positions are computed from."""

    order: Columns
    amounts: Mapping[str, Amounts]
    words: Mapping[str, BoxWords]
    sides: Mapping[str, tuple[float, float]]
    beside_pt: float
    setting: Setting

    def inner_pt(self, key: str) -> float:
        left, right = self.sides[key]
        return right - left - self.beside_pt

    def words_pt(self, key: str) -> float:
        return self.words[key].main_pt(self.inner_pt(key), self.setting)

    def height(self, stop: Stop, scale: float) -> float:
        if stop.lane is not None:
            return max(stop.lane.ml * scale, _LANE_PT)
        below = self.words[stop.key].below_pt(self.setting)
        return max(self.words_pt(stop.key), self.amounts[stop.key].through * scale) + below

    def column_pt(self, column: Sequence[Stop], scale: float) -> float:
        return sum(self.height(stop, scale) for stop in column) + self.setting.apart_pt * (len(column) - 1)


def laid_out(flow: Flow, width_pt: float, height_pt: float, notation: Notation) -> Layout:
    """The finest picture that fits.

    Args:
        flow: what to show.
        width_pt: the width to fill.
        height_pt: the most it may be high.
        notation: how the house writes its numbers.
    """
    return finest(flow, lambda one: _drawn(one, width_pt, height_pt, notation))


def _drawn(flow: Flow, width_pt: float, height_pt: float, notation: Notation) -> Layout | None:
    """The picture, set as roomily as it can be; None where it has no room."""
    order, words = columns(flow), box_words(flow, notation)
    amounts = flow.amounts()
    beside = TAB_PT + 2 * PAD_PT + (TAB_PT if flow.direction == "forward" else 0.0)  # the last for what stays
    for setting in SETTINGS:
        for most in range(1, _MOST_LINES + 1):
            widths = [_column_pt(column, words, most, setting, height_pt) + beside for column in order.stops]
            if sum(widths) + _LEAST_GAP_PT * (len(widths) - 1) > width_pt:
                continue
            plan = _Plan(order, amounts, words, _sides(order, widths, width_pt), beside, setting)
            tallest = max(plan.column_pt(column, 0.0) for column in order.stops)
            height = min(height_pt, tallest + _ROOMY_PT)
            scale = _scale(plan, height)
            if scale is not None:
                return _placed(flow, plan, width_pt, height, scale)
    return None


def _column_pt(
    column: Sequence[Stop], words: Mapping[str, BoxWords], most_lines: int, setting: Setting, height_pt: float
) -> float:
    """The least width at which no words of a column need more lines; of a full one, than there is room for."""
    own = [words[stop.key] for stop in column if stop.lane is None]
    taken = len(column) * (2 * setting.white_pt + setting.apart_pt) + sum(one.below_pt(setting) for one in own)
    room = int((height_pt - taken) / (len(own) * setting.type.leading_pt))
    return max(least_width_pt(one, min(most_lines, max(room, 1)), setting.type) for one in own)


def _sides(order: Columns, widths: Sequence[float], width_pt: float) -> dict[str, tuple[float, float]]:
    """Left and right of every stop; what is left over goes between the columns."""
    gap = (width_pt - sum(widths)) / max(len(widths) - 1, 1)
    lefts = accumulate((width + gap for width in widths[:-1]), initial=0.0)
    return {
        stop.key: (left, left + width)
        for column, left, width in zip(order.stops, lefts, widths, strict=True)
        for stop in column
    }


# -- positions ---------------------------------------------------------------------------


def _scale(plan: _Plan, height_pt: float) -> float | None:
    """The largest scale at which every column fits; None where even words alone do not, or hardly."""
    widest = max((own.through for own in plan.amounts.values()), default=0.0)

    def fits(scale: float) -> bool:
        return all(plan.column_pt(column, scale) <= height_pt for column in plan.order.stops)

    if not widest:
        return 0.0 if fits(0.0) else None
    low, high = 0.0, height_pt / widest
    if not fits(min(_LEAST_TRACED_PT / widest, high)):
        return None
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _placed(flow: Flow, plan: _Plan, width_pt: float, height_pt: float, scale: float) -> Layout:
    tops = _tops(plan, height_pt, scale)
    items = {item.key: item for item in flow.items}
    places = [stop.key for column in plan.order.stops for stop in column if stop.lane is None]
    boxes = {key: _box(items[key], plan, tops[key], scale) for key in places}
    ribbons = _ribbons(flow, plan, boxes, tops, scale)
    return Layout(flow, width_pt, height_pt, scale, plan.setting.type, tuple(boxes.values()), ribbons)


def _tops(plan: _Plan, height_pt: float, scale: float) -> dict[str, float]:
    """The top of every stop: near what it is linked to, in order, none upon another."""
    heights = {stop.key: plan.height(stop, scale) for column in plan.order.stops for stop in column}
    tops: dict[str, float] = {}
    for column in plan.order.stops:
        top = (height_pt - plan.column_pt(column, scale)) / 2
        for stop in column:
            tops[stop.key] = top
            top += heights[stop.key] + plan.setting.apart_pt
    linked: dict[str, list[tuple[str, float]]] = {key: [] for key in heights}
    for source, target, link in plan.order.stretches:
        linked[source].append((target, link.ml + 1e-9))
        linked[target].append((source, link.ml + 1e-9))
    for turn in range(_PASSES):
        for column in plan.order.stops[:: 1 if turn % 2 else -1]:
            _pull(column, linked, tops, heights)
            _part(column, tops, heights, plan.setting.apart_pt, height_pt)
    return tops


def _pull(
    column: Sequence[Stop],
    linked: Mapping[str, Sequence[tuple[str, float]]],
    tops: dict[str, float],
    heights: Mapping[str, float],
) -> None:
    for stop in column:
        weight = sum(ml for _, ml in linked[stop.key])
        if weight:
            middle = sum((tops[key] + heights[key] / 2) * ml for key, ml in linked[stop.key]) / weight
            tops[stop.key] = middle - heights[stop.key] / 2


def _part(
    column: Sequence[Stop], tops: dict[str, float], heights: Mapping[str, float], apart: float, height_pt: float
) -> None:
    """Push down what overlaps, then up what stands below the foot."""
    free = 0.0
    for stop in column:
        tops[stop.key] = max(tops[stop.key], free)
        free = tops[stop.key] + heights[stop.key] + apart
    floor = height_pt
    for stop in reversed(column):
        tops[stop.key] = min(tops[stop.key], floor - heights[stop.key])
        floor = tops[stop.key] - apart


def _box(item: FlowItem, plan: _Plan, top: float, scale: float) -> Box:
    words, own = plan.words[item.key], plan.amounts[item.key]
    left, right = plan.sides[item.key]
    inner, type_ = plan.inner_pt(item.key), plan.setting.type
    band = own.through * scale
    zone = max(plan.words_pt(item.key), band)
    return Box(
        item,
        left,
        top,
        right - left,
        zone + words.below_pt(plan.setting),
        (top + (zone - band) / 2, band),
        own.went * scale,
        label_lines(words.pieces, inner, type_),
        tuple((edge, shortened(text, type_, inner - ADDED_PT)) for edge, text in words.additions),
    )


def _ribbons(
    flow: Flow, plan: _Plan, boxes: Mapping[str, Box], tops: Mapping[str, float], scale: float
) -> tuple[Ribbon, ...]:
    leaving = _ports(plan, boxes, tops, scale, is_leaving=True)
    reaching = _ports(plan, boxes, tops, scale, is_leaving=False)
    found = {link: [(plan.sides[link.source][1], leaving[link])] for link in flow.links}
    for _, target, link in plan.order.stretches:
        if target == link.target:
            found[link].append((plan.sides[target][0], reaching[link]))
        else:
            found[link] += [(x, tops[target]) for x in plan.sides[target]]
    return tuple(Ribbon(link, tuple(found[link]), link.ml * scale) for link in flow.links)


def _ports(
    plan: _Plan, boxes: Mapping[str, Box], tops: Mapping[str, float], scale: float, *, is_leaving: bool
) -> dict[FlowEdge, float]:
    """The height at which each link leaves, or reaches, its box; stacked in the order of the other ends."""
    ports: dict[str, list[tuple[float, int, FlowEdge]]] = {key: [] for key in boxes}
    for number, (source, target, link) in enumerate(plan.order.stretches):
        own, other = (source, target) if is_leaving else (target, source)
        if own in boxes:
            ports[own].append((tops[other], number, link))
    found = {}
    for key, stacked in ports.items():
        top = boxes[key].band[0]
        for _, _, link in sorted(stacked, key=lambda port: port[:2]):
            found[link] = top
            top += link.ml * scale
    return found
