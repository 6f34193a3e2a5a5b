"""A laid-out flow picture as a list of outlines and words.

Kinds of item differ in the pattern of the strip at their left, and in name; colour only helps. The
colours also differ in lightness, so that a grey print keeps them apart. The legend says both.

>>> sorted(PALETTE) == sorted(PATTERNS)
True
"""

from collections.abc import Iterator
from fractions import Fraction

from pourbook import typefaces
from pourbook.papers.cells import Type
from pourbook.papers.flow.flow_layout import PAD_PT, TAB_PT, Box, Layout, Ribbon
from pourbook.papers.flow.flow_table import described
from pourbook.papers.flow.flow_values import ADDED
from pourbook.papers.flow.flow_words import ADDED_PT
from pourbook.papers.marks import (
    PALETTE,
    Drawing,
    Mark,
    Outline,
    Path,
    Words,
    curve,
    path,
    rectangle,
    tint,
    words_below,
)
from pourbook.words.paper_figures import Notation, digits_needed

__all__ = ["PATTERNS", "flow_drawn"]

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


def flow_drawn(layout: Layout, notation: Notation) -> Drawing:
    """The picture with its legend."""
    legend = tuple(_legend(layout, notation))
    foot = max((mark.y for mark in legend if isinstance(mark, Words)), default=layout.height)
    return Drawing(layout.width, foot + 5, (*_marks(layout), *legend), described(layout, notation))


def _marks(layout: Layout) -> Iterator[Mark]:
    """All that is drawn above the legend, what lies below first."""
    items = {box.item.key: box.item for box in layout.boxes}
    for ribbon in sorted(layout.ribbons, key=lambda ribbon: -ribbon.thickness):
        source, target = items[ribbon.link.source], items[ribbon.link.target]
        yield from _ribbon(ribbon, source.kind, f"{source.label[0]} to {target.label[0]}")
    for box in layout.boxes:
        yield from _box(box, layout)


# -- ribbons -----------------------------------------------------------------------------


def _ribbon(ribbon: Ribbon, kind: str, said: str) -> Iterator[Outline]:
    lanes = range(1, len(ribbon.points), 2)
    upper = curve(ribbon.points, lanes)
    lower = curve([(x, y + ribbon.thickness) for x, y in reversed(ribbon.points)], lanes)
    dash = _DASHED if ribbon.link.kind == "carry" else ()
    around = (*upper, ("L", *lower[0][1:]), *lower[1:], ("L", *upper[0][1:]))
    yield Outline("ribbon", around, PALETTE[kind], title=said)
    yield Outline("side", upper, "", _EDGE, 0.4, dash)
    yield Outline("side", lower, "", _EDGE, 0.4, dash)


# -- boxes -------------------------------------------------------------------------------


def _box(box: Box, layout: Layout) -> Iterator[Mark]:
    top, band = box.band
    is_traced = box.item.key == layout.flow.traced
    leading = layout.type.leading_pt
    zone = box.height - len(box.additions) * leading
    light = tint(PALETTE[box.item.kind])
    yield Outline("band", rectangle(box.x, top, box.width, band), light, title=box.item.name)
    yield from _rest(box, layout)
    weight, grey = (1.2, _INK) if is_traced else (0.4, _EDGE)
    yield Outline("box", rectangle(box.x, box.y, box.width, box.height), "", grey, weight)
    yield from _strip(box.item.kind, box.x, box.y, box.height)
    x, first = box.x + TAB_PT + PAD_PT, box.y + (zone - len(box.lines) * leading) / 2
    for number, line in enumerate(box.lines):
        yield words_below(x, first + number * leading, line, layout.type)
    for number, (edge, text) in enumerate(box.additions):
        y = box.y + zone + number * leading
        yield from _addition(edge.kind, x, y + leading / 2)
        yield words_below(x + ADDED_PT, y, text, layout.type)


