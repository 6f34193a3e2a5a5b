"""The region of blends that bounds leave: its vertices, the centroids of its faces, the bounds it really reaches.

Fractions of the components add to one. Everything is exact: the simplex of all blends is cut by one bound after
the other, and a new vertex arises on each edge that is cut (the double description method, Motzkin et al. 1953).

>>> ash, heather = Fraction(2, 5), Fraction(3, 20)
>>> bounds = (ash, ash * 2), (Fraction(0), Fraction(1)), (Fraction(0), heather)
>>> region = Region(("ash", "chestnut", "heather"), bounds)
>>> [tuple(map(float, vertex)) for vertex in vertices(region)]
[(0.4, 0.45, 0.15), (0.4, 0.6, 0.0), (0.8, 0.05, 0.15), (0.8, 0.2, 0.0)]
>>> [tuple(map(float, bounds)) for bounds in reached(region)]
[(0.4, 0.8), (0.05, 0.6), (0.0, 0.15)]
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from pourbook.errors import Malformed, OutOfRange
from pourbook.numerals import counted, shown

__all__ = [
    "MOST_COMPONENTS", "Blend", "Limit", "Region", "centroid", "face_centroids", "is_within", "reached", "simplices",
    "vertices",
]  # fmt: skip

Blend = tuple[Fraction, ...]
"""Fractions in the order of a region's components; they add to one."""

MOST_COMPONENTS = 10
"""With more, faces are too many to go through."""

_REMEMBERED = 8
"""Regions whose vertices are kept, since one is asked for them several times."""


class Limit(NamedTuple):
    """A weighted sum of the fractions that is to lie between two values, such as a strength or a cost of the blend.

    Attributes:
        name: what it is called in a refusal.
        weights: what each component counts, in the order of the region's components.
        low, high: the ends; None where there is none.
    """

    name: str
    weights: tuple[Fraction, ...]
    low: Fraction | None = None
    high: Fraction | None = None


class Region(NamedTuple):
    """What blends are possible.

    Attributes:
        components: their names.
        bounds: the fractions `(low, high)` between which each of them must be.
        limits: what else a blend must keep.
    """

    components: tuple[str, ...]
    bounds: tuple[tuple[Fraction, Fraction], ...]
    limits: tuple[Limit, ...] = ()


class _HalfSpace(NamedTuple):
    """Where a weighted sum is at least so much."""

    weights: tuple[Fraction, ...]
    least: Fraction
    said: str
    is_bound: bool = False

    def room(self, blend: Blend) -> Fraction:
        """By how much more than that; negative outside."""
        return sum((weight * part for weight, part in zip(self.weights, blend, strict=True)), -self.least)


def is_within(region: Region, blend: Sequence[Fraction]) -> bool:
    """Whether a blend keeps every bound and limit."""
    return min(blend) >= 0 and all(one.room(tuple(blend)) >= 0 for one in _half_spaces(region))


def vertices(region: Region) -> tuple[Blend, ...]:
    """The extreme vertices, in ascending order.

    Raises:
        Malformed: fewer than two components or more than `MOST_COMPONENTS`, or one named twice.
        OutOfRange: no blend is within; bounds that conflict are named, no more of them than needed.
    """
    return _polytope(region).blends


def reached(region: Region) -> tuple[tuple[Fraction, Fraction], ...]:
    """The least and the greatest fraction of each component that a blend within can have. Raises as `vertices`."""
    return tuple((min(fractions), max(fractions)) for fractions in zip(*vertices(region), strict=True))


def centroid(blends: Iterable[Blend]) -> Blend:
    """The mean of blends; that of the vertices is the overall centroid."""
    by_component = tuple(zip(*blends, strict=True))
    return tuple(sum(fractions, Fraction(0)) / len(fractions) for fractions in by_component)


def face_centroids(region: Region, dimensions: Iterable[int] = range(MOST_COMPONENTS)) -> tuple[Blend, ...]:
    """The means of the vertices of each face of some dimensions: 0 are the vertices themselves, 1 edges and so on.

    The region itself is the face of its own dimension, the last one. Raises as `vertices`.

    >>> half = Fraction(1, 2)
    >>> region = Region(tuple("abc"), ((Fraction(0), half),) * 3)
    >>> [len(face_centroids(region, [dimension])) for dimension in range(4)]
    [3, 3, 1, 0]
    """
    found = _polytope(region)
    of_dimension = dict(enumerate(found.faces()))
    wanted = [face for dimension in dimensions for face in of_dimension.get(dimension, ())]
    return tuple(sorted({centroid(found.on(face)) for face in wanted}))


def simplices(region: Region) -> tuple[tuple[int, ...], ...]:
    """Simplices that fill the region, each by the places of its corners among the vertices. Raises as `vertices`."""
    found = _polytope(region)
    places = range(len(found.blends))
    return tuple(tuple(place for place in places if simplex >> place & 1) for simplex in found.simplices())


