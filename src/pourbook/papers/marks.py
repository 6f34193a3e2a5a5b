"""A picture as a list of outlines and words: all that a PDF or an SVG needs to draw it.

>>> path(0, 0, 3, 4)
(('M', 0, 0), ('L', 3, 4))
>>> tint("#000000")
'#999999'
"""

from collections.abc import Container, Sequence
from itertools import pairwise
from typing import NamedTuple

from pourbook.papers.cells import Type

__all__ = [
    "PALETTE",
    "Drawing",
    "Mark",
    "Outline",
    "Path",
    "Words",
    "curve",
    "path",
    "rectangle",
    "stacked",
    "tint",
    "words_below",
]

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

Path = tuple[tuple[str | float, ...], ...]
"""Moves ("M", x, y), lines ("L", x, y), curves ("C", six coordinates)."""


class Outline(NamedTuple):
    """A path with fill, stroke of a width and dash, and title; closed where it is filled.

    An empty colour draws nothing, an empty dash a whole line. `what` it is part of, such as a box or a ribbon. A `link`
    leads somewhere from a page; paper takes no notice of it.
    """

    what: str
    path: Path
    fill: str = ""
    stroke: str = ""
    width: float = 0.5
    dash: tuple[float, ...] = ()
    title: str = ""
    link: str = ""


class Words(NamedTuple):
    """A line of text in a type; x where it begins, y its base line."""

    x: float
    y: float
    text: str
    type: Type


Mark = Outline | Words


class Drawing(NamedTuple):
    """A picture: width and height in points, its marks (what lies below first), and a description of it in words."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    description: str


def path(*corners: float) -> Path:
    """Lines from corner to corner, x and y of each in turn."""
    first, *others = zip(corners[::2], corners[1::2], strict=True)
    return (("M", *first), *(("L", *corner) for corner in others))


def rectangle(x: float, y: float, width: float, height: float) -> Path:
    """Its four sides from a corner."""
    return path(x, y, x + width, y, x + width, y + height, x, y + height, x, y)


def curve(points: Sequence[tuple[float, float]], straight: Container[int] = ()) -> Path:
    """A soft line through points, level at each of them, so that it never leaves the heights of its neighbours.

    The stretches whose numbers are in `straight` are lines.
    """
    steps: list[tuple[str | float, ...]] = [("M", *points[0])]
    for number, ((x0, y0), (x1, y1)) in enumerate(pairwise(points)):
        middle = (x0 + x1) / 2
        steps.append(("L", x1, y1) if number in straight else ("C", middle, y0, middle, y1, x1, y1))
    return tuple(steps)


def words_below(x: float, top: float, text: str, type_: Type) -> Words:
    """A line of text by the top of its leading."""
    return Words(x, top + 0.76 * type_.leading_pt, text, type_)


def stacked(drawings: Sequence[Drawing], gap: float, description: str) -> Drawing:
    """Drawings one below the other as one."""
    marks: list[Mark] = []
    top = 0.0
    for one in drawings:
        marks += (_lowered(mark, top) for mark in one.marks)
        top += one.height + gap
    width = max((one.width for one in drawings), default=0.0)
    return Drawing(width, max(top - gap, 0.0), tuple(marks), description)


def _lowered(mark: Mark, by: float) -> Mark:
    if isinstance(mark, Words):
        return mark._replace(y=mark.y + by)
    steps = ((word, *(float(n) + by if place % 2 else n for place, n in enumerate(at))) for word, *at in mark.path)
    return mark._replace(path=tuple(steps))


def tint(colour: str) -> str:
    """A lighter colour: two fifths of it on white."""
    parts = (int(colour[start : start + 2], 16) for start in (1, 3, 5))
    return "#" + "".join(f"{255 - (255 - part) * 2 // 5:02x}" for part in parts)
