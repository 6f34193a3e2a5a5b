"""Regions of blends: published vertices and centroids, and what holds of any region."""

from fractions import Fraction
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mixture_regions import EIGHT, FOUR, WHOLE, WITH_LIMITS, blend, limited_regions, region, regions
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from pourbook.errors import Malformed, OutOfRange
from pourbook.mixtures.moments import mean_products
from pourbook.mixtures.regions import (
    Limit,
    Region,
    centroid,
    face_centroids,
    is_within,
    reached,
    simplices,
    vertices,
)

# McLean & Anderson (1966): remembered by whoever compiled the table, no copy read.
FOUR_VERTICES = """
0.4 0.1 0.47 0.03, 0.4 0.1 0.42 0.08, 0.6 0.1 0.27 0.03, 0.6 0.1 0.22 0.08,
0.4 0.47 0.1 0.03, 0.4 0.42 0.1 0.08, 0.6 0.27 0.1 0.03, 0.6 0.22 0.1 0.08"""
FOUR_FACES = """
0.5 0.1 0.345 0.055, 0.5 0.345 0.1 0.055, 0.4 0.2725 0.2725 0.055, 0.6 0.1725 0.1725 0.055,
0.5 0.235 0.235 0.03, 0.5 0.21 0.21 0.08"""
FOUR_OVERALL = blend("0.5", "0.2225", "0.2225", "0.055")

# Snee & Marquardt (1976), runs 1 to 16, read in the R package mixexp; some of the extreme vertices.
EIGHT_RUNS = """
0.1 0.5 0 0 0.1 0.2 0.05 0.05, 0.1 0.05 0 0 0.55 0.2 0.05 0.05, 0.1 0.5 0 0.1 0.1 0.2 0 0,
0.15 0.05 0 0.1 0.6 0.05 0.05 0, 0.1 0.05 0.1 0 0.55 0.2 0 0, 0.1 0.5 0.1 0.1 0.1 0.05 0 0.05,
0.1 0.05 0.1 0.1 0.55 0.05 0 0.05, 0.4 0.05 0.1 0.1 0.1 0.2 0.05 0, 0.35 0.05 0.1 0.1 0.1 0.2 0.05 0.05,
0.3 0.5 0 0 0.1 0.05 0 0.05, 0.1 0.5 0.1 0 0.2 0.05 0.05 0, 0.45 0.05 0 0 0.45 0.05 0 0,
0.45 0.2 0 0.1 0.1 0.05 0.05 0.05, 0.45 0.15 0 0.1 0.1 0.2 0 0, 0.45 0.25 0.1 0 0.1 0.05 0.05 0,
0.45 0.1 0.1 0 0.1 0.2 0 0.05"""


def blends(text):
    """Blends as typed, parted by commas."""
    return {blend(*one.split()) for one in text.split(",")}


def filled(area):
    """The simplices of a region by their corners."""
    return np.array(vertices(area), dtype=float)[np.array(simplices(area))]


# -- published ---------------------------------------------------------------------------


def test_vertices_and_centroids_of_four_components():
    """All eight vertices, six faces and the middle that were published (remembered)."""
    assert set(vertices(FOUR)) == blends(FOUR_VERTICES)
    assert set(face_centroids(FOUR, [2])) == blends(FOUR_FACES)
    assert face_centroids(FOUR, [3]) == (FOUR_OVERALL,) == (centroid(vertices(FOUR)),)


def test_vertices_of_eight_components():
    """182 of them (remembered); the sixteen that were run are among them (read)."""
    found = set(vertices(EIGHT))
    assert len(found) == 182
    assert len(blends(EIGHT_RUNS)) == 16
    assert blends(EIGHT_RUNS) <= found


def test_vertices_with_further_limits():
    """The six of mixexp's example (its constraints read; the vertices computed by enumeration, not published)."""
    third = Fraction(1, 3)
    assert set(vertices(WITH_LIMITS)) == {
        *blends("0.1 0.57 0.33, 0.1 0.35 0.55, 0.5 0.1 0.4, 0.5 0.25 0.25"),
        (Fraction(4, 15), Fraction(1, 10), Fraction(19, 30)),
        (third, Fraction(1, 2), third / 2),
    }


def test_vertices_of_three_bounds():
    """The five of another example of mixexp (bounds read, vertices computed by enumeration)."""
    found = vertices(region(x1="0..0.8", x2="0.10..0.95", x3="0.05..0.50"))
    assert set(found) == blends("0 0.5 0.5, 0 0.95 0.05, 0.4 0.1 0.5, 0.8 0.1 0.1, 0.8 0.15 0.05")


def test_faces_of_the_whole_simplex():
    """A simplex of q corners has q over k + 1 faces of k dimensions (any textbook)."""
    simplex = Region(tuple("abcde"), ((Fraction(0), Fraction(1)),) * 5)
    assert [len(face_centroids(simplex, [dimension])) for dimension in range(5)] == [comb(5, k + 1) for k in range(5)]


# -- refusals ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bounds", "said"),
    [
        ({"ash": "0.7..1", "chestnut": "0.4..1", "heather": "0.1..1"},
         "at least 40 % chestnut and at least 70 % ash cannot hold at once: they add to 110 %"),
        ({"ash": "0..0.3", "chestnut": "0..0.3", "heather": "0..0.15"},
         "at most 30 % ash, at most 30 % chestnut and at most 15 % heather cannot hold at once: they add to 75 %"),
        ({"ash": "0.4..1", "chestnut": "0.35..1", "heather": "0.3..1"},
         "at least 30 % heather, at least 35 % chestnut and at least 40 % ash cannot hold at once: they add to 105 %"),
    ],
)  # fmt: skip
def test_bounds_that_conflict_are_named(bounds, said):
    """The pair, or as many as it takes, and no other."""
    with pytest.raises(OutOfRange, match=said.replace("%", ".")):
        vertices(region(**bounds))