def _rest(box: Box, layout: Layout) -> Iterator[Outline]:
    """What stays or was lost: ruled, at the right end of the band, below what goes on."""
    top, band = box.band
    if layout.flow.direction == "forward" and box.item.kind != "end" and band - box.went >= _LEAST_REST_PT:
        yield from _ruled(box.x + box.width - TAB_PT, top + box.went, TAB_PT, band - box.went)


def _ruled(x: float, y: float, width: float, height: float) -> Iterator[Outline]:
    yield Outline("rest", rectangle(x, y, width, height), _PAPER, _EDGE, 0.4)
    for step in range(1, int(height // _RULED_PT)):
        yield Outline("rest", path(x, y + step * _RULED_PT, x + width, y + step * _RULED_PT), "", _EDGE, 0.3)


def _addition(kind: str, x: float, y: float) -> Iterator[Outline]:
    """A thin dashed line that ends in a ring (water) or a triangle (an additive)."""
    yield Outline("mark", path(x, y, x + 6, y), "", _INK, 0.5, (1.5, 1.0), kind)
    if kind == "water":
        (left, right), k = (x + 6.2, x + 9.8), 2.4  # half a circle as a cubic curve bends by 4/3 of its radius
        ring: Path = (
            ("M", left, y),
            ("C", left, y - k, right, y - k, right, y),
            ("C", right, y + k, left, y + k, left, y),
        )
        yield Outline("mark", ring, _PAPER, _INK, 0.5)
    else:
        yield Outline("mark", path(x + 6, y - 2, x + 10, y, x + 6, y + 2, x + 6, y - 2), _INK, _INK, 0.3)


def _strip(kind: str, x: float, y: float, height: float) -> Iterator[Outline]:
    """The patterned strip of a kind of item."""
    pattern = PATTERNS[kind]
    right, foot = x + TAB_PT, y + height
    rows = [y + _STEP_PT * step for step in range(1, int(height // _STEP_PT) + 1) if _STEP_PT * step < height]
    lines: list[Path] = []
    if pattern == "staves":
        lines = [path(x + TAB_PT * part / 3, y, x + TAB_PT * part / 3, foot) for part in (1, 2)]
    if pattern == "dotted":
        lines = [path(x + TAB_PT / 2, y, x + TAB_PT / 2, foot)]
    if pattern == "rungs":
        lines = [path(x, row, right, row) for row in rows]
    if pattern in ("slant", "crossed"):
        lines = [path(x, row, right, max(row - _STEP_PT, y)) for row in rows]
    if pattern == "crossed":
        lines += [path(x, max(row - _STEP_PT, y), right, row) for row in rows]
    yield Outline("strip", rectangle(x, y, TAB_PT, height), _INK if pattern == "solid" else _PAPER, _EDGE, 0.4)
    for line in lines:
        yield Outline("strip", line, "", _INK, 0.6, (0.8, 1.2) if pattern == "dotted" else ())


# -- legend ------------------------------------------------------------------------------


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
            yield Outline("side", path(x, side, x + _SWATCH_PT, side), "", _EDGE, 0.4, _DASHED)
    elif entry == "rest":
        yield from _ruled(x, y - 6, _SWATCH_PT, 7)
    else:
        yield Outline("band", rectangle(x + TAB_PT, y - 6, _SWATCH_PT - TAB_PT, 7), PALETTE[entry], _EDGE, 0.4)
        yield from _strip(entry, x, y - 6, 7)


def _ruler(layout: Layout, notation: Notation, y: float) -> Iterator[Mark]:
    """A measure for the ribbons, upright as their width is."""
    if not layout.scale:
        return
    ml = max((one for one in _SCALES_ML if one * layout.scale <= _RULER_PT), default=_SCALES_ML[0])
    top, foot = y + 3 - ml * layout.scale, y + 3
    yield Outline("scale", path(0, top, 3, top, 3, foot, 0, foot), "", _INK, 0.8)
    litres = notation.fixed(ml / 1000, digits_needed([Fraction(ml).limit_denominator(10) / 1000], 4))
    yield Words(8, y, f"scale: {litres} L of pure alcohol at 20 °C", _LEGEND)