class _Polytope(NamedTuple):
    """Vertices in ascending order, and the largest faces; a face is the vertices on it, as bits."""

    blends: tuple[Blend, ...]
    largest: tuple[int, ...]

    def on(self, face: int) -> list[Blend]:
        """The vertices on a face."""
        return [blend for place, blend in enumerate(self.blends) if face >> place & 1]

    def below(self, face: int) -> list[int]:
        """The largest faces of a face."""
        found = {face & surface for surface in self.largest} - {0, face}
        return [one for one in found if not any(one != other and one & other == one for other in found)]

    def faces(self) -> list[list[int]]:
        """Every face, by dimension: first the vertices, last the region itself."""
        levels = [[(1 << len(self.blends)) - 1]]
        while below := sorted({one for face in levels[-1] for one in self.below(face)}):
            levels.append(below)
        return levels[::-1]

    def simplices(self) -> list[int]:
        """A triangulation: every face is a cone from its first vertex to those of its faces that do not have it."""
        known: dict[int, list[int]] = {}

        def of(face: int) -> list[int]:
            apex = face & -face
            if face not in known:
                opposite = [one for one in self.below(face) if not one & apex]
                known[face] = [apex | base for one in opposite for base in of(one)] or [apex]
            return known[face]

        return of((1 << len(self.blends)) - 1)


# -- cutting ----------------------------------------------------------------------------


class _Corner(NamedTuple):
    """A vertex, and the half-spaces on whose surface it lies, as bits."""

    blend: Blend
    on: int


@lru_cache(_REMEMBERED)
def _polytope(region: Region) -> _Polytope:
    names = region.components
    if not 2 <= len(names) <= MOST_COMPONENTS:
        raise Malformed(f"a blend of {counted(len(names), 'component')}", f"name 2 to {MOST_COMPONENTS} of them")
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise Malformed(f"{', '.join(twice)} is named twice", "name each component once")
    spaces = _half_spaces(region)
    found = sorted(_corners(len(names), spaces))
    if not found:
        raise _conflict(len(names), spaces)
    surfaces = range(max(on for _, on in found).bit_length())
    faces = {sum(1 << place for place, (_, on) in enumerate(found) if on >> one & 1) for one in surfaces}
    return _Polytope(tuple(blend for blend, _ in found), tuple(faces))


def _half_spaces(region: Region) -> tuple[_HalfSpace, ...]:
    """Lower bounds first, the small ones before the large; bounds that bind nothing are left out."""
    q = len(region.components)
    lower, upper, further = [], [], []
    for place, (name, (low, high)) in enumerate(zip(region.components, region.bounds, strict=True)):
        one = tuple(Fraction(place == other) for other in range(q))
        if low > 0:
            lower.append(_HalfSpace(one, low, f"at least {_percent(low)} {name}", is_bound=True))
        if high < 1:
            upper.append(_HalfSpace(_negative(one), -high, f"at most {_percent(high)} {name}", is_bound=True))
    for name, weights, least, most in region.limits:
        if least is not None:
            further.append(_HalfSpace(weights, least, f"{name} of at least {float(least):g}"))
        if most is not None:
            further.append(_HalfSpace(_negative(weights), -most, f"{name} of at most {float(most):g}"))
    return (*sorted(lower, key=lambda one: one.least), *upper, *further)


def _negative(weights: tuple[Fraction, ...]) -> tuple[Fraction, ...]:
    return tuple(-weight for weight in weights)


def _corners(q: int, spaces: Sequence[_HalfSpace]) -> list[_Corner]:
    """The corners of the simplex, cut by one half-space after the other; none is left where nothing is within all."""
    every = (1 << q) - 1
    corners = [_Corner(tuple(Fraction(one == other) for other in range(q)), every ^ (1 << one)) for one in range(q)]
    for bit, space in enumerate(spaces, q):
        corners = _cut(corners, space, 1 << bit)
    return corners


def _cut(corners: Sequence[_Corner], space: _HalfSpace, bit: int) -> list[_Corner]:
    """What lies in a half-space: the corners within, and a new one where an edge leaves it."""
    room = [(corner, space.room(corner.blend)) for corner in corners]
    kept = [corner if over else _Corner(corner.blend, corner.on | bit) for corner, over in room if over >= 0]
    within, outside = ([(one, over) for one, over in room if over * side > 0] for side in (1, -1))
    for one, over in within:
        for other, under in outside:
            shared = one.on & other.on
            if _is_edge(shared, len(one.blend), corners):
                part = over / (over - under)
                between = tuple(a + part * (b - a) for a, b in zip(one.blend, other.blend, strict=True))
                kept.append(_Corner(between, shared | bit))
    return kept


def _is_edge(shared: int, q: int, corners: Sequence[_Corner]) -> bool:
    """Whether two corners with these surfaces in common are the ends of an edge: no third one lies on all of them."""
    return shared.bit_count() >= q - 2 and sum(on & shared == shared for _, on in corners) == 2


def _conflict(q: int, spaces: tuple[_HalfSpace, ...]) -> OutOfRange:
    """The refusal that names bounds which conflict, of which none can be spared."""
    needed = list(spaces)
    for one in spaces:
        fewer = [other for other in needed if other is not one]
        if not _corners(q, fewer):
            needed = fewer
    told = [one.said for one in needed]
    said = f"{', '.join(told[:-1])} and {told[-1]}" if len(told) > 1 else told[0]
    are_alike = len({one.least > 0 for one in needed}) == 1 and all(one.is_bound for one in needed)
    adds = f": they add to {_percent(abs(sum((one.least for one in needed), Fraction(0))))}" if are_alike else ""
    together = "cannot hold at once" if len(told) > 1 else "is out of reach"
    return OutOfRange(f"no blend is within the bounds: {said} {together}{adds}", "widen one of them")


def _percent(fraction: Fraction) -> str:
    text = shown(fraction * 100, 4)
    return f"{text.rstrip('0').rstrip('.')} %"
