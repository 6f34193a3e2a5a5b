"""A flight of trials to pour: a design's glasses in volumes that can be read, what they need, in which order to pour.

Volumes are whole marks of the pipette and add to the total exactly, so parts are those that are poured. Of the ways
to round a glass up here and down there, the one that moves its parts least is taken, within the bounds if any is.

>>> half, third = Fraction(1, 2), Fraction(1, 3)
>>> region = Region(("ash", "chestnut", "heather"), ((Fraction(0), Fraction(1)),) * 2 + ((Fraction(0), third),))
>>> glasses = [(third, third, third), (half, half, Fraction(0))]
>>> found = flight(region, glasses, (1, 1), Fraction(20), Fraction(1, 2))
>>> [list(map(float, glass.volumes_ml)) for glass in found.glasses], f"{float(found.glasses[0].moved):.4f}"
([[7.0, 6.5, 6.5], [10.0, 10.0, 0.0]], '0.0167')
>>> [(pouring.component, pouring.glasses) for pouring in pouring_order(found)]
[('ash', (1, 2)), ('chestnut', (1, 2)), ('heather', (1,))]
"""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from itertools import combinations, pairwise
from math import floor
from typing import NamedTuple

from pourbook.errors import OutOfRange
from pourbook.mixtures.regions import Blend, Region, is_within

__all__ = [
    "Flight", "FlightGlass", "Pouring", "changes", "flight", "largest_total_ml", "most_first", "needed_ml",
    "pouring_order",
]  # fmt: skip


class FlightGlass(NamedTuple):
    """A glass of a flight; volumes and parts in the order of its components.

    Attributes:
        day: on which it is poured, from 1.
        wanted: its parts as designed.
        volumes_ml: to pour, whole marks.
        within: whether the parts as poured keep the bounds.
    """

    day: int
    wanted: Blend
    volumes_ml: tuple[Fraction, ...]
    within: bool

    @property
    def parts(self) -> Blend:
        """Its parts as poured."""
        total = sum(self.volumes_ml)
        return tuple(volume / total for volume in self.volumes_ml)

    @property
    def is_whole(self) -> bool:
        """Whether rounding leaves something of each component that it is to have."""
        return all(volume or not part for volume, part in zip(self.volumes_ml, self.wanted, strict=True))

    @property
    def moved(self) -> Fraction:
        """By how much rounding moved the part that it moved most."""
        return max(abs(part - wanted) for part, wanted in zip(self.parts, self.wanted, strict=True))


class Flight(NamedTuple):
    """Glasses of one total, numbered from 1 in their order.

    Attributes:
        components: their names.
        total_ml: of every glass.
        mark_ml: what volumes are read to.
        glasses: day by day.
    """

    components: tuple[str, ...]
    total_ml: Fraction
    mark_ml: Fraction
    glasses: tuple[FlightGlass, ...]


class Pouring(NamedTuple):
    """One component poured into one glass after the other.

    Attributes:
        day: when.
        component: its name.
        glasses: their numbers, from 1.
        volumes_ml: into each.
    """

    day: int
    component: str
    glasses: tuple[int, ...]
    volumes_ml: tuple[Fraction, ...]


def flight(
    region: Region, blends: Sequence[Blend], days: Sequence[int], total_ml: Fraction, mark_ml: Fraction
) -> Flight:
    """The glasses of a design in volumes.

    Raises:
        OutOfRange: the total is no whole number of marks.
    """
    marks = total_ml / mark_ml
    if marks.denominator != 1 or not marks:
        raise OutOfRange(
            f"a total of {float(total_ml):g} ml is no whole number of marks of {float(mark_ml):g} ml",
            f"take {float(max(round(marks), 1) * mark_ml):g} ml",
        )
    glasses = [
        FlightGlass(day, blend, tuple(count * mark_ml for count in counts), is_within(region, _parts(counts)))
        for blend, day in zip(blends, days, strict=True)
        for counts in [_rounded(region, blend, marks.numerator)]
    ]
    return Flight(region.components, total_ml, mark_ml, tuple(glasses))


