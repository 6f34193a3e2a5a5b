"""Regions for tests: published ones, and any that Hypothesis thinks of."""

from fractions import Fraction

from hypothesis import strategies as st

from pourbook.mixtures.regions import Limit, Region


def region(**bounds):
    """Components with their bounds as typed: `ash="0.4..0.6"`."""
    ends = tuple(tuple(map(Fraction, text.split(".."))) for text in bounds.values())
    return Region(tuple(bounds), ends)


def blend(*parts):
    """Fractions as typed."""
    return tuple(map(Fraction, parts))


WHOLE = region(ash="0..1", chestnut="0..1", heather="0..1")

FOUR = region(x1="0.4..0.6", x2="0.1..0.5", x3="0.1..0.5", x4="0.03..0.08")
"""McLean & Anderson (1966), Technometrics 8, 447-454: remembered, not read."""

EIGHT = region(
    x1="0.1..0.45", x2="0.05..0.5", x3="0..0.1", x4="0..0.1", x5="0.1..0.6", x6="0.05..0.2", x7="0..0.05", x8="0..0.05"
)  # fmt: skip
"""Snee & Marquardt (1976), Technometrics 18, 19-29, by way of the R package mixexp (data set SneeMq): read."""

WITH_LIMITS = region(x1="0.1..0.5", x2="0.1..0.7", x3="0..0.7")._replace(
    limits=(
        Limit("first", blend("0.85", "0.9", "1"), Fraction("0.9"), Fraction("0.95")),
        Limit("second", blend("0.7", "0", "1"), Fraction("0.4")),
    )
)
"""Constraints of an example in the R package mixexp: read."""


@st.composite
def regions(draw, most=5):
    """A region round a blend, and that blend; bounds of 1 and 0 among them."""
    q = draw(st.integers(2, most))
    parts = draw(st.lists(st.integers(0, 20), min_size=q, max_size=q).filter(any))
    inside = tuple(Fraction(part, sum(parts)) for part in parts)
    room = [(Fraction(draw(st.integers(0, 12)), 40), Fraction(draw(st.integers(0, 12)), 40)) for _ in range(q)]
    bounds = tuple(
        (max(Fraction(0), part - below), min(Fraction(1), part + above))
        for part, (below, above) in zip(inside, room, strict=True)
    )
    return Region(tuple("abcdefgh"[:q]), bounds), inside


@st.composite
def limited_regions(draw, most=4):
    """As `regions`, with one or two weighted sums kept between ends that the blend keeps."""
    area, inside = draw(regions(most))
    limits = []
    for name in draw(st.sampled_from([("first",), ("first", "second")])):
        weights = tuple(Fraction(draw(st.integers(-9, 9)), 3) for _ in inside)
        value = sum(weight * part for weight, part in zip(weights, inside, strict=True))
        below, above = (draw(st.none() | st.integers(0, 4)) for _ in range(2))
        low, high = (
            None if room is None else value + side * Fraction(room, 8) for room, side in ((below, -1), (above, 1))
        )
        limits.append(Limit(name, weights, low, high))
    return area._replace(limits=tuple(limits)), inside
