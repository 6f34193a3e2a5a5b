"""Plots of a model of blends: the response along each component, and over three of them."""

from collections.abc import Callable, Sequence
from math import ceil, floor, log10, sqrt
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from matplotlib.patheffects import withStroke
from matplotlib.ticker import FuncFormatter, MaxNLocator
from matplotlib.tri import Triangulation
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from pourbook.mixtures.effects import Prediction, Trace
from pourbook.mixtures.sections import Section
from pourbook.papers.plots.figure import EDGE, FILL, INK, QUIET, SHADES, drawn, plotting, set_in

__all__ = ["contours", "traces"]

_ACROSS = 4
_ROUND = (1, 2, 5, 10)
"""First digits of a step, so that one digit writes it."""
_LINE = 20
"""Characters that stand above a panel in one line."""
_PANEL_IN = (1.75, 1.9)
_MARGINS_IN = (0.62, 0.55)

Shown = Callable[[float, int], str]
"""A number as the house writes it, to so many decimals."""


def traces(
    found: Sequence[Trace], response: str, at: Prediction, tasted: NDArray[Any], shown: Shown, suffix: str
) -> bytes:
    """The response along each component, one panel each, with its interval; a dot is the blend they pass through.

    `tasted` has the fraction of each component (a column) in each glass; its strokes stand at the foot of a panel.
    """
    across = min(len(found), _ACROSS)
    down = ceil(len(found) / across)
    with plotting():
        size = (_MARGINS_IN[0] + across * _PANEL_IN[0], _MARGINS_IN[1] + down * (_PANEL_IN[1] + 0.5))
        figure = Figure(figsize=size, layout="constrained")
        panels = figure.subplots(down, across, sharey=True, squeeze=False)
        for place, (one, panel) in enumerate(zip(found, panels.flat, strict=False)):
            _panel(panel, one, float(at.blend[place]), at.mean.value, tasted[:, place], shown)
            if place % across == 0:
                panel.set_ylabel(set_in(response))
        figure.supxlabel("band: interval of the mean; strokes: glasses tasted", color=QUIET, fontsize=8)
        for unused in panels.flat[len(found) :]:
            unused.set_visible(False)
        return drawn(figure, suffix)


def _panel(panel: Any, one: Trace, here: float, value: float, tasted: NDArray[Any], shown: Shown) -> None:  # noqa: ANN401
    percent = 100 * np.array(one.fractions)
    means = np.array([mean.value for mean in one.means])
    low, high = (np.array([getattr(mean, end) for mean in one.means]) for end in ("low", "high"))
    panel.fill_between(percent, low, high, color=FILL, linewidth=0)
    panel.plot(percent, means, color=INK)
    panel.plot(100 * here, value, "o", color=INK, markersize=4)
    panel.plot(100 * np.unique(tasted.round(6)), np.zeros(len(np.unique(tasted.round(6)))), "|", color=QUIET,
               markersize=5, transform=panel.get_xaxis_transform(), clip_on=False)  # fmt: skip
    panel.set_title(_in_lines(one.component))
    panel.set_xlabel("% of the blend")
    panel.xaxis.set_major_locator(MaxNLocator(4, steps=_ROUND))
    panel.yaxis.set_major_locator(MaxNLocator(7, steps=_ROUND))
    for axis in (panel.xaxis, panel.yaxis):
        axis.set_major_formatter(_as_the_house_writes(axis, shown))


def _in_lines(name: str) -> str:
    """A long name in two lines: the identifier of a cask, and what it is called."""
    return set_in(name).replace(" · ", "\n", 1) if len(name) > _LINE else set_in(name)


def _as_the_house_writes(axis: Any, shown: Shown) -> FuncFormatter:  # noqa: ANN401
    def written(value: float, _: int | None) -> str:
        ticks = axis.get_majorticklocs()
        step = float(np.diff(ticks).min()) if len(ticks) > 1 else 1.0
        return shown(value, max(0, -floor(log10(step) + 1e-9)))

    return FuncFormatter(written)


# -- contours -----------------------------------------------------------------------------

_TOP, _LEFT, _RIGHT = np.array([[0.5, sqrt(3) / 2], [0.0, 0.0], [1.0, 0.0]])
_CORNERS = np.array([_TOP, _LEFT, _RIGHT])
_STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20)
_SIZE_IN = (4.9, 4.5)
_CORNER = 0.05
"""Part of a side near a corner that has no figures: the corner has its own."""
_LATTICE = 60
"""Steps of a side: finer than a line is wide."""


class _Triangle:
    """A triangle of three components between their least fractions and what is left."""

    def __init__(self, found: Section) -> None:
        self.least = found.fractions.min(axis=0)
        self.side = float(found.fractions[0].sum() - self.least.sum())
        self.step = next((step for step in _STEPS if 100 * self.side / step <= 6), 25)

    def places(self, fractions: NDArray[Any]) -> NDArray[Any]:
        """Where blends stand."""
        return np.asarray((fractions - self.least) / self.side @ _CORNERS)

    def line(self, component: int, fraction: float) -> NDArray[Any]:
        """The line on which a component has that fraction: from the edge where it is read to the other one."""
        before, after = (component - 1) % 3, (component + 1) % 3
        ends = np.tile(self.least, (2, 1))
        ends[:, component] = fraction
        ends[0, before] += self.least[component] + self.side - fraction
        ends[1, after] += self.least[component] + self.side - fraction
        return self.places(ends)

    def ticks(self, component: int) -> list[float]:
        """Round per cents of a component along its side, away from its corners."""
        low, high = (100 * (self.least[component] + self.side * end) for end in (_CORNER, 1 - _CORNER))
        return [one * self.step / 100 for one in range(ceil(low / self.step), floor(high / self.step) + 1)]