def _rounded(region: Region, blend: Blend, marks: int) -> tuple[int, ...]:
    """Whole marks of each component that add to so many."""
    exact = [part * marks for part in blend]
    down = [floor(count) for count in exact]
    open_ = [place for place, count in enumerate(exact) if count.denominator != 1]

    def rounded_up(places: Iterable[int]) -> tuple[int, ...]:
        return tuple(count + (place in places) for place, count in enumerate(down))

    def worse(counts: tuple[int, ...]) -> tuple[bool, Fraction, Fraction]:
        off = [abs(count - wanted) for count, wanted in zip(counts, exact, strict=True)]
        return not is_within(region, _parts(counts)), max(off), sum((one**2 for one in off), Fraction(0))

    return min(map(rounded_up, combinations(open_, marks - sum(down))), key=worse)


def _parts(counts: Sequence[int]) -> Blend:
    return tuple(Fraction(count, sum(counts)) for count in counts)


def needed_ml(found: Flight) -> dict[str, Fraction]:
    """What all glasses need of each component."""
    columns = zip(*(glass.volumes_ml for glass in found.glasses), strict=True)
    return {name: sum(volumes, Fraction(0)) for name, volumes in zip(found.components, columns, strict=True)}


def largest_total_ml(
    region: Region, found: Flight, left_ml: Mapping[str, float | None]
) -> Fraction:  # fmt: skip
    """The largest total with which what is left (None: without end) suffices for all glasses; 0 for none.

    Nor is a total that rounds a component to nothing.
    """
    blends, days = [glass.wanted for glass in found.glasses], [glass.day for glass in found.glasses]
    shares = dict(zip(found.components, (sum(parts) for parts in zip(*blends, strict=True)), strict=True))
    spared = len(blends) * found.mark_ml  # more than rounding can take off what is needed
    ends = [
        (Fraction(left) + spared) / shares[name] for name, left in left_ml.items() if left is not None and shares[name]
    ]
    total: Fraction = floor(min([*ends, found.total_ml]) / found.mark_ml) * found.mark_ml
    while total > 0:
        tried = flight(region, blends, days, total, found.mark_ml)
        needs = needed_ml(tried)
        if not all(glass.is_whole for glass in tried.glasses):
            break
        if all(left is None or needs[name] <= left for name, left in left_ml.items()):
            return total
        total -= found.mark_ml
    return Fraction(0)


def most_first(found: Flight) -> list[str]:
    """The components, what most is needed of first."""
    needs = needed_ml(found)
    return sorted(found.components, key=lambda name: -needs[name])


def pouring_order(found: Flight) -> tuple[Pouring, ...]:
    """Day by day one component after the other into all its glasses, what most is needed of first.

    So the pipette is changed, or rinsed, only from one component to the next.
    """
    order = []
    for day in sorted({glass.day for glass in found.glasses}):
        for name in most_first(found):
            place = found.components.index(name)
            pours = [
                (number, glass.volumes_ml[place])
                for number, glass in enumerate(found.glasses, 1)
                if glass.day == day and glass.volumes_ml[place]
            ]
            if pours:
                order.append(Pouring(day, name, *map(tuple, zip(*pours, strict=True))))
    return tuple(order)


def changes(found: Flight) -> tuple[int, int]:
    """How often the pipette goes from one component to another: in `pouring_order`, and glass by glass.

    >>> halves = FlightGlass(1, (Fraction(1, 2),) * 2, (Fraction(10),) * 2, within=True)
    >>> changes(Flight(("ash", "birch"), Fraction(20), Fraction(1), (halves,) * 3))
    (1, 5)
    """
    by_glass = [
        name for glass in found.glasses for name, ml in zip(found.components, glass.volumes_ml, strict=True) if ml
    ]
    in_order = [pouring.component for pouring in pouring_order(found)]
    one, other = (sum(a != b for a, b in pairwise(names)) for names in (in_order, by_glass))
    return one, other
