"""Gauges over time as SVG for a page: volume above, strength below, each in the band that is expected.

All is drawn in the colour of the text around it (`currentColor`), so that it suits a light page and a dark one; a
filling is a square, a gauge a disc, what is expected a dashed line in a lighter band. It needs no style sheet.

>>> from pourbook.book.items import ItemView
>>> from pourbook.book.contents import NOTHING
>>> from pourbook.house_style import HouseStyle
>>> from pourbook.queries.gauges.gauge_history import GaugeHistory, GaugeRead
>>> day = 86_400_000_000
>>> read = GaugeRead(3, 0, "A", 200_000, 63.5, is_fill=True), GaugeRead(4, 700 * day, "A", 192_000, 62.9, 500, 0.1)
>>> drawn = gauge_plot(GaugeHistory(ItemView("C000001H", "cask", {}, NOTHING), read, ()), HouseStyle())
>>> drawn.count("<circle"), drawn.count("<rect"), "62.90 ± 0.10 % vol" in drawn  # two figures and the legend
(3, 3, True)
"""

from collections.abc import Iterator, Sequence
from math import floor, log10
from typing import TYPE_CHECKING, NamedTuple

from pourbook.codes.identifiers import hyphened
from pourbook.papers.markup import marked_up
from pourbook.times import day_shown

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.queries.gauges.gauge_history import GaugeHistory, GaugeRead

__all__ = ["ENGLISH", "PlotWords", "gauge_plot"]

_WIDTH, _LEFT, _RIGHT = 640.0, 56.0, 12.0
_HIGH, _GAP, _TOP, _FOOT = 170.0, 34.0, 22.0, 44.0
_SIZE = 12
_TICKS = 5
_LINE, _DASHED = 'fill="none" stroke="currentColor"', 'stroke-width="1.5" stroke-dasharray="6 4"'
_BEYOND = 0.08


class PlotWords(NamedTuple):
    """What stands in the plot, so that a page can say it in its own language.

    `title` has a place for the item; `described` for how many gauges there are, and the days of the first and the last.
    `volume` and `strength` head the two figures; `filled`, `gauge` and `expected` explain the marks.
    """

    title: str = "Gauges of {item}"
    described: str = "{gauges} readings from {first} to {last}; the table of gauges has every figure"
    volume: str = "Volume, l at 20 °C"
    strength: str = "Strength, % vol"
    filled: str = "filled"
    gauge: str = "gauge, ± (k = 2)"
    expected: str = "expected, 95 %"


ENGLISH = PlotWords()


class _Point(NamedTuple):
    """A figure read: when, how much, ± of it, whether it was filled in, and all of it in words."""

    at_us: int
    value: float
    within: float
    is_fill: bool
    said: str


class _Band(NamedTuple):
    """What is expected at a moment."""

    at_us: int
    low: float
    expected: float
    high: float


class _Frame(NamedTuple):
    """Where a figure is drawn: its upper edge, and what its edges stand for."""

    top: float
    first_us: int
    last_us: int
    low: float
    high: float

    def x(self, at_us: int) -> float:
        """From the left."""
        return _LEFT + (_WIDTH - _LEFT - _RIGHT) * (at_us - self.first_us) / (self.last_us - self.first_us)

    def y(self, value: float) -> float:
        """From the top."""
        return self.top + _HIGH * (self.high - value) / (self.high - self.low)


def gauge_plot(history: "GaugeHistory", style: "HouseStyle", words: PlotWords = ENGLISH) -> str:
    """The plot as an SVG element; empty where nothing was ever read."""
    volumes = [_point(one, one.volume_ml, one.volume_within_ml, 1000.0, style) for one in history.gauges]
    strengths = [_point(one, one.strength_vol, one.strength_within_vol, 1.0, style) for one in history.gauges]
    moments = [*(one.happened_us for one in history.gauges), *(one.at_us for one in history.band)]
    if not history.gauges:
        return ""
    span = min(moments), max(*moments, min(moments) + 1)
    bands = (
        [_Band(one.at_us, *(ml / 1000.0 for ml in one.volume_ml)) for one in history.band],
        [_Band(one.at_us, *one.strength_vol) for one in history.band if one.strength_vol],
    )
    parts: list[str] = []
    top = _TOP
    pairs = zip(
        (words.volume, words.strength), ([p for p in of if p] for of in (volumes, strengths)), bands, strict=True
    )
    for head, points, band in pairs:
        if points:
            parts += _figure(head, points, band, _frame(top, span, points, band), style)
            top += _HIGH + _GAP
    parts += [*_days(span, top - _GAP, style), *_legend(words, top - _GAP + 34, has_band=bool(history.band))]
    first, last = (day_shown(at_us, style.zone) for at_us in span)
    title = words.title.format(item=hyphened(history.view.id))
    described = words.described.format(gauges=len(history.gauges), first=first, last=last)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="gauge-plot-title gauge-plot-description"'
        f' viewBox="0 0 {_WIDTH:g} {top - _GAP + _FOOT:g}" font-size="{_SIZE}" fill="currentColor">\n'
        f'<title id="gauge-plot-title">{marked_up(title)}</title>\n'
        f'<desc id="gauge-plot-description">{marked_up(described)}</desc>\n' + "\n".join(parts) + "\n</svg>"
    )


def _point(
    read: "GaugeRead", value: float | None, within: float | None, scale: float, style: "HouseStyle"
) -> _Point | None:  # fmt: skip
    if value is None:
        return None
    return _Point(read.happened_us, value / scale, (within or 0.0) / scale, read.is_fill, _said(read, style))