def test_a_limit_out_of_reach_is_named():
    """A strength that none of the components has."""
    strength = Limit("strength", blend("60", "50", "40"), Fraction(62))
    with pytest.raises(OutOfRange, match="strength of at least 62 is out of reach"):
        vertices(WHOLE._replace(limits=(strength,)))


def test_a_limit_and_a_bound_that_conflict_are_named():
    """No more than half of what is strong, and yet a strong blend."""
    strength = Limit("strength", blend("60", "50", "40"), Fraction(58))
    with pytest.raises(OutOfRange, match=r"at most 50 % ash and strength of at least 58 cannot hold at once$"):
        vertices(region(ash="0..0.5", chestnut="0..1", heather="0..1")._replace(limits=(strength,)))


def test_one_component_is_no_blend():
    """Nor are eleven, whose faces would take minutes, nor one that is named twice."""
    for names in (("ash",), tuple("abcdefghijk"), ("ash", "ash")):
        with pytest.raises(Malformed):
            vertices(Region(names, ((Fraction(0), Fraction(1)),) * len(names)))


# -- what holds of any region ------------------------------------------------------------------


@settings(deadline=None)
@given(regions() | limited_regions())
def test_vertices_and_centroids_are_within(found):
    """Every vertex keeps all bounds exactly, and so does every centroid."""
    area, _ = found
    assert all(is_within(area, one) and sum(one) == 1 for one in face_centroids(area))


@settings(max_examples=80, deadline=None)
@given(regions() | limited_regions())
def test_any_blend_within_lies_between_the_vertices(found):
    """As a weighted mean of them, by linear programming (scipy)."""
    area, inside = found
    corners = np.array(vertices(area), dtype=float).T
    equal = np.vstack([corners, np.ones(corners.shape[1])])
    solved = linprog(np.zeros(corners.shape[1]), A_eq=equal, b_eq=[*map(float, inside), 1.0])
    assert solved.status == 0


@settings(max_examples=80, deadline=None)
@given(regions() | limited_regions())
def test_what_is_reached_is_what_linear_programming_finds(found):
    """The least and the greatest of each component (scipy)."""
    area, _ = found
    q = len(area.components)
    ends = [(float(low), float(high)) for low, high in area.bounds]
    most = [(limit.weights, limit.high) for limit in area.limits if limit.high is not None]
    most += [([-one for one in limit.weights], -limit.low) for limit in area.limits if limit.low is not None]
    above = (
        {"A_ub": [list(map(float, one)) for one, _ in most], "b_ub": [float(end) for _, end in most]} if most else {}
    )
    for place, (low, high) in enumerate(reached(area)):
        for sign, end in ((1, low), (-1, high)):
            goal = [sign * float(place == other) for other in range(q)]
            solved = linprog(goal, A_eq=np.ones((1, q)), b_eq=[1.0], bounds=ends, **above)
            assert sign * solved.fun == pytest.approx(float(end), abs=1e-9)


@given(regions(), st.randoms(use_true_random=False))
def test_the_order_of_components_changes_nothing(found, random):
    """Vertices of the same region, named in another order, are the same vertices."""
    area, _ = found
    order = list(range(len(area.components)))
    random.shuffle(order)
    other = Region(tuple(area.components[at] for at in order), tuple(area.bounds[at] for at in order))
    assert {tuple(one[at] for at in order) for one in vertices(area)} == set(vertices(other))


@pytest.mark.parametrize("area", [WHOLE, FOUR, WITH_LIMITS, EIGHT])
def test_simplices_fill_the_region(area):
    """Their volumes add to that of the convex hull of the vertices (Qhull by scipy), one component left out."""
    corners = np.array(vertices(area), dtype=float)[:, :-1]
    parts = corners[np.array(simplices(area))]
    edges = parts[:, 1:] - parts[:, :1]
    volume = np.abs(np.linalg.det(edges)).sum() / np.prod(range(1, edges.shape[1] + 1))
    if len(corners) < 100:  # Qhull takes a minute for the 182 of eight components
        assert volume == pytest.approx(ConvexHull(corners).volume)
    else:
        lots = np.random.default_rng(7).dirichlet(np.ones(8), 400_000)
        low, high = np.array(area.bounds, dtype=float).T
        inside = ((lots >= low) & (lots <= high)).all(axis=1).mean()
        assert volume * np.prod(range(1, 8)) == pytest.approx(inside, rel=0.1)


def test_means_over_the_whole_simplex():
    """Moments of the Dirichlet distribution with all parameters 1 (any textbook): 2 · 2! 2! 2! / 8! and so on."""
    products = mean_products(np.eye(3)[None], "special-cubic")
    expected = {(0, 0): 4 / 24, (0, 1): 2 / 24, (3, 3): 2 * 2 * 2 / 720, (6, 6): 2 * 8 / 40320}
    assert {place: products[place] for place in expected} == pytest.approx(expected)


@settings(max_examples=20, deadline=None)
@given(regions(4))
def test_a_mean_over_a_region_is_the_mean_of_its_parts(found):
    """Cut at the middle of one component, the two parts' means, weighted by their volumes, give the whole's."""
    area, _ = found
    low, high = reached(area)[0]
    if low == high:
        return
    half = (low + high) / 2
    parts = [area._replace(bounds=(ends, *area.bounds[1:])) for ends in ((low, half), (half, high))]
    sides = [filled(part) for part in parts]
    together = mean_products(np.concatenate(sides), "quadratic")
    assert mean_products(filled(area), "quadratic") == pytest.approx(together, abs=1e-9)
