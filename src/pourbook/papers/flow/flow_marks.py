"""A laid-out flow picture as a list of outlines and words: all that a PDF or an SVG needs to draw it.

Kinds of item differ in the pattern of the strip at their left, and in name; colour only helps. The
colours also differ in lightness, so that a grey print keeps them apart. The legend says both.

>>> sorted(PALETTE) == sorted(PATTERNS)
True
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from pourbook import typefaces
from pourbook.papers.cells import Type
from pourbook.papers.flow.flow_layout import PAD_PT, TAB_PT, Box, Layout, Ribbon
from pourbook.papers.flow.flow_values import ADDED
from pourbook.papers.flow.flow_words import ADDED_PT
from pourbook.words.paper_figures import Notation, digits_needed

__all__ = ["PALETTE", "PATTERNS", "Outline", "Path", "Words", "legend_pt", "marks"]

PALETTE = {
    "origin": "#f3dc9b",
    "cask": "#d9a86c",
    "vial": "#c9dbe8",
    "trial": "#93b5cf",
    "batch": "#7fb09a",
    "lot": "#a99bc4",
    "end": "#c8c8c8",
}
"""Colour of what comes from each kind of item; black text is legible on all of them."""

PATTERNS = {
    "origin": "solid", "cask": "staves", "vial": "open", "trial": "rungs", "batch": "slant", "lot": "crossed",
    "end": "dotted",
}  # fmt: skip
"""Pattern of the strip of each kind."""

_INK = "#000000"
_EDGE = "#4d4d4d"
_PAPER = "#ffffff"
_LEGEND = Type(typefaces.TEXT, 7, 11)
_NAMES = {
    "origin": "from outside",
    "end": "left the house or lost",
    "carry": "stayed for the next fill",
    "water": "water, no alcohol",
    "additive": "additive, no alcohol",
}
_DASHED = (2.0, 1.2)
_LEAST_REST_PT = 0.3
_RULED_PT = 1.5
_RULER_PT = 14.0
_SWATCH_PT = 11.0
_STEP_PT = 3.0
_SCALES_ML = tuple(digit * 10.0**power for power in range(-1, 9) for digit in (1, 2, 5))

Path = tuple[tuple[str | float, ...], ...]
"""Moves ("M", x, y), lines ("L", x, y), curves ("C", six coordinates)."""


class Outline(NamedTuple):
    """A path with fill, stroke of a width and dash, and title; closed where it is filled.

    An empty colour draws nothing, an empty dash a whole line. `what` it is part of: box, band, rest, strip, ribbon,
    side, mark or scale.
    """

    what: str
    path: Path
    fill: str = ""
    stroke: str = ""
    width: float = 0.5
    dash: tuple[float, ...] = ()
    title: str = ""


class Words(NamedTuple):
    """A line of text in a type; x where it begins, y its base line."""

    x: float
    y: float
    text: str
    type: Type


Mark = Outline | Words


def marks(layout: Layout, notation: Notation) -> tuple[Mark, ...]:
    """All that is drawn, what lies below first."""
    items = {box.item.key: box.item for box in layout.boxes}
    found: list[Mark] = []
    for ribbon in sorted(layout.ribbons, key=lambda ribbon: -ribbon.thickness):
        source, target = items[ribbon.link.source], items[ribbon.link.target]
        found += _ribbon(ribbon, source.kind, f"{source.label[0]} to {target.label[0]}")
    for box in layout.boxes:
        found += _box(box, layout)
    return (*found, *_legend(layout, notation))


def _line(*corners: float) -> Path:
    """A line from corner to corner, x and y of each in turn."""
    first, *others = zip(corners[::2], corners[1::2], strict=True)
    return (("M", *first), *(("L", *corner) for corner in others))


def _rectangle(x: float, y: float, width: float, height: float) -> Path:
    return _line(x, y, x + width, y, x + width, y + height, x, y + height, x, y)


# -- ribbons -----------------------------------------------------------------------------


def _ribbon(ribbon: Ribbon, kind: str, said: str) -> Iterator[Outline]:
    upper = _along(ribbon.points)
    lower = _along([(x, y + ribbon.thickness) for x, y in reversed(ribbon.points)])
    dash = _DASHED if ribbon.link.kind == "carry" else ()
    around = (*upper, ("L", *lower[0][1:]), *lower[1:], ("L", *upper[0][1:]))
    yield Outline("ribbon", around, PALETTE[kind], title=said)
    yield Outline("side", upper, "", _EDGE, 0.4, dash)
    yield Outline("side", lower, "", _EDGE, 0.4, dash)


def _along(points: Sequence[tuple[float, float]]) -> Path:
    """Curves across gaps, straight through lanes."""
    path: list[tuple[str | float, ...]] = [("M", *points[0])]
    for number, ((x0, y0), (x1, y1)) in enumerate(pairwise(points)):
        middle = (x0 + x1) / 2
        path.append(("L", x1, y1) if number % 2 else ("C", middle, y0, middle, y1, x1, y1))
    return tuple(path)


# -- boxes -------------------------------------------------------------------------------


def _box(box: Box, layout: Layout) -> Iterator[Mark]:
    top, band = box.band
    is_traced = box.item.key == layout.flow.traced
    leading = layout.type.leading_pt
    zone = box.height - len(box.additions) * leading
    tint = _tint(PALETTE[box.item.kind])
    yield Outline("band", _rectangle(box.x, top, box.width, band), tint, title=box.item.name)
    yield from _rest(box, layout)
    weight, grey = (1.2, _INK) if is_traced else (0.4, _EDGE)
    yield Outline("box", _rectangle(box.x, box.y, box.width, box.height), "", grey, weight)
    yield from _strip(box.item.kind, box.x, box.y, box.height)
    x, first = box.x + TAB_PT + PAD_PT, box.y + (zone - len(box.lines) * leading) / 2
    for number, line in enumerate(box.lines):
        yield _words(x, first + number * leading, line, layout.type)
    for number, (edge, text) in enumerate(box.additions):
        y = box.y + zone + number * leading
        yield from _addition(edge.kind, x, y + leading / 2)
        yield _words(x + ADDED_PT, y, text, layout.type)


def _words(x: float, top: float, text: str, type_: Type) -> Words:
    return Words(x, top + 0.76 * type_.leading_pt, text, type_)


def _tint(colour: str) -> str:
    """A lighter one: two fifths of it on white.

    >>> _tint("#000000")
    '#999999'
    """
    parts = (int(colour[start : start + 2], 16) for start in (1, 3, 5))
    return "#" + "".join(f"{255 - (255 - part) * 2 // 5:02x}" for part in parts)


def _rest(box: Box, layout: Layout) -> Iterator[Outline]:
    """What stays or was lost: ruled, at the right end of the band, below what goes on."""
    top, band = box.band
    if layout.flow.direction == "forward" and box.item.kind != "end" and band - box.went >= _LEAST_REST_PT:
        yield from _ruled(box.x + box.width - TAB_PT, top + box.went, TAB_PT, band - box.went)


def _ruled(x: float, y: float, width: float, height: float) -> Iterator[Outline]:
    yield Outline("rest", _rectangle(x, y, width, height), _PAPER, _EDGE, 0.4)
    for step in range(1, int(height // _RULED_PT)):
        yield Outline("rest", _line(x, y + step * _RULED_PT, x + width, y + step * _RULED_PT), "", _EDGE, 0.3)


def _addition(kind: str, x: float, y: float) -> Iterator[Outline]:
    """A thin dashed line that ends in a ring (water) or a triangle (an additive)."""
    yield Outline("mark", _line(x, y, x + 6, y), "", _INK, 0.5, (1.5, 1.0), kind)
    if kind == "water":
        (left, right), k = (x + 6.2, x + 9.8), 2.4  # half a circle as a cubic curve bends by 4/3 of its radius
        ring: Path = (
            ("M", left, y),
            ("C", left, y - k, right, y - k, right, y),
            ("C", right, y + k, left, y + k, left, y),
        )
        yield Outline("mark", ring, _PAPER, _INK, 0.5)
    else:
        yield Outline("mark", _line(x + 6, y - 2, x + 10, y, x + 6, y + 2, x + 6, y - 2), _INK, _INK, 0.3)


def _strip(kind: str, x: float, y: float, height: float) -> Iterator[Outline]:
    """The patterned strip of a kind of item."""
    pattern = PATTERNS[kind]
    right, foot = x + TAB_PT, y + height
    rows = [y + _STEP_PT * step for step in range(1, int(height // _STEP_PT) + 1) if _STEP_PT * step < height]
    lines: list[Path] = []
    if pattern == "staves":
        lines = [_line(x + TAB_PT * part / 3, y, x + TAB_PT * part / 3, foot) for part in (1, 2)]
    if pattern == "dotted":
        lines = [_line(x + TAB_PT / 2, y, x + TAB_PT / 2, foot)]
    if pattern == "rungs":
        lines = [_line(x, row, right, row) for row in rows]
    if pattern in ("slant", "crossed"):
        lines = [_line(x, row, right, max(row - _STEP_PT, y)) for row in rows]
    if pattern == "crossed":
        lines += [_line(x, max(row - _STEP_PT, y), right, row) for row in rows]
    yield Outline("strip", _rectangle(x, y, TAB_PT, height), _INK if pattern == "solid" else _PAPER, _EDGE, 0.4)
    for line in lines:
        yield Outline("strip", line, "", _INK, 0.6, (0.8, 1.2) if pattern == "dotted" else ())


# -- legend ------------------------------------------------------------------------------


def legend_pt(layout: Layout, notation: Notation) -> float:
    """How high the legend below the picture is."""
    feet = (mark.y for mark in _legend(layout, notation) if isinstance(mark, Words))
    return max(feet, default=layout.height) - layout.height + 5


def _legend(layout: Layout, notation: Notation) -> Iterator[Mark]:
    x, y = 0.0, layout.height + 12.0
    for entry, name in _entries(layout):
        room = _SWATCH_PT + 4 + typefaces.width_pt(name, _LEGEND.face, _LEGEND.size_pt) + 12
        if x and x + room > layout.width:
            x, y = 0.0, y + _LEGEND.leading_pt
        yield from _swatch(entry, x, y)
        yield Words(x + _SWATCH_PT + 4, y, name, _LEGEND)
        x += room
    yield from _ruler(layout, notation, y + _LEGEND.leading_pt + 2)


def _entries(layout: Layout) -> list[tuple[str, str]]:
    """What is in the picture, with its words."""
    present = {box.item.kind for box in layout.boxes}
    kinds = {edge.kind for edge in layout.flow.edges}
    has_rest = any(True for box in layout.boxes for _ in _rest(box, layout))
    return [
        *((kind, _NAMES.get(kind, kind)) for kind in PALETTE if kind in present),
        *((kind, _NAMES[kind]) for kind in ("carry", *ADDED) if kind in kinds),
        *([("rest", "remaining")] if has_rest else []),
    ]


def _swatch(entry: str, x: float, y: float) -> Iterator[Outline]:
    if entry in ADDED:
        yield from _addition(entry, x, y - 2.5)
    elif entry == "carry":
        for side in (y - 6, y):
            yield Outline("side", _line(x, side, x + _SWATCH_PT, side), "", _EDGE, 0.4, _DASHED)
    elif entry == "rest":
        yield from _ruled(x, y - 6, _SWATCH_PT, 7)
    else:
        yield Outline("band", _rectangle(x + TAB_PT, y - 6, _SWATCH_PT - TAB_PT, 7), PALETTE[entry], _EDGE, 0.4)
        yield from _strip(entry, x, y - 6, 7)


def _ruler(layout: Layout, notation: Notation, y: float) -> Iterator[Mark]:
    """A measure for the ribbons, upright as their width is."""
    if not layout.scale:
        return
    ml = max((one for one in _SCALES_ML if one * layout.scale <= _RULER_PT), default=_SCALES_ML[0])
    top, foot = y + 3 - ml * layout.scale, y + 3
    yield Outline("scale", _line(0, top, 3, top, 3, foot, 0, foot), "", _INK, 0.8)
    litres = notation.fixed(ml / 1000, digits_needed([Fraction(ml).limit_denominator(10) / 1000], 4))
    yield Words(8, y, f"scale: {litres} L of pure alcohol at 20 °C", _LEGEND)