def _said(read: "GaugeRead", style: "HouseStyle") -> str:
    """All that was read, in one line."""

    def figure(value: float | None, within: float | None, unit: str) -> str:
        sure = f" ± {style.shown(within, 2)}" if within else ""
        return "" if value is None else f"{style.shown(value, 2)}{sure} {unit}"

    volume, its_within = (None if ml is None else ml / 1000.0 for ml in (read.volume_ml, read.volume_within_ml))
    figures = figure(volume, its_within, "l"), figure(read.strength_vol, read.strength_within_vol, "% vol")
    told = *filter(None, figures), read.who, *read.instruments
    return f"{style.time_shown(read.happened_us)}: {', '.join(told)}"


def _frame(top: float, span: tuple[int, int], points: Sequence[_Point], band: Sequence[_Band]) -> _Frame:
    values = [point.value + sign * point.within for point in points for sign in (-1, 1)]
    values += [value for one in band for value in (one.low, one.high)]
    low, high = min(values), max(values)
    beyond = _BEYOND * (high - low) or max(0.01 * abs(high), 0.1)
    return _Frame(top, *span, low - beyond, high + beyond)


def _figure(
    head: str, points: Sequence[_Point], band: Sequence[_Band], frame: _Frame, style: "HouseStyle"
) -> Iterator[str]:  # fmt: skip
    yield f'<text x="{_LEFT:g}" y="{frame.top - 8:g}" font-weight="600">{marked_up(head)}</text>'
    for value, text in _ticks(frame.low, frame.high, style):
        y = frame.y(value)
        yield f'<path d="M{_LEFT:g} {y:.1f}H{_WIDTH - _RIGHT:g}" stroke="currentColor" opacity="0.25"/>'
        yield f'<text x="{_LEFT - 6:g}" y="{y + 4:.1f}" text-anchor="end">{text}</text>'
    if band:
        upper = [(frame.x(one.at_us), frame.y(one.high)) for one in band]
        lower = [(frame.x(one.at_us), frame.y(one.low)) for one in reversed(band)]
        middle = [(frame.x(one.at_us), frame.y(one.expected)) for one in band]
        yield f'<path d="{_path((*upper, *lower))}Z" opacity="0.16"/>'
        yield f'<path d="{_path(middle)}" {_LINE} {_DASHED}/>'
    yield from (_mark(point, frame) for point in points)


def _mark(point: _Point, frame: _Frame) -> str:
    """A square for what was filled in, a disc for a gauge, with a bar from its least to its most."""
    x, y = frame.x(point.at_us), frame.y(point.value)
    if point.is_fill:
        drawn = f'<rect x="{x - 5:.1f}" y="{y - 5:.1f}" width="10" height="10" {_LINE} stroke-width="2"/>'
    else:
        drawn = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5"/>'
    bar = ""
    if point.within:
        ends = frame.y(point.value + point.within), frame.y(point.value - point.within)
        caps = "".join(f"M{x - 4:.1f} {end:.1f}H{x + 4:.1f}" for end in ends)
        bar = f'<path d="M{x:.1f} {ends[0]:.1f}V{ends[1]:.1f}{caps}" {_LINE} stroke-width="1.5"/>'
    return f"<g><title>{marked_up(point.said)}</title>{bar}{drawn}</g>"


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _ticks(low: float, high: float, style: "HouseStyle") -> Iterator[tuple[float, str]]:
    """Round values between two, at most five, with their digits.

    >>> from pourbook.house_style import HouseStyle
    >>> [text for _, text in _ticks(61.9, 63.7, HouseStyle())]
    ['62.0', '62.5', '63.0', '63.5']
    """
    rough = (high - low) / _TICKS
    power = 10.0 ** floor(log10(rough))
    step = next(power * size for size in (1, 2, 5, 10) if power * size >= rough)
    digits = max(0, -floor(log10(step)))
    number = floor(low / step) + 1
    while number * step <= high:
        yield number * step, style.shown(number * step, digits)
        number += 1


def _days(span: tuple[int, int], y: float, style: "HouseStyle") -> Iterator[str]:
    """The first day, the last, and those between, below."""
    first, last = span
    for place in range(_TICKS):
        anchor = "start" if place == 0 else "end" if place == _TICKS - 1 else "middle"
        x = _LEFT + (_WIDTH - _LEFT - _RIGHT) * place / (_TICKS - 1)
        day = day_shown(first + (last - first) * place // (_TICKS - 1), style.zone)
        yield f'<text x="{x:.1f}" y="{y + 16:g}" text-anchor="{anchor}">{day}</text>'


def _legend(words: PlotWords, y: float, *, has_band: bool) -> Iterator[str]:
    """What the marks are."""
    middle = y - 4
    yield f'<rect x="{_LEFT:g}" y="{middle - 5:g}" width="10" height="10" {_LINE} stroke-width="2"/>'
    yield f'<text x="{_LEFT + 16:g}" y="{y:g}">{marked_up(words.filled)}</text>'
    yield f'<circle cx="{_LEFT + 125:g}" cy="{middle:g}" r="5"/>'
    yield f'<text x="{_LEFT + 136:g}" y="{y:g}">{marked_up(words.gauge)}</text>'
    if has_band:
        line = f"M{_LEFT + 310:g} {middle:g}h26"
        yield f'<path d="M{_LEFT + 310:g} {middle - 7:g}h26v14h-26z" opacity="0.16"/>'
        yield f'<path d="{line}" {_LINE} {_DASHED}/>'
        yield f'<text x="{_LEFT + 342:g}" y="{y:g}">{marked_up(words.expected)}</text>'