def contours(found: Section, response: str, shown: Shown, suffix: str) -> bytes:
    """The response over three components as contours in a triangle, where glasses were tasted; each glass a dot."""
    triangle = _Triangle(found)
    with plotting():
        figure = Figure(figsize=_SIZE_IN)
        panel = figure.add_axes((0.0, 0.06, 1.0, 0.88))
        panel.set_aspect("equal")
        panel.set_axis_off()
        panel.set_xlim(-0.15, 1.15)
        panel.set_ylim(-0.18, 0.95)
        panel.set_title(set_in(response), fontsize=11)
        _grid(panel, triangle, found.components, shown)
        _surface(panel, triangle, found, shown)
        figure.text(0.5, 0.02, set_in(_beside(found, shown)), ha="center", color=QUIET, fontsize=8)
        return drawn(figure, suffix)


def _grid(panel: Any, triangle: _Triangle, components: Sequence[str], shown: Shown) -> None:  # noqa: ANN401
    panel.add_patch(Polygon(_CORNERS, fill=False, edgecolor=EDGE, linewidth=0.8, zorder=3))
    digits = 0 if triangle.step >= 1 else 1
    turns, aligns = (0, -60, 60), ("left", "right", "right")
    outward = 0.02 * np.array([[1.0, 0.0], [-0.5, sqrt(3) / 2], [-0.5, -sqrt(3) / 2]])
    for component, name in enumerate(components):
        for fraction in triangle.ticks(component):
            ends = triangle.line(component, fraction)
            panel.plot(*ends.T, color=EDGE, linewidth=0.3, zorder=1)
            panel.text(
                *(ends[0] + outward[component]), shown(100 * fraction, digits), ha=aligns[component], va="center",
                fontsize=7.5, rotation=turns[component], rotation_mode="anchor",
            )  # fmt: skip
        corner, below = _CORNERS[component], component > 0
        most = shown(100 * (triangle.least[component] + triangle.side), digits)
        named = _in_lines(name) if below else set_in(name)
        panel.text(
            corner[0], corner[1] + (-0.09 if below else 0.03), f"{named} {most} %",
            ha=("center", "left", "right")[component], va="top" if below else "bottom", fontweight="bold",
        )  # fmt: skip


def _surface(panel: Any, triangle: _Triangle, found: Section, shown: Shown) -> None:  # noqa: ANN401
    places, glasses = triangle.places(found.fractions), triangle.places(found.glasses)
    hull = glasses[ConvexHull(glasses).vertices]
    mesh, inside = Triangulation(*places.T), _inside(hull)
    near = np.array([inside(one, -1.5 / _LATTICE) for one in places])
    mesh.set_mask(~near[mesh.triangles].all(axis=1))
    # The last digits of a fit are the machine's own, and a shade in a picture may hang on them.
    means = np.round(found.means, 9 - ceil(log10(np.abs(found.means).max() or 1.0)))
    levels = MaxNLocator(9, steps=_ROUND).tick_values(means[near].min(), means[near].max())
    tasted = Polygon(hull, transform=panel.transData)
    filled = panel.tricontourf(mesh, means, levels, cmap=_shades(len(levels) - 1), zorder=2)
    lines = panel.tricontour(mesh, means, levels, colors=INK, linewidths=0.7, zorder=4)
    for drawing in (filled, lines):
        drawing.set_clip_path(tasted)
    digits = max(0, -floor(log10(float(levels[1] - levels[0])) + 1e-9))
    labels = panel.clabel(lines, fmt=lambda value: shown(value, digits), fontsize=7.5, inline=False)
    for label in labels:
        label.set_path_effects([withStroke(linewidth=2.5, foreground=SHADES[0])])
        label.set_visible(inside(np.array(label.get_position()), 0.02))
    panel.add_patch(Polygon(hull, fill=False, edgecolor=QUIET, linewidth=0.8, linestyle=(0, (3, 2)), zorder=5))
    panel.plot(*glasses.T, "o", color=INK, markersize=3.5, markeredgecolor="white", markeredgewidth=0.6, zorder=6)


def _shades(count: int) -> Any:  # noqa: ANN401
    from matplotlib.colors import LinearSegmentedColormap, ListedColormap

    return ListedColormap(LinearSegmentedColormap.from_list("shades", SHADES)(np.linspace(0, 1, count)))


def _inside(hull: NDArray[Any]) -> Callable[[NDArray[Any], float], bool]:
    """Whether a point lies within a hull given against the clock, by at least so much."""
    edges = np.roll(hull, -1, axis=0) - hull
    lengths = np.linalg.norm(edges, axis=1)

    def tells(point: NDArray[Any], by: float) -> bool:
        to = point - hull
        return bool(((edges[:, 0] * to[:, 1] - edges[:, 1] * to[:, 0]) / lengths >= by).all())

    return tells


def _beside(found: Section, shown: Shown) -> str:
    """What is held, and how sure it is."""
    said = []
    if found.held:
        held = ", ".join(f"{name} {shown(100 * part, 1)} %" for name, part in found.held.items())
        said.append(f"held: {held}, of which glasses (dots) had more or less")
    else:
        said.append("dots: glasses tasted")
    if np.isfinite(found.reaches).all():
        said.append(f"± {_figure(found.reaches.min(), shown)} where it is surest")
    return "; ".join(said)


def _figure(value: float, shown: Shown) -> str:
    return shown(float(value), max(0, 1 - floor(log10(value))) if value > 0 else 0)
